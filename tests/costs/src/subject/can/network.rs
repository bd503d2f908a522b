//! What a station on the bus is made of beside its server: address claim, requests, when DM1 is due and what it says,
//! transport protocol, speed request to the engine. One frame comes in a period, mostly other people's.

use loader::declaration::Fault;
use trunnion::declare::FaultSet;
use trunnion::quantity::Rpm;
use trunnion_can::address_claim::{AddressClaim, AddressClaimConfig};
use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;
use trunnion_can::name::Name;
use trunnion_can::request::{Acknowledgement, asked};
use trunnion_can::speed_request::{SpeedRequest, SpeedRequestSender};
use trunnion_can::transport::{Sender, SenderConfig};
use trunnion_can::trouble_code::{Lamps, TroubleCode};
use trunnion_can::trouble_list::{ActiveTroubleTiming, TroubleList};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis};
use crate::tester::{self, OWN, busy};

/// Bytes of DM1, as the loader has them.
const MESSAGE: usize = 2 + 4 * 20;
/// Words of faults.
const WORDS_OF_FAULTS: usize = Fault::COUNT.div_ceil(32);

/// All of it.
pub struct Block {
    claim: AddressClaim,
    timing: ActiveTroubleTiming<WORDS_OF_FAULTS>,
    sender: Sender<MESSAGE>,
    engine: SpeedRequestSender,
}

/// What comes in a period, and what is the matter.
#[derive(Clone, Copy)]
pub struct Period {
    frame: Option<Frame>,
    active: [u32; WORDS_OF_FAULTS],
    speed: Option<Rpm>,
}

impl Subject for Block {
    const NAME: &'static str = "can/network";
    type Input = Period;
    type Output = [Option<Frame>; 4];

    fn new() -> Self {
        let name = Name::parse([1, 0, 0xE0, 0xFF, 0, 128, 0, 0xB0]);
        let sender = SenderConfig { address: OWN, broadcast_gap: millis(50) };
        Self {
            claim: started!(AddressClaim::new(AddressClaimConfig { name, preferred: OWN }, TICK)),
            timing: ActiveTroubleTiming::new(TICK),
            sender: started!(Sender::new(sender, TICK)),
            engine: SpeedRequestSender::new(),
        }
    }

    fn input(random: &mut Random, previous: Option<&Period>) -> Period {
        let mut next =
            previous.copied().unwrap_or(Period { frame: None, active: [0; WORDS_OF_FAULTS], speed: None });
        next.frame = busy(random);
        if random.once_in(50) {
            let place = random.below(Fault::COUNT as u32);
            if let Some(word) = next.active.get_mut((place / 32) as usize) {
                *word ^= 1_u32.wrapping_shl(place % 32);
            }
        }
        next.speed = random.once_in(2).then(|| Rpm::from_whole(random.between(900, 2_600)));
        next
    }

    fn step(&mut self, period: &Period) -> [Option<Frame>; 4] {
        let mut request = None;
        if let Some(frame) = &period.frame {
            self.claim.take(frame);
            self.sender.take(frame);
            request = asked(frame, OWN);
        }
        let claim = self.claim.step();
        if self.timing.step(&period.active) {
            let mut list = TroubleList::<MESSAGE>::new(Lamps::OFF);
            for (place, rule) in (0_u32..).zip(Fault::RULES) {
                let word = period.active.get((place / 32) as usize).copied().unwrap_or(0);
                if word.wrapping_shr(place % 32) & 1 == 1
                    && let Some(code) = TroubleCode::new(rule.spn, rule.fmi, 1)
                {
                    list.push(code);
                }
            }
            let _ = self.sender.broadcast(pgn::ACTIVE_TROUBLE_CODES, list.bytes());
        }
        let answer =
            request.and_then(|request| Acknowledgement::Negative.frame(request.pgn, request.source, OWN));
        let speed = period.speed.and_then(|speed| self.engine.step(SpeedRequest::Speed(speed), 0, OWN));
        [claim, self.sender.step(), answer, speed]
    }

    fn input_words(period: &Period, into: &mut Words) -> usize {
        tester::words(&[period.frame], into, 0)
    }

    fn output_words(frames: &[Option<Frame>; 4], into: &mut Words) -> usize {
        tester::words(frames, into, 0)
    }
}
