//! The units on the machine bus: two levers and the engine controller, each sending real frames.

use loader::declaration::inputs::Input;
use trunnion::declare::Failure;
use trunnion_rig::plant::{
    BusFrame, ButtonState, CanLever, CanLeverConfig, Engine, EngineUnit, EngineUnitConfig, Fit, FlagFault,
    JoystickMessage, LeverAxis, LeverFault, PlantConfigError,
};

/// Frames arrive this much after the declared period when a unit is late.
const LATE_BY_US: u32 = 120_000;
/// A raw axis value that the standard keeps free.
const RESERVED_AXIS: u16 = 1_010;

/// A lever unit: one sender for each of its two messages, and one more that a fault may add.
#[derive(Debug, Clone)]
pub struct LeverUnit {
    basic: CanLever,
    extended: CanLever,
    stranger: CanLever,
    duplicated: bool,
}

fn sender(
    message: JoystickMessage,
    source_address: u8,
    phase_ms: f64,
    buttons: u8,
) -> Result<CanLever, PlantConfigError> {
    let axes = match message {
        JoystickMessage::Basic(_) => [Fit::Fitted, Fit::Fitted, Fit::Absent],
        JoystickMessage::Extended(_) => [Fit::Fitted, Fit::Absent, Fit::Absent],
    };
    CanLever::new(CanLeverConfig {
        message,
        source_address,
        period_ms: 20.0,
        phase_ms,
        neutral_band: 0.02,
        axes,
        buttons,
    })
}

impl LeverUnit {
    fn new(source_address: u8, phase_ms: f64) -> Result<Self, PlantConfigError> {
        Ok(Self {
            basic: sender(JoystickMessage::Basic(1), source_address, phase_ms, 2)?,
            extended: sender(JoystickMessage::Extended(1), source_address, phase_ms + 1.0, 0)?,
            stranger: sender(JoystickMessage::Basic(1), source_address, phase_ms + 7.0, 2)?,
            duplicated: false,
        })
    }

    /// Puts the lever to a position, each axis −1 to 1.
    pub fn set(&mut self, axis: LeverPart, deflection: f64) {
        match axis {
            LeverPart::X => self.basic.set_axis(LeverAxis::X, deflection),
            LeverPart::Y => self.basic.set_axis(LeverAxis::Y, deflection),
            LeverPart::Wheel => self.extended.set_axis(LeverAxis::X, deflection),
        }
    }

    /// Presses or releases a button, 1 or 2.
    pub fn press(&mut self, number: u8, pressed: bool) {
        self.basic.set_button(number, if pressed { ButtonState::Pressed } else { ButtonState::Released });
    }

    fn set_fault(&mut self, failure: Option<Failure>) {
        self.duplicated = failure == Some(Failure::Duplicated);
        self.basic.set_fault(lever_fault(failure, LeverAxis::Y));
        self.extended.set_fault(lever_fault(failure, LeverAxis::X));
    }

    fn advance(&mut self, dt_us: u32, mut send: impl FnMut(BusFrame)) {
        let frames = [self.basic.step(dt_us), self.extended.step(dt_us), self.stranger.step(dt_us)];
        let [basic, extended, stranger] = frames;
        let stranger = stranger.filter(|_| self.duplicated);
        [basic, extended, stranger].into_iter().flatten().for_each(&mut send);
    }
}

/// A part of a lever that a hand moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeverPart {
    X,
    Y,
    Wheel,
}

fn lever_fault(failure: Option<Failure>, axis: LeverAxis) -> LeverFault {
    match failure {
        Some(Failure::Lost) => LeverFault::Lost,
        Some(Failure::Late) => LeverFault::Late { by_us: LATE_BY_US },
        Some(Failure::ErrorValue) => LeverFault::AxisError(axis),
        Some(Failure::NotAvailable) => LeverFault::AxisNotAvailable(axis),
        Some(Failure::Reserved) => LeverFault::AxisRaw(axis, RESERVED_AXIS),
        Some(Failure::Inconsistent) => LeverFault::AxisFlags(axis, FlagFault::BothDirections),
        Some(Failure::Frozen) => LeverFault::Frozen,
        _ => LeverFault::None,
    }
}

/// All units of the machine bus.
#[derive(Debug, Clone)]
pub struct Bus {
    pub left: LeverUnit,
    pub right: LeverUnit,
    engine: EngineUnit,
    engine_stranger: EngineUnit,
    engine_duplicated: bool,
}

impl Bus {
    pub fn new() -> Result<Self, PlantConfigError> {
        let engine =
            |phase_ms| EngineUnit::new(EngineUnitConfig { source_address: 0, period_ms: 20.0, phase_ms });
        Ok(Self {
            left: LeverUnit::new(0x21, 3.0)?,
            right: LeverUnit::new(0x22, 8.0)?,
            engine: engine(13.0)?,
            engine_stranger: engine(18.0)?,
            engine_duplicated: false,
        })
    }

    /// One step of every unit; each frame goes to `send`.
    pub fn advance(&mut self, dt_us: u32, engine: &Engine, mut send: impl FnMut(BusFrame)) {
        self.left.advance(dt_us, &mut send);
        self.right.advance(dt_us, &mut send);
        let own = self.engine.step(dt_us, engine.speed_rpm(), engine.torque_share());
        let other = self.engine_stranger.step(dt_us, 0.5 * engine.speed_rpm(), engine.torque_share());
        own.into_iter().chain(other.filter(|_| self.engine_duplicated)).for_each(send);
    }

    /// Breaks or mends a lever unit with both of its messages.
    pub fn set_left_fault(&mut self, failure: Option<Failure>) {
        self.left.set_fault(failure);
    }

    /// Breaks or mends a lever unit with both of its messages.
    pub fn set_right_fault(&mut self, failure: Option<Failure>) {
        self.right.set_fault(failure);
    }

    /// Breaks or mends one message, by the place of its data in the inputs.
    pub fn set_message_fault(&mut self, index: u16, failure: Option<Failure>) {
        let is = |input: Input| input as u16 == index;
        let duplicated = failure == Some(Failure::Duplicated);
        if is(Input::left_lever_basic) {
            self.left.duplicated = duplicated;
            self.left.basic.set_fault(lever_fault(failure, LeverAxis::Y));
        } else if is(Input::left_lever_extended) {
            self.left.extended.set_fault(lever_fault(failure, LeverAxis::X));
        } else if is(Input::right_lever_basic) {
            self.right.duplicated = duplicated;
            self.right.basic.set_fault(lever_fault(failure, LeverAxis::Y));
        } else if is(Input::right_lever_extended) {
            self.right.extended.set_fault(lever_fault(failure, LeverAxis::X));
        } else if is(Input::engine_controller) {
            self.engine_duplicated = duplicated;
            self.engine.set_failure(failure);
        }
    }
}
