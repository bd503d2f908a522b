//! Diesel engine: governor with droop, torque limit, starter, stall.

use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::torque_curve::TorqueCurve;
use super::units::{rad_s_from_rpm, rpm_from_rad_s};
use super::within::Within;

/// An engine with its governor, flywheel and starter.
///
/// Typical for a 3.6 t skid steer of about 48 kW (engineering judgement): 950 to 2600 rpm, droop 0.06, peak
/// 230 N·m at 1600 rpm, drag 18 to 32 N·m, 1.2 kg·m² with couplings and pump rotors, 4 N·m, 0.08 s, stall
/// below 500 rpm, fires above 180 rpm for 0.3 s. Droop is (no-load − full-load)/full-load speed: 4–6 % for
/// generating sets (public manuals), up to about 10 % for mechanical governors (from memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EngineConfig {
    /// Full-load speed at throttle zero, 300 to 5000 rpm.
    pub idle_rpm: f64,
    /// Full-load speed at full throttle, above idle, at most 10 000 rpm.
    pub rated_rpm: f64,
    /// Governor droop, (no-load − full-load)/full-load speed, 0.005 to 0.3.
    pub droop: f64,
    /// Torque at full fuel, net of the engine's own drag.
    pub torque_curve: TorqueCurve,
    /// The engine's own drag near standstill, 0 to 5000 N·m.
    pub drag_standstill_nm: f64,
    /// Drag at rated speed, 0.1 to 5000 N·m; in between a straight line. It is also the engine brake.
    pub drag_rated_nm: f64,
    /// Moment of inertia of all that turns at engine speed, 0.01 to 100 kg·m².
    pub inertia_kg_m2: f64,
    /// Torque of fan, alternator and the like while turning, 0 to 500 N·m.
    pub accessory_torque_nm: f64,
    /// Time constant of governor and fuelling, 0.005 to 5 s.
    pub fuel_time_s: f64,
    /// A running engine below this speed dies, 50 rpm to below idle.
    pub stall_rpm: f64,
    /// The starter must turn the engine faster than this to make it fire, 20 rpm to below stall.
    pub firing_rpm: f64,
    /// … for this long, 0 to 10 s.
    pub firing_time_s: f64,
    /// The starter motor.
    pub starter: StarterConfig,
}

/// A starter: torque and current fall in a straight line to zero at its free speed (permanent field).
///
/// Typical (engineering judgement, 12 V): 160 N·m and 900 A at standstill, 320 rpm, both at the crankshaft.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StarterConfig {
    /// Torque at standstill and nominal voltage, at the crankshaft, 1 to 10 000 N·m.
    pub standstill_torque_nm: f64,
    /// Crankshaft speed without torque at nominal voltage, above the firing speed, at most 2000 rpm.
    pub free_rpm: f64,
    /// Current at standstill and nominal voltage, 1 to 5000 A.
    pub standstill_current_a: f64,
    /// Nominal voltage, 6 to 48 V.
    pub nominal_v: f64,
}

/// Where the ignition key stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Key {
    /// Fuel is cut.
    #[default]
    Off,
    /// Fuel is there.
    Run,
    /// Fuel is there and the starter is engaged (if the start interlock lets it).
    Start,
}

/// What the engine is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Combustion {
    /// Nothing burns; the shaft may still turn.
    #[default]
    Stopped,
    /// It fires and runs up on the starter; releasing the key now stops it.
    Starting,
    /// It runs by itself.
    Running,
}

/// What acts on the engine during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EngineInputs {
    /// The key, behind the start interlock.
    pub key: Key,
    /// Throttle, 0 (idle) to 1 (rated speed).
    pub throttle: f64,
    /// Voltage at the starter, V.
    pub supply_v: f64,
    /// Torque that all pumps take, N·m; negative drives the engine.
    pub load_torque_nm: f64,
}

