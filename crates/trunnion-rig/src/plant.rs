//! The parts of simulated machines. A machine's own plant joins them and gives them their values.
//!
//! Each part is a checked config, private state, a `step` and read-only observers; all are `Clone`, so a
//! snapshot of a plant is a copy. Everything is deterministic: `f64` with IEEE operations and `libm` only,
//! fixed steps, chance only from a [`SplitMix64`] that the plant seeds. Refusals name field, value and range
//! ([`PlantConfigError`]). Setters that a scenario reaches bring values into their range instead.
//!
//! | part | what it is | equations and sources | step |
//! |---|---|---|---|
//! | [`Engine`] | diesel with governor droop, torque limit ([`TorqueCurve`]), starter, stall | definition of droop | 50–100 µs |
//! | [`Charge`] | charge pump and relief | engineering judgement | 50–100 µs |
//! | [`Pump`] | variable pump: coil pair ([`CoilMap`]) → swash → flow | ISO 4391 definitions | 50–100 µs |
//! | [`Line`] | closed loop: compliance, leaks, relief | dp/dt = (E/V)·ΣQ, textbook | 50–100 µs, `law` + `settle` |
//! | [`Motor`] | fixed or two-speed motor | ISO 4391 definitions | 50–100 µs, `law` |
//! | [`ParkBrake`] | spring-applied, pressure-released | Dahl friction | 50–100 µs, `law` + `settle` |
//! | [`SideDrive`] | the four above on one shaft | | 50–100 µs, `law` + `settle` |
//! | [`Ground`] | skid steer on four tyres in the plane | Wong; Mandow; Siegwart & Nourbakhsh; Pacejka | 50–100 µs |
//! | [`Pile`] | a pile that resists the bucket | engineering judgement | 50–100 µs, `law` + `settle` |
//! | [`Spool`] | coil pair → spool position, float stage | first-order lag | 1 ms |
//! | [`OpenCentre`] | gear pump shared by all spools | orifice equation | 1 ms |
//! | [`Cylinder`] | boom, bucket: flow → movement | engineering judgement | 1 ms |
//! | [`Coil`] | R–L on a PWM output, copper, wiring faults | exact solution; CRC Handbook | 1 ms |
//! | [`CurrentSense`] | ampere → 12-bit counts | | – |
//! | [`Battery`] | supply, cranking dip, alternator | Ohm's law | 1 ms |
//! | [`Pickup`] | pulse pickup: edge count and stamp | f = z·n/60 | 0.1–1 ms |
//! | [`CanLever`] | lever with real joystick frames | SAE J1939-71 | ≤ its period |
//! | [`EngineUnit`] | EEC1 of the engine's own controller | SAE J1939-71 | ≤ its period |
//! | [`Switch`] | wired contact with bounce | | 1 ms |
//! | [`AnalogSensor`] | ratiometric 0.5–4.5 V | practice | 1 ms |
//!
//! Below them: [`Lag`] (first order, exact), `bristle` (friction that sticks), `tyre` (slip on the friction
//! circle), [`TorqueLaw`] and [`PushLaw`] (below), `broadcast` (period and phase of a message), [`units`], and
//! [`SharedMotion`] (what one plant computed serves others that are driven the same).
//!
//! # How the stiff parts are joined
//!
//! Oil columns and tyres are faster than any affordable step. They are solved together by a linearly
//! implicit Euler step: each part states a *law*, a straight line in a speed at the end of the step; the
//! ground adds them up and finds the speeds; each part then *settles* on them. One sub-step reads:
//!
//! ```
//! use trunnion_rig::plant::{Charge, Engine, EngineInputs, Ground, GroundInputs, Pile, SideControl, SideDrive, Sides};
//!
//! /// The parts of a drive train; the machine's own plant has this struct.
//! struct DriveTrain { engine: Engine, charge: Charge, left: SideDrive, right: SideDrive, ground: Ground, pile: Pile }
//!
//! fn sub_step(train: &mut DriveTrain, dt_s: f64, control: &Sides<SideControl>, mut engine: EngineInputs, edge_m: f64) {
//!     let (speed, motors) = (train.engine.speed_rad_s(), train.ground.motor_rad_s());
//!     train.charge.step(dt_s, speed);
//!     train.left.step(dt_s, &control.left);
//!     train.right.step(dt_s, &control.right);
//!     let inputs = GroundInputs {
//!         drive: Sides {
//!             left: train.left.law(dt_s, speed, motors.left),
//!             right: train.right.law(dt_s, speed, motors.right),
//!         },
//!         push: train.pile.law(dt_s, &train.ground.point(edge_m), 1.0),
//!     };
//!     train.ground.step(dt_s, &inputs);
//!     let motors = train.ground.motor_rad_s();
//!     train.left.settle(dt_s, motors.left);
//!     train.right.settle(dt_s, motors.right);
//!     train.pile.settle(dt_s, &train.ground.point(edge_m));
//!     engine.load_torque_nm = train.left.engine_torque_nm(speed)
//!         + train.right.engine_torque_nm(speed)
//!         + train.charge.torque_nm();
//!     train.engine.step(dt_s, &engine);
//! }
//! ```
//!
//! The coupling with the engine is explicit: its flywheel is slow against the oil. The joined drive train
//! takes about 0.2 µs a sub-step (`real_time_factor`, an ignored test of `side_drive`, prints it).

