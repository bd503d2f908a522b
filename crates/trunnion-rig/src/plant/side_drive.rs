//! One side's hydrostatic transmission: pump, loop, motor and park brake on one shaft.

use super::law::TorqueLaw;
use super::line::{Line, LineFlows};
use super::motor::{Motor, SpeedRange};
use super::park_brake::{BrakeValve, ParkBrake};
use super::pump::{Pump, PumpControl};

/// What the coils and the charge pressure ask of one side during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideControl {
    /// Currents of the pump's coils and the charge pressure.
    pub pump: PumpControl,
    /// The two-speed valve.
    pub range: SpeedRange,
    /// The park-brake valve.
    pub brake: BrakeValve,
}

/// Pump → loop → motor with its brake, between the engine's shaft and a motor shaft of the ground.
///
/// A sub-step goes: `step` (valves and swash), `law` (what the shaft will feel), the ground's step, `settle`.
/// The parts are open for faults and observation; each keeps its own state private.
#[derive(Debug, Clone, PartialEq)]
pub struct SideDrive {
    /// The pump.
    pub pump: Pump,
    /// The closed loop.
    pub line: Line,
    /// The motor.
    pub motor: Motor,
    /// The park brake on the motor's shaft.
    pub brake: ParkBrake,
    flows: LineFlows,
}

impl SideDrive {
    /// Joins four parts.
    pub fn new(pump: Pump, line: Line, motor: Motor, brake: ParkBrake) -> Self {
        let flows = LineFlows { pump_m3_s: 0.0, leak_m3_s_pa: 0.0, motor_m3_rad: 0.0 };
        SideDrive { pump, line, motor, brake, flows }
    }

    /// Moves swash plate, two-speed valve and brake piston for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, control: &SideControl) {
        self.pump.step(dt_s, control.pump);
        self.motor.step(dt_s, control.range);
        self.brake.step(dt_s, control.brake, control.pump.charge_bar);
    }

    /// The torque law on the motor's shaft for the next `dt_s` seconds, from the speeds at its beginning.
    pub fn law(&mut self, dt_s: f64, engine_rad_s: f64, motor_rad_s: f64) -> TorqueLaw {
        self.flows = LineFlows {
            pump_m3_s: self.pump.flow_m3_s(engine_rad_s),
            leak_m3_s_pa: self.pump.leak_m3_s_pa() + self.motor.leak_m3_s_pa(),
            motor_m3_rad: self.motor.displacement_m3_rad(),
        };
        let pressure = self.line.law(dt_s, &self.flows, motor_rad_s);
        self.motor.law(pressure, self.line.difference_pa(), motor_rad_s) + self.brake.law(dt_s, motor_rad_s)
    }

    /// Takes pressure and wind-up at the end of the step from the motor's speed there.
    pub fn settle(&mut self, dt_s: f64, motor_rad_s: f64) {
        self.line.settle(dt_s, &self.flows, motor_rad_s);
        self.brake.settle(dt_s, motor_rad_s);
    }

    /// Torque that the pump takes from the engine, N·m.
    pub fn engine_torque_nm(&self, engine_rad_s: f64) -> f64 {
        self.pump.torque_nm(engine_rad_s, self.line.difference_pa())
    }
}

#[cfg(test)]
mod tests;
