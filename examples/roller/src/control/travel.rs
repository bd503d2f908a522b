//! From intent to the drive pump with its brake, and to the steering spool.

use trunnion::declare::Refusal;
use trunnion::propel::{
    SinglePath, SinglePathConfig, SinglePathInputs, SinglePathState, SpeedLimits, SpeedLimitsConfig,
    SteerAuthority, SteerAuthorityConfig,
};
use trunnion::quantity::{Permille, Ratio, Rpm};
use trunnion::ramp::{
    MotionPhase, MotionRamp, MotionRampConfig, MotionRates, MotionState, RateLimit, RateLimitConfig,
};
use trunnion::sense::Reading;

use super::PERIOD;
use crate::declaration::{Parameter, Parameters};

/// What drive and steering look at in one period.
#[derive(Debug, Clone, Copy)]
pub struct TravelInputs {
    /// Drive of the station in command.
    pub drive: Ratio,
    /// Steer of the station in command, right positive.
    pub steer: Ratio,
    /// The drive may move; else it stops in a controlled way.
    pub drive_permitted: bool,
    /// The steering may move; else its spool closes.
    pub steer_permitted: bool,
    /// Charge pressure is not known to be gone.
    pub charge_good: bool,
    /// Travel motor speed.
    pub speed: Reading<Rpm>,
    /// The machine was found at rest.
    pub at_rest: bool,
}

/// Drive and steering in one period, stage by stage.
#[derive(Debug, Clone, Copy)]
pub struct TravelCommand {
    /// What the sequence lets through.
    pub asked: Ratio,
    /// After the ramp: what the pump is asked for.
    pub drive: Ratio,
    /// What the machine is doing.
    pub state: MotionState,
    /// What the ramp is doing.
    pub phase: MotionPhase,
    /// Where drive and brake stand.
    pub sequence: SinglePathState,
    /// Steer that acts at this speed.
    pub steer_asked: Ratio,
    /// After its ramp: what the spool is asked for, right positive.
    pub steer: Ratio,
}

/// The propel and ramp rooms of the roller.
#[derive(Debug, Clone)]
pub struct Travel {
    limits: SpeedLimits,
    path: SinglePath,
    ramp: MotionRamp,
    authority: SteerAuthority,
    steer_ramp: RateLimit,
}

fn limits(parameters: &Parameters) -> SpeedLimitsConfig {
    SpeedLimitsConfig {
        forward: parameters.forward_maximum(),
        reverse: parameters.reverse_maximum(),
        // It steers by its joint: nothing rotates.
        rotation: Permille::MAX,
    }
}

fn path(parameters: &Parameters) -> SinglePathConfig {
    SinglePathConfig {
        brake_opens_in: parameters.brake_opens_in(),
        apply_after: parameters.brake_after_rest(),
        stop_time_out: parameters.brake_time_out(),
    }
}

fn ramp(parameters: &Parameters) -> MotionRampConfig {
    let rates =
        |accelerate, decelerate| MotionRates { accelerate, decelerate, reverse: parameters.drive_reversal() };
    MotionRampConfig {
        positive: rates(parameters.forward_accelerate(), parameters.forward_decelerate()),
        negative: rates(parameters.reverse_accelerate(), parameters.reverse_decelerate()),
        dwell: parameters.drive_dwell(),
    }
}

fn authority(parameters: &Parameters) -> SteerAuthorityConfig {
    SteerAuthorityConfig {
        slow: Rpm::from_whole(parameters.steer_slow().into()),
        fast: Rpm::from_whole(parameters.steer_fast().into()),
        floor: parameters.steer_floor(),
    }
}

fn steer_ramp(parameters: &Parameters) -> RateLimitConfig {
    RateLimitConfig { rise: parameters.steer_ramp(), fall: parameters.steer_ramp() }
}

impl Travel {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let refuse = |parameter, rule| parameters.contradiction(parameter, rule);
        Ok(Self {
            limits: SpeedLimits::new(limits(parameters))
                .map_err(|_| refuse(Parameter::forward_maximum, "is no maximum"))?,
            path: SinglePath::new(path(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::brake_time_out, "is no time-out"))?,
            ramp: MotionRamp::new(ramp(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::forward_accelerate, "is no ramp time"))?,
            authority: SteerAuthority::new(authority(parameters))
                .map_err(|_| refuse(Parameter::steer_slow, "must be below steer_fast"))?,
            steer_ramp: RateLimit::new(steer_ramp(parameters), PERIOD)
                .map_err(|_| refuse(Parameter::steer_ramp, "is no ramp time"))?,
        })
    }

    /// Takes new parameters; ramps and the sequence go on from where they are.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let refuse = |parameter, rule| parameters.contradiction(parameter, rule);
        self.limits
            .reconfigure(limits(parameters))
            .map_err(|_| refuse(Parameter::forward_maximum, "is no maximum"))?;
        self.path
            .reconfigure(path(parameters))
            .map_err(|_| refuse(Parameter::brake_time_out, "is no time-out"))?;
        self.ramp
            .reconfigure(ramp(parameters))
            .map_err(|_| refuse(Parameter::forward_accelerate, "is no ramp time"))?;
        self.authority
            .reconfigure(authority(parameters))
            .map_err(|_| refuse(Parameter::steer_slow, "must be below steer_fast"))?;
        self.steer_ramp
            .reconfigure(steer_ramp(parameters))
            .map_err(|_| refuse(Parameter::steer_ramp, "is no ramp time"))
    }

    /// Fourth hop: drive with its brake, steering with its authority, and how fast they may change.
    pub fn step(&mut self, inputs: &TravelInputs) -> TravelCommand {
        let (limited, _) = self.limits.step(inputs.drive, Ratio::ZERO);
        let asked = self.path.step(SinglePathInputs {
            permitted: inputs.drive_permitted,
            charge_pressure_good: inputs.charge_good,
            drive: limited,
            standstill: inputs.at_rest,
        });
        let drive = self.ramp.step(asked);
        let wanted = if inputs.steer_permitted { inputs.steer } else { Ratio::ZERO };
        let steer_asked = self.authority.step(wanted, inputs.speed);
        TravelCommand {
            asked,
            drive,
            state: self.ramp.state(),
            phase: self.ramp.phase(),
            sequence: self.path.state(),
            steer_asked,
            steer: self.steer_ramp.step(steer_asked),
        }
    }

    /// The drive's gate is closed: its ramp starts again from zero.
    pub fn reset_drive(&mut self) {
        self.ramp.reset();
    }

    /// The steering's gate is closed: its ramp starts again from zero.
    pub fn reset_steer(&mut self) {
        self.steer_ramp.reset();
    }

    /// The brake comes on at once: nothing feeds its valve.
    pub fn brake(&mut self) {
        self.path.reset();
    }

    /// The valve of the brake is to be on.
    pub fn brake_open(&self) -> bool {
        self.path.brake_open()
    }

    /// The drive's ramp is at zero.
    pub fn drive_at_zero(&self) -> bool {
        self.ramp.output().is_zero()
    }

    /// The steering's ramp is at zero.
    pub fn steer_at_zero(&self) -> bool {
        self.steer_ramp.output().is_zero()
    }
}
