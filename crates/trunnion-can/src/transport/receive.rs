//! The receiving side.

use trunnion::quantity::{Millis, Period};

use super::announcement::{AbortReason, Announcement, offset};
use super::control::Control;
use crate::frame::Frame;
use crate::id::{Id29, pgn};

/// Longest silence between two packets, T1 (SAE J1939-21).
const BETWEEN_PACKETS: Millis = Millis::from_ticks(750);
/// Longest silence after a clear-to-send, T2 (SAE J1939-21).
const AFTER_CLEAR_TO_SEND: Millis = Millis::from_ticks(1250);
/// Priority of connection management and of packets (SAE J1939-21).
pub(super) const PRIORITY: u8 = 7;

/// Which messages a [`Receiver`] takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Kind {
    /// Messages to all (BAM).
    Broadcast,
    /// Messages to our address, under our control (RTS/CTS).
    Addressed,
}

/// What a [`Receiver`] listens to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReceiverConfig {
    /// Messages to all or to us.
    pub kind: Kind,
    /// Our address, 0 to 253.
    pub address: u8,
    /// Most packets that we let come at once, 1 to 255; as many as the frame queue of the board holds.
    pub window: u8,
}

/// Why a [`ReceiverConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReceiverConfigError {
    /// 254 and 255 are nobody's address.
    NoAddress {
        /// What was given.
        value: u8,
    },
    /// With a window of zero nothing would ever come.
    NoWindow,
}

impl core::fmt::Display for ReceiverConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoAddress { value } => write!(formatter, "address is {value}; it must be 0 to 253"),
            Self::NoWindow => write!(formatter, "window is 0; it must be 1 to 255 packets"),
        }
    }
}

impl core::error::Error for ReceiverConfigError {}

/// A message that has come whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Message<'a> {
    /// Its parameter group.
    pub pgn: u32,
    /// Who sent it.
    pub source: u8,
    /// Its bytes.
    pub bytes: &'a [u8],
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum State {
    Idle,
    /// Packets are coming; `next` is the number of the one whose turn it is, `last` the last of the window.
    Coming {
        source: u8,
        message: Announcement,
        next: u8,
        last: u8,
        waited: u32,
        limit: u32,
    },
    Whole {
        source: u8,
        message: Announcement,
    },
}

/// Puts one message at a time together, of at most `N` bytes (and at most 1785).
///
/// Give it every frame of a period by `take`, then call `step` once: it counts the time and gives the frame that
/// must be answered, if any. A whole message stays until `release`.
///
/// - A second announcement of the same sender starts anew; another sender's request is refused with
///   [`AbortReason::Busy`], its broadcast is not heard.
/// - A message above `N` bytes is refused with [`AbortReason::NoResources`].
/// - A packet out of turn ends the connection with [`AbortReason::BadSequence`]; the packet just taken may come
///   twice. Silence above 750 ms between packets (T1) or 1250 ms after our clear-to-send (T2) ends it, too.
///
/// Time and memory of a call do not depend on what comes.
///
/// ```
/// use trunnion::quantity::Period;
/// use trunnion_can::frame::Frame;
/// use trunnion_can::id::Id29;
/// use trunnion_can::transport::{Kind, Receiver, ReceiverConfig};
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let config = ReceiverConfig { kind: Kind::Broadcast, address: 0x27, window: 8 };
/// let mut receiver = Receiver::<64>::new(config, tick).unwrap();
/// let control = Id29::addressed(7, 0xEC00, 0xFF, 0x33).unwrap();
/// let packet = Id29::addressed(7, 0xEB00, 0xFF, 0x33).unwrap();
/// receiver.take(&Frame::group(control, [0x20, 10, 0, 2, 0xFF, 0xCA, 0xFE, 0]));
/// receiver.take(&Frame::group(packet, [1, 4, 255, 184, 4, 3, 10, 100]));
/// receiver.take(&Frame::group(packet, [2, 0, 228, 127, 255, 255, 255, 255]));
/// let message = receiver.message().unwrap();
/// assert_eq!((message.pgn, message.source), (65226, 0x33));
/// assert_eq!(message.bytes, [4, 255, 184, 4, 3, 10, 100, 0, 228, 127]);
/// ```
#[derive(Debug, Clone)]
pub struct Receiver<const N: usize> {
    config: ReceiverConfig,
    between_packets: u32,
    after_clear_to_send: u32,
    state: State,
    /// What `step` will send: at most one answer is due at a time, the latest counts.
    answer: Option<(u8, Control)>,
    bytes: [u8; N],
}

impl<const N: usize> Receiver<N> {
    /// Refuses an address above 253 and a window of zero.
    pub const fn new(config: ReceiverConfig, period: Period) -> Result<Self, ReceiverConfigError> {
        if let Err(error) = check(config) {
            return Err(error);
        }
        Ok(Self {
            config,
            between_packets: period.steps(BETWEEN_PACKETS),
            after_clear_to_send: period.steps(AFTER_CLEAR_TO_SEND),
            state: State::Idle,
            answer: None,
            bytes: [0; N],
        })
    }

    /// Takes a new address or window as a whole or refuses it as a whole; what was coming is dropped.
    pub fn reconfigure(&mut self, config: ReceiverConfig) -> Result<(), ReceiverConfigError> {
        check(config)?;
        self.config = config;
        self.reset();
        Ok(())
    }

    /// Drops what was coming, and says nothing of it.
    pub const fn reset(&mut self) {
        self.state = State::Idle;
        self.answer = None;
    }

