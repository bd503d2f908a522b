//! The units on the machine bus: two levers and the engine controller, each sending real frames.

use loader::declaration::inputs::Input;
use trunnion::declare::Failure;
use trunnion_rig::plant::{
    BusFrame, ButtonState, CanLever, CanLeverConfig, Engine, EngineUnit, EngineUnitConfig, Fit, FlagFault,
    JoystickMessage, LeverAxis, LeverFault, PlantConfigError, broadcast_id,
};
use trunnion_rig::run::Way;
use trunnion_rig::wiring::{FLOOD, FramePath};

/// Frames arrive this much after the declared period when a unit is late.
const LATE_BY_US: u32 = 120_000;
/// A raw axis value that the standard keeps free.
const RESERVED_AXIS: u16 = 1_010;

/// Addresses of the units, and one that is nobody's.
const LEFT: u8 = 0x21;
const RIGHT: u8 = 0x22;
const NOBODY: u8 = 0x77;
/// A message that goes before all others, from a unit that nobody asked for.
const FIRST_OF_ALL: BusFrame = BusFrame { id: broadcast_id(0, 0xFF00, 0xEE), data: [0; 8], at_us: 0 };

/// A lever unit: one sender for each of its two messages, and one more that a fault may add.
#[derive(Debug, Clone)]
pub struct LeverUnit {
    basic: CanLever,
    extended: CanLever,
    stranger: CanLever,
    duplicated: bool,
    /// Of the basic and of the extended message.
    paths: [FramePath; 2],
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
    fn new(seed: u64, source_address: u8, other: u8, phase_ms: f64) -> Result<Self, PlantConfigError> {
        let path = |name: &str| FramePath::new(seed, &format!("{name} {source_address}"), other);
        Ok(Self {
            basic: sender(JoystickMessage::Basic(1), source_address, phase_ms, 2)?,
            extended: sender(JoystickMessage::Extended(1), source_address, phase_ms + 1.0, 0)?,
            stranger: sender(JoystickMessage::Basic(1), source_address, phase_ms + 7.0, 2)?,
            duplicated: false,
            paths: [path("basic"), path("extended")],
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

    /// Breaks or mends the unit with both of its messages.
    pub fn set_way(&mut self, way: Option<Way>) {
        self.set_basic_way(way);
        self.set_extended_way(way);
    }

    fn set_basic_way(&mut self, way: Option<Way>) {
        let steady = way.and_then(Way::steady);
        self.duplicated = steady == Some(Failure::Duplicated);
        self.basic.set_fault(lever_fault(steady, LeverAxis::Y));
        self.paths[0].set_way(way);
    }

    fn set_extended_way(&mut self, way: Option<Way>) {
        self.extended.set_fault(lever_fault(way.and_then(Way::steady), LeverAxis::X));
        self.paths[1].set_way(way);
    }

    fn flood(&self) -> Option<u32> {
        lowest(self.paths.iter().map(FramePath::flood))
    }

    fn advance(&mut self, dt_us: u32, mut send: impl FnMut(BusFrame)) {
        let frames = [self.basic.step(dt_us), self.extended.step(dt_us), self.stranger.step(dt_us)];
        let [basic, extended, stranger] = frames;
        let [basic_path, extended_path] = &mut self.paths;
        basic_path.step(basic).chain(extended_path.step(extended)).for_each(&mut send);
        stranger.filter(|_| self.duplicated).into_iter().for_each(&mut send);
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

/// The identifier of the flood that goes before the others.
fn lowest(floods: impl IntoIterator<Item = Option<u32>>) -> Option<u32> {
    floods.into_iter().flatten().min()
}

/// All units of the machine bus.
#[derive(Debug, Clone)]
pub struct Bus {
    pub left: LeverUnit,
    pub right: LeverUnit,
    engine: EngineUnit,
    engine_stranger: EngineUnit,
    engine_duplicated: bool,
    engine_path: FramePath,
    flooded_from_outside: bool,
    /// The levers send nothing: a log stands in for them.
    pub levers_silent: bool,
}

impl Bus {
    pub fn new(seed: u64) -> Result<Self, PlantConfigError> {
        let engine =
            |phase_ms| EngineUnit::new(EngineUnitConfig { source_address: 0, period_ms: 20.0, phase_ms });
        Ok(Self {
            // A unit that is coded wrongly says that it is the other one.
            left: LeverUnit::new(seed, LEFT, RIGHT, 3.0)?,
            right: LeverUnit::new(seed, RIGHT, LEFT, 8.0)?,
            engine: engine(13.0)?,
            engine_stranger: engine(18.0)?,
            engine_duplicated: false,
            engine_path: FramePath::new(seed, "engine", NOBODY),
            flooded_from_outside: false,
            levers_silent: false,
        })
    }

    /// A unit that nobody asked for fills the bus with what goes before all others.
    pub fn flood_from_outside(&mut self, floods: bool) {
        self.flooded_from_outside = floods;
    }

    fn flood(&self) -> Option<u32> {
        let outside = Some(FIRST_OF_ALL.id).filter(|_| self.flooded_from_outside);
        lowest([outside, self.left.flood(), self.right.flood(), self.engine_path.flood()])
    }

    /// A flood keeps frames of this identifier from the bus.
    pub fn drowns(&self, id: u32) -> bool {
        self.flood().is_some_and(|flood| id > flood)
    }

    /// One step of every unit; each frame that finds its way onto the bus goes to `send`.
    pub fn advance(&mut self, dt_us: u32, engine: &Engine, mut send: impl FnMut(BusFrame)) {
        let flood = self.flood();
        let mut send = |frame: BusFrame| {
            if flood.is_none_or(|flood| frame.id <= flood) {
                send(frame);
            }
        };
        if self.flooded_from_outside {
            (0..FLOOD).for_each(|_| send(FIRST_OF_ALL));
        }
        if !self.levers_silent {
            self.left.advance(dt_us, &mut send);
            self.right.advance(dt_us, &mut send);
        }
        let own = self.engine.step(dt_us, engine.speed_rpm(), engine.torque_share());
        let other = self.engine_stranger.step(dt_us, 0.5 * engine.speed_rpm(), engine.torque_share());
        self.engine_path.step(own).chain(other.filter(|_| self.engine_duplicated)).for_each(send);
    }

    /// Breaks or mends one message, by the place of its data in the inputs.
    pub fn set_message_way(&mut self, index: u16, way: Option<Way>) {
        let is = |input: Input| input as u16 == index;
        if is(Input::left_lever_basic) {
            self.left.set_basic_way(way);
        } else if is(Input::left_lever_extended) {
            self.left.set_extended_way(way);
        } else if is(Input::right_lever_basic) {
            self.right.set_basic_way(way);
        } else if is(Input::right_lever_extended) {
            self.right.set_extended_way(way);
        } else if is(Input::engine_controller) {
            let steady = way.and_then(Way::steady);
            self.engine_duplicated = steady == Some(Failure::Duplicated);
            self.engine.set_failure(steady);
            self.engine_path.set_way(way);
        }
    }
}
