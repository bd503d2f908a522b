//! Closed loop for the current of one coil.

mod config;
#[cfg(test)]
mod tests;

use config::check;
pub use config::{CurrentLoopConfig, CurrentLoopConfigError};

use crate::quantity::{Centiohms, Duty, Milliamps, Millis, Millivolts, Period, held_product};

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
#[doc = include_str!("../../docs/valve-current_loop.svg")]
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
/// assert!(start > Duty::ZERO); // on its way to 0.6 A · 5.3 Ω, 25 % of the supply
/// assert_eq!(lower.step(Milliamps::ZERO, Milliamps::new(180).unwrap(), supply), Duty::ZERO);
/// # Ok::<(), trunnion::valve::CurrentLoopConfigError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Gains {
    /// Share of its way that the smooth set-point goes in one step, 2⁻¹⁶.
    smoothing: i32,
    /// Share of its way that the reference goes in one step, 2⁻¹⁶.
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
    ///
    /// # Errors
    ///
    /// [`CurrentLoopConfigError`]: which rule the config breaks, with its value.
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
    ///
    /// # Errors
    ///
    /// [`CurrentLoopConfigError`], as for `new`; everything then stays as it was.
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

    /// The duty for the coming step when the measurement is not to be believed: what the resistance needs and no more.
    ///
    /// A broken sense wire must not drive its coil to full current while the drive stops as a pair; a coil that is
    /// really open does not care. Forgets the integral and learns nothing.
    pub fn step_blind(&mut self, set: Milliamps, dithered: Milliamps, supply: Option<Millivolts>) -> Duty {
        let assumed = supply.unwrap_or(self.config.highest_supply);
        self.supply = assumed.at_most(self.config.highest_supply).at_least(self.config.lowest_supply);
        if set == Milliamps::ZERO {
            self.rest();
            return Duty::ZERO;
        }
        self.integral = 0;
        self.steps_at_full_duty = 0;
        let asked = self.lead(set.at_most(self.config.largest), dithered.at_most(self.config.largest));
        let ceiling = i32::from(self.supply.raw()).wrapping_mul(100);
        let wanted = self.voltage(asked, 0);
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
    fn voltage(&self, asked: i32, missing: i32) -> i32 {
        let asked = i64::from(asked);
        let forward = (i64::from(self.resistance).wrapping_mul(asked) / (FINE_WIDE * FINE_WIDE)) as i32;
        // 100 Ω at the most, and 2¹⁶ mA.
        let proportional = i32::from(self.config.proportional.raw()).wrapping_mul(missing);
        forward.saturating_add(proportional).saturating_add(self.integral / INTEGRAL_FINE)
    }

    fn integrate(&mut self, missing: i32, wanted: i32, ceiling: i32) {
        let would_wind_up = (wanted >= ceiling && missing > 0) || (wanted <= 0 && missing < 0);
        if !would_wind_up {
            // A ceiling of 655 V at the most: below 2³¹.
            let limit = ceiling.wrapping_mul(INTEGRAL_FINE);
            let integral = self.integral.saturating_add(self.gains.integral.saturating_mul(missing));
            self.integral = held(integral, limit.wrapping_neg(), limit);
        }
    }

    /// Leads the set-point through its lag and the reference after it; gives what is asked of the coil now,
    /// 1 mA / 2¹⁶. Both are at most 5 A: 29 bits.
    fn lead(&mut self, set: Milliamps, dithered: Milliamps) -> i32 {
        let set = i32::from(set.raw()).wrapping_mul(FINE);
        let dither = i32::from(dithered.raw()).wrapping_mul(FINE).wrapping_sub(set);
        self.smooth = approached(self.smooth, set, self.gains.smoothing);
        let asked = self.smooth.wrapping_add(dither);
        self.reference = approached(self.reference, asked, self.gains.approach);
        asked
    }

    /// Moves the estimate towards applied voltage over measured current.
    fn learn(&mut self, measured: Milliamps) {
        if measured.raw() < self.gains.least_to_learn_from || self.applied == 0 {
            return;
        }
        let explained = i64::from(self.resistance).wrapping_mul(i64::from(measured.raw())) / FINE_WIDE;
        let unexplained = i64::from(self.applied).wrapping_sub(explained);
        let correction = held_product(unexplained, self.gains.adaptation) / ADAPTATION_FINE;
        let resistance = i64::from(self.resistance).saturating_add(correction);
        let (least, largest) = (self.gains.least_resistance, self.gains.largest_resistance);
        self.resistance = resistance.max(i64::from(least)).min(i64::from(largest)) as i32;
    }

    const fn count_full_duty(&mut self, full: bool) {
        self.steps_at_full_duty = if full { self.steps_at_full_duty.saturating_add(1) } else { 0 };
    }

    fn drive(&mut self, voltage: i32) -> Duty {
        let supply = u32::from(self.supply.raw());
        // At most the supply in units of 10 µV, 65.5 V: a hundred times that is below 2³⁰, as is the product.
        let hundredfold = voltage.unsigned_abs().wrapping_mul(100);
        let duty = hundredfold.wrapping_add(supply / 2).checked_div(supply).unwrap_or(0).min(10_000);
        self.applied = (duty.wrapping_mul(supply) / 100) as i32;
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
            smoothing: quotient(share, lag.wrapping_mul(SMOOTHING).wrapping_add(step / 2)) as i32,
            approach: quotient(share, lag.wrapping_add(step / 2)) as i32,
            integral: quotient(integral, micros(config.integral_time)) as i32,
            adaptation: quotient(adaptation, ADAPTATION_MICROS.wrapping_mul(config.largest.raw() as i64)),
            least_resistance: (nominal.wrapping_mul(COLDEST_PERCENT) / 100) as i32,
            largest_resistance: (nominal.wrapping_mul(HOTTEST_PERCENT) / 100) as i32,
            least_to_learn_from: config.largest.raw() / LEAST_PART_TO_LEARN_FROM,
            patience: period.steps(Millis::from_ticks(config.time_constant.ticks().saturating_mul(PATIENCE))),
        }
    }
}

const fn fine_resistance(resistance: Centiohms) -> i32 {
    (resistance.raw() as i32).saturating_mul(FINE)
}

/// A step from a value towards an aim by a share in 2⁻¹⁶; rounded towards the value.
const fn approached(value: i32, aim: i32, share: i32) -> i32 {
    let way = aim.wrapping_sub(value) as i64;
    let step = way.wrapping_mul(share as i64) / FINE_WIDE;
    value.wrapping_add(step as i32)
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
