//! Closed loop for the current of one coil.

use core::fmt;

use crate::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period};

/// A coil and how its current is controlled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentLoopConfig {
    /// Resistance of the coil at 20 °C, 0.5 to 100 Ω.
    pub resistance: Centiohms,
    /// L/R of the coil at 20 °C, 1 to 50 ms.
    pub time_constant: Millis,
    /// Voltage for each ampere that is missing; about the resistance. At most half of what one period turns
    /// into the missing current: `0.5 · L / period`.
    pub proportional: Centiohms,
    /// Time in which a lasting error adds the proportional voltage once more, from one time constant to 1 s;
    /// about two time constants.
    pub integral_time: Millis,
    /// Lowest plausible supply; lower readings are held here.
    pub lowest_supply: Millivolts,
    /// Highest plausible supply; higher readings are held here, and it is assumed when there is no reading.
    pub highest_supply: Millivolts,
    /// Largest current; larger set-points are held here. 1 mA to 5 A.
    pub largest: Milliamps,
}

/// Why a [`CurrentLoopConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum CurrentLoopConfigError {
    /// The resistance is outside 0.5 to 100 Ω.
    Resistance(Centiohms),
    /// The time constant is outside 1 to 50 ms.
    TimeConstant(Millis),
    /// The proportional gain is zero or above the largest that damps.
    Proportional {
        /// Refused gain.
        given: Centiohms,
        /// Largest gain for this coil and period.
        largest: Centiohms,
    },
    /// The integral time is shorter than the time constant or above 1 s.
    IntegralTime {
        /// Refused time.
        given: Millis,
        /// Shortest time for this coil.
        shortest: Millis,
    },
    /// The lowest supply is zero or not below the highest.
    Supply {
        /// Refused lowest supply.
        lowest: Millivolts,
        /// Highest supply given with it.
        highest: Millivolts,
    },
    /// The largest current is zero or above 5 A.
    Largest(Milliamps),
}

impl fmt::Display for CurrentLoopConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Resistance(given) => {
                write!(f, "coil resistance {} cΩ is outside 50 to 10000 cΩ", given.raw())
            }
            Self::TimeConstant(given) => write!(f, "coil time constant {given} is outside 1 to 50 ms"),
            Self::Proportional { given, largest } => write!(
                f,
                "proportional gain {} cΩ is outside 1 to {} cΩ for this coil: a larger one would ring",
                given.raw(),
                largest.raw()
            ),
            Self::IntegralTime { given, shortest } => {
                write!(f, "integral time {given} is outside {shortest} (the time constant) to 1000 ms")
            }
            Self::Supply { lowest, highest } => write!(
                f,
                "lowest plausible supply {} mV must be above zero and below the highest, {} mV",
                lowest.raw(),
                highest.raw()
            ),
            Self::Largest(given) => write!(f, "largest current {} mA is outside 1 to 5000 mA", given.raw()),
        }
    }
}

impl core::error::Error for CurrentLoopConfigError {}

/// Resistance that the estimate may not go below, of the value at 20 °C: copper at −40 °C has 76 %.
const COLDEST_PERCENT: i64 = 75;
/// Resistance that the estimate may not exceed, of the value at 20 °C: copper at 130 °C has 143 %.
const HOTTEST_PERCENT: i64 = 145;
/// Time constant of the estimate at the largest current; longer in proportion at smaller ones.
const ADAPTATION_MICROS: i64 = 500_000;
/// The estimate rests below this part of the largest current: quantisation would rule it.
const LEAST_PART_TO_LEARN_FROM: u16 = 8;
/// Time constants of the lag through which the set-point is led. Without it the loop answers a step before
/// it knows that the coil is colder than it thought: 16 % above the set-point.
const SMOOTHING: i64 = 2;
/// Time constants at full duty after which the current counts as not to be reached.
const PATIENCE: u32 = 5;
/// Places of 1 cΩ in the estimate and of 1 mA in the reference.
const FINE: i32 = 1 << 16;
/// The same, where products need 64 bits.
const FINE_WIDE: i64 = FINE as i64;
/// Places of 10 µV in the integral.
const INTEGRAL_FINE: i32 = 1 << 8;
/// Places of the estimate's gain.
const ADAPTATION_FINE: i64 = 1 << 24;

