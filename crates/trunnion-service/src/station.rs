//! The controller on the bus: who it is, what is wrong with it, and its diagnostic server.

mod told;

use heapless::Vec;
use trunnion::declare::{FaultSet, ParameterSet};
use trunnion::quantity::{Millis, Period};
use trunnion_can::address_claim::{AddressClaim, AddressClaimConfig, AddressClaimConfigError};
use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;
use trunnion_can::iso_tp::{Addressing, LinkConfig};
use trunnion_can::name::Name;
use trunnion_can::request::{Acknowledgement, Asked, TO_ALL, asked};
use trunnion_can::transport::{Sender, SenderConfig, Sent};
use trunnion_can::trouble_list::ActiveTroubleTiming;

use crate::access::AccessBoot;
use crate::negative::Negative;
use crate::served::{Action, Served};
use crate::server::Server;
use crate::work::WorkDone;

use self::told::{Group, single, text};

/// Frames that a tester may send before we say "go on": with other traffic they fit the eight slots of a period.
const BLOCK: u8 = 4;
/// Time between two packets of a broadcast (SAE J1939-21: 50 to 200 ms).
const BROADCAST_GAP: Millis = Millis::from_ticks(50);
/// What fills a frame of an answer.
const FILL: u8 = 0xCC;
/// What a controller that lost its address would send from.
const UNUSED: u8 = 253;

/// Who the controller is on the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct StationConfig {
    /// Its NAME.
    pub name: Name,
    /// The address that it would like, 0 to 253.
    pub address: u8,
}

/// What the bus and the board brought in a period.
#[derive(Debug, Clone, Copy)]
pub struct Arrived<'a> {
    /// Frames in the order in which they came; those of declared messages need not be among them.
    pub frames: &'a [Option<Frame>],
    /// The bus controller has left the bus and waits to come back.
    pub bus_off: bool,
    /// The board's report on the order that stands.
    pub work: WorkDone,
    /// Bits from the hardware's noise source.
    pub entropy: u32,
}

/// Something to say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Tell {
    Acknowledgement { how: Acknowledgement, pgn: u32, asker: u8 },
    Group { group: Group, to: u8 },
}

/// A controller's place on the bus: address claim, DM1, answers to requests, and a [`Server`] with requests of up to
/// `R` bytes and answers of up to `S`. Fault lists and texts have at most `L` bytes; the machine has at most 32 faults
/// for each of `W` words.
///
/// Give it once a period what came; it fills the outbox, first what keeps the bus in order, last the server's answers,
/// and says what the machine is to do. Nothing is sent before an address is ours, and nothing while the bus is off. One
/// long message (DM1, DM2, a text) is under way at a time.
///
/// DM3 and DM11 clear the history under the same rules as the server's own service: by the tester whose session it is,
/// at an unlocked level, with a quiet machine. Latches and active faults stay.
#[derive(Debug, Clone)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct Station<P: ParameterSet, const R: usize, const S: usize, const L: usize, const W: usize = 8> {
    config: StationConfig,
    claim: AddressClaim,
    /// The address that sender and server have.
    address: u8,
    timing: ActiveTroubleTiming<W>,
    active_due: bool,
    sender: Sender<L>,
    server: Server<P, R, S>,
    waiting: Waiting,
    clearing: Option<Clearing>,
}

/// Things to say that wait for their turn. What comes when all places are taken is dropped: the asker asks again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Waiting([Option<Tell>; 4]);

impl Waiting {
    fn add(&mut self, tell: Tell) {
        if let Some(place) = self.0.iter_mut().find(|place| place.is_none()) {
            *place = Some(tell);
        }
    }

    const fn first(&self) -> Option<Tell> {
        let [first, ..] = self.0;
        first
    }

