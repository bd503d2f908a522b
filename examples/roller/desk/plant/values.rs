//! The numbers of the simulated V84: an invented machine, so every value without a source is this example's own
//! engineering judgement, in the range of single-drum rollers of 10 to 12 t.

use trunnion_rig::plant::{BatteryConfig, CoilConfig};

/// Length over all, width over the drum, drum front ahead of the drum's axle: for the top view.
pub const LENGTH_M: f64 = 5.6;
/// See [`LENGTH_M`].
pub const WIDTH_M: f64 = 2.25;
/// See [`LENGTH_M`].
pub const FRONT_M: f64 = 0.75;

/// Speed at full pump displacement and rated engine speed: 12 km/h.
pub const TOP_SPEED_M_S: f64 = 3.35;
/// Travel motor radians for each metre: drum of 0.75 m radius behind a gear of 45.
pub const MOTOR_RAD_PER_M: f64 = 60.0;
/// How a hydrostatic drive follows its pump: swash plate, oil and mass together.
pub const DRIVE_LAG_S: f64 = 0.30;
/// Speed of roll-back by leakage of pump and motor on a slope of sine 1, m/s: 2 cm/s on a tenth.
pub const LEAK_M_S: f64 = 0.2;
/// Deceleration by the closed brake, and the one on a slope of sine 1.
pub const BRAKE_M_S2: f64 = 4.0;
/// Fall.
pub const GRAVITY_M_S2: f64 = 9.81;
/// Charge pressure that lifts the brake, and how fast its cylinder fills and drains.
pub const BRAKE_LIFTS_BAR: f64 = 12.0;
/// See [`BRAKE_LIFTS_BAR`].
pub const BRAKE_LAG_S: f64 = 0.06;

/// Joint to the drum's axle.
pub const JOINT_TO_DRUM_M: f64 = 1.45;
/// Joint to the tyres' axle.
pub const JOINT_TO_TYRES_M: f64 = 1.55;
/// Largest angle of the joint.
pub const LARGEST_ANGLE_RAD: f64 = 0.61;
/// Rate of the joint with the steering spool fully open: 22 °/s.
pub const STEER_RATE_RAD_S: f64 = 0.38;
/// How the steering spool follows its coils.
pub const SPOOL_LAG_S: f64 = 0.08;

/// Shaft speed at large and at small amplitude with the pump at full, rated engine speed: 28 and 34 Hz.
pub const HIGH_AMPLITUDE_RPM: f64 = 1_680.0;
/// See [`HIGH_AMPLITUDE_RPM`].
pub const LOW_AMPLITUDE_RPM: f64 = 2_040.0;
/// How the eccentric shaft spins up and down.
pub const ECCENTRIC_LAG_S: f64 = 0.7;

/// Engine speeds at low and high idle.
pub const LOW_IDLE_RPM: f64 = 900.0;
/// See [`LOW_IDLE_RPM`].
pub const HIGH_IDLE_RPM: f64 = 2_300.0;
/// Speed of the starter, and the speed from which the engine fires.
pub const CRANKING_RPM: f64 = 250.0;
/// See [`CRANKING_RPM`].
pub const FIRING_RPM: f64 = 180.0;
/// How the engine follows its governor.
pub const ENGINE_LAG_S: f64 = 0.25;
/// Current of the starter.
pub const STARTER_A: f64 = 280.0;

/// Charge pressure with the engine above low idle, and how it follows.
pub const CHARGE_BAR: f64 = 24.0;
/// See [`CHARGE_BAR`].
pub const CHARGE_LAG_S: f64 = 0.08;

/// Teeth at the engine's flywheel, the travel motor and the eccentric shaft.
pub const ENGINE_TEETH: u16 = 120;
/// See [`ENGINE_TEETH`].
pub const MOTOR_TEETH: u16 = 48;
/// See [`ENGINE_TEETH`].
pub const ECCENTRIC_MARKS: u16 = 12;

/// First movement and full command of a pump coil and of a steering coil, ampere: just above the parameter sheet's.
pub const PUMP_A: (f64, f64) = (0.43, 1.14);
/// Vibration pump at large amplitude: it stops short of full displacement.
pub const HIGH_AMPLITUDE_A: (f64, f64) = (0.43, 0.99);
/// See [`PUMP_A`].
pub const STEER_A: (f64, f64) = (0.39, 1.04);

/// A pump coil: 5.3 Ω, 20 mH.
pub const PUMP_COIL: CoilConfig =
    CoilConfig { resistance_20c_ohm: 5.3, inductance_h: 0.020, freewheel_drop_v: 0.5, series_ohm: 0.1 };
/// A steering coil: 6.1 Ω, 24 mH.
pub const STEER_COIL: CoilConfig =
    CoilConfig { resistance_20c_ohm: 6.1, inductance_h: 0.024, freewheel_drop_v: 0.5, series_ohm: 0.1 };

/// Starter battery and alternator.
pub const BATTERY: BatteryConfig = BatteryConfig {
    open_circuit_v: 12.6,
    internal_resistance_ohm: 0.006,
    settling_time_s: 0.004,
    charging_v: 14.2,
    charging_from_rpm: 800.0,
    alternator_a: 90.0,
};
