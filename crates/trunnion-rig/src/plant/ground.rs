//! A skid-steer vehicle in the plane: four tyres, two driven sides, slope, payload.

use super::config_error::{Check, PlantConfigError};
use super::lag::Lag;
use super::law::{PushLaw, TorqueLaw};
use super::symmetric3::Symmetric3;
use super::tyre::{Contact, ContactLaw, Surface, Tyre};
use super::units::GRAVITY_M_S2;
use super::within::Within;

mod vehicle;

pub use vehicle::{Disturbance, GroundConfig, GroundInputs, PointMotion, Sides, WheelForces};

/// Time constant with which wheel loads follow the forces: pitch and roll on tyres, s (engineering
/// judgement: an unsprung machine rocks at about 2 Hz).
const LOAD_TRANSFER_TIME_S: f64 = 0.08;

/// Circumferential speed at which half of the rolling resistance acts, m/s: it fades to zero at rest.
const ROLLING_HALF_M_S: f64 = 0.02;

#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Wheel {
    /// Ahead of the centre of gravity.
    ahead_m: f64,
    /// Left of the centre line.
    left_m: f64,
    contact: Contact,
    law: ContactLaw,
    forces: WheelForces,
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Slope {
    sin: f64,
    cos: f64,
    uphill_east: f64,
    uphill_north: f64,
}

/// One side's longitudinal force with the wheel speed eliminated: `force_n − damping_n_s_m·v_side`.
#[derive(Debug, Clone, Copy, Default)]
struct SideLaw {
    left_m: f64,
    force_n: f64,
    damping_n_s_m: f64,
    /// Wheel speed at the end of the step: `free_rad_s + follow_rad_m·v_side`.
    free_rad_s: f64,
    follow_rad_m: f64,
}

/// The vehicle: place, yaw, velocities in its own frame, speeds of the two sides' wheels.
///
/// m·(dvx/dt − ω·vy) = ΣF_along + gravity + push, m·(dvy/dt + ω·vx) = ΣF_across + …,
/// I·dω/dt = Σ(x·F_across − y·F_along) + …, J·dΩ/dt = i·T_motor − r·ΣF_along − T_rolling, each side.
///
/// Both wheels of a side turn together. Each tyre has its own load (static axle loads, payload, slope and
/// transfer by pitch and roll), its own slip and its own friction circle ([`Surface`], `tyre`); nothing
/// like a "turning resistance" is put in: it comes out. In a turn with free-rolling wheels on four equal
/// loads it is μ_t·W·l/2 (twice J. Y. Wong's value for uniform track pressure, *Theory of Ground Vehicles*).
/// Driven wheels share their friction between both directions, so in a spin at full slip the moment is
/// smaller by B/√(B² + l²) on a surface of equal coefficients.
///
/// All velocities at the end of a step are solved together from the laws of tyres, drives and pile
/// (linearly implicit Euler, 3 × 3 after the wheels are eliminated): positive definite, so dissipative
/// for any step width. Payload adds mass at the centre of gravity, inertia and axle load; how it moves
/// the centre of gravity sideways or the yaw axis forward is left out. Wheels that lift carry nothing;
/// tipping over is not modelled.
///
/// Frame: x forward, y left, yaw counter-clockwise from east.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    config: GroundConfig,
    tyre: Tyre,
    surface: Surface,
    slope: Slope,
    payload_kg: f64,
    payload_ahead_m: f64,
    disturbance: Disturbance,
    side_inertia_kg_m2: f64,
    /// Front left, front right, rear left, rear right.
    wheels: [Wheel; 4],
    wheel_rad_s: [f64; 2],
    transfer: [Lag; 2],
    x_m: f64,
    y_m: f64,
    yaw_rad: f64,
    cos_yaw: f64,
    sin_yaw: f64,
    forward_m_s: f64,
    left_m_s: f64,
    yaw_rad_s: f64,
    tyre_force_n: (f64, f64),
}

