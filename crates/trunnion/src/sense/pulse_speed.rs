//! Speed from the edges of a pulse pickup.

use super::{Flaw, Reading};
use crate::quantity::{Millis, Period, Rpm, product, quotient};

/// What turns in front of the pickup of a [`PulseSpeed`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct PulseSpeedConfig {
    /// Edges counted in one revolution, 1 or more.
    pub teeth: u16,
    /// Time without an edge after which the wheel stands, 10 ms to 10 s. The slowest speed that is still
    /// told from standstill is one tooth in this time.
    pub zero_speed_after: Millis,
    /// Above this speed the edges cannot be real. Above 0 rpm; twice as many edges as this must fit in half
    /// a turn of the 16-bit counter within one period.
    pub fastest: Rpm,
}

/// Why a [`PulseSpeedConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum PulseSpeedConfigError {
    /// `teeth` is zero.
    NoTeeth,
    /// `zero_speed_after` is outside its range.
    ZeroSpeedAfterOutOfRange {
        /// What was asked for.
        value: Millis,
        /// The least that is allowed.
        shortest: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
    /// `fastest` is not above zero.
    FastestNotAboveZero {
        /// What was asked for.
        value: Rpm,
    },
    /// `fastest` gives more edges in a period than the counter can tell.
    TooManyEdges {
        /// Edges in one period.
        value: u64,
        /// The most that is allowed.
        most: u64,
    },
}

impl core::fmt::Display for PulseSpeedConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoTeeth => write!(formatter, "teeth is 0; it must be 1 or more"),
            Self::ZeroSpeedAfterOutOfRange { value, shortest, longest } => {
                write!(formatter, "zero_speed_after is {value}; it must be {shortest} to {longest}")
            }
            Self::FastestNotAboveZero { value } => {
                write!(formatter, "fastest is {}/8 rpm; it must be above 0 rpm", value.raw())
            }
            Self::TooManyEdges { value, most } => write!(
                formatter,
                "fastest and teeth give {value} edges in a period; at most {most} can be counted: \
                 lower one of them or shorten the period"
            ),
        }
    }
}

impl core::error::Error for PulseSpeedConfigError {}

/// One edge a microsecond from a wheel of one tooth, in eighths of a revolution a minute: 60 s · 10⁶ · 8.
const ONE_EDGE_A_MICROSECOND: u64 = 480_000_000;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Limits {
    /// Speed of one edge a microsecond, and the teeth, both without their common factors: then the quotient of a usual
    /// pickup fits 32 bits.
    edge_a_microsecond: u32,
    teeth: u16,
    zero_speed_steps: u32,
    fastest: Rpm,
}

impl Limits {
    const SHORTEST: Millis = Millis::from_ticks(10);
    const LONGEST: Millis = Millis::from_ticks(10_000);
    /// A quarter of the counter's turn: a wheel twice too fast is still seen as too fast.
    const MOST_EDGES: u64 = 1 << 14;

    const fn resolve(config: PulseSpeedConfig, period: Period) -> Result<Self, PulseSpeedConfigError> {
        use PulseSpeedConfigError::*;
        let PulseSpeedConfig { teeth, zero_speed_after, fastest } = config;
        if teeth == 0 {
            return Err(NoTeeth);
        }
        if zero_speed_after.ticks() < Self::SHORTEST.ticks()
            || zero_speed_after.ticks() > Self::LONGEST.ticks()
        {
            return Err(ZeroSpeedAfterOutOfRange {
                value: zero_speed_after,
                shortest: Self::SHORTEST,
                longest: Self::LONGEST,
            });
        }
        if fastest.raw() <= 0 {
            return Err(FastestNotAboveZero { value: fastest });
        }
        let tooth_micros = (teeth as u64).saturating_mul(period.micros() as u64);
        let scaled = (fastest.raw() as u64).saturating_mul(tooth_micros);
        let edges = scaled / ONE_EDGE_A_MICROSECOND;
        if edges > Self::MOST_EDGES {
            return Err(TooManyEdges { value: edges, most: Self::MOST_EDGES });
        }
        let factor = common_factor(ONE_EDGE_A_MICROSECOND as u32, teeth as u32);
        let (Some(edge_a_microsecond), Some(teeth)) =
            ((ONE_EDGE_A_MICROSECOND as u32).checked_div(factor), (teeth as u32).checked_div(factor))
        else {
            return Err(NoTeeth);
        };
        let zero_speed_steps = period.steps(zero_speed_after);
        Ok(Self { edge_a_microsecond, teeth: teeth as u16, zero_speed_steps, fastest })
    }

