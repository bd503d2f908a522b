//! From intent to the two sides of the drive.

mod settings;

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::guard::{DerateCurve, smallest};
use trunnion::lever::{Intent, LeverPattern};
use trunnion::propel::{
    AntiStall, Mixer, Sides, SpeedLimits, Trim, TwoSpeed, TwoSpeedInhibit, TwoSpeedInputs,
};
use trunnion::quantity::{Celsius, Divisor, Millis, Ratio, Rpm};
use trunnion::ramp::{DerateRamp, DerateRampConfig, MotionPhase, MotionState, PairRamp, StopRequest};
use trunnion::sense::Reading;

use self::settings::{anti_stall, cold, limits, mixer, ramp, trim, two_speed};
use super::PERIOD;
use crate::declaration::{Parameter, Parameters};
use crate::planted::planted;

/// What the drive looks at in one period.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct DriveInputs {
    /// Drive, steer, left and right intent.
    pub intent: Intent,
    /// Pattern in force.
    pub pattern: LeverPattern,
    /// The drive may move; else it stops in a controlled way.
    pub permitted: bool,
    /// What the hand throttle asks of the engine.
    pub engine_expected: Rpm,
    /// What the engine does.
    pub engine_speed: Reading<Rpm>,
    /// Oil temperature.
    pub oil_temperature: Reading<Celsius>,
    /// A pump current could not be reached.
    pub current_unreachable: bool,
    /// A fault asks for a reduced drive.
    pub limited: bool,
    /// Two-speed button pressed anew.
    pub two_speed_pressed: bool,
    /// The machine was found at rest.
    pub at_rest: bool,
}

/// The drive in one period, stage by stage.
#[derive(Debug, Clone, Copy)]
pub struct DriveCommand {
    /// After mixing, trim and maxima.
    pub mix: Sides,
    /// After the pair ramp.
    pub ramp: Sides,
    /// What the machine is doing.
    pub state: MotionState,
    /// What the ramp is doing.
    pub phase: MotionPhase,
    /// Share that engine droop leaves.
    pub load_share: Ratio,
    /// Share that oil temperature leaves.
    pub temperature_share: Ratio,
    /// Share that reachable currents leave.
    pub reach_share: Ratio,
    /// After all shares: what the pumps are asked for.
    pub sides: Sides,
    /// Small motor displacement.
    pub two_speed: bool,
    /// Why the speed range is not the one asked for.
    pub two_speed_inhibit: TwoSpeedInhibit,
}

/// The propel and ramp rooms of the loader.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Drive {
    limits: SpeedLimits,
    mixer: Mixer,
    trim: Trim,
    ramp: PairRamp,
    anti_stall: AntiStall,
    cold: DerateCurve,
    cold_share: Ratio,
    /// What unreachable currents leave of the drive.
    reach_derate: DerateRamp,
    /// What cold oil leaves of it.
    cold_derate: DerateRamp,
    /// What faults leave of it.
    fault_derate: DerateRamp,
    rotation: Ratio,
    /// The drive up to which a spin passes into a turn; nothing where it does so at once.
    blend: Option<Divisor>,
    two_speed: TwoSpeed,
    two_speed_wanted: bool,
    share: Ratio,
}

/// Share of the drive while a fault asks for caution: engineering judgement.
const LIMITED_SHARE: Ratio = match Ratio::from_permille(500) {
    Some(share) => share,
    None => Ratio::ZERO,
};

/// How fast a share of the drive is taken away and given back: a sensor that fails at speed is no reason to brake
/// harder than the operator could. Engineering judgement.
const DERATE: DerateRampConfig =
    DerateRampConfig { withdraw: Millis::from_ticks(2_000), restore: Millis::from_ticks(10_000) };