mod analog_sensor;
mod battery;
mod bristle;
mod broadcast;
mod can_lever;
mod charge;
mod coil;
mod coil_map;
mod config_error;
mod current_sense;
mod cylinder;
mod engine;
mod engine_unit;
mod ground;
mod lag;
mod law;
mod line;
mod motor;
mod open_centre;
mod park_brake;
mod pickup;
mod pile;
mod pump;
mod random;
mod service_tool;
mod shared_motion;
mod side_drive;
mod speed_command;
mod spool;
mod switch;
mod symmetric3;
mod torque_curve;
mod tyre;
pub mod units;
mod within;

pub use analog_sensor::{AnalogSensor, AnalogSensorConfig, Pull, SensorFault};
pub use battery::{Battery, BatteryConfig, BatteryFault};
pub use broadcast::{BusFrame, broadcast_id};
pub use can_lever::{
    ButtonState, CanLever, CanLeverConfig, Fit, FlagFault, JoystickMessage, LEVER_BUTTONS, LeverAxis,
    LeverFault,
};
pub use charge::{Charge, ChargeConfig, ChargeFault};
pub use coil::{COPPER_PER_KELVIN, Coil, CoilConfig, CoilDrive, CoilFault};
pub use coil_map::CoilMap;
pub use config_error::PlantConfigError;
pub use current_sense::{CurrentSense, CurrentSenseConfig, FULL_SCALE_COUNTS};
pub use cylinder::{Cylinder, CylinderConfig};
pub use engine::{Combustion, Engine, EngineConfig, EngineInputs, Key, StarterConfig};
pub use engine_unit::{EngineUnit, EngineUnitConfig, EngineUnitFault};
pub use ground::{Disturbance, Ground, GroundConfig, GroundInputs, PointMotion, Sides, WheelForces};
pub use lag::Lag;
pub use law::{PushLaw, TorqueLaw};
pub use line::{Line, LineConfig, LineFlows, PressureLaw};
pub use motor::{Motor, MotorConfig, MotorSpeeds, SpeedRange};
pub use open_centre::{Demand, OpenCentre, OpenCentreConfig};
pub use park_brake::{BrakeValve, ParkBrake, ParkBrakeConfig, ParkBrakeFault};
pub use pickup::{Pickup, PickupConfig, PickupFault};
pub use pile::{Pile, PileConfig};
pub use pump::{Pump, PumpConfig, PumpControl, PumpFault};
pub use random::SplitMix64;
pub use service_tool::ServiceTool;
pub use shared_motion::SharedMotion;
pub use side_drive::{SideControl, SideDrive};
pub use speed_command::SpeedCommand;
pub use spool::{FloatStage, Spool, SpoolConfig, SpoolCurrents, SpoolFault};
pub use switch::{Actuation, ContactKind, Level, Switch, SwitchConfig, SwitchFault};
pub use torque_curve::{TORQUE_CURVE_POINTS, TorqueCurve};
pub use tyre::{Surface, TyreConfig};