/// Holds the current of one coil by switching the supply on for a share of each period.
///
/// The set-point is led through a lag of two time constants. The voltage is that current times the estimated
/// resistance, plus a part in proportion to the missing current, plus an integral of what stays missing.
/// Divided by the supply it is the duty, so that a dip of the supply is met in the step in which it is
/// measured. Missing is what a coil of this L/R would carry by now and this one does not, so a step winds
/// nothing up; the integral rests while the duty is at a limit.
///
/// With gains as suggested, L within ±40 % of what is told and copper between −20 and 100 °C a step from zero
/// settles within 60 ms to 2 % and passes the set-point by less than 10 %, at supplies from 9 to 16 V.
///
/// The resistance is learnt from applied voltage and measured current, with a time constant of 0.5 s at the
/// largest current, within −25 % to +45 % of the value at 20 °C (copper: −16 % at −20 °C, +31 % at 100 °C,
/// R(T) = R₂₀·(1 + 0.00393·(T − 20 °C)), CRC Handbook). It rests below an eighth of the largest current and
/// while there is no supply reading.
///
/// A set-point of zero gives a duty of exactly zero in the same step and forgets the integral; what was
/// learnt of the coil stays. [`reset`](Self::reset) forgets that too.
///
/// ```
/// use trunnion::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period};
/// use trunnion::valve::{CurrentLoop, CurrentLoopConfig};
///
/// let config = CurrentLoopConfig {
///     resistance: Centiohms::new(530).unwrap(),
///     time_constant: Millis::millis(4),
///     proportional: Centiohms::new(530).unwrap(),
///     integral_time: Millis::millis(8),
///     lowest_supply: Millivolts::new(8_000).unwrap(),
///     highest_supply: Millivolts::new(16_000).unwrap(),
///     largest: Milliamps::new(1_500).unwrap(),
/// };
/// let mut lower = CurrentLoop::new(config, Period::from_micros(1_000).unwrap())?;
/// let supply = Some(Millivolts::new(12_600).unwrap());
///
/// let start = lower.step(Milliamps::new(600).unwrap(), Milliamps::ZERO, supply);
/// assert!(start > Duty::new(2_500).unwrap()); // 0.6 A · 5.3 Ω is 25 % of the supply; more to get going
/// assert_eq!(lower.step(Milliamps::ZERO, Milliamps::new(180).unwrap(), supply), Duty::ZERO);
/// # Ok::<(), trunnion::valve::CurrentLoopConfigError>(())
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct CurrentLoop {
    config: CurrentLoopConfig,
    period: Period,
    gains: Gains,
    /// The set-point behind its lag, 1 mA / 2¹⁶.
    smooth: i32,
    /// What a coil of this L/R would carry by now, 1 mA / 2¹⁶.
    reference: i32,
    /// 10 µV / 2⁸.
    integral: i32,
    /// 1 cΩ / 2¹⁶.
    resistance: i32,
    /// Mean voltage of the last step, 10 µV.
    applied: i32,
    /// Supply of the last step.
    supply: Millivolts,
    steps_at_full_duty: u32,
}

/// The config, resolved to one period.
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Gains {
    /// Share of its way that the smooth set-point goes in one step, 2⁻¹⁶.
    smoothing: i64,
    /// Share of its way that the reference goes in one step, 2⁻¹⁶.
    approach: i64,
    /// 10 µV / 2⁸ for each missing milliampere in one step.
    integral: i32,
    /// 1 cΩ / 2¹⁶ for each 10 µV in one step, 2⁻²⁴.
    adaptation: i64,
    least_resistance: i32,
    largest_resistance: i32,
    least_to_learn_from: u16,
    patience: u32,
}

