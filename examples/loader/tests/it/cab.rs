//! A cab without a machine behind it: inputs of a controller on a bench, one field at a time changeable.

use loader::Loader;
use loader::declaration::{Coil, FastInputs, FastOutputs, Inputs, Outputs, Parameters, SetPoints};
use trunnion::declare::Record;
use trunnion::machine::{Boot, Machine, Stepper};
use trunnion::quantity::{Millivolts, Ratio};
use trunnion_can::engine::{Eec1, SpeedField};
use trunnion_can::joystick::{AxisField, BasicJoystick, ButtonField, ExtendedJoystick, FlagField};

/// Positions of both levers and their buttons.
#[derive(Debug, Clone, Copy, Default)]
pub struct Hands {
    pub left: [i32; 3],
    pub right: [i32; 3],
    pub left_button: bool,
    pub right_buttons: [bool; 2],
}

/// A controller on a bench with coils on its outputs.
pub struct Cab {
    pub stepper: Stepper<Loader>,
    pub inputs: Inputs,
    pub hands: Hands,
    pub outputs: Outputs,
    pub fast_outputs: FastOutputs,
    pub levers_send: bool,
    pub currents: [f64; Coil::COUNT],
    tick: u32,
}

fn axis(permille: i32) -> AxisField {
    AxisField::Position {
        position: Ratio::from_permille(permille.max(-1000).min(1000)).unwrap(),
        neutral: permille.abs() <= 20,
    }
}

fn frames(axes: [i32; 3], buttons: &[bool]) -> (u64, u64) {
    let mut basic = BasicJoystick {
        x: axis(axes[0]),
        y: axis(axes[1]),
        x_detent: FlagField::No,
        y_detent: FlagField::No,
        buttons: [ButtonField::Released; 12],
    };
    for (field, pressed) in basic.buttons.iter_mut().zip(buttons) {
        *field = if *pressed { ButtonField::Pressed } else { ButtonField::Released };
    }
    let extended = ExtendedJoystick {
        grip_x: axis(axes[2]),
        grip_y: AxisField::NotAvailable,
        theta: AxisField::NotAvailable,
        x_detent: FlagField::No,
        y_detent: FlagField::NotAvailable,
    };
    (u64::from_le_bytes(basic.emit()), u64::from_le_bytes(extended.emit()))
}

impl Cab {
    /// Seated, bar down, unlocked, engine running, ISO pattern; the controller starts now.
    pub fn new(parameters: Parameters) -> Self {
        let inputs = Inputs {
            supply_voltage: Millivolts::saturating(13_800),
            sensor_supply: Millivolts::saturating(5_000),
            key_on: true,
            lock_released: true,
            seat_occupied: true,
            restraint_bar_down: true,
            park_brake_off: true,
            emergency_stop_first: true,
            emergency_stop_second: true,
            pattern_iso_contact: true,
            charge_pressure_signal: Millivolts::saturating(2_700),
            oil_temperature_signal: Millivolts::saturating(2_000),
            hand_throttle_signal: Millivolts::saturating(4_500),
            ..Inputs::default()
        };
        Self {
            stepper: Stepper::start(&Boot { parameters, ..Boot::default() }),
            inputs,
            hands: Hands::default(),
            outputs: Outputs::default(),
            fast_outputs: FastOutputs::default(),
            levers_send: true,
            currents: [0.0; Coil::COUNT],
            tick: 0,
        }
    }

    /// Set-points that hold for the coming period.
    pub fn set_points(&self) -> SetPoints {
        self.stepper.machine().set_points()
    }

    /// One period: the coils follow their duties, the bus brings what hands and engine do.
    pub fn step(&mut self) {
        for _ in 0..Loader::FAST_STEPS {
            let mut fast_inputs = FastInputs::default();
            for (index, current) in self.currents.iter().enumerate() {
                fast_inputs.set(index as u16, *current as i64);
            }
            self.fast_outputs = self.stepper.fast_step(&fast_inputs);
            // First-order coils of 5.3 and 6.1 Ω with L/R of 4 ms.
            for (place, (current, duty)) in
                self.currents.iter_mut().zip(self.fast_outputs.duties()).enumerate()
            {
                let resistance = if place < 4 { 5.3 } else { 6.1 };
                let supply = f64::from(self.inputs.coil_supply_read_back.raw());
                *current += 0.25 * (supply * f64::from(duty.raw()) / 10_000.0 / resistance - *current);
            }
        }
        self.senses();
        self.outputs = self.stepper.step(&self.inputs);
    }

    fn senses(&mut self) {
        self.tick += 1;
        let read_back = if self.outputs.coil_supply { self.inputs.supply_voltage } else { Millivolts::ZERO };
        self.inputs.coil_supply_read_back = read_back;
        // 2600 rpm on 120 teeth: 52 edges a period.
        self.inputs.engine_pickup_edges = self.inputs.engine_pickup_edges.wrapping_add(52);
        self.inputs.engine_pickup_stamp = self.inputs.engine_pickup_stamp.wrapping_add(10_000);
        if self.tick.is_multiple_of(2) {
            let engine = Eec1 { speed: SpeedField::Valid(trunnion::quantity::Rpm::from_whole(2_600)) };
            self.inputs.engine_controller = u64::from_le_bytes(engine.emit());
            self.inputs.engine_controller_count = self.inputs.engine_controller_count.wrapping_add(1);
        }
        if self.levers_send && self.tick % 2 == 1 {
            let inputs = &mut self.inputs;
            let hands = &self.hands;
            (inputs.left_lever_basic, inputs.left_lever_extended) = frames(hands.left, &[hands.left_button]);
            (inputs.right_lever_basic, inputs.right_lever_extended) =
                frames(hands.right, &hands.right_buttons);
            for count in [
                &mut inputs.left_lever_basic_count,
                &mut inputs.left_lever_extended_count,
                &mut inputs.right_lever_basic_count,
                &mut inputs.right_lever_extended_count,
            ] {
                *count = count.wrapping_add(1);
            }
        }
    }

    /// Steps for a time in milliseconds.
    pub fn run(&mut self, milliseconds: u32) {
        for _ in 0..milliseconds / 10 {
            self.step();
        }
    }

    /// Waits for the tests, then presses and releases the enable button.
    pub fn permit(&mut self) {
        self.run(2_500);
        self.inputs.enable_button = true;
        self.run(200);
        self.inputs.enable_button = false;
        self.run(100);
    }
}