    const fn remove_first(&mut self) {
        let [_, second, third, fourth] = self.0;
        self.0 = [second, third, fourth, None];
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
enum Clearing {
    All,
    Previous,
}

fn link(address: u8) -> LinkConfig {
    LinkConfig {
        addressing: Addressing::Fixed { address },
        block: BLOCK,
        separation: Millis::from_ticks(0),
        fill: FILL,
    }
}

fn transport(address: u8) -> SenderConfig {
    SenderConfig { address, broadcast_gap: BROADCAST_GAP }
}

impl<P: ParameterSet, const R: usize, const S: usize, const L: usize, const W: usize> Station<P, R, S, L, W> {
    /// Refuses an address above 253.
    pub fn new(
        config: StationConfig,
        boot: AccessBoot,
        period: Period,
    ) -> Result<Self, AddressClaimConfigError> {
        let StationConfig { name, address } = config;
        let no_address = |_| AddressClaimConfigError::NoAddress { value: address };
        let server = Server::new(link(address), boot, period);
        Ok(Self {
            config,
            claim: AddressClaim::new(AddressClaimConfig { name, preferred: address }, period)?,
            address,
            timing: ActiveTroubleTiming::new(period),
            active_due: false,
            sender: Sender::new(transport(address), period)
                .map_err(|_| AddressClaimConfigError::NoAddress { value: address })?,
            server: server.map_err(no_address)?,
            waiting: Waiting::default(),
            clearing: None,
        })
    }

    /// Takes another NAME or address as a whole or refuses it. The same one again changes nothing; another one is
    /// claimed anew.
    pub fn reconfigure(&mut self, config: StationConfig) -> Result<(), AddressClaimConfigError> {
        if config == self.config {
            return Ok(());
        }
        self.claim.reconfigure(AddressClaimConfig { name: config.name, preferred: config.address })?;
        self.config = config;
        Ok(())
    }

    /// The diagnostic server.
    pub const fn server(&self) -> &Server<P, R, S> {
        &self.server
    }

    /// The same, to order work as its guest.
    pub const fn server_mut(&mut self) -> &mut Server<P, R, S> {
        &mut self.server
    }

    /// The set of [`Action::Commit`], once, until the next step begins.
    pub const fn take_committed(&mut self) -> Option<P> {
        self.server.take_committed()
    }

    /// The address, once it is ours.
    pub const fn address(&self) -> Option<u8> {
        self.claim.address()
    }

    /// One period: fills the outbox and says what the machine is to do now.
    pub fn step<M: Served<Parameters = P>, const N: usize>(
        &mut self,
        served: &M,
        arrived: &Arrived<'_>,
        outbox: &mut Vec<Frame, N>,
    ) -> Action {
        if arrived.bus_off {
            self.claim.reset();
            self.waiting = Waiting::default();
            self.sender.reset();
        } else {
            for frame in arrived.frames.iter().flatten() {
                self.take(served, frame);
            }
            put(outbox, self.claim.step());
            self.follow_address();
        }
        // Faults that come while nothing can be said are said afterwards.
        self.active_due |= self.timing.step(&active_words(served));
        let action = self.server.step(served, arrived.work, arrived.entropy);
        if self.address().is_some() && !arrived.bus_off {
            self.tell(served, outbox);
            while !outbox.is_full()
                && let Some(frame) = self.server.frame()
            {
                put(outbox, Some(frame));
            }
        }
        if action != Action::None {
            return action;
        }
        match self.clearing.take() {
            Some(Clearing::All) => Action::ClearFaults(None),
            Some(Clearing::Previous) => Action::ClearPreviousFaults,
            None => Action::None,
        }
    }

    /// Seldom, as all that follows from it: kept out of the way of the period in which nothing comes.
    #[cold]
    #[inline(never)]
    fn take<M: Served<Parameters = P>>(&mut self, served: &M, frame: &Frame) {
        self.claim.take(frame);
        let Some(address) = self.claim.address() else { return };
        self.server.take(frame);
        self.sender.take(frame);
        if let Some(request) = asked(frame, address) {
            self.requested(served, request);
        }
    }

    /// Sender and server speak from the address that is ours.
    fn follow_address(&mut self) {
        let Some(address) = self.claim.address() else { return };
        if address == self.address {
            return;
        }
        // An address that was claimed is one, so neither refuses it.
        if self.sender.reconfigure(transport(address.min(UNUSED))).is_ok()
            && self.server.reconfigure(link(address.min(UNUSED))).is_ok()
        {
            self.address = address;
        }
    }

    fn requested<M: Served<Parameters = P>>(&mut self, served: &M, request: Asked) {
        let Asked { pgn, source, of_all } = request;
        if let Some(group) = Group::of(pgn) {
            let to = if of_all { TO_ALL } else { source };
            self.waiting.add(Tell::Group { group, to });
            return;
        }
        let how = match pgn {
            pgn::ADDRESS_CLAIMED => return,
            pgn::CLEAR_ACTIVE_TROUBLE_CODES => self.clear(served, source, Clearing::All),
            pgn::CLEAR_PREVIOUS_TROUBLE_CODES => self.clear(served, source, Clearing::Previous),
            _ => Acknowledgement::Negative,
        };
        if !of_all {
            self.waiting.add(Tell::Acknowledgement { how, pgn, asker: source });
        }
    }

    fn clear<M: Served<Parameters = P>>(
        &mut self,
        served: &M,
        tester: u8,
        what: Clearing,
    ) -> Acknowledgement {
        match self.server.may_clear(served, tester) {
            Ok(()) => {
                self.clearing = Some(what);
                Acknowledgement::Positive
            }
            Err(Negative::AccessDenied) => Acknowledgement::AccessDenied,
            Err(_) => Acknowledgement::CannotRespond,
        }
    }

    /// DM1 when it is due, then what was asked for, in turn.
    fn tell<M: Served<Parameters = P>, const N: usize>(&mut self, served: &M, outbox: &mut Vec<Frame, N>) {
        while !outbox.is_full()
            && let Some(Tell::Acknowledgement { how, pgn, asker }) = self.waiting.first()
        {
            self.waiting.remove_first();
            put(outbox, how.frame(pgn, asker, self.address));
        }
        if self.sender.sent() != Sent::UnderWay && !outbox.is_full() {
            if self.active_due {
                self.active_due = false;
                self.begin(served, Group::Active, TO_ALL, outbox);
            } else if let Some(Tell::Group { group, to }) = self.waiting.first() {
                self.waiting.remove_first();
                self.begin(served, group, to, outbox);
            }
        }
        if !outbox.is_full() {
            put(outbox, self.sender.step());
        }
    }

    #[cold]
    #[inline(never)]
    fn begin<M: Served<Parameters = P>, const N: usize>(
        &mut self,
        served: &M,
        group: Group,
        to: u8,
        outbox: &mut Vec<Frame, N>,
    ) {
        let text = text::<M, L>(served, group);
        let text = text.bytes();
        if let Some(frame) = single(group, text, self.address) {
            put(outbox, Some(frame));
        } else {
            // It rests, and the text fits its buffer: both have `L` bytes.
            let _ = self.sender.send(to, group.pgn(), text);
        }
    }
}

/// The words that the machine's faults fill.
fn active_words<M: Served, const W: usize>(served: &M) -> [u32; W] {
    const { assert!(<M::Faults as FaultSet>::RULES.len() <= 32 * W, "a word of the station holds 32 faults") };
    let mut words = [0; W];
    for (word, active) in words.iter_mut().zip(served.active_faults()) {
        *word = active;
    }
    words
}

/// The caller has seen that there is room.
fn put<const N: usize>(outbox: &mut Vec<Frame, N>, frame: Option<Frame>) {
    if let Some(frame) = frame {
        let _ = outbox.push(frame);
    }
}

#[cfg(test)]
mod tests;