impl CurrentLoop {
    /// Checks the config and resolves it to one period.
    pub const fn new(config: CurrentLoopConfig, period: Period) -> Result<Self, CurrentLoopConfigError> {
        if let Err(error) = check(&config, period) {
            return Err(error);
        }
        let gains = Gains::of(&config, period);
        Ok(Self {
            config,
            period,
            gains,
            smooth: 0,
            reference: 0,
            integral: 0,
            resistance: fine_resistance(config.resistance),
            applied: 0,
            supply: config.highest_supply,
            steps_at_full_duty: 0,
        })
    }

    /// Takes another config, or refuses it as a whole and keeps the present one.
    ///
    /// The integral and the learnt resistance stay; the latter is brought inside the bounds of the new coil.
    pub const fn reconfigure(&mut self, config: CurrentLoopConfig) -> Result<(), CurrentLoopConfigError> {
        if let Err(error) = check(&config, self.period) {
            return Err(error);
        }
        self.config = config;
        self.gains = Gains::of(&config, self.period);
        self.resistance = held(self.resistance, self.gains.least_resistance, self.gains.largest_resistance);
        Ok(())
    }

    /// Back to the state of a new loop, learnt resistance included.
    pub const fn reset(&mut self) {
        self.rest();
        self.resistance = fine_resistance(self.config.resistance);
        self.supply = self.config.highest_supply;
    }

    /// The duty for the coming step. `measured` is the mean current since the last step, `supply` the voltage
    /// across the switched coil, `None` when its sense has failed.
    pub fn step(&mut self, set: Milliamps, measured: Milliamps, supply: Option<Millivolts>) -> Duty {
        self.step_dithered(set, set, measured, supply)
    }

    /// As [`step`](Self::step); `dithered` is the set-point with its dither, which goes past the lag.
    pub fn step_dithered(
        &mut self,
        set: Milliamps,
        dithered: Milliamps,
        measured: Milliamps,
        supply: Option<Millivolts>,
    ) -> Duty {
        let assumed = supply.unwrap_or(self.config.highest_supply);
        self.supply = assumed.at_most(self.config.highest_supply).at_least(self.config.lowest_supply);
        if set == Milliamps::ZERO {
            self.rest();
            return Duty::ZERO;
        }
        if supply.is_some() {
            self.learn(measured);
        }
        let ceiling = i32::from(self.supply.raw()).wrapping_mul(100);
        let missing = (self.reference / FINE).saturating_sub(i32::from(measured.raw()));
        let asked = self.lead(set.at_most(self.config.largest), dithered.at_most(self.config.largest));
        let wanted = self.voltage(asked, missing);
        self.integrate(missing, wanted, ceiling);
        self.count_full_duty(wanted >= ceiling);
        self.drive(held(wanted, 0, ceiling))
    }

    /// True when full duty for five time constants has not brought the current to its set-point: a hot coil or
    /// a low supply.
    pub const fn saturated(&self) -> bool {
        self.steps_at_full_duty >= self.gains.patience
    }

    /// Estimated resistance of the coil, rounded to the nearest 0.01 Ω.
    pub const fn resistance(&self) -> Centiohms {
        Centiohms::saturating((self.resistance.saturating_add(FINE / 2) / FINE) as i64)
    }

    /// The largest current that the last supply can drive through the coil as estimated, rounded down.
    pub fn reachable(&self) -> Milliamps {
        let volts = u32::from(self.supply.raw()).wrapping_mul(100);
        let current = volts.checked_div(u32::from(self.resistance().raw())).unwrap_or(0);
        Milliamps::saturating(i64::from(current)).at_most(self.config.largest)
    }

    /// Forgets what belongs to the present current, keeps what was learnt of the coil.
    const fn rest(&mut self) {
        self.smooth = 0;
        self.reference = 0;
        self.integral = 0;
        self.applied = 0;
        self.steps_at_full_duty = 0;
    }

    /// Feed-forward, proportional part and integral, 10 µV. At most 5 A · (145 + 100) Ω, which fits.
    fn voltage(&self, asked: i64, missing: i32) -> i32 {
        let forward = (i64::from(self.resistance).wrapping_mul(asked) / (FINE_WIDE * FINE_WIDE)) as i32;
        let proportional = i32::from(self.config.proportional.raw()).saturating_mul(missing);
        forward.saturating_add(proportional).saturating_add(self.integral / INTEGRAL_FINE)
    }

