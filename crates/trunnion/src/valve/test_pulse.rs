//! Looks for open coils at start-up with a pulse too small to move anything.

use core::fmt;

use crate::quantity::{Milliamps, Millis, Period, Permille, Ratio};

/// The pulse that every coil gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TestPulseConfig {
    /// Current of the pulse: well below the smallest threshold current of the coils. 10 mA to 1 A.
    pub current: Milliamps,
    /// Length of the pulse on each coil, at least three periods and at most 1 s: longer than the opposite coil
    /// takes to be released and this one to settle.
    pub length: Millis,
    /// Share of the current that has to be measured at the end of the pulse, 100 to 900 ‰.
    pub pass: Permille,
}

/// Why a [`TestPulseConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum TestPulseConfigError {
    /// The current is outside 10 mA to 1 A.
    Current(Milliamps),
    /// The length is shorter than three periods or above 1 s.
    Length(Millis),
    /// The share is outside 100 to 900 ‰.
    Pass(Permille),
}

impl fmt::Display for TestPulseConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Current(given) => write!(f, "test pulse {} mA is outside 10 to 1000 mA", given.raw()),
            Self::Length(given) => write!(f, "test pulse length {given} is outside three periods to 1000 ms"),
            Self::Pass(given) => write!(f, "share to pass {} ‰ is outside 100 to 900 ‰", given.raw()),
        }
    }
}

impl core::error::Error for TestPulseConfigError {}

crate::choices! {
    /// How far the start-up test of the coils is.
    pub enum TestPulseState {
        /// Pulses are running.
        Testing = "testing",
        /// Every coil carried its pulse.
        Passed = "passed",
        /// At least one did not, or another one carried it.
        Failed = "failed",
    }
}

/// Sends a pulse through one coil after the other and looks whether it arrives there.
///
/// One at a time, so that opposite coils are never driven together and a crossed plug shows as current in
/// another coil. Steps only while the coil supply is on: without it every coil would look open. A coil that
/// opens later is invisible until it is driven; that is for [`CoilMonitor`](super::CoilMonitor).
///
#[doc = include_str!("../../docs/valve-test_pulse.svg")]
///
/// ```
/// use trunnion::quantity::{Milliamps, Millis, Period, Permille};
/// use trunnion::valve::{TestPulse, TestPulseConfig, TestPulseState};
///
/// let config = TestPulseConfig {
///     current: Milliamps::new(120).unwrap(),
///     length: Millis::millis(60),
///     pass: Permille::new(500).unwrap(),
/// };
/// let mut test = TestPulse::<2>::new(config, Period::from_micros(10_000).unwrap())?;
/// while !test.done() {
///     let [raise, _] = test.set_points();
///     test.step(&[raise, Milliamps::ZERO]); // the plug of the second coil is off
/// }
/// assert!(!test.open(0) && test.open(1));
/// # Ok::<(), trunnion::valve::TestPulseConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct TestPulse<const N: usize> {
    current: Milliamps,
    enough: Milliamps,
    steps: u32,
    period: Period,
    coil: u32,
    step: u32,
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    open: [bool; N],
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    crossed: [bool; N],
}

impl<const N: usize> TestPulse<N> {
    const COILS: u32 = N as u32;

    /// Checks the config; the test begins with the first step.
    ///
    /// # Errors
    ///
    /// [`TestPulseConfigError`]: which rule the config breaks, with its value.
    pub const fn new(config: TestPulseConfig, period: Period) -> Result<Self, TestPulseConfigError> {
        let TestPulseConfig { current, length, pass } = config;
        if current.raw() < 10 || current.raw() > 1_000 {
            return Err(TestPulseConfigError::Current(current));
        }
        let steps = period.steps(length);
        if steps < 3 || length.ticks() > 1_000 {
            return Err(TestPulseConfigError::Length(length));
        }
        if pass.raw() < 100 || pass.raw() > 900 {
            return Err(TestPulseConfigError::Pass(pass));
        }
        let enough = current.scaled(Ratio::from_quotient(pass.raw() as i64, 1000));
        Ok(Self { current, enough, steps, period, coil: 0, step: 0, open: [false; N], crossed: [false; N] })
    }

    /// Takes another config and begins the test anew, or refuses it and keeps the present one.
    ///
    /// # Errors
    ///
    /// [`TestPulseConfigError`], as for `new`; everything then stays as it was.
    pub const fn reconfigure(&mut self, config: TestPulseConfig) -> Result<(), TestPulseConfigError> {
        match Self::new(config, self.period) {
            Ok(test) => {
                *self = test;
                Ok(())
            }
            Err(error) => Err(error),
        }
    }

    /// Begins the test anew.
    pub const fn reset(&mut self) {
        self.coil = 0;
        self.step = 0;
        self.open = [false; N];
        self.crossed = [false; N];
    }