impl Ground {
    /// A vehicle at rest at the origin, heading east on the level; refuses values outside the ranges of
    /// [`GroundConfig`], [`TyreConfig`](super::TyreConfig) and [`Surface`].
    pub fn new(config: GroundConfig) -> Result<Self, PlantConfigError> {
        let check = Check("ground");
        check.range("mass_kg", config.mass_kg, 100.0, 500_000.0)?;
        check.range("yaw_inertia_kg_m2", config.yaw_inertia_kg_m2, 10.0, 1e7)?;
        check.range("front_axle_m", config.front_axle_m, 0.05, 10.0)?;
        check.range("rear_axle_m", config.rear_axle_m, 0.05, 10.0)?;
        check.range("track_width_m", config.track_width_m, 0.3, 10.0)?;
        check.range("height_m", config.height_m, 0.0, 5.0)?;
        check.range("wheel_radius_m", config.wheel_radius_m, 0.05, 3.0)?;
        check.range("side_inertia_kg_m2", config.side_inertia_kg_m2, 0.1, 1e5)?;
        check.range("motor_inertia_kg_m2", config.motor_inertia_kg_m2, 0.0, 100.0)?;
        check.range("final_drive_ratio", config.final_drive_ratio, 1.0, 500.0)?;
        config.surface.check()?;
        let half = 0.5 * config.track_width_m;
        let wheel = |ahead_m, left_m| Wheel { ahead_m, left_m, ..Wheel::default() };
        let ratio = config.final_drive_ratio;
        let mut ground = Ground {
            config,
            tyre: Tyre::new(config.tyre)?,
            surface: config.surface,
            slope: Slope { sin: 0.0, cos: 1.0, uphill_east: 1.0, uphill_north: 0.0 },
            payload_kg: 0.0,
            payload_ahead_m: 0.0,
            disturbance: Disturbance::default(),
            side_inertia_kg_m2: config.side_inertia_kg_m2 + ratio * ratio * config.motor_inertia_kg_m2,
            wheels: [
                wheel(config.front_axle_m, half),
                wheel(config.front_axle_m, -half),
                wheel(-config.rear_axle_m, half),
                wheel(-config.rear_axle_m, -half),
            ],
            wheel_rad_s: [0.0; 2],
            transfer: [Lag::new(LOAD_TRANSFER_TIME_S, 0.0)?; 2],
            x_m: 0.0,
            y_m: 0.0,
            yaw_rad: 0.0,
            cos_yaw: 1.0,
            sin_yaw: 0.0,
            forward_m_s: 0.0,
            left_m_s: 0.0,
            yaw_rad_s: 0.0,
            tyre_force_n: (0.0, 0.0),
        };
        ground.load_wheels(0.0);
        Ok(ground)
    }

    /// Moves the vehicle for `dt_s` seconds.
    pub fn step(&mut self, dt_s: f64, inputs: &GroundInputs) {
        self.load_wheels(dt_s);
        self.turn_velocity_into_new_frame(dt_s);
        for index in 0..4 {
            let (rolling, sliding) = self.slip(index);
            let wheel = &mut self.wheels[index];
            wheel.law = self.tyre.law(&mut wheel.contact, dt_s, rolling, sliding);
        }
        let sides = [self.side_law(dt_s, 0, inputs.drive.left), self.side_law(dt_s, 1, inputs.drive.right)];
        self.solve(dt_s, &sides, &inputs.push);
        for (speed, side) in self.wheel_rad_s.iter_mut().zip(&sides) {
            *speed = side.free_rad_s + side.follow_rad_m * (self.forward_m_s - side.left_m * self.yaw_rad_s);
        }
        let mut total = (0.0, 0.0);
        for index in 0..4 {
            let (_, sliding) = self.slip(index);
            let wheel = &mut self.wheels[index];
            self.tyre.settle(&mut wheel.contact, dt_s, sliding);
            let load = wheel.forces.load_n;
            wheel.forces.along_n = self.surface.longitudinal_friction * load * wheel.law.along.at(sliding.0);
            wheel.forces.across_n = self.surface.lateral_friction * load * wheel.law.across.at(sliding.1);
            total = (total.0 + wheel.forces.along_n, total.1 + wheel.forces.across_n);
        }
        self.tyre_force_n = total;
        self.move_on(dt_s);
    }

