//! From the wires to quantities and their health; the levers are with their stations.

use trunnion::declare::Refusal;
use trunnion::quantity::{Kilopascals, Millis, Millivolts, Permille, Rpm};
use trunnion::sense::{
    Changeover, ChangeoverConfig, Debounce, DebounceConfig, DualContact, DualContactConfig, PulseSpeed,
    PulseSpeedConfig, RatiometricSensor, RatiometricSensorConfig, Reading, Span, SpeedComparison,
    SpeedComparisonConfig,
};
use trunnion::timing::RisingEdge;
use trunnion_can::bus_engine::{BusEngine, BusEngineConfig};

use super::PERIOD;
use crate::declaration::{Inputs, Parameter, Parameters};

/// What the wires say, conditioned.
#[derive(Debug, Clone, Copy)]
pub struct Sensed {
    /// Controller supply as read.
    pub supply: Millivolts,
    /// Coil supply behind the cut-off.
    pub read_back: Millivolts,
    /// The sensor supply is good.
    pub sensor_supply_good: bool,
    /// Key in position "run".
    pub key_on: bool,
    /// Seats of the left and the right station, debounced for rough ground.
    pub seats: [bool; 2],
    /// Operator asks for the brake to be off.
    pub park_brake_off: bool,
    /// Emergency stop pressed: either contact open.
    pub emergency_stop: bool,
    /// Emergency stop contacts disagree.
    pub emergency_stop_contacts: bool,
    /// Enable button pressed anew.
    pub ask: bool,
    /// Vibration button pressed anew.
    pub vibration_pressed: bool,
    /// Amplitude rocker: true small, false large, faulted when neither or both.
    pub amplitude: Reading<bool>,
    /// Engine speed from the pickup.
    pub engine: Reading<Rpm>,
    /// Engine speed from the bus.
    pub engine_bus: Reading<Rpm>,
    /// Pickup and bus disagree.
    pub engine_disagrees: bool,
    /// The engine runs.
    pub engine_runs: bool,
    /// The engine is known to stand: the pickup or the bus is heard, and neither says that it runs.
    pub engine_stands: bool,
    /// Travel motor speed, negative in reverse.
    pub travel: Reading<Rpm>,
    /// Speed of the eccentric shaft.
    pub eccentric: Reading<Rpm>,
    /// Charge pressure.
    pub charge_pressure: Reading<Kilopascals>,
}

/// The sense room of the roller.
#[derive(Debug, Clone)]
pub struct Sensing {
    key: Debounce,
    left_seat: Debounce,
    right_seat: Debounce,
    brake_switch: Debounce,
    emergency_stop: DualContact,
    enable: Debounce,
    enable_edge: RisingEdge,
    vibration: Debounce,
    vibration_edge: RisingEdge,
    amplitude: Changeover,
    sensor: RatiometricSensor,
    pressure: Span<Kilopascals>,
    engine: PulseSpeed,
    engine_bus: BusEngine,
    comparison: SpeedComparison,
    travel: PulseSpeed,
    eccentric: PulseSpeed,
    running_speed: Rpm,
}

/// Bands of every 0.5–4.5 V sensor.
pub const SENSOR: RatiometricSensorConfig = RatiometricSensorConfig {
    low_fault: Permille::saturating(40),
    low: Permille::saturating(100),
    high: Permille::saturating(900),
    high_fault: Permille::saturating(960),
    supply_low: Millivolts::saturating(4_750),
    supply_high: Millivolts::saturating(5_250),
};

/// Speeds that no shaft of this machine reaches.
const FASTEST_ENGINE: i32 = 4_500;
const FASTEST_TRAVEL_MOTOR: i32 = 3_500;
const FASTEST_ECCENTRIC: i32 = 3_500;

/// The refusal of what is fixed in the program and can only contradict the period.
pub fn fixed(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::control_period, "does not fit a time that is fixed in the program")
}

const fn contact(set: u32, clear: u32) -> DebounceConfig {
    DebounceConfig { set_after: Millis::from_ticks(set), clear_after: Millis::from_ticks(clear) }
}

fn seat(parameters: &Parameters) -> DebounceConfig {
    DebounceConfig { set_after: Millis::from_ticks(100), clear_after: parameters.seat_open_after() }
}

fn pickup(teeth: u16, fastest: i32) -> PulseSpeedConfig {
    PulseSpeedConfig { teeth, zero_speed_after: Millis::from_ticks(200), fastest: Rpm::from_whole(fastest) }
}

fn engine_bus(parameters: &Parameters) -> BusEngineConfig {
    BusEngineConfig { period: Millis::from_ticks(20), start_up: parameters.start_up_window(), most_frames: 4 }
}

fn comparison(parameters: &Parameters) -> SpeedComparisonConfig {
    SpeedComparisonConfig {
        tolerance: Rpm::from_whole(parameters.speed_difference().into()),
        disagree_after: Millis::from_ticks(300),
    }
}

