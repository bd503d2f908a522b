//! The station as the loader has it, over the loader's own declaration.
//!
//! All subjects of the room `service` are this one block and differ in what comes. What a frame costs is what its subject costs above
//! `service/silence`: each counts a whole period of the station. Flash and state are the same in all: the server, the
//! keeper of the fault log with the log that it keeps, and below them the parts of the CAN crate that a station is made of
//! (`can/network`, `can/iso_tp`). What the machine itself does when a tester asks is not in it: whether a parameter set
//! would run, what a commit changes, what the black box gives. That is in `path/loader_asked`.

use core::marker::PhantomData;

use heapless::Vec;
use loader::control::motion::{CONTROLS, ROUTINES};
use loader::declaration::{Diagnostics, Fault, Inputs, Outputs, Parameters};
use trunnion::declare::Refusal;
use trunnion::fault::{FaultLog, LogEntry};
use trunnion_can::frame::Frame;
use trunnion_can::name::Name;
use trunnion_can::trouble_code::{Lamp, Lamps};
use trunnion_service::access::AccessBoot;
use trunnion_service::level::Standing;
use trunnion_service::log_keeper::LogKeeper;
use trunnion_service::negative::Negative;
use trunnion_service::routine::RoutineReport;
use trunnion_service::served::{Action, BoxOrder, Identification, Motion, Reading, Served, signal};
use trunnion_service::station::{Arrived, StationConfig};
use trunnion_service::work::WorkOrder;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::TICK;
use crate::tester::{self, Frames, OWN, SLOTS, Talk, Tester, UNLOCKED};

/// As the loader has it: bytes of a request, of an answer, of a fault list, words of faults.
type Station = trunnion_service::station::Station<
    Parameters,
    64,
    { 3 + 4 * Fault::COUNT },
    { 2 + 4 * 20 },
    { Fault::COUNT.div_ceil(32) },
>;

/// What comes in a stream.
pub trait Traffic {
    /// Name of the subject.
    const NAME: &'static str;
    /// What the tester says.
    const TALK: Talk;
}

/// The station and the keeper of the fault log.
pub struct Block<T> {
    station: Station,
    keeper: LogKeeper<{ Fault::COUNT }>,
    log: FaultLog<{ Fault::COUNT }>,
    /// So many bytes of the black box were asked for in the last period.
    asked: Option<u16>,
    traffic: PhantomData<T>,
}

/// What comes in a period, and the machine as the tester sees it.
#[derive(Clone, Copy)]
pub struct Port {
    tester: Tester,
    frames: Frames,
    entropy: u32,
    active: [u32; 8],
    parameters: Parameters,
    diagnostics: Diagnostics,
    inputs: Inputs,
    outputs: Outputs,
}

/// What the station says, orders and wants of the machine.
#[derive(Clone, Copy)]
pub struct Said {
    frames: [Option<Frame>; 4],
    order: WorkOrder,
    acts: bool,
}

/// The machine rests, in neutral, with nothing permitted: nothing that a tester asks is refused for that.
const QUIET: Standing = Standing { at_rest: true, neutral: true, permitted: false, withheld: true };

/// What a read of the black box gives.
const BOX: [u8; 256] = [0x5A; 256];

struct Shown<'a> {
    port: &'a Port,
    keeper: &'a LogKeeper<{ Fault::COUNT }>,
    log: &'a FaultLog<{ Fault::COUNT }>,
}

