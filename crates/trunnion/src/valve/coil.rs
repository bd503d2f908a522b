//! One coil in the fast loop: dither, current control and watch.

use core::fmt;

use super::{
    CoilConditions, CoilMonitor, CoilMonitorConfig, CoilMonitorConfigError, CurrentLoop, CurrentLoopConfig,
    CurrentLoopConfigError, Dither, DitherConfig, DitherConfigError,
};
use crate::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period, Permille};

/// A coil, how it is driven and how it is watched.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilConfig {
    /// The coil and its current loop.
    pub control: CurrentLoopConfig,
    /// Its dither.
    pub dither: DitherConfig,
    /// Time over which the watch averages: whole periods of the PWM, and of the dither unless that has no
    /// amplitude.
    pub averaging: Millis,
    /// Allowed error of the current, share of the set-point.
    pub tolerance: Permille,
    /// Allowed error of the current beside that.
    pub offset: Milliamps,
    /// Current from which a coil at zero command counts as driven by something else.
    pub stray: Milliamps,
}

/// Why a [`CoilConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CoilConfigError {
    /// The current loop.
    Control(CurrentLoopConfigError),
    /// The dither.
    Dither(DitherConfigError),
    /// The watch.
    Monitor(CoilMonitorConfigError),
    /// The averaging time is not a whole number of dither cycles.
    AveragingSplitsDither {
        /// Refused averaging time.
        averaging: Millis,
        /// Dither cycle given with it.
        cycle: Millis,
    },
}

impl fmt::Display for CoilConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Control(error) => error.fmt(f),
            Self::Dither(error) => error.fmt(f),
            Self::Monitor(error) => error.fmt(f),
            Self::AveragingSplitsDither { averaging, cycle } => {
                write!(f, "averaging time {averaging} is not a whole number of dither cycles of {cycle}")
            }
        }
    }
}

impl core::error::Error for CoilConfigError {}

/// What a coil did since the last report.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CoilReport {
    /// Mean of the measured current, rounded to nearest.
    pub average_current: Milliamps,
    /// Mean duty, rounded to nearest.
    pub average_duty: Duty,
    /// Largest current that the supply can drive now; less than asked for when the coil is hot or the supply
    /// is low. Commands that belong together are scaled alike by the smallest share.
    pub reachable: Milliamps,
    /// Estimated resistance.
    pub resistance: Centiohms,
    /// Whatever was wrong at any time since the last report.
    pub conditions: CoilConditions,
}

/// One coil in the fast loop.
///
/// Blanks its watch for five time constants after a change of the set-point. Without a supply reading the loop
/// is slower, and a deviation may show for up to 50 ms after a step; its fault is to be debounced for longer.
///
/// ```
/// use trunnion::quantity::{Centiohms, Milliamps, Millis, Millivolts, Period, Permille};
/// use trunnion::valve::{Coil, CoilConfig, CurrentLoopConfig, DitherConfig};
///
/// let ma = |raw| Milliamps::new(raw).unwrap();
/// let config = CoilConfig {
///     control: CurrentLoopConfig {
///         resistance: Centiohms::new(720).unwrap(),
///         time_constant: Millis::millis(3),
///         proportional: Centiohms::new(720).unwrap(),
///         integral_time: Millis::millis(8),
///         lowest_supply: Millivolts::new(8_000).unwrap(),
///         highest_supply: Millivolts::new(16_000).unwrap(),
///         largest: ma(1_200),
///     },
///     dither: DitherConfig { amplitude: ma(30), cycle: Millis::millis(10) },
///     averaging: Millis::millis(10),
///     tolerance: Permille::new(100).unwrap(),
///     offset: ma(40),
///     stray: ma(60),
/// };
/// let mut raise = Coil::new(config, Period::from_micros(1_000).unwrap())?;
/// for _ in 0..200 {
///     // the plug is off: whatever the duty, no current comes back
///     raise.step(ma(600), Milliamps::ZERO, Some(Millivolts::new(12_600).unwrap()));
/// }
/// let report = raise.take_report();
/// assert!(report.conditions.open && report.average_current == Milliamps::ZERO);
/// # Ok::<(), trunnion::valve::CoilConfigError>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Coil {
    control: CurrentLoop,
    dither: Dither,
    monitor: CoilMonitor,
    highest_supply: Millivolts,
    period: Period,
    duty: Duty,
    currents: u32,
    duties: u32,
    steps: u16,
    conditions: CoilConditions,
}

