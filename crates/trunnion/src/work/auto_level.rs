//! The bucket keeps its angle while the boom moves.

use core::fmt;

use crate::quantity::{Millis, Permille, Ratio, scale_symmetric, shift_symmetric};
use crate::sense::Reading;

/// Two strokes at which the bucket stands level: a point of the line in an [`AutoLevelConfig`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LevelPoint {
    /// Stroke of the boom cylinder, 0 ‰ lowered, 1000 ‰ raised.
    pub boom: Permille,
    /// Stroke of the bucket cylinder, 0 ‰ curled, 1000 ‰ dumped.
    pub bucket: Permille,
}

crate::choices! {
    /// On which way of the boom an [`AutoLevel`] works.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum LevelWay {
        /// While it rises.
        Raising = "raising",
        /// While it rises and while it comes down.
        BothWays = "both_ways",
    }
}

/// Linkage and speeds of an [`AutoLevel`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct AutoLevelConfig<const POINTS: usize> {
    /// The level line: 2 to 16 points, the first with the boom at 0 ‰, the last at 1000 ‰, boom strokes ascending, bucket
    /// strokes never falling. Between two points the bucket moves at most 8 times as far as the boom. Measured at the
    /// machine: raise the boom in steps, set the bucket with a level, note both strokes.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    pub line: [LevelPoint; POINTS],
    /// Full stroke of the boom at full command upwards, 500 ms to 60 s.
    pub raise: Millis,
    /// Full stroke of the boom at full command downwards, 500 ms to 60 s.
    pub lower: Millis,
    /// Full stroke of the bucket at full command, dumping, 500 ms to 60 s.
    pub dump: Millis,
    /// Full stroke of the bucket at full command, curling, 500 ms to 60 s.
    pub curl: Millis,
    /// Time in which what is left of an error shrinks to a third, 100 ms to 10 s.
    pub settle: Millis,
    /// The most that it commands, 10 to 1000 ‰.
    pub largest: Permille,
    /// The bucket lever is let go of within this band, 10 to 300 ‰.
    pub neutral: Permille,
    /// On which way of the boom it works.
    pub way: LevelWay,
}

/// Why an [`AutoLevelConfig`] was refused. Points are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum AutoLevelConfigError {
    /// A point is not on a line from 0 ‰ to 1000 ‰ of the boom that rises and is not too steep.
    Point {
        /// Which one.
        point: u8,
        /// What was asked for.
        given: LevelPoint,
    },
    /// A time of a full stroke is outside 500 ms to 60 s.
    Stroke(Millis),
    /// The time to settle is outside 100 ms to 10 s.
    Settle(Millis),
    /// The largest command is outside 10 to 1000 ‰.
    Largest(Permille),
    /// The neutral band is outside 10 to 300 ‰.
    Neutral(Permille),
}

impl fmt::Display for AutoLevelConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Point { point, given } => write!(
                formatter,
                "point {point} with the boom at {} ‰ and the bucket at {} ‰: let the boom ascend from 0 ‰ to 1000 ‰, \
                 and the bucket with it, never back and at most 8 times as far",
                given.boom.raw(),
                given.bucket.raw()
            ),
            Self::Stroke(given) => {
                write!(formatter, "full stroke in {given}: set {SHORTEST_STROKE} to {LONGEST_STROKE}")
            }
            Self::Settle(given) => {
                write!(formatter, "error settled in {given}: set {SHORTEST_SETTLE} to {LONGEST_SETTLE}")
            }
            Self::Largest(given) => write!(formatter, "{} ‰ at most: set 10 ‰ to 1000 ‰", given.raw()),
            Self::Neutral(given) => write!(formatter, "neutral band of {} ‰: set 10 ‰ to 300 ‰", given.raw()),
        }
    }
}

impl core::error::Error for AutoLevelConfigError {}

const SHORTEST_STROKE: Millis = Millis::millis(500);
const LONGEST_STROKE: Millis = Millis::millis(60_000);
const SHORTEST_SETTLE: Millis = Millis::millis(100);
const LONGEST_SETTLE: Millis = Millis::millis(10_000);
const STEEPEST: i64 = 8;
/// Gains in steps of 2⁻¹⁶.
const ONE_BITS: u32 = 16;
const ONE: i64 = 1 << ONE_BITS;

/// What an [`AutoLevel`] looks at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct AutoLevelInputs {
    /// It is switched on, and the work functions may move.
    pub on: bool,
    /// What the boom is commanded behind its ramp, raise positive.
    pub boom: Ratio,
    /// What the bucket lever asks for, dump positive.
    pub lever: Ratio,
    /// Stroke of the boom cylinder, 0 to 1.
    pub boom_position: Reading<Ratio>,
    /// Stroke of the bucket cylinder, 0 to 1.
    pub bucket_position: Reading<Ratio>,
}

/// One piece of the level line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Piece {
    boom: Ratio,
    bucket: Ratio,
    /// Bucket stroke per boom stroke.
    slope: i64,
}

