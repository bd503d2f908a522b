//! Slower before the end of the stroke.

use core::fmt;

use crate::quantity::{Divisor, Permille, Ratio};
use crate::sense::Reading;

/// How one end of a stroke is approached.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Cushion {
    /// Share of the stroke over which the cylinder is slowed, 10 to 500 ‰.
    pub zone: Permille,
    /// What remains at the end, 10 to 1000 ‰: enough to reach it.
    pub end_speed: Permille,
}

/// Both ends of an [`EndCushion`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct EndCushionConfig {
    /// At position 1, where positive commands lead.
    pub positive: Cushion,
    /// At position 0, where negative commands lead.
    pub negative: Cushion,
}

/// Why an [`EndCushionConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum EndCushionConfigError {
    /// The zone of an end is outside 10 to 500 ‰.
    Zone(Permille),
    /// The speed at an end is outside 10 to 1000 ‰.
    EndSpeed(Permille),
}

impl fmt::Display for EndCushionConfigError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Zone(given) => {
                write!(formatter, "cushion over {} ‰ of the stroke: set 10 ‰ to 500 ‰", given.raw())
            }
            Self::EndSpeed(given) => {
                write!(formatter, "speed of {} ‰ at the end of the stroke: set 10 ‰ to 1000 ‰", given.raw())
            }
        }
    }
}

impl core::error::Error for EndCushionConfigError {}

