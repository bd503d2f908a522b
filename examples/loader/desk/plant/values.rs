//! The numbers of the simulated Q36: an invented machine, so every value without a source is this example's own
//! engineering judgement, in the range of skid-steer loaders of 3 to 4 t.

use trunnion_rig::plant::{
    BatteryConfig, ChargeConfig, CoilConfig, CoilMap, CylinderConfig, EngineConfig, FloatStage, GroundConfig,
    LineConfig, MotorConfig, MotorSpeeds, OpenCentreConfig, ParkBrakeConfig, PileConfig, PlantConfigError,
    PumpConfig, SpoolConfig, StarterConfig, Surface, TorqueCurve, TyreConfig,
};

/// Bucket edge ahead of the centre of gravity, boom down.
pub const BUCKET_EDGE_M: f64 = 1.9;
/// What the bucket holds.
pub const BUCKET_CAPACITY_KG: f64 = 850.0;
/// Length of the machine over all, for the top view.
pub const LENGTH_M: f64 = 3.3;
/// Teeth at the engine's flywheel.
pub const ENGINE_TEETH: u16 = 120;
/// Teeth at a motor's shaft.
pub const MOTOR_TEETH: u16 = 36;

/// Diesel of 45 kW; no-load speeds 1000 and 2600 rpm follow from full-load speeds and droop.
pub fn engine() -> Result<EngineConfig, PlantConfigError> {
    Ok(EngineConfig {
        idle_rpm: 943.4,
        rated_rpm: 2452.8,
        droop: 0.06,
        torque_curve: TorqueCurve::new(&[(100.0, 120.0), (900.0, 190.0), (1600.0, 225.0), (2450.0, 178.0)])?,
        drag_standstill_nm: 18.0,
        drag_rated_nm: 32.0,
        inertia_kg_m2: 1.2,
        accessory_torque_nm: 4.0,
        fuel_time_s: 0.08,
        stall_rpm: 500.0,
        firing_rpm: 180.0,
        firing_time_s: 0.3,
        starter: StarterConfig {
            standstill_torque_nm: 160.0,
            free_rpm: 320.0,
            standstill_current_a: 600.0,
            nominal_v: 12.0,
        },
    })
}

/// Charge pump behind the work pump.
pub const CHARGE: ChargeConfig = ChargeConfig {
    displacement_cm3: 16.0,
    volumetric_efficiency: 0.93,
    relief_bar: 22.0,
    consumption_l_min: 12.0,
    rise_time_s: 0.05,
};

/// Coil of a pump control as the valve sees it: the threshold of the parameter sheet lies just below.
const PUMP_COIL_MAP: CoilMap = CoilMap { threshold_a: 0.43, end_a: 1.14, hysteresis_a: 0.03 };

/// One of the two drive pumps.
pub const PUMP: PumpConfig = PumpConfig {
    displacement_cm3: 45.0,
    speed_ratio: 1.0,
    forward: PUMP_COIL_MAP,
    reverse: PUMP_COIL_MAP,
    swash_time_s: 0.08,
    volumetric_efficiency: 0.95,
    hydromechanical_efficiency: 0.92,
    rated_rpm: 2600.0,
    rated_bar: 250.0,
    control_start_bar: 8.0,
    control_full_bar: 14.0,
};

/// One of the two closed loops.
pub const LINE: LineConfig = LineConfig {
    volume_l: 1.0,
    bulk_modulus_gpa: 1.2,
    relief_bar: 330.0,
    relief_override_bar: 15.0,
    relief_flow_l_min: 120.0,
};

/// One of the two drive motors.
pub const MOTOR: MotorConfig = MotorConfig {
    displacement_cm3: 95.0,
    speeds: MotorSpeeds::Two { reduced_cm3: 60.0, shift_time_s: 0.15 },
    volumetric_efficiency: 0.95,
    hydromechanical_efficiency: 0.93,
    rated_rpm: 1200.0,
    rated_bar: 250.0,
    friction_half_rpm: 10.0,
};

/// The park brake on a motor's shaft.
pub const PARK_BRAKE: ParkBrakeConfig = ParkBrakeConfig {
    holding_torque_nm: 450.0,
    release_start_bar: 9.0,
    release_full_bar: 14.0,
    fill_time_s: 0.06,
    wind_up_rad: 0.01,
    damping_time_s: 0.002,
};

