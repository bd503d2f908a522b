//! Both directions of the conversation with a tester.

use trunnion::quantity::{Millis, Period};

use super::LARGEST_MESSAGE;
use super::addressing::{Addressing, Sender};
use super::receive::{self, Reception, Reply};
use super::send::{self, FlowControl, Transmission};
use crate::frame::Frame;

/// Longest silence while a message comes (N_Cr) and while a flow control is awaited (N_Bs) (ISO 15765-2).
const SILENCE: Millis = Millis::from_ticks(1000);

/// How a [`Link`] talks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct LinkConfig {
    /// Identifiers.
    pub addressing: Addressing,
    /// Frames that may come before we say "go on", 0 for all: no more than the frame queue of the board holds.
    pub block: u8,
    /// Time that the tester leaves between two frames, 0 to 127 ms.
    pub separation: Millis,
    /// What fills a frame up to eight bytes.
    pub fill: u8,
}

/// Why a [`LinkConfig`] was refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkConfigError {
    /// 254 and 255 are nobody's address.
    NoAddress {
        /// What was given.
        value: u8,
    },
    /// The separation time is above 127 ms.
    SeparationTooLong {
        /// What was given.
        value: Millis,
    },
}

impl core::fmt::Display for LinkConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::NoAddress { value } => write!(formatter, "address is {value}; it must be 0 to 253"),
            Self::SeparationTooLong { value } => {
                write!(formatter, "separation is {value}; it must be 0 to 127 ms")
            }
        }
    }
}

impl core::error::Error for LinkConfigError {}

/// A request that has come whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Request<'a> {
    /// The tester's address.
    pub tester: u8,
    /// Whether all controllers were asked: then "I do not know that" is not answered (ISO 14229-1).
    pub to_all: bool,
    /// Its bytes, at least one.
    pub bytes: &'a [u8],
}

/// Why an answer was not begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum SendRefusal {
    /// One is under way.
    Busy,
    /// None, or more than the buffer holds.
    Size,
}

/// What broke the latest message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum LinkTrouble {
    /// A frame of the request came out of turn.
    Sequence,
    /// The rest of the request did not come.
    RequestTimeout,
    /// The tester did not say "go on" to our answer.
    AnswerTimeout,
    /// The tester has no room for our answer, or said something unknown.
    AnswerRefused,
}

/// Takes requests of at most `R` bytes and sends answers of at most `S`, both at most 4095.
///
/// Give it every frame of a period by `take`, then call `step` once for the first frame to send, and `more` for
/// further ones while the tester asks for no gap. A request stays until `release`; frames that begin another one
/// meanwhile are dropped. A new request ends one that was coming; another tester's is dropped. A request above `R`
/// bytes is refused before it comes.
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion_can::frame::Frame;
/// use trunnion_can::id::Id29;
/// use trunnion_can::iso_tp::{Addressing, Link, LinkConfig};
///
/// let config = LinkConfig {
///     addressing: Addressing::Fixed { address: 0x27 },
///     block: 8,
///     separation: Millis::millis(0),
///     fill: 0xCC,
/// };
/// let mut link = Link::<64, 64>::new(config, Period::from_micros(10_000).unwrap()).unwrap();
/// let to_us = Id29::from_raw(0x18DA_27F9).unwrap();
/// link.take(&Frame::group(to_us, [0x02, 0x3E, 0x00, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC]));
/// assert_eq!(link.request().unwrap().bytes, [0x3E, 0x00]); // tester present
/// link.answer(&[0x7E, 0x00]).unwrap();
/// let frame = link.step().unwrap();
/// assert_eq!(frame.id29().unwrap().to_raw(), 0x18DA_F927);
/// assert_eq!(frame.bytes(), [0x02, 0x7E, 0x00, 0xCC, 0xCC, 0xCC, 0xCC, 0xCC]);
/// ```
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Link<const R: usize, const S: usize> {
    config: LinkConfig,
    period: Period,
    silence: u32,
    reception: Reception<R>,
    transmission: Transmission<S>,
    /// The flow control that is due, and to whom.
    reply: Option<(u8, Reply)>,
    trouble: Option<LinkTrouble>,
}

impl<const R: usize, const S: usize> Link<R, S> {
    /// Refuses an address above 253 and a separation above 127 ms.
    pub const fn new(config: LinkConfig, period: Period) -> Result<Self, LinkConfigError> {
        const { assert!(R >= 8 && R <= LARGEST_MESSAGE as usize, "a request has 8 to 4095 bytes of room") };
        const { assert!(S >= 8 && S <= LARGEST_MESSAGE as usize, "an answer has 8 to 4095 bytes of room") };
        if let Err(error) = check(config) {
            return Err(error);
        }
        Ok(Self {
            config,
            period,
            silence: period.steps(SILENCE),
            reception: Reception::new(),
            transmission: Transmission::new(),
            reply: None,
            trouble: None,
        })
    }

    /// Takes a new configuration as a whole or refuses it as a whole; what was coming or going is dropped.
    pub fn reconfigure(&mut self, config: LinkConfig) -> Result<(), LinkConfigError> {
        check(config)?;
        self.config = config;
        self.reset();
        Ok(())
    }

