//! The sending side.

use trunnion::quantity::{Millis, Period};

use super::announcement::{AbortReason, Announcement, offset};
use super::control::Control;
use super::receive::PRIORITY;
use crate::frame::Frame;
use crate::id::{Id29, pgn};

/// Longest wait for an answer to a request or to the last packet, T3 (SAE J1939-21).
const FOR_AN_ANSWER: Millis = Millis::from_ticks(1250);
/// Longest wait after a clear-to-send that says "wait", T4 (SAE J1939-21).
const ON_HOLD: Millis = Millis::from_ticks(1050);

/// How a [`Sender`] sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SenderConfig {
    /// Our address, 0 to 253.
    pub address: u8,
    /// Time between two packets of a broadcast, 50 to 200 ms (SAE J1939-21).
    pub broadcast_gap: Millis,
}

/// Why a [`SenderConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SenderConfigError {
    /// 254 and 255 are nobody's address.
    NoAddress {
        /// What was given.
        value: u8,
    },
    /// The gap is outside 50 to 200 ms.
    GapOutside {
        /// What was given.
        value: Millis,
    },
}

impl core::fmt::Display for SenderConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoAddress { value } => write!(formatter, "address is {value}; it must be 0 to 253"),
            Self::GapOutside { value } => {
                write!(formatter, "broadcast_gap is {value}; it must be 50 to 200 ms")
            }
        }
    }
}

impl core::error::Error for SenderConfigError {}

/// Why a message was not begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SendRefusal {
    /// One is under way.
    Busy,
    /// Fewer than 9 bytes (a single frame does), more than 1785, or more than the buffer holds.
    Size,
    /// No group has such a number.
    Group,
}

/// What became of the latest message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Sent {
    /// None was begun.
    Nothing,
    /// Under way.
    UnderWay,
    /// All sent; with a receiver of its own, acknowledged as well.
    Done,
    /// Given up by us or by the receiver.
    Aborted(AbortReason),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum State {
    Resting(Sent),
    /// The announcement is still to be sent.
    Announcing {
        broadcast: bool,
    },
    /// The next packet goes out when `wait` is zero.
    Broadcasting {
        next: u8,
        wait: u32,
    },
    /// Packets `next` to `last` go out, one a period.
    Sending {
        next: u8,
        last: u8,
    },
    /// Waiting for a word of the receiver.
    Waiting {
        left: u32,
    },
    Aborting(AbortReason),
}

/// Sends one message at a time, of at most `N` bytes, to all (BAM) or to one address (RTS/CTS).
///
/// Give it every frame of a period by `take`, then call `step` once: it gives at most one frame to send. Between
/// packets of a broadcast lies the gap; packets to one address go one a period, as many as the receiver lets
/// through. Silence of the receiver above 1250 ms (T3), or above 1050 ms on hold (T4), ends the message with
/// [`AbortReason::Timeout`].
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion_can::transport::{Sender, SenderConfig, Sent};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = SenderConfig { address: 0x27, broadcast_gap: Millis::millis(50) };
/// let mut sender = Sender::<64>::new(config, tick).unwrap();
/// sender.broadcast(65226, &[4, 255, 184, 4, 3, 10, 100, 0, 228, 127]).unwrap();
/// let mut frames = Vec::new();
/// while sender.sent() == Sent::UnderWay {
///     frames.extend(sender.step());
/// }
/// assert_eq!(frames.len(), 3); // announcement and two packets
/// assert_eq!(frames[0].bytes(), [0x20, 0x0A, 0x00, 0x02, 0xFF, 0xCA, 0xFE, 0x00]);
/// assert_eq!(frames[2].bytes(), [0x02, 0x00, 0xE4, 0x7F, 0xFF, 0xFF, 0xFF, 0xFF]);
/// ```
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Sender<const N: usize> {
    address: u8,
    gap: u32,
    for_an_answer: u32,
    on_hold: u32,
    period: Period,
    state: State,
    destination: u8,
    message: Option<Announcement>,
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    bytes: [u8; N],
}

impl<const N: usize> Sender<N> {
    /// Refuses an address above 253 and a gap outside 50 to 200 ms.
    pub const fn new(config: SenderConfig, period: Period) -> Result<Self, SenderConfigError> {
        if let Err(error) = check(config) {
            return Err(error);
        }
        Ok(Self {
            address: config.address,
            gap: period.steps(config.broadcast_gap),
            for_an_answer: period.steps(FOR_AN_ANSWER),
            on_hold: period.steps(ON_HOLD),
            period,
            state: State::Resting(Sent::Nothing),
            destination: 0xFF,
            message: None,
            bytes: [0; N],
        })
    }

    /// Takes a new address or gap as a whole or refuses it as a whole; a message under way is dropped.
    pub fn reconfigure(&mut self, config: SenderConfig) -> Result<(), SenderConfigError> {
        check(config)?;
        self.address = config.address;
        self.gap = self.period.steps(config.broadcast_gap);
        self.reset();
        Ok(())
    }

    /// Drops a message under way, and says nothing of it.
    pub const fn reset(&mut self) {
        self.state = State::Resting(Sent::Nothing);
        self.message = None;
    }

    /// Begins a message to all.
    pub fn broadcast(&mut self, pgn: u32, bytes: &[u8]) -> Result<(), SendRefusal> {
        self.begin(0xFF, pgn, bytes)
    }

    /// Begins a message to one address. 255 means all, as ever.
    pub fn send(&mut self, destination: u8, pgn: u32, bytes: &[u8]) -> Result<(), SendRefusal> {
        self.begin(destination, pgn, bytes)
    }

