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
    /// Time in which a lasting error adds the proportional voltage once more, from two time constants to 1 s.
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
    /// The integral time is shorter than two time constants or above 1 s.
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
                write!(f, "integral time {given} is outside {shortest} (two time constants) to 1000 ms")
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
const COLDEST_PERCENT: i32 = 75;
/// Resistance that the estimate may not exceed, of the value at 20 °C: copper at 130 °C has 143 %.
const HOTTEST_PERCENT: i32 = 145;
/// Time constant of the estimate at the largest current; longer in proportion at smaller ones.
const ADAPTATION_MICROS: i64 = 500_000;
/// The estimate rests below this part of the largest current: quantisation would rule it.
const LEAST_PART_TO_LEARN_FROM: u16 = 8;
/// Time constants at full duty after which the current counts as not to be reached.
const PATIENCE: u32 = 5;
/// Places of 1 cΩ in the estimate and of 1 mA in the reference.
const FINE: i32 = 1 << 16;
/// Places of 10 µV in the integral.
const INTEGRAL_FINE: i32 = 1 << 8;
/// Places of the estimate's gain.
const ADAPTATION_FINE: i64 = 1 << 24;

/// Holds the current of one coil by switching the supply on for a share of each period.
///
/// The voltage is the set-point times the estimated resistance, plus a part in proportion to the missing
/// current, plus an integral of what stays missing. Divided by the supply it is the duty, so that a dip of
/// the supply is met in the step in which it is measured. The integral compares the current with what a
/// coil of this L/R would carry by now, not with the set-point, so a step does not wind it up; it rests while
/// the duty is at a limit.
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
///     integral_time: Millis::millis(20),
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
    /// Share of the way that the reference goes in one step, 2⁻¹⁶.
    approach: i32,
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
        let assumed = supply.unwrap_or(self.config.highest_supply);
        self.supply = assumed.at_most(self.config.highest_supply).at_least(self.config.lowest_supply);
        if set == Milliamps::ZERO {
            self.rest();
            return Duty::ZERO;
        }
        if supply.is_some() {
            self.learn(measured);
        }
        let set = i32::from(set.at_most(self.config.largest).raw());
        let measured = i32::from(measured.raw());
        let ceiling = i32::from(self.supply.raw()).wrapping_mul(100);
        let wanted = self.voltage(set, measured);
        self.integrate(set, measured, wanted, ceiling);
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
        self.reference = 0;
        self.integral = 0;
        self.applied = 0;
        self.steps_at_full_duty = 0;
    }

    /// Feed-forward, proportional part and integral, 10 µV. At most 5 A · (145 + 100) Ω, which fits.
    fn voltage(&self, set: i32, measured: i32) -> i32 {
        let forward = (i64::from(self.resistance).wrapping_mul(i64::from(set)) / i64::from(FINE)) as i32;
        let proportional =
            i32::from(self.config.proportional.raw() as i16).saturating_mul(set.saturating_sub(measured));
        forward.saturating_add(proportional).saturating_add(self.integral / INTEGRAL_FINE)
    }

    fn integrate(&mut self, set: i32, measured: i32, wanted: i32, ceiling: i32) {
        let way = set.wrapping_mul(FINE / 2).saturating_sub(self.reference / 2); // halved to fit 5 A
        let step = i64::from(way).wrapping_mul(i64::from(self.gains.approach)) / i64::from(FINE / 2);
        self.reference = self.reference.saturating_add(step as i32);
        let missing = (self.reference / FINE).saturating_sub(measured);
        let would_wind_up = (wanted >= ceiling && missing > 0) || (wanted <= 0 && missing < 0);
        if !would_wind_up {
            let limit = ceiling.saturating_mul(INTEGRAL_FINE);
            let integral = self.integral.saturating_add(self.gains.integral.saturating_mul(missing));
            self.integral = held(integral, limit.saturating_neg(), limit);
        }
    }

    /// Moves the estimate towards applied voltage over measured current.
    fn learn(&mut self, measured: Milliamps) {
        if measured.raw() < self.gains.least_to_learn_from || self.applied == 0 {
            return;
        }
        let explained = i64::from(self.resistance).wrapping_mul(i64::from(measured.raw())) / i64::from(FINE);
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
        let resistance = config.resistance.raw() as i64;
        let proportional = config.proportional.raw() as i64;
        // The proportional part speeds the coil up from L/R to L/(R + proportional).
        let lag = quotient(
            config.time_constant.ticks() as i64 * 1000 * resistance,
            resistance.wrapping_add(proportional),
        );
        let integral = proportional.wrapping_mul(INTEGRAL_FINE as i64).wrapping_mul(step);
        let adaptation = step.wrapping_mul(FINE as i64).wrapping_mul(ADAPTATION_FINE);
        let nominal = fine_resistance(config.resistance) as i64;
        Self {
            approach: quotient(step.wrapping_mul(FINE as i64), lag.wrapping_add(step / 2)) as i32,
            integral: quotient(integral, config.integral_time.ticks() as i64 * 1000) as i32,
            adaptation: quotient(adaptation, ADAPTATION_MICROS * config.largest.raw() as i64),
            least_resistance: (nominal * COLDEST_PERCENT as i64 / 100) as i32,
            largest_resistance: (nominal * HOTTEST_PERCENT as i64 / 100) as i32,
            least_to_learn_from: config.largest.raw() / LEAST_PART_TO_LEARN_FROM,
            patience: period.steps(Millis::from_ticks(config.time_constant.ticks() * PATIENCE)),
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
    let inductance = resistance.raw() as i64 * time_constant.ticks() as i64 * 1000;
    let largest = Centiohms::saturating(quotient(inductance, period.micros() as i64 * 2));
    let largest = largest.at_most(Centiohms::saturating(10_000));
    if proportional.raw() == 0 || proportional.raw() > largest.raw() {
        return Err(CurrentLoopConfigError::Proportional { given: proportional, largest });
    }
    let shortest = Millis::from_ticks(time_constant.ticks() * 2);
    if integral_time.ticks() < shortest.ticks() || integral_time.ticks() > 1000 {
        return Err(CurrentLoopConfigError::IntegralTime { given: integral_time, shortest });
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