    /// Tilts the world: an angle of −0.7 to 0.7 rad (values beyond are brought to it) and the direction
    /// that goes uphill, rad counter-clockwise from east.
    pub fn set_slope(&mut self, angle_rad: f64, uphill_heading_rad: f64) {
        let (sin, cos) = libm::sincos(angle_rad.within(-0.7, 0.7));
        let (uphill_north, uphill_east) = libm::sincos(uphill_heading_rad);
        self.slope = Slope { sin, cos, uphill_east, uphill_north };
    }

    /// Changes what the wheels stand on; refuses values outside the ranges of [`Surface`].
    pub fn set_surface(&mut self, surface: Surface) -> Result<(), PlantConfigError> {
        surface.check()?;
        self.surface = surface;
        Ok(())
    }

    /// Loads the bucket: mass (brought to 0 to ten machine masses), its distance ahead of the machine's
    /// centre of gravity (brought to −10 to 10 m).
    pub fn set_payload(&mut self, mass_kg: f64, ahead_m: f64) {
        self.payload_kg = mass_kg.within(0.0, 10.0 * self.config.mass_kg);
        self.payload_ahead_m = ahead_m.within(-10.0, 10.0);
    }

    /// Pushes or pulls from outside until changed.
    pub fn set_disturbance(&mut self, disturbance: Disturbance) {
        self.disturbance = disturbance;
    }

    /// Puts the vehicle at rest somewhere: m east, m north, rad counter-clockwise from east.
    pub fn place(&mut self, x_m: f64, y_m: f64, yaw_rad: f64) {
        (self.x_m, self.y_m, self.yaw_rad) = (x_m, y_m, yaw_rad);
        (self.sin_yaw, self.cos_yaw) = libm::sincos(yaw_rad);
        (self.forward_m_s, self.left_m_s, self.yaw_rad_s) = (0.0, 0.0, 0.0);
        self.wheel_rad_s = [0.0; 2];
        for wheel in &mut self.wheels {
            wheel.contact = Contact::default();
        }
    }

    /// Place east, m.
    pub fn x_m(&self) -> f64 {
        self.x_m
    }

    /// Place north, m.
    pub fn y_m(&self) -> f64 {
        self.y_m
    }

    /// Yaw, rad counter-clockwise from east, counted on through full turns.
    pub fn yaw_rad(&self) -> f64 {
        self.yaw_rad
    }

    /// Speed forward, m/s.
    pub fn forward_m_s(&self) -> f64 {
        self.forward_m_s
    }

    /// Speed to the left, m/s.
    pub fn left_m_s(&self) -> f64 {
        self.left_m_s
    }

    /// Yaw rate, rad/s, counter-clockwise positive.
    pub fn yaw_rad_s(&self) -> f64 {
        self.yaw_rad_s
    }

    /// Wheel speeds, rad/s, forward positive.
    pub fn wheel_rad_s(&self) -> Sides<f64> {
        Sides { left: self.wheel_rad_s[0], right: self.wheel_rad_s[1] }
    }

    /// Motor shaft speeds, rad/s, forward positive.
    pub fn motor_rad_s(&self) -> Sides<f64> {
        let ratio = self.config.final_drive_ratio;
        Sides { left: self.wheel_rad_s[0] * ratio, right: self.wheel_rad_s[1] * ratio }
    }

    /// Loads and forces: front left, front right, rear left, rear right.
    pub fn wheels(&self) -> [WheelForces; 4] {
        self.wheels.map(|wheel| wheel.forces)
    }