impl Drive {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let refuse = |parameter, rule| parameters.contradiction(parameter, rule);
        let derate = || {
            DerateRamp::new(DERATE, PERIOD)
                .map_err(|_| refuse(Parameter::control_period, "is longer than a ramp"))
        };
        Ok(Self {
            limits: SpeedLimits::new(limits(parameters))
                .map_err(|_| refuse(Parameter::forward_maximum, "is no maximum"))?,
            mixer: Mixer::new(mixer(parameters))
                .map_err(|_| refuse(Parameter::pivot_band, "reaches past either end of the steer travel"))?,
            trim: Trim::new(trim(parameters)).map_err(|_| refuse(Parameter::left_trim, "is no trim"))?,
            ramp: PairRamp::new(ramp(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::drive_stop, "is longer than a deceleration"))?,
            anti_stall: AntiStall::new(anti_stall(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::droop_begin, "must be below droop_full"))?,
            cold: cold(parameters)?,
            cold_share: parameters.cold_share().into(),
            reach_derate: derate()?,
            cold_derate: derate()?,
            fault_derate: derate()?,
            rotation: parameters.rotation_maximum().into(),
            blend: Divisor::new(parameters.blend_drive().into()),
            two_speed: TwoSpeed::new(two_speed(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::shift_down_below, "is no shifting speed"))?,
            two_speed_wanted: false,
            share: Ratio::ZERO,
        })
    }

    /// Takes new parameters; ramps and shares go on from where they are.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let refuse = |parameter, rule| parameters.contradiction(parameter, rule);
        self.limits
            .reconfigure(limits(parameters))
            .map_err(|_| refuse(Parameter::forward_maximum, "is no maximum"))?;
        self.mixer
            .reconfigure(mixer(parameters))
            .map_err(|_| refuse(Parameter::pivot_band, "reaches past either end of the steer travel"))?;
        self.trim.reconfigure(trim(parameters)).map_err(|_| refuse(Parameter::left_trim, "is no trim"))?;
        self.ramp
            .reconfigure(ramp(parameters))
            .map_err(|_| refuse(Parameter::drive_stop, "is longer than a deceleration"))?;
        self.anti_stall
            .reconfigure(anti_stall(parameters))
            .map_err(|_| refuse(Parameter::droop_begin, "must be below droop_full"))?;
        self.cold = cold(parameters)?;
        self.cold_share = parameters.cold_share().into();
        self.rotation = parameters.rotation_maximum().into();
        self.blend = Divisor::new(parameters.blend_drive().into());
        self.two_speed
            .reconfigure(two_speed(parameters))
            .map_err(|_| refuse(Parameter::shift_down_below, "is no shifting speed"))
    }

    /// Nothing moves and nothing resumes: the last gate has closed.
    pub fn reset(&mut self) {
        self.ramp.reset();
        self.share = Ratio::ZERO;
    }

    /// Ramps are at zero.
    pub fn at_zero(&self) -> bool {
        self.ramp.output().is_zero()
    }

    /// Fourth hop: who moves how, and how fast that may change.
    pub fn step(&mut self, inputs: &DriveInputs) -> DriveCommand {
        let mix = if inputs.permitted { self.mix(inputs) } else { Sides::ZERO };
        let stop = if inputs.permitted { StopRequest::None } else { StopRequest::Controlled };
        if planted!(StopRampBypassed)
            && !inputs.permitted
            && smallest(&[self.ramp.output().mean().magnitude(), SMALL]) != SMALL
        {
            self.ramp.reset();
        }
        let ramp = self.ramp.step(mix, stop);
        let load_share = self.anti_stall.step(inputs.engine_expected, inputs.engine_speed);
        let cold = match inputs.oil_temperature {
            Reading::Valid(temperature) => self.cold.step(temperature.raw().into()),
            Reading::Faulted(_) if planted!(ColdShareUnsafe) => Ratio::ONE,
            Reading::Faulted(_) => self.cold_share,
        };
        let temperature_share = self.cold_derate.step(cold);
        let reach_share = self.reach_derate.step(limited_if(inputs.current_unreachable));
        let fault_share = self.fault_derate.step(limited_if(inputs.limited));
        // In a stop the share rests: the ramp alone takes both sides to zero, and a pickup that fails makes no jolt.
        if inputs.permitted {
            let share = smallest(&[load_share, temperature_share, reach_share, fault_share]);
            self.share = if planted!(ShareStaysLow) && !self.share.is_zero() {
                smallest(&[share, self.share])
            } else {
                share
            };
        }
        let sides = Sides { left: ramp.left.times(self.share), right: ramp.right.times(self.share) };
        DriveCommand {
            mix,
            ramp,
            state: self.ramp.state(),
            phase: self.ramp.phase(),
            load_share,
            temperature_share,
            reach_share,
            sides,
            two_speed: self.shift(inputs, ramp),
            two_speed_inhibit: self.two_speed.why_inhibited(),
        }
    }

    fn mix(&mut self, inputs: &DriveInputs) -> Sides {
        let sides = if inputs.pattern == LeverPattern::H {
            self.limits.apply(Sides { left: inputs.intent.left_side, right: inputs.intent.right_side })
        } else {
            let (drive, _) = self.limits.step(inputs.intent.drive, Ratio::ZERO);
            let backward = inputs.intent.drive < Ratio::ZERO && planted!(ReverseSteerSign);
            let asked = if backward { inputs.intent.steer.reversed() } else { inputs.intent.steer };
            let steer = self.steer(inputs.intent.drive, asked);
            let travel =
                if planted!(SteerFollowsCommand) { inputs.intent.drive } else { self.ramp.output().mean() };
            self.limits.apply(self.mixer.step(drive, steer, travel))
        };
        self.trim.step(sides)
    }

    /// In a spin the whole steer travel spreads over the allowed rotation; while driving it keeps its place against the
    /// pivot point. Between them the drive lever passes from one to the other over the blend.
    fn steer(&self, drive: Ratio, steer: Ratio) -> Ratio {
        let driving = self.blend.map_or(Ratio::ZERO, |blend| blend.share(drive.magnitude()));
        let spared = Ratio::ONE.minus(self.rotation).times(driving);
        steer.times(self.rotation.plus(spared))
    }

    fn shift(&mut self, inputs: &DriveInputs, ramp: Sides) -> bool {
        if inputs.two_speed_pressed {
            self.two_speed_wanted = !self.two_speed_wanted;
        }
        if !inputs.permitted {
            self.two_speed_wanted = false;
        }
        // Larger displacement brakes: after a stop the range waits until the machine is found at rest.
        let speed = match (inputs.permitted, inputs.at_rest) {
            (true, _) => ramp.mean().magnitude(),
            (false, true) => Ratio::ZERO,
            (false, false) => Ratio::ONE,
        };
        self.two_speed.step(TwoSpeedInputs {
            request: self.two_speed_wanted,
            permitted: inputs.permitted,
            turning: if planted!(ShiftWhileTurning) {
                Ratio::ZERO
            } else {
                ramp.half_difference().magnitude()
            },
            speed: if planted!(ShiftDownAtSpeed) { Ratio::ZERO } else { speed },
        })
    }
}

/// What a stop that is bypassed takes for small.
const SMALL: Ratio = match Ratio::from_permille(330) {
    Some(share) => share,
    None => Ratio::ZERO,
};

fn limited_if(limited: bool) -> Ratio {
    if limited { LIMITED_SHARE } else { Ratio::ONE }
}
