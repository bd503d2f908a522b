//! The simulated Q36: mechanics, wires, operator.

mod breaks;
mod bus;
mod mechanics;
mod operator;
mod supply;
mod tester;
mod values;
mod wiring;

use loader::Loader;
use loader::declaration::inputs::Input;
use loader::declaration::outputs::Output;
use loader::declaration::{Coil, FastInputs, FastOutputs, Fault, Inputs, Outputs, Parameters};
use trunnion::declare::Failure;
use trunnion::machine::{Boot, ResetCause};
use trunnion_can::bus_slot::BusSlot;
use trunnion_can::frame::Frame;
use trunnion_rig::board::Worker;
use trunnion_rig::plant::{BatteryFault, Key, PlantConfigError, SharedMotion, units};
use trunnion_rig::run::{ActionInfo, BreakInfo, ObservationInfo, OnTheBus, Plant, Way};
use trunnion_rig::wiring::{BreakPlace, LooseContacts, OutputWires, SenseWires};
use trunnion_service::work::WorkOrder;

use self::breaks::BREAKS;
use self::bus::LeverPart;
use self::mechanics::{Drives, Mechanics};
use self::operator::Action;
use self::supply::Supply;
use self::wiring::Wiring;

pub use self::values::{BUCKET_EDGE_M, LENGTH_M};

/// Width of the machine over its tyres.
pub const WIDTH_M: f64 = 1.75;

/// The key of the simulated unit. A real one is drawn for each unit and written down nowhere but with the maker.
pub const KEY: [u8; 32] = *b"simulated Q36, key of no machine";

/// Serial number of the simulated unit.
const SERIAL: u32 = 1;

/// What is wrong with a coil: in its own wires, and a current that comes from elsewhere.
#[derive(Debug, Clone, Copy, Default)]
struct BrokenCoil {
    way: Option<Way>,
    stray: bool,
}

impl BrokenCoil {
    /// A current from elsewhere flows whatever else is broken.
    fn effective(self) -> Option<Way> {
        if self.stray { Some(Way::Steady(Failure::StrayCurrent)) } else { self.way }
    }
}

/// The simulated Q36.
#[derive(Debug, Clone)]
pub struct LoaderPlant {
    mechanics: Mechanics,
    motion: SharedMotion<Drives, Mechanics>,
    wiring: Wiring,
    senses: SenseWires<FastInputs>,
    outputs: OutputWires<Outputs>,
    broken_coils: [BrokenCoil; Coil::COUNT],
    loose: LooseContacts,
    supply: Supply,
    battery_fault: BatteryFault,
    worker: Worker<Parameters, Fault>,
    order: WorkOrder,
    /// What the controller sends goes out once.
    unsent: bool,
    key: Key,
    pile_distance_m: f64,
    pile_stiffness_n_m: f64,
}

impl LoaderPlant {
    fn build(seed: u64) -> Result<Self, PlantConfigError> {
        Ok(Self {
            mechanics: Mechanics::new()?,
            motion: SharedMotion::default(),
            wiring: Wiring::new(seed)?,
            senses: SenseWires::new()?,
            outputs: OutputWires::default(),
            broken_coils: [BrokenCoil::default(); Coil::COUNT],
            loose: LooseContacts::new(seed),
            supply: Supply::default(),
            battery_fault: BatteryFault::None,
            worker: Worker::new(seed, SERIAL, Some(KEY)),
            order: WorkOrder::default(),
            unsent: false,
            key: Key::Off,
            pile_distance_m: 0.0,
            pile_stiffness_n_m: 25_000.0,
        })
    }

    fn driven(&self, output: Output) -> bool {
        self.outputs.is_on(output as u16)
    }

    fn coil_supply_mv(&self) -> f64 {
        if self.driven(Output::coil_supply) { 1_000.0 * self.mechanics.battery.terminal_v() } else { 0.0 }
    }

    fn turn_key(&mut self, position: f64) {
        self.key = match position as u16 {
            0 => Key::Off,
            1 => Key::Run,
            _ => Key::Start,
        };
        self.wiring.actuate(Input::key_on, self.key != Key::Off);
    }

