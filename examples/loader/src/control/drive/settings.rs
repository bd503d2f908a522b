//! From parameters to the settings of the drive's blocks.

use trunnion::declare::Refusal;
use trunnion::guard::{DerateCurve, DerateCurveConfig};
use trunnion::propel::{AntiStallConfig, MixerConfig, SpeedLimitsConfig, TrimConfig, TwoSpeedConfig};
use trunnion::quantity::{Millis, Permille};
use trunnion::ramp::{MotionRates, PairRampConfig};

use crate::declaration::{Parameter, Parameters};
use crate::planted::planted;

pub(super) fn mixer(parameters: &Parameters) -> MixerConfig {
    MixerConfig {
        law: parameters.mix_law(),
        pivot_point: parameters.pivot_point(),
        pivot_band: parameters.pivot_band(),
        sensitivity: parameters.steer_sensitivity(),
        blend_drive: parameters.blend_drive(),
        convention: parameters.reverse_convention(),
        reverse_blend: parameters.reverse_blend(),
    }
}

pub(super) fn limits(parameters: &Parameters) -> SpeedLimitsConfig {
    SpeedLimitsConfig {
        forward: parameters.forward_maximum(),
        reverse: if planted!(ReverseMaximumIgnored) {
            parameters.forward_maximum()
        } else {
            parameters.reverse_maximum()
        },
        rotation: parameters.rotation_maximum(),
    }
}

pub(super) fn trim(parameters: &Parameters) -> TrimConfig {
    if planted!(TrimOnWrongSide) {
        return TrimConfig { left: parameters.right_trim(), right: parameters.left_trim() };
    }
    TrimConfig { left: parameters.left_trim(), right: parameters.right_trim() }
}

pub(super) fn ramp(parameters: &Parameters) -> PairRampConfig {
    PairRampConfig {
        forward: MotionRates {
            accelerate: parameters.forward_accelerate(),
            decelerate: parameters.forward_decelerate(),
            reverse: parameters.forward_reverse(),
        },
        reverse: MotionRates {
            accelerate: parameters.reverse_accelerate(),
            decelerate: parameters.reverse_decelerate(),
            reverse: parameters.reverse_reverse(),
        },
        rotation: MotionRates {
            accelerate: parameters.rotation_accelerate(),
            decelerate: parameters.rotation_decelerate(),
            reverse: parameters.rotation_reverse(),
        },
        stop: parameters.drive_stop(),
        dwell: parameters.drive_dwell(),
    }
}

pub(super) fn anti_stall(parameters: &Parameters) -> AntiStallConfig {
    AntiStallConfig {
        begin: parameters.droop_begin(),
        full: parameters.droop_full(),
        floor: parameters.droop_floor(),
        recovery: parameters.droop_recovery(),
    }
}

pub(super) fn two_speed(parameters: &Parameters) -> TwoSpeedConfig {
    TwoSpeedConfig {
        up_below_turning: parameters.shift_turning_limit(),
        down_below_speed: parameters.shift_down_below(),
        dwell: Millis::from_ticks(500),
    }
}

pub(super) fn cold(parameters: &Parameters) -> Result<DerateCurve, Refusal> {
    DerateCurve::new(DerateCurveConfig {
        low: i32::from(parameters.cold_oil()).saturating_mul(10),
        at_low: parameters.cold_share(),
        high: i32::from(parameters.warm_oil()).saturating_mul(10),
        at_high: Permille::MAX,
    })
    .map_err(|_| parameters.contradiction(Parameter::cold_oil, "must be below warm_oil"))
}
