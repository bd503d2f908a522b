//! A speed asked of the engine when it droops under the drive: more engine instead of less drive.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::propel::{EngineSpeedInputs, EngineSpeedRequest, EngineSpeedRequestConfig};
use trunnion::quantity::{Ratio, Rpm};
use trunnion::sense::Reading;
use trunnion_can::frame::Frame;
use trunnion_can::speed_request::{SpeedRequest, SpeedRequestSender};

use super::PERIOD;
use crate::declaration::{Parameter, Parameters};

/// Periods between two messages: 50 ms (SAE J1939-71, from memory).
const BETWEEN: u8 = 5;
/// Messages that give the engine back; one that is lost is made up for, and the engine's own time-out is behind them.
const RELEASES: u8 = 3;

/// What the request looks at.
#[derive(Debug, Clone, Copy)]
pub struct EngineSeen {
    /// The drive is permitted.
    pub permitted: bool,
    /// Hand throttle.
    pub throttle: Reading<Ratio>,
    /// What the hand throttle asks of the engine by itself.
    pub expected: Rpm,
    /// Share of the drive that droop leaves.
    pub load_share: Ratio,
}

/// Asks the engine, over the bus, for more than the hand throttle while droop takes from the drive: as much of the way
/// from the throttle to high idle as droop has taken. Never without permission of the drive, never less than the
/// throttle, and nothing at all while nothing is to be asked.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct EngineRequest {
    speed: EngineSpeedRequest,
    sender: SpeedRequestSender,
    asked: Option<Rpm>,
    wait: u8,
    releases: u8,
}

fn config(parameters: &Parameters) -> EngineSpeedRequestConfig {
    EngineSpeedRequestConfig {
        low_idle: Rpm::from_whole(parameters.low_idle().into()),
        high_idle: Rpm::from_whole(parameters.high_idle().into()),
        rise: parameters.speed_request_rise(),
        fall: parameters.speed_request_fall(),
    }
}

fn refuse(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::high_idle, "must be above low_idle")
}

impl EngineRequest {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        Ok(Self {
            speed: EngineSpeedRequest::new(config(parameters), PERIOD).map_err(|_| refuse(parameters))?,
            sender: SpeedRequestSender::new(),
            asked: None,
            wait: 0,
            releases: 0,
        })
    }

    /// Takes new parameters; a request goes on from where it is.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        self.speed.reconfigure(config(parameters)).map_err(|_| refuse(parameters))
    }

    /// One period: what is asked of the engine now.
    pub fn step(&mut self, seen: &EngineSeen) -> Option<Rpm> {
        let before = self.asked;
        self.asked = if seen.permitted {
            let hand = seen.throttle.or(Ratio::ZERO);
            let taken = Ratio::ONE.minus(seen.load_share);
            // Without a throttle that is known the engine is expected at high idle: there is no more to ask for.
            let least = if seen.throttle.is_valid() {
                hand.plus(Ratio::ONE.minus(hand).times(taken))
            } else {
                Ratio::ZERO
            };
            let foot = Reading::Valid(Ratio::ZERO);
            let inputs = EngineSpeedInputs { hand: seen.throttle, foot, least, most: Ratio::ONE };
            let speed = self.speed.step(inputs);
            (speed > seen.expected).then_some(speed)
        } else {
            self.speed.reset();
            None
        };
        if before.is_some() != self.asked.is_some() {
            self.wait = 0;
            self.releases = if self.asked.is_none() { RELEASES } else { 0 };
        }
        self.asked
    }

    /// The message of this period, if one is due.
    pub fn frame(&mut self, engine: u8, own: u8) -> Option<Frame> {
        self.wait = self.wait.saturating_sub(1);
        if self.wait > 0 {
            return None;
        }
        let request = match self.asked {
            Some(speed) => SpeedRequest::Speed(speed),
            None if self.releases > 0 => {
                self.releases = self.releases.saturating_sub(1);
                SpeedRequest::None
            }
            None => return None,
        };
        self.wait = BETWEEN;
        self.sender.step(request, engine, own)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    fn permille(permille: i32) -> Ratio {
        Ratio::from_permille(permille).unwrap()
    }

    /// Half throttle at so much of the drive left.
    fn seen(permitted: bool, load_share: i32) -> EngineSeen {
        EngineSeen {
            permitted,
            throttle: Reading::Valid(permille(500)),
            expected: Rpm::from_whole(1_800),
            load_share: permille(load_share),
        }
    }

    fn request() -> EngineRequest {
        EngineRequest::new(&Parameters::default()).unwrap()
    }

    /// Frames of so many periods: mode, and speed in eighths.
    fn run(request: &mut EngineRequest, seen: EngineSeen, periods: u32) -> Vec<(u8, u16)> {
        let mut frames = Vec::new();
        for _ in 0..periods {
            request.step(&seen);
            frames.extend(request.frame(0, 0x27).map(|frame| {
                let bytes = frame.bytes();
                (bytes[0] & 3, u16::from_le_bytes([bytes[1], bytes[2]]))
            }));
        }
        frames
    }

    #[test]
    fn nothing_is_sent_while_the_drive_is_whole_or_not_permitted() {
        let mut request = request();
        assert!(run(&mut request, seen(true, 1000), 500).is_empty());
        assert!(run(&mut request, seen(false, 500), 500).is_empty());
    }

    #[test]
    fn droop_asks_for_its_share_of_the_way_to_high_idle_every_50_ms() {
        let mut request = request();
        run(&mut request, seen(true, 1000), 300);
        let frames = run(&mut request, seen(true, 400), 500);
        assert_eq!(frames.len(), 100);
        assert!(frames.windows(2).all(|pair| pair[0].1 <= pair[1].1), "it rises");
        // Half throttle is 1800 rpm; three fifths of the way to 2600 rpm are 2280.
        assert_eq!(frames.last(), Some(&(1, 2_280 * 8)));
    }

    #[test]
    fn permission_that_goes_gives_the_engine_back_at_once_and_three_times() {
        let mut request = request();
        run(&mut request, seen(true, 400), 500);
        request.step(&seen(false, 400));
        let first = request.frame(0, 0x27).unwrap();
        assert_eq!((first.bytes()[0] & 3, &first.bytes()[1..3]), (0, &[0xFF, 0xFF][..]));
        assert_eq!(run(&mut request, seen(false, 400), 300), [(0, 0xFFFF); 2]);
        // Permitted again it begins at the throttle, not where it was.
        let again = run(&mut request, seen(true, 400), 200);
        assert!(again[0].1 < 1_820 * 8 && again[0].1 > 1_800 * 8, "{again:?}");
    }

    #[test]
    fn a_throttle_that_is_not_known_asks_for_nothing() {
        use trunnion::sense::Flaw;
        let mut request = request();
        let faulted = EngineSeen {
            throttle: Reading::Faulted(Flaw::WireBreak),
            expected: Rpm::from_whole(2_600),
            ..seen(true, 300)
        };
        assert!(run(&mut request, faulted, 300).is_empty());
    }
}
