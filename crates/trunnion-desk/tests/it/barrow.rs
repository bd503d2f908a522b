//! A power barrow: two tracks, a grip for each, and a hold bar that stops it when it is let go.
//!
//! It is a worked example of a whole machine: declaration and control program here, its plant and its bench in
//! their own files.

mod bench;
mod plant;

pub use bench::BarrowBench;
pub use plant::BarrowPlant;

use trunnion::declare::{Access, Latch, Reactions, Refusal, Wire};
use trunnion::guard::Reasons;
use trunnion::machine::{Boot, FastLoop, Machine};
use trunnion::propel::Sides;
use trunnion::quantity::{Duty, Milliamps, Millis, Period, Permille, Ratio};
use trunnion::ramp::{MotionRates, PairRamp, PairRampConfig, StopRequest};
use trunnion::valve::{CurrentMap, CurrentMapConfig};

trunnion::signals! {
    /// What the wiring brings.
    pub struct Inputs, pub enum Input {
        /// Grip of the left track, share of its supply.
        left_grip_signal: Permille = Permille::ZERO, in 0..=1000, at "X1:1", Wire::Ratiometric;
        /// Grip of the right track, share of its supply.
        right_grip_signal: Permille = Permille::ZERO, in 0..=1000, at "X1:2", Wire::Ratiometric;
        /// Hold bar, closed while it is held.
        hold_bar: bool = false, at "X1:3", Wire::SwitchToSupply;
    }
}

trunnion::signals! {
    /// Measured coil currents.
    pub struct Currents, pub enum Current {
        /// Current of the left track's coil.
        left_current: Milliamps = Milliamps::ZERO, in 0..=1500, at "X2:1", Wire::CurrentSense;
        /// Current of the right track's coil.
        right_current: Milliamps = Milliamps::ZERO, in 0..=1500, at "X2:2", Wire::CurrentSense;
    }
}

trunnion::signals! {
    /// What the output stages drive.
    pub struct Duties, pub enum DutyIndex {
        /// Left track's coil.
        left_duty: Duty = Duty::ZERO, at "X2:3", Wire::ProportionalCoil;
        /// Right track's coil.
        right_duty: Duty = Duty::ZERO, at "X2:4", Wire::ProportionalCoil;
    }
}

trunnion::signals! {
    /// What the machine asks of its coils.
    pub struct SetPoints, pub enum SetPoint {
        /// Left.
        left: Milliamps = Milliamps::ZERO;
        /// Right.
        right: Milliamps = Milliamps::ZERO;
    }
}

trunnion::signals! {
    /// On-off outputs.
    pub struct Outputs, pub enum Output {
        /// Lamp on the handle: lit while driving is permitted.
        lamp: bool = false, at "X2:6", Wire::SwitchedOutput;
    }
}

trunnion::choices! {
    /// Why the barrow may not drive.
    pub enum Reason {
        /// It may.
        Nothing = "nothing",
        /// A fault stops it.
        Fault = "fault",
        /// The hold bar is not held.
        BarReleased = "bar_released",
        /// A grip is not at rest.
        GripHeld = "grip_held",
    }
}

trunnion::signals! {
    /// Internal points.
    pub struct Diagnostics, pub enum Diagnostic {
        /// Left track asked for.
        left_asked: Ratio = Ratio::ZERO;
        /// Right track asked for.
        right_asked: Ratio = Ratio::ZERO;
        /// Left track after the ramp.
        left_ramped: Ratio = Ratio::ZERO;
        /// Right track after the ramp.
        right_ramped: Ratio = Ratio::ZERO;
        /// Driving is permitted.
        permission_drive: bool = false;
        /// First reason why not.
        why_not_drive: Reason = Reason::Nothing;
        /// All reasons why not, a bit each.
        why_not_drive_all: u32 = 0;
    }
}

trunnion::parameters! {
    /// What its owner may tune.
    pub struct Parameters, pub enum Parameter {
        /// Largest speed.
        0x0101 speed_maximum: Permille = 1000, in 200..=1000, Access::Tune;
        /// Standstill to full speed, and back.
        0x0102 ramp_time: Millis = 1000, in 200..=5000, Access::Tune;
        /// Full speed to standstill when the hold bar is let go.
        0x0103 stop_time: Millis = 400, in 100..=1000, Access::Safety;
        /// Tracks are made of this.
        0x0104 track_pads: u8 = 42, in 20..=60, Access::Constant;
    }
}

/// Stops both tracks.
pub const STOP: Reactions = Reactions(1);

trunnion::faults! {
    /// What can go wrong.
    pub enum Fault {
        /// The left grip's wire is broken. Check its plug.
        LeftGripOpen: spn 520_192, fmi 5, set 0, clear 0, Latch::WhilePresent, STOP, blink 11, "left grip, X1:1";
        /// The right grip's wire is broken. Check its plug.
        RightGripOpen: spn 520_193, fmi 5, set 0, clear 0, Latch::WhilePresent, STOP, blink 12, "right grip, X1:2";
    }
}

/// Current control: the share of supply that drives the current through 8 Ω at 12 V.
#[derive(Clone)]
pub struct CoilLoop;