    fn integrate(&mut self, missing: i32, wanted: i32, ceiling: i32) {
        let would_wind_up = (wanted >= ceiling && missing > 0) || (wanted <= 0 && missing < 0);
        if !would_wind_up {
            let limit = ceiling.saturating_mul(INTEGRAL_FINE);
            let integral = self.integral.saturating_add(self.gains.integral.saturating_mul(missing));
            self.integral = held(integral, limit.saturating_neg(), limit);
        }
    }

    /// Leads the set-point through its lag and the reference after it; gives what is asked of the coil now,
    /// 1 mA / 2¹⁶.
    fn lead(&mut self, set: Milliamps, dithered: Milliamps) -> i64 {
        let set = i64::from(set.raw()).wrapping_mul(FINE_WIDE);
        let dither = i64::from(dithered.raw()).wrapping_mul(FINE_WIDE).saturating_sub(set);
        self.smooth = approached(self.smooth, set, self.gains.smoothing);
        let asked = i64::from(self.smooth).saturating_add(dither);
        self.reference = approached(self.reference, asked, self.gains.approach);
        asked
    }

    /// Moves the estimate towards applied voltage over measured current.
    fn learn(&mut self, measured: Milliamps) {
        if measured.raw() < self.gains.least_to_learn_from || self.applied == 0 {
            return;
        }
        let explained = i64::from(self.resistance).wrapping_mul(i64::from(measured.raw())) / FINE_WIDE;
        let unexplained = i64::from(self.applied).saturating_sub(explained);
        let correction = unexplained.saturating_mul(self.gains.adaptation) / ADAPTATION_FINE;
        let resistance = i64::from(self.resistance).saturating_add(correction);
        let (least, largest) = (self.gains.least_resistance, self.gains.largest_resistance);
        self.resistance = resistance.max(i64::from(least)).min(i64::from(largest)) as i32;
    }

    const fn count_full_duty(&mut self, full: bool) {
        self.steps_at_full_duty = if full { self.steps_at_full_duty.saturating_add(1) } else { 0 };
    }

    fn drive(&mut self, voltage: i32) -> Duty {
        let supply = u32::from(self.supply.raw());
        let hundredfold = voltage.unsigned_abs().saturating_mul(100);
        let duty = hundredfold.saturating_add(supply / 2).checked_div(supply).unwrap_or(0).min(10_000);
        self.applied = (duty.saturating_mul(supply) / 100) as i32;
        Duty::saturating(i64::from(duty))
    }
}

impl Gains {
    const fn of(config: &CurrentLoopConfig, period: Period) -> Self {
        let step = period.micros() as i64;
        let proportional = config.proportional.raw() as i64;
        let lag = micros(config.time_constant);
        let share = step.wrapping_mul(FINE_WIDE);
        let integral = proportional.wrapping_mul(INTEGRAL_FINE as i64).wrapping_mul(step);
        let adaptation = step.wrapping_mul(FINE as i64).wrapping_mul(ADAPTATION_FINE);
        let nominal = fine_resistance(config.resistance) as i64;
        Self {
            smoothing: quotient(share, lag.wrapping_mul(SMOOTHING).wrapping_add(step / 2)),
            approach: quotient(share, lag.wrapping_add(step / 2)),
            integral: quotient(integral, micros(config.integral_time)) as i32,
            adaptation: quotient(adaptation, ADAPTATION_MICROS.wrapping_mul(config.largest.raw() as i64)),
            least_resistance: (nominal.wrapping_mul(COLDEST_PERCENT) / 100) as i32,
            largest_resistance: (nominal.wrapping_mul(HOTTEST_PERCENT) / 100) as i32,
            least_to_learn_from: config.largest.raw() / LEAST_PART_TO_LEARN_FROM,
            patience: period.steps(Millis::from_ticks(config.time_constant.ticks().saturating_mul(PATIENCE))),
        }
    }
}