    fn work_environment(&mut self, action: Action, value: f64) {
        match action {
            Action::EngineRunning if value > 0.5 => self.mechanics.engine.reset_running(1_000.0),
            Action::PileDistance => {
                self.pile_distance_m = value;
                self.mechanics.place_pile(value, self.pile_stiffness_n_m);
            }
            Action::PileStiffness => {
                self.pile_stiffness_n_m = 1_000.0 * value;
                self.mechanics.place_pile(self.pile_distance_m, self.pile_stiffness_n_m);
            }
            Action::Payload => self.mechanics.set_payload(value),
            Action::Slope => self.mechanics.ground.set_slope(value.to_radians(), 0.0),
            Action::OilTemperature => self.wiring.oil_temperature_c = value,
            Action::MachineBus => self.wiring.touch(value > 0.5),
            Action::EngineListens => self.wiring.engine_listens = value > 0.5,
            Action::Tester => self.wiring.tester.put_to_work(value),
            Action::CoilTemperature => {
                for coil in &mut self.mechanics.coils {
                    coil.set_temperature_c(value);
                }
            }
            Action::BatteryCharge => {
                self.battery_fault =
                    if value < 100.0 { BatteryFault::Flat(value / 100.0) } else { BatteryFault::None };
                self.feed();
            }
            _ => {}
        }
    }

    fn put(&mut self, index: u16, way: Option<Way>) {
        let Some(place) = BREAKS.place(index) else { return };
        let steady = way.and_then(Way::steady);
        match place {
            BreakPlace::Unit(breaks::LEFT_LEVER) => self.wiring.bus.left.set_way(way),
            BreakPlace::Unit(breaks::RIGHT_LEVER) => self.wiring.bus.right.set_way(way),
            BreakPlace::Unit(breaks::MACHINE_BUS) => self.wiring.set_bus_way(way),
            BreakPlace::Unit(breaks::CONTROLLER_SUPPLY) => {
                self.motion.leave();
                self.supply.set_way(way);
                self.feed();
            }
            BreakPlace::Unit(_) => self.damage(way),
            BreakPlace::Input(input) => self.wiring.set_way(input, way),
            BreakPlace::Sense(coil) => {
                self.senses.set_failure(coil, steady);
                self.break_coil(coil, |broken| broken.stray = steady == Some(Failure::StrayCurrent));
            }
            BreakPlace::Output(output) => self.outputs.set_failure(output, steady),
            BreakPlace::Coil(coil) => self.break_coil(coil, |broken| broken.way = way),
        }
    }

    /// Bits of the flash fall over, or the set in effect is written anew.
    fn damage(&mut self, way: Option<Way>) {
        match way {
            None => self.worker.write_anew(),
            Some(way) => {
                self.worker.spoil(|bytes| bytes.iter_mut().for_each(|byte| *byte &= 0x5A));
                if way == Way::DamagedAtStart {
                    self.supply.reset(ResetCause::PowerUp);
                }
            }
        }
    }

    /// What feeds the machine: the battery as it is, or what a dip leaves of it.
    fn feed(&mut self) {
        let fault = self.supply.forced_v().map_or(self.battery_fault, BatteryFault::Forced);
        self.mechanics.battery.set_fault(fault);
    }

    /// What time alone does to what is broken.
    fn age(&mut self, dt_us: u32) {
        for (index, open) in self.loose.step(dt_us) {
            self.put(index, BREAKS.while_loose(index, open));
        }
        if self.supply.forced_v().is_some() {
            self.supply.advance(dt_us);
            self.feed();
        }
    }

    /// What the controller sends in a period, and what it orders from the board.
    fn send(&mut self, outputs: &Outputs) {
        if !std::mem::take(&mut self.unsent) {
            return;
        }
        self.order = WorkOrder {
            kind: outputs.work_kind,
            number: outputs.work_number,
            place: outputs.work_place,
            item: outputs.work_item,
        };
        let slots = [
            (outputs.bus_out_1_head, outputs.bus_out_1_data),
            (outputs.bus_out_2_head, outputs.bus_out_2_data),
            (outputs.bus_out_3_head, outputs.bus_out_3_data),
            (outputs.bus_out_4_head, outputs.bus_out_4_data),
        ];
        let frames = slots.into_iter().filter_map(|(head, data)| BusSlot { head, data }.frame());
        frames.for_each(|frame| self.wiring.hear(&frame));
    }