    /// A point on the centre line, `ahead_m` ahead of the centre of gravity (negative: behind).
    pub fn point(&self, ahead_m: f64) -> PointMotion {
        PointMotion {
            ahead_m,
            x_m: self.x_m + ahead_m * self.cos_yaw,
            y_m: self.y_m + ahead_m * self.sin_yaw,
            forward_m_s: self.forward_m_s,
            left_m_s: self.left_m_s + ahead_m * self.yaw_rad_s,
            cos_yaw: self.cos_yaw,
            sin_yaw: self.sin_yaw,
        }
    }

    /// Energy of motion of vehicle, wheels and rotors, J.
    pub fn energy_j(&self) -> f64 {
        let GroundConfig { mass_kg, yaw_inertia_kg_m2, .. } = self.config;
        let speed2 = self.forward_m_s * self.forward_m_s + self.left_m_s * self.left_m_s;
        let wheels2 = self.wheel_rad_s[0] * self.wheel_rad_s[0] + self.wheel_rad_s[1] * self.wheel_rad_s[1];
        0.5 * ((mass_kg + self.payload_kg) * speed2
            + (yaw_inertia_kg_m2 + self.payload_inertia()) * self.yaw_rad_s * self.yaw_rad_s
            + self.side_inertia_kg_m2 * wheels2)
    }

    fn payload_inertia(&self) -> f64 {
        self.payload_kg * self.payload_ahead_m * self.payload_ahead_m
    }

    /// Spreads the weight over the wheels: balance of pitch about the centre of gravity, then of roll.
    fn load_wheels(&mut self, dt_s: f64) {
        let GroundConfig { front_axle_m, rear_axle_m, track_width_m, height_m, .. } = self.config;
        let along = self.transfer[0].step(dt_s, self.tyre_force_n.0);
        let across = self.transfer[1].step(dt_s, self.tyre_force_n.1);
        let payload_n = self.payload_kg * GRAVITY_M_S2 * self.slope.cos;
        let weight = self.config.mass_kg * GRAVITY_M_S2 * self.slope.cos + payload_n;
        let front = (weight * rear_axle_m + payload_n * self.payload_ahead_m - height_m * along)
            / (front_axle_m + rear_axle_m);
        let front_share = (front / weight).within(0.0, 1.0);
        let right_share = (0.5 + height_m * across / (track_width_m * weight)).within(0.0, 1.0);
        let axles = [front_share * weight, (1.0 - front_share) * weight];
        for (index, wheel) in self.wheels.iter_mut().enumerate() {
            let side = if index % 2 == 0 { 1.0 - right_share } else { right_share };
            wheel.forces.load_n = axles[index / 2] * side;
        }
    }

    /// The velocity stays, the frame turns under it. A rotation keeps the energy to fourth order of ω·dt.
    fn turn_velocity_into_new_frame(&mut self, dt_s: f64) {
        let angle = self.yaw_rad_s * dt_s;
        let cos = 1.0 - 0.5 * angle * angle;
        let (forward, left) = (self.forward_m_s, self.left_m_s);
        self.forward_m_s = cos * forward + angle * left;
        self.left_m_s = cos * left - angle * forward;
    }

    /// Rolling speed and sliding velocity (along, across) of a wheel's contact.
    fn slip(&self, index: usize) -> (f64, (f64, f64)) {
        let wheel = &self.wheels[index];
        let rolling = self.wheel_rad_s[index % 2] * self.config.wheel_radius_m;
        let along = rolling - (self.forward_m_s - wheel.left_m * self.yaw_rad_s);
        let across = -(self.left_m_s + wheel.ahead_m * self.yaw_rad_s);
        (rolling.abs(), (along, across))
    }

