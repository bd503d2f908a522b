//! The vehicle's data sheet, and what goes into and comes out of a step on the ground.

use crate::plant::law::{PushLaw, TorqueLaw};
use crate::plant::tyre::{Surface, TyreConfig};

/// A value for each side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sides<T> {
    /// The left side.
    pub left: T,
    /// The right side.
    pub right: T,
}

/// The vehicle on its wheels.
///
/// Typical 3.6 t skid steer, unladen (engineering judgement): 3600 kg, 3800 kg·m², 0.72 m, 0.38 m, 1.5 m,
/// 0.75 m, 0.4 m, 14 kg·m² (two wheels with chain case), 0.02 kg·m², 22.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundConfig {
    /// Mass without payload, 100 to 500 000 kg.
    pub mass_kg: f64,
    /// Moment of inertia about the vertical, 10 to 1e7 kg·m².
    pub yaw_inertia_kg_m2: f64,
    /// Front axle ahead of the centre of gravity, 0.05 to 10 m.
    pub front_axle_m: f64,
    /// Rear axle behind the centre of gravity, 0.05 to 10 m.
    pub rear_axle_m: f64,
    /// Distance B between the left and right wheels, 0.3 to 10 m.
    pub track_width_m: f64,
    /// Height of the centre of gravity, 0 to 5 m.
    pub height_m: f64,
    /// Rolling radius of a wheel, 0.05 to 3 m.
    pub wheel_radius_m: f64,
    /// Inertia of one side's wheels and chains, at the wheels, 0.1 to 1e5 kg·m².
    pub side_inertia_kg_m2: f64,
    /// Inertia of a motor's rotor, at its shaft, 0 to 100 kg·m².
    pub motor_inertia_kg_m2: f64,
    /// Motor speed over wheel speed, 1 to 500.
    pub final_drive_ratio: f64,
    /// The tyres.
    pub tyre: TyreConfig,
    /// What they stand on at the start.
    pub surface: Surface,
}

/// What acts on the vehicle during a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundInputs {
    /// Torque laws of everything on the two motor shafts (motor and park brake).
    pub drive: Sides<TorqueLaw>,
    /// What the bucket runs into.
    pub push: PushLaw,
}

/// A steady push or pull from outside, in the vehicle's frame.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Disturbance {
    /// Force forward, N.
    pub forward_n: f64,
    /// Force to the left, N.
    pub left_n: f64,
    /// Moment counter-clockwise, N·m.
    pub yaw_nm: f64,
}

/// A point of the vehicle, ahead of its centre of gravity on the centre line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PointMotion {
    /// Distance ahead of the centre of gravity, m.
    pub ahead_m: f64,
    /// Place east, m.
    pub x_m: f64,
    /// Place north, m.
    pub y_m: f64,
    /// Speed forward, m/s.
    pub forward_m_s: f64,
    /// Speed to the left, m/s.
    pub left_m_s: f64,
    /// Cosine of the vehicle's yaw.
    pub cos_yaw: f64,
    /// Sine of the vehicle's yaw.
    pub sin_yaw: f64,
}

/// Load and forces of one wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelForces {
    /// Load, N.
    pub load_n: f64,
    /// Force on the vehicle along the wheel, forward positive, N.
    pub along_n: f64,
    /// Force on the vehicle across the wheel, left positive, N.
    pub across_n: f64,
}