    fn break_coil(&mut self, index: u16, change: impl FnOnce(&mut BrokenCoil)) {
        let place = usize::from(index);
        if let (Some(coil), Some(broken)) =
            (self.mechanics.coils.get_mut(place), self.broken_coils.get_mut(place))
        {
            let before = broken.effective();
            change(broken);
            if broken.effective() != before {
                self.motion.leave();
                coil.set_way(broken.effective());
            }
        }
    }
}

impl Plant<Loader> for LoaderPlant {
    const ACTIONS: &'static [ActionInfo] = operator::ACTIONS;
    const BREAKS: &'static [BreakInfo] = &BREAKS.infos;
    const OBSERVATIONS: &'static [ObservationInfo] = operator::OBSERVATIONS;

    fn start(seed: u64) -> Self {
        match Self::build(seed) {
            Ok(plant) => plant,
            Err(refusal) => panic!("a constant of the simulated Q36 is out of range: {refusal}"),
        }
    }

    fn adopt(&mut self, parameters: &Parameters) {
        self.wiring.adopt(parameters);
        self.worker.adopt(parameters);
    }

    fn stored(&mut self) -> Option<Parameters> {
        let stored = self.worker.take_saved();
        if let Some(parameters) = &stored {
            self.wiring.adopt(parameters);
        }
        stored
    }

    /// Parameters come to the filters of the bus, and to the board's memory.
    fn is_alike(&self, outputs: &Outputs, one: &Parameters, other: &Parameters) -> bool {
        self.worker.is_alike_after(outputs.work_kind)
            && self.supply.is_sound()
            && loader::filters(one) == loader::filters(other)
    }

    fn breaks_alike(place: u16) -> bool {
        !matches!(BREAKS.place(place), Some(BreakPlace::Unit(unit)) if unit >= breaks::CONTROLLER_SUPPLY)
    }

    fn lead(&mut self) {
        self.motion.lead();
    }

    fn follow(&mut self, leader: &mut Self) {
        self.motion.follow(&mut leader.motion);
    }

    fn bus(&mut self) -> Option<&mut dyn OnTheBus> {
        Some(self)
    }

    fn restart(&mut self) -> Option<Boot<Parameters>> {
        let worker = &mut self.worker;
        let boot = self.supply.restart(|cause| worker.boot(cause)).or_else(|| worker.take_restart())?;
        self.wiring.start_anew();
        self.wiring.adopt(&boot.parameters);
        Some(boot)
    }

    fn act(&mut self, action: u16, value: f64) {
        let Some(action) = Action::ALL.get(usize::from(action)).copied() else { return };
        let on = value > 0.5;
        let share = value / 100.0;
        let wiring = &mut self.wiring;
        match action {
            Action::Key => self.turn_key(value),
            Action::LockReleased => wiring.actuate(Input::lock_released, on),
            Action::OperatorSeated => wiring.actuate(Input::seat_occupied, on),
            Action::RestraintBar => wiring.actuate(Input::restraint_bar_down, on),
            Action::ParkBrakeSwitch => wiring.actuate(Input::park_brake_off, on),
            Action::EmergencyStop => {
                wiring.actuate(Input::emergency_stop_first, on);
                wiring.actuate(Input::emergency_stop_second, on);
            }
            Action::EnableButton => wiring.actuate(Input::enable_button, on),
            Action::PatternRocker => {
                wiring.actuate(Input::pattern_h_contact, value == 1.0);
                wiring.actuate(Input::pattern_iso_contact, value == 2.0);
            }
            Action::LeftLeverX => wiring.bus.left.set(LeverPart::X, share),
            Action::LeftLeverY => wiring.bus.left.set(LeverPart::Y, share),
            Action::LeftLeverWheel => wiring.bus.left.set(LeverPart::Wheel, share),
            Action::RightLeverX => wiring.bus.right.set(LeverPart::X, share),
            Action::RightLeverY => wiring.bus.right.set(LeverPart::Y, share),
            Action::RightLeverWheel => wiring.bus.right.set(LeverPart::Wheel, share),
            Action::TwoSpeedButton => wiring.bus.left.press(1, on),
            Action::FloatButton => wiring.bus.right.press(1, on),
            Action::ContinuousButton => wiring.bus.right.press(2, on),
            Action::HandThrottle => wiring.throttle = share,
            surroundings => self.work_environment(surroundings, value),
        }
    }

