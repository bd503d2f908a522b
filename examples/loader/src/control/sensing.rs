//! From the wires to quantities and their health.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::quantity::{Celsius, Kilopascals, Millis, Millivolts, Permille, Ratio, Rpm};
use trunnion::sense::{
    Changeover, ChangeoverConfig, Debounce, DebounceConfig, DualContact, DualContactConfig, PulseSpeed,
    PulseSpeedConfig, RatiometricSensor, RatiometricSensorConfig, Reading, Span, SpeedComparison,
    SpeedComparisonConfig,
};
use trunnion::timing::RisingEdge;
use trunnion_can::bus_engine::{BusEngine, BusEngineConfig};

use super::{MOST_FRAMES, PERIOD};
use crate::declaration::{Inputs, Parameter, Parameters};
use crate::planted::planted;

/// What the wires say, conditioned.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct Sensed {
    /// Controller supply as read.
    pub supply: Millivolts,
    /// The supply that coils may be assumed to have: as read, or the highest plausible.
    pub coil_supply: Millivolts,
    /// Coil supply behind the cut-off.
    pub read_back: Millivolts,
    /// The sensor supply is good.
    pub sensor_supply_good: bool,
    /// Key in position "run".
    pub key_on: bool,
    /// Work lock released.
    pub lock_released: bool,
    /// Seat occupied, debounced for rough ground.
    pub seat_occupied: bool,
    /// The seat contact was open at this moment, not debounced.
    pub seat_open_now: bool,
    /// Restraint bar down.
    pub restraint_bar_down: bool,
    /// Operator asks for the brake to be off.
    pub park_brake_off: bool,
    /// Emergency stop pressed: either contact open.
    pub emergency_stop: bool,
    /// Emergency stop contacts disagree.
    pub emergency_stop_contacts: bool,
    /// Enable button pressed anew.
    pub ask: bool,
    /// Rocker: true ISO, false H, faulted when neither or both.
    pub rocker: Reading<bool>,
    /// Engine speed from the pickup.
    pub engine: Reading<Rpm>,
    /// Engine speed from the bus.
    pub engine_bus: Reading<Rpm>,
    /// Pickup and bus disagree.
    pub engine_disagrees: bool,
    /// The best engine speed at hand.
    pub engine_speed: Reading<Rpm>,
    /// The engine runs.
    pub engine_runs: bool,
    /// The engine is known to stand: the pickup or the bus is heard, and neither says that it runs.
    pub engine_stands: bool,
    /// What the hand throttle asks for; high idle when its sensor fails.
    pub engine_expected: Rpm,
    /// Hand throttle, low idle to high idle.
    pub throttle: Reading<Ratio>,
    /// The hand throttle sensor is in range.
    pub throttle_good: bool,
    /// Left motor speed, negative in reverse.
    pub left_motor: Reading<Rpm>,
    /// Right motor speed, negative in reverse.
    pub right_motor: Reading<Rpm>,
    /// Charge pressure.
    pub charge_pressure: Reading<Kilopascals>,
    /// Oil temperature.
    pub oil_temperature: Reading<Celsius>,
}

/// The sense room of the loader.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Sensing {
    key: Debounce,
    lock: Debounce,
    seat: Debounce,
    bar: Debounce,
    brake_switch: Debounce,
    emergency_stop: DualContact,
    enable: Debounce,
    enable_edge: RisingEdge,
    rocker: Changeover,
    sensor: RatiometricSensor,
    pressure: Span<Kilopascals>,
    temperature: Span<Celsius>,
    engine: PulseSpeed,
    engine_bus: BusEngine,
    comparison: SpeedComparison,
    left_motor: PulseSpeed,
    right_motor: PulseSpeed,
    low_idle: Rpm,
    high_idle: Rpm,
    running_speed: Rpm,
}

const HIGHEST_SUPPLY: Millivolts = Millivolts::saturating(16_500);
const LOWEST_PLAUSIBLE_SUPPLY: Millivolts = Millivolts::saturating(5_000);
const HIGHEST_PLAUSIBLE_SUPPLY: Millivolts = Millivolts::saturating(20_000);

const SENSOR: RatiometricSensorConfig = RatiometricSensorConfig {
    low_fault: Permille::saturating(40),
    low: Permille::saturating(100),
    high: Permille::saturating(900),
    high_fault: Permille::saturating(960),
    supply_low: Millivolts::saturating(4_750),
    supply_high: Millivolts::saturating(5_250),
};

const fn contact(set: u32, clear: u32) -> DebounceConfig {
    DebounceConfig { set_after: Millis::from_ticks(set), clear_after: Millis::from_ticks(clear) }
}

