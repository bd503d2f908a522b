//! The closed loop between a pump and a motor: compressible oil, leaks, relief valves.

use super::config_error::{Check, PlantConfigError};
use super::units::{bar_from_pa, m3_s_from_l_min, pa_from_bar};

/// Hoses, passages and valves of one closed loop.
///
/// Typical for one side of a 3.6 t skid steer (engineering judgement; E ≈ 1.2–1.6 GPa is the textbook
/// range for oil with hoses counted in): 1 L, 1.2 GPa, 350 bar, 15 bar at 120 L/min.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineConfig {
    /// Oil under pressure on one side, 0.02 to 100 L.
    pub volume_l: f64,
    /// Bulk modulus E of the oil with its hoses, 0.1 to 3 GPa.
    pub bulk_modulus_gpa: f64,
    /// Difference at which a relief valve begins to open, 20 to 700 bar.
    pub relief_bar: f64,
    /// Further pressure at which it passes `relief_flow_l_min`, 1 to 100 bar.
    pub relief_override_bar: f64,
    /// Flow of the relief valve at its override, 1 to 1000 L/min.
    pub relief_flow_l_min: f64,
}

/// Pressure difference at the end of the next step: `difference_pa − drop_pa_s·ω`, ω the motor's speed there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PressureLaw {
    /// Difference if the motor stood at the end of the step, Pa.
    pub difference_pa: f64,
    /// Difference lost per motor speed, Pa per rad/s, never negative.
    pub drop_pa_s: f64,
}

/// What flows into and out of a loop during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineFlows {
    /// Ideal flow of the pump into the forward side, m³/s.
    pub pump_m3_s: f64,
    /// Leaks of pump and motor together, m³/s per Pa.
    pub leak_m3_s_pa: f64,
    /// Motor displacement, m³/rad.
    pub motor_m3_rad: f64,
}

/// One closed loop as a difference of pressures (forward side less reverse side).
///
/// (V/E)·dΔp/dt = Q_pump − V_motor·ω − G·Δp − Q_relief(Δp)
///
/// The low side is taken to stay at charge pressure, fed through the check valves, so that only the high
/// side is compressed: the usual single-capacity model (engineering judgement). Cavitation of the low side
/// is not in it. The relief valves open in a straight line above their setting, one for each direction.
///
/// Stepped in two halves: [`Line::law`] states the pressure at the end of the step as a line in the
/// motor's speed, [`Line::settle`] takes the speed that the ground found. Both are the same implicit Euler
/// step, so the pressure stays bounded whatever the step width.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    capacity_m3_pa: f64,
    relief_pa: f64,
    relief_m3_s_pa: f64,
    difference_pa: f64,
    relief_m3_s: f64,
}

impl Line {
    /// A loop without pressure; refuses values outside the ranges of [`LineConfig`].
    pub fn new(config: LineConfig) -> Result<Self, PlantConfigError> {
        let check = Check("line");
        check.range("volume_l", config.volume_l, 0.02, 100.0)?;
        check.range("bulk_modulus_gpa", config.bulk_modulus_gpa, 0.1, 3.0)?;
        check.range("relief_bar", config.relief_bar, 20.0, 700.0)?;
        check.range("relief_override_bar", config.relief_override_bar, 1.0, 100.0)?;
        check.range("relief_flow_l_min", config.relief_flow_l_min, 1.0, 1000.0)?;
        Ok(Line {
            capacity_m3_pa: config.volume_l * 1e-3 / (config.bulk_modulus_gpa * 1e9),
            relief_pa: pa_from_bar(config.relief_bar),
            relief_m3_s_pa: m3_s_from_l_min(config.relief_flow_l_min)
                / pa_from_bar(config.relief_override_bar),
            difference_pa: 0.0,
            relief_m3_s: 0.0,
        })
    }

    /// The pressure law of the next `dt_s` seconds; `motor_rad_s` is the speed at its beginning.
    ///
    /// Whether the relief valve is open is judged at that speed, the rest at the speed still to be found.
    pub fn law(&self, dt_s: f64, flows: &LineFlows, motor_rad_s: f64) -> PressureLaw {
        let stored = self.capacity_m3_pa / dt_s;
        let supply = stored * self.difference_pa + flows.pump_m3_s;
        let mut admittance = stored + flows.leak_m3_s_pa;
        let mut flow = supply;
        let closed = supply - flows.motor_m3_rad * motor_rad_s;
        if closed.abs() > self.relief_pa * admittance {
            admittance += self.relief_m3_s_pa;
            flow += (self.relief_pa * self.relief_m3_s_pa).copysign(closed);
        }
        PressureLaw { difference_pa: flow / admittance, drop_pa_s: flows.motor_m3_rad / admittance }
    }

    /// Takes the pressure at the end of the step from the motor's speed there, in rad/s.
    pub fn settle(&mut self, dt_s: f64, flows: &LineFlows, motor_rad_s: f64) {
        let stored = self.capacity_m3_pa / dt_s;
        let admittance = stored + flows.leak_m3_s_pa;
        let inflow = stored * self.difference_pa + flows.pump_m3_s - flows.motor_m3_rad * motor_rad_s;
        let closed_pa = inflow / admittance;
        if closed_pa.abs() <= self.relief_pa {
            self.difference_pa = closed_pa;
            self.relief_m3_s = 0.0;
        } else {
            let opening = self.relief_pa.copysign(closed_pa);
            self.difference_pa =
                (inflow + opening * self.relief_m3_s_pa) / (admittance + self.relief_m3_s_pa);
            self.relief_m3_s = (self.difference_pa - opening) * self.relief_m3_s_pa;
        }
    }

    /// Forward side less reverse side, Pa.
    pub fn difference_pa(&self) -> f64 {
        self.difference_pa
    }

