//! Two seats without a machine behind them: inputs of a controller on a bench, one field at a time changeable.

use roller::Roller;
use roller::declaration::{Coil, FastInputs, FastOutputs, Inputs, Outputs, Parameters, SetPoints};
use trunnion::declare::Record;
use trunnion::machine::{Boot, Machine, Stepper};
use trunnion::quantity::{Millivolts, Rpm};
use trunnion_can::engine::{Eec1, SpeedField};

/// A lever of one station: thousandths of its travel.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Hand {
    /// Forward positive.
    pub drive: i32,
    /// Right positive.
    pub steer: i32,
}

/// A controller on a bench with coils on its outputs.
pub struct Cab {
    pub stepper: Stepper<Roller>,
    pub inputs: Inputs,
    /// Hands on the levers of the left and the right station.
    pub hands: [Hand; 2],
    pub outputs: Outputs,
    pub fast_outputs: FastOutputs,
    pub currents: [f64; Coil::COUNT],
    /// Speed of the travel motor in rpm, as the pickup sees it.
    pub travel_rpm: f64,
    edges: f64,
    tick: u32,
}

/// The two sensors of a lever: 2.5 V at rest, ±2 V at the ends, of opposite slope.
fn lever(position: i32) -> (Millivolts, Millivolts) {
    let travel = i64::from(position.max(-1000).min(1000)) * 2;
    (Millivolts::saturating(2_500 + travel), Millivolts::saturating(2_500 - travel))
}

impl Cab {
    /// Seated on the left, engine running, brake switch off; the controller starts now.
    pub fn new(parameters: Parameters) -> Self {
        let inputs = Inputs {
            supply_voltage: Millivolts::saturating(13_800),
            sensor_supply: Millivolts::saturating(5_000),
            key_on: true,
            left_seat_occupied: true,
            park_brake_off: true,
            emergency_stop_first: true,
            emergency_stop_second: true,
            amplitude_high_contact: true,
            charge_pressure_signal: Millivolts::saturating(2_900),
            ..Inputs::default()
        };
        Self {
            stepper: Stepper::start(&Boot { parameters, ..Boot::default() }),
            inputs,
            hands: [Hand::default(); 2],
            outputs: Outputs::default(),
            fast_outputs: FastOutputs::default(),
            currents: [0.0; Coil::COUNT],
            travel_rpm: 0.0,
            edges: 0.0,
            tick: 0,
        }
    }

    /// Set-points that hold for the coming period.
    pub fn set_points(&self) -> SetPoints {
        self.stepper.machine().set_points()
    }

    /// Puts what the hands hold on the wires; garbage that a test put there is overwritten.
    pub fn hold(&mut self) {
        let [left, right] = self.hands;
        let inputs = &mut self.inputs;
        (inputs.left_drive_first, inputs.left_drive_second) = lever(left.drive);
        (inputs.left_steer_first, inputs.left_steer_second) = lever(left.steer);
        (inputs.right_drive_first, inputs.right_drive_second) = lever(right.drive);
        (inputs.right_steer_first, inputs.right_steer_second) = lever(right.steer);
    }

    /// One period: the coils follow their duties, engine and travel motor turn.
    pub fn step(&mut self) {
        for _ in 0..Roller::FAST_STEPS {
            let mut fast_inputs = FastInputs::default();
            for (place, current) in (0_u16..).zip(self.currents) {
                fast_inputs.set(place, current as i64);
            }
            self.fast_outputs = self.stepper.fast_step(&fast_inputs);
            // First-order coils of 5.3 and 6.1 Ω with L/R of 4 ms.
            let coils = self.currents.iter_mut().zip(self.fast_outputs.duties()).enumerate();
            for (place, (current, duty)) in coils {
                let resistance = if place == 2 || place == 3 { 6.1 } else { 5.3 };
                let supply = f64::from(self.inputs.coil_supply_read_back.raw());
                *current += 0.25 * (supply * f64::from(duty.raw()) / 10_000.0 / resistance - *current);
            }
        }
        self.senses();
        self.outputs = self.stepper.step(&self.inputs);
    }

    fn senses(&mut self) {
        self.tick += 1;
        let fed = if self.outputs.coil_supply { self.inputs.supply_voltage } else { Millivolts::ZERO };
        self.inputs.coil_supply_read_back = fed;
        // 2300 rpm on 120 teeth: 46 edges a period.
        self.inputs.engine_pickup_edges = self.inputs.engine_pickup_edges.wrapping_add(46);
        self.inputs.engine_pickup_stamp = self.inputs.engine_pickup_stamp.wrapping_add(10_000);
        let before = self.edges as u16;
        // 48 teeth and a period of 10 ms.
        let in_period = self.travel_rpm.abs() * 48.0 / 6_000.0;
        self.edges = (self.edges + in_period) % 65_536.0;
        let now = self.edges as u16;
        self.inputs.travel_motor_edges = now;
        if now != before {
            let since_last_us = self.edges.fract() / in_period * 10_000.0;
            self.inputs.travel_motor_stamp =
                self.tick.wrapping_mul(10_000).wrapping_sub(since_last_us as u32);
        }
        self.inputs.travel_motor_reverse = self.travel_rpm < 0.0;
        if self.tick.is_multiple_of(2) {
            let engine = Eec1 { speed: SpeedField::Valid(Rpm::from_whole(2_300)) };
            self.inputs.engine_controller = u64::from_le_bytes(engine.emit());
            self.inputs.engine_controller_count = self.inputs.engine_controller_count.wrapping_add(1);
        }
    }

    /// Steps for a time in milliseconds with the hands on the levers.
    pub fn run(&mut self, milliseconds: u32) {
        for _ in 0..milliseconds / 10 {
            self.hold();
            self.step();
        }
    }

    /// Presses and releases the enable button.
    pub fn enable(&mut self) {
        self.inputs.enable_button = true;
        self.run(200);
        self.inputs.enable_button = false;
        self.run(100);
    }

    /// Waits for the tests and the station, then asks for permission.
    pub fn permit(&mut self) {
        self.run(2_500);
        self.enable();
    }
}