    /// One step with the currents measured since the last one; nothing more happens when the test is done.
    pub fn step(&mut self, measured: &[Milliamps; N]) -> TestPulseState {
        if !self.done() {
            // The first step only starts the pulse: its set-point is not yet in the measurement.
            if self.step >= self.steps {
                self.judge(measured);
                self.coil = self.coil.saturating_add(1);
                self.step = 0;
            }
            self.step = self.step.saturating_add(1);
        }
        self.state()
    }

    /// What each coil is to be driven with until the next step.
    pub fn set_points(&self) -> [Milliamps; N] {
        let mut set_points = [Milliamps::ZERO; N];
        if self.step > 0
            && let Some(set_point) = set_points.get_mut(self.coil as usize)
        {
            *set_point = self.current;
        }
        set_points
    }

    /// True when every coil had its pulse.
    pub const fn done(&self) -> bool {
        self.coil >= Self::COILS
    }

    /// True when this coil did not carry its pulse; false for a coil that was not tested yet.
    pub fn open(&self, coil: u16) -> bool {
        self.open.get(usize::from(coil)).copied().unwrap_or(false)
    }

    /// True when the pulse of this coil, or a current of unknown origin at its time, was in another one.
    pub fn crossed(&self, coil: u16) -> bool {
        self.crossed.get(usize::from(coil)).copied().unwrap_or(false)
    }

    /// How far the test is.
    pub fn state(&self) -> TestPulseState {
        if !self.done() {
            TestPulseState::Testing
        } else if self.open.contains(&true) || self.crossed.contains(&true) {
            TestPulseState::Failed
        } else {
            TestPulseState::Passed
        }
    }

