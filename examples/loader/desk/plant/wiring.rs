//! The wires between the machine and its controller: contacts, sensors, pickups, bus units.

use loader::declaration::inputs::Input;
use loader::declaration::{Inputs, Parameters};
use trunnion::declare::{Failure, Record};
use trunnion_can::mailbox::Mailbox;
use trunnion_rig::plant::{
    Actuation, AnalogSensor, AnalogSensorConfig, ContactKind, Level, Pickup, PickupConfig, PickupFault,
    PlantConfigError, Pull, SensorFault, SplitMix64, Switch, SwitchConfig, SwitchFault,
};

use super::bus::Bus;
use super::mechanics::Mechanics;
use super::values;

const PERIOD_US: u32 = 10_000;
const PERIOD_S: f64 = 0.01;
const FAST_STEP_US: u32 = 1_000;

/// A voltage behind a divider, and how its wire fails.
#[derive(Debug, Clone, Copy, Default)]
struct VoltageWire {
    fault: Option<Failure>,
    last_mv: f64,
    drift_mv: f64,
}

impl VoltageWire {
    fn read(&mut self, true_mv: f64) -> i64 {
        self.last_mv = match self.fault {
            None => true_mv,
            Some(Failure::Stuck) => self.last_mv,
            Some(Failure::Drift) => {
                self.drift_mv += 200.0 * PERIOD_S;
                true_mv + self.drift_mv
            }
            Some(_) => 0.0,
        };
        self.last_mv.max(0.0).min(36_000.0) as i64
    }

    fn set(&mut self, fault: Option<Failure>) {
        self.fault = fault;
        self.drift_mv = 0.0;
    }
}

/// All wires of the controller's inputs but the coil currents.
#[derive(Debug, Clone)]
pub struct Wiring {
    contacts: Vec<(Input, Switch)>,
    sensors: [(Input, AnalogSensor); 3],
    pickups: [(Input, Input, Pickup); 3],
    supply: VoltageWire,
    read_back: VoltageWire,
    sensor_supply: VoltageWire,
    pub bus: Bus,
    mailbox: Mailbox<5>,
    pub oil_temperature_c: f64,
    pub throttle: f64,
}

fn contact(seed: u64, input: Input, kind: ContactKind) -> Result<(Input, Switch), PlantConfigError> {
    let random = SplitMix64::for_part(seed, &format!("{input:?}"));
    let bounce_ms = match input {
        Input::left_motor_reverse | Input::right_motor_reverse => 0.0,
        _ => 12.0,
    };
    Ok((input, Switch::new(SwitchConfig { kind, bounce_ms }, random)?))
}

fn sensor(
    input: Input,
    low: f64,
    high: f64,
    time_constant_s: f64,
) -> Result<(Input, AnalogSensor), PlantConfigError> {
    Ok((input, AnalogSensor::new(AnalogSensorConfig { low, high, time_constant_s, pull: Pull::Down })?))
}

fn pickup(
    seed: u64,
    edges: Input,
    stamp: Input,
    teeth: u32,
) -> Result<(Input, Input, Pickup), PlantConfigError> {
    let random = SplitMix64::for_part(seed, &format!("{edges:?}"));
    Ok((edges, stamp, Pickup::new(PickupConfig { teeth: teeth as u16, lowest_hz: 0.0 }, random)?))
}