    /// Eliminates a side's wheel speed from its own equation.
    fn side_law(&self, dt_s: f64, side: usize, shaft: TorqueLaw) -> SideLaw {
        let radius = self.config.wheel_radius_m;
        let (front, rear) = (&self.wheels[side], &self.wheels[side + 2]);
        let grip = |wheel: &Wheel| self.surface.longitudinal_friction * wheel.forces.load_n;
        let offset = grip(front) * front.law.along.offset + grip(rear) * rear.law.along.offset;
        let slope = grip(front) * front.law.along.slope + grip(rear) * rear.law.along.slope;
        let speed = self.wheel_rad_s[side];
        let load = front.forces.load_n + rear.forces.load_n;
        let rolling_damping = self.surface.rolling_resistance * load * radius * radius
            / (speed.abs() * radius + ROLLING_HALF_M_S);
        let drive = shaft.behind_reduction(self.config.final_drive_ratio);
        let inertia = self.side_inertia_kg_m2 / dt_s;
        let stiffness = inertia + drive.damping_nm_s + rolling_damping + radius * radius * slope;
        let free_rad_s = (inertia * speed + drive.torque_nm - radius * offset) / stiffness;
        let follow_rad_m = radius * slope / stiffness;
        SideLaw {
            left_m: front.left_m,
            force_n: offset + slope * radius * free_rad_s,
            damping_n_s_m: slope * (1.0 - radius * follow_rad_m),
            free_rad_s,
            follow_rad_m,
        }
    }

    /// Solves for forward speed, leftward speed and yaw rate at the end of the step.
    fn solve(&mut self, dt_s: f64, sides: &[SideLaw; 2], push: &PushLaw) {
        let mass = (self.config.mass_kg + self.payload_kg) / dt_s;
        let inertia = (self.config.yaw_inertia_kg_m2 + self.payload_inertia()) / dt_s;
        let downhill = -mass * dt_s * GRAVITY_M_S2 * self.slope.sin;
        let Slope { uphill_east: east, uphill_north: north, .. } = self.slope;
        let mut system = Symmetric3::new(
            [mass, mass, inertia],
            [
                mass * self.forward_m_s
                    + downhill * (east * self.cos_yaw + north * self.sin_yaw)
                    + self.disturbance.forward_n,
                mass * self.left_m_s
                    + downhill * (north * self.cos_yaw - east * self.sin_yaw)
                    + self.disturbance.left_n,
                inertia * self.yaw_rad_s + self.disturbance.yaw_nm,
            ],
        );
        for side in sides {
            system.add([1.0, 0.0, -side.left_m], side.force_n, side.damping_n_s_m);
        }
        for wheel in &self.wheels {
            let grip = self.surface.lateral_friction * wheel.forces.load_n;
            let (offset, slope) = (grip * wheel.law.across.offset, grip * wheel.law.across.slope);
            system.add([0.0, 1.0, wheel.ahead_m], offset, slope);
        }
        if push.force_n != 0.0 || push.damping_n_s_m != 0.0 {
            let direction = [push.forward, push.leftward, push.leftward * push.ahead_m];
            system.add(direction, push.force_n, push.damping_n_s_m);
        }
        [self.forward_m_s, self.left_m_s, self.yaw_rad_s] = system.solve();
    }

    /// Moves place and yaw with the speeds at the end of the step, the heading taken half-way.
    fn move_on(&mut self, dt_s: f64) {
        let half = 0.5 * dt_s * self.yaw_rad_s;
        let (cos, sin) = (self.cos_yaw - half * self.sin_yaw, self.sin_yaw + half * self.cos_yaw);
        self.x_m += dt_s * (self.forward_m_s * cos - self.left_m_s * sin);
        self.y_m += dt_s * (self.forward_m_s * sin + self.left_m_s * cos);
        self.yaw_rad += dt_s * self.yaw_rad_s;
        (self.sin_yaw, self.cos_yaw) = libm::sincos(self.yaw_rad);
    }
}

#[cfg(test)]
mod tests;