/// An engine: J·dω/dt = fuel·(T_full(ω) + T_drag(ω)) − T_drag(ω) − T_accessory − T_load (+ starter).
///
/// The governor asks for the share (n_no-load − n)/(n_no-load − n_full-load) of the net torque: the engine
/// settles at the no-load speed without load and at the full-load speed under full torque, by definition of
/// droop. Fuel follows with a first-order lag and lies in 0 to 1. Fuel is lost below the stall speed and
/// comes back only through the starter. Compression keeps the shaft from turning backwards: speed ≥ 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Engine {
    config: EngineConfig,
    idle_rad_s: f64,
    rated_rad_s: f64,
    stall_rad_s: f64,
    firing_rad_s: f64,
    free_rad_s: f64,
    drag_slope_nm_s: f64,
    speed_rad_s: f64,
    fuel: Lag,
    combustion: Combustion,
    cranked_s: f64,
    starter_share: f64,
    stalls: u32,
}

impl Engine {
    /// An engine at rest; refuses values outside the ranges of [`EngineConfig`] and [`StarterConfig`].
    pub fn new(config: EngineConfig) -> Result<Self, PlantConfigError> {
        check_config(&config)?;
        let rated_rad_s = rad_s_from_rpm(config.rated_rpm);
        Ok(Engine {
            config,
            idle_rad_s: rad_s_from_rpm(config.idle_rpm),
            rated_rad_s,
            stall_rad_s: rad_s_from_rpm(config.stall_rpm),
            firing_rad_s: rad_s_from_rpm(config.firing_rpm),
            free_rad_s: rad_s_from_rpm(config.starter.free_rpm),
            drag_slope_nm_s: (config.drag_rated_nm - config.drag_standstill_nm) / rated_rad_s,
            speed_rad_s: 0.0,
            fuel: Lag::new(config.fuel_time_s, 0.0)?,
            combustion: Combustion::Stopped,
            cranked_s: 0.0,
            starter_share: 0.0,
            stalls: 0,
        })
    }

    /// Runs the engine for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, inputs: &EngineInputs) {
        self.fire(dt_s, inputs.key);
        let full = self.config.torque_curve.torque_nm(self.speed_rad_s);
        let drag = self.config.drag_standstill_nm + self.drag_slope_nm_s * self.speed_rad_s;
        let fuel = match self.combustion {
            Combustion::Stopped => 0.0,
            Combustion::Starting | Combustion::Running => {
                ((drag + self.governor_share(inputs.throttle) * full) / (full + drag)).within(0.0, 1.0)
            }
        };
        let driving = self.fuel.step(dt_s, fuel) * (full + drag) + self.crank(inputs);
        let gain = dt_s / self.config.inertia_kg_m2;
        let freely = self.speed_rad_s + gain * (driving - inputs.load_torque_nm);
        // Drag and accessories can stop the shaft within the step, never turn it back.
        self.speed_rad_s = (freely - gain * (drag + self.config.accessory_torque_nm)).max(0.0);
    }

    /// Puts a running engine at a speed in rpm, with the fuel that holds it there without load.
    pub fn reset_running(&mut self, rpm: f64) {
        self.speed_rad_s = rad_s_from_rpm(rpm).max(self.stall_rad_s);
        self.combustion = Combustion::Running;
        let drag = self.config.drag_standstill_nm + self.drag_slope_nm_s * self.speed_rad_s;
        let full = self.config.torque_curve.torque_nm(self.speed_rad_s);
        self.fuel.reset(((drag + self.config.accessory_torque_nm) / (full + drag)).min(1.0));
    }

    /// Speed, rad/s.
    pub fn speed_rad_s(&self) -> f64 {
        self.speed_rad_s
    }

    /// Speed, rpm.
    pub fn speed_rpm(&self) -> f64 {
        rpm_from_rad_s(self.speed_rad_s)
    }

    /// What it is doing.
    pub fn combustion(&self) -> Combustion {
        self.combustion
    }

    /// How often it died under load, not by key.
    pub fn stalls(&self) -> u32 {
        self.stalls
    }

    /// Share of full fuel, 0 to 1.
    pub fn fuel(&self) -> f64 {
        self.fuel.value()
    }

    /// Net torque over the largest net torque of the curve, for the torque bytes on the bus; −1 to 1.
    pub fn torque_share(&self) -> f64 {
        let full = self.config.torque_curve.torque_nm(self.speed_rad_s);
        let drag = self.config.drag_standstill_nm + self.drag_slope_nm_s * self.speed_rad_s;
        let net = self.fuel.value() * (full + drag) - drag;
        (net / self.config.torque_curve.peak_nm()).within(-1.0, 1.0)
    }

    /// Current that the starter drew in the last step, A.
    pub fn starter_current_a(&self) -> f64 {
        self.starter_share * self.config.starter.standstill_current_a
    }

    /// Share of the net torque that the governor asks for at the present speed.
    fn governor_share(&self, throttle: f64) -> f64 {
        let throttle = throttle.within(0.0, 1.0);
        let full_load = self.idle_rad_s + throttle * (self.rated_rad_s - self.idle_rad_s);
        let band = self.config.droop * full_load;
        (full_load + band - self.speed_rad_s) / band
    }

    /// Starter torque; remembers its share of the standstill torque for the current.
    fn crank(&mut self, inputs: &EngineInputs) -> f64 {
        self.starter_share = match inputs.key {
            Key::Off | Key::Run => 0.0,
            // The overrunning clutch lets a faster engine go.
            Key::Start => (inputs.supply_v / self.config.starter.nominal_v
                - self.speed_rad_s / self.free_rad_s)
                .within(0.0, 2.0),
        };
        self.starter_share * self.config.starter.standstill_torque_nm
    }

    fn fire(&mut self, dt_s: f64, key: Key) {
        let cranking = key == Key::Start && self.speed_rad_s > self.firing_rad_s;
        self.cranked_s = if cranking { self.cranked_s + dt_s } else { 0.0 };
        let after = match (self.combustion, key) {
            (_, Key::Off) => Combustion::Stopped,
            (Combustion::Stopped, _) if cranking && self.cranked_s > self.config.firing_time_s => {
                Combustion::Starting
            }
            (Combustion::Starting, _) if self.speed_rad_s > self.stall_rad_s => Combustion::Running,
            (Combustion::Starting, Key::Run) => Combustion::Stopped,
            (Combustion::Running, _) if self.speed_rad_s < self.stall_rad_s => {
                self.stalls = self.stalls.saturating_add(1);
                Combustion::Stopped
            }
            (as_before, _) => as_before,
        };
        if after == Combustion::Stopped {
            self.fuel.reset(0.0);
        }
        self.combustion = after;
    }
}

