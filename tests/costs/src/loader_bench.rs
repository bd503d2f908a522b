//! What wiring and bus bring to the loader: an operator who works and now and then does what he should not, and things that
//! break.

use loader::declaration::{Coil, CoilReports, Inputs, Outputs, SetPoints};
use trunnion::quantity::{Centiohms, Duty, Milliamps, Millivolts, Ratio, Rpm};
use trunnion::valve::{CoilConditions, CoilReport};
use trunnion_can::engine::{Eec1, SpeedField};
use trunnion_can::joystick::{AxisField, BasicJoystick, ButtonField, ExtendedJoystick, FlagField};

use crate::random::Random;

/// Steps until cut-off and coils have been tested.
pub const STARTING: u32 = 250;
/// Steps until the operator, who asks then, may drive.
pub const WORKING: u32 = STARTING + 50;
/// What a lever may move: X, Y, wheel of either.
const AXES: usize = 6;
/// Steps of 2⁻³⁰ up to which a lever unit says that it is neutral.
const NEUTRAL: i32 = Ratio::ONE_BITS / 50;

/// One period of inputs, and the bench that makes the next.
#[derive(Clone, Copy)]
pub struct Bench {
    /// What the wiring and the bus bring.
    pub inputs: Inputs,
    /// What the coil loop tells.
    pub reports: CoilReports,
    axes: [Ratio; AXES],
    hands_off: bool,
    /// Periods since the start.
    periods: u32,
    /// Periods in which nothing is heard of the left lever.
    silent_for: u32,
    /// Speeds of both motors in edges a period, reverse below zero.
    motors: [i32; 2],
}

