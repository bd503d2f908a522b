//! What the operator hears and sees, and the on-off outputs.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::fault::{BlinkCode, BlinkCodeConfig};
use trunnion::guard::Reasons;
use trunnion::lever::LeverPattern;
use trunnion::quantity::{Millis, Ratio, Rpm};
use trunnion::sense::Reading;
use trunnion::timing::{Flasher, FlasherConfig};

use super::PERIOD;
use super::reasons::Reason;
use crate::declaration::{Outputs, Parameter, Parameters};
use crate::planted::planted;

/// What the on-off outputs follow from.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct PanelInputs {
    /// Coil supply may be on.
    pub coil_supply: bool,
    /// Park brake is to be lifted.
    pub brake_released: bool,
    /// Small motor displacement.
    pub two_speed: bool,
    /// The starter may turn.
    pub crank: bool,
    /// Mean of both sides as commanded.
    pub travel: Ratio,
    /// Left motor.
    pub left_motor: Reading<Rpm>,
    /// Right motor.
    pub right_motor: Reading<Rpm>,
    /// Smallest code of an active fault, 0 without.
    pub fault_code: u8,
    /// Drive, boom and bucket are permitted.
    pub permitted: bool,
    /// Why not, when they are not.
    pub why_not: Reasons,
    /// Lever pattern in force.
    pub pattern: LeverPattern,
    /// The rocker stands differently.
    pub pattern_mismatch: bool,
}

/// The panel of the loader.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Panel {
    blink: BlinkCode,
    code: u8,
    pattern_lamp: Flasher,
}

/// Travel in reverse from which the alarm sounds: engineering judgement.
const REVERSE_TRAVEL: Ratio = match Ratio::from_permille(-10) {
    Some(share) => share,
    None => Ratio::ZERO,
};
/// Sum of both motor speeds in reverse from which the alarm sounds: below what is asked of it by as much as pickups lag
/// behind a side that stops alone.
const REVERSE_SPEED: Rpm = Rpm::from_whole(-45);

/// How a pattern lamp flashes.
const FLASH: FlasherConfig = FlasherConfig { half: Millis::from_ticks(500) };

impl Panel {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let config = BlinkCodeConfig {
            on: Millis::from_ticks(250),
            off: Millis::from_ticks(250),
            pause: Millis::from_ticks(1_500),
        };
        let blink = BlinkCode::new(config, PERIOD)
            .map_err(|_| parameters.contradiction(Parameter::control_period, "is longer than a blink"))?;
        let pattern_lamp = Flasher::new(FLASH, PERIOD)
            .map_err(|_| parameters.contradiction(Parameter::control_period, "is longer than a flash"))?;
        Ok(Self { blink, code: 0, pattern_lamp })
    }

    /// Code on the lamp, 0 when it is steady: a fault's code first, else 80 plus the first reason why not.
    pub fn code(&self) -> u8 {
        self.code
    }

    /// One period.
    pub fn step(&mut self, inputs: &PanelInputs) -> Outputs {
        self.code = if inputs.fault_code != 0 {
            inputs.fault_code
        } else if inputs.permitted {
            0
        } else {
            80_u8.saturating_add(Reason::first(inputs.why_not).bit())
        };
        let pattern_lamp = self.pattern_lamp.step(inputs.pattern_mismatch);
        // A turn while rolling back has one side slow or forward: the mean is what counts.
        let rolling = inputs.left_motor.or(Rpm::ZERO).plus(inputs.right_motor.or(Rpm::ZERO));
        let both =
            inputs.left_motor.or(Rpm::ZERO) < Rpm::ZERO && inputs.right_motor.or(Rpm::ZERO) < Rpm::ZERO;
        Outputs {
            coil_supply: inputs.coil_supply,
            park_brake_valve: inputs.brake_released && inputs.coil_supply,
            two_speed_valve: inputs.two_speed && inputs.coil_supply,
            start_permit: inputs.crank,
            reverse_alarm: (inputs.travel < REVERSE_TRAVEL || rolling < REVERSE_SPEED)
                && (both || !planted!(AlarmOnStraightOnly)),
            status_lamp: if self.code == 0 { inputs.permitted } else { self.blink.step(self.code) },
            pattern_h_lamp: pattern_lamp && inputs.pattern == LeverPattern::H,
            pattern_iso_lamp: pattern_lamp && inputs.pattern == LeverPattern::Iso,
            ..Outputs::default()
        }
    }
}