    /// n = 60 · f / z with f = edges / time; `None` above the fastest speed and for edges in no time.
    #[inline]
    fn speed(&self, edges: u16, micros: u32) -> Option<Rpm> {
        let speed = product(u32::from(edges), self.edge_a_microsecond);
        let tooth_micros = product(micros, u32::from(self.teeth));
        let raw = match u32::try_from(tooth_micros) {
            Ok(divisor) => quotient(speed.wrapping_add(u64::from(divisor / 2)), divisor),
            // Longer than an hour for one tooth: at most 2⁴⁵ by 2³².
            Err(_) => speed.wrapping_add(tooth_micros / 2).checked_div(tooth_micros).unwrap_or(0) as u32,
        };
        (raw <= self.fastest.raw().unsigned_abs()).then(|| Rpm::within_range(raw.cast_signed()))
    }
}

/// The greatest common divisor, after Euclid.
const fn common_factor(a: u32, b: u32) -> u32 {
    match a.checked_rem(b) {
        Some(rest) => common_factor(b, rest),
        None => a,
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
enum Wheel {
    /// The counter was not read yet.
    Unknown,
    /// No edge for the zero-speed time: the next one has no predecessor to be measured from.
    Standing { edges: u16 },
    /// Edges are coming.
    Turning { edges: u16, stamp_micros: u32 },
}

/// Speed from the edges of a pulse pickup: n = 60 · f / z.
///
/// Takes two free-running values of capture hardware: the number of edges and the time of the last one in
/// microseconds. Both wrap, and only their differences count, so no clock of the loop stands in the
/// measurement. Gives eighths of a revolution a minute, rounded to nearest, without direction.
///
/// While no edge comes, the speed is bounded by one tooth in the time waited, so that a wheel that stops is
/// seen to slow down; after `zero_speed_after` it stands. The first edge after standstill has no
/// predecessor: speed shows from the second on. A pickup whose wire is broken looks like a wheel that
/// stands: compare it with another source ([`SpeedComparison`](super::SpeedComparison)).
/// Where the hardware captures the period of each tooth instead, see [`PeriodSpeed`](super::PeriodSpeed).
///
#[doc = include_str!("../../docs/sense-pulse_speed.svg")]
///
/// ```
/// use trunnion::quantity::{Millis, Period, Rpm};
/// use trunnion::sense::{PulseSpeed, PulseSpeedConfig, Reading};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = PulseSpeedConfig {
///     teeth: 120,
///     zero_speed_after: Millis::millis(200),
///     fastest: Rpm::from_whole(3_500),
/// };
/// let mut engine = PulseSpeed::new(config, tick).unwrap();
/// // 2400 Hz: 24 edges in 10 ms.
/// engine.step(0, 0);
/// engine.step(24, 10_000);
/// assert_eq!(engine.step(48, 20_000), Reading::Valid(Rpm::from_whole(1_200)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct PulseSpeed {
    limits: Limits,
    period: Period,
    wheel: Wheel,
    /// Steps since the last edge was seen.
    silent: u32,
    reading: Reading<Rpm>,
}

impl PulseSpeed {
    /// Refuses no teeth, a zero-speed time outside 10 ms to 10 s, and a fastest speed that is not above
    /// zero or that the counter cannot follow.
    ///
    /// # Errors
    ///
    /// [`PulseSpeedConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: PulseSpeedConfig, period: Period) -> Result<Self, PulseSpeedConfigError> {
        match Limits::resolve(config, period) {
            Ok(limits) => Ok(Self {
                limits,
                period,
                wheel: Wheel::Unknown,
                silent: 0,
                reading: Reading::Valid(Rpm::ZERO),
            }),
            Err(error) => Err(error),
        }
    }

    /// Takes a new wheel as a whole or refuses it as a whole; counts and speed are kept until the next edge.
    ///
    /// # Errors
    ///
    /// [`PulseSpeedConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, config: PulseSpeedConfig) -> Result<(), PulseSpeedConfigError> {
        self.limits = Limits::resolve(config, self.period)?;
        Ok(())
    }

    /// Standing, the counter not read yet.
    pub fn reset(&mut self) {
        self.wheel = Wheel::Unknown;
        self.silent = 0;
        self.reading = Reading::Valid(Rpm::ZERO);
    }

    /// One step with the free-running edge count and the free-running time of the last edge.
    pub fn step(&mut self, edges: u16, stamp_micros: u32) -> Reading<Rpm> {
        let Wheel::Turning { edges: before, stamp_micros: stamp_before } = self.wheel else {
            self.begin(edges, stamp_micros);
            return self.reading;
        };
        let new_edges = edges.wrapping_sub(before);
        let (speed, most) = if new_edges == 0 {
            self.silent = self.silent.saturating_add(1);
            if self.silent >= self.limits.zero_speed_steps {
                self.wheel = Wheel::Standing { edges };
                self.reading = Reading::Valid(Rpm::ZERO);
                return self.reading;
            }
            // The last edge is at least this old, so the speed is at most one tooth in that time.
            let Reading::Valid(present) = self.reading else { return self.reading };
            ((1, self.silent.saturating_mul(self.period.micros())), present)
        } else {
            self.wheel = Wheel::Turning { edges, stamp_micros };
            self.silent = 0;
            ((new_edges, stamp_micros.wrapping_sub(stamp_before)), Rpm::MAX)
        };
        let (edges, micros) = speed;
        match self.limits.speed(edges, micros) {
            Some(speed) => self.reading = Reading::Valid(speed.at_most(most)),
            None if new_edges != 0 => self.reading = Reading::Faulted(Flaw::TooFast),
            None => {}
        }
        self.reading
    }

    /// No speed yet: the first edge has no predecessor to be measured from.
    fn begin(&mut self, edges: u16, stamp_micros: u32) {
        self.wheel = match self.wheel {
            Wheel::Standing { edges: before } if edges != before => {
                self.silent = 0;
                Wheel::Turning { edges, stamp_micros }
            }
            _ => Wheel::Standing { edges },
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn wheel(teeth: u16, fastest: i32) -> PulseSpeedConfig {
        PulseSpeedConfig { teeth, zero_speed_after: Millis::millis(200), fastest: Rpm::from_whole(fastest) }
    }

    fn pickup(teeth: u16, fastest: i32) -> PulseSpeed {
        PulseSpeed::new(wheel(teeth, fastest), TICK).unwrap()
    }

    /// What the counters could show, plausible or not.
    fn counters() -> impl Strategy<Value = (u16, u32)> {
        (0_u16..200, 0_u32..100_000)
    }

    /// Steps past a wheel with `edge_micros` between edges, the first one at `edge_micros`; what the free
    /// counters show at each tick begins at `edges` and `stamp`.
    fn turn(speed: &mut PulseSpeed, edge_micros: u64, ticks: u64, edges: u16, stamp: u32) -> Reading<Rpm> {
        let mut reading = speed.step(edges, stamp);
        for tick in 1..=ticks {
            let passed = tick * 10_000 / edge_micros;
            let last = (passed * edge_micros) as u32;
            reading = speed.step(edges.wrapping_add(passed as u16), stamp.wrapping_add(last));
        }
        reading
    }

    #[test]
    fn published_frequencies_give_the_published_speeds() {
        // n = 60 f / z: z 120, f 2400 Hz → 1200 rpm (textbook formula); 135 teeth, 4500 Hz → 2000 rpm
        // (teeth of a published 1982 car manual).
        for (teeth, hertz, rpm) in [(120, 2_400_u32, 1_200), (135, 4_500, 2_000)] {
            let mut speed = pickup(teeth, 3_500);
            let edges = (hertz / 100) as u16;
            speed.step(0, 0);
            speed.step(edges, 10_000);
            assert_eq!(speed.step(2 * edges, 20_000), Reading::Valid(Rpm::from_whole(rpm)));
        }
    }

    #[test]
    fn the_first_edge_after_a_long_standstill_tells_no_speed() {
        let mut speed = pickup(60, 3_000);
        turn(&mut speed, 1_000, 30, 0, 0);
        for _ in 0..30 {
            speed.step(300, 300_000);
        }
        assert_eq!(speed.step(301, 5), Reading::Valid(Rpm::ZERO), "the stamp may have wrapped meanwhile");
        assert_eq!(speed.step(302, 10_005), Reading::Valid(Rpm::from_whole(100)));
        for _ in 0..30 {
            speed.step(302, 10_005);
        }
        assert_eq!(speed.step(303, 20_005), Reading::Valid(Rpm::ZERO), "nor does a stamp that looks near");
    }

    #[test]
    fn a_silent_wheel_that_was_slow_keeps_its_speed_while_silence_allows_more() {
        let mut speed = pickup(1, 10);
        speed.step(0, 0);
        speed.step(1, 0);
        assert_eq!(speed.step(2, 10_000_000), Reading::Valid(Rpm::from_whole(6)));
        assert_eq!(
            speed.step(2, 10_000_000),
            Reading::Valid(Rpm::from_whole(6)),
            "one edge in 10 ms would be 6000 rpm"
        );
    }

    #[test]
    fn an_edge_whose_stamp_is_an_hour_of_teeth_away_is_no_speed_at_all() {
        let mut speed = pickup(59_999, 2);
        speed.step(0, 0);
        speed.step(1, 0);
        assert_eq!(speed.step(2, u32::MAX), Reading::Valid(Rpm::ZERO));
    }

    #[test]
    fn more_than_an_hour_of_one_tooth_is_rounded_to_nearest() {
        for (edges, eighths) in [(6, 0), (7, 1), (18, 1), (19, 2)] {
            let mut speed = pickup(59_999, 2);
            speed.step(0, 0);
            speed.step(1, 0);
            // 480 000 000 / (59 999 · 100 000 µs) is 0.08 of an eighth an edge.
            assert_eq!(speed.step(1 + edges, 100_000), Reading::Valid(Rpm::new(eighths).unwrap()));
        }
    }

    #[test]
    fn as_many_edges_as_can_be_counted_are_taken_and_one_more_is_refused() {
        let config = |raw| PulseSpeedConfig { fastest: Rpm::new(raw).unwrap(), ..wheel(48_000, 1) };
        assert!(PulseSpeed::new(config(16_384), TICK).is_ok());
        let refused = PulseSpeed::new(config(16_385), TICK).unwrap_err();
        assert_eq!(refused, PulseSpeedConfigError::TooManyEdges { value: 16_385, most: 16_384 });
    }

    #[test]
    fn impossible_edges_fault_the_reading_until_edges_are_possible_again() {
        let mut speed = pickup(60, 3_000);
        speed.step(0, 0);
        speed.step(10, 10_000);
        assert_eq!(speed.step(41, 20_000), Reading::Faulted(Flaw::TooFast), "3100 rpm");
        assert_eq!(speed.step(71, 30_000), Reading::Valid(Rpm::from_whole(3_000)));
        assert_eq!(speed.step(72, 30_000), Reading::Faulted(Flaw::TooFast), "an edge in no time");
        assert_eq!(speed.step(72, 30_000), Reading::Faulted(Flaw::TooFast), "nothing new is known");
        assert_eq!(speed.step(82, 40_000), Reading::Valid(Rpm::from_whole(1_000)));
        speed.reset();
        assert_eq!(speed.step(500, 7), Reading::Valid(Rpm::ZERO));
    }

    #[test]
    fn each_broken_rule_is_refused_by_name_and_changes_nothing() {
        let mut speed = pickup(60, 3_000);
        let refusals = [
            (wheel(0, 3_000), "teeth is 0; it must be 1 or more"),
            (wheel(60, 0), "fastest is 0/8 rpm; it must be above 0 rpm"),
            (
                PulseSpeedConfig { zero_speed_after: Millis::millis(9), ..wheel(60, 3_000) },
                "zero_speed_after is 9 ms; it must be 10 ms to 10000 ms",
            ),
            (
                PulseSpeedConfig { zero_speed_after: Millis::millis(10_001), ..wheel(60, 3_000) },
                "zero_speed_after is 10001 ms; it must be 10 ms to 10000 ms",
            ),
            (
                wheel(60_000, 3_000),
                "fastest and teeth give 30000 edges in a period; at most 16384 can be counted: \
                 lower one of them or shorten the period",
            ),
        ];
        for (config, message) in refusals {
            assert_eq!(speed.reconfigure(config).unwrap_err().to_string(), message);
            assert_eq!((speed.limits.edge_a_microsecond, speed.limits.zero_speed_steps), (8_000_000, 20));
        }
    }

    proptest! {
        #[test]
        fn a_steady_wheel_reads_sixty_f_by_z_wherever_the_counters_wrap(
            teeth in 1_u16..=200, edge_micros in 200_u64..190_000, edges: u16, stamp: u32
        ) {
            let exact = 480_000_000.0 / (f64::from(teeth) * edge_micros as f64);
            prop_assume!(exact < 8.0 * 6_000.0);
            let mut speed = pickup(teeth, 6_000);
            let ticks = 2 * edge_micros / 10_000 + 2;
            let reading = turn(&mut speed, edge_micros, ticks, edges, stamp);
            let raw = reading.valid().unwrap().raw();
            prop_assert!((f64::from(raw) - exact).abs() <= 0.5 + 1e-9, "{} for {}", raw, exact);
        }

        #[test]
        fn a_wheel_that_stops_only_slows_down_and_stands_after_the_zero_speed_time(edge_micros in 500_u64..50_000) {
            let mut speed = pickup(60, 3_000);
            let ticks = 20;
            let mut before = turn(&mut speed, edge_micros, ticks, 0, 0).valid().unwrap();
            let edges = (ticks * 10_000 / edge_micros) as u16;
            let stamp = u32::from(edges) * edge_micros as u32;
            // The last edge was seen up to five ticks before the last tick.
            for silent in 1..=20_u64 {
                let now = speed.step(edges, stamp).valid().unwrap();
                prop_assert!(now <= before);
                prop_assert!(i64::from(now.raw()) <= 480_000_000 / (60 * silent as i64 * 10_000) + 1);
                before = now;
            }
            prop_assert_eq!(before, Rpm::ZERO);
        }

        #[test]
        fn any_counters_read_between_zero_and_the_fastest_speed(
            counters in proptest::collection::vec(any::<(u16, u32)>(), 1..100)
        ) {
            let mut speed = pickup(60, 3_000);
            for (edges, stamp) in counters {
                if let Some(value) = speed.step(edges, stamp).valid() {
                    prop_assert!(value >= Rpm::ZERO && value <= Rpm::from_whole(3_000));
                }
            }
        }
    }

    four_verbs! {
        new: |config| PulseSpeed::new(config, TICK),
        configs: (PulseSpeedConfig { teeth: 120, zero_speed_after: Millis::millis(200), fastest: Rpm::from_whole(3500) }, PulseSpeedConfig { teeth: 60, zero_speed_after: Millis::millis(90), fastest: Rpm::from_whole(3000) }),
        accepted: [
            PulseSpeedConfig { teeth: 1, zero_speed_after: Millis::millis(10), fastest: Rpm::from_whole(1) },
            PulseSpeedConfig { teeth: 1, zero_speed_after: Millis::millis(10000), fastest: Rpm::from_whole(1) },
        ],
        refused: [
            PulseSpeedConfig { teeth: 0, zero_speed_after: Millis::millis(200), fastest: Rpm::from_whole(3500) } => "teeth is 0; it must be 1 or more",
            PulseSpeedConfig { teeth: 120, zero_speed_after: Millis::millis(9), fastest: Rpm::from_whole(3500) } => "zero_speed_after is 9 ms; it must be 10 ms to 10000 ms",
            PulseSpeedConfig { teeth: 120, zero_speed_after: Millis::millis(10001), fastest: Rpm::from_whole(3500) } => "zero_speed_after is 10001 ms; it must be 10 ms to 10000 ms",
            PulseSpeedConfig { teeth: 120, zero_speed_after: Millis::millis(200), fastest: Rpm::from_whole(0) } => "fastest is 0/8 rpm; it must be above 0 rpm",
        ],
        inputs: counters(),
        step: |block, (edges, stamp)| block.step(edges, stamp),
        reset: |block| block.reset(),
    }
}
