//! Which function each lever works.

use crate::quantity::Ratio;

crate::choices! {
    /// Which function each lever works.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum LeverPattern {
        /// No pattern chosen or known: no lever works anything.
        None = "none",
        /// Each lever's Y drives its own side; left X works the boom, right X the bucket.
        H = "H",
        /// Left Y drives, left X steers; right Y works the boom, right X the bucket.
        Iso = "ISO",
    }
}

/// What the operator asks of each function; what the pattern does not use is zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Intent {
    /// Travel of the machine, forward positive (ISO).
    pub drive: Ratio,
    /// Turn of the machine, right positive (ISO).
    pub steer: Ratio,
    /// Travel of the left side, forward positive (H).
    pub left_side: Ratio,
    /// Travel of the right side, forward positive (H).
    pub right_side: Ratio,
    /// Boom, raise positive.
    pub boom: Ratio,
    /// Bucket, dump positive, curl negative.
    pub bucket: Ratio,
}

/// Gives each lever position to its function.
///
/// Positions: X right positive, Y forward (away from the operator) positive. The patterns are common
/// practice; so is that pulling back raises and pushing to the right dumps (ISO). That the left lever raises
/// when pushed outwards, to the left (H), is our choice; a machine that wants it otherwise hands in
/// [`Ratio::reversed`].
///
/// | | drive | sides | boom raise | bucket dump |
/// |---|---|---|---|---|
/// | H | – | left Y, right Y | left X to the left | right X to the right |
/// | ISO | left Y, steer left X | – | right Y back | right X to the right |
///
/// ```
/// use trunnion::lever::{LeverPattern, assign};
/// use trunnion::quantity::Ratio;
///
/// let back = Ratio::MINUS_ONE;
/// let intent = assign(LeverPattern::Iso, Ratio::ZERO, Ratio::ZERO, Ratio::ZERO, back);
/// assert_eq!(intent.boom, Ratio::ONE, "pulling back raises");
/// ```
pub const fn assign(
    pattern: LeverPattern,
    left_x: Ratio,
    left_y: Ratio,
    right_x: Ratio,
    right_y: Ratio,
) -> Intent {
    let nothing = Intent {
        drive: Ratio::ZERO,
        steer: Ratio::ZERO,
        left_side: Ratio::ZERO,
        right_side: Ratio::ZERO,
        boom: Ratio::ZERO,
        bucket: Ratio::ZERO,
    };
    match pattern {
        LeverPattern::None => nothing,
        LeverPattern::H => Intent {
            left_side: left_y,
            right_side: right_y,
            boom: left_x.reversed(),
            bucket: right_x,
            ..nothing
        },
        LeverPattern::Iso => {
            Intent { drive: left_y, steer: left_x, boom: right_y.reversed(), bucket: right_x, ..nothing }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::declare::Field;
    use proptest::prelude::*;

    const NAMES: [&str; 6] = ["drive", "steer", "left_side", "right_side", "boom", "bucket"];

    fn functions(intent: Intent) -> [Ratio; 6] {
        [intent.drive, intent.steer, intent.left_side, intent.right_side, intent.boom, intent.bucket]
    }

    /// The functions that move for one axis at full deflection, with their direction.
    fn moved(pattern: LeverPattern, axis: usize) -> std::vec::Vec<(&'static str, Ratio)> {
        let mut positions = [Ratio::ZERO; 4];
        positions[axis] = Ratio::ONE;
        let [left_x, left_y, right_x, right_y] = positions;
        let values = functions(assign(pattern, left_x, left_y, right_x, right_y));
        NAMES.into_iter().zip(values).filter(|(_, value)| !value.is_zero()).collect()
    }

    #[test]
    fn each_axis_works_the_one_function_of_its_pattern() {
        let (plus, minus) = (Ratio::ONE, Ratio::MINUS_ONE);
        // H and ISO as is common practice; signs of boom and bucket in H are our choice.
        assert_eq!(moved(LeverPattern::H, 0), [("boom", minus)]);
        assert_eq!(moved(LeverPattern::H, 1), [("left_side", plus)]);
        assert_eq!(moved(LeverPattern::H, 2), [("bucket", plus)]);
        assert_eq!(moved(LeverPattern::H, 3), [("right_side", plus)]);
        assert_eq!(moved(LeverPattern::Iso, 0), [("steer", plus)]);
        assert_eq!(moved(LeverPattern::Iso, 1), [("drive", plus)]);
        assert_eq!(moved(LeverPattern::Iso, 2), [("bucket", plus)]);
        assert_eq!(moved(LeverPattern::Iso, 3), [("boom", minus)]);
    }

    #[test]
    fn without_a_pattern_no_lever_works_anything() {
        assert_eq!(LeverPattern::default(), LeverPattern::None);
        assert_eq!(
            assign(LeverPattern::None, Ratio::ONE, Ratio::ONE, Ratio::ONE, Ratio::ONE),
            Intent::default()
        );
        assert_eq!(LeverPattern::CHOICES, ["none", "H", "ISO"]);
    }

    proptest! {
        #[test]
        fn released_axes_give_nothing_and_opposite_axes_the_opposite(bits in prop::array::uniform4(-Ratio::ONE_BITS..=Ratio::ONE_BITS)) {
            let [a, b, c, d] = bits.map(|bits| Ratio::from_bits(bits).unwrap());
            for pattern in LeverPattern::ALL {
                prop_assert_eq!(assign(*pattern, Ratio::ZERO, Ratio::ZERO, Ratio::ZERO, Ratio::ZERO), Intent::default());
                let there = functions(assign(*pattern, a, b, c, d));
                let back = functions(assign(*pattern, a.reversed(), b.reversed(), c.reversed(), d.reversed()));
                prop_assert_eq!(there.map(Ratio::reversed), back);
            }
        }
    }
}