const fn check(config: &CurrentLoopConfig, period: Period) -> Result<(), CurrentLoopConfigError> {
    let CurrentLoopConfig { resistance, time_constant, proportional, integral_time, .. } = *config;
    let (lowest, highest) = (config.lowest_supply, config.highest_supply);
    if resistance.raw() < 50 || resistance.raw() > 10_000 {
        return Err(CurrentLoopConfigError::Resistance(resistance));
    }
    if time_constant.ticks() < 1 || time_constant.ticks() > 50 {
        return Err(CurrentLoopConfigError::TimeConstant(time_constant));
    }
    let inductance = micros(time_constant).wrapping_mul(resistance.raw() as i64);
    let largest = Centiohms::saturating(quotient(inductance, (period.micros() as i64).wrapping_mul(2)));
    let largest = largest.at_most(Centiohms::saturating(10_000));
    if proportional.raw() == 0 || proportional.raw() > largest.raw() {
        return Err(CurrentLoopConfigError::Proportional { given: proportional, largest });
    }
    if integral_time.ticks() < time_constant.ticks() || integral_time.ticks() > 1000 {
        return Err(CurrentLoopConfigError::IntegralTime { given: integral_time, shortest: time_constant });
    }
    if lowest.raw() == 0 || lowest.raw() >= highest.raw() {
        return Err(CurrentLoopConfigError::Supply { lowest, highest });
    }
    if config.largest.raw() == 0 || config.largest.raw() > 5_000 {
        return Err(CurrentLoopConfigError::Largest(config.largest));
    }
    Ok(())
}

const fn fine_resistance(resistance: Centiohms) -> i32 {
    (resistance.raw() as i32).saturating_mul(FINE)
}

/// A step from a value towards an aim by a share in 2⁻¹⁶; rounded towards the value.
fn approached(value: i32, aim: i64, share: i64) -> i32 {
    let way = aim.saturating_sub(i64::from(value));
    let step = way.wrapping_mul(share) / FINE_WIDE;
    value.saturating_add(step as i32)
}

const fn micros(duration: Millis) -> i64 {
    (duration.ticks() as i64).wrapping_mul(1000)
}

const fn held(value: i32, low: i32, high: i32) -> i32 {
    if value < low {
        low
    } else if value > high {
        high
    } else {
        value
    }
}

