//! The wires between the machine and its controller: contacts, levers, pickups, the engine's own controller.

use roller::declaration::inputs::Input;
use roller::declaration::{Inputs, Parameters};
use trunnion::declare::{Failure, Record};
use trunnion_can::mailbox::Mailbox;
use trunnion_rig::plant::{
    AnalogSensorConfig, ContactKind, EngineUnit, EngineUnitConfig, PickupConfig, PlantConfigError, Pull,
};
use trunnion_rig::run::Way;
use trunnion_rig::wiring::{FramePath, InputWires};

use super::mechanics::Mechanics;
use super::values;

const PERIOD_US: u32 = 10_000;
/// Time of a fast step.
pub const FAST_STEP_US: u32 = 1_000;
/// An address that is nobody's.
const NOBODY: u8 = 0x77;
const SENSOR_SUPPLY_MV: f64 = 5_000.0;
const BOUNCE_MS: f64 = 12.0;
/// Radians a second of one revolution a minute.
const RAD_S_PER_RPM: f64 = core::f64::consts::TAU / 60.0;

/// Both sensors of a lever: rising and falling.
pub type LeverWires = [Input; 2];

pub const LEFT_DRIVE: LeverWires = [Input::left_drive_first, Input::left_drive_second];
pub const LEFT_STEER: LeverWires = [Input::left_steer_first, Input::left_steer_second];
pub const RIGHT_DRIVE: LeverWires = [Input::right_drive_first, Input::right_drive_second];
pub const RIGHT_STEER: LeverWires = [Input::right_steer_first, Input::right_steer_second];

/// All wires of the controller's inputs but the coil currents.
#[derive(Debug, Clone)]
pub struct Wiring {
    wires: InputWires<Inputs>,
    engine: EngineUnit,
    /// A second unit under the engine's address, while a fault asks for it.
    stranger: EngineUnit,
    duplicated: bool,
    path: FramePath,
    mailbox: Mailbox<1>,
}

const fn sensor(low: f64, high: f64, time_constant_s: f64) -> AnalogSensorConfig {
    AnalogSensorConfig { low, high, time_constant_s, pull: Pull::Down }
}

const fn pickup(teeth: u16) -> PickupConfig {
    PickupConfig { teeth, lowest_hz: 0.0 }
}

fn wires(seed: u64) -> Result<InputWires<Inputs>, PlantConfigError> {
    use Input::*;
    let mut wires = InputWires::new(seed)
        .voltage(supply_voltage as u16)
        .voltage(coil_supply_read_back as u16)
        .voltage(sensor_supply as u16)
        .contact(travel_motor_reverse as u16, ContactKind::NormallyOpen, 0.0)?
        .contact(emergency_stop_first as u16, ContactKind::NormallyClosed, BOUNCE_MS)?
        .contact(emergency_stop_second as u16, ContactKind::NormallyClosed, BOUNCE_MS)?
        .sensor(charge_pressure_signal as u16, sensor(0.0, 40.0, 0.01))?
        .pickup(engine_pickup_edges as u16, engine_pickup_stamp as u16, pickup(values::ENGINE_TEETH))?
        .pickup(travel_motor_edges as u16, travel_motor_stamp as u16, pickup(values::MOTOR_TEETH))?
        .pickup(eccentric_edges as u16, eccentric_stamp as u16, pickup(values::ECCENTRIC_MARKS))?;
    let contacts = [
        key_on,
        left_seat_occupied,
        right_seat_occupied,
        park_brake_off,
        enable_button,
        vibration_button,
        amplitude_high_contact,
        amplitude_low_contact,
    ];
    for input in contacts {
        wires = wires.contact(input as u16, ContactKind::NormallyOpen, BOUNCE_MS)?;
    }
    for input in [LEFT_DRIVE, LEFT_STEER, RIGHT_DRIVE, RIGHT_STEER].into_iter().flatten() {
        wires = wires.sensor(input as u16, sensor(-1.0, 1.0, 0.005))?;
    }
    Ok(wires)
}

impl Wiring {
    pub fn new(seed: u64) -> Result<Self, PlantConfigError> {
        let engine =
            |phase_ms| EngineUnit::new(EngineUnitConfig { source_address: 0, period_ms: 20.0, phase_ms });
        Ok(Self {
            wires: wires(seed)?,
            engine: engine(13.0)?,
            stranger: engine(18.0)?,
            duplicated: false,
            path: FramePath::new(seed, "engine", NOBODY),
            mailbox: Mailbox::new(roller::filters(&Parameters::default())),
        })
    }

    /// The hardware filters that the controller's shell takes from its parameters.
    pub fn adopt(&mut self, parameters: &Parameters) {
        self.mailbox.reconfigure(roller::filters(parameters));
    }

    /// Opens or closes a contact by hand or by sitting down.
    pub fn actuate(&mut self, input: Input, actuated: bool) {
        self.wires.actuate(input as u16, actuated);
    }

    /// Moves a lever, −1 to 1.
    pub fn move_lever(&mut self, [rising, falling]: LeverWires, deflection: f64) {
        self.wires.measure(rising as u16, deflection);
        self.wires.measure(falling as u16, -deflection);
    }

    /// One fast step: pickups count, the engine's controller sends.
    pub fn advance(&mut self, mechanics: &Mechanics) {
        let engine_rpm = mechanics.engine_rpm();
        self.wires.turn(Input::engine_pickup_edges as u16, engine_rpm * RAD_S_PER_RPM);
        self.wires.turn(Input::travel_motor_edges as u16, mechanics.motor_rad_s());
        self.wires.turn(Input::eccentric_edges as u16, mechanics.eccentric_rpm() * RAD_S_PER_RPM);
        self.wires.advance(FAST_STEP_US);
        let own = self.engine.step(FAST_STEP_US, engine_rpm, 0.3);
        let other = self.stranger.step(FAST_STEP_US, 0.5 * engine_rpm, 0.3);
        for frame in self.path.step(own).chain(other.filter(|_| self.duplicated)) {
            self.mailbox.receive(frame.id, true, &frame.data);
        }
    }

    /// What the inputs read at the end of a period.
    pub fn read(&mut self, mechanics: &Mechanics, battery_mv: f64, coil_supply_mv: f64) -> Inputs {
        self.actuate(Input::travel_motor_reverse, mechanics.motor_rad_s() < -0.5);
        let truths = [
            (Input::charge_pressure_signal, mechanics.charge_bar()),
            (Input::supply_voltage, battery_mv),
            (Input::coil_supply_read_back, coil_supply_mv),
            (Input::sensor_supply, SENSOR_SUPPLY_MV),
        ];
        for (input, truth) in truths {
            self.wires.measure(input as u16, truth);
        }
        let mut inputs = self.wires.read(PERIOD_US, SENSOR_SUPPLY_MV);
        let slot = self.mailbox.slot(0);
        inputs.set(Input::engine_controller as u16, slot.data.cast_signed());
        inputs.set(Input::engine_controller_count as u16, i64::from(slot.count));
        inputs
    }

    /// Breaks a wire or the engine controller's message, or mends it with `None`.
    pub fn set_way(&mut self, input: u16, way: Option<Way>) {
        let steady = way.and_then(Way::steady);
        self.wires.set_failure(input, steady);
        if input == Input::engine_controller as u16 {
            self.duplicated = steady == Some(Failure::Duplicated);
            self.engine.set_failure(steady);
            self.path.set_way(way);
        }
    }
}
