//! From two levers on the bus to what the operator wants.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::guard::{PatternLatch, PatternLatchConfig, PatternState};
use trunnion::lever::{
    Axis, AxisCalibration, AxisCalibrationConfig, AxisConfig, Intent, LeverPattern, assign,
};
use trunnion::quantity::{Permille, Ratio};
use trunnion::sense::Reading;
use trunnion::timing::RisingEdge;
use trunnion_can::bus_lever::{BusLever, BusLeverConfig, LeverReading, WheelAxis};

use super::measuring::LeverAxis;
use super::{MOST_FRAMES, PERIOD};
use crate::declaration::{Inputs, Parameter, Parameters};
use crate::planted::planted;

/// Both levers as received.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Received {
    /// Left lever.
    pub left: LeverReading,
    /// Right lever.
    pub right: LeverReading,
}

/// What the operator wants, and whether the levers of each group rest.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// By axis of the machine.
    pub intent: Intent,
    /// Auxiliary, coupling A positive.
    pub auxiliary: Ratio,
    /// Pattern in force and what became of the rocker.
    pub pattern: PatternState<LeverPattern>,
    /// Levers of the drive are neutral.
    pub drive_neutral: bool,
    /// Levers of boom and bucket are neutral.
    pub work_neutral: bool,
    /// Thumb-wheel of the auxiliary is neutral.
    pub auxiliary_neutral: bool,
    /// A frame came from each lever that the drive uses.
    pub drive_frame: bool,
    /// A frame came from each lever that boom and bucket use.
    pub work_frame: bool,
    /// A frame came of the thumb-wheel.
    pub auxiliary_frame: bool,
    /// Left lever button 1 pressed anew: two-speed.
    pub two_speed_pressed: bool,
    /// Right lever button 1 pressed anew: float.
    pub float_pressed: bool,
    /// Right lever button 2 pressed anew: continuous auxiliary.
    pub continuous_pressed: bool,
}

/// The lever room of the loader.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Levers {
    left: BusLever,
    right: BusLever,
    calibrations: [AxisCalibration<Ratio>; LeverAxis::ALL.len()],
    axis: Axis,
    pattern: PatternLatch<LeverPattern>,
    two_speed: RisingEdge,
    float: RisingEdge,
    continuous: RisingEdge,
    both_heard: BothHeard,
}

fn bus_lever(parameters: &Parameters) -> BusLeverConfig {
    BusLeverConfig {
        period: parameters.lever_period(),
        start_up: parameters.start_up_window(),
        neutral_band: parameters.lever_neutral_band(),
        most_frames: MOST_FRAMES,
        wheel: WheelAxis::GripX,
        fitted_buttons: 0b11,
    }
}

/// Least travel from the centre to either end, of what a lever sends.
pub(super) const SHORTEST_TRAVEL: Permille = Permille::saturating(500);
/// How far the centre may lie from the middle of the ends, as a share of half the travel.
pub(super) const OFF_CENTRE: Permille = Permille::saturating(150);

fn calibrations(parameters: &Parameters) -> Result<[AxisCalibration<Ratio>; LeverAxis::ALL.len()], Refusal> {
    let p = parameters;
    let axis = |axis: LeverAxis, low: Permille, centre: Permille, high: Permille| {
        let [_, at_fault, _] = axis.parameters();
        AxisCalibration::new(AxisCalibrationConfig {
            low: low.into(),
            centre: centre.into(),
            high: high.into(),
            shortest_travel: SHORTEST_TRAVEL.into(),
            off_centre: OFF_CENTRE,
            // The lever watches its own sensor and says so: beyond an end is at the end.
            overtravel: Ratio::ONE,
        })
        .map_err(|_| parameters.contradiction(at_fault, "does not lie between its ends as at a sound lever"))
    };
    Ok([
        axis(LeverAxis::LeftX, p.left_lever_x_low(), p.left_lever_x_centre(), p.left_lever_x_high())?,
        axis(LeverAxis::LeftY, p.left_lever_y_low(), p.left_lever_y_centre(), p.left_lever_y_high())?,
        axis(LeverAxis::RightX, p.right_lever_x_low(), p.right_lever_x_centre(), p.right_lever_x_high())?,
        axis(LeverAxis::RightY, p.right_lever_y_low(), p.right_lever_y_centre(), p.right_lever_y_high())?,
        axis(LeverAxis::RightWheel, p.right_wheel_low(), p.right_wheel_centre(), p.right_wheel_high())?,
    ])
}

fn axis(parameters: &Parameters) -> AxisConfig {
    AxisConfig {
        deadband: parameters.lever_deadband(),
        saturation: parameters.lever_full_travel(),
        progression: parameters.lever_progression(),
    }
}

fn pattern(parameters: &Parameters) -> PatternLatchConfig {
    PatternLatchConfig { hold: parameters.pattern_hold() }
}

