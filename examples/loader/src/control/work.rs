//! From intent to boom, bucket and auxiliary.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::quantity::{Millis, Permille, Ratio};
use trunnion::ramp::{MotionRamp, MotionRampConfig, MotionRates, RateLimit, RateLimitConfig};
use trunnion::work::{
    ContinuousFlow, ContinuousFlowConfig, ContinuousFlowInputs, Float, FloatConfig, FloatInputs,
};

use super::PERIOD;
use crate::declaration::{Parameter, Parameters};
use crate::planted::planted;

/// What boom, bucket and auxiliary look at in one period.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct WorkInputs {
    /// Boom, raise positive.
    pub boom: Ratio,
    /// Bucket, dump positive.
    pub bucket: Ratio,
    /// Auxiliary, coupling A positive.
    pub auxiliary: Ratio,
    /// Boom and bucket may move.
    pub work_permitted: bool,
    /// The auxiliary may move.
    pub auxiliary_permitted: bool,
    /// Float button pressed anew.
    pub float_pressed: bool,
    /// Continuous button pressed anew.
    pub continuous_pressed: bool,
}

/// Boom, bucket and auxiliary after their ramps.
#[derive(Debug, Clone, Copy)]
pub struct WorkCommand {
    /// Boom, raise positive; zero while it floats.
    pub boom: Ratio,
    /// Boom floats.
    pub float: bool,
    /// Bucket, dump positive.
    pub bucket: Ratio,
    /// Auxiliary, coupling A positive.
    pub auxiliary: Ratio,
    /// Auxiliary holds its flow.
    pub continuous: bool,
}

/// The work room of the loader.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Work {
    boom: MotionRamp,
    bucket: MotionRamp,
    auxiliary: RateLimit,
    float: Float,
    continuous: ContinuousFlow,
}

fn spool(parameters: &Parameters) -> MotionRampConfig {
    let rates = MotionRates {
        accelerate: parameters.work_accelerate(),
        decelerate: parameters.work_decelerate(),
        reverse: parameters.work_decelerate(),
    };
    MotionRampConfig { positive: rates, negative: rates, dwell: Millis::from_ticks(0) }
}

fn auxiliary(parameters: &Parameters) -> RateLimitConfig {
    RateLimitConfig { rise: parameters.auxiliary_ramp(), fall: parameters.auxiliary_ramp() }
}

/// Raising ends float: engineering judgement.
const FLOAT: FloatConfig = FloatConfig { raise: Permille::saturating(50) };

fn continuous(parameters: &Parameters) -> ContinuousFlowConfig {
    ContinuousFlowConfig { flow: parameters.continuous_flow(), neutral: Permille::saturating(50) }
}

impl Work {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let spool_ramp = || {
            MotionRamp::new(spool(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::work_accelerate, "is no ramp time"))
        };
        Ok(Self {
            boom: spool_ramp()?,
            bucket: spool_ramp()?,
            auxiliary: RateLimit::new(auxiliary(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::auxiliary_ramp, "is no ramp time"))?,
            float: Float::new(FLOAT)
                .map_err(|_| parameters.contradiction(Parameter::control_period, "float ends at no raise"))?,
            continuous: ContinuousFlow::new(continuous(parameters))
                .map_err(|_| parameters.contradiction(Parameter::continuous_flow, "is no flow"))?,
        })
    }

    /// Takes new parameters; ramps go on from where they are.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let refuse = |_| parameters.contradiction(Parameter::work_accelerate, "is no ramp time");
        self.boom.reconfigure(spool(parameters)).map_err(refuse)?;
        self.bucket.reconfigure(spool(parameters)).map_err(refuse)?;
        self.auxiliary
            .reconfigure(auxiliary(parameters))
            .map_err(|_| parameters.contradiction(Parameter::auxiliary_ramp, "is no ramp time"))?;
        self.continuous
            .reconfigure(continuous(parameters))
            .map_err(|_| parameters.contradiction(Parameter::continuous_flow, "is no flow"))
    }

    /// Boom and bucket: nothing moves and nothing resumes.
    pub fn reset_work(&mut self) {
        self.boom.reset();
        self.bucket.reset();
        self.float.reset();
    }

    /// Auxiliary: nothing moves and nothing resumes.
    pub fn reset_auxiliary(&mut self) {
        self.auxiliary.reset();
        if !planted!(ContinuousResumes) {
            self.continuous.reset();
        }
    }

    /// Ramps of boom and bucket are at zero and the boom does not float.
    pub fn work_at_zero(&self) -> bool {
        self.boom.output().is_zero() && self.bucket.output().is_zero() && !self.float.is_on()
    }

    /// The ramp of the auxiliary is at zero.
    pub fn auxiliary_at_zero(&self) -> bool {
        self.auxiliary.output().is_zero()
    }

    /// Fourth hop: intent to spool commands, and how fast they may change.
    pub fn step(&mut self, inputs: &WorkInputs) -> WorkCommand {
        let held = |permitted: bool, intent: Ratio| if permitted { intent } else { Ratio::ZERO };
        let boom_intent = held(inputs.work_permitted, inputs.boom);
        let float = self.float.step(FloatInputs {
            request: inputs.float_pressed,
            lever: boom_intent,
            permitted: inputs.work_permitted || planted!(FloatOutlivesPermission),
        });
        let continuous = self.continuous.step(ContinuousFlowInputs {
            toggle: inputs.continuous_pressed,
            wheel: inputs.auxiliary,
            permitted: inputs.auxiliary_permitted || planted!(ContinuousResumes),
        });
        WorkCommand {
            boom: self.boom.step(if float { Ratio::ZERO } else { boom_intent }),
            float,
            bucket: self.bucket.step(held(inputs.work_permitted, inputs.bucket)),
            auxiliary: self.auxiliary.step(held(inputs.auxiliary_permitted, continuous)),
            continuous: self.continuous.is_continuous(),
        }
    }
}