fn seat(parameters: &Parameters) -> DebounceConfig {
    let delay = parameters.seat_open_after();
    if planted!(SeatDelayBackwards) {
        return DebounceConfig { set_after: delay, clear_after: Millis::from_ticks(100) };
    }
    let clear_after = if planted!(SeatDelayTooLong) { delay + delay } else { delay };
    DebounceConfig { set_after: Millis::from_ticks(100), clear_after }
}

fn pickup(teeth: u16, fastest: i32) -> PulseSpeedConfig {
    PulseSpeedConfig { teeth, zero_speed_after: Millis::from_ticks(200), fastest: Rpm::from_whole(fastest) }
}

fn engine_bus(parameters: &Parameters) -> BusEngineConfig {
    BusEngineConfig {
        period: Millis::from_ticks(20),
        start_up: parameters.start_up_window(),
        most_frames: MOST_FRAMES,
    }
}

fn comparison(parameters: &Parameters) -> SpeedComparisonConfig {
    SpeedComparisonConfig {
        tolerance: Rpm::from_whole(parameters.speed_difference().into()),
        disagree_after: Millis::from_ticks(300),
    }
}

const FASTEST_ENGINE: i32 = 4_500;
/// A motor turns at 1250 rpm with the engine at high idle, at 1950 rpm with small displacement.
const FASTEST_MOTOR: i32 = 2_500;