impl Coil {
    /// Checks the config and resolves it to one period of the fast loop.
    pub const fn new(config: CoilConfig, period: Period) -> Result<Self, CoilConfigError> {
        let parts = match Parts::of(&config, period) {
            Ok(parts) => parts,
            Err(error) => return Err(error),
        };
        Ok(Self {
            control: parts.control,
            dither: parts.dither,
            monitor: parts.monitor,
            highest_supply: config.control.highest_supply,
            period,
            duty: Duty::ZERO,
            currents: 0,
            duties: 0,
            steps: 0,
            conditions: CoilConditions::NONE,
        })
    }

    /// Takes another config, or refuses it as a whole and keeps the present one. The loop keeps its state, the
    /// dither and the watch start anew.
    pub const fn reconfigure(&mut self, config: CoilConfig) -> Result<(), CoilConfigError> {
        let parts = match Parts::of(&config, self.period) {
            Ok(parts) => parts,
            Err(error) => return Err(error),
        };
        if let Err(error) = self.control.reconfigure(config.control) {
            return Err(CoilConfigError::Control(error));
        }
        self.dither = parts.dither;
        self.monitor = parts.monitor;
        self.highest_supply = config.control.highest_supply;
        Ok(())
    }

    /// Back to the state of a new coil, learnt resistance and unreported conditions included.
    pub const fn reset(&mut self) {
        self.control.reset();
        self.dither.reset();
        self.monitor.reset();
        self.duty = Duty::ZERO;
        self.currents = 0;
        self.duties = 0;
        self.steps = 0;
        self.conditions = CoilConditions::NONE;
    }

    /// The duty for the coming step: exactly zero for a set-point of zero. `measured` is the mean current since
    /// the last step, `supply` is `None` when its sense has failed.
    pub fn step(&mut self, set: Milliamps, measured: Milliamps, supply: Option<Millivolts>) -> Duty {
        let assumed = supply.unwrap_or(self.highest_supply);
        self.monitor.step(set, measured, self.duty, assumed);
        self.conditions = self.conditions.and(self.monitor.conditions());
        let dithered = self.dither.step(set);
        self.duty = self.control.step_dithered(set, dithered, measured, supply);
        self.currents = self.currents.saturating_add(u32::from(measured.raw()));
        self.duties = self.duties.saturating_add(u32::from(self.duty.raw()));
        self.steps = self.steps.saturating_add(1);
        self.duty
    }

    /// What happened since the last report, then starts a new one.
    pub fn take_report(&mut self) -> CoilReport {
        let steps = u32::from(self.steps);
        let mean = |sum: u32| i64::from(sum.saturating_add(steps / 2).checked_div(steps).unwrap_or(0));
        let report = CoilReport {
            average_current: Milliamps::saturating(mean(self.currents)),
            average_duty: Duty::saturating(mean(self.duties)),
            reachable: self.control.reachable(),
            resistance: self.control.resistance(),
            conditions: self.conditions,
        };
        self.currents = 0;
        self.duties = 0;
        self.steps = 0;
        self.conditions = self.monitor.conditions();
        report
    }

    /// The duty of the last step.
    pub const fn duty(&self) -> Duty {
        self.duty
    }

    /// The current loop, to look at.
    pub const fn control(&self) -> &CurrentLoop {
        &self.control
    }

    /// The watch, to look at.
    pub const fn monitor(&self) -> &CoilMonitor {
        &self.monitor
    }
}

