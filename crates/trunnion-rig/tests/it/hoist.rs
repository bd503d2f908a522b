//! A small machine and its plant: a hoist with one lever, one seat switch, one coil and one drum.

use trunnion::declare::{Access, Failure, Latch, Reactions, Refusal, Wire};
use trunnion::machine::{Boot, FastInputs, FastLoop, FastOutputs, Machine};
use trunnion::quantity::{Duty, Milliamps, Millis, Period, Permille};
use trunnion_rig::requirement::Requirement;
use trunnion_rig::run::{ActionInfo, BreakInfo, ObservationInfo, Plant, Way};

trunnion::signals! {
    /// What the wiring brings.
    pub struct Inputs, pub enum Input {
        /// Lever potentiometer.
        lever_signal: Permille = Permille::ZERO, in -1000..=1000, at "X1:3", Wire::Ratiometric;
        /// Seat switch, closed while somebody sits.
        seat_switch: bool = false, at "X1:7", Wire::SwitchToSupply;
    }
}

trunnion::signals! {
    /// What the coil's shunt brings.
    pub struct CoilInputs, pub enum CoilInput {
        /// Coil current.
        hoist_current: Milliamps = Milliamps::ZERO, in 0..=2000, at "X2:1", Wire::CurrentSense;
    }
}

trunnion::signals! {
    /// What the coil's output stage drives.
    pub struct CoilOutputs, pub enum CoilOutput {
        /// Share of time that the coil is on.
        hoist_duty: Duty = Duty::ZERO, at "X2:2", Wire::ProportionalCoil;
    }
}

trunnion::signals! {
    /// What the hoist asks of its coil.
    pub struct SetPoints, pub enum SetPoint {
        /// Current.
        asked: Milliamps = Milliamps::ZERO;
    }
}

trunnion::signals! {
    /// What the coil loop tells.
    pub struct Report, pub enum ReportIndex {
        /// Largest current of the period.
        largest: Milliamps = Milliamps::ZERO;
    }
}

trunnion::signals! {
    /// What the hoist drives.
    pub struct Outputs, pub enum Output {
        /// Brake valve.
        brake_released: bool = false, at "X2:4", Wire::SwitchedOutput;
    }
}

trunnion::choices! {
    /// What the hoist does.
    pub enum Motion {
        /// Nothing.
        Rest = "at_rest",
        /// It turns.
        Hoist = "hoist",
    }
}

trunnion::signals! {
    /// What an engineer looks at.
    pub struct Diagnostics, pub enum Diagnostic {
        /// What it does.
        motion: Motion = Motion::Rest;
        /// Whether it may.
        permission: bool = false;
        /// Current asked of the coil.
        asked_current: Milliamps = Milliamps::ZERO, in 0..=1000;
    }
}

trunnion::parameters! {
    /// What the owner may tune.
    pub struct Parameters, pub enum Parameter {
        /// Largest current.
        0x0001 current_maximum: Milliamps = 800, in 400..=1000, Access::Tune;
        /// Current at which the drum begins to move.
        0x0002 current_threshold: Milliamps = 200, in 0..=600, Access::Tune;
        /// How long a raised seat is forgiven.
        0x0003 seat_time: Millis = 100, in 0..=1000, Access::Safety;
        /// Cable on the drum.
        0x0004 layers: u8 = 2, in 1..=5, Access::Constant;
        /// What the hoist is tested for.
        0x0005 test_motion: Motion = 0, in 0..=1, Access::Operator;
    }
}

trunnion::faults! {
    /// What can go wrong.
    pub enum Fault {
        /// The lever's wire is broken.
        LeverOpen: spn 520_192, fmi 5, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 11, "X1:3";
    }
}

/// Proportional current control, good enough for a test.
#[derive(Clone)]
pub struct CoilLoop {
    largest: Milliamps,
}

impl FastLoop for CoilLoop {
    type SetPoints = SetPoints;
    type Inputs = CoilInputs;
    type Outputs = CoilOutputs;
    type Report = Report;

    fn step(&mut self, set_points: &SetPoints, inputs: &CoilInputs) -> CoilOutputs {
        self.largest = self.largest.at_least(inputs.hoist_current);
        CoilOutputs { hoist_duty: Duty::saturating(i64::from(set_points.asked.raw()) * 8) }
    }

    fn report(&mut self) -> Report {
        Report { largest: std::mem::take(&mut self.largest) }
    }
}

/// The control program.
#[derive(Clone)]
pub struct Hoist {
    parameters: Parameters,
    seat_open_ticks: u32,
    lever_open: bool,
    diagnostics: Diagnostics,
}

impl Machine for Hoist {
    const PERIOD: Period = Period::from_micros(10_000).unwrap();
    const FAST_STEPS: u8 = 10;
    type Parameters = Parameters;
    type Fast = CoilLoop;
    type Inputs = Inputs;
    type Outputs = Outputs;
    type Diagnostics = Diagnostics;
    type Faults = Fault;

    fn start(boot: &Boot<Parameters>) -> (Self, CoilLoop) {
        let hoist = Self {
            parameters: boot.parameters,
            seat_open_ticks: 0,
            lever_open: false,
            diagnostics: Diagnostics::default(),
        };
        (hoist, CoilLoop { largest: Milliamps::ZERO })
    }

