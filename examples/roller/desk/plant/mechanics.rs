//! Drive, brake, steering, drum and engine of the V84: kinematics with lags, no forces.
//!
//! Every lag is of first order (common practice for a sketch of a hydrostatic machine, no source). What only forces would
//! show is left out: wheel slip, pressures, an engine that stalls.

use roller::declaration::Coil as CoilName;
use trunnion_rig::plant::{Battery, Coil, CoilDrive, Key, Lag, PlantConfigError};

use super::frame::Frame;
use super::values;

/// Seconds of one fast step of the controller.
const STEP_S: f64 = 1.0e-3;

/// What reaches the mechanics from the controller's outputs and the operator.
#[derive(Debug, Clone, Copy)]
pub struct Drives {
    /// Duty of each coil, 0 to 1.
    pub duties: [f64; CoilName::COUNT],
    /// Coil supply relay is closed.
    pub coil_supply: bool,
    /// Park brake valve is energised.
    pub park_brake_valve: bool,
    /// Key behind the start interlock.
    pub key: Key,
    /// Hand throttle, 0 to 1.
    pub throttle: f64,
}

/// The machine without its wires.
#[derive(Debug, Clone)]
pub struct Mechanics {
    pub coils: [Coil; CoilName::COUNT],
    pub battery: Battery,
    pub frame: Frame,
    engine_rpm: Lag,
    fires: bool,
    charge_bar: Lag,
    /// 1 open, 0 closed.
    brake: Lag,
    /// Speed that the oil drives at, without the slope.
    oil_m_s: Lag,
    speed_m_s: f64,
    before_m_s: f64,
    acceleration: Lag,
    spool: Lag,
    /// Shaft speed, large amplitude positive.
    eccentric_rpm: Lag,
    slope_rad: f64,
}

fn share(ampere: f64, (threshold, end): (f64, f64)) -> f64 {
    ((ampere - threshold) / (end - threshold)).max(0.0).min(1.0)
}

impl Mechanics {
    /// The machine at rest on level ground, engine off.
    pub fn new() -> Result<Self, PlantConfigError> {
        let (pump, steer) = (Coil::new(values::PUMP_COIL)?, Coil::new(values::STEER_COIL)?);
        let (p, s) = (|| pump.clone(), || steer.clone());
        Ok(Self {
            coils: [p(), p(), s(), s(), p(), p()],
            battery: Battery::new(values::BATTERY)?,
            frame: Frame::new(values::JOINT_TO_DRUM_M, values::JOINT_TO_TYRES_M, values::LARGEST_ANGLE_RAD),
            engine_rpm: Lag::new(values::ENGINE_LAG_S, 0.0)?,
            fires: false,
            charge_bar: Lag::new(values::CHARGE_LAG_S, 0.0)?,
            brake: Lag::new(values::BRAKE_LAG_S, 0.0)?,
            oil_m_s: Lag::new(values::DRIVE_LAG_S, 0.0)?,
            speed_m_s: 0.0,
            before_m_s: 0.0,
            acceleration: Lag::new(0.05, 0.0)?,
            spool: Lag::new(values::SPOOL_LAG_S, 0.0)?,
            eccentric_rpm: Lag::new(values::ECCENTRIC_LAG_S, 0.0)?,
            slope_rad: 0.0,
        })
    }

    /// The engine runs already when the story begins.
    pub fn start_engine(&mut self) {
        self.fires = true;
        self.engine_rpm.reset(values::LOW_IDLE_RPM);
        self.charge_bar.reset(values::CHARGE_BAR);
    }

    /// Slope of the ground, rising along the drum's heading.
    pub fn set_slope(&mut self, slope_rad: f64) {
        self.slope_rad = slope_rad;
    }

    /// Advances one fast step.
    pub fn advance(&mut self, drives: &Drives) {
        self.electrics(drives);
        self.engine(drives);
        let flow = (self.engine_rpm.value() / values::HIGH_IDLE_RPM).min(1.0);
        self.travel(flow, drives.park_brake_valve);
        let wanted =
            self.opening(CoilName::steer_left, CoilName::steer_right, values::STEER_A, values::STEER_A);
        // Steering has priority: from half the rated flow on it has all that it needs.
        let spool = self.spool.step(STEP_S, wanted) * (2.0 * flow).min(1.0);
        self.frame.step(STEP_S, self.speed_m_s, spool * values::STEER_RATE_RAD_S);
        let drum = self.opening(
            CoilName::vibration_high,
            CoilName::vibration_low,
            values::HIGH_AMPLITUDE_A,
            values::PUMP_A,
        );
        let full = if drum > 0.0 { values::HIGH_AMPLITUDE_RPM } else { values::LOW_AMPLITUDE_RPM };
        self.eccentric_rpm.step(STEP_S, drum * full * flow);
        let change = (self.speed_m_s - self.before_m_s) / STEP_S;
        self.acceleration.step(STEP_S, change);
        self.before_m_s = self.speed_m_s;
    }