impl Sensing {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let of_contact = |config| Debounce::new(config, PERIOD).map_err(|_| fixed(parameters));
        let of_pickup = |parameter, teeth, fastest| {
            PulseSpeed::new(pickup(teeth, fastest), PERIOD)
                .map_err(|_| parameters.contradiction(parameter, "gives no speed"))
        };
        let apart = Millis::from_ticks(100);
        Ok(Self {
            key: of_contact(contact(50, 20))?,
            left_seat: of_contact(seat(parameters))?,
            right_seat: of_contact(seat(parameters))?,
            brake_switch: of_contact(contact(50, 20))?,
            emergency_stop: DualContact::new(DualContactConfig { disagree_after: apart }, PERIOD)
                .map_err(|_| fixed(parameters))?,
            enable: of_contact(contact(30, 30))?,
            enable_edge: RisingEdge::new(),
            vibration: of_contact(contact(30, 30))?,
            vibration_edge: RisingEdge::new(),
            amplitude: Changeover::new(ChangeoverConfig { disagree_after: apart }, PERIOD)
                .map_err(|_| fixed(parameters))?,
            sensor: RatiometricSensor::new(SENSOR).map_err(|_| fixed(parameters))?,
            pressure: Span::new(Kilopascals::ZERO, Kilopascals::saturating(4_000)),
            engine: of_pickup(Parameter::engine_teeth, parameters.engine_teeth(), FASTEST_ENGINE)?,
            engine_bus: BusEngine::new(engine_bus(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::start_up_window, "is no start-up window"))?,
            comparison: SpeedComparison::new(comparison(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::speed_difference, "is no tolerance"))?,
            travel: of_pickup(Parameter::motor_teeth, parameters.motor_teeth(), FASTEST_TRAVEL_MOTOR)?,
            eccentric: of_pickup(
                Parameter::eccentric_teeth,
                parameters.eccentric_teeth(),
                FASTEST_ECCENTRIC,
            )?,
            running_speed: Rpm::from_whole(parameters.running_speed().into()),
        })
    }

    /// Takes new parameters; what was measured so far is kept.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        for contact in [&mut self.left_seat, &mut self.right_seat] {
            contact.reconfigure(seat(parameters)).map_err(|_| fixed(parameters))?;
        }
        let pickups = [
            (&mut self.engine, Parameter::engine_teeth, pickup(parameters.engine_teeth(), FASTEST_ENGINE)),
            (
                &mut self.travel,
                Parameter::motor_teeth,
                pickup(parameters.motor_teeth(), FASTEST_TRAVEL_MOTOR),
            ),
            (
                &mut self.eccentric,
                Parameter::eccentric_teeth,
                pickup(parameters.eccentric_teeth(), FASTEST_ECCENTRIC),
            ),
        ];
        for (speed, parameter, config) in pickups {
            speed.reconfigure(config).map_err(|_| parameters.contradiction(parameter, "gives no speed"))?;
        }
        self.engine_bus
            .reconfigure(engine_bus(parameters))
            .map_err(|_| parameters.contradiction(Parameter::start_up_window, "is no start-up window"))?;
        self.comparison
            .reconfigure(comparison(parameters))
            .map_err(|_| parameters.contradiction(Parameter::speed_difference, "is no tolerance"))?;
        self.running_speed = Rpm::from_whole(parameters.running_speed().into());
        Ok(())
    }

    /// First hop: one period of the wires.
    pub fn step(&mut self, inputs: &Inputs) -> Sensed {
        let emergency_stop =
            self.emergency_stop.step(!inputs.emergency_stop_first, inputs.emergency_stop_second);
        let engine = self.engine.step(inputs.engine_pickup_edges, inputs.engine_pickup_stamp);
        let engine_bus = self.engine_bus.step(inputs.engine_controller, inputs.engine_controller_count).speed;
        let engine_speed = if engine.is_valid() { engine } else { engine_bus };
        let slow = |speed: Reading<Rpm>| speed.or(Rpm::ZERO) < self.running_speed;
        let enable = self.enable.step(inputs.enable_button);
        let vibration = self.vibration.step(inputs.vibration_button);
        let travel = self.travel.step(inputs.travel_motor_edges, inputs.travel_motor_stamp);
        Sensed {
            supply: inputs.supply_voltage,
            read_back: inputs.coil_supply_read_back,
            sensor_supply_good: inputs.sensor_supply >= SENSOR.supply_low
                && inputs.sensor_supply <= SENSOR.supply_high,
            key_on: self.key.step(inputs.key_on),
            seats: [
                self.left_seat.step(inputs.left_seat_occupied),
                self.right_seat.step(inputs.right_seat_occupied),
            ],
            park_brake_off: self.brake_switch.step(inputs.park_brake_off),
            emergency_stop: !(inputs.emergency_stop_first && inputs.emergency_stop_second),
            emergency_stop_contacts: !emergency_stop.is_valid(),
            ask: self.enable_edge.step(enable),
            vibration_pressed: self.vibration_edge.step(vibration),
            amplitude: self.amplitude.step(inputs.amplitude_high_contact, inputs.amplitude_low_contact),
            engine,
            engine_bus,
            engine_disagrees: self.comparison.step(engine, engine_bus),
            engine_runs: !slow(engine_speed),
            engine_stands: engine_speed.is_valid() && slow(engine) && slow(engine_bus),
            travel: if inputs.travel_motor_reverse {
                travel.map(|speed| Rpm::ZERO.minus(speed))
            } else {
                travel
            },
            eccentric: self.eccentric.step(inputs.eccentric_edges, inputs.eccentric_stamp),
            charge_pressure: self
                .sensor
                .step(inputs.charge_pressure_signal, inputs.sensor_supply)
                .map(|share| self.pressure.at(share)),
        }
    }
}