    /// Drops what was coming and going.
    pub const fn reset(&mut self) {
        self.reception.reset();
        self.transmission.reset();
        self.reply = None;
        self.trouble = None;
    }

    /// Takes a frame of the bus; frames that are not for us change nothing.
    pub fn take(&mut self, frame: &Frame) {
        let Some(sender) = self.config.addressing.sender(frame) else { return };
        let [first, content @ ..] = frame.bytes() else { return };
        let (tester, to_all) = match sender {
            Sender::ToUs { tester } => (tester, false),
            Sender::ToAll { tester } => (tester, true),
        };
        let strange = self.reception.coming_from().is_some_and(|partner| partner != tester);
        match (first / 16, to_all) {
            (0, _) if !strange => self.reception.single(tester, to_all, *first, content),
            (1, false) if !strange => self.first(tester, *first, content),
            (2, false) => match self.reception.consecutive(tester, first % 16, content, self.config.block) {
                Ok(reply) => self.reply = reply.map(|reply| (tester, reply)).or(self.reply),
                Err(_) => self.trouble = Some(LinkTrouble::Sequence),
            },
            (3, false) if tester == self.transmission.tester() => self.flow_control(*first, content),
            _ => {}
        }
    }

    fn first(&mut self, tester: u8, first: u8, content: &[u8]) {
        let [low, content @ ..] = content else { return };
        let Ok(content) = <&[u8; 6]>::try_from(content) else { return };
        let size = u16::from_be_bytes([first & 0x0F, *low]);
        if let Some(reply) = self.reception.first(tester, size, content, self.config.block) {
            self.reply = Some((tester, reply));
        }
    }

    fn flow_control(&mut self, first: u8, content: &[u8]) {
        let [block, separation, ..] = *content else { return };
        let flow = FlowControl { status: first & 0x0F, block, separation };
        if self.transmission.flow_control(flow, self.period, self.silence).is_err() {
            self.trouble = Some(LinkTrouble::AnswerRefused);
        }
    }

    /// The request that has come whole, if there is one.
    pub fn request(&self) -> Option<Request<'_>> {
        self.reception.whole().map(|(tester, to_all, bytes)| Request { tester, to_all, bytes })
    }

    /// Done with the request: the next may come.
    pub fn release(&mut self) {
        self.reception.release();
    }

    /// Begins an answer to the tester of the request that is there; without one, to the tester of the last answer.
    pub fn answer(&mut self, bytes: &[u8]) -> Result<(), SendRefusal> {
        if self.transmission.busy() {
            return Err(SendRefusal::Busy);
        }
        let tester = self.reception.whole().map_or(self.transmission.tester(), |(tester, ..)| tester);
        if self.transmission.begin(tester, bytes) { Ok(()) } else { Err(SendRefusal::Size) }
    }

    /// Begins a message to a partner who has not spoken yet: what a tester does with its first request.
    pub fn begin(&mut self, partner: u8, bytes: &[u8]) -> Result<(), SendRefusal> {
        if self.transmission.busy() {
            return Err(SendRefusal::Busy);
        }
        if self.transmission.begin(partner, bytes) { Ok(()) } else { Err(SendRefusal::Size) }
    }

    /// Whether an answer is under way.
    pub const fn answering(&self) -> bool {
        self.transmission.busy()
    }

    /// What broke the latest message, told once.
    pub const fn trouble(&mut self) -> Option<LinkTrouble> {
        self.trouble.take()
    }

    /// One period: counts the silence, gives the first frame that is due.
    pub fn step(&mut self) -> Option<Frame> {
        if let Err(receive::Flaw::Timeout) = self.reception.wait(self.silence) {
            self.trouble = Some(LinkTrouble::RequestTimeout);
        }
        if let Err(send::Flaw::Timeout) = self.transmission.wait() {
            self.trouble = Some(LinkTrouble::AnswerTimeout);
        }
        if let Some((tester, reply)) = self.reply.take() {
            let (block, separation) = (self.config.block, self.config.separation.ticks() as u8);
            let fill = self.config.fill;
            let data = match reply {
                Reply::ClearToSend => [0x30, block, separation, fill, fill, fill, fill, fill],
                Reply::Overflow => [0x32, 0, 0, fill, fill, fill, fill, fill],
            };
            return self.frame(tester, data);
        }
        self.more()
    }

    /// A further frame of this period, if the tester asked for no gap.
    pub fn more(&mut self) -> Option<Frame> {
        let data = self.transmission.next(self.silence, self.config.fill)?;
        self.frame(self.transmission.tester(), data)
    }

    fn frame(&self, tester: u8, data: [u8; 8]) -> Option<Frame> {
        Frame::with_bytes(self.config.addressing.to(tester)?, &data)
    }
}

const fn check(config: LinkConfig) -> Result<(), LinkConfigError> {
    if let Addressing::Fixed { address } = config.addressing
        && address > 253
    {
        return Err(LinkConfigError::NoAddress { value: address });
    }
    if config.separation.ticks() > 127 {
        return Err(LinkConfigError::SeparationTooLong { value: config.separation });
    }
    Ok(())
}
