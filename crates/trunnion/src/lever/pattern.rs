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
