//! A lever on the bus: J1939 Basic and Extended Joystick Messages as real frames.
//!
//! The layout (SAE J1939-71, confirmed in device makers' public data sheets; the extended message's theta
//! axis from memory) is written here on purpose without the core's decoder, so that the two check each other.

use super::broadcast::{Broadcast, BusFrame, Sending, broadcast_id};
use super::config_error::{Check, PlantConfigError};
use super::within::Within;

/// Buttons that a message carries.
pub const LEVER_BUTTONS: usize = 12;

/// Raw position of a lever at full deflection: 0.1 % a bit.
const FULL_POSITION: f64 = 1000.0;

/// Which of a lever's messages a device sends; numbers 1 to 3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JoystickMessage {
    /// Basic Joystick Message: main axes and buttons. PGN 64982, 64984, 64986.
    Basic(u8),
    /// Extended Joystick Message: grip axes, theta. PGN 64983, 64985, 64987.
    Extended(u8),
}

/// An axis of the message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeverAxis {
    /// Left/right, right positive.
    X,
    /// Back/forward, forward positive.
    Y,
    /// Rotation, extended message only.
    Theta,
}

/// Whether a device has a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Fit {
    /// It has not: "not available" is sent.
    #[default]
    Absent,
    /// It has.
    Fitted,
}

/// Two bits of a button (SAE J1939-71).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ButtonState {
    /// 00.
    #[default]
    Released,
    /// 01.
    Pressed,
    /// 10.
    Error,
    /// 11.
    NotAvailable,
}

/// A lever device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CanLeverConfig {
    /// The message that it sends.
    pub message: JoystickMessage,
    /// Its source address, 0 to 253.
    pub source_address: u8,
    /// Its period, 5 to 5000 ms; levers send every 10 to 50 ms.
    pub period_ms: f64,
    /// When it sends first, 0 to the period, ms.
    pub phase_ms: f64,
    /// Deflection up to which the device itself says "neutral" and sends position zero, 0 to 0.2.
    pub neutral_band: f64,
    /// Its axes X, Y, theta.
    pub axes: [Fit; 3],
    /// Its buttons: the first so many of twelve.
    pub buttons: u8,
}

/// Flags of an axis that contradict each other or the position.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlagFault {
    /// Neutral is set and one direction too.
    NeutralAndDirection,
    /// Both directions are set.
    BothDirections,
    /// No flag is set.
    NoneSet,
    /// Neutral is set over a position of 60 %.
    NeutralOverPosition,
    /// All three flags say "error" (10) over a good position.
    Error,
    /// All three flags say "not available" (11) over a good position.
    NotAvailable,
}

/// How a lever fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LeverFault {
    /// It does not.
    #[default]
    None,
    /// Unplugged: no frames.
    Lost,
    /// Each frame comes this much after its time and the schedule slips with it.
    Late {
        /// Delay, µs.
        by_us: u32,
    },
    /// The axis sends 1022 and error flags.
    AxisError(LeverAxis),
    /// The axis sends 1023 and "not available" flags.
    AxisNotAvailable(LeverAxis),
    /// The axis sends a raw position (0 to 1023; 1001 to 1021 are reserved) under right flags.
    AxisRaw(LeverAxis, u16),
    /// The axis sends wrong flags.
    AxisFlags(LeverAxis, FlagFault),
    /// A button (1 to 12) sends this, whatever the thumb does.
    Button(u8, ButtonState),
    /// Frames come, their data no longer change.
    Frozen,
    /// The device sends under this source address.
    WrongSource(u8),
}

/// A lever: axes and buttons in, frames out.
#[derive(Debug, Clone, PartialEq)]
pub struct CanLever {
    config: CanLeverConfig,
    broadcast: Broadcast,
    deflection: [f64; 3],
    detent: [ButtonState; 2],
    buttons: [ButtonState; LEVER_BUTTONS],
    fault: LeverFault,
    frozen: Option<[u8; 8]>,
}

impl CanLever {
    /// A lever in neutral, its buttons released; refuses values outside the ranges of [`CanLeverConfig`].
    pub fn new(config: CanLeverConfig) -> Result<Self, PlantConfigError> {
        let check = Check("can lever");
        let (JoystickMessage::Basic(number) | JoystickMessage::Extended(number)) = config.message;
        check.range("message", f64::from(number), 1.0, 3.0)?;
        check.range("source_address", f64::from(config.source_address), 0.0, 253.0)?;
        check.range("neutral_band", config.neutral_band, 0.0, 0.2)?;
        check.range("buttons", f64::from(config.buttons), 0.0, LEVER_BUTTONS as f64)?;
        let mut buttons = [ButtonState::NotAvailable; LEVER_BUTTONS];
        for button in buttons.iter_mut().take(usize::from(config.buttons)) {
            *button = ButtonState::Released;
        }
        Ok(CanLever {
            config,
            broadcast: Broadcast::new("can lever", config.period_ms, config.phase_ms)?,
            deflection: [0.0; 3],
            detent: [ButtonState::NotAvailable; 2],
            buttons,
            fault: LeverFault::None,
            frozen: None,
        })
    }

    /// Deflects an axis, −1 to 1 (values beyond are brought to it; not-a-number is neutral).
    pub fn set_axis(&mut self, axis: LeverAxis, deflection: f64) {
        self.deflection[axis as usize] = deflection.within(-1.0, 1.0);
    }