struct Parts {
    control: CurrentLoop,
    dither: Dither,
    monitor: CoilMonitor,
}

impl Parts {
    const fn of(config: &CoilConfig, period: Period) -> Result<Self, CoilConfigError> {
        let control = match CurrentLoop::new(config.control, period) {
            Ok(control) => control,
            Err(error) => return Err(CoilConfigError::Control(error)),
        };
        let dither = match Dither::new(config.dither, period) {
            Ok(dither) => dither,
            Err(error) => return Err(CoilConfigError::Dither(error)),
        };
        let watch = CoilMonitorConfig {
            resistance: config.control.resistance,
            blanking: Millis::from_ticks(config.control.time_constant.ticks().saturating_mul(5)),
            averaging: config.averaging,
            tolerance: config.tolerance,
            offset: config.offset,
            stray: config.stray,
        };
        let monitor = match CoilMonitor::new(watch, period) {
            Ok(monitor) => monitor,
            Err(error) => return Err(CoilConfigError::Monitor(error)),
        };
        let (averaging, cycle) = (config.averaging, config.dither.cycle);
        let rest = averaging.ticks().checked_rem(cycle.ticks());
        if config.dither.amplitude.raw() != 0 && !matches!(rest, Some(0)) {
            return Err(CoilConfigError::AveragingSplitsDither { averaging, cycle });
        }
        Ok(Self { control, dither, monitor })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::valve::coil_model::*;
    use proptest::prelude::*;
    use std::vec::Vec;

    const STEP: Period = Period::from_micros(1_000).unwrap();

    fn config(resistance: f64, inductance: f64, dither: u16) -> CoilConfig {
        CoilConfig {
            control: tuned(resistance, inductance),
            dither: DitherConfig { amplitude: milliamps(dither), cycle: Millis::from_ticks(10) },
            averaging: Millis::from_ticks(10),
            tolerance: Permille::new(100).unwrap(),
            offset: milliamps(40),
            stray: milliamps(60),
        }
    }

    /// A coil, its driver and its loop.
    struct Bench {
        coil: Coil,
        model: CoilModel,
        measured: Milliamps,
        duty: Duty,
        wire: Wire,
        /// Each reading is off by up to this many milliamperes.
        noise: i64,
        steps: i64,
    }

    #[derive(Debug, Clone, Copy, PartialEq)]
    enum Wire {
        Sound,
        Broken,
        TurnsShorted,
        OnSupply,
    }

    impl Bench {
        fn new(resistance: f64, inductance: f64, celsius: f64, dither: u16) -> Self {
            Self {
                coil: Coil::new(config(resistance, inductance, dither), STEP).unwrap(),
                model: CoilModel::new(at_temperature(resistance, celsius), inductance),
                measured: Milliamps::ZERO,
                duty: Duty::ZERO,
                wire: Wire::Sound,
                noise: 0,
                steps: 0,
            }
        }

        fn step(&mut self, set: u16, supply: f64, read: Option<f64>) -> CoilConditions {
            self.duty = self.coil.step(milliamps(set), self.measured, read.map(millivolts));
            let (duty, share) = match self.wire {
                Wire::Sound | Wire::Broken => (self.duty, 1.0),
                Wire::TurnsShorted => (self.duty, 0.3),
                Wire::OnSupply => (Duty::MAX, 1.0),
            };
            let mut model = CoilModel { resistance: self.model.resistance * share, ..self.model };
            self.measured = model.run(duty, supply);
            self.model.current = model.current;
            self.steps += 1;
            let off = (self.steps * 7_919 % 11 - 5) * self.noise / 5;
            self.measured = Milliamps::saturating(i64::from(self.measured.raw()) + off);
            if self.wire == Wire::Broken {
                self.model.current = 0.0;
                self.measured = Milliamps::ZERO;
            }
            self.coil.monitor().conditions()
        }
    }

    /// Set-points as a lever gives them through a ramp: a new one each 10 ms, towards a target at some rate.
    fn lever(moves: &[(u16, u16, usize)]) -> Vec<u16> {
        let mut set_points = Vec::new();
        let mut set = 0_u16;
        for &(target, rate, ticks) in moves {
            for _ in 0..ticks {
                set = if set < target {
                    (set + rate).min(target)
                } else {
                    set.saturating_sub(rate).max(target)
                };
                set_points.extend([set; 10]);
            }
        }
        set_points
    }

    fn moves() -> impl Strategy<Value = Vec<(u16, u16, usize)>> {
        let target = prop_oneof![Just(0u16), 100u16..=800, 100u16..=800];
        let rate = prop_oneof![1u16..10, 10u16..100, Just(1_000)];
        proptest::collection::vec((target, rate, 1usize..40), 1..12)
    }

    /// Supply in volts: level, depth of the dips, every so many milliseconds.
    fn supply_at(step: usize, (level, dip, every): (f64, f64, usize)) -> f64 {
        if step % every < every / 3 { (level - dip).max(9.0) } else { level }
    }

    fn coil() -> impl Strategy<Value = (f64, f64, f64, f64)> {
        (5.3..7.2, 0.015..0.025, 0.6..1.4, -20.0..100.0)
    }

    proptest! {
        #[test]
        fn a_sound_coil_is_never_at_fault_over_ramps_steps_dither_dips_and_temperature(
            (resistance, inductance, told_to_true, celsius) in coil(),
            moves in moves(),
            dip in (9.0..16.0, 0.0..5.0, 30usize..400),
            dither in 0u16..=40,
            noise in 0i64..=10,
            sense_fails: bool,
        ) {
            let mut bench = Bench::new(resistance, inductance, celsius, dither);
            bench.noise = noise;
            bench.model.inductance *= told_to_true;
            let mut in_a_row = 0;
            for (step, set) in lever(&moves).into_iter().enumerate() {
                let supply = supply_at(step, dip);
                let seen = bench.step(set, supply, (!sense_fails).then_some(supply));
                let least = (dip.0 - dip.1).max(9.0);
                let reachable = least > f64::from(set) * 1.1 * bench.model.resistance / 1000.0;
                let excused = if reachable { CoilConditions::NONE } else { CoilConditions { unreachable: true, ..CoilConditions::NONE } };
                if !sense_fails {
                    prop_assert!(seen == CoilConditions::NONE || seen == excused, "{} ms, {} mA: {:?}", step, set, seen);
                    continue;
                }
                // Blind to the supply the loop is slow: it may miss its current for a while, no more.
                prop_assert!(!seen.open && !seen.short && !seen.stray, "{} ms, {} mA: {:?}", step, set, seen);
                in_a_row = if seen.any() && reachable { in_a_row + 1 } else { 0 };
                prop_assert!(in_a_row <= 50, "{} ms, {} mA: {:?}", step, set, seen);
            }
        }

        #[test]
        fn every_wiring_fault_is_found_within_the_stated_time(
            (resistance, inductance, told_to_true, celsius) in coil(),
            set in 160u16..=800,
            supply in 11.0..15.0,
            before in 0usize..100,
            dither in 0u16..=30,
            noise in 0i64..=10,
            wire in prop_oneof![Just(Wire::Broken), Just(Wire::TurnsShorted), Just(Wire::OnSupply)],
        ) {
            let mut bench = Bench::new(resistance, inductance, celsius, dither);
            bench.noise = noise;
            bench.model.inductance *= told_to_true;
            for _ in 0..before {
                bench.step(set, supply, Some(supply));
            }
            bench.wire = wire;
            let steps = bench.coil.monitor().detection_steps();
            for _ in 0..steps {
                bench.step(set, supply, Some(supply));
            }
            let seen = bench.coil.monitor().conditions();
            match wire {
                Wire::Broken => prop_assert!(seen.open, "{:?}", seen),
                _ => prop_assert!(seen.short, "{:?}", seen),
            }
            for _ in 0..steps {
                bench.step(0, supply, Some(supply));
            }
            let left = bench.coil.monitor().conditions();
            prop_assert_eq!(left, CoilConditions { stray: wire == Wire::OnSupply, ..CoilConditions::NONE });
        }
    }

    #[test]
    fn a_hot_coil_at_low_supply_is_told_as_unreachable_with_what_can_be_reached() {
        let mut bench = Bench::new(7.2, 0.020, 100.0, 0);
        for _ in 0..4_000 {
            bench.step(1_200, 9.0, Some(9.0));
        }
        bench.coil.take_report();
        for _ in 0..10 {
            bench.step(1_200, 9.0, Some(9.0));
        }
        let report = bench.coil.take_report();
        assert_eq!(report.conditions, CoilConditions { unreachable: true, ..CoilConditions::NONE });
        let most = 9_000.0 / bench.model.resistance;
        assert!((f64::from(report.reachable.raw()) - most).abs() < 0.02 * most);
        assert!((f64::from(report.average_current.raw()) - most).abs() < 5.0);
        assert_eq!(report.average_duty, Duty::MAX);
    }

    #[test]
    fn a_report_covers_what_happened_since_the_last_one() {
        let mut bench = Bench::new(6.0, 0.020, 20.0, 0);
        for _ in 0..300 {
            bench.step(600, 12.0, Some(12.0));
        }
        bench.coil.take_report();
        bench.wire = Wire::Broken;
        for _ in 0..100 {
            bench.step(600, 12.0, Some(12.0));
        }
        bench.wire = Wire::Sound;
        for _ in 0..100 {
            bench.step(600, 12.0, Some(12.0));
        }
        assert!(bench.coil.take_report().conditions.open, "an open coil that came and went is still told");
        for _ in 0..10 {
            bench.step(600, 12.0, Some(12.0));
        }
        let report = bench.coil.take_report();
        assert_eq!(report.conditions, CoilConditions::NONE);
        assert!(report.average_current.distance(milliamps(600)) <= milliamps(6));
        bench.coil.reset();
        assert_eq!(bench.coil.take_report().average_duty, Duty::ZERO);
    }

    #[test]
    fn dither_moves_the_current_and_not_its_mean() {
        let (mut still, mut dithered) = (Bench::new(6.0, 0.020, 20.0, 0), Bench::new(6.0, 0.020, 20.0, 40));
        let (mut sum, mut least, mut most) = (0.0, 9.0_f64, 0.0_f64);
        for step in 0..1_200 {
            still.step(500, 12.0, Some(12.0));
            dithered.step(500, 12.0, Some(12.0));
            if step >= 1_000 {
                sum += dithered.model.current;
                least = least.min(dithered.model.current);
                most = most.max(dithered.model.current);
            }
        }
        assert!((sum / 200.0 - still.model.current).abs() < 0.003);
        assert!((0.030..0.120).contains(&(most - least)), "{}", most - least);
    }

    #[test]
    fn an_averaging_time_that_splits_the_dither_is_refused_and_nothing_changes() {
        let good = config(6.0, 0.020, 30);
        let bad = CoilConfig { averaging: Millis::from_ticks(15), ..good };
        let mut coil = Coil::new(good, STEP).unwrap();
        let error = coil.reconfigure(bad).unwrap_err();
        assert_eq!(
            std::format!("{error}"),
            "averaging time 15 ms is not a whole number of dither cycles of 10 ms"
        );
        let still = DitherConfig { amplitude: Milliamps::ZERO, ..good.dither };
        assert!(coil.reconfigure(CoilConfig { dither: still, ..bad }).is_ok());
        let low = CurrentLoopConfig { resistance: Centiohms::ZERO, ..good.control };
        assert!(matches!(
            coil.reconfigure(CoilConfig { control: low, ..good }),
            Err(CoilConfigError::Control(_))
        ));
    }
}
