//! Park brake on a motor shaft: springs apply it, charge pressure through a valve releases it.

use super::bristle::{Bristle, BristleShape};
use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::law::TorqueLaw;
use super::within::Within;

/// A spring-applied multi-disc brake.
///
/// Typical for one side of a 3.6 t skid steer (engineering judgement): 300 N·m at a motor shaft before a
/// 22:1 final drive, 9 bar, 14 bar, 0.06 s, 0.01 rad, 0.002 s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ParkBrakeConfig {
    /// Torque that the springs hold, at the motor's shaft, 1 to 100 000 N·m.
    pub holding_torque_nm: f64,
    /// Pressure in the brake at which the springs begin to give way, 0.5 to 200 bar.
    pub release_start_bar: f64,
    /// Pressure at which the brake is free, above the start, at most 200 bar.
    pub release_full_bar: f64,
    /// Time constant of filling and draining, 0.001 to 5 s.
    pub fill_time_s: f64,
    /// Wind-up of shaft and discs under the holding torque, 1e-4 to 0.5 rad.
    pub wind_up_rad: f64,
    /// Damping time of the wind-up, 0 to 0.5 s.
    pub damping_time_s: f64,
}

/// The park-brake valve.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum BrakeValve {
    /// Without current: the brake drains and applies.
    #[default]
    Drained,
    /// With current: charge pressure goes to the brake.
    Filled,
}

/// How a park brake fails.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum ParkBrakeFault {
    /// It does not.
    #[default]
    None,
    /// It never lets go (the piston leaks or the valve sticks).
    StuckApplied,
    /// It does not apply (the valve sticks open, the pressure stays trapped).
    StuckReleased,
    /// This share (0 to 1) of the holding torque is left: worn or oiled discs.
    Worn(f64),
}

/// A brake: friction up to the holding torque, less what the release pressure takes off the springs.
///
/// The friction sticks ([`TorqueLaw`] of an elastic bristle with the wind-up as its reach), so a held
/// machine rocks a little and does not creep. Static and sliding friction are taken as equal.
///
/// The bristle's rate is that of the step's beginning: while the shaft gains speed the torque is above the
/// limit, in a step of `dt` by at most (dt + damping time)·Δω/wind-up of it, and the wind-up by dt·Δω.
#[derive(Debug, Clone, PartialEq)]
pub struct ParkBrake {
    config: ParkBrakeConfig,
    shape: BristleShape,
    pressure_bar: Lag,
    fault: ParkBrakeFault,
    bristle: Bristle,
    rate: f64,
}

impl ParkBrake {
    /// An applied brake; refuses values outside the ranges of [`ParkBrakeConfig`].
    pub fn new(config: ParkBrakeConfig) -> Result<Self, PlantConfigError> {
        let check = Check("park brake");
        check.range("holding_torque_nm", config.holding_torque_nm, 1.0, 100_000.0)?;
        check.range("release_start_bar", config.release_start_bar, 0.5, 200.0)?;
        check.range("release_full_bar", config.release_full_bar, 0.5, 200.0)?;
        check.above(
            ("release_full_bar", config.release_full_bar),
            ("release_start_bar", config.release_start_bar),
        )?;
        check.range("fill_time_s", config.fill_time_s, 0.001, 5.0)?;
        check.range("wind_up_rad", config.wind_up_rad, 1e-4, 0.5)?;
        check.range("damping_time_s", config.damping_time_s, 0.0, 0.5)?;
        Ok(ParkBrake {
            config,
            shape: BristleShape { reach: config.wind_up_rad, damping_time_s: config.damping_time_s },
            pressure_bar: Lag::new(config.fill_time_s, 0.0)?,
            fault: ParkBrakeFault::None,
            bristle: Bristle::default(),
            rate: 0.0,
        })
    }