    /// Presses or releases a button, 1 to 12; numbers beyond and buttons that are not fitted do nothing.
    pub fn set_button(&mut self, number: u8, state: ButtonState) {
        let fitted = usize::from(self.config.buttons);
        let index = usize::from(number).checked_sub(1);
        if let Some(button) = index.and_then(|index| self.buttons.iter_mut().take(fitted).nth(index)) {
            *button = state;
        }
    }

    /// Sets the detent of an axis (X or Y; theta has none); "not available" until set.
    pub fn set_detent(&mut self, axis: LeverAxis, state: ButtonState) {
        if let Some(detent) = self.detent.get_mut(axis as usize) {
            *detent = state;
        }
    }

    /// Breaks or mends the lever.
    pub fn set_fault(&mut self, fault: LeverFault) {
        self.fault = fault;
        self.frozen = (fault == LeverFault::Frozen).then(|| self.encode());
    }

    /// Passes `dt_us` microseconds (at most a period); the frame that left in them, if one did.
    pub fn step(&mut self, dt_us: u32) -> Option<BusFrame> {
        let sending = match self.fault {
            LeverFault::Lost => Sending::Lost,
            LeverFault::Late { by_us } => Sending::Late { by_us },
            _ => Sending::OnTime,
        };
        let at_us = self.broadcast.step(dt_us, sending)?;
        let source = match self.fault {
            LeverFault::WrongSource(address) => address,
            _ => self.config.source_address,
        };
        let data = self.frozen.unwrap_or_else(|| self.encode());
        Some(BusFrame { id: broadcast_id(3, self.parameter_group(), source), data, at_us })
    }

    /// The parameter group of the lever's message.
    pub fn parameter_group(&self) -> u32 {
        match self.config.message {
            JoystickMessage::Basic(number) => 64_980 + 2 * u32::from(number),
            JoystickMessage::Extended(number) => 64_981 + 2 * u32::from(number),
        }
    }

    fn encode(&self) -> [u8; 8] {
        let mut data = [0xff; 8];
        data[0..2].copy_from_slice(&self.encode_axis(LeverAxis::X));
        data[2..4].copy_from_slice(&self.encode_axis(LeverAxis::Y));
        let [detent_x, detent_y] = self.detent.map(|detent| detent as u8);
        let detents = 0x0f | (detent_y << 4) | (detent_x << 6);
        match self.config.message {
            JoystickMessage::Basic(_) => {
                data[4] = detents;
                let buttons = self.buttons_with_fault();
                for (byte, four) in data[5..].iter_mut().zip(buttons.chunks(4)) {
                    // The first button of four sits in the two highest bits.
                    *byte = four.iter().fold(0, |bits, &button| (bits << 2) | button as u8);
                }
            }
            JoystickMessage::Extended(_) => {
                data[4..6].copy_from_slice(&self.encode_axis(LeverAxis::Theta));
                data[6] = detents;
            }
        }
        data
    }

    fn buttons_with_fault(&self) -> [ButtonState; LEVER_BUTTONS] {
        let mut buttons = self.buttons;
        if let LeverFault::Button(number, state) = self.fault
            && let Some(button) = usize::from(number).checked_sub(1).and_then(|index| buttons.get_mut(index))
        {
            *button = state;
        }
        buttons
    }

    /// Two bytes: neutral, negative and positive flag, two low and eight high bits of the position.
    fn encode_axis(&self, axis: LeverAxis) -> [u8; 2] {
        let deflection = self.deflection[axis as usize];
        let neutral = deflection.abs() <= self.config.neutral_band;
        let (set, clear) = (0b01, 0b00);
        let (mut flags, mut position) = match deflection {
            _ if neutral => ([set, clear, clear], 0),
            negative if negative < 0.0 => ([clear, set, clear], raw_position(negative)),
            positive => ([clear, clear, set], raw_position(positive)),
        };
        if self.config.axes[axis as usize] == Fit::Absent {
            (flags, position) = ([0b11; 3], 1023);
        }
        match self.fault {
            LeverFault::AxisError(broken) if broken == axis => (flags, position) = ([0b10; 3], 1022),
            LeverFault::AxisNotAvailable(broken) if broken == axis => (flags, position) = ([0b11; 3], 1023),
            LeverFault::AxisRaw(broken, raw) if broken == axis => position = raw & 0x3ff,
            LeverFault::AxisFlags(broken, fault) if broken == axis => {
                (flags, position) = match fault {
                    FlagFault::NeutralAndDirection => ([set, clear, set], position),
                    FlagFault::BothDirections => ([clear, set, set], position),
                    FlagFault::NoneSet => ([clear; 3], position),
                    FlagFault::NeutralOverPosition => ([set, clear, clear], 600),
                    FlagFault::Error => ([0b10; 3], position),
                    FlagFault::NotAvailable => ([0b11; 3], position),
                };
            }
            _ => {}
        }
        let low = (position & 0b11) as u8;
        [flags[0] | (flags[1] << 2) | (flags[2] << 4) | (low << 6), (position >> 2) as u8]
    }
}

/// Magnitude of a deflection in 0.1 %, rounded half up.
fn raw_position(deflection: f64) -> u16 {
    (deflection.abs() * FULL_POSITION).round() as u16
}

#[cfg(test)]
mod tests;