    fn judge(&mut self, measured: &[Milliamps; N]) {
        let tested = self.coil as usize;
        let carries = |current: &Milliamps| *current >= self.enough;
        let elsewhere =
            measured.iter().enumerate().any(|(place, current)| place != tested && carries(current));
        let arrived = measured.get(tested).is_some_and(carries);
        if let Some(open) = self.open.get_mut(tested) {
            *open = !arrived;
        }
        if let Some(crossed) = self.crossed.get_mut(tested) {
            *crossed = elsewhere;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::valve::coil_model::*;
    use crate::valve::{Coil, CoilConfig, DitherConfig};
    use proptest::prelude::*;
    use std::vec::Vec;

    const TICK: Period = Period::from_micros(10_000).unwrap();
    const STEP: Period = Period::from_micros(1_000).unwrap();

    fn config() -> TestPulseConfig {
        TestPulseConfig {
            current: milliamps(120),
            length: Millis::from_ticks(60),
            pass: Permille::new(700).unwrap(),
        }
    }

    /// Four coils with their loops, ten fast steps a tick; wire `n` leads to coil `leads_to[n]`.
    fn run(leads_to: [Option<usize>; 4], celsius: f64, supply: f64) -> TestPulse<4> {
        let coil = CoilConfig {
            control: tuned(7.2, 0.025),
            dither: DitherConfig { amplitude: Milliamps::ZERO, cycle: Millis::from_ticks(10) },
            averaging: Millis::from_ticks(10),
            tolerance: Permille::new(100).unwrap(),
            offset: milliamps(30),
            stray: milliamps(60),
        };
        let mut coils = [Coil::new(coil, STEP).unwrap(); 4];
        let mut models = [CoilModel::new(at_temperature(7.2, celsius), 0.025); 4];
        let mut measured = [Milliamps::ZERO; 4];
        let mut test = TestPulse::<4>::new(config(), TICK).unwrap();
        let mut averages = [Milliamps::ZERO; 4];
        for _ in 0..200 {
            test.step(&averages);
            let set_points = test.set_points();
            assert!(set_points.iter().filter(|set| **set != Milliamps::ZERO).count() <= 1);
            for _ in 0..10 {
                let duties: Vec<_> = (0..4)
                    .map(|n| coils[n].step(set_points[n], measured[n], Some(millivolts(supply))))
                    .collect();
                measured = [Milliamps::ZERO; 4];
                for (wire, coil) in leads_to.iter().enumerate().filter_map(|(n, coil)| Some((n, (*coil)?))) {
                    measured[coil] = models[coil].run(duties[wire], supply);
                }
            }
            averages = [0, 1, 2, 3].map(|n| coils[n].take_report().average_current);
        }
        assert!(test.done());
        test
    }

    #[test]
    fn sound_coils_pass_cold_and_hot_at_low_and_high_supply() {
        for celsius in [-20.0, 100.0] {
            for supply in [9.0, 16.0] {
                let test = run([Some(0), Some(1), Some(2), Some(3)], celsius, supply);
                assert_eq!(test.state(), TestPulseState::Passed, "{celsius} °C, {supply} V");
            }
        }
    }

    #[test]
    fn an_open_coil_is_named_and_the_others_are_not() {
        for open in 0..4 {
            let mut wires = [Some(0), Some(1), Some(2), Some(3)];
            wires[open] = None;
            let test = run(wires, 20.0, 12.0);
            assert_eq!(test.state(), TestPulseState::Failed);
            for coil in 0..4 {
                assert_eq!(test.open(coil as u16), coil == open);
                assert!(!test.crossed(coil as u16));
            }
        }
    }

    #[test]
    fn two_crossed_plugs_are_both_named() {
        let test = run([Some(1), Some(0), Some(2), Some(3)], 20.0, 12.0);
        let crossed: Vec<_> = (0..4).map(|coil| test.crossed(coil)).collect();
        assert_eq!(crossed, [true, true, false, false]);
        assert!(test.open(0) && test.open(1));
    }

    #[test]
    fn nothing_is_driven_before_the_first_step_after_the_last_and_after_reset() {
        let mut test = TestPulse::<2>::new(config(), TICK).unwrap();
        let idle = [Milliamps::ZERO; 2];
        assert_eq!(test.set_points(), idle);
        let mut ticks = 0;
        while test.step(&[config().current; 2]) == TestPulseState::Testing {
            ticks += 1;
        }
        assert_eq!(ticks, 12); // two coils of 60 ms
        assert_eq!(test.set_points(), idle);
        test.reset();
        assert_eq!((test.set_points(), test.state()), (idle, TestPulseState::Testing));
        assert!(!test.open(9) && !test.crossed(9));
    }

    #[test]
    fn a_config_outside_its_range_is_refused() {
        let refused = |config| TestPulse::<2>::new(config, TICK).unwrap_err();
        let short = Millis::from_ticks(20);
        assert_eq!(
            refused(TestPulseConfig { length: short, ..config() }),
            TestPulseConfigError::Length(short)
        );
        let error = refused(TestPulseConfig { current: milliamps(9), ..config() });
        assert_eq!(std::format!("{error}"), "test pulse 9 mA is outside 10 to 1000 mA");
        let error = refused(TestPulseConfig { pass: Permille::new(99).unwrap(), ..config() });
        assert_eq!(std::format!("{error}"), "share to pass 99 ‰ is outside 100 to 900 ‰");
    }

    type Measured = (u16, u16);

    /// All that can be seen of a test in a step.
    fn seen(block: &mut TestPulse<2>, (one, other): Measured) -> impl PartialEq + std::fmt::Debug + use<> {
        let state = block.step(&[milliamps(one), milliamps(other)]);
        (state, block.set_points(), block.done(), [0, 1].map(|coil| (block.open(coil), block.crossed(coil))))
    }

    fn measured() -> impl Strategy<Value = Vec<Measured>> {
        crate::four_verbs::lasting((0_u16..220, 0_u16..220))
    }

    fn fresh(config: TestPulseConfig) -> Result<TestPulse<2>, TestPulseConfigError> {
        TestPulse::new(config, TICK)
    }

    fn refused() -> [(TestPulseConfig, &'static str); 6] {
        let good = config();
        [
            (TestPulseConfig { current: milliamps(9), ..good }, "test pulse 9 mA is outside 10 to 1000 mA"),
            (
                TestPulseConfig { current: milliamps(1001), ..good },
                "test pulse 1001 mA is outside 10 to 1000 mA",
            ),
            (
                TestPulseConfig { length: Millis::millis(20), ..good },
                "test pulse length 20 ms is outside three periods to 1000 ms",
            ),
            (
                TestPulseConfig { length: Millis::millis(1001), ..good },
                "test pulse length 1001 ms is outside three periods to 1000 ms",
            ),
            (
                TestPulseConfig { pass: Permille::new(99).unwrap(), ..good },
                "share to pass 99 ‰ is outside 100 to 900 ‰",
            ),
            (
                TestPulseConfig { pass: Permille::new(901).unwrap(), ..good },
                "share to pass 901 ‰ is outside 100 to 900 ‰",
            ),
        ]
    }

    proptest! {
        #[test]
        fn a_reset_and_a_new_configuration_each_begin_the_test_anew(before in measured(), after in measured()) {
            let streams = (before.as_slice(), after.as_slice());
            crate::four_verbs::reset_forgets(config(), fresh, |block| block.reset(), seen, streams)?;
            let again = |block: &mut TestPulse<2>| block.reconfigure(config()).unwrap();
            crate::four_verbs::reset_forgets(config(), fresh, again, seen, streams)?;
        }

        #[test]
        fn a_refused_configuration_changes_nothing(before in measured(), after in measured()) {
            crate::four_verbs::refusals_change_nothing(
                (config(), &refused()), fresh, |block, config| block.reconfigure(config), seen, (&before, &after)
            )?;
        }
    }

    #[test]
    fn the_ends_of_the_ranges_are_taken_and_what_is_beyond_is_refused_with_what_to_set() {
        let good = config();
        crate::four_verbs::ends_are_taken_and_what_is_beyond_refused(
            fresh,
            &[
                TestPulseConfig { current: milliamps(10), ..good },
                TestPulseConfig { current: milliamps(1000), ..good },
                TestPulseConfig { length: Millis::millis(30), ..good },
                TestPulseConfig { length: Millis::millis(1000), ..good },
                TestPulseConfig { pass: Permille::new(100).unwrap(), ..good },
                TestPulseConfig { pass: Permille::new(900).unwrap(), ..good },
            ],
            &refused(),
        );
    }
}