fn check_config(config: &EngineConfig) -> Result<(), PlantConfigError> {
    let check = Check("engine");
    check.range("idle_rpm", config.idle_rpm, 300.0, 5000.0)?;
    check.range("rated_rpm", config.rated_rpm, 300.0, 10_000.0)?;
    check.above(("rated_rpm", config.rated_rpm), ("idle_rpm", config.idle_rpm))?;
    check.range("droop", config.droop, 0.005, 0.3)?;
    check.range("drag_standstill_nm", config.drag_standstill_nm, 0.0, 5000.0)?;
    check.range("drag_rated_nm", config.drag_rated_nm, 0.1, 5000.0)?;
    check.range("inertia_kg_m2", config.inertia_kg_m2, 0.01, 100.0)?;
    check.range("accessory_torque_nm", config.accessory_torque_nm, 0.0, 500.0)?;
    check.range("fuel_time_s", config.fuel_time_s, 0.005, 5.0)?;
    check.range("stall_rpm", config.stall_rpm, 50.0, config.idle_rpm)?;
    check.above(("idle_rpm", config.idle_rpm), ("stall_rpm", config.stall_rpm))?;
    check.range("firing_rpm", config.firing_rpm, 20.0, config.stall_rpm)?;
    check.above(("stall_rpm", config.stall_rpm), ("firing_rpm", config.firing_rpm))?;
    check.range("firing_time_s", config.firing_time_s, 0.0, 10.0)?;
    let check = Check("starter");
    let starter = &config.starter;
    check.range("standstill_torque_nm", starter.standstill_torque_nm, 1.0, 10_000.0)?;
    check.range("free_rpm", starter.free_rpm, 20.0, 2000.0)?;
    check.above(("free_rpm", starter.free_rpm), ("firing_rpm", config.firing_rpm))?;
    check.range("standstill_current_a", starter.standstill_current_a, 1.0, 5000.0)?;
    check.range("nominal_v", starter.nominal_v, 6.0, 48.0)
}

#[cfg(test)]
mod tests;
