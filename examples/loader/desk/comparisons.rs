//! Two things that are best seen beside their alternative.

use loader::declaration::Parameters;
use trunnion::propel::{MixLaw, MixerConfig, ReverseConvention, Sides};
use trunnion::quantity::{Millis, Ratio};
use trunnion::ramp::{MotionRampConfig, MotionRates, PairRampConfig};
use trunnion_desk::comparison::{ComparisonError, mixing_laws, ramps};
use trunnion_desk::report::Comparison;

fn share(permille: i32) -> Ratio {
    Ratio::from_permille(permille).unwrap_or_default()
}

fn rates(accelerate: Millis, decelerate: Millis, reverse: Millis) -> MotionRates {
    MotionRates { accelerate, decelerate, reverse }
}

fn pair(p: &Parameters) -> PairRampConfig {
    PairRampConfig {
        forward: rates(p.forward_accelerate(), p.forward_decelerate(), p.forward_reverse()),
        reverse: rates(p.reverse_accelerate(), p.reverse_decelerate(), p.reverse_reverse()),
        rotation: rates(p.rotation_accelerate(), p.rotation_decelerate(), p.rotation_reverse()),
        stop: p.drive_stop(),
        dwell: p.drive_dwell(),
    }
}

/// The pair ramp beside independent ramps, and the jump of the banded law beside the blended one.
pub fn comparisons() -> Result<Vec<Comparison>, ComparisonError> {
    let p = Parameters::default();
    let single = MotionRampConfig {
        positive: rates(p.forward_accelerate(), p.forward_decelerate(), p.forward_reverse()),
        negative: rates(p.reverse_accelerate(), p.reverse_decelerate(), p.reverse_reverse()),
        dwell: p.drive_dwell(),
    };
    let turn = Sides { left: share(900), right: share(300) };
    let asked = [(0.2, turn), (3.5, Sides::ZERO), (5.5, turn.reversed()), (9.0, Sides::ZERO)];
    let mixer = MixerConfig {
        law: MixLaw::Blended,
        pivot_point: p.pivot_point(),
        pivot_band: p.pivot_band(),
        sensitivity: p.steer_sensitivity(),
        blend_drive: p.blend_drive(),
        convention: ReverseConvention::YawFixed,
        reverse_blend: p.reverse_blend(),
    };
    let period = loader::control::PERIOD;
    Ok(vec![ramps(pair(&p), single, period, &asked, 11.0)?, mixing_laws(mixer, share(300))?])
}
