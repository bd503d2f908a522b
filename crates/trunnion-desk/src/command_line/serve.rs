//! The verb `serve`.

use std::fs::File;
use std::io::{BufWriter, Write};
use std::net::{Ipv4Addr, SocketAddr};
use std::thread;
use std::time::{Duration, Instant};

use trunnion::machine::Machine;
use trunnion_can::frame::Frame;
use trunnion_rig::run::{Plant, Session};
use trunnion_rig::scenario::Scenario;

use super::arguments::ServeArguments;
use super::run::refuse_unreadable;
use super::selection::{self, BenchRig};
use super::trouble::Trouble;
use super::{Outcome, Streams};
use crate::bench::Bench;
use crate::gateway::bridge::Bridge;
use crate::gateway::log::{self, Logged};
use crate::gateway::port::{Port, Reach};
use crate::lock_step::{Board, follow};
use crate::tester::port::Place;

/// What a machine does that no scenario was named for.
pub(super) const AT_REST: &str = "scenario  At rest\nlength    1 s\n";
/// Bits of a second on the bus (SAE J1939-11).
const BIT_RATE: u64 = 250_000;
/// Bits of a frame of 29-bit identifier and eight bytes with every stuff bit, and the pause behind it (ISO 11898-1).
const FRAME_BITS: u64 = 160;
/// So far behind the clock the machine gives up catching up.
const GIVE_UP: Duration = Duration::from_millis(200);
/// What the interface is called in a log.
pub(super) const INTERFACE: &str = "can0";

/// Serves the machine's bus until it is told to end.
pub(super) fn serve<B: Bench>(
    arguments: &ServeArguments,
    streams: &mut Streams<'_>,
) -> Result<Outcome, Trouble> {
    let scenario = match &arguments.scenario {
        Some(name) => selection::all_of::<B>(&[name])?.remove(0).scenario,
        None => Scenario::parse("at_rest.scenario", AT_REST)?,
    };
    if let Some(image) = &arguments.firmware {
        refuse_unreadable(image)?;
    }
    let rig = BenchRig::<B>::new(B::REQUIREMENTS)?;
    let mut session = rig.start_endless(&scenario)?;
    match session.plant_mut().bus() {
        Some(bus) => bus.listen(),
        None => {
            let help = "it is for machines whose plant names a bus that others may join";
            return Err(Trouble::with_help(format!("the {} has no bus to serve", B::NAME), help));
        }
    }
    let port = open(arguments)?;
    let bridge = arguments.onto.as_ref().map(|place| onto(place, &port)).transpose()?;
    let mut live = Live::<B> { session, board: None, port, bridge, record: None, broken: Vec::new() };
    if let Some(path) = &arguments.record {
        let file = File::create(path).map_err(|error| Trouble::unwritable(path, &error))?;
        live.record = Some(BufWriter::new(file));
    }
    welcome::<B>(arguments, &live.port, streams)?;
    live.run(arguments, streams)
}

fn open(arguments: &ServeArguments) -> Result<Port, Trouble> {
    let reach = if arguments.network { Reach::Network } else { Reach::Loopback };
    Port::open(reach, arguments.port).map_err(|error| {
        let what = format!("port {} cannot be opened: {error}", arguments.port);
        Trouble::with_help(what, "name another one with --port, or 0 for any that is free")
    })
}

/// Makes one bus of the machine's and another one.
fn onto(place: &Place, port: &Port) -> Result<Bridge, Trouble> {
    let own = Place::Tcp(SocketAddr::new(Ipv4Addr::LOCALHOST.into(), port.address().port()).to_string());
    let joined = place.open().and_then(|other| Bridge::between(own.open()?, other));
    joined.map_err(|error| {
        let help = "bring the interface up with `ip link`, or plug the adaptor in";
        Trouble::with_help(format!("{place} cannot be opened: {error}"), help)
    })
}

fn welcome<B: Bench>(
    arguments: &ServeArguments,
    port: &Port,
    streams: &mut Streams<'_>,
) -> Result<(), Trouble> {
    let address = port.address();
    writeln!(streams.out, "listening on {address}")?;
    writeln!(streams.out, "  {}, simulated, in real time; its bus at {} kbit/s", B::TITLE, BIT_RATE / 1000)?;
    writeln!(streams.out, "  lines of a serial CAN adaptor (SLCAN), any number of tools, for example")?;
    writeln!(streams.out, "    python -m can.viewer -i slcan -c socket://{address}")?;
    if let Some(place) = &arguments.onto {
        writeln!(streams.out, "  also on {place}: whatever is on that bus takes part")?;
    }
    if arguments.network {
        writeln!(
            streams.out,
            "  Whoever reaches this computer can talk to the machine: closed networks only."
        )?;
    }
    writeln!(
        streams.out,
        "  What a tool does here it would do to a machine of several tonnes: on the real one only with the drive wheels\n  \
         off the ground and an emergency stop in reach."
    )?;
    streams.out.flush()?;
    Ok(())
}