impl Sensing {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let fixed =
            |_| parameters.contradiction(Parameter::control_period, "a fixed time is shorter than a period");
        let teeth = |_| parameters.contradiction(Parameter::engine_teeth, "gives no speed");
        Ok(Self {
            key: Debounce::new(contact(50, 20), PERIOD).map_err(fixed)?,
            lock: Debounce::new(contact(50, 20), PERIOD).map_err(fixed)?,
            seat: Debounce::new(seat(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::seat_open_after, "is no debounce time"))?,
            bar: Debounce::new(contact(100, 20), PERIOD).map_err(fixed)?,
            brake_switch: Debounce::new(contact(50, 20), PERIOD).map_err(fixed)?,
            emergency_stop: DualContact::new(
                DualContactConfig { disagree_after: Millis::from_ticks(100) },
                PERIOD,
            )
            .map_err(|_| {
                parameters.contradiction(Parameter::control_period, "is longer than a contact's time")
            })?,
            enable: Debounce::new(contact(30, 30), PERIOD).map_err(fixed)?,
            enable_edge: RisingEdge::new(),
            rocker: Changeover::new(ChangeoverConfig { disagree_after: Millis::from_ticks(200) }, PERIOD)
                .map_err(|_| {
                    parameters.contradiction(Parameter::control_period, "is longer than a contact's time")
                })?,
            sensor: RatiometricSensor::new(SENSOR).map_err(|_| {
                parameters.contradiction(Parameter::control_period, "sensor bands are out of order")
            })?,
            pressure: Span::new(Kilopascals::ZERO, Kilopascals::saturating(4_000)),
            temperature: Span::new(Celsius::saturating(-400), Celsius::saturating(1_400)),
            engine: PulseSpeed::new(pickup(parameters.engine_teeth(), FASTEST_ENGINE), PERIOD)
                .map_err(teeth)?,
            engine_bus: BusEngine::new(engine_bus(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::start_up_window, "is no start-up window"))?,
            comparison: SpeedComparison::new(comparison(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::speed_difference, "is no tolerance"))?,
            left_motor: PulseSpeed::new(pickup(parameters.motor_teeth(), FASTEST_MOTOR), PERIOD)
                .map_err(teeth)?,
            right_motor: PulseSpeed::new(pickup(parameters.motor_teeth(), FASTEST_MOTOR), PERIOD)
                .map_err(teeth)?,
            low_idle: Rpm::ZERO,
            high_idle: Rpm::ZERO,
            running_speed: Rpm::ZERO,
        }
        .with_speeds(parameters))
    }

    fn with_speeds(mut self, parameters: &Parameters) -> Self {
        self.low_idle = Rpm::from_whole(parameters.low_idle().into());
        self.high_idle = Rpm::from_whole(parameters.high_idle().into());
        self.running_speed = Rpm::from_whole(parameters.running_speed().into());
        self
    }

    /// Takes new parameters; what was measured so far is kept.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let teeth = |_| parameters.contradiction(Parameter::engine_teeth, "gives no speed");
        self.seat
            .reconfigure(seat(parameters))
            .map_err(|_| parameters.contradiction(Parameter::seat_open_after, "is no debounce time"))?;
        self.engine.reconfigure(pickup(parameters.engine_teeth(), FASTEST_ENGINE)).map_err(teeth)?;
        self.left_motor.reconfigure(pickup(parameters.motor_teeth(), FASTEST_MOTOR)).map_err(teeth)?;
        self.right_motor.reconfigure(pickup(parameters.motor_teeth(), FASTEST_MOTOR)).map_err(teeth)?;
        self.engine_bus
            .reconfigure(engine_bus(parameters))
            .map_err(|_| parameters.contradiction(Parameter::start_up_window, "is no start-up window"))?;
        self.comparison
            .reconfigure(comparison(parameters))
            .map_err(|_| parameters.contradiction(Parameter::speed_difference, "is no tolerance"))?;
        *self = self.clone().with_speeds(parameters);
        Ok(())
    }

    /// One period.
    pub fn step(&mut self, inputs: &Inputs) -> Sensed {
        let emergency_stop =
            self.emergency_stop.step(!inputs.emergency_stop_first, inputs.emergency_stop_second);
        let engine = self.engine.step(inputs.engine_pickup_edges, inputs.engine_pickup_stamp);
        let engine_bus = self.engine_bus.step(inputs.engine_controller, inputs.engine_controller_count).speed;
        let engine_speed = if engine.is_valid() { engine } else { engine_bus };
        let throttle = self.sensor.step(inputs.hand_throttle_signal, inputs.sensor_supply);
        let enable = self.enable.step(inputs.enable_button);
        Sensed {
            supply: inputs.supply_voltage,
            coil_supply: plausible_supply(inputs.supply_voltage),
            read_back: inputs.coil_supply_read_back,
            sensor_supply_good: inputs.sensor_supply >= SENSOR.supply_low
                && inputs.sensor_supply <= SENSOR.supply_high,
            key_on: self.key.step(inputs.key_on),
            lock_released: self.lock.step(inputs.lock_released),
            seat_occupied: self.seat.step(inputs.seat_occupied),
            seat_open_now: !inputs.seat_occupied,
            restraint_bar_down: self.bar.step(inputs.restraint_bar_down),
            park_brake_off: self.brake_switch.step(inputs.park_brake_off),
            emergency_stop: !(inputs.emergency_stop_first
                && (inputs.emergency_stop_second || planted!(FirstContactOnly))),
            emergency_stop_contacts: !emergency_stop.is_valid(),
            ask: self.enable_edge.step(enable),
            rocker: self.rocker.step(inputs.pattern_h_contact, inputs.pattern_iso_contact),
            engine,
            engine_bus,
            engine_disagrees: self.comparison.step(engine, engine_bus),
            engine_speed,
            engine_runs: engine_speed.or(Rpm::ZERO) >= self.running_speed,
            engine_stands: engine_speed.is_valid()
                && engine.or(Rpm::ZERO) < self.running_speed
                && engine_bus.or(Rpm::ZERO) < self.running_speed,
            engine_expected: self.expected(throttle.or(Ratio::ONE)),
            throttle,
            throttle_good: throttle.is_valid(),
            left_motor: directed(
                self.left_motor.step(inputs.left_motor_edges, inputs.left_motor_stamp),
                inputs.left_motor_reverse,
            ),
            right_motor: directed(
                self.right_motor.step(inputs.right_motor_edges, inputs.right_motor_stamp),
                inputs.right_motor_reverse,
            ),
            charge_pressure: self
                .sensor
                .step(inputs.charge_pressure_signal, inputs.sensor_supply)
                .map(|share| self.pressure.at(share)),
            oil_temperature: self
                .sensor
                .step(inputs.oil_temperature_signal, inputs.sensor_supply)
                .map(|share| self.temperature.at(share)),
        }
    }

    fn expected(&self, throttle: Ratio) -> Rpm {
        self.low_idle.plus(self.high_idle.minus(self.low_idle).scaled(throttle))
    }
}

/// A supply reading outside what a 12 V machine can have counts as the highest: the lowest duty follows.
fn plausible_supply(supply: Millivolts) -> Millivolts {
    if supply < LOWEST_PLAUSIBLE_SUPPLY || supply > HIGHEST_PLAUSIBLE_SUPPLY {
        HIGHEST_SUPPLY
    } else {
        supply
    }
}

fn directed(speed: Reading<Rpm>, reverse: bool) -> Reading<Rpm> {
    if reverse { speed.map(|speed| Rpm::ZERO.minus(speed)) } else { speed }
}
