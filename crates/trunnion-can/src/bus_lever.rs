//! A lever on the bus: positions, neutral and health from its two messages.

mod config;
#[cfg(test)]
mod tests;

pub use config::{BusLeverConfig, BusLeverConfigError, WheelAxis};

use trunnion::quantity::{Period, Ratio};

use crate::FrameFlaw;
use crate::arrivals::Arrivals;
use crate::joystick::{AxisField, BUTTON_PLACES};
use crate::layout::{basic, extended};
use config::Fitted;

/// What a lever says, once a loop. The default is a lever that was not heard yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct LeverReading {
    /// Right positive; the last valid one, zero while not fresh.
    pub x: Ratio,
    /// Forward positive; the last valid one, zero while not fresh.
    pub y: Ratio,
    /// Of the configured grip axis; the last valid one, zero while the wheel is not fresh.
    pub wheel: Ratio,
    /// Lever released: fresh, nothing wrong with the latest frame, and both axes with the neutral flag set,
    /// both direction flags clear and the deflection inside the band.
    pub neutral: bool,
    /// Wheel released, likewise.
    pub wheel_neutral: bool,
    /// A valid basic frame came in this step.
    pub new_frame: bool,
    /// A valid extended frame came in this step.
    pub new_wheel_frame: bool,
    /// The last valid basic frame is within the time-out, and one unit sends.
    pub fresh: bool,
    /// The last valid extended frame is within the time-out, and one unit sends.
    pub wheel_fresh: bool,
    /// Pressed buttons of the last valid frame, only fitted ones; none while not fresh.
    pub buttons: [bool; 12],
    /// What is wrong with the basic message.
    pub flaw: FrameFlaw,
    /// What is wrong with the extended message.
    pub wheel_flaw: FrameFlaw,
}

/// One axis of a valid frame.
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Held {
    position: Ratio,
    neutral: bool,
}

impl Held {
    const NOTHING: Self = Self { position: Ratio::ZERO, neutral: false };
}

/// A lever on the bus: its Basic and Extended Joystick Message, once a loop, in the form of a mailbox slot.
///
/// A frame is valid when every used field is in its valid range and its flags are consistent; used are X, Y
/// and the fitted buttons of the basic message, and the wheel's axis of the extended one. A frame that is
/// not valid changes nothing but the flaw; the time-out, three periods and at most 300 ms, runs from the
/// last valid frame. After it, and while two units send, positions are zero and no button is pressed.
///
/// Of several frames within one step the latest counts. Detected: late, lost, never seen, error, not
/// available, reserved, inconsistent, and a second sender of the same rate after about
/// `most_frames · 4 / 3` periods. Not detected: frames that keep coming with data that no longer changes
/// (a frozen lever looks like one that is held still), and a second sender that is much slower. Both are
/// residual hazards for the machine's risk assessment.
///
/// ```
/// use trunnion::quantity::{Millis, Period, Permille, Ratio};
/// use trunnion_can::FrameFlaw;
/// use trunnion_can::bus_lever::{BusLever, BusLeverConfig, WheelAxis};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = BusLeverConfig {
///     period: Millis::millis(20),
///     start_up: Millis::millis(2_000),
///     neutral_band: Permille::new(50).unwrap(),
///     most_frames: 4,
///     wheel: WheelAxis::GripY,
///     fitted_buttons: 0b1111,
/// };
/// let mut lever = BusLever::new(config, tick).unwrap();
/// let half_right = u64::from_le_bytes([0x10, 0x7D, 0x01, 0x00, 0xFF, 0x40, 0x00, 0x00]);
///
/// let reading = lever.step((half_right, 1), (u64::MAX, 0));
/// assert_eq!(reading.x, Ratio::from_permille(500).unwrap());
/// assert!(reading.fresh && reading.buttons[0] && !reading.neutral);
///
/// for _ in 0..6 {
///     lever.step((half_right, 1), (u64::MAX, 0)); // the count stands: no frame comes
/// }
/// let reading = lever.step((half_right, 1), (u64::MAX, 0));
/// assert_eq!((reading.x, reading.flaw), (Ratio::ZERO, FrameFlaw::Lost));
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BusLever {
    fitted: Fitted,
    basic: Arrivals,
    extended: Arrivals,
    x: Held,
    y: Held,
    wheel: Held,
    /// Pressed ones, each by the lower bit of its field in the frame.
    buttons: u32,
}

impl BusLever {
    /// Refuses a period outside 10 to 150 ms, a start-up window above 60 s, a neutral band outside 0 to
    /// 200 ‰, and buttons above 12.
    pub const fn new(config: BusLeverConfig, period: Period) -> Result<Self, BusLeverConfigError> {
        let fitted = match config.fitted() {
            Ok(fitted) => fitted,
            Err(error) => return Err(error),
        };
        let arrivals = match Arrivals::new(config.timing(), period) {
            Ok(arrivals) => arrivals,
            Err(error) => return Err(BusLeverConfigError::Timing(error)),
        };
        let nothing = Held::NOTHING;
        Ok(Self {
            fitted,
            basic: arrivals,
            extended: arrivals,
            x: nothing,
            y: nothing,
            wheel: nothing,
            buttons: 0,
        })
    }