/// Slows a cylinder before it meets its end.
///
/// Within the zone the command is held below a straight line that falls to `end_speed` at the end; a command that
/// is slower anyway, and every command away from the end, passes unchanged. Without a valid position both
/// directions are held at their `end_speed`: the end may be anywhere. Positions outside 0 to 1 count as the
/// end. The limit changes by at most (1 − end_speed) / zone times the change of the position.
///
#[doc = include_str!("../../docs/work-end_cushion.svg")]
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::sense::Reading;
/// use trunnion::work::{Cushion, EndCushion, EndCushionConfig};
///
/// let cushion = Cushion { zone: Permille::new(200).unwrap(), end_speed: Permille::new(100).unwrap() };
/// let boom = EndCushion::new(EndCushionConfig { positive: cushion, negative: cushion }).unwrap();
/// let at = |permille| Reading::Valid(Ratio::from_permille(permille).unwrap());
///
/// assert_eq!(boom.step(Ratio::ONE, at(700)), Ratio::ONE);
/// assert_eq!(boom.step(Ratio::ONE, at(900)).to_permille().raw(), 550); // half way into the zone
/// assert_eq!(boom.step(Ratio::ONE, at(1_000)).to_permille().raw(), 100);
/// assert_eq!(boom.step(Ratio::MINUS_ONE, at(1_000)), Ratio::MINUS_ONE); // away from it
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct EndCushion {
    positive: Limit,
    negative: Limit,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Limit {
    zone: Divisor,
    end_speed: Ratio,
}

impl Limit {
    const fn of(cushion: Cushion) -> Result<Self, EndCushionConfigError> {
        let Cushion { zone, end_speed } = cushion;
        if zone.raw() < 10 || zone.raw() > 500 {
            return Err(EndCushionConfigError::Zone(zone));
        }
        if end_speed.raw() < 10 {
            return Err(EndCushionConfigError::EndSpeed(end_speed));
        }
        Ok(Self {
            zone: Divisor::of(Ratio::from_quotient(zone.raw() as i64, 1000).to_bits().unsigned_abs()),
            end_speed: Ratio::from_quotient(end_speed.raw() as i64, 1000),
        })
    }

    const fn at(self, distance: Ratio) -> Ratio {
        let along = self.zone.share(distance.at_least(Ratio::ZERO));
        self.end_speed.plus(Ratio::ONE.minus(self.end_speed).times(along))
    }
}

impl EndCushion {
    /// Refuses zones and speeds outside their range.
    ///
    /// # Errors
    ///
    /// [`EndCushionConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: EndCushionConfig) -> Result<Self, EndCushionConfigError> {
        match (Limit::of(config.positive), Limit::of(config.negative)) {
            (Ok(positive), Ok(negative)) => Ok(Self { positive, negative }),
            (Err(error), _) | (_, Err(error)) => Err(error),
        }
    }

    /// Other cushions, both or none.
    ///
    /// # Errors
    ///
    /// [`EndCushionConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: EndCushionConfig) -> Result<(), EndCushionConfigError> {
        *self = Self::new(config)?;
        Ok(())
    }

    /// The command at a position of the stroke, 0 to 1.
    pub const fn step(&self, command: Ratio, position: Reading<Ratio>) -> Ratio {
        let limit = if command.to_bits() < 0 { self.negative } else { self.positive };
        let distance = match position {
            Reading::Faulted(_) => Ratio::ZERO,
            Reading::Valid(position) if command.to_bits() < 0 => position,
            Reading::Valid(position) => Ratio::ONE.minus(position.at_least(Ratio::ZERO)),
        };
        command.within(limit.at(distance))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Flaw;
    use proptest::prelude::*;

    fn ratio() -> impl Strategy<Value = Ratio> {
        (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap())
    }

    fn cushion() -> impl Strategy<Value = Cushion> {
        (10_i16..=500, 10_i16..=1000).prop_map(|(zone, end_speed)| Cushion {
            zone: Permille::new(zone).unwrap(),
            end_speed: Permille::new(end_speed).unwrap(),
        })
    }

    fn cushioned(positive: Cushion, negative: Cushion) -> EndCushion {
        EndCushion::new(EndCushionConfig { positive, negative }).unwrap()
    }

    proptest! {
        #[test]
        fn a_command_is_never_enlarged_nor_turned_and_outside_the_zone_not_changed(
            cushion in cushion(), command in ratio(), position in ratio()
        ) {
            let given = cushioned(cushion, cushion).step(command, Reading::Valid(position));
            prop_assert!(given.magnitude() <= command.magnitude() && !given.opposite_direction(command));
            let inside = position.at_least(Ratio::ZERO);
            let distance = if command < Ratio::ZERO { inside } else { Ratio::ONE.minus(inside) };
            prop_assert!(distance < cushion.zone.into() || given == command);
            let end_speed = Ratio::from(cushion.end_speed);
            prop_assert!(given.magnitude() >= command.magnitude().at_most(end_speed), "the end can be reached");
        }

        #[test]
        fn at_the_end_and_without_a_position_the_end_speed_is_all(cushion in cushion(), command in ratio()) {
            let cushioned = cushioned(cushion, cushion);
            let end = if command < Ratio::ZERO { Ratio::ZERO } else { Ratio::ONE };
            let slowest = command.within(cushion.end_speed.into());
            prop_assert_eq!(cushioned.step(command, Reading::Valid(end)), slowest);
            prop_assert_eq!(cushioned.step(command, Reading::Faulted(Flaw::WireBreak)), slowest);
        }

        #[test]
        fn both_ends_are_mirrors_of_each_other(one in cushion(), other in cushion(), command in ratio(), position in 0..=Ratio::ONE_BITS) {
            let position = Ratio::from_bits(position).unwrap();
            let mirrored = Ratio::ONE.minus(position);
            let forward = cushioned(one, other).step(command, Reading::Valid(position));
            let backward = cushioned(other, one).step(command.reversed(), Reading::Valid(mirrored));
            prop_assert_eq!(forward, backward.reversed());
        }

        #[test]
        fn nearer_to_the_end_is_never_faster_and_the_limit_has_its_slope(cushion in cushion(), one in ratio(), other in ratio()) {
            let at = |position| cushioned(cushion, cushion).step(Ratio::ONE, Reading::Valid(position));
            let (far, near) = (one.at_most(other).at_least(Ratio::ZERO), one.at_least(other).at_least(Ratio::ZERO));
            let change = i64::from(at(far).to_bits()) - i64::from(at(near).to_bits());
            let moved = i64::from(near.to_bits()) - i64::from(far.to_bits());
            prop_assert!(change >= 0);
            // The line is drawn between rounded ends: half a bit of a short zone is dozens of bits of the limit.
            let line = Limit::of(cushion).unwrap();
            let rise = i64::from(Ratio::ONE.minus(line.end_speed).to_bits());
            prop_assert!(change <= moved * rise / i64::from(line.zone.whole()) + 4);
        }

        /// Stroke in 2 s at full speed, 10 ms a step: the cylinder arrives, and no faster than the line allows a step before.
        #[test]
        fn a_cylinder_at_full_command_arrives_slowed(cushion in cushion()) {
            let cushioned = cushioned(cushion, cushion);
            let (mut position, mut speed, mut steps) = (0.0_f64, 1.0, 0);
            while position < 1.0 {
                let bits = (position * f64::from(Ratio::ONE_BITS)) as i32;
                let given = cushioned.step(Ratio::ONE, Reading::Valid(Ratio::from_bits(bits).unwrap()));
                speed = f64::from(given.to_bits()) / f64::from(Ratio::ONE_BITS);
                position += speed / 200.0;
                steps += 1;
                prop_assert!(steps < 20_000, "it never arrives");
            }
            let (end, zone) = (f64::from(cushion.end_speed.raw()) / 1000.0, f64::from(cushion.zone.raw()) / 1000.0);
            prop_assert!(speed <= (end + (1.0 - end) * speed / 200.0 / zone).min(1.0) + 1e-6, "{} at the end", speed);
        }
    }

    #[test]
    fn each_end_has_its_own_cushion() {
        let permille = |raw| Permille::new(raw).unwrap();
        let of = |zone, end_speed| Cushion { zone: permille(zone), end_speed: permille(end_speed) };
        let cushioned = cushioned(of(100, 200), of(200, 300));
        let at = |command: Ratio, position| {
            let position = Reading::Valid(Ratio::from_permille(position).unwrap());
            cushioned.step(command, position).to_permille().raw()
        };
        assert_eq!([1_000, 950, 900].map(|position| at(Ratio::ONE, position)), [200, 600, 1_000]);
        assert_eq!([0, 100, 200].map(|position| at(Ratio::MINUS_ONE, position)), [-300, -650, -1_000]);
    }

    #[test]
    fn values_outside_their_range_are_refused_with_the_range() {
        let good = Cushion { zone: Permille::new(100).unwrap(), end_speed: Permille::new(100).unwrap() };
        let zone = Permille::new(501).unwrap();
        let config = EndCushionConfig { positive: good, negative: Cushion { zone, ..good } };
        let error = EndCushion::new(config).unwrap_err();
        assert_eq!(std::format!("{error}"), "cushion over 501 ‰ of the stroke: set 10 ‰ to 500 ‰");
        let end_speed = Permille::new(9).unwrap();
        let config = EndCushionConfig { positive: Cushion { end_speed, ..good }, negative: good };
        let error = EndCushion::new(config).unwrap_err();
        assert_eq!(std::format!("{error}"), "speed of 9 ‰ at the end of the stroke: set 10 ‰ to 1000 ‰");
    }

    four_verbs! {
        new: EndCushion::new,
        configs: (EndCushionConfig { positive: Cushion { zone: Permille::new(100).unwrap(), end_speed: Permille::new(200).unwrap() }, negative: Cushion { zone: Permille::new(200).unwrap(), end_speed: Permille::new(300).unwrap() } }, EndCushionConfig { positive: Cushion { zone: Permille::new(300).unwrap(), end_speed: Permille::new(150).unwrap() }, negative: Cushion { zone: Permille::new(50).unwrap(), end_speed: Permille::new(400).unwrap() } }),
        accepted: [
            EndCushionConfig { positive: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(10).unwrap() }, negative: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(10).unwrap() } },
            EndCushionConfig { positive: Cushion { zone: Permille::new(500).unwrap(), end_speed: Permille::new(1000).unwrap() }, negative: Cushion { zone: Permille::new(500).unwrap(), end_speed: Permille::new(1000).unwrap() } },
        ],
        refused: [
            EndCushionConfig { positive: Cushion { zone: Permille::new(9).unwrap(), end_speed: Permille::new(10).unwrap() }, negative: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(10).unwrap() } } => "cushion over 9 ‰ of the stroke: set 10 ‰ to 500 ‰",
            EndCushionConfig { positive: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(10).unwrap() }, negative: Cushion { zone: Permille::new(501).unwrap(), end_speed: Permille::new(10).unwrap() } } => "cushion over 501 ‰ of the stroke: set 10 ‰ to 500 ‰",
            EndCushionConfig { positive: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(9).unwrap() }, negative: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(10).unwrap() } } => "speed of 9 ‰ at the end of the stroke: set 10 ‰ to 1000 ‰",
            EndCushionConfig { positive: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(10).unwrap() }, negative: Cushion { zone: Permille::new(10).unwrap(), end_speed: Permille::new(9).unwrap() } } => "speed of 9 ‰ at the end of the stroke: set 10 ‰ to 1000 ‰",
        ],
        inputs: (ratio(), ratio()),
        step: |block, (command, position)| block.step(command, Reading::Valid(position)),
    }
}