/// From what the bucket shall do to the command that does it, for one direction of the bucket.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Gains {
    /// Command per slope and boom command.
    raising: i64,
    lowering: i64,
    /// Command per error of the stroke.
    correcting: i64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Rules<const POINTS: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    line: [Piece; POINTS],
    dump: Gains,
    curl: Gains,
    largest: Ratio,
    neutral: Ratio,
    way: LevelWay,
}

/// Keeps the angle of the bucket to the ground while the boom moves, so that a full bucket or a pallet stays level.
///
/// The angle to the ground is the angle of the boom plus that of the bucket on the boom (elementary kinematics of a
/// planar linkage), so there is a line of strokes along which it stays the same. The bucket follows that line, shifted to
/// where the operator left it:
///
/// - *feed-forward*: boom command · slope of the line · (bucket stroke time / boom stroke time), which is right at once
///   where the stroke times are;
/// - *correction*: what is left of the error, at the speed that would take it away in the settling time. With stroke times
///   that are wrong by a share p the error stays below p · feed-forward · settling time / bucket stroke time.
///
/// The sum is held within `largest` and drives neither cylinder against its end. The bucket lever always wins: beyond
/// neutral it works the bucket unchanged, and the angle it leaves is the one that is kept. Nothing is added while the boom
/// is not commanded, on the way that is not asked for, without both positions, and while it is not on; what the lever asks
/// passes then. A boom that is commanded but stalls takes the bucket off by feed-forward · settling time / bucket stroke
/// time and no further.
///
/// Positions outside 0 to 1 count as the end. Rounds to nearest with ties away from zero; gains are resolved to 2⁻¹⁶.
///
#[doc = include_str!("../../docs/work-auto_level.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Permille, Ratio};
/// use trunnion::sense::Reading;
/// use trunnion::work::{AutoLevel, AutoLevelConfig, AutoLevelInputs, LevelPoint, LevelWay};
///
/// let permille = |raw| Permille::new(raw).unwrap();
/// let point = |boom, bucket| LevelPoint { boom: permille(boom), bucket: permille(bucket) };
/// let mut bucket = AutoLevel::new(AutoLevelConfig {
///     line: [point(0, 200), point(500, 400), point(1_000, 800)],
///     raise: Millis::millis(4_000),
///     lower: Millis::millis(3_000),
///     dump: Millis::millis(2_000),
///     curl: Millis::millis(2_500),
///     settle: Millis::millis(500),
///     largest: permille(600),
///     neutral: permille(50),
///     way: LevelWay::Raising,
/// })
/// .unwrap();
///
/// let share = |raw| Ratio::from_permille(raw).unwrap();
/// let raising = |boom, position| AutoLevelInputs {
///     on: true,
///     boom: share(boom),
///     lever: Ratio::ZERO,
///     boom_position: Reading::Valid(share(position)),
///     bucket_position: Reading::Valid(share(300)),
/// };
/// // Lower half: 200 ‰ of bucket for 500 ‰ of boom, and the bucket is twice as quick: 0.4 · 2 / 4 = 0.2.
/// assert_eq!(bucket.step(raising(1_000, 250)).to_permille().raw(), 200);
/// // The boom stands: nothing moves by itself.
/// assert_eq!(bucket.step(raising(0, 250)), Ratio::ZERO);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct AutoLevel<const POINTS: usize> {
    rules: Rules<POINTS>,
    /// Bucket stroke above the level line that is kept; nothing while it does not level.
    kept: Option<i64>,
}

impl<const POINTS: usize> AutoLevel<POINTS> {
    /// Not levelling. Refuses points that are no line and values outside their range; fewer than 2 or more than 16 points
    /// are refused by the compiler.
    ///
    /// # Errors
    ///
    /// [`AutoLevelConfigError`]: which rule the config breaks, with its value.
    pub fn new(config: AutoLevelConfig<POINTS>) -> Result<Self, AutoLevelConfigError> {
        const { assert!(POINTS >= 2 && POINTS <= 16, "a level line has 2 to 16 points") };
        Ok(Self { rules: Rules::of(config)?, kept: None })
    }

    /// Another linkage as a whole, or none; the angle that is kept is taken anew.
    ///
    /// # Errors
    ///
    /// [`AutoLevelConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: AutoLevelConfig<POINTS>) -> Result<(), AutoLevelConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// Not levelling; the angle is taken anew.
    pub fn reset(&mut self) {
        self.kept = None;
    }

    /// One period: the command of the bucket.
    pub fn step(&mut self, inputs: AutoLevelInputs) -> Ratio {
        let released = inputs.lever.magnitude() <= self.rules.neutral;
        let asked_way =
            inputs.boom > Ratio::ZERO || (inputs.boom < Ratio::ZERO && self.rules.way == LevelWay::BothWays);
        let (Reading::Valid(boom), Reading::Valid(bucket)) = (inputs.boom_position, inputs.bucket_position)
        else {
            self.kept = None;
            return inputs.lever;
        };
        if !inputs.on || !released || !asked_way {
            self.kept = None;
            return inputs.lever;
        }
        let (boom, bucket) = (boom.at_least(Ratio::ZERO), bucket.at_least(Ratio::ZERO));
        let piece = self.rules.piece(boom);
        let above = i64::from(bucket.to_bits()).saturating_sub(piece.level(boom));
        let kept = *self.kept.get_or_insert(above);
        let error = kept.saturating_sub(above);
        let command = self.rules.command(inputs.boom, boom, &piece, error);
        let at_its_end = (command > Ratio::ZERO && bucket == Ratio::ONE)
            || (command < Ratio::ZERO && bucket == Ratio::ZERO);
        if at_its_end { Ratio::ZERO } else { command }
    }