    fn step(&mut self, inputs: &Inputs, _report: &Report) -> Outputs {
        self.seat_open_ticks = if inputs.seat_switch { 0 } else { self.seat_open_ticks.saturating_add(1) };
        self.lever_open = inputs.lever_signal == Permille::MIN;
        let forgiven = Self::PERIOD.steps(self.parameters.seat_time());
        let permission = self.seat_open_ticks <= forgiven && !self.lever_open;
        let share = i64::from(inputs.lever_signal.raw().max(0));
        let current = i64::from(self.parameters.current_maximum().raw()) * share / 1000;
        let asked = if permission { Milliamps::saturating(current) } else { Milliamps::ZERO };
        let motion = if asked == Milliamps::ZERO { Motion::Rest } else { Motion::Hoist };
        self.diagnostics = Diagnostics { motion, permission, asked_current: asked };
        Outputs { brake_released: asked != Milliamps::ZERO }
    }

    fn set_points(&self) -> SetPoints {
        SetPoints { asked: self.diagnostics.asked_current }
    }

    fn reconfigure(&mut self, _fast: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
        if parameters.current_threshold() >= parameters.current_maximum() {
            return Err(Refusal::Contradiction {
                id: Parameter::current_threshold.id(),
                value: i32::from(parameters.current_threshold().raw()),
                rule: "the threshold must be below the maximum",
            });
        }
        self.parameters = *parameters;
        Ok(())
    }

    fn is_fault_active(&self, index: u16) -> bool {
        index == Fault::LeverOpen as u16 && self.lever_open
    }

    fn diagnostics(&self) -> Diagnostics {
        self.diagnostics
    }
}

/// Coil with a lag of 20 ms, drum that follows the current; the lever trembles with the seed.
#[derive(Clone)]
pub struct HoistPlant {
    random: u64,
    lever: f64,
    seated: bool,
    lever_open: bool,
    seat_failure: Option<Failure>,
    reset: bool,
    current: f64,
    speed: f64,
    brake_released: bool,
}

impl Plant<Hoist> for HoistPlant {
    const ACTIONS: &'static [ActionInfo] = &[
        ActionInfo::number("lever", "Deflection of the lever.", "%", -100.0, 100.0, 0.0),
        ActionInfo::switch("operator_seated", "Somebody sits.", false),
        ActionInfo::choice("weather", "What the drum is covered with.", &["dry", "light rain"], 0),
    ];
    const BREAKS: &'static [BreakInfo] = &[
        BreakInfo::steady("lever_signal", "Lever potentiometer.", &[Failure::Open]),
        BreakInfo::steady(
            "seat_switch",
            "Seat switch.",
            &[Failure::Open, Failure::ShortToSupply, Failure::Stuck],
        ),
        BreakInfo { signal: "controller", doc: "The controller.", failures: &[], beyond: &[Way::Reset] },
    ];
    const OBSERVATIONS: &'static [ObservationInfo] = &[
        ObservationInfo::number("true_drum_speed", "Speed of the cable.", "m/s"),
        ObservationInfo::switch("true_brake_open", "Whether the brake lets go."),
    ];

    fn start(seed: u64) -> Self {
        Self {
            random: seed,
            lever: f64::NAN,
            seated: false,
            lever_open: false,
            seat_failure: None,
            reset: false,
            current: 0.0,
            speed: 0.0,
            brake_released: false,
        }
    }

    fn restart(&mut self) -> Option<Boot<Parameters>> {
        std::mem::take(&mut self.reset).then(Boot::default)
    }

    fn act(&mut self, action: u16, value: f64) {
        match action {
            0 => self.lever = value,
            1 => self.seated = value > 0.0,
            _ => {}
        }
    }

    fn break_signal(&mut self, place: u16, way: Way) {
        match (place, way) {
            (0, _) => self.lever_open = true,
            (2, _) => self.reset = true,
            (_, way) => self.seat_failure = way.steady(),
        }
    }

    fn mend(&mut self, place: u16) {
        match place {
            0 => self.lever_open = false,
            1 => self.seat_failure = None,
            _ => {}
        }
    }

    fn fast_inputs(&mut self) -> FastInputs<Hoist> {
        CoilInputs { hoist_current: Milliamps::saturating(self.current as i64) }
    }

    fn advance(&mut self, fast: &FastOutputs<Hoist>, outputs: &Outputs) {
        let steady = f64::from(fast.hoist_duty.raw()) / 8.0;
        self.current += (steady - self.current) * 0.05;
        self.brake_released = outputs.brake_released;
        let running = if outputs.brake_released { (self.current - 200.0).max(0.0) / 600.0 } else { 0.0 };
        self.speed += (running - self.speed) * 0.02;
    }

    fn inputs(&mut self) -> Inputs {
        self.random = self.random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let tremble = (self.random >> 62) as i64;
        let lever = Permille::saturating((self.lever * 10.0) as i64 + tremble);
        let seat_switch = match self.seat_failure {
            Some(Failure::Open) => false,
            Some(Failure::ShortToSupply) => true,
            _ => self.seated,
        };
        Inputs { lever_signal: if self.lever_open { Permille::MIN } else { lever }, seat_switch }
    }

    fn observe(&self, values: &mut [f64]) {
        let brake = f64::from(u8::from(self.brake_released));
        for (place, value) in values.iter_mut().zip([self.speed, brake]) {
            *place = value;
        }
    }
}

pub const REQUIREMENTS: &[Requirement] = &[
    Requirement {
        id: "R-01",
        sentence: "Without an operator in the seat the coil is dead.",
        hazard: "H-01 nobody in control",
        formula: "always (held for seat_time + 20 ms not seat_switch implies within 200 ms hoist_current < 20 mA)",
    },
    Requirement {
        id: "R-02",
        sentence: "The coil is never asked for more than its maximum.",
        hazard: "H-02 too fast",
        formula: "always asked_current <= current_maximum",
    },
    Requirement {
        id: "R-03",
        sentence: "The brake lets go only with permission.",
        hazard: "H-03 falling load",
        formula: "always (brake_released implies permission)",
    },
];