    fn break_signal(&mut self, place: u16, way: Way) {
        if BREAKS.is_possible(place, way) {
            let now = BREAKS.now(&mut self.loose, place, Some(way));
            self.put(place, now);
        }
    }

    fn mend(&mut self, place: u16) {
        let now = BREAKS.now(&mut self.loose, place, None);
        self.put(place, now);
    }

    fn fast_inputs(&mut self) -> FastInputs {
        self.senses.read(self.mechanics.coils.iter().map(|coil| coil.sensed_a()))
    }

    fn advance(&mut self, fast: &FastOutputs, outputs: &Outputs) {
        self.age(wiring::FAST_STEP_US);
        self.outputs.drive(outputs);
        self.send(outputs);
        let cranking = self.key == Key::Start && self.driven(Output::start_permit);
        let drives = Drives {
            duties: fast.duties().map(|duty| f64::from(duty.raw()) / 10_000.0),
            coil_supply: self.driven(Output::coil_supply),
            park_brake_valve: self.driven(Output::park_brake_valve),
            two_speed_valve: self.driven(Output::two_speed_valve),
            key: if cranking || self.key != Key::Start { self.key } else { Key::Run },
            throttle: self.wiring.engine_throttle(),
        };
        self.motion.step(drives, &mut self.mechanics, Mechanics::advance);
        self.wiring.advance(&self.mechanics);
    }

    fn inputs(&mut self) -> Inputs {
        let coil_supply_mv = self.coil_supply_mv();
        self.unsent = true;
        let done = self.worker.step(self.order);
        Inputs {
            entropy: self.worker.entropy(),
            work_report: done.report,
            work_report_number: done.number,
            work_report_item: done.item,
            ..self.wiring.read(&self.mechanics, coil_supply_mv)
        }
    }

    fn observe(&self, values: &mut [f64]) {
        let m = &self.mechanics;
        let wheels = m.ground.wheel_rad_s();
        let radius = values::GROUND.wheel_radius_m;
        let truths = [
            m.ground.x_m(),
            m.ground.y_m(),
            m.ground.yaw_rad().to_degrees(),
            m.ground.forward_m_s(),
            wheels.left * radius,
            wheels.right * radius,
            m.ground.yaw_rad_s().to_degrees(),
            m.acceleration_m_s2(),
            m.engine.speed_rpm(),
            f64::from(m.engine.stalls()),
            units::bar_from_pa(m.left.line.difference_pa()),
            units::bar_from_pa(m.right.line.difference_pa()),
            m.charge.pressure_bar(),
            m.work_pressure_bar(),
            100.0 * m.left.pump.stroke(),
            100.0 * m.right.pump.stroke(),
            100.0 * m.boom.position(),
            100.0 * m.bucket.position(),
            m.payload_kg(),
            m.pile_penetration_m(),
            m.battery.terminal_v(),
            m.auxiliary_flow_l_min(),
            m.left.brake.limit_nm(),
            m.drive_current_ma(),
        ];
        for (value, truth) in values.iter_mut().zip(truths) {
            *value = truth;
        }
    }
}

impl OnTheBus for LoaderPlant {
    fn listen(&mut self) {
        self.wiring.traffic.get_or_insert_default();
    }

    fn bring(&mut self, frame: &Frame) -> bool {
        self.wiring.bring(frame)
    }

    fn traffic(&mut self) -> Vec<Frame> {
        self.wiring.traffic.as_mut().map(std::mem::take).unwrap_or_default()
    }

    fn play_back(&mut self, serial: u32) {
        self.wiring.play_back();
        self.worker.set_serial(serial);
    }

    fn play_demands(&mut self, serial: u32) {
        self.wiring.play_demands();
        self.worker.set_serial(serial);
    }

    fn is_demand(&self, frame: &Frame) -> bool {
        self.wiring.is_of_a_lever(frame)
    }

    fn believe_codes(&mut self, right: Option<bool>) {
        self.worker.believe_codes(right);
    }
}
