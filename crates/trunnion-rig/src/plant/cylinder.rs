//! Boom and bucket cylinders: flow → movement, loads, end stops, float.

use super::config_error::{Check, PlantConfigError};
use super::open_centre::Demand;
use super::spool::Spool;
use super::units::{bar_from_pa, pa_from_bar};
use super::within::Within;

/// A cylinder (or a pair side by side) and what hangs on it.
///
/// Positive movement extends. Typical boom pair of a 3.6 t skid steer (engineering judgement): 62 and
/// 42 cm², 0.85 m, 35 bar and 0.075 bar/kg, 6 bar, 60 L/min in and 55 L/min out at 10 bar, float 80 L/min.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CylinderConfig {
    /// Piston area on the head side, 1 to 10 000 cm².
    pub head_area_cm2: f64,
    /// Ring area on the rod side, 1 cm² to the head area.
    pub rod_area_cm2: f64,
    /// Stroke, 0.01 to 20 m.
    pub stroke_m: f64,
    /// Head-side pressure that holds the empty load, −500 (load pulls) to 500 bar.
    pub load_bar: f64,
    /// More of it per payload, −1 to 1 bar/kg.
    pub load_bar_per_kg: f64,
    /// Pressure that friction takes in both directions, 0 to 100 bar.
    pub friction_bar: f64,
    /// Flow from the pump at full spool and `valve_drop_bar`, 0.1 to 1000 L/min.
    pub inlet_l_min: f64,
    /// Flow back to tank at full spool and `valve_drop_bar`: it meters overrunning loads. 0.1 to 1000 L/min.
    pub outlet_l_min: f64,
    /// Flow between the ports in float at `valve_drop_bar`, 0.1 to 1000 L/min.
    pub float_l_min: f64,
    /// Drop at which the three flows are stated, 1 to 100 bar.
    pub valve_drop_bar: f64,
}

/// A cylinder between its end stops.
///
/// Against the load it moves as the pump's flow fills it, v = q/A. Along with the load it moves as fast as
/// the outlet lets it, v = K·|spool|·√p_load/A, or as the pump pushes it, whichever is faster: a boom comes
/// down without the engine. In float the load alone moves it. Oil is incompressible and the moved mass has
/// no inertia here (the spool's lag is the slow part), geometry is constant over the stroke (engineering
/// judgement). Float rests on the lower end stop: following the ground is not modelled.
#[derive(Debug, Clone, PartialEq)]
pub struct Cylinder {
    config: CylinderConfig,
    head_m2: f64,
    rod_m2: f64,
    position_m: f64,
    speed_m_s: f64,
    load_pa: f64,
}

impl Cylinder {
    /// A cylinder at a position of 0 (in) to 1 (out); refuses values outside the ranges of [`CylinderConfig`].
    pub fn new(config: CylinderConfig, position: f64) -> Result<Self, PlantConfigError> {
        let check = Check("cylinder");
        check.range("head_area_cm2", config.head_area_cm2, 1.0, 10_000.0)?;
        check.range("rod_area_cm2", config.rod_area_cm2, 1.0, config.head_area_cm2)?;
        check.range("stroke_m", config.stroke_m, 0.01, 20.0)?;
        check.range("load_bar", config.load_bar, -500.0, 500.0)?;
        check.range("load_bar_per_kg", config.load_bar_per_kg, -1.0, 1.0)?;
        check.range("friction_bar", config.friction_bar, 0.0, 100.0)?;
        check.range("inlet_l_min", config.inlet_l_min, 0.1, 1000.0)?;
        check.range("outlet_l_min", config.outlet_l_min, 0.1, 1000.0)?;
        check.range("float_l_min", config.float_l_min, 0.1, 1000.0)?;
        check.range("valve_drop_bar", config.valve_drop_bar, 1.0, 100.0)?;
        check.range("position", position, 0.0, 1.0)?;
        Ok(Cylinder {
            config,
            head_m2: config.head_area_cm2 * 1e-4,
            rod_m2: config.rod_area_cm2 * 1e-4,
            position_m: position * config.stroke_m,
            speed_m_s: 0.0,
            load_pa: pa_from_bar(config.load_bar),
        })
    }

    /// What the cylinder asks of the pump at a spool and a payload in kg.
    pub fn demand(&self, spool: &Spool, payload_kg: f64) -> Demand {
        let position = spool.position();
        if spool.is_floating() {
            return Demand::default();
        }
        let load = self.load_pa_at(payload_kg);
        let friction = pa_from_bar(self.config.friction_bar);
        let (blocked, load_pa) = if position >= 0.0 {
            (self.position_m >= self.config.stroke_m, load.max(0.0) + friction)
        } else {
            (self.position_m <= 0.0, (-load).max(0.0) * self.head_m2 / self.rod_m2 + friction)
        };
        let share = if blocked { 0.0 } else { position.abs() };
        Demand {
            stroke: position.abs(),
            opening_m3_s_sqrt_pa: Demand::opening(self.config.inlet_l_min, self.config.valve_drop_bar, share),
            load_pa,
        }
    }

    /// Moves the piston for `dt_s` seconds with the flow that the supply shared out, m³/s.
    pub fn step(&mut self, dt_s: f64, spool: &Spool, flow_m3_s: f64, payload_kg: f64) {
        self.load_pa = self.load_pa_at(payload_kg);
        let before = self.position_m;
        let speed = if spool.is_floating() {
            -self.sinking_m_s(self.config.float_l_min)
        } else {
            self.driven_m_s(spool.position(), flow_m3_s)
        };
        self.position_m = (before + dt_s * speed).within(0.0, self.config.stroke_m);
        self.speed_m_s = (self.position_m - before) / dt_s;
    }

    /// Position, 0 (in) to 1 (out).
    pub fn position(&self) -> f64 {
        self.position_m / self.config.stroke_m
    }

    /// Speed over the last step, m/s, extending positive.
    pub fn speed_m_s(&self) -> f64 {
        self.speed_m_s
    }

    /// Head-side pressure that holds the load, bar.
    pub fn load_bar(&self) -> f64 {
        bar_from_pa(self.load_pa)
    }

    fn load_pa_at(&self, payload_kg: f64) -> f64 {
        pa_from_bar(self.config.load_bar + self.config.load_bar_per_kg * payload_kg.max(0.0))
    }

    fn driven_m_s(&self, position: f64, flow_m3_s: f64) -> f64 {
        let sinking = self.sinking_m_s(self.config.outlet_l_min * position.abs());
        if position >= 0.0 {
            (flow_m3_s / self.head_m2).max(-sinking)
        } else {
            (-flow_m3_s / self.rod_m2).min(-sinking)
        }
    }

    /// Speed at which the load alone drives the piston in (or, pulling, out: negative).
    fn sinking_m_s(&self, flow_l_min: f64) -> f64 {
        // A pulling load stands on the ring area of the rod side.
        let (held_pa, area_m2) = if self.load_pa >= 0.0 {
            (self.load_pa, self.head_m2)
        } else {
            (-self.load_pa * self.head_m2 / self.rod_m2, self.rod_m2)
        };
        let drop_pa = (held_pa - pa_from_bar(self.config.friction_bar)).max(0.0);
        let opening = Demand::opening(flow_l_min, self.config.valve_drop_bar, 1.0);
        (opening * drop_pa.sqrt() / area_m2).copysign(self.load_pa)
    }
}

#[cfg(test)]
mod tests;