    /// Takes a new lever as a whole or refuses it as a whole; positions, counts and times are kept.
    pub fn reconfigure(&mut self, config: BusLeverConfig) -> Result<(), BusLeverConfigError> {
        let fitted = config.fitted()?;
        // The same timing for both: when the first takes it, so does the second.
        self.basic.reconfigure(config.timing()).map_err(BusLeverConfigError::Timing)?;
        self.extended.reconfigure(config.timing()).map_err(BusLeverConfigError::Timing)?;
        self.fitted = fitted;
        Ok(())
    }

    /// As after start: the start-up window opens anew. Frames counted before are not taken for new ones.
    pub fn reset(&mut self) {
        self.basic.reset();
        self.extended.reset();
        self.x = Held::NOTHING;
        self.y = Held::NOTHING;
        self.wheel = Held::NOTHING;
        self.buttons = 0;
    }

    /// One step with data and count of the basic and of the extended message.
    pub fn step(&mut self, basic: (u64, u8), extended: (u64, u8)) -> LeverReading {
        let mut reading = LeverReading::default();
        self.step_basic(basic, &mut reading);
        self.step_extended(extended, &mut reading);
        reading
    }

    fn step_basic(&mut self, (data, count): (u64, u8), reading: &mut LeverReading) {
        let (mut x, mut y, mut buttons) = (self.x, self.y, self.buttons);
        let fitted = self.fitted;
        let arrival = self.basic.step_with(count, || {
            // As `BasicJoystick::parse`, without the buttons that are not fitted.
            let [.., first, second, third] = data.to_le_bytes();
            let (x_flaw, y_flaw, buttons_flaw);
            (x, x_flaw) = held(AxisField::at(data, basic::X, fitted.neutral_band));
            (y, y_flaw) = held(AxisField::at(data, basic::Y, fitted.neutral_band));
            (buttons, buttons_flaw) = pressed(u32::from_be_bytes([0, first, second, third]), fitted.buttons);
            first_flaw([x_flaw, y_flaw, buttons_flaw])
        });
        if arrival.new_frame {
            self.x = x;
            self.y = y;
            self.buttons = buttons;
        }
        reading.new_frame = arrival.new_frame;
        reading.fresh = arrival.fresh;
        reading.flaw = arrival.flaw;
        if arrival.fresh {
            reading.x = self.x.position;
            reading.y = self.y.position;
            reading.neutral = arrival.flaw == FrameFlaw::None && self.x.neutral && self.y.neutral;
            // Mostly none.
            if self.buttons != 0 {
                for (button, place) in reading.buttons.iter_mut().zip(BUTTON_PLACES) {
                    *button = self.buttons.wrapping_shr(place) & 1 == 1;
                }
            }
        }
    }

    fn step_extended(&mut self, (data, count): (u64, u8), reading: &mut LeverReading) {
        let mut wheel = self.wheel;
        let fitted = self.fitted;
        let arrival = self.extended.step_with(count, || {
            let first = match fitted.wheel {
                WheelAxis::GripX => extended::GRIP_X,
                WheelAxis::GripY => extended::GRIP_Y,
                WheelAxis::Theta => extended::THETA,
            };
            let axis = AxisField::at(data, first, fitted.neutral_band);
            let flaw;
            (wheel, flaw) = held(axis);
            flaw
        });
        if arrival.new_frame {
            self.wheel = wheel;
        }
        reading.new_wheel_frame = arrival.new_frame;
        reading.wheel_fresh = arrival.fresh;
        reading.wheel_flaw = arrival.flaw;
        if arrival.fresh {
            reading.wheel = self.wheel.position;
            reading.wheel_neutral = arrival.flaw == FrameFlaw::None && self.wheel.neutral;
        }
    }
}

fn held(axis: AxisField) -> (Held, FrameFlaw) {
    match axis {
        AxisField::Position { position, neutral } => (Held { position, neutral }, FrameFlaw::None),
        AxisField::Error => (Held::NOTHING, FrameFlaw::ErrorValue),
        AxisField::NotAvailable => (Held::NOTHING, FrameFlaw::NotAvailable),
        AxisField::Reserved => (Held::NOTHING, FrameFlaw::Reserved),
        AxisField::Inconsistent => (Held::NOTHING, FrameFlaw::Inconsistent),
    }
}

/// The pressed ones of the fitted buttons, each by the lower bit of its field, and the first flaw among the fitted ones.
fn pressed(word: u32, fitted: u32) -> (u32, FrameFlaw) {
    let (lower, upper) = (word & fitted, word.wrapping_shr(1) & fitted);
    // No field is both: of the two the larger holds the first button, whose place is the highest.
    let (error, not_available) = (upper & !lower, upper & lower);
    let flaw = if upper == 0 {
        FrameFlaw::None
    } else if error > not_available {
        FrameFlaw::ErrorValue
    } else {
        FrameFlaw::NotAvailable
    };
    (lower & !upper, flaw)
}

/// The first that is a flaw.
fn first_flaw<const N: usize>(flaws: [FrameFlaw; N]) -> FrameFlaw {
    flaws.into_iter().find(|flaw| *flaw != FrameFlaw::None).unwrap_or(FrameFlaw::None)
}