impl Levers {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        check_addresses(parameters)?;
        Ok(Self {
            left: BusLever::new(bus_lever(parameters), PERIOD).map_err(|_| refuse_period(parameters))?,
            right: BusLever::new(bus_lever(parameters), PERIOD).map_err(|_| refuse_period(parameters))?,
            calibrations: calibrations(parameters)?,
            axis: Axis::new(axis(parameters)).map_err(|_| refuse_axis(parameters))?,
            pattern: PatternLatch::new(pattern(parameters), PERIOD).map_err(|_| refuse_hold(parameters))?,
            two_speed: RisingEdge::new(),
            float: RisingEdge::new(),
            continuous: RisingEdge::new(),
            both_heard: BothHeard::default(),
        })
    }

    /// Takes new parameters; freshness and pattern are kept.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        check_addresses(parameters)?;
        self.left.reconfigure(bus_lever(parameters)).map_err(|_| refuse_period(parameters))?;
        self.right.reconfigure(bus_lever(parameters)).map_err(|_| refuse_period(parameters))?;
        self.calibrations = calibrations(parameters)?;
        self.axis.reconfigure(axis(parameters)).map_err(|_| refuse_axis(parameters))?;
        self.pattern.reconfigure(pattern(parameters)).map_err(|_| refuse_hold(parameters))
    }

    /// First hop: what the bus brought.
    pub fn receive(&mut self, inputs: &Inputs) -> Received {
        Received {
            left: self.left.step(
                (inputs.left_lever_basic, inputs.left_lever_basic_count),
                (inputs.left_lever_extended, inputs.left_lever_extended_count),
            ),
            right: self.right.step(
                (inputs.right_lever_basic, inputs.right_lever_basic_count),
                (inputs.right_lever_extended, inputs.right_lever_extended_count),
            ),
        }
    }

    /// Second hop: what the operator wants by it. `at_rest`: machine at standstill with ramps at zero.
    pub fn want(&mut self, received: &Received, rocker: Reading<bool>, at_rest: bool) -> Wanted {
        let (left, right) = (&received.left, &received.right);
        let both_neutral = left.neutral && right.neutral;
        let asked_pattern = match rocker {
            Reading::Valid(true) => Some(LeverPattern::Iso),
            Reading::Valid(false) => Some(LeverPattern::H),
            Reading::Faulted(_) => None,
        };
        let pattern =
            self.pattern.step(asked_pattern, (at_rest || planted!(PatternWhileRolling)) && both_neutral);
        let in_force = pattern.active.unwrap_or(LeverPattern::None);
        let both_frame = self.both_heard.step(left.new_frame, right.new_frame);
        let iso = in_force == LeverPattern::Iso;
        let shaped = |axis: LeverAxis, signal: Ratio| {
            let [left_x, left_y, right_x, right_y, wheel] = &self.calibrations;
            let calibration = match axis {
                LeverAxis::LeftX => left_x,
                LeverAxis::LeftY => left_y,
                LeverAxis::RightX => right_x,
                LeverAxis::RightY => right_y,
                LeverAxis::RightWheel => wheel,
            };
            let travel = calibration.step(signal).or(Ratio::ZERO);
            let shaped = self.axis.step(travel);
            if planted!(DeadbandNotRescaled) && !shaped.is_zero() { travel } else { shaped }
        };
        Wanted {
            intent: assign(
                in_force,
                shaped(LeverAxis::LeftX, left.x),
                shaped(LeverAxis::LeftY, left.y),
                shaped(LeverAxis::RightX, right.x),
                shaped(LeverAxis::RightY, right.y),
            ),
            auxiliary: shaped(LeverAxis::RightWheel, right.wheel),
            pattern,
            drive_neutral: if iso { left.neutral } else { both_neutral },
            work_neutral: if iso { right.neutral } else { both_neutral },
            auxiliary_neutral: right.wheel_neutral,
            drive_frame: if iso { left.new_frame } else { both_frame },
            work_frame: if iso { right.new_frame } else { both_frame },
            auxiliary_frame: right.new_wheel_frame,
            two_speed_pressed: self.two_speed.step(button(left, 0)),
            float_pressed: self.float.step(button(right, 0)),
            continuous_pressed: self.continuous.step(button(right, 1)),
        }
    }
}

/// Counts a frame of a pair of levers when each has sent one.
#[derive(Debug, Clone, Copy, Default, Serialize, Deserialize)]
struct BothHeard {
    left: bool,
    right: bool,
}

impl BothHeard {
    fn step(&mut self, left: bool, right: bool) -> bool {
        self.left |= left;
        self.right |= right;
        let both = self.left && self.right;
        if both {
            *self = Self::default();
        }
        both
    }
}

fn button(lever: &LeverReading, index: usize) -> bool {
    lever.fresh && lever.buttons.get(index).copied().unwrap_or(false)
}

fn check_addresses(parameters: &Parameters) -> Result<(), Refusal> {
    let addresses =
        [parameters.left_lever_address(), parameters.right_lever_address(), parameters.engine_address()];
    let [left, right, engine] = addresses;
    if left == right || left == engine {
        return Err(parameters.contradiction(Parameter::left_lever_address, "another unit has this address"));
    }
    if addresses.contains(&parameters.controller_address()) {
        return Err(parameters.contradiction(Parameter::controller_address, "another unit has this address"));
    }
    if right == engine {
        return Err(parameters.contradiction(Parameter::right_lever_address, "another unit has this address"));
    }
    Ok(())
}

fn refuse_period(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::lever_period, "does not fit the start-up window")
}

fn refuse_axis(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::lever_deadband, "leaves no travel below lever_full_travel")
}

fn refuse_hold(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::pattern_hold, "is shorter than a period")
}
