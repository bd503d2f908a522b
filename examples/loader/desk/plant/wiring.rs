//! The wires between the machine and its controller: contacts, sensors, pickups, bus units.

use loader::declaration::inputs::Input;
use loader::declaration::{Inputs, Parameters};
use trunnion::declare::Record;
use trunnion_can::frame::Frame;
use trunnion_can::id::Id29;
use trunnion_can::mailbox::{Filter, Mailbox};
use trunnion_rig::board::FrameQueue;
use trunnion_rig::plant::{
    AnalogSensorConfig, ContactKind, PickupConfig, PlantConfigError, Pull, SpeedCommand,
};
use trunnion_rig::run::Way;
use trunnion_rig::wiring::InputWires;

use super::bus::Bus;
use super::mechanics::Mechanics;
use super::tester::Tester;
use super::values;

const PERIOD_US: u32 = 10_000;
/// Time of a fast step.
pub const FAST_STEP_US: u32 = 1_000;
const SENSOR_SUPPLY_MV: f64 = 5_000.0;
/// Address of the engine on the bus.
const ENGINE: u8 = 0;
/// So many of the filters are for messages of the levers; they come first.
const LEVER_MESSAGES: usize = 4;
/// Engine speeds at the ends of the hand throttle.
const LOW_IDLE_RPM: f64 = 1_000.0;
const HIGH_IDLE_RPM: f64 = 2_600.0;

/// All wires of the controller's inputs but the coil currents.
#[derive(Debug, Clone)]
pub struct Wiring {
    wires: InputWires<Inputs>,
    pub bus: Bus,
    mailbox: Mailbox<5>,
    filters: [Filter; 5],
    /// Frames for the controller's station.
    pub queue: FrameQueue,
    pub tester: Tester,
    speed_command: SpeedCommand,
    /// The engine follows speeds asked of it over the bus.
    pub engine_listens: bool,
    /// The bus wires touch, as the scenario has it: nobody is heard, and the controller leaves the bus.
    touching: bool,
    /// How the bus is broken.
    broken: Option<Way>,
    /// All frames since somebody asked, once somebody listens.
    pub traffic: Option<Vec<Frame>>,
    /// What a log brings in the next period, while all units here are silent, or the levers.
    played: Option<Vec<Frame>>,
    pub oil_temperature_c: f64,
    pub throttle: f64,
}

const OPEN: [Input; 8] = [
    Input::key_on,
    Input::lock_released,
    Input::seat_occupied,
    Input::restraint_bar_down,
    Input::park_brake_off,
    Input::enable_button,
    Input::pattern_h_contact,
    Input::pattern_iso_contact,
];
const CLOSED: [Input; 2] = [Input::emergency_stop_first, Input::emergency_stop_second];
const BOUNCE_MS: f64 = 12.0;

fn wires(seed: u64) -> Result<InputWires<Inputs>, PlantConfigError> {
    use Input::*;
    let sensor =
        |low, high, time_constant_s| AnalogSensorConfig { low, high, time_constant_s, pull: Pull::Down };
    let pickup = |teeth| PickupConfig { teeth, lowest_hz: 0.0 };
    let mut wires = InputWires::new(seed)
        .voltage(supply_voltage as u16)
        .voltage(coil_supply_read_back as u16)
        .voltage(sensor_supply as u16)
        .contact(left_motor_reverse as u16, ContactKind::NormallyOpen, 0.0)?
        .contact(right_motor_reverse as u16, ContactKind::NormallyOpen, 0.0)?
        .sensor(charge_pressure_signal as u16, sensor(0.0, 40.0, 0.01))?
        .sensor(oil_temperature_signal as u16, sensor(-40.0, 140.0, 1.0))?
        .sensor(hand_throttle_signal as u16, sensor(0.0, 1.0, 0.01))?
        .pickup(engine_pickup_edges as u16, engine_pickup_stamp as u16, pickup(values::ENGINE_TEETH))?
        .pickup(left_motor_edges as u16, left_motor_stamp as u16, pickup(values::MOTOR_TEETH))?
        .pickup(right_motor_edges as u16, right_motor_stamp as u16, pickup(values::MOTOR_TEETH))?;
    for input in OPEN {
        wires = wires.contact(input as u16, ContactKind::NormallyOpen, BOUNCE_MS)?;
    }
    for input in CLOSED {
        wires = wires.contact(input as u16, ContactKind::NormallyClosed, BOUNCE_MS)?;
    }
    Ok(wires)
}