    /// Fills or drains the brake for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, valve: BrakeValve, charge_bar: f64) {
        let feed = match valve {
            BrakeValve::Drained => 0.0,
            BrakeValve::Filled => charge_bar.max(0.0),
        };
        self.pressure_bar.step(dt_s, feed);
    }

    /// The torque law of the next step at a shaft speed in rad/s.
    pub fn law(&mut self, dt_s: f64, speed_rad_s: f64) -> TorqueLaw {
        self.rate = speed_rad_s.abs() / self.shape.reach;
        let friction = self.bristle.law(dt_s, &self.shape, self.rate);
        let limit = self.limit_nm();
        TorqueLaw { torque_nm: -limit * friction.offset, damping_nm_s: limit * friction.slope }
    }

    /// Takes the wind-up at the end of the step from the shaft's speed there.
    pub fn settle(&mut self, dt_s: f64, speed_rad_s: f64) {
        if self.limit_nm() > 0.0 {
            self.bristle.settle(dt_s, self.rate, speed_rad_s);
        } else {
            self.bristle = Bristle::default();
        }
    }

    /// Breaks or mends the brake.
    pub fn set_fault(&mut self, fault: ParkBrakeFault) {
        self.fault = fault;
    }

    /// Torque up to which the brake holds now, N·m.
    pub fn limit_nm(&self) -> f64 {
        let ParkBrakeConfig { release_start_bar: start, release_full_bar: full, .. } = self.config;
        let applied = ((full - self.pressure_bar.value()) / (full - start)).within(0.0, 1.0);
        let share = match self.fault {
            ParkBrakeFault::None => applied,
            ParkBrakeFault::StuckApplied => 1.0,
            ParkBrakeFault::StuckReleased => 0.0,
            ParkBrakeFault::Worn(left) => applied * left.within(0.0, 1.0),
        };
        share * self.config.holding_torque_nm
    }

    /// Pressure in the brake, bar.
    pub fn pressure_bar(&self) -> f64 {
        self.pressure_bar.value()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: ParkBrakeConfig = ParkBrakeConfig {
        holding_torque_nm: 450.0,
        release_start_bar: 9.0,
        release_full_bar: 14.0,
        fill_time_s: 0.06,
        wind_up_rad: 0.01,
        damping_time_s: 0.002,
    };
    const DT: f64 = 1e-4;
    const INERTIA: f64 = 0.12;

    /// A shaft under a constant torque, solved as the ground does it.
    fn turn(brake: &mut ParkBrake, speed: f64, torque_nm: f64, seconds: f64) -> (f64, f64) {
        let (mut speed, mut angle, mut time) = (speed, 0.0, 0.0);
        while time < seconds {
            let law = brake.law(DT, speed);
            speed = (INERTIA / DT * speed + torque_nm + law.torque_nm) / (INERTIA / DT + law.damping_nm_s);
            brake.settle(DT, speed);
            angle += DT * speed;
            time += DT;
        }
        (speed, angle)
    }

    #[test]
    fn a_torque_below_the_limit_is_held_without_drift() {
        let mut brake = ParkBrake::new(CONFIG).unwrap();
        let (_, wound_up) = turn(&mut brake, 0.0, 400.0, 5.0);
        let (speed, drift) = turn(&mut brake, 0.0, 400.0, 600.0);
        assert!(wound_up > 0.0 && wound_up < 0.1, "{wound_up}");
        assert!(speed.abs() < 1e-9 && drift.abs() < 1e-4, "{speed} rad/s, {drift} rad in 10 min");
    }

    #[test]
    fn a_torque_above_the_limit_turns_the_shaft_with_what_is_left() {
        let mut brake = ParkBrake::new(CONFIG).unwrap();
        turn(&mut brake, 0.0, 480.0, 1.0);
        let (after, _) = turn(&mut brake, 100.0, 480.0, 1.0);
        assert_relative_eq!(after, 100.0 + 30.0 / INERTIA, max_relative = 1e-2);
    }

    #[test]
    fn braking_from_speed_follows_coulomb_and_ends_at_rest() {
        // J·dω/dt = −T: from 100 rad/s in ω·J/T = 26.7 ms.
        let mut brake = ParkBrake::new(CONFIG).unwrap();
        let (half, _) = turn(&mut brake, 100.0, 0.0, 0.0133);
        assert_relative_eq!(half, 50.0, epsilon = 1.0);
        let (end, _) = turn(&mut brake, half, 0.0, 1.0);
        assert!(end.abs() < 1e-6, "{end}");
    }

    #[test]
    fn charge_pressure_through_the_valve_frees_it_with_the_lag_and_its_loss_applies_it() {
        let mut brake = ParkBrake::new(CONFIG).unwrap();
        for _ in 0..600 {
            brake.step(DT, BrakeValve::Filled, 22.0);
        }
        assert_relative_eq!(brake.pressure_bar(), 22.0 * (1.0 - libm::exp(-1.0)), epsilon = 1e-9);
        for _ in 0..10_000 {
            brake.step(DT, BrakeValve::Filled, 22.0);
        }
        assert_eq!(brake.limit_nm(), 0.0);
        for _ in 0..10_000 {
            brake.step(DT, BrakeValve::Filled, 0.0);
        }
        assert_eq!(brake.limit_nm(), 450.0);
    }

    #[test]
    fn a_released_brake_forgets_its_wind_up() {
        let mut brake = ParkBrake::new(CONFIG).unwrap();
        turn(&mut brake, 0.0, 400.0, 5.0);
        brake.set_fault(ParkBrakeFault::StuckReleased);
        turn(&mut brake, 0.0, 0.0, DT);
        brake.set_fault(ParkBrakeFault::None);
        assert_eq!(brake.law(DT, 0.0).torque_nm, 0.0);
    }

    #[test]
    fn faults_change_what_it_holds() {
        let mut brake = ParkBrake::new(CONFIG).unwrap();
        brake.set_fault(ParkBrakeFault::Worn(0.3));
        assert_relative_eq!(brake.limit_nm(), 135.0);
        brake.set_fault(ParkBrakeFault::StuckReleased);
        assert_eq!(brake.limit_nm(), 0.0);
        for _ in 0..10_000 {
            brake.step(DT, BrakeValve::Filled, 22.0);
        }
        brake.set_fault(ParkBrakeFault::StuckApplied);
        assert_eq!(brake.limit_nm(), 450.0);
    }

    proptest! {
        #[test]
        fn the_torque_passes_the_limit_only_by_what_the_shaft_gains_in_a_step(
            torques in proptest::collection::vec(-1000.0f64..1000.0, 1..20), start in -300.0f64..300.0
        ) {
            let ParkBrakeConfig { wind_up_rad, damping_time_s, .. } = CONFIG;
            let mut brake = ParkBrake::new(CONFIG).unwrap();
            let mut speed = start;
            // What the wind-up may be beyond its limit, by induction over u' = (u + dt·ω')/(1 + dt·λ) with
            // λ = |ω|/limit, the rate of the step's beginning.
            let mut beyond: f64 = 0.0;
            for torque_nm in torques {
                for _ in 0..50 {
                    let law = brake.law(DT, speed);
                    let before = speed;
                    speed = (INERTIA / DT * speed + torque_nm + law.torque_nm)
                        / (INERTIA / DT + law.damping_nm_s);
                    brake.settle(DT, speed);
                    let (gain, rate) = (speed.abs() - before.abs(), before.abs() / wind_up_rad);
                    let damping = damping_time_s / (1.0 + rate * damping_time_s);
                    let share = 1.0 / ((1.0 + DT * rate) * wind_up_rad);
                    let most = 1.0 + (beyond * (1.0 - damping * rate) + (DT + damping) * gain) * share;
                    beyond = ((beyond + DT * gain) / (1.0 + DT * rate)).max(0.0);
                    prop_assert!(
                        law.at(speed).abs() <= 450.0 * most + 1e-6,
                        "{} over {}", law.at(speed), 450.0 * most
                    );
                    prop_assert!(speed.is_finite());
                }
            }
        }

        #[test]
        fn at_a_given_speed_the_torque_never_passes_the_limit(
            speeds in proptest::collection::vec(-300.0f64..300.0, 1..20)
        ) {
            let mut brake = ParkBrake::new(CONFIG).unwrap();
            for speed in speeds {
                // The first step takes the jump of speed: its rate is already that of the new speed.
                for _ in 0..50 {
                    let law = brake.law(DT, speed);
                    brake.settle(DT, speed);
                    prop_assert!(law.at(speed).abs() <= 450.0 + 1e-9, "{}", law.at(speed));
                }
            }
        }
    }
}