impl Bench {
    /// Seated, bar down, unlocked, engine running, ISO pattern; the controller starts now.
    pub fn new() -> Self {
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
            inputs,
            reports: [CoilReport::default(); Coil::COUNT],
            axes: [Ratio::ZERO; AXES],
            hands_off: true,
            periods: 0,
            silent_for: 0,
            motors: [0; 2],
        }
    }

    /// A period later, when the controller gave this.
    pub fn after(mut self, random: &mut Random, outputs: &Outputs, set_points: &SetPoints) -> Self {
        self.periods = self.periods.wrapping_add(1);
        if self.periods > WORKING {
            self.misuse(random);
        }
        self.move_levers(random);
        self.send(random);
        self.feed_back(random, outputs, set_points);
        self.turn(set_points);
        self
    }

    /// A period later with nobody at the levers.
    pub fn at_rest_after(mut self, random: &mut Random, outputs: &Outputs, set_points: &SetPoints) -> Self {
        self.periods = self.periods.wrapping_add(1);
        self.send(random);
        self.feed_back(random, outputs, set_points);
        self.turn(set_points);
        self
    }

    /// The engine sends in the periods of the levers and not between them: `before` is the period before.
    pub fn with_engine_beside_levers(mut self, before: &Self) -> Self {
        let sent = u8::from(!self.periods.is_multiple_of(2));
        self.inputs.engine_controller_count = before.inputs.engine_controller_count.wrapping_add(sent);
        self
    }

    /// Contacts that open for a while, hands that let go, analog values that wander.
    fn misuse(&mut self, random: &mut Random) {
        let inputs = &mut self.inputs;
        // Closed nearly always; open for half a second or so.
        for contact in [
            &mut inputs.seat_occupied,
            &mut inputs.restraint_bar_down,
            &mut inputs.lock_released,
            &mut inputs.park_brake_off,
        ] {
            *contact = *contact != random.once_in(if *contact { 2_000 } else { 50 });
        }
        if random.once_in(20_000) {
            inputs.emergency_stop_first = false;
        }
        if random.once_in(500) {
            inputs.pattern_h_contact = !inputs.pattern_h_contact;
            inputs.pattern_iso_contact = !inputs.pattern_h_contact;
        }
        for (signal, low, high) in [
            (&mut inputs.supply_voltage, 12_500, 14_400),
            (&mut inputs.charge_pressure_signal, 2_300, 3_000),
            (&mut inputs.oil_temperature_signal, 1_500, 3_500),
            (&mut inputs.hand_throttle_signal, 900, 4_500),
        ] {
            let wandered = i32::from(signal.raw()).saturating_add(random.between(-15, 15));
            *signal = Millivolts::saturating(wandered.max(low).min(high).into());
            if random.once_in(20_000) {
                *signal = Millivolts::ZERO;
            }
        }
        if self.silent_for == 0 && random.once_in(4_000) {
            self.silent_for = random.below(40);
        }
        self.hands_off = self.hands_off != random.once_in(if self.hands_off { 40 } else { 250 });
    }

    fn move_levers(&mut self, random: &mut Random) {
        let asks = self.periods > STARTING && (self.periods < STARTING + 20 || random.once_in(60));
        self.inputs.enable_button = if self.periods < WORKING {
            asks
        } else {
            asks || (self.inputs.enable_button && !random.once_in(15))
        };
        if self.periods >= WORKING && self.hands_off && random.once_in(20) {
            self.hands_off = false;
        }
        for axis in &mut self.axes {
            *axis = if self.hands_off || self.periods < WORKING {
                Ratio::ZERO
            } else {
                random.ratio(Some(*axis))
            };
        }
    }

    /// Frames of both levers every other period, of the engine controller in the periods between.
    fn send(&mut self, random: &mut Random) {
        self.silent_for = self.silent_for.saturating_sub(1);
        let inputs = &mut self.inputs;
        inputs.engine_pickup_edges = inputs.engine_pickup_edges.wrapping_add(52);
        inputs.engine_pickup_stamp = inputs.engine_pickup_stamp.wrapping_add(10_000);
        if self.periods.is_multiple_of(2) {
            // 52 edges of 120 teeth in 10 ms.
            let engine = Eec1 { speed: SpeedField::Valid(Rpm::from_whole(2_600)) };
            inputs.engine_controller = u64::from_le_bytes(engine.emit());
            inputs.engine_controller_count = inputs.engine_controller_count.wrapping_add(1);
            return;
        }
        let [left_x, left_y, left_wheel, right_x, right_y, right_wheel] = self.axes;
        let button = if random.once_in(40) { ButtonField::Pressed } else { ButtonField::Released };
        if self.silent_for == 0 {
            inputs.left_lever_basic = basic(left_x, left_y, button);
            inputs.left_lever_extended = extended(left_wheel);
            inputs.left_lever_basic_count = inputs.left_lever_basic_count.wrapping_add(1);
            inputs.left_lever_extended_count = inputs.left_lever_extended_count.wrapping_add(1);
        }
        inputs.right_lever_basic = basic(right_x, right_y, button);
        inputs.right_lever_extended = extended(right_wheel);
        inputs.right_lever_basic_count = inputs.right_lever_basic_count.wrapping_add(1);
        inputs.right_lever_extended_count = inputs.right_lever_extended_count.wrapping_add(1);
    }

    /// The supply follows its relay, currents follow the set-points while it is on; rarely a coil is open for a period.
    fn feed_back(&mut self, random: &mut Random, outputs: &Outputs, set_points: &SetPoints) {
        let on = outputs.coil_supply;
        self.inputs.coil_supply_read_back = if on { self.inputs.supply_voltage } else { Millivolts::ZERO };
        for (report, asked) in self.reports.iter_mut().zip(set_points.currents()) {
            let open = random.once_in(20_000);
            let carried = if on && !open { asked } else { Milliamps::ZERO };
            let noise = if carried == Milliamps::ZERO { 0 } else { random.between(-4, 4) };
            *report = CoilReport {
                average_current: Milliamps::saturating(i64::from(carried.raw()).saturating_add(noise.into())),
                average_duty: Duty::saturating(i64::from(carried.raw()).saturating_mul(4)),
                reachable: Milliamps::saturating(1_500),
                resistance: Centiohms::saturating(570),
                conditions: CoilConditions { open, ..CoilConditions::NONE },
            };
        }
    }

    /// Motors turn as their pumps are driven, some periods later.
    fn turn(&mut self, set_points: &SetPoints) {
        let current = |milliamps: Milliamps| i32::from(milliamps.raw().saturating_sub(300)) / 16;
        let driven = [
            current(set_points.left_pump_forward).saturating_sub(current(set_points.left_pump_reverse)),
            current(set_points.right_pump_forward).saturating_sub(current(set_points.right_pump_reverse)),
        ];
        for (motor, driven) in self.motors.iter_mut().zip(driven) {
            let way = driven.saturating_sub(*motor);
            *motor = motor.saturating_add(way.max(-1).min(1));
        }
        let [left, right] = self.motors;
        let inputs = &mut self.inputs;
        for (motor, edges, stamp, reverse) in [
            (
                left,
                &mut inputs.left_motor_edges,
                &mut inputs.left_motor_stamp,
                &mut inputs.left_motor_reverse,
            ),
            (
                right,
                &mut inputs.right_motor_edges,
                &mut inputs.right_motor_stamp,
                &mut inputs.right_motor_reverse,
            ),
        ] {
            *edges = edges.wrapping_add(motor.unsigned_abs() as u16);
            if motor != 0 {
                *stamp = self.periods.wrapping_mul(10_000);
                *reverse = motor < 0;
            }
        }
    }
}

impl Default for Bench {
    fn default() -> Self {
        Self::new()
    }
}

fn axis(position: Ratio) -> AxisField {
    AxisField::Position { position, neutral: position.magnitude().to_bits() <= NEUTRAL }
}

fn basic(x: Ratio, y: Ratio, first: ButtonField) -> u64 {
    let mut buttons = [ButtonField::Released; 12];
    buttons[0] = first;
    let message =
        BasicJoystick { x: axis(x), y: axis(y), x_detent: FlagField::No, y_detent: FlagField::No, buttons };
    u64::from_le_bytes(message.emit())
}

fn extended(wheel: Ratio) -> u64 {
    let message = ExtendedJoystick {
        grip_x: axis(wheel),
        grip_y: AxisField::NotAvailable,
        theta: AxisField::NotAvailable,
        x_detent: FlagField::No,
        y_detent: FlagField::NotAvailable,
    };
    u64::from_le_bytes(message.emit())
}