/// Of positive numbers, rounded down.
const fn quotient(dividend: i64, divisor: i64) -> i64 {
    match dividend.checked_div(divisor) {
        Some(quotient) => quotient,
        None => 0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::valve::coil_model::*;
    use proptest::prelude::*;

    const STEP: Period = Period::from_micros(1_000).unwrap();
    /// Coils of pump controls and spool valves of 12 V machines (from memory): Ω at 20 °C, H.
    const COILS: [(f64, f64); 4] = [(5.3, 0.015), (5.3, 0.025), (7.2, 0.015), (7.2, 0.025)];

    /// A loop and a coil.
    #[derive(Clone)]
    struct Bench {
        control: CurrentLoop,
        coil: CoilModel,
        measured: Milliamps,
        /// The output stage takes a duty over one step late.
        late: bool,
        last: Duty,
    }

    impl Bench {
        fn new(config: CurrentLoopConfig, coil: CoilModel) -> Self {
            let control = CurrentLoop::new(config, STEP).unwrap();
            Self { control, coil, measured: Milliamps::ZERO, late: false, last: Duty::ZERO }
        }

        fn at(resistance: f64, inductance: f64, celsius: f64) -> Self {
            let coil = CoilModel::new(at_temperature(resistance, celsius), inductance);
            Self::new(tuned(resistance, inductance), coil)
        }

        /// One step; `supply` is what the coil gets, `read` what the controller knows of it.
        fn step_reading(&mut self, set: u16, supply: f64, read: Option<f64>) -> Duty {
            let duty = self.control.step(milliamps(set), self.measured, read.map(millivolts));
            self.measured = self.coil.run(if self.late { self.last } else { duty }, supply);
            self.last = duty;
            duty
        }

        fn step(&mut self, set: u16, supply: f64) -> Duty {
            self.step_reading(set, supply, Some(supply))
        }

        /// Distance of the current from a set-point, as a share of it.
        fn error(&self, set: u16) -> f64 {
            (self.coil.current * 1000.0 - f64::from(set)).abs() / f64::from(set)
        }
    }

    fn each_condition(mut test: impl FnMut(Bench, f64, u16)) {
        for (resistance, inductance) in COILS {
            for told_to_true in [0.6, 1.0, 1.4] {
                for celsius in [-20.0, 20.0, 100.0] {
                    for supply in [9.0, 12.0, 16.0] {
                        for set in [100, 250, 600, 900] {
                            let mut bench = Bench::at(resistance, inductance, celsius);
                            bench.coil.inductance *= told_to_true;
                            test(bench, supply, set);
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_step_settles_within_60_ms_to_2_percent_and_overshoots_by_less_than_10() {
        each_condition(|bench, supply, set| {
            for late in [false, true] {
                let mut bench = Bench { late, ..bench.clone() };
                for step in 0..300 {
                    bench.step(set, supply);
                    let current = bench.coil.current * 1000.0;
                    assert!(current < 1.1 * f64::from(set), "{set} mA, {supply} V, {step} ms: {current} mA");
                    assert!(step < 60 || bench.error(set) < 0.02, "{set} mA, {supply} V: {current} mA");
                }
            }
        });
    }

    #[test]
    fn the_current_is_held_within_2_percent_while_the_supply_falls_and_the_coil_heats_up() {
        for (resistance, inductance) in COILS {
            let mut bench = Bench::at(resistance, inductance, -20.0);
            for step in 0..20_000 {
                // 16 V down to 9 V and up again twice a second, −20 °C to 100 °C in 20 s
                let phase = f64::from(step % 500) / 250.0 - 1.0;
                let supply = 9.0 + 7.0 * phase.abs();
                bench.coil.resistance = at_temperature(resistance, -20.0 + f64::from(step) * 0.006);
                bench.step(800, supply);
                assert!(step < 60 || bench.error(800) < 0.02, "{supply} V, {step} ms: {}", bench.error(800));
            }
        }
    }

    #[test]
    fn a_supply_dip_that_is_read_one_step_late_is_made_good_within_20_ms() {
        for (resistance, inductance) in COILS {
            let mut bench = Bench::at(resistance, inductance, 60.0);
            let mut read = 13.8;
            for step in 0..600 {
                let supply = if (300..450).contains(&step) { 9.5 } else { 13.8 };
                bench.step_reading(600, supply, Some(read));
                read = supply;
                let since = if step < 300 { step } else { (step - 300) % 150 };
                let allowed = if step < 60 || since < 20 { 1.0 } else { 0.02 };
                assert!(bench.error(600) < allowed, "{step} ms: {}", bench.error(600));
                assert!(step < 60 || bench.error(600) < 0.25, "{step} ms: {}", bench.error(600));
            }
        }
    }

    #[test]
    fn a_current_that_hot_copper_or_cranking_keeps_away_is_told_and_forgotten_when_it_comes() {
        let mut bench = Bench::at(7.2, 0.020, 100.0);
        for _ in 0..200 {
            bench.step(1_200, 9.0);
        }
        assert!(bench.control.saturated());
        let most = 9_000.0 / bench.coil.resistance;
        let reachable = f64::from(bench.control.reachable().raw());
        for _ in 0..4_000 {
            bench.step(1_200, 9.0);
        }
        let learnt = f64::from(bench.control.reachable().raw());
        assert!(reachable >= most && (learnt - most).abs() < 0.02 * most, "{reachable} {learnt} {most}");
        for step in 0..60 {
            bench.step(1_200, 14.0);
            assert!(!bench.control.saturated() || step < 2);
            assert!(bench.coil.current < 1.2 * 1.1);
        }
        assert!(bench.error(1_200) < 0.02);
    }

    #[test]
    fn a_current_that_can_be_reached_is_never_told_as_saturated() {
        each_condition(|mut bench, supply, set| {
            let most = supply / bench.coil.resistance * 1000.0;
            if f64::from(set) > 0.95 * most {
                return;
            }
            for _ in 0..300 {
                bench.step(set, supply);
                assert!(!bench.control.saturated(), "{set} mA, {supply} V, most {most} mA");
            }
        });
    }

    #[test]
    fn without_a_supply_reading_the_duty_starts_lower_and_the_current_still_arrives() {
        for (resistance, inductance) in COILS {
            let mut blind = Bench::at(resistance, inductance, 20.0);
            let mut seeing = blind.clone();
            let blind_start = blind.step_reading(600, 12.0, None);
            assert!(blind_start < seeing.step(600, 12.0));
            for step in 0..400 {
                blind.step_reading(600, 12.0, None);
                assert!(blind.coil.current <= 0.66);
                assert!(step < 250 || blind.error(600) < 0.02, "{step} ms: {}", blind.error(600));
            }
            assert_eq!(blind.control.resistance(), tuned(resistance, inductance).resistance);
        }
    }

    #[test]
    fn an_implausible_supply_reading_counts_as_the_nearer_end_of_its_range() {
        for (read, nearest) in [(0.0, 8.0), (7.9, 8.0), (16.1, 16.0), (60.0, 16.0)] {
            let mut wild = Bench::at(5.3, 0.020, 20.0);
            let mut held = wild.clone();
            for _ in 0..50 {
                let duty = wild.step_reading(500, 12.0, Some(read));
                assert_eq!(duty, held.step_reading(500, 12.0, Some(nearest)));
            }
        }
    }

    #[test]
    fn the_resistance_is_learnt_in_3_s_at_half_current_and_kept_through_zero_but_not_through_reset() {
        for celsius in [-20.0, 100.0] {
            let mut bench = Bench::at(7.2, 0.020, celsius);
            for _ in 0..3_000 {
                bench.step(1_000, 14.0); // three time constants of 0.5 s · 2 A / 1 A: 5 % of 31 % are left
            }
            let learnt = f64::from(bench.control.resistance().raw());
            assert!(
                (learnt / 100.0 / bench.coil.resistance - 1.0).abs() < 0.02,
                "{learnt} cΩ at {celsius} °C"
            );
            bench.step(0, 14.0);
            assert_eq!(f64::from(bench.control.resistance().raw()), learnt);
            bench.control.reset();
            assert_eq!(bench.control.resistance().raw(), 720);
        }
    }

    #[test]
    fn the_estimate_stays_within_copper_for_a_shorted_an_open_and_a_hardly_driven_coil() {
        let mut shorted = Bench::at(7.2, 0.020, 20.0);
        shorted.coil.resistance = 1.0;
        for _ in 0..5_000 {
            shorted.step(800, 14.0);
            assert!((540..=1_044).contains(&shorted.control.resistance().raw()));
        }
        let mut open = CurrentLoop::new(tuned(7.2, 0.020), STEP).unwrap();
        let mut small = Bench::at(7.2, 0.020, 100.0);
        for _ in 0..5_000 {
            open.step(milliamps(800), Milliamps::ZERO, Some(millivolts(14.0)));
            small.step(200, 14.0);
        }
        assert_eq!((open.resistance().raw(), small.control.resistance().raw()), (720, 720));
    }

    fn config() -> impl Strategy<Value = CurrentLoopConfig> {
        (50u16..=10_000, 1u32..=50, 0u32..=100, 1u32..=100, 1u16..=5_000).prop_map(
            |(resistance, time_constant, gain, integral, largest)| {
                let least = u32::from(resistance) / 4;
                let most = (u32::from(resistance) * time_constant / 2).min(10_000);
                let proportional = least + (most - least.min(most)) * gain / 100;
                CurrentLoopConfig {
                    resistance: Centiohms::new(resistance).unwrap(),
                    time_constant: Millis::from_ticks(time_constant),
                    proportional: Centiohms::new(proportional.min(most) as u16).unwrap(),
                    integral_time: Millis::from_ticks(integral.max(time_constant)),
                    lowest_supply: millivolts(8.0),
                    highest_supply: millivolts(32.0),
                    largest: milliamps(largest),
                }
            },
        )
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]

        #[test]
        fn every_accepted_config_comes_to_rest_at_its_set_point(
            config in config(), celsius in -20.0..100.0, inductance in 0.6..1.4, share in 0.2..0.9, late: bool
        ) {
            let nominal = f64::from(config.resistance.raw()) / 100.0;
            let henries = nominal * f64::from(config.time_constant.ticks()) / 1000.0 * inductance;
            let coil = CoilModel::new(at_temperature(nominal, celsius), henries);
            let most = (24_000.0 / coil.resistance).min(f64::from(config.largest.raw()));
            let set = (most * share) as u16;
            prop_assume!(set >= 50);
            let mut bench = Bench { late, ..Bench::new(config, coil) };
            for step in 0..4_000 {
                bench.step(set, 24.0);
                prop_assert!(bench.coil.current * 1000.0 < 1.5 * f64::from(set) + 5.0);
                prop_assert!(step < 3_900 || bench.error(set) < 0.02 + 2.0 / f64::from(set), "{}", bench.error(set));
            }
        }
    }

    proptest! {
        #[test]
        fn zero_asked_is_zero_duty_in_the_same_step_and_starts_from_nothing(
            config in config(), steps in proptest::collection::vec((any::<u16>(), any::<u16>(), any::<u16>(), any::<bool>()), 1..60)
        ) {
            let mut control = CurrentLoop::new(config, STEP).unwrap();
            for (set, measured, supply, seen) in steps {
                control.step(milliamps(set), milliamps(measured), seen.then(|| Millivolts::new(supply).unwrap()));
                let bounds = i64::from(config.resistance.raw()) * 75 - 100..=i64::from(config.resistance.raw()) * 145 + 100;
                prop_assert!(bounds.contains(&(i64::from(control.resistance().raw()) * 100)));
            }
            prop_assert_eq!(control.step(Milliamps::ZERO, Milliamps::MAX, None), Duty::ZERO);
            prop_assert!(!control.saturated());
            let mut fresh = CurrentLoop::new(config, STEP).unwrap();
            fresh.resistance = control.resistance;
            for _ in 0..20 {
                let asked = milliamps(300);
                let supply = Some(millivolts(12.0));
                prop_assert_eq!(control.step(asked, asked, supply), fresh.step(asked, asked, supply));
            }
        }
    }

    #[test]
    fn a_config_that_cannot_work_is_refused_with_its_value_and_the_range() {
        let good = tuned(7.2, 0.020);
        let refused = |config| CurrentLoop::new(config, STEP).unwrap_err();
        let resistance = Centiohms::new(49).unwrap();
        assert_eq!(
            refused(CurrentLoopConfig { resistance, ..good }),
            CurrentLoopConfigError::Resistance(resistance)
        );
        let ringing = Centiohms::new(1_081).unwrap();
        let error = refused(CurrentLoopConfig { proportional: ringing, ..good });
        assert_eq!(
            std::format!("{error}"),
            "proportional gain 1081 cΩ is outside 1 to 1080 cΩ for this coil: a larger one would ring"
        );
        let hasty = Millis::from_ticks(2);
        let error = refused(CurrentLoopConfig { integral_time: hasty, ..good });
        assert_eq!(
            std::format!("{error}"),
            "integral time 2 ms is outside 3 ms (the time constant) to 1000 ms"
        );
        let lowest = good.highest_supply;
        let error = refused(CurrentLoopConfig { lowest_supply: lowest, ..good });
        assert_eq!(error, CurrentLoopConfigError::Supply { lowest, highest: lowest });
        let error = refused(CurrentLoopConfig { largest: milliamps(5_001), ..good });
        assert!(std::format!("{error}").contains("5001 mA is outside 1 to 5000 mA"));
        let error = refused(CurrentLoopConfig { time_constant: Millis::from_ticks(51), ..good });
        assert_eq!(error, CurrentLoopConfigError::TimeConstant(Millis::from_ticks(51)));

        let mut control = CurrentLoop::new(good, STEP).unwrap();
        assert!(control.reconfigure(CurrentLoopConfig { proportional: ringing, ..good }).is_err());
        assert_eq!(control.config, good);
    }
}