    /// True while it works the bucket.
    pub const fn is_levelling(&self) -> bool {
        self.kept.is_some()
    }
}

impl Piece {
    /// Where the bucket stands level, in bits of a ratio.
    fn level(&self, boom: Ratio) -> i64 {
        let along = i64::from(boom.to_bits()).saturating_sub(i64::from(self.boom.to_bits()));
        i64::from(self.bucket.to_bits()).saturating_add(shift_symmetric(along, self.slope, ONE_BITS))
    }
}

impl<const POINTS: usize> Rules<POINTS> {
    fn of(config: AutoLevelConfig<POINTS>) -> Result<Self, AutoLevelConfigError> {
        for stroke in [config.raise, config.lower, config.dump, config.curl] {
            if stroke < SHORTEST_STROKE || stroke > LONGEST_STROKE {
                return Err(AutoLevelConfigError::Stroke(stroke));
            }
        }
        if config.settle < SHORTEST_SETTLE || config.settle > LONGEST_SETTLE {
            return Err(AutoLevelConfigError::Settle(config.settle));
        }
        if config.largest.raw() < 10 {
            return Err(AutoLevelConfigError::Largest(config.largest));
        }
        if config.neutral.raw() < 10 || config.neutral.raw() > 300 {
            return Err(AutoLevelConfigError::Neutral(config.neutral));
        }
        let gains = |bucket: Millis| {
            let over =
                |time: Millis| scale_symmetric(i64::from(bucket.ticks()), ONE, i64::from(time.ticks()));
            Gains {
                raising: over(config.raise),
                lowering: over(config.lower),
                correcting: over(config.settle),
            }
        };
        Ok(Self {
            line: line(&config.line)?,
            dump: gains(config.dump),
            curl: gains(config.curl),
            largest: config.largest.into(),
            neutral: config.neutral.into(),
            way: config.way,
        })
    }

    /// The piece of the line that the boom is on: the first begins at 0, and no boom is below that.
    fn piece(&self, boom: Ratio) -> Piece {
        const NONE: Piece = Piece { boom: Ratio::ZERO, bucket: Ratio::ZERO, slope: 0 };
        self.line.iter().rev().find(|piece| piece.boom <= boom).copied().unwrap_or(NONE)
    }

    /// What the boom asks for plus what is left of the error. Which direction the bucket takes is the same by either
    /// direction's gains; how much command that needs is not.
    fn command(&self, command: Ratio, boom: Ratio, piece: &Piece, error: i64) -> Ratio {
        let rises = command > Ratio::ZERO;
        let at_its_end = boom == if rises { Ratio::ONE } else { Ratio::ZERO };
        let boom_command = if at_its_end { 0 } else { i64::from(command.to_bits()) };
        let fed = shift_symmetric(boom_command, piece.slope, ONE_BITS);
        let by = |gains: &Gains| {
            let boom_gain = if rises { gains.raising } else { gains.lowering };
            shift_symmetric(fed, boom_gain, ONE_BITS).saturating_add(shift_symmetric(
                error,
                gains.correcting,
                ONE_BITS,
            ))
        };
        let dumping = by(&self.dump);
        Ratio::saturating(if dumping > 0 { dumping } else { by(&self.curl) }).within(self.largest)
    }
}

/// The pieces of a line; the last one, behind its end, is level.
fn line<const POINTS: usize>(points: &[LevelPoint; POINTS]) -> Result<[Piece; POINTS], AutoLevelConfigError> {
    let mut pieces =
        points.map(|point| Piece { boom: point.boom.into(), bucket: point.bucket.into(), slope: 0 });
    let refuse =
        |place: u8, given: &LevelPoint| Err(AutoLevelConfigError::Point { point: place, given: *given });
    for (place, point) in (1_u8..=u8::MAX).zip(points) {
        let misplaced = (place == 1 && point.boom != Permille::ZERO)
            || (usize::from(place) == POINTS && point.boom != Permille::MAX);
        if misplaced || point.bucket < Permille::ZERO {
            return refuse(place, point);
        }
    }
    let pairs = points.iter().zip(points.iter().skip(1));
    for ((place, (before, after)), piece) in (2_u8..=u8::MAX).zip(pairs).zip(pieces.iter_mut()) {
        let run = i64::from(after.boom.raw()).saturating_sub(i64::from(before.boom.raw()));
        let rise = i64::from(after.bucket.raw()).saturating_sub(i64::from(before.bucket.raw()));
        if run <= 0 || rise < 0 || rise > run.saturating_mul(STEEPEST) {
            return refuse(place, after);
        }
        piece.slope = scale_symmetric(rise, ONE, run);
    }
    Ok(pieces)
}

#[cfg(test)]
mod tests;
