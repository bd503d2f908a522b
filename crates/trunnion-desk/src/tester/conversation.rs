//! Requests and answers with one controller.

use std::time::{Duration, Instant};

use trunnion::quantity::{Millis, Period};
use trunnion_can::frame::Frame;
use trunnion_can::iso_tp::{Addressing, Link, LinkConfig};

use super::port::Port;
use super::refusal::Refusal;

/// Longest message of ISO 15765-2 with 12 bits of length.
const LARGEST: usize = 4095;
/// Period of the tester's own clock.
const TICK: Duration = Duration::from_millis(1);
/// Longest wait for the first answer. P2 is 50 ms (ISO 14229-2); an adaptor and a network in between take their time.
const FIRST_ANSWER: Duration = Duration::from_millis(1_000);
/// Longest wait after "pending": P2* of ISO 14229-2, and the same time for the way.
const AFTER_PENDING: Duration = Duration::from_millis(6_000);

/// A tester that talks with the controller at one address.
pub struct Conversation {
    port: Box<dyn Port>,
    link: Box<Link<LARGEST, LARGEST>>,
    controller: u8,
    stepped: Instant,
}

impl std::fmt::Debug for Conversation {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        formatter.debug_struct("Conversation").field("controller", &self.controller).finish_non_exhaustive()
    }
}

impl Conversation {
    /// A conversation of the tester at `tester` with the controller at `controller`.
    ///
    /// # Errors
    /// An address above 253 is none.
    pub fn new(port: Box<dyn Port>, tester: u8, controller: u8) -> Result<Self, Refusal> {
        let separation = Millis::millis(0);
        let config = LinkConfig {
            addressing: Addressing::Fixed { address: tester },
            block: 0,
            separation,
            fill: 0xCC,
        };
        let period = const { Period::from_micros(1_000).unwrap() };
        let link = Link::new(config, period).map_err(|error| {
            Refusal::before(format!("the tester's {error}"), "choose another with --tester")
        })?;
        if controller > 253 {
            return Err(Refusal::before(
                format!("the controller's address is {controller}; it must be 0 to 253"),
                "choose another with --controller",
            ));
        }
        Ok(Self { port, link: Box::new(link), controller, stepped: Instant::now() })
    }

    /// Asks and waits for the final answer; what the standard calls "pending" is waited through.
    ///
    /// # Errors
    /// Silence, a negative answer, an answer to something else.
    pub fn ask(&mut self, request: &[u8]) -> Result<Vec<u8>, Refusal> {
        let service = request.first().copied().unwrap_or(0);
        self.begin(request)?;
        let mut until = Instant::now() + FIRST_ANSWER;
        while Instant::now() < until {
            let Some(answer) = self.pass(TICK)? else { continue };
            match answer.as_slice() {
                [0x7F, refused, 0x78] if *refused == service => until = Instant::now() + AFTER_PENDING,
                [0x7F, refused, code] if *refused == service => {
                    return Err(Refusal::Negative { service, code: *code });
                }
                [positive, ..] if *positive == service | 0x40 => return Ok(answer),
                // An answer to an earlier request that came late.
                _ => {}
            }
        }
        Err(Refusal::Silent { address: self.controller })
    }

    /// Says something that is not answered.
    ///
    /// # Errors
    /// When the bus cannot be used.
    pub fn say(&mut self, request: &[u8]) -> Result<(), Refusal> {
        self.begin(request)?;
        while self.link.answering() {
            self.pass(TICK)?;
        }
        Ok(())
    }

    /// The next frame of the bus, whoever sent it; the conversation goes on meanwhile.
    ///
    /// # Errors
    /// When the bus cannot be used.
    pub fn listen(&mut self, wait: Duration) -> Result<Option<Frame>, Refusal> {
        let frame = self.port.receive(wait)?;
        if let Some(frame) = &frame {
            self.link.take(frame);
        }
        self.send_due()?;
        Ok(frame)
    }

    fn begin(&mut self, request: &[u8]) -> Result<(), Refusal> {
        self.link.release();
        self.link.reset();
        self.link.begin(self.controller, request).map_err(|_| {
            Refusal::before(
                format!("a request has 1 to {LARGEST} bytes, not {}", request.len()),
                "ask for less",
            )
        })?;
        self.stepped = Instant::now();
        self.send_frames()
    }

    /// Waits for a frame, goes on, and gives the message that has come whole.
    fn pass(&mut self, wait: Duration) -> Result<Option<Vec<u8>>, Refusal> {
        if let Some(frame) = self.port.receive(wait)? {
            self.link.take(&frame);
        }
        self.send_due()?;
        let whole = self.link.request().filter(|message| message.tester == self.controller);
        let message = whole.map(|message| message.bytes.to_vec());
        self.link.release();
        Ok(message)
    }

    /// As many steps of the link's clock as time has passed, and at once what is due.
    fn send_due(&mut self) -> Result<(), Refusal> {
        while self.stepped.elapsed() >= TICK {
            self.stepped += TICK;
            self.send_frames()?;
        }
        Ok(())
    }

    fn send_frames(&mut self) -> Result<(), Refusal> {
        let mut frame = self.link.step();
        while let Some(due) = frame {
            self.port.send(&due)?;
            frame = self.link.more();
        }
        Ok(())
    }
}
