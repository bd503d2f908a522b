//! What a replay is shown as.

use std::path::Path;

use serde_json::{Map, Value, json};
use trunnion::machine::Machine;
use trunnion_can::frame::Frame;
use trunnion_can::id::pgn;
use trunnion_rig::trace::{ColumnInfo, ColumnKind};

use crate::bench::{Bench, FunctionGroup};
use crate::command_line::Streams;
use crate::command_line::selection::BenchRig;
use crate::command_line::streams::Tone;
use crate::command_line::trouble::Trouble;
use crate::replaying::{Difference, Replayed, State, fields, message};
use crate::rig_report::reasons;

/// A replay, ready to be shown.
pub(super) struct Shown<'a, B: Bench> {
    pub told: &'a Replayed,
    pub rig: &'a BenchRig<B>,
    pub file: &'a Path,
    pub story: Option<&'a str>,
    /// Time of the log's first frame, µs.
    pub origin: u64,
}

fn hexadecimal(frame: &Frame) -> String {
    frame.bytes().iter().map(|byte| format!("{byte:02X}")).collect::<Vec<_>>().join(" ")
}

impl<B: Bench> Shown<'_, B> {
    /// Seconds since the log's first frame.
    fn seconds(&self, micros: i64) -> f64 {
        micros.saturating_sub(i64::try_from(self.origin).unwrap_or(0)) as f64 / 1e6
    }

    fn end_of(&self, period: i64) -> i64 {
        self.told.start_micros + period * i64::from(B::Machine::PERIOD.micros())
    }

    /// When a difference is: as the log has it, or when it should have.
    fn at(&self, difference: &Difference) -> f64 {
        let recorded = difference.recorded.and_then(|sent| sent.micros);
        let micros = recorded.and_then(|micros| i64::try_from(micros).ok());
        self.seconds(micros.unwrap_or_else(|| self.end_of(difference.period)))
    }

    fn wires(&self) -> String {
        match self.story {
            Some(story) => format!("as {story} tells them, from the controller's start on"),
            None => "not told (--with): all at rest, an assumption; what follows from them is not compared"
                .to_owned(),
        }
    }

    fn cell(&self, state: &State, name: &str) -> Option<(f64, &ColumnInfo)> {
        let place = self.rig.columns().iter().position(|column| column.name == name)?;
        Some((*state.row.get(place)?, self.rig.columns().get(place)?))
    }

    /// Whether a group is permitted, or why not.
    fn permission(&self, state: &State, group: &FunctionGroup) -> Option<String> {
        if self.cell(state, group.permission)?.0 != 0.0 {
            return Some("permitted".to_owned());
        }
        let (first, named) = self.cell(state, group.why_not)?;
        let all = group.all.and_then(|name| self.cell(state, name));
        let told = reasons(named, all.is_some(), all.map_or(first, |(all, _)| all));
        Some(format!("not permitted: {}", told.join(", ")))
    }

    fn faults(&self, state: &State) -> Vec<&str> {
        let columns = self.rig.columns().iter().zip(&state.row);
        let active = columns.filter(|(column, value)| column.kind == ColumnKind::Fault && **value != 0.0);
        active.map(|(column, _)| column.name.as_str()).collect()
    }

    pub fn write(&self, streams: &mut Streams<'_>) -> Result<(), Trouble> {
        let told = self.told;
        let title = streams.look.toned(Tone::Heading, B::TITLE);
        writeln!(streams.out, "{title}: {} replayed", self.file.display())?;
        writeln!(
            streams.out,
            "  controller 0x{:02X}, serial number {}; its start is line {}, {:.3} s into the log",
            told.address,
            told.serial,
            told.start_line,
            self.seconds(told.start_micros)
        )?;
        writeln!(
            streams.out,
            "  {} frames to it, {} from it, {} before its start; {} periods of {} µs",
            told.given,
            told.sent,
            told.before,
            told.periods,
            B::Machine::PERIOD.micros()
        )?;
        writeln!(streams.out, "  wires: {}", streams.look.wrapped(&self.wires(), 4))?;
        writeln!(
            streams.out,
            "  {}",
            streams
                .look
                .wrapped("assumed: no fault history and no wrong access code stored before the start", 4)
        )?;
        if !told.unknown.is_empty() {
            writeln!(streams.out, "Not compared:")?;
        }
        for (unknown, frames) in &told.unknown {
            let line = format!("{}: {}", frames_of(*frames), unknown.why());
            writeln!(streams.out, "  {}", streams.look.wrapped(&line, 4))?;
        }
        match &told.difference {
            None if told.compared == 0 => {
                let line = streams.look.toned(Tone::Open, "Nothing was left to compare");
                writeln!(streams.out, "{line}")?;
            }
            None => {
                let line = format!("{} compared, none differs", frames_of(told.compared));
                writeln!(streams.out, "{}", streams.look.toned(Tone::Good, line))?;
            }
            Some((difference, state)) => self.write_difference(difference, state.as_ref(), streams)?,
        }
        Ok(())
    }

    fn write_difference(
        &self,
        difference: &Difference,
        state: Option<&State>,
        streams: &mut Streams<'_>,
    ) -> Result<(), Trouble> {
        writeln!(streams.out, "{} compared alike; then", frames_of(self.told.compared))?;
        let line = difference.recorded.and_then(|sent| sent.line);
        let place = line.map(|line| format!(", {}:{line}", self.file.display())).unwrap_or_default();
        let heading = format!(
            "the first tick that differs is period {}, {:.3} s into the log{place}",
            difference.period,
            self.at(difference)
        );
        writeln!(streams.out, "{}", streams.look.toned(Tone::Bad, heading))?;
        let (recorded, replayed) = frames(difference);
        if let Some(frame) = recorded.or(replayed) {
            writeln!(streams.out, "  {}", named::<B>(frame))?;
        }
        for (who, frame) in [("recorded", recorded), ("replayed", replayed)] {
            let bytes = frame.map_or_else(|| "not sent".to_owned(), hexadecimal);
            writeln!(streams.out, "  {who:<10} {bytes}")?;
        }
        for field in fields::<B>(recorded, replayed) {
            let text = |value: &Option<String>| value.clone().unwrap_or_else(|| "–".to_owned());
            let (recorded, replayed) = (text(&field.recorded), text(&field.replayed));
            let tone = if recorded == replayed { Tone::Quiet } else { Tone::Bad };
            let mark = if recorded == replayed { "" } else { "  differs" };
            let line = format!("    {:<26} {recorded:>22} {replayed:>22}{mark}", field.name);
            writeln!(streams.out, "{}", streams.look.toned(tone, line))?;
        }
        if let Some(state) = state {
            writeln!(streams.out, "  The replayed controller in that period:")?;
            for group in B::GROUPS {
                if let Some(told) = self.permission(state, group) {
                    writeln!(streams.out, "    {}: {}", group.name, streams.look.wrapped(&told, 6))?;
                }
            }
            let faults = self.faults(state);
            let faults = if faults.is_empty() { "none".to_owned() } else { faults.join(", ") };
            writeln!(streams.out, "    faults: {}", streams.look.wrapped(&faults, 6))?;
        }
        writeln!(streams.out, "  {}", streams.look.wrapped(&self.likely(difference), 4))?;
        Ok(())
    }

    /// Where to look.
    fn likely(&self, difference: &Difference) -> String {
        let (recorded, replayed) = frames(difference);
        let claims =
            recorded.is_some_and(|frame| frame.id29().is_some_and(|id| id.pgn() == pgn::ADDRESS_CLAIMED));
        if claims && replayed.is_none() && difference.period > 0 {
            let from = (self.at(difference) - 0.5).max(0.0);
            return format!(
                "It claims its address anew: if the real controller started there, replay the rest with --from {from:.1}"
            );
        }
        "Behind it may be another program, other parameters (--settings, --parameter), other wires than the story's (--with), a \
         history that the unit had stored, or a frame that the recorder lost"
            .to_owned()
    }

    pub fn as_json(&self) -> Value {
        let told = self.told;
        let unknown: Vec<Value> = told
            .unknown
            .iter()
            .map(|(unknown, frames)| json!({ "frames": frames, "why": unknown.why() }))
            .collect();
        json!({
            "machine": B::NAME,
            "file": self.file.display().to_string(),
            "address": told.address,
            "serial": told.serial,
            "start_line": told.start_line,
            "start_seconds": self.seconds(told.start_micros),
            "wires": self.wires(),
            "frames_before_start": told.before,
            "frames_to_controller": told.given,
            "frames_from_controller": told.sent,
            "periods": told.periods,
            "period_micros": B::Machine::PERIOD.micros(),
            "compared": told.compared,
            "not_compared": unknown,
            "difference": told.difference.as_ref().map(|(difference, state)| self.difference(difference, state.as_ref())),
        })
    }

    fn difference(&self, difference: &Difference, state: Option<&State>) -> Value {
        let (recorded, replayed) = frames(difference);
        let frame = recorded.or(replayed);
        let id = frame.and_then(Frame::id29);
        let fields: Vec<Value> = fields::<B>(recorded, replayed)
            .into_iter()
            .map(
                |field| json!({ "name": field.name, "recorded": field.recorded, "replayed": field.replayed }),
            )
            .collect();
        let groups = state.map(|state| {
            let told =
                B::GROUPS.iter().map(|group| (group.name.to_owned(), self.permission(state, group).into()));
            told.collect::<Map<String, Value>>()
        });
        json!({
            "period": difference.period,
            "seconds": self.at(difference),
            "line": difference.recorded.and_then(|sent| sent.line),
            "identifier": id.map(|id| format!("{:08X}", id.to_raw())),
            "group": id.map(|id| id.pgn()),
            "message": frame.and_then(message::<B>).map(|layout| layout.name),
            "recorded": recorded.map(hexadecimal),
            "replayed": replayed.map(hexadecimal),
            "fields": fields,
            "groups": groups,
            "faults": state.map(|state| self.faults(state)),
            "likely": self.likely(difference),
        })
    }
}

fn frames(difference: &Difference) -> (Option<&Frame>, Option<&Frame>) {
    let recorded = difference.recorded.as_ref().map(|sent| &sent.frame);
    (recorded, difference.replayed.as_ref().map(|sent| &sent.frame))
}

fn frames_of(count: u64) -> String {
    if count == 1 { "1 frame".to_owned() } else { format!("{count} frames") }
}

/// A frame's message, group and identifier.
fn named<B: Bench>(frame: &Frame) -> String {
    let name = message::<B>(frame).map_or("a message that is not declared", |layout| layout.name);
    match frame.id29() {
        Some(id) => format!("{name}, PGN {} (0x{:04X}), identifier {:08X}", id.pgn(), id.pgn(), id.to_raw()),
        None => format!("{name}, of 11 bits"),
    }
}