    fn electrics(&mut self, drives: &Drives) {
        let battery_v = self.battery.terminal_v();
        let supply_v = if drives.coil_supply { battery_v } else { 0.0 };
        let starter_a = if drives.key == Key::Start && !self.fires { values::STARTER_A } else { 0.0 };
        let mut load_a = 8.0 + starter_a;
        for (coil, duty) in self.coils.iter_mut().zip(drives.duties) {
            coil.step(STEP_S, &CoilDrive { duty, supply_v, battery_v });
            load_a += duty * coil.current_a();
        }
        self.battery.step(STEP_S, load_a, self.engine_rpm.value());
    }

    fn engine(&mut self, drives: &Drives) {
        let cranks = drives.key == Key::Start;
        self.fires = drives.key != Key::Off
            && (self.fires || (cranks && self.engine_rpm.value() >= values::FIRING_RPM));
        let governed =
            values::LOW_IDLE_RPM + drives.throttle * (values::HIGH_IDLE_RPM - values::LOW_IDLE_RPM);
        let target = match (self.fires, cranks) {
            (true, _) => governed,
            (false, true) => values::CRANKING_RPM,
            (false, false) => 0.0,
        };
        let rpm = self.engine_rpm.step(STEP_S, target);
        let charge = values::CHARGE_BAR * (rpm / (0.8 * values::LOW_IDLE_RPM)).min(1.0);
        self.charge_bar.step(STEP_S, charge);
    }

    /// From −1 to 1: the first coil's way is positive.
    fn opening(&self, positive: CoilName, negative: CoilName, first: (f64, f64), second: (f64, f64)) -> f64 {
        let current = |coil: CoilName| self.coils[coil as usize].current_a();
        share(current(positive), first) - share(current(negative), second)
    }

    fn travel(&mut self, flow: f64, valve: bool) {
        let pump =
            self.opening(CoilName::drive_forward, CoilName::drive_reverse, values::PUMP_A, values::PUMP_A);
        // Without charge pressure a pump has no control oil and its loop no oil to turn the motor.
        let charged = (self.charge_bar.value() / values::BRAKE_LIFTS_BAR).min(1.0);
        let oil = self.oil_m_s.step(STEP_S, pump * flow * charged * values::TOP_SPEED_M_S);
        let sine = libm::sin(self.slope_rad);
        let lifted = valve && self.charge_bar.value() >= values::BRAKE_LIFTS_BAR;
        let open = self.brake.step(STEP_S, f64::from(u8::from(lifted)));
        let rolling = oil - values::LEAK_M_S * sine;
        self.speed_m_s = if open >= 0.5 {
            rolling
        } else {
            // The closed brake slows down what rolls, less so downhill, and holds what stands.
            self.oil_m_s.reset(0.0);
            let slower =
                (values::BRAKE_M_S2 + values::GRAVITY_M_S2 * sine * self.speed_m_s.signum()).max(0.0);
            let taken = (slower * STEP_S).min(self.speed_m_s.abs());
            self.speed_m_s - taken.copysign(self.speed_m_s)
        };
    }

    /// Speed of the drum, forward positive.
    pub fn speed_m_s(&self) -> f64 {
        self.speed_m_s
    }

    /// Acceleration forward behind a lag of 50 ms, as an operator feels it.
    pub fn acceleration_m_s2(&self) -> f64 {
        self.acceleration.value()
    }

    /// Speed of the travel motor.
    pub fn motor_rad_s(&self) -> f64 {
        self.speed_m_s * values::MOTOR_RAD_PER_M
    }

    /// Engine speed.
    pub fn engine_rpm(&self) -> f64 {
        self.engine_rpm.value()
    }

    /// Charge pressure.
    pub fn charge_bar(&self) -> f64 {
        self.charge_bar.value()
    }

    /// Opening of the brake, 0 closed to 1 open.
    pub fn brake(&self) -> f64 {
        self.brake.value()
    }

    /// Speed of the eccentric shaft, large amplitude positive.
    pub fn eccentric_rpm(&self) -> f64 {
        self.eccentric_rpm.value()
    }

    /// Largest current through a coil of the drive.
    pub fn drive_current_ma(&self) -> f64 {
        self.coils.iter().take(2).fold(0.0, |most: f64, coil| most.max(1_000.0 * coil.current_a()))
    }
}