    /// Takes a frame of the bus; frames of other groups and other addresses change nothing.
    pub fn take(&mut self, frame: &Frame) {
        let (Some(id), Some(bytes)) = (frame.id29(), frame.eight()) else { return };
        let ours = match self.config.kind {
            Kind::Broadcast => 0xFF,
            Kind::Addressed => self.config.address,
        };
        if id.destination() != Some(ours) {
            return;
        }
        match id.pgn() {
            pgn::TRANSPORT_CONTROL => {
                if let Some(control) = Control::parse(bytes) {
                    self.control(id.source(), control);
                }
            }
            pgn::TRANSPORT_PACKET => self.packet(id.source(), bytes),
            _ => {}
        }
    }

    fn control(&mut self, source: u8, control: Control) {
        match (control, self.config.kind) {
            (Control::Broadcast { message }, Kind::Broadcast) => {
                let free = self.partner().is_none_or(|partner| partner == source);
                if free && usize::from(message.size()) <= N {
                    let (last, limit) = (message.packets(), self.between_packets);
                    self.state = State::Coming { source, message, next: 1, last, waited: 0, limit };
                }
            }
            (Control::RequestToSend { message, window }, Kind::Addressed) => {
                self.request(source, message, window);
            }
            (Control::Abort { pgn, .. }, Kind::Addressed) => {
                let given_up = matches!(self.state, State::Coming { source: partner, message, .. }
                    if partner == source && message.pgn == pgn);
                if given_up {
                    self.reset();
                }
            }
            _ => {}
        }
    }

    fn request(&mut self, source: u8, message: Announcement, window: u8) {
        if self.partner().is_some_and(|partner| partner != source) {
            return self.refuse(source, message.pgn, AbortReason::Busy);
        }
        if usize::from(message.size()) > N {
            return self.refuse(source, message.pgn, AbortReason::NoResources);
        }
        let window = self.config.window.min(window.max(1));
        self.clear_to_send(source, message, 1, window);
    }

    /// Whose message holds the buffer.
    const fn partner(&self) -> Option<u8> {
        match self.state {
            State::Idle => None,
            State::Coming { source, .. } | State::Whole { source, .. } => Some(source),
        }
    }

    /// An answer to somebody else must not displace one that our connection needs.
    fn refuse(&mut self, to: u8, pgn: u32, reason: AbortReason) {
        if self.answer.is_none() {
            self.answer = Some((to, Control::Abort { pgn, reason }));
        }
    }

    fn clear_to_send(&mut self, source: u8, message: Announcement, next: u8, window: u8) {
        let left = message.packets().saturating_sub(next).saturating_add(1);
        let packets = window.min(left);
        let last = next.saturating_add(packets.saturating_sub(1));
        let limit = self.after_clear_to_send;
        self.state = State::Coming { source, message, next, last, waited: 0, limit };
        self.answer = Some((source, Control::ClearToSend { pgn: message.pgn, packets, next }));
    }

    fn packet(&mut self, from: u8, packet: &[u8; 8]) {
        let State::Coming { source, message, next, last, .. } = self.state else { return };
        let [number, content @ ..] = packet;
        if from != source || number.wrapping_add(1) == next {
            return;
        }
        if *number != next {
            return self.give_up(AbortReason::BadSequence);
        }
        let start = usize::from(offset(next));
        let end = usize::from(message.size()).min(start.saturating_add(7));
        for (place, byte) in self.bytes.get_mut(start..end).into_iter().flatten().zip(content) {
            *place = *byte;
        }
        let limit = self.between_packets;
        if next == message.packets() {
            self.state = State::Whole { source, message };
            if self.config.kind == Kind::Addressed {
                self.answer = Some((source, Control::EndOfMessage { message }));
            }
        } else if next == last {
            self.clear_to_send(source, message, next.saturating_add(1), self.config.window);
        } else {
            let next = next.saturating_add(1);
            self.state = State::Coming { source, message, next, last, waited: 0, limit };
        }
    }

    fn give_up(&mut self, reason: AbortReason) {
        if let State::Coming { source, message, .. } = self.state {
            self.reset();
            if self.config.kind == Kind::Addressed {
                self.answer = Some((source, Control::Abort { pgn: message.pgn, reason }));
            }
        }
    }

    /// One period: counts the silence and gives the frame that is due.
    pub fn step(&mut self) -> Option<Frame> {
        if let State::Coming { waited, limit, .. } = &mut self.state {
            *waited = waited.saturating_add(1);
            if *waited > *limit {
                self.give_up(AbortReason::Timeout);
            }
        }
        let (to, control) = self.answer.take()?;
        let id = Id29::addressed(PRIORITY, pgn::TRANSPORT_CONTROL, to, self.config.address)?;
        Some(Frame::group(id, control.emit()))
    }

    /// The whole message, if there is one.
    pub fn message(&self) -> Option<Message<'_>> {
        match self.state {
            State::Whole { source, message } => {
                let bytes = self.bytes.get(..usize::from(message.size()))?;
                Some(Message { pgn: message.pgn, source, bytes })
            }
            State::Idle | State::Coming { .. } => None,
        }
    }

    /// Done with the message: the buffer is free for the next.
    pub fn release(&mut self) {
        if matches!(self.state, State::Whole { .. }) {
            self.state = State::Idle;
        }
    }
}

const fn check(config: ReceiverConfig) -> Result<(), ReceiverConfigError> {
    if config.address > 253 {
        return Err(ReceiverConfigError::NoAddress { value: config.address });
    }
    if config.window == 0 {
        return Err(ReceiverConfigError::NoWindow);
    }
    Ok(())
}
