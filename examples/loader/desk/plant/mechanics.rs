//! Engine, hydraulics and vehicle of the Q36, joined.

use trunnion_rig::plant::{
    Battery, BrakeValve, Charge, Coil, CoilDrive, Cylinder, Demand, Engine, EngineInputs, Ground,
    GroundInputs, Key, Line, Motor, OpenCentre, ParkBrake, Pile, PlantConfigError, Pump, PumpControl,
    PushLaw, SideControl, SideDrive, Sides, SpeedRange, Spool, SpoolCurrents,
};

use super::values;
use loader::declaration::Coil as CoilName;

/// Seconds of one sub-step: the hydraulic loops want no more than 100 µs.
const SUB_STEP_S: f64 = 1.0e-4;
/// Sub-steps in one fast step of the controller.
const SUB_STEPS: u32 = 10;
/// Seconds of one fast step of the controller.
const FAST_STEP_S: f64 = 1.0e-3;

/// What reaches the mechanics from the controller's outputs and the operator.
#[derive(Debug, Clone, Copy)]
pub struct Drives {
    /// Duty of each coil, 0 to 1.
    pub duties: [f64; CoilName::COUNT],
    /// Coil supply relay is closed.
    pub coil_supply: bool,
    /// Park brake valve is energised.
    pub park_brake_valve: bool,
    /// Two-speed valve is energised.
    pub two_speed_valve: bool,
    /// Key behind the start interlock.
    pub key: Key,
    /// Hand throttle, 0 to 1.
    pub throttle: f64,
}

/// Equal to the last bit.
impl PartialEq for Drives {
    fn eq(&self, other: &Self) -> bool {
        let bits = |drives: &Self| (drives.duties.map(f64::to_bits), drives.throttle.to_bits());
        let rest =
            |drives: &Self| (drives.coil_supply, drives.park_brake_valve, drives.two_speed_valve, drives.key);
        bits(self) == bits(other) && rest(self) == rest(other)
    }
}

/// The machine without its wires.
#[derive(Debug, Clone)]
pub struct Mechanics {
    pub engine: Engine,
    pub charge: Charge,
    pub left: SideDrive,
    pub right: SideDrive,
    pub ground: Ground,
    pub battery: Battery,
    pub coils: [Coil; CoilName::COUNT],
    pub boom: Cylinder,
    pub bucket: Cylinder,
    pile: Pile,
    pile_is_there: bool,
    work_pump: OpenCentre,
    boom_spool: Spool,
    bucket_spool: Spool,
    auxiliary_spool: Spool,
    auxiliary_flow_m3_s: f64,
    payload_kg: f64,
    forward_before_m_s: f64,
    acceleration_m_s2: f64,
}

fn side() -> Result<SideDrive, PlantConfigError> {
    Ok(SideDrive::new(
        Pump::new(values::PUMP)?,
        Line::new(values::LINE)?,
        Motor::new(values::MOTOR)?,
        ParkBrake::new(values::PARK_BRAKE)?,
    ))
}

impl Mechanics {
    /// The machine at rest, engine off, boom down, bucket curled.
    pub fn new() -> Result<Self, PlantConfigError> {
        let (pump, spool) = (Coil::new(values::PUMP_COIL)?, Coil::new(values::SPOOL_COIL)?);
        let (p, s) = (|| pump.clone(), || spool.clone());
        Ok(Self {
            engine: Engine::new(values::engine()?)?,
            charge: Charge::new(values::CHARGE)?,
            left: side()?,
            right: side()?,
            ground: Ground::new(values::GROUND)?,
            battery: Battery::new(values::BATTERY)?,
            coils: [p(), p(), p(), p(), s(), s(), s(), s(), s(), s(), s()],
            boom: Cylinder::new(values::BOOM, 0.0)?,
            bucket: Cylinder::new(values::BUCKET, 0.3)?,
            pile: Pile::new(values::pile(6.0, 25_000.0))?,
            pile_is_there: false,
            work_pump: OpenCentre::new(values::WORK_PUMP)?,
            boom_spool: Spool::new(values::BOOM_SPOOL)?,
            bucket_spool: Spool::new(values::BUCKET_SPOOL)?,
            auxiliary_spool: Spool::new(values::AUXILIARY_SPOOL)?,
            auxiliary_flow_m3_s: 0.0,
            payload_kg: 0.0,
            forward_before_m_s: 0.0,
            acceleration_m_s2: 0.0,
        })
    }