impl Wiring {
    pub fn new(seed: u64) -> Result<Self, PlantConfigError> {
        Ok(Self {
            wires: wires(seed)?,
            bus: Bus::new(seed)?,
            mailbox: Mailbox::new(loader::filters(&Parameters::default())),
            filters: loader::filters(&Parameters::default()),
            queue: FrameQueue::default(),
            tester: Tester::new(),
            speed_command: SpeedCommand::new(ENGINE),
            engine_listens: false,
            touching: false,
            broken: None,
            traffic: None,
            played: None,
            oil_temperature_c: 45.0,
            throttle: 0.0,
        })
    }

    /// The hardware filters that the controller's shell takes from its parameters.
    pub fn adopt(&mut self, parameters: &Parameters) {
        self.filters = loader::filters(parameters);
        self.mailbox.reconfigure(self.filters);
    }

    /// Throttle of the engine: by hand, or by what is asked of it over the bus if it listens and that is more.
    pub fn engine_throttle(&self) -> f64 {
        let asked = self.speed_command.asked_rpm().filter(|_| self.engine_listens);
        let span = HIGH_IDLE_RPM - LOW_IDLE_RPM;
        asked.map_or(self.throttle, |rpm| ((rpm - LOW_IDLE_RPM) / span).max(self.throttle))
    }

    /// Opens or closes a contact by hand or foot.
    pub fn actuate(&mut self, input: Input, actuated: bool) {
        self.wires.actuate(input as u16, actuated);
    }

    /// One fast step: pickups count, units on the bus send.
    pub fn advance(&mut self, mechanics: &Mechanics) {
        let motors = mechanics.ground.motor_rad_s();
        self.wires.turn(Input::engine_pickup_edges as u16, mechanics.engine.speed_rad_s());
        self.wires.turn(Input::left_motor_edges as u16, motors.left);
        self.wires.turn(Input::right_motor_edges as u16, motors.right);
        self.wires.advance(FAST_STEP_US);
        self.play();
        // A log stands in for everything, or for the levers alone.
        let replayed = self.played.is_some() && !self.bus.levers_silent;
        let silent = self.is_silent() || replayed;
        let (mailbox, traffic) = (&mut self.mailbox, &mut self.traffic);
        self.bus.advance(FAST_STEP_US, &mechanics.engine, |frame| {
            if silent {
                return;
            }
            mailbox.receive(frame.id, true, &frame.data);
            if let (Some(traffic), Some(id)) = (traffic.as_mut(), Id29::from_raw(frame.id)) {
                traffic.push(Frame::group(id, frame.data));
            }
        });
        self.speed_command.advance(FAST_STEP_US);
        let asked = if replayed { Vec::new() } else { self.tester.step() };
        for frame in asked {
            self.let_in(&frame);
            self.carry(&frame);
        }
    }

    /// From now on only what is brought is heard: a log stands in for all units.
    pub fn play_back(&mut self) {
        self.played.get_or_insert_default();
    }

    /// From now on the levers are silent, and what is brought stands in for them.
    pub fn play_demands(&mut self) {
        self.bus.levers_silent = true;
        self.play_back();
    }

    /// A frame that a lever sends, by the addresses of the present parameters.
    pub fn is_of_a_lever(&self, frame: &Frame) -> bool {
        let (levers, _) = self.filters.split_at(LEVER_MESSAGES);
        frame.id29().is_some_and(|id| {
            levers.iter().any(|filter| filter.pgn == id.pgn() && filter.source == id.source())
        })
    }

    /// A log has what was on the bus: only a controller that has left it does not hear that.
    fn play(&mut self) {
        let frames = self.played.as_mut().map(std::mem::take).unwrap_or_default();
        if !self.is_off() {
            frames.iter().for_each(|frame| self.take_in(frame));
        }
    }

