//! The common mixing law beside the continuous one.

use trunnion::propel::{MixLaw, Mixer, MixerConfig, Sides};
use trunnion::quantity::Ratio;

use super::ComparisonError;
use crate::report::{Comparison, Curve, CurveLane, Limit, Stroke};

/// Drive in steps of 0.1 %.
const STEPS: i32 = 1000;
/// Neighbours further apart than this share of full scale are drawn as a gap.
const GAP_PERCENT: f64 = 5.0;

/// Both sides over the drive lever at a held steer lever, by the banded and by the blended law.
///
/// The law in `config` is not looked at. Each point is a steady one: the machine travels as the lever asks. The
/// caption says the largest change per 0.1 % of drive lever that was found for each law.
pub fn mixing_laws(config: MixerConfig, steer: Ratio) -> Result<Comparison, ComparisonError> {
    let banded = Swept::new(MixerConfig { law: MixLaw::Banded, ..config }, steer)?;
    let blended = Swept::new(MixerConfig { law: MixLaw::Blended, ..config }, steer)?;
    let lane = |title: &str, colour, side: fn(&Sides) -> Ratio| CurveLane {
        title: title.into(),
        unit: "%".into(),
        curves: vec![
            banded.curve("banded", side).styled(7, Stroke::Dashed),
            blended.curve("blended", side).styled(colour, Stroke::Solid),
        ],
        limits: vec![Limit {
            value: percent(side(&banded.at_zero())),
            label: "banded law at exactly zero drive: spin".into(),
        }],
    };
    let bound = MixerConfig { law: MixLaw::Blended, ..config }.largest_change_per_drive();
    let caption = format!(
        "Steer lever held at {:.0} %. Between almost no drive and no drive at all the banded law jumps: a side changes by \
         {:.1} % of full scale within 0.1 % of lever travel. The blended law passes from spin to turn: no side \
         changes by more than {:.2} % on 0.1 % of lever travel{}.",
        percent(steer),
        banded.largest_change(),
        blended.largest_change(),
        bound.map_or(String::new(), |bound| format!(" (proven bound: {:.2} %)", percent(bound))),
    );
    Ok(Comparison {
        title: "The jump of the common mixing law".into(),
        caption,
        x_label: "drive lever".into(),
        x_unit: "%".into(),
        lanes: vec![lane("Left side", 0, |sides| sides.left), lane("Right side", 1, |sides| sides.right)],
    })
}

/// A law over all of the drive lever.
struct Swept {
    sides: Vec<Sides>,
}

impl Swept {
    fn new(config: MixerConfig, steer: Ratio) -> Result<Self, ComparisonError> {
        let at_rest = Mixer::new(config)?;
        let drive = |step: i32| Ratio::from_quotient(step.into(), STEPS.into());
        let point = |step| {
            let mut mixer = at_rest;
            mixer.step(drive(step), steer, drive(step))
        };
        Ok(Self { sides: (-STEPS..=STEPS).map(point).collect() })
    }

    fn at_zero(&self) -> Sides {
        self.sides.get(STEPS as usize).copied().unwrap_or_default()
    }

    /// Largest change of a side from one step to the next, in per cent of full scale.
    fn largest_change(&self) -> f64 {
        let change = |one: Ratio, other: Ratio| (percent(one) - percent(other)).abs();
        self.sides
            .iter()
            .zip(self.sides.iter().skip(1))
            .map(|(one, other)| change(one.left, other.left).max(change(one.right, other.right)))
            .fold(0.0, f64::max)
    }

    /// One side as a curve with a gap at every jump.
    fn curve(&self, label: &str, side: fn(&Sides) -> Ratio) -> Curve {
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for (sides, step) in self.sides.iter().zip(-STEPS..) {
            let drive = f64::from(step) * 100.0 / f64::from(STEPS);
            let value = percent(side(sides));
            if y.last().is_some_and(|before: &f64| (value - before).abs() > GAP_PERCENT) {
                x.push(drive);
                y.push(f64::NAN);
            }
            x.push(drive);
            y.push(value);
        }
        Curve::new(label, x, y)
    }
}

fn percent(ratio: Ratio) -> f64 {
    f64::from(ratio.to_bits()) * 100.0 / f64::from(Ratio::ONE_BITS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion::propel::ReverseConvention;
    use trunnion::quantity::Permille;

    const CONFIG: MixerConfig = MixerConfig {
        law: MixLaw::Banded,
        pivot_point: Permille::saturating(500),
        pivot_band: Permille::saturating(100),
        sensitivity: Permille::saturating(1000),
        blend_drive: Permille::saturating(200),
        convention: ReverseConvention::YawFixed,
        reverse_blend: Permille::saturating(150),
    };

    fn compared() -> Comparison {
        mixing_laws(CONFIG, Ratio::from_permille(300).unwrap()).unwrap()
    }

    #[test]
    fn the_banded_law_has_a_gap_at_zero_drive_and_the_blended_one_has_none() {
        let comparison = compared();
        let gaps = |curve: &Curve| {
            let places = curve.x.iter().zip(&curve.y).filter(|(_, y)| y.is_nan()).map(|(x, _)| *x);
            places.collect::<Vec<_>>()
        };
        let [left, _] = &comparison.lanes[..] else { panic!("{}", comparison.lanes.len()) };
        assert_eq!(gaps(&left.curves[0]), [0.0, 0.1], "into the spin and out of it");
        assert_eq!(gaps(&left.curves[1]), [] as [f64; 0]);
    }

    #[test]
    fn the_largest_change_of_the_blended_law_is_within_its_proven_bound() {
        let steer = Ratio::from_permille(300).unwrap();
        for convention in [ReverseConvention::YawFixed, ReverseConvention::PathFollowing] {
            let config = MixerConfig { law: MixLaw::Blended, convention, ..CONFIG };
            let bound = percent(config.largest_change_per_drive().unwrap());
            let found = Swept::new(config, steer).unwrap().largest_change();
            assert!(found <= bound && found > bound / 20.0, "{convention:?}: {found} of {bound}");
        }
    }

    #[test]
    fn a_mixer_that_cannot_be_built_is_refused_with_its_range() {
        let config = MixerConfig { pivot_point: Permille::saturating(100), ..CONFIG };
        let error = mixing_laws(config, Ratio::ONE).unwrap_err().to_string();
        assert_eq!(error, "the mixing law cannot be drawn: pivot point of 100 ‰: set 200 ‰ to 800 ‰");
    }
}