impl Served for Shown<'_> {
    type Parameters = Parameters;
    type Faults = Fault;
    const ROUTINES: &'static [Motion] = &ROUTINES;
    const CONTROLS: &'static [Motion] = &CONTROLS;
    const BLACK_BOX: bool = true;

    fn parameters(&self) -> &Parameters {
        &self.port.parameters
    }

    fn check(&self, _: &Parameters) -> Result<(), Refusal> {
        Ok(())
    }

    fn signal(&self, identifier: u16) -> Option<Reading> {
        let Port { diagnostics, inputs, outputs, .. } = self.port;
        signal(diagnostics, inputs, outputs, identifier)
    }

    fn identification(&self, _: Identification) -> &[u8] {
        b"Tarnbrook"
    }

    fn is_fault_active(&self, place: u16) -> bool {
        let word = self.port.active.get(usize::from(place / 32)).copied().unwrap_or(0);
        word.wrapping_shr((place % 32).into()) & 1 == 1
    }

    fn active_faults(&self) -> [u32; 8] {
        self.port.active
    }

    fn lamps(&self) -> Lamps {
        Lamps { amber_warning: Lamp::On, ..Lamps::OFF }
    }

    fn fault_entry(&self, place: u16) -> LogEntry {
        self.keeper.entry(self.log, place)
    }

    fn standing(&self) -> Standing {
        QUIET
    }

    fn routine(&self, _: u16) -> RoutineReport {
        RoutineReport::default()
    }
}

impl<T: Traffic> Subject for Block<T> {
    const NAME: &'static str = T::NAME;
    const LEAD_IN: u32 = UNLOCKED + 20;
    type Input = Port;
    type Output = Said;

    fn new() -> Self {
        let config = StationConfig { name: Name::parse([1, 0, 0xE0, 0xFF, 0, 128, 0, 0xB0]), address: OWN };
        Self {
            station: started!(Station::new(config, AccessBoot::default(), TICK)),
            keeper: LogKeeper::new(TICK),
            log: FaultLog::new(),
            asked: None,
            traffic: PhantomData,
        }
    }

    fn input(random: &mut Random, _: Option<&Port>) -> Port {
        Port {
            tester: Tester::new(T::TALK),
            frames: [None; SLOTS],
            entropy: random.bits(),
            active: [0; 8],
            parameters: Parameters::default(),
            diagnostics: Diagnostics::default(),
            inputs: Inputs::default(),
            outputs: Outputs::default(),
        }
    }

    /// Faults come and go, seldom.
    fn input_after(random: &mut Random, previous: &Port, said: &Said) -> Port {
        let mut next = *previous;
        next.frames = next.tester.after(random, &said.frames, said.order);
        next.entropy = random.bits();
        if random.once_in(100) {
            let place = random.below(Fault::COUNT as u32);
            if let Some(word) = next.active.get_mut((place / 32) as usize) {
                *word ^= 1_u32.wrapping_shl(place % 32);
            }
        }
        next
    }

    fn step(&mut self, port: &Port) -> Said {
        if let Some(length) = self.asked.take() {
            let bytes = BOX.get(..length.into()).ok_or(Negative::OutOfRange);
            self.station.server_mut().answer_box(bytes);
        }
        let arrived =
            Arrived { frames: &port.frames, bus_off: false, work: port.tester.work, entropy: port.entropy };
        let shown = Shown { port, keeper: &self.keeper, log: &self.log };
        let mut outbox = Vec::<Frame, 4>::new();
        let action = self.station.step(&shown, &arrived, &mut outbox);
        self.keeper.step(&mut self.log, QUIET.at_rest, self.station.server_mut());
        if let Action::Box(BoxOrder::Read { length, .. }) = action {
            self.asked = Some(length);
        }
        let slot = |place: usize| outbox.get(place).copied();
        Said {
            frames: [slot(0), slot(1), slot(2), slot(3)],
            order: self.station.server().order(),
            acts: action != Action::None,
        }
    }

    fn input_words(port: &Port, into: &mut Words) -> usize {
        let place = tester::words(&port.frames, into, 0);
        put(into, place, [port.entropy as i32, port.tester.work.number.into()])
    }

    fn output_words(said: &Said, into: &mut Words) -> usize {
        let place = tester::words(&said.frames, into, 0);
        let WorkOrder { kind, number, place: of, item } = said.order;
        put(
            into,
            place,
            [kind as i32, number.into(), of.into(), item as i32, (item >> 32) as i32, said.acts.into()],
        )
    }
}

fn put<const N: usize>(into: &mut Words, place: usize, words: [i32; N]) -> usize {
    into.iter_mut().skip(place).zip(words).for_each(|(there, word)| *there = word);
    place.wrapping_add(N)
}