    /// Puts a pile ahead; a distance of zero takes it away.
    pub fn place_pile(&mut self, distance_m: f64, stiffness_n_m: f64) {
        self.pile_is_there = distance_m > 0.0;
        if let Ok(pile) = Pile::new(values::pile(distance_m, stiffness_n_m)) {
            self.pile = pile;
        }
    }

    /// Advances one fast step.
    pub fn advance(&mut self, drives: &Drives) {
        let battery_v = self.battery.terminal_v();
        let supply_v = if drives.coil_supply { battery_v } else { 0.0 };
        let mut load_a = 8.0 + self.engine.starter_current_a();
        for (coil, duty) in self.coils.iter_mut().zip(drives.duties) {
            coil.step(FAST_STEP_S, &CoilDrive { duty, supply_v, battery_v });
            load_a += duty * coil.current_a();
        }
        self.battery.step(FAST_STEP_S, load_a, self.engine.speed_rpm());
        for _ in 0..SUB_STEPS {
            self.sub_step(drives, battery_v);
        }
        let forward = self.ground.forward_m_s();
        self.acceleration_m_s2 +=
            0.02 * ((forward - self.forward_before_m_s) / FAST_STEP_S - self.acceleration_m_s2);
        self.forward_before_m_s = forward;
        self.fill_and_empty();
    }

    fn current(&self, coil: CoilName) -> f64 {
        self.coils[coil as usize].current_a()
    }

    fn side_control(&self, forward: CoilName, reverse: CoilName, drives: &Drives) -> SideControl {
        SideControl {
            pump: PumpControl {
                forward_a: self.current(forward),
                reverse_a: self.current(reverse),
                charge_bar: self.charge.pressure_bar(),
            },
            range: if drives.two_speed_valve { SpeedRange::High } else { SpeedRange::Low },
            brake: if drives.park_brake_valve { BrakeValve::Filled } else { BrakeValve::Drained },
        }
    }

    fn sub_step(&mut self, drives: &Drives, battery_v: f64) {
        let engine_rad_s = self.engine.speed_rad_s();
        let motors = self.ground.motor_rad_s();
        let left = self.side_control(CoilName::left_pump_forward, CoilName::left_pump_reverse, drives);
        let right = self.side_control(CoilName::right_pump_forward, CoilName::right_pump_reverse, drives);
        self.charge.step(SUB_STEP_S, engine_rad_s);
        self.left.step(SUB_STEP_S, &left);
        self.right.step(SUB_STEP_S, &right);
        let edge = self.ground.point(values::BUCKET_EDGE_M);
        let bite = (1.0 - 5.0 * self.boom.position()).max(0.0);
        let push = if self.pile_is_there && bite > 0.0 {
            self.pile.law(SUB_STEP_S, &edge, bite)
        } else {
            PushLaw::NONE
        };
        let drive = Sides {
            left: self.left.law(SUB_STEP_S, engine_rad_s, motors.left),
            right: self.right.law(SUB_STEP_S, engine_rad_s, motors.right),
        };
        self.ground.step(SUB_STEP_S, &GroundInputs { drive, push });
        let motors = self.ground.motor_rad_s();
        self.left.settle(SUB_STEP_S, motors.left);
        self.right.settle(SUB_STEP_S, motors.right);
        self.pile.settle(SUB_STEP_S, &self.ground.point(values::BUCKET_EDGE_M));
        self.work(engine_rad_s);
        let load_torque_nm = self.left.engine_torque_nm(engine_rad_s)
            + self.right.engine_torque_nm(engine_rad_s)
            + self.charge.torque_nm()
            + self.work_pump.torque_nm();
        let inputs =
            EngineInputs { key: drives.key, throttle: drives.throttle, supply_v: battery_v, load_torque_nm };
        self.engine.step(SUB_STEP_S, &inputs);
    }