impl Wiring {
    pub fn new(seed: u64) -> Result<Self, PlantConfigError> {
        use ContactKind::{NormallyClosed, NormallyOpen};
        use Input::*;
        let open = [
            key_on,
            lock_released,
            seat_occupied,
            restraint_bar_down,
            park_brake_off,
            enable_button,
            pattern_h_contact,
            pattern_iso_contact,
            left_motor_reverse,
            right_motor_reverse,
        ];
        let closed = [emergency_stop_first, emergency_stop_second];
        let contacts = open
            .map(|input| contact(seed, input, NormallyOpen))
            .into_iter()
            .chain(closed.map(|input| contact(seed, input, NormallyClosed)))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Self {
            contacts,
            sensors: [
                sensor(charge_pressure_signal, 0.0, 40.0, 0.01)?,
                sensor(oil_temperature_signal, -40.0, 140.0, 1.0)?,
                sensor(hand_throttle_signal, 0.0, 1.0, 0.01)?,
            ],
            pickups: [
                pickup(seed, engine_pickup_edges, engine_pickup_stamp, values::ENGINE_TEETH)?,
                pickup(seed, left_motor_edges, left_motor_stamp, values::MOTOR_TEETH)?,
                pickup(seed, right_motor_edges, right_motor_stamp, values::MOTOR_TEETH)?,
            ],
            supply: VoltageWire::default(),
            read_back: VoltageWire::default(),
            sensor_supply: VoltageWire::default(),
            bus: Bus::new()?,
            mailbox: Mailbox::new(loader::filters(&Parameters::default())),
            oil_temperature_c: 45.0,
            throttle: 0.0,
        })
    }

    /// The hardware filters that the controller's shell takes from its parameters.
    pub fn adopt(&mut self, parameters: &Parameters) {
        self.mailbox.reconfigure(loader::filters(parameters));
    }

    /// Opens or closes a contact by hand or foot.
    pub fn actuate(&mut self, input: Input, actuated: bool) {
        for (own, switch) in &mut self.contacts {
            if *own == input {
                switch.actuate(if actuated { Actuation::Actuated } else { Actuation::Released });
            }
        }
    }

    /// One fast step: pickups count, units on the bus send.
    pub fn advance(&mut self, mechanics: &Mechanics) {
        let motors = mechanics.ground.motor_rad_s();
        let speeds = [mechanics.engine.speed_rad_s(), motors.left, motors.right];
        for ((_, _, pickup), speed) in self.pickups.iter_mut().zip(speeds) {
            pickup.step(FAST_STEP_US, speed);
        }
        let mailbox = &mut self.mailbox;
        self.bus.advance(FAST_STEP_US, &mechanics.engine, |frame| {
            mailbox.receive(frame.id, true, &frame.data);
        });
    }

    /// What the inputs read at the end of a period.
    pub fn read(&mut self, mechanics: &Mechanics, coil_supply_mv: f64) -> Inputs {
        let mut inputs = Inputs::default();
        let motors = mechanics.ground.motor_rad_s();
        self.actuate(Input::left_motor_reverse, motors.left < -0.5);
        self.actuate(Input::right_motor_reverse, motors.right < -0.5);
        for (input, switch) in &mut self.contacts {
            inputs.set(*input as u16, i64::from(switch.step(PERIOD_US) == Level::High));
        }
        let sensor_supply = self.sensor_supply.read(5_000.0);
        inputs.set(Input::sensor_supply as u16, sensor_supply.min(6_000));
        let truths = [mechanics.charge.pressure_bar(), self.oil_temperature_c, self.throttle];
        for ((input, sensor), truth) in self.sensors.iter_mut().zip(truths) {
            sensor.step(PERIOD_S, truth, 5_000.0);
            inputs.set(*input as u16, i64::from(sensor.millivolts()).min(6_000));
        }
        for (edges, stamp, pickup) in &self.pickups {
            inputs.set(*edges as u16, i64::from(pickup.count()));
            inputs.set(*stamp as u16, i64::from(pickup.stamp_us()));
        }
        let battery_mv = 1_000.0 * mechanics.battery.terminal_v();
        inputs.set(Input::supply_voltage as u16, self.supply.read(battery_mv));
        inputs.set(Input::coil_supply_read_back as u16, self.read_back.read(coil_supply_mv));
        self.deliver(&mut inputs);
        inputs
    }

    fn deliver(&self, inputs: &mut Inputs) {
        use Input::*;
        let slots = [
            (left_lever_basic, left_lever_basic_count),
            (left_lever_extended, left_lever_extended_count),
            (right_lever_basic, right_lever_basic_count),
            (right_lever_extended, right_lever_extended_count),
            (engine_controller, engine_controller_count),
        ];
        for (place, (data, count)) in slots.into_iter().enumerate() {
            let slot = self.mailbox.slot(place as u8);
            inputs.set(data as u16, slot.data.cast_signed());
            inputs.set(count as u16, i64::from(slot.count));
        }
    }

    /// Breaks a wire, or mends it with `None`.
    pub fn set_fault(&mut self, index: u16, failure: Option<Failure>) {
        for (input, switch) in &mut self.contacts {
            if *input as u16 == index {
                switch.set_fault(contact_fault(switch, failure));
            }
        }
        for (input, sensor) in &mut self.sensors {
            if *input as u16 == index {
                sensor.set_fault(sensor_fault(failure));
            }
        }
        for (input, _, pickup) in &mut self.pickups {
            if *input as u16 == index {
                pickup.set_fault(pickup_fault(failure));
            }
        }
        let voltages = [
            (Input::supply_voltage, &mut self.supply),
            (Input::coil_supply_read_back, &mut self.read_back),
            (Input::sensor_supply, &mut self.sensor_supply),
        ];
        for (input, wire) in voltages {
            if input as u16 == index {
                wire.set(failure);
            }
        }
        self.bus.set_message_fault(index, failure);
    }
}

fn contact_fault(switch: &Switch, failure: Option<Failure>) -> SwitchFault {
    match failure {
        None => SwitchFault::None,
        Some(Failure::Open) => SwitchFault::Open,
        Some(Failure::ShortToSupply) => SwitchFault::ShortToSupply,
        Some(Failure::ShortToGround) => SwitchFault::ShortToGround,
        Some(_) if switch.level() == Level::High => SwitchFault::StuckClosed,
        Some(_) => SwitchFault::StuckOpen,
    }
}

fn sensor_fault(failure: Option<Failure>) -> SensorFault {
    match failure {
        None => SensorFault::None,
        Some(Failure::Open) => SensorFault::Open,
        Some(Failure::ShortToSupply) => SensorFault::ShortToSupply,
        Some(Failure::ShortToGround) => SensorFault::ShortToGround,
        Some(Failure::Drift) => SensorFault::Drift(0.05),
        Some(_) => SensorFault::Frozen,
    }
}

fn pickup_fault(failure: Option<Failure>) -> PickupFault {
    match failure {
        None => PickupFault::None,
        Some(Failure::Noise) => PickupFault::Noise(2_000.0),
        Some(Failure::Open) => PickupFault::Open,
        Some(_) => PickupFault::Stuck,
    }
}