/// The machine on four tyres on compacted earth.
pub const GROUND: GroundConfig = GroundConfig {
    mass_kg: 3600.0,
    yaw_inertia_kg_m2: 3800.0,
    front_axle_m: 0.72,
    rear_axle_m: 0.38,
    track_width_m: 1.5,
    height_m: 0.75,
    wheel_radius_m: 0.4,
    side_inertia_kg_m2: 14.0,
    motor_inertia_kg_m2: 0.02,
    final_drive_ratio: 14.0,
    tyre: TyreConfig { half_slip: 0.06, deflection_m: 0.02, damping_time_s: 0.02 },
    surface: Surface { longitudinal_friction: 0.7, lateral_friction: 0.6, rolling_resistance: 0.05 },
};

/// A pile straight ahead.
pub const fn pile(distance_m: f64, stiffness_n_m: f64) -> PileConfig {
    PileConfig {
        face_x_m: distance_m + BUCKET_EDGE_M,
        face_y_m: 0.0,
        heading_rad: 0.0,
        stiffness_n_m,
        limit_n: 60_000.0,
        give_m: 0.02,
    }
}

/// Work pump and main relief valve.
pub const WORK_PUMP: OpenCentreConfig = OpenCentreConfig {
    displacement_cm3: 28.0,
    volumetric_efficiency: 0.92,
    hydromechanical_efficiency: 0.9,
    relief_bar: 210.0,
    centre_flow_l_min: 70.0,
    centre_drop_bar: 8.0,
};

const fn spool(positive: f64, negative: f64, float: FloatStage) -> SpoolConfig {
    SpoolConfig {
        positive: CoilMap { threshold_a: 0.39, end_a: positive, hysteresis_a: 0.03 },
        negative: CoilMap { threshold_a: 0.39, end_a: negative, hysteresis_a: 0.03 },
        shift_time_s: 0.04,
        float,
    }
}

/// Boom spool with a coil of its own for float.
pub const BOOM_SPOOL: SpoolConfig = spool(1.04, 0.89, FloatStage::OwnCoil { engage_a: 1.0, release_a: 0.6 });
/// Bucket spool, dump positive.
pub const BUCKET_SPOOL: SpoolConfig = spool(1.04, 1.04, FloatStage::Absent);
/// Auxiliary spool, coupling A positive.
pub const AUXILIARY_SPOOL: SpoolConfig = spool(1.09, 1.09, FloatStage::Absent);

/// Boom cylinders, both together; extending raises.
pub const BOOM: CylinderConfig = CylinderConfig {
    head_area_cm2: 62.0,
    rod_area_cm2: 42.0,
    stroke_m: 0.85,
    load_bar: 35.0,
    load_bar_per_kg: 0.075,
    friction_bar: 6.0,
    inlet_l_min: 60.0,
    outlet_l_min: 55.0,
    float_l_min: 80.0,
    valve_drop_bar: 10.0,
};

/// Bucket cylinders, both together; extending dumps.
pub const BUCKET: CylinderConfig = CylinderConfig {
    head_area_cm2: 50.0,
    rod_area_cm2: 33.0,
    stroke_m: 0.6,
    load_bar: -8.0,
    load_bar_per_kg: -0.02,
    friction_bar: 5.0,
    inlet_l_min: 50.0,
    outlet_l_min: 50.0,
    float_l_min: 1.0,
    valve_drop_bar: 10.0,
};

/// A tool on the auxiliary couplings: a hydraulic motor that needs this pressure.
pub const AUXILIARY_LOAD_PA: f64 = 6.0e6;
/// Its flow at full spool and a drop of 10 bar.
pub const AUXILIARY_FLOW_L_MIN: f64 = 55.0;

/// A pump coil: 5.3 Ω, 20 mH.
pub const PUMP_COIL: CoilConfig =
    CoilConfig { resistance_20c_ohm: 5.3, inductance_h: 0.020, freewheel_drop_v: 0.5, series_ohm: 0.1 };
/// A spool coil: 6.1 Ω, 24 mH.
pub const SPOOL_COIL: CoilConfig =
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