    /// Pressures of the forward and the reverse side, bar, above a charge pressure in bar.
    pub fn sides_bar(&self, charge_bar: f64) -> (f64, f64) {
        let difference = bar_from_pa(self.difference_pa);
        (charge_bar + difference.max(0.0), charge_bar - difference.min(0.0))
    }

    /// Flow through the relief valves at the last step, m³/s, positive from the forward side.
    pub fn relief_m3_s(&self) -> f64 {
        self.relief_m3_s
    }

    /// Energy stored in the compressed oil, J.
    pub fn energy_j(&self) -> f64 {
        0.5 * self.capacity_m3_pa * self.difference_pa * self.difference_pa
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plant::units::m3_rad_from_cm3_rev;
    use approx::assert_relative_eq;
    use proptest::prelude::*;

    const CONFIG: LineConfig = LineConfig {
        volume_l: 1.0,
        bulk_modulus_gpa: 1.2,
        relief_bar: 350.0,
        relief_override_bar: 15.0,
        relief_flow_l_min: 120.0,
    };
    const DT: f64 = 1e-4;

    fn flows(pump_l_min: f64) -> LineFlows {
        LineFlows {
            pump_m3_s: m3_s_from_l_min(pump_l_min),
            leak_m3_s_pa: 4e-12,
            motor_m3_rad: m3_rad_from_cm3_rev(65.0),
        }
    }

    #[test]
    fn a_blocked_line_rises_at_bulk_modulus_over_volume_times_flow() {
        // dp/dt = (E/V)·ΣQ (textbook): 6 L/min into 1 L at 1.2 GPa is 1200 bar/s.
        let mut line = Line::new(CONFIG).unwrap();
        let flows = LineFlows { leak_m3_s_pa: 0.0, ..flows(6.0) };
        for _ in 0..100 {
            line.settle(DT, &flows, 0.0);
        }
        assert_relative_eq!(bar_from_pa(line.difference_pa()), 12.0, epsilon = 1e-9);
    }

    #[test]
    fn a_leaking_blocked_line_follows_the_closed_form() {
        // p(t) = Q/G·(1 − e^(−t·G·E/V)), τ = V/(E·G) = 0.2083 s; implicit Euler is within dt/(2τ) of it.
        let mut line = Line::new(CONFIG).unwrap();
        let flows = flows(0.6);
        let tau = 1e-3 / 1.2e9 / flows.leak_m3_s_pa;
        let steps = 2083;
        for _ in 0..steps {
            line.settle(DT, &flows, 0.0);
        }
        let end = flows.pump_m3_s / flows.leak_m3_s_pa;
        let exact = end * (1.0 - libm::exp(-f64::from(steps) * DT / tau));
        assert_relative_eq!(line.difference_pa(), exact, max_relative = DT / tau);
    }

    #[test]
    fn the_relief_valve_passes_the_pump_flow_at_its_override() {
        let mut line = Line::new(CONFIG).unwrap();
        let flows = LineFlows { leak_m3_s_pa: 0.0, ..flows(120.0) };
        for _ in 0..10_000 {
            line.settle(DT, &flows, 0.0);
        }
        assert_relative_eq!(bar_from_pa(line.difference_pa()), 365.0, epsilon = 1e-6);
        assert_relative_eq!(line.relief_m3_s(), flows.pump_m3_s, max_relative = 1e-9);
    }

    #[test]
    fn a_motor_on_an_inertia_follows_the_undamped_oscillator() {
        // C·dp/dt = −V·ω, J·dω/dt = V·p: ω₀ = V/√(C·J), here 5.67 rad/s for J = 4 kg·m². The law is solved
        // with the inertia as the ground does it. Implicit Euler damps by ω₀·dt/2 a radian: stated, tested.
        let mut line = Line::new(CONFIG).unwrap();
        let flows = LineFlows { leak_m3_s_pa: 0.0, ..flows(0.0) };
        let inertia = 4.0_f64;
        let mut speed = 10.0;
        let natural = flows.motor_m3_rad / (1e-3 / 1.2e9 * inertia).sqrt();
        let mut time = 0.0;
        while time < 2.0 {
            let law = line.law(DT, &flows, speed);
            speed = (inertia / DT * speed + flows.motor_m3_rad * law.difference_pa)
                / (inertia / DT + flows.motor_m3_rad * law.drop_pa_s);
            line.settle(DT, &flows, speed);
            time += DT;
        }
        assert_relative_eq!(speed, 10.0 * libm::cos(natural * time), epsilon = 0.1);
    }

    proptest! {
        #[test]
        fn law_and_settle_agree_while_no_valve_changes_and_pressure_is_bounded(
            pump_l_min in -500.0f64..500.0, speed in -300.0f64..300.0, steps in 1usize..400, dt in 1e-6f64..0.1
        ) {
            let mut line = Line::new(CONFIG).unwrap();
            let flows = flows(pump_l_min);
            let mut mirror = line.clone();
            let mirrored = LineFlows { pump_m3_s: -flows.pump_m3_s, ..flows };
            let surplus = (flows.pump_m3_s - flows.motor_m3_rad * speed).abs();
            let bound = 350e5 + surplus / (m3_s_from_l_min(120.0) / 15e5);
            for _ in 0..steps {
                let law = line.law(dt, &flows, speed);
                line.settle(dt, &flows, speed);
                mirror.settle(dt, &mirrored, -speed);
                let promised = law.difference_pa - law.drop_pa_s * speed;
                prop_assert!((promised - line.difference_pa()).abs() <= 1e-6 * (1e5 + promised.abs()));
                prop_assert_eq!(line.difference_pa(), -mirror.difference_pa());
                prop_assert!(line.difference_pa().abs() <= bound * 1.000_001);
            }
        }
    }
}
