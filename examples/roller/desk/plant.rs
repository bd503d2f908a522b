//! The simulated V84: mechanics, wires, operator.

mod frame;
mod mechanics;
mod operator;
mod values;
mod wiring;

use roller::Roller;
use roller::declaration::inputs::Input;
use roller::declaration::outputs::Output;
use roller::declaration::{FastInputs, FastOutputs, Inputs, Outputs, Parameters};
use trunnion::declare::Failure;
use trunnion_rig::plant::{BatteryFault, Key, PlantConfigError};
use trunnion_rig::run::{ActionInfo, BreakInfo, ObservationInfo, Plant, Way};
use trunnion_rig::wiring::{BreakPlace, BreakTable, LooseContacts, OutputWires, SenseWires, breakable};

use self::mechanics::{Drives, Mechanics};
use self::operator::Action;
use self::wiring::Wiring;

pub use self::values::{FRONT_M, LENGTH_M, WIDTH_M};

/// Everything that can break: every wire of the declaration, and no unit beside.
const BREAKS: BreakTable<{ breakable::<Roller>(&[]) }> = BreakTable::new::<Roller>(&[]);

/// The simulated V84.
#[derive(Debug, Clone)]
pub struct RollerPlant {
    mechanics: Mechanics,
    wiring: Wiring,
    senses: SenseWires<FastInputs>,
    outputs: OutputWires<Outputs>,
    loose: LooseContacts,
    key: Key,
    throttle: f64,
}

impl RollerPlant {
    fn build(seed: u64) -> Result<Self, PlantConfigError> {
        Ok(Self {
            mechanics: Mechanics::new()?,
            wiring: Wiring::new(seed)?,
            senses: SenseWires::new()?,
            outputs: OutputWires::default(),
            loose: LooseContacts::new(seed),
            key: Key::Off,
            throttle: 0.0,
        })
    }

    fn turn_key(&mut self, position: f64) {
        self.key = match position as u16 {
            0 => Key::Off,
            1 => Key::Run,
            _ => Key::Start,
        };
        self.wiring.actuate(Input::key_on, self.key != Key::Off);
    }

    fn surroundings(&mut self, action: Action, value: f64) {
        match action {
            Action::EngineRunning if value > 0.5 => self.mechanics.start_engine(),
            Action::Slope => self.mechanics.set_slope(value.to_radians()),
            Action::CoilTemperature => {
                for coil in &mut self.mechanics.coils {
                    coil.set_temperature_c(value);
                }
            }
            Action::BatteryCharge => self.mechanics.battery.set_fault(if value < 100.0 {
                BatteryFault::Flat(value / 100.0)
            } else {
                BatteryFault::None
            }),
            _ => {}
        }
    }

    fn put(&mut self, index: u16, way: Option<Way>) {
        let steady = way.and_then(Way::steady);
        match BREAKS.place(index) {
            Some(BreakPlace::Input(input)) => self.wiring.set_way(input, way),
            Some(BreakPlace::Sense(coil)) => {
                self.senses.set_failure(coil, steady);
                self.break_coil(coil, way.filter(|_| steady == Some(Failure::StrayCurrent)));
            }
            Some(BreakPlace::Output(output)) => self.outputs.set_failure(output, steady),
            Some(BreakPlace::Coil(coil)) => self.break_coil(coil, way),
            Some(BreakPlace::Unit(_)) | None => {}
        }
    }

    fn break_coil(&mut self, index: u16, way: Option<Way>) {
        if let Some(coil) = self.mechanics.coils.get_mut(usize::from(index)) {
            coil.set_way(way);
        }
    }
}

impl Plant<Roller> for RollerPlant {
    const ACTIONS: &'static [ActionInfo] = operator::ACTIONS;
    const BREAKS: &'static [BreakInfo] = &BREAKS.infos;
    const OBSERVATIONS: &'static [ObservationInfo] = operator::OBSERVATIONS;

    fn start(seed: u64) -> Self {
        match Self::build(seed) {
            Ok(plant) => plant,
            Err(refusal) => panic!("a constant of the simulated V84 is out of range: {refusal}"),
        }
    }

    fn adopt(&mut self, parameters: &Parameters) {
        self.wiring.adopt(parameters);
    }

    fn act(&mut self, action: u16, value: f64) {
        let Some(action) = Action::ALL.get(usize::from(action)).copied() else { return };
        let (on, share) = (value > 0.5, value / 100.0);
        let wiring = &mut self.wiring;
        match action {
            Action::Key => self.turn_key(value),
            Action::Seat => {
                wiring.actuate(Input::left_seat_occupied, value == 1.0 || value == 3.0);
                wiring.actuate(Input::right_seat_occupied, value == 2.0 || value == 3.0);
            }
            Action::ParkBrakeSwitch => wiring.actuate(Input::park_brake_off, on),
            Action::EmergencyStop => {
                wiring.actuate(Input::emergency_stop_first, on);
                wiring.actuate(Input::emergency_stop_second, on);
            }
            Action::EnableButton => wiring.actuate(Input::enable_button, on),
            Action::VibrationButton => wiring.actuate(Input::vibration_button, on),
            Action::AmplitudeRocker => {
                wiring.actuate(Input::amplitude_high_contact, value == 1.0);
                wiring.actuate(Input::amplitude_low_contact, value == 2.0);
            }
            Action::LeftDriveLever => wiring.move_lever(wiring::LEFT_DRIVE, share),
            Action::LeftSteerLever => wiring.move_lever(wiring::LEFT_STEER, share),
            Action::RightDriveLever => wiring.move_lever(wiring::RIGHT_DRIVE, share),
            Action::RightSteerLever => wiring.move_lever(wiring::RIGHT_STEER, share),
            Action::HandThrottle => self.throttle = share,
            other => self.surroundings(other, value),
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
        for (index, open) in self.loose.step(wiring::FAST_STEP_US) {
            self.put(index, BREAKS.while_loose(index, open));
        }
        self.outputs.drive(outputs);
        let on = |output: Output| self.outputs.is_on(output as u16);
        let cranks = self.key == Key::Start && on(Output::start_permit);
        let drives = Drives {
            duties: fast.duties().map(|duty| f64::from(duty.raw()) / 10_000.0),
            coil_supply: on(Output::coil_supply),
            park_brake_valve: on(Output::park_brake_valve),
            key: if cranks || self.key != Key::Start { self.key } else { Key::Run },
            throttle: self.throttle,
        };
        self.mechanics.advance(&drives);
        self.wiring.advance(&self.mechanics);
    }

    fn inputs(&mut self) -> Inputs {
        let battery_mv = 1_000.0 * self.mechanics.battery.terminal_v();
        let fed = self.outputs.is_on(Output::coil_supply as u16);
        self.wiring.read(&self.mechanics, battery_mv, if fed { battery_mv } else { 0.0 })
    }

    fn observe(&self, values: &mut [f64]) {
        let m = &self.mechanics;
        let (x, y) = m.frame.place_m();
        let truths = [
            x,
            y,
            m.frame.heading_rad().to_degrees(),
            m.speed_m_s(),
            m.acceleration_m_s2(),
            m.frame.yaw_rad_s().to_degrees(),
            m.frame.joint_rad().to_degrees(),
            m.eccentric_rpm(),
            m.engine_rpm(),
            m.charge_bar(),
            100.0 * m.brake(),
            m.battery.terminal_v(),
            m.drive_current_ma(),
        ];
        for (value, truth) in values.iter_mut().zip(truths) {
            *value = truth;
        }
    }
}
