//! The drum's vibration: switched on by a button, run only while the machine travels at a compacting speed.

use trunnion::declare::{Reactions, Refusal};
use trunnion::guard::{
    GateState, LastGate, PatternLatch, PatternLatchConfig, PatternState, Permission, Reasons, StopKind,
};
use trunnion::quantity::{Milliamps, Ratio, Rpm};
use trunnion::ramp::{RateLimit, RateLimitConfig};
use trunnion::sense::Reading;
use trunnion::timing::{Hysteresis, HysteresisConfig};

use super::PERIOD;
use super::permission::last_gate;
use super::reasons::Reason;
use super::sensing::Sensed;
use crate::declaration::faults::STOP_VIBRATION;
use crate::declaration::{Parameter, Parameters};

trunnion::choices! {
    /// How far the drum moves.
    pub enum Amplitude {
        /// None in force.
        None = "none",
        /// Large amplitude, slow: thick layers.
        High = "high",
        /// Small amplitude, fast: thin layers.
        Low = "low",
    }
}

/// The vibration in one period.
#[derive(Debug, Clone, Copy)]
pub struct VibrationCommand {
    /// Switched on by its button.
    pub switched_on: bool,
    /// Amplitude in force, and what became of the rocker.
    pub amplitude: PatternState<Amplitude>,
    /// All that keeps the drum from vibrating.
    pub why_not: Reasons,
    /// After the ramp, large amplitude positive.
    pub command: Ratio,
}

/// The vibration of the roller.
#[derive(Debug, Clone)]
pub struct Vibration {
    switched_on: bool,
    fast_enough: Hysteresis<Rpm>,
    too_fast: Hysteresis<Rpm>,
    amplitude: PatternLatch<Amplitude>,
    /// The way that the drum is asked to turn, kept while it runs down.
    way: Ratio,
    ramp: RateLimit,
    gate: LastGate,
}

/// Shaft speed below which the drum rests: a turn in a second.
const DRUM_RESTS: Rpm = Rpm::from_whole(60);

fn at_least(parameters: &Parameters) -> HysteresisConfig<Rpm> {
    HysteresisConfig {
        on_from: Rpm::from_whole(parameters.vibration_from().into()),
        off_to: Rpm::from_whole(parameters.vibration_down_to().into()),
    }
}

fn at_most(parameters: &Parameters) -> HysteresisConfig<Rpm> {
    HysteresisConfig {
        on_from: Rpm::from_whole(parameters.vibration_up_to().into()),
        off_to: Rpm::from_whole(parameters.vibration_again_from().into()),
    }
}

fn amplitude(parameters: &Parameters) -> PatternLatchConfig {
    PatternLatchConfig { hold: parameters.amplitude_hold() }
}

fn ramp(parameters: &Parameters) -> RateLimitConfig {
    RateLimitConfig { rise: parameters.vibration_rise(), fall: parameters.vibration_fall() }
}

/// A drum that vibrates at no speed of travel is a mistake of whoever set the window.
fn check_window(parameters: &Parameters) -> Result<(), Refusal> {
    if parameters.vibration_again_from() > parameters.vibration_from() {
        Ok(())
    } else {
        Err(parameters.contradiction(Parameter::vibration_again_from, "must be above vibration_from"))
    }
}

impl Vibration {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let refuse = |parameter, rule| parameters.contradiction(parameter, rule);
        check_window(parameters)?;
        Ok(Self {
            switched_on: false,
            fast_enough: Hysteresis::new(at_least(parameters))
                .map_err(|_| refuse(Parameter::vibration_down_to, "must be below vibration_from"))?,
            too_fast: Hysteresis::new(at_most(parameters))
                .map_err(|_| refuse(Parameter::vibration_again_from, "must be below vibration_up_to"))?,
            amplitude: PatternLatch::new(amplitude(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::amplitude_hold, "is no time"))?,
            way: Ratio::ONE,
            ramp: RateLimit::new(ramp(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::vibration_rise, "is no ramp time"))?,
            gate: LastGate::new(last_gate(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::decay_time, "is shorter than a period"))?,
        })
    }

    /// Takes new parameters; what runs goes on.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let refuse = |parameter, rule| parameters.contradiction(parameter, rule);
        check_window(parameters)?;
        self.fast_enough
            .reconfigure(at_least(parameters))
            .map_err(|_| refuse(Parameter::vibration_down_to, "must be below vibration_from"))?;
        self.too_fast
            .reconfigure(at_most(parameters))
            .map_err(|_| refuse(Parameter::vibration_again_from, "must be below vibration_up_to"))?;
        self.amplitude
            .reconfigure(amplitude(parameters))
            .map_err(|_| refuse(Parameter::amplitude_hold, "is no time"))?;
        self.ramp
            .reconfigure(ramp(parameters))
            .map_err(|_| refuse(Parameter::vibration_rise, "is no ramp time"))
    }

    /// Beside the fourth hop: switched on, at a compacting speed, and how fast it may change.
    pub fn step(&mut self, sensed: &Sensed, drive: &Permission, unexplained: Reactions) -> VibrationCommand {
        self.switched_on = drive.permitted && (self.switched_on != sensed.vibration_pressed);
        let amplitude = self.latch(sensed.amplitude, sensed.eccentric);
        // Without a speed the machine may stand.
        let speed = sensed.travel.or(Rpm::ZERO).magnitude();
        let why_not = Reasons::none()
            .with_if(Reason::DriveNotPermitted.bit(), !drive.permitted)
            .with_if(Reason::Fault.bit(), unexplained.has(STOP_VIBRATION))
            .with_if(Reason::NotSwitchedOn.bit(), !self.switched_on)
            .with_if(Reason::NoAmplitude.bit(), amplitude.active.is_none())
            .with_if(Reason::TooSlow.bit(), !self.fast_enough.step(speed))
            .with_if(Reason::TooFast.bit(), self.too_fast.step(speed));
        let share = self.ramp.step(if why_not.is_empty() { Ratio::ONE } else { Ratio::ZERO });
        VibrationCommand {
            switched_on: self.switched_on,
            amplitude,
            why_not,
            command: share.directed_as(self.way),
        }
    }

    /// The way of turning decides the amplitude: it changes only while the drum rests.
    fn latch(&mut self, rocker: Reading<bool>, eccentric: Reading<Rpm>) -> PatternState<Amplitude> {
        let asked = rocker.valid().map(|low| if low { Amplitude::Low } else { Amplitude::High });
        let at_zero = self.ramp.output().is_zero();
        let amplitude = self.amplitude.step(asked, at_zero && eccentric.or(Rpm::MAX) < DRUM_RESTS);
        if at_zero {
            self.way = match amplitude.active {
                Some(Amplitude::Low) => Ratio::MINUS_ONE,
                _ => Ratio::ONE,
            };
        }
        amplitude
    }

    /// Last hop: open while the drum is asked to turn or runs down, closed at once with the drive's immediate stop.
    pub fn gate(&mut self, drive: &Permission, measured: Milliamps) -> GateState {
        let open = drive.stop != StopKind::Immediate && !self.ramp.output().is_zero();
        let state = self.gate.step(open, measured);
        if state != GateState::Open {
            self.ramp.reset();
        }
        state
    }
}