impl FastLoop for CoilLoop {
    type SetPoints = SetPoints;
    type Inputs = Currents;
    type Outputs = Duties;
    type Report = ();

    fn step(&mut self, set_points: &SetPoints, _inputs: &Currents) -> Duties {
        let duty = |current: Milliamps| Duty::saturating(i64::from(current.raw()) * 8 * 10 / 12);
        Duties { left_duty: duty(set_points.left), right_duty: duty(set_points.right) }
    }

    fn report(&mut self) {}
}

/// The control program.
#[derive(Clone)]
pub struct Barrow {
    parameters: Parameters,
    ramp: PairRamp,
    faults: [bool; 2],
    diagnostics: Diagnostics,
}

const COIL: CurrentMap = match CurrentMap::new(CurrentMapConfig {
    threshold: Milliamps::saturating(250),
    end: Milliamps::saturating(1000),
}) {
    Ok(map) => map,
    Err(_) => panic!("threshold and end of the coils"),
};

fn ramp_config(parameters: &Parameters) -> PairRampConfig {
    let time = parameters.ramp_time();
    let rates = MotionRates { accelerate: time, decelerate: time, reverse: time };
    PairRampConfig {
        forward: rates,
        reverse: rates,
        rotation: rates,
        stop: parameters.stop_time(),
        dwell: Millis::from_ticks(0),
    }
}

impl Barrow {
    fn why_not(&self, bar_held: bool, asked: Sides) -> Reasons {
        let held = !asked.is_zero() && !self.diagnostics.permission_drive;
        Reasons::none()
            .with_if(Reason::Fault as u8, self.faults.contains(&true))
            .with_if(Reason::BarReleased as u8, !bar_held)
            .with_if(Reason::GripHeld as u8, held)
    }
}

/// A grip between 10 and 90 % of its supply; outside of 5 to 95 % its wire is broken.
fn grip(signal: Permille, maximum: Permille) -> (Ratio, bool) {
    let broken = signal.raw() < 50 || signal.raw() > 950;
    let position = Ratio::from_quotient(i64::from(signal.raw()) - 500, 400);
    let asked = position.times(Ratio::from_quotient(maximum.raw().into(), 1000));
    let neutral = position.magnitude() < Ratio::from_quotient(5, 100);
    (if broken || neutral { Ratio::ZERO } else { asked }, broken)
}

impl Machine for Barrow {
    const PERIOD: Period = Period::from_micros(10_000).unwrap();
    const FAST_STEPS: u8 = 5;
    type Parameters = Parameters;
    type Fast = CoilLoop;
    type Inputs = Inputs;
    type Outputs = Outputs;
    type Diagnostics = Diagnostics;
    type Faults = Fault;

    fn start(boot: &Boot<Parameters>) -> (Self, CoilLoop) {
        // Every set of parameters in their ranges makes a ramp.
        let ramp = PairRamp::new(ramp_config(&boot.parameters), Self::PERIOD).expect("ramp");
        let diagnostics = Diagnostics::default();
        (Self { parameters: boot.parameters, ramp, faults: [false; 2], diagnostics }, CoilLoop)
    }

    fn step(&mut self, inputs: &Inputs, _report: &()) -> Outputs {
        let maximum = self.parameters.speed_maximum();
        let (left, left_broken) = grip(inputs.left_grip_signal, maximum);
        let (right, right_broken) = grip(inputs.right_grip_signal, maximum);
        self.faults = [left_broken, right_broken];
        let asked = Sides { left, right };
        let why_not = self.why_not(inputs.hold_bar, asked);
        let permitted = why_not.is_empty();
        let stop = if permitted { StopRequest::None } else { StopRequest::Controlled };
        let ramped = self.ramp.step(asked, stop);
        let first = why_not.lowest().map_or(0, usize::from);
        self.diagnostics = Diagnostics {
            left_asked: asked.left,
            right_asked: asked.right,
            left_ramped: ramped.left,
            right_ramped: ramped.right,
            permission_drive: permitted,
            why_not_drive: Reason::ALL.get(first).copied().unwrap_or_default(),
            why_not_drive_all: why_not.bits(),
        };
        Outputs { lamp: permitted }
    }

    fn set_points(&self) -> SetPoints {
        let Diagnostics { left_ramped, right_ramped, .. } = self.diagnostics;
        SetPoints { left: COIL.step(left_ramped.magnitude()), right: COIL.step(right_ramped.magnitude()) }
    }

    fn reconfigure(&mut self, _fast: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
        if parameters.stop_time() > parameters.ramp_time() {
            return Err(Refusal::Contradiction {
                id: Parameter::stop_time.id(),
                value: parameters.stop_time().ticks().try_into().unwrap_or(i32::MAX),
                rule: "a stop must not be slower than letting go",
            });
        }
        let known = self.ramp.reconfigure(ramp_config(parameters));
        debug_assert!(known.is_ok());
        self.parameters = *parameters;
        Ok(())
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.faults.get(usize::from(index)).copied().unwrap_or(false)
    }

    fn diagnostics(&self) -> Diagnostics {
        self.diagnostics
    }
}
