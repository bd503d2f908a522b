//! What a recorded driver asked over the bus, and the simulated machine driven by that.
//!
//! A replay gives the controller all that the log has; here the loop is closed again. Only the frames of the units with which a
//! person asks for something are taken from the log. The engine's and all others follow from the simulated machine, the
//! wires from a story, and what a service tool did in the log does not happen.

use trunnion::machine::Machine;
use trunnion_can::frame::Frame;
use trunnion_rig::language::Complaints;
use trunnion_rig::run::{Plant, Run, Twins};
use trunnion_rig::scenario::Scenario;

use super::clock::Clock;
use super::{BenchRig, BenchSession, NoReplay, first_claim, heard, not_started, signed};
use crate::bench::Bench;
use crate::gateway::log::LogLine;

/// Longest drive, s: a run keeps all of its rows.
pub const LONGEST_DRIVE: f64 = 600.0;

/// What a log has of a driver's demands, from the controller's start on.
#[derive(Debug, Clone)]
pub struct Demands {
    /// By the period in which they are heard, in their order.
    frames: Vec<(u32, Frame)>,
    /// Serial number of the controller.
    pub serial: u32,
    /// Control periods that the log lasts.
    pub periods: u32,
    /// Frames of the controller, which are left out.
    pub of_controller: usize,
    /// Frames of other units and tools, which are left out.
    pub of_others: usize,
    /// Frames before the controller's start.
    pub before: usize,
}

impl Demands {
    /// Frames that ask for something.
    pub fn given(&self) -> usize {
        self.frames.len()
    }

    /// Reads a log, in the order of time, of one bus. `scenario` says with which parameters the controller was on it.
    ///
    /// The drift of the two clocks is not followed: that needs the frames that this very controller sent.
    ///
    /// # Errors
    /// [`NoReplay`]: the log does not hold the controller's start, or is too long.
    pub fn read<B: Bench>(
        rig: &BenchRig<B>,
        lines: &[LogLine],
        scenario: &Scenario,
    ) -> Result<Self, NoReplay> {
        let (wanted, claims_in) = first_claim::<B>(rig, scenario, None)?;
        let Some((place, own)) = heard::start(lines, wanted) else {
            return Err(not_started(lines, wanted.address));
        };
        let (before, lines) = lines.split_at(place);
        let is_sent = heard::sent(lines, own);
        let sent: Vec<u64> = lines
            .iter()
            .zip(&is_sent)
            .filter(|(_, sent)| **sent)
            .map(|(line, _)| line.logged.micros)
            .collect();
        let period = i64::from(B::Machine::PERIOD.micros()).max(1);
        let clock = Clock::new(B::Machine::PERIOD.micros(), &sent, claims_in);
        let (first, zero) = (clock.end_of(-1), clock.end_of(0));
        // What was on the bus until the end of a period comes in with its step.
        let heard_in = |micros: u64| u32::try_from((signed(micros) - zero + period - 1).div_euclid(period));
        let early = before.iter().filter(|line| signed(line.logged.micros) > first);
        let after = lines.iter().zip(is_sent);
        let mut session = rig.start_endless(scenario).map_err(NoReplay::Story)?;
        let bus = session.plant_mut().bus().ok_or(NoReplay::NoBus)?;
        let mut told = Self {
            frames: Vec::new(),
            serial: heard::identity(own.name),
            periods: lines.last().map_or(0, |line| heard_in(line.logged.micros).unwrap_or(u32::MAX)),
            of_controller: sent.len(),
            of_others: 0,
            before: before.len() - early.clone().count(),
        };
        for (line, is_sent) in early.map(|line| (line, false)).chain(after) {
            if is_sent {
                continue;
            }
            if bus.is_demand(&line.logged.frame) {
                told.frames.push((heard_in(line.logged.micros).unwrap_or(0), line.logged.frame));
            } else {
                told.of_others += 1;
            }
        }
        let seconds = f64::from(told.periods) * f64::from(B::Machine::PERIOD.micros()) / 1e6;
        if seconds > LONGEST_DRIVE { Err(NoReplay::TooLong { seconds }) } else { Ok(told) }
    }

    /// Drives the simulated machine with two parameter sets: what is asked over the bus is the log's, what the wires bring the
    /// story's, which differs in parameters only.
    ///
    /// # Errors
    /// The story makes no sense for this machine.
    pub fn drive<B: Bench>(
        &self,
        rig: &BenchRig<B>,
        before: &Scenario,
        after: &Scenario,
    ) -> Result<[Run; 2], Complaints> {
        let sessions = [rig.start(before)?, rig.start(after)?];
        Ok(self.driven::<B>(sessions, &mut |_| ()))
    }

    /// The same without trace and hash: what is wanted of a period is taken from the rows of both, which `told` sees.
    ///
    /// # Errors
    /// The story makes no sense for this machine.
    pub fn drive_unrecorded<B: Bench>(
        &self,
        rig: &BenchRig<B>,
        before: &Scenario,
        after: &Scenario,
        told: &mut dyn FnMut([&[f64]; 2]),
    ) -> Result<[Run; 2], Complaints> {
        let sessions = [rig.start_unrecorded(before)?, rig.start_unrecorded(after)?];
        Ok(self.driven::<B>(sessions, told))
    }

    fn driven<B: Bench>(
        &self,
        sessions: [BenchSession<B>; 2],
        told: &mut dyn FnMut([&[f64]; 2]),
    ) -> [Run; 2] {
        let [first, second] = sessions.map(|session| self.on_the_bus::<B>(session));
        let mut twins = Twins::new(first, second);
        let mut frames = self.frames.iter().peekable();
        for period in 0..self.periods {
            while let Some((_, frame)) = frames.next_if(|(heard, _)| *heard <= period) {
                let buses = twins.plants_mut().filter_map(Plant::bus);
                buses.for_each(|bus| {
                    bus.bring(frame);
                });
            }
            twins.step();
            told(twins.rows());
        }
        twins.finish()
    }

    fn on_the_bus<B: Bench>(&self, session: BenchSession<B>) -> BenchSession<B> {
        let mut session = session.lasting(self.periods).with_serial(self.serial);
        if let Some(bus) = session.plant_mut().bus() {
            bus.play_demands(self.serial);
        }
        session
    }
}
