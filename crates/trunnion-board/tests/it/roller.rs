//! A small machine for the wire's tests: a roller with one travel coil and one drum coil.

use trunnion::declare::{Access, Latch, Reactions, Refusal};
use trunnion::machine::{Boot, FastLoop, Machine};
use trunnion::quantity::{Duty, Millivolts, Period, Permille};

trunnion::choices! {
    /// What the roller does.
    pub enum Doing {
        /// Standing.
        Standing = "standing",
        /// Travelling.
        Travelling = "travelling",
    }
}

trunnion::signals! {
    /// What the wiring and the bus bring.
    pub struct Inputs, pub enum Input {
        /// Seat switch.
        seat: bool = false;
        /// Battery.
        supply: Millivolts = Millivolts::ZERO;
        /// Lever frame.
        lever_frame: u64 = u64::MAX;
        /// Frames counted.
        lever_frames: u16 = 0;
        /// Slope.
        slope: i32 = 0;
    }
}

trunnion::signals! {
    /// What the roller drives.
    pub struct Outputs, pub enum Output {
        /// Lamp.
        lamp: bool = false;
        /// Loops.
        loops: u32 = 0;
    }
}

trunnion::signals! {
    /// Internal points.
    pub struct Diagnostics, pub enum Diagnostic {
        /// What it does.
        doing: Doing = Doing::Standing;
        /// Wanted travel.
        wanted: Permille = Permille::ZERO;
        /// All fast steps' sum.
        sum: u32 = 0;
    }
}

trunnion::signals! {
    /// Set-points of the coils.
    pub struct SetPoints, pub enum SetPoint {
        /// Travel coil.
        travel_target: u16 = 0;
    }
}

trunnion::signals! {
    /// Currents.
    pub struct Currents, pub enum Current {
        /// Travel coil.
        travel_current: u16 = 0;
        /// Drum coil.
        drum_current: u16 = 0;
    }
}

trunnion::signals! {
    /// Duties.
    pub struct Duties, pub enum DutyIndex {
        /// Travel coil.
        travel_duty: Duty = Duty::ZERO;
        /// Drum coil.
        drum_duty: Duty = Duty::ZERO;
    }
}

trunnion::signals! {
    /// What the coils report.
    pub struct Report, pub enum ReportIndex {
        /// Sum of currents.
        current_sum: u32 = 0;
    }
}

trunnion::parameters! {
    /// Tuning.
    pub struct Parameters, pub enum Parameter {
        /// Gain.
        0x0101 gain: u8 = 3, in 1..=9, Access::Tune;
        /// Offset; with gain 9 nothing but 0 goes.
        0x0102 offset: i16 = 0, in -500..=500, Access::Tune;
    }
}

trunnion::faults! {
    /// What can go wrong.
    pub enum Fault {
        /// Nobody sits.
        SeatEmpty: spn 1504, fmi 2, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "seat, X1:7";
    }
}

/// Integrates towards a target.
#[derive(Clone)]
pub struct Coils {
    gain: u16,
    travel: u16,
    sum: u32,
}

impl FastLoop for Coils {
    type SetPoints = SetPoints;
    type Inputs = Currents;
    type Outputs = Duties;
    type Report = Report;

    fn step(&mut self, set_points: &SetPoints, inputs: &Currents) -> Duties {
        let error = i32::from(set_points.travel_target) - i32::from(inputs.travel_current);
        let next = i32::from(self.travel) + error * i32::from(self.gain) / 16;
        self.travel = next.clamp(0, 10_000) as u16;
        self.sum = self.sum.wrapping_add(u32::from(inputs.drum_current));
        Duties {
            travel_duty: Duty::saturating(i64::from(self.travel)),
            drum_duty: Duty::saturating(i64::from(self.sum % 10_000)),
        }
    }

    fn report(&mut self) -> Report {
        Report { current_sum: self.sum }
    }
}

/// The machine.
#[derive(Clone)]
pub struct Roller {
    offset: i16,
    serial: u32,
    loops: u32,
    seat: bool,
    wanted: Permille,
    sum: u32,
}

impl Machine for Roller {
    const PERIOD: Period = Period::from_micros(10_000).unwrap();
    const FAST_STEPS: u8 = 10;
    type Parameters = Parameters;
    type Fast = Coils;
    type Inputs = Inputs;
    type Outputs = Outputs;
    type Diagnostics = Diagnostics;
    type Faults = Fault;

    fn start(boot: &Boot<Parameters>) -> (Self, Coils) {
        let roller = Self {
            offset: boot.parameters.offset(),
            serial: boot.serial ^ boot.entropy ^ boot.starts ^ boot.wrong_codes ^ u32::from(boot.damaged),
            loops: 0,
            seat: false,
            wanted: Permille::ZERO,
            sum: 0,
        };
        (roller, Coils { gain: boot.parameters.gain().into(), travel: 0, sum: boot.cause as u32 })
    }

    fn step(&mut self, inputs: &Inputs, report: &Report) -> Outputs {
        self.loops = self.loops.wrapping_add(1);
        self.seat = inputs.seat;
        let position = (inputs.lever_frame as u16 % 1000) as i16;
        self.wanted = Permille::saturating(i64::from(position + self.offset));
        self.sum = report.current_sum ^ self.serial;
        Outputs { lamp: self.loops % 100 < 50, loops: self.loops }
    }

    fn set_points(&self) -> SetPoints {
        SetPoints { travel_target: if self.seat { self.wanted.raw().unsigned_abs() } else { 0 } }
    }

    fn reconfigure(&mut self, fast: &mut Coils, parameters: &Parameters) -> Result<(), Refusal> {
        if parameters.gain() == 9 && parameters.offset() != 0 {
            let value = parameters.offset().into();
            return Err(Refusal::Contradiction { id: 0x0102, value, rule: "gain 9 needs offset 0" });
        }
        self.offset = parameters.offset();
        fast.gain = parameters.gain().into();
        Ok(())
    }

    fn is_fault_active(&self, index: u16) -> bool {
        index == Fault::SeatEmpty as u16 && !self.seat
    }

    fn diagnostics(&self) -> Diagnostics {
        Diagnostics {
            doing: if self.seat { Doing::Travelling } else { Doing::Standing },
            wanted: self.wanted,
            sum: self.sum,
        }
    }
}