    /// A frame from outside: what looks like a lever's is one.
    pub fn bring(&mut self, frame: &Frame) -> bool {
        if let Some(played) = &mut self.played {
            played.push(*frame);
            return true;
        }
        self.let_in(frame)
    }

    fn let_in(&mut self, frame: &Frame) -> bool {
        let carried = self.carries(frame);
        if carried {
            self.take_in(frame);
        }
        carried
    }

    fn take_in(&mut self, frame: &Frame) {
        if let Some(id) = frame.id29() {
            self.mailbox.receive(id.to_raw(), true, frame.bytes());
        }
        self.queue.take(frame);
    }

    /// Lets the bus wires touch, or parts them.
    pub fn touch(&mut self, touching: bool) {
        self.touching = touching;
        if touching {
            self.queue.clear();
        }
    }

    /// Breaks the bus, or mends it with `None`. An open wire comes as [`Way::Intermittent`].
    pub fn set_bus_way(&mut self, way: Option<Way>) {
        self.broken = way;
        self.bus.flood_from_outside(way == Some(Way::Flooding));
        if self.is_off() {
            self.queue.clear();
        }
    }

    /// The controller starts anew: nothing was heard yet.
    pub fn start_anew(&mut self) {
        self.queue.clear();
        self.mailbox.reset();
    }

    /// The bus wires touch, and the controller has left the bus.
    fn is_off(&self) -> bool {
        self.touching || self.broken == Some(Way::Shorted)
    }

    /// Nobody is heard.
    fn is_silent(&self) -> bool {
        self.is_off() || self.broken == Some(Way::Intermittent)
    }

    /// The frame finds its way onto the bus.
    fn carries(&self, frame: &Frame) -> bool {
        !self.is_silent() && frame.id29().is_none_or(|id| !self.bus.drowns(id.to_raw()))
    }

    /// A frame of the controller: heard by all units.
    pub fn hear(&mut self, frame: &Frame) {
        if self.carries(frame) {
            self.tester.take(frame);
            self.speed_command.take(frame);
            self.carry(frame);
        }
    }

    fn carry(&mut self, frame: &Frame) {
        if let Some(traffic) = &mut self.traffic {
            traffic.push(*frame);
        }
    }

    /// What the inputs read at the end of a period.
    pub fn read(&mut self, mechanics: &Mechanics, coil_supply_mv: f64) -> Inputs {
        let motors = mechanics.ground.motor_rad_s();
        self.actuate(Input::left_motor_reverse, motors.left < -0.5);
        self.actuate(Input::right_motor_reverse, motors.right < -0.5);
        let truths = [
            (Input::charge_pressure_signal, mechanics.charge.pressure_bar()),
            (Input::oil_temperature_signal, self.oil_temperature_c),
            (Input::hand_throttle_signal, self.throttle),
            (Input::supply_voltage, 1_000.0 * mechanics.battery.terminal_v()),
            (Input::coil_supply_read_back, coil_supply_mv),
            (Input::sensor_supply, SENSOR_SUPPLY_MV),
        ];
        for (input, truth) in truths {
            self.wires.measure(input as u16, truth);
        }
        let mut inputs = self.wires.read(PERIOD_US, SENSOR_SUPPLY_MV);
        self.deliver(&mut inputs);
        inputs
    }

    fn deliver(&mut self, inputs: &mut Inputs) {
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
        let first = bus_in_1_head as u16;
        for (place, slot) in (0_u16..).zip(self.queue.slots()) {
            inputs.set(first + 2 * place, slot.head.cast_signed());
            inputs.set(first + 2 * place + 1, slot.data.cast_signed());
        }
        inputs.bus_lost = self.queue.lost();
        inputs.bus_off = self.is_off();
    }

    /// Breaks a wire or a message, or mends it with `None`.
    pub fn set_way(&mut self, input: u16, way: Option<Way>) {
        self.wires.set_failure(input, way.and_then(Way::steady));
        self.bus.set_message_way(input, way);
    }
}