/// A machine that runs with the clock.
struct Live<B: Bench> {
    session: Session<B::Machine, B::Plant>,
    board: Option<Box<dyn Board<B::Machine>>>,
    port: Port,
    bridge: Option<Bridge>,
    record: Option<BufWriter<File>>,
    /// Requirements that were told to be violated.
    broken: Vec<String>,
}

impl<B: Bench> Live<B> {
    fn run(&mut self, arguments: &ServeArguments, streams: &mut Streams<'_>) -> Result<Outcome, Trouble> {
        let period = Duration::from_micros(<B::Machine as Machine>::PERIOD.micros().into());
        let mut due = Instant::now();
        let mut ticks = 0_u64;
        let end = arguments.seconds.map(|seconds| u64::from(seconds) * 1_000_000 / period.as_micros() as u64);
        while end.is_none_or(|end| ticks < end) {
            self.tick(arguments, ticks * period.as_micros() as u64, streams)?;
            ticks += 1;
            due += period;
            let now = Instant::now();
            match due.checked_duration_since(now) {
                Some(early) => thread::sleep(early),
                None if now.duration_since(due) > GIVE_UP => {
                    writeln!(
                        streams.errors,
                        "this computer is too slow for real time: {GIVE_UP:?} were left out"
                    )?;
                    due = now;
                }
                None => {}
            }
        }
        Ok(if self.broken.is_empty() { Outcome::AllHeld } else { Outcome::Failed })
    }

    /// One period: what tools have sent since the last one, as much of it as fits the bus, then the machine.
    fn tick(
        &mut self,
        arguments: &ServeArguments,
        micros: u64,
        streams: &mut Streams<'_>,
    ) -> Result<(), Trouble> {
        if let Some(error) = self.bridge.as_ref().and_then(Bridge::failure) {
            let place = arguments.onto.as_ref().map(Place::to_string).unwrap_or_default();
            let help =
                "a bus takes frames only when another unit that is on it, at 250 kbit/s, acknowledges them";
            return Err(Trouble::with_help(format!("{place} carries no more frames: {error}"), help));
        }
        let room = BIT_RATE * u64::from(<B::Machine as Machine>::PERIOD.micros()) / 1_000_000 / FRAME_BITS;
        for _ in 0..room {
            let Some(frame) = self.port.receive() else { break };
            if self.session.plant_mut().bus().is_some_and(|bus| bus.bring(&frame)) {
                self.write_down(micros, &frame)?;
            }
        }
        if let Some(tick) = self.session.step() {
            if self.board.is_none()
                && let Some(image) = &arguments.firmware
            {
                self.board = Some(B::board(image, tick.boot).map_err(Trouble::of)?);
            }
            if let Some(board) = &mut self.board {
                // The image has answered, and alike, before a tool hears the answer.
                follow(board.as_mut(), &tick).map_err(Trouble::of)?;
                board.finish().map_err(Trouble::of)?;
            }
        }
        let traffic = self.session.plant_mut().bus().map(|bus| bus.traffic()).unwrap_or_default();
        for frame in &traffic {
            self.port.send(frame);
            self.write_down(micros, frame)?;
        }
        self.tell_violations(micros, streams)
    }

    fn write_down(&mut self, micros: u64, frame: &Frame) -> Result<(), Trouble> {
        if let Some(record) = &mut self.record {
            let line = log::written(&Logged { micros, frame: *frame }, INTERFACE);
            writeln!(record, "{line}")?;
        }
        Ok(())
    }

    fn tell_violations(&mut self, micros: u64, streams: &mut Streams<'_>) -> Result<(), Trouble> {
        let new: Vec<(String, String)> = self
            .session
            .violated()
            .filter(|(id, _)| !self.broken.iter().any(|known| known == id))
            .map(|(id, sentence)| (id.to_owned(), sentence.to_owned()))
            .collect();
        for (id, sentence) in new {
            writeln!(streams.errors, "{:.2} s  {id} is violated: {sentence}", micros as f64 / 1e6)?;
            self.broken.push(id);
        }
        Ok(())
    }
}