    fn begin(&mut self, destination: u8, pgn: u32, bytes: &[u8]) -> Result<(), SendRefusal> {
        if self.sent() == Sent::UnderWay {
            return Err(SendRefusal::Busy);
        }
        if pgn > 0x3_FFFF {
            return Err(SendRefusal::Group);
        }
        let size = u16::try_from(bytes.len()).map_err(|_| SendRefusal::Size)?;
        let message = Announcement::new(pgn, size).ok_or(SendRefusal::Size)?;
        let room = self.bytes.get_mut(..bytes.len()).ok_or(SendRefusal::Size)?;
        room.iter_mut().zip(bytes).for_each(|(place, byte)| *place = *byte);
        self.destination = destination;
        self.message = Some(message);
        self.state = State::Announcing { broadcast: destination == 0xFF };
        Ok(())
    }

    /// What became of the latest message.
    pub const fn sent(&self) -> Sent {
        match self.state {
            State::Resting(sent) => sent,
            _ => Sent::UnderWay,
        }
    }

    /// Takes a frame of the bus; only the receiver's word about our message changes anything.
    pub fn take(&mut self, frame: &Frame) {
        let (Some(id), Some(bytes), Some(message)) = (frame.id29(), frame.eight(), self.message) else {
            return;
        };
        let to_us = id.pgn() == pgn::TRANSPORT_CONTROL
            && id.destination() == Some(self.address)
            && id.source() == self.destination
            && self.destination != 0xFF;
        let Some(control) = Control::parse(bytes).filter(|_| to_us) else { return };
        match (control, self.state) {
            (Control::Abort { pgn, reason }, _) if pgn == message.pgn && self.sent() == Sent::UnderWay => {
                self.state = State::Resting(Sent::Aborted(reason));
            }
            (Control::EndOfMessage { message: told }, State::Waiting { .. }) if told == message => {
                self.state = State::Resting(Sent::Done);
            }
            (Control::ClearToSend { pgn, packets: 0, .. }, State::Waiting { .. }) if pgn == message.pgn => {
                self.state = State::Waiting { left: self.on_hold };
            }
            (Control::ClearToSend { pgn, packets, next }, State::Waiting { .. }) if pgn == message.pgn => {
                self.clear_to_send(message, packets, next);
            }
            (Control::ClearToSend { pgn, .. }, State::Sending { .. }) if pgn == message.pgn => {
                self.state = State::Aborting(AbortReason::UnexpectedClearToSend);
            }
            _ => {}
        }
    }

    fn clear_to_send(&mut self, message: Announcement, packets: u8, next: u8) {
        let last = next.saturating_add(packets.saturating_sub(1));
        self.state = if next == 0 || last > message.packets() {
            State::Aborting(AbortReason::BadSequence)
        } else {
            State::Sending { next, last }
        };
    }

    /// One period: the frame that is due, at most one.
    pub fn step(&mut self) -> Option<Frame> {
        let message = self.message?;
        match self.state {
            State::Resting(_) => None,
            State::Announcing { broadcast: true } => {
                self.state = State::Broadcasting { next: 1, wait: self.gap };
                self.control(Control::Broadcast { message })
            }
            State::Announcing { broadcast: false } => {
                self.state = State::Waiting { left: self.for_an_answer };
                self.control(Control::RequestToSend { message, window: 0xFF })
            }
            State::Broadcasting { next, wait } if wait > 1 => {
                self.state = State::Broadcasting { next, wait: wait.saturating_sub(1) };
                None
            }
            State::Broadcasting { next, .. } => {
                self.state = if next == message.packets() {
                    State::Resting(Sent::Done)
                } else {
                    State::Broadcasting { next: next.saturating_add(1), wait: self.gap }
                };
                self.packet(message, next)
            }
            State::Sending { next, last } => {
                self.state = if next == last {
                    State::Waiting { left: self.for_an_answer }
                } else {
                    State::Sending { next: next.saturating_add(1), last }
                };
                self.packet(message, next)
            }
            State::Waiting { left: 0 } => self.abort(message, AbortReason::Timeout),
            State::Waiting { left } => {
                self.state = State::Waiting { left: left.saturating_sub(1) };
                None
            }
            State::Aborting(reason) => self.abort(message, reason),
        }
    }

    fn abort(&mut self, message: Announcement, reason: AbortReason) -> Option<Frame> {
        self.state = State::Resting(Sent::Aborted(reason));
        self.control(Control::Abort { pgn: message.pgn, reason })
    }

    fn control(&self, control: Control) -> Option<Frame> {
        let id = Id29::addressed(PRIORITY, pgn::TRANSPORT_CONTROL, self.destination, self.address)?;
        Some(Frame::group(id, control.emit()))
    }

    /// Packet number `number`, filled up with 0xFF (SAE J1939-21).
    fn packet(&self, message: Announcement, number: u8) -> Option<Frame> {
        let id = Id29::addressed(PRIORITY, pgn::TRANSPORT_PACKET, self.destination, self.address)?;
        let start = usize::from(offset(number));
        let end = usize::from(message.size()).min(start.saturating_add(7));
        let mut data = [0xFF; 8];
        let [first, content @ ..] = &mut data;
        *first = number;
        for (place, byte) in content.iter_mut().zip(self.bytes.get(start..end).unwrap_or_default()) {
            *place = *byte;
        }
        Some(Frame::group(id, data))
    }
}

const fn check(config: SenderConfig) -> Result<(), SenderConfigError> {
    if config.address > 253 {
        return Err(SenderConfigError::NoAddress { value: config.address });
    }
    let gap = config.broadcast_gap;
    if gap.ticks() < 50 || gap.ticks() > 200 {
        return Err(SenderConfigError::GapOutside { value: gap });
    }
    Ok(())
}