    fn work(&mut self, engine_rad_s: f64) {
        let pair = |positive_a, negative_a, float_a| SpoolCurrents { positive_a, negative_a, float_a };
        let boom = pair(
            self.current(CoilName::boom_raise),
            self.current(CoilName::boom_lower),
            self.current(CoilName::boom_float),
        );
        let bucket = pair(self.current(CoilName::bucket_dump), self.current(CoilName::bucket_curl), 0.0);
        let auxiliary = pair(self.current(CoilName::auxiliary_a), self.current(CoilName::auxiliary_b), 0.0);
        self.boom_spool.step(SUB_STEP_S, &boom);
        self.bucket_spool.step(SUB_STEP_S, &bucket);
        self.auxiliary_spool.step(SUB_STEP_S, &auxiliary);
        let tool = self.auxiliary_spool.position();
        let demands = [
            self.boom.demand(&self.boom_spool, self.payload_kg),
            self.bucket.demand(&self.bucket_spool, self.payload_kg),
            Demand {
                stroke: tool.abs(),
                opening_m3_s_sqrt_pa: Demand::opening(values::AUXILIARY_FLOW_L_MIN, 10.0, tool.abs()),
                load_pa: values::AUXILIARY_LOAD_PA,
            },
        ];
        let [boom, bucket, tool_flow] = self.work_pump.share(engine_rad_s, &demands);
        self.boom.step(SUB_STEP_S, &self.boom_spool, boom, self.payload_kg);
        self.bucket.step(SUB_STEP_S, &self.bucket_spool, bucket, self.payload_kg);
        self.auxiliary_flow_m3_s = tool_flow.copysign(tool);
    }

    /// A curled bucket takes what it is pushed into; a dumped one loses it.
    fn fill_and_empty(&mut self) {
        let curled = self.bucket.position() < 0.5;
        if self.pile_is_there && curled && self.pile.force_n() > 0.0 {
            let offered = (2_500.0 * self.pile.penetration_m()).min(values::BUCKET_CAPACITY_KG);
            self.payload_kg = self.payload_kg.max(offered);
        }
        if self.bucket.position() > 0.7 {
            self.payload_kg = (self.payload_kg - 900.0 * FAST_STEP_S).max(0.0);
        }
        self.ground.set_payload(self.payload_kg, values::BUCKET_EDGE_M - 0.4);
    }

    /// Largest current through a pump coil.
    pub fn drive_current_ma(&self) -> f64 {
        self.coils.iter().take(4).fold(0.0, |most: f64, coil| most.max(1_000.0 * coil.current_a()))
    }

    /// Loads the bucket from outside.
    pub fn set_payload(&mut self, payload_kg: f64) {
        self.payload_kg = payload_kg;
    }

    pub fn payload_kg(&self) -> f64 {
        self.payload_kg
    }

    pub fn pile_penetration_m(&self) -> f64 {
        if self.pile_is_there { self.pile.penetration_m().max(0.0) } else { 0.0 }
    }

    /// Forward acceleration behind a lag of 50 ms, as an operator feels it.
    pub fn acceleration_m_s2(&self) -> f64 {
        self.acceleration_m_s2
    }

    pub fn auxiliary_flow_l_min(&self) -> f64 {
        self.auxiliary_flow_m3_s * 60_000.0
    }

    pub fn work_pressure_bar(&self) -> f64 {
        self.work_pump.pressure_bar()
    }
}
