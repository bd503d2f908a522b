//! What a period of a box is shown as.

use serde_json::{Map, Value, json};
use trunnion::declare::{FaultSet, FieldInfo, Record};
use trunnion::machine::Machine;
use trunnion_rig::trace::Trace;

use crate::bench::{Bench, FunctionGroup};
use crate::black_box::OpenedBox;
use crate::command_line::Streams;
use crate::command_line::streams::Tone;
use crate::command_line::trouble::Trouble;
use crate::rig_report::reasons;
use crate::tester::values::Scale;

/// A box, ready to be shown.
pub(super) struct Shown<'a, B: Bench> {
    opened: &'a OpenedBox<B::Machine>,
    trace: Trace,
}

/// A signal that is not what it was in the period before.
struct Changed {
    name: &'static str,
    before: String,
    now: String,
}

impl<'a, B: Bench> Shown<'a, B> {
    pub fn new(opened: &'a OpenedBox<B::Machine>) -> Self {
        Self { opened, trace: opened.trace() }
    }

    pub const fn trace(&self) -> &Trace {
        &self.trace
    }

    pub const fn periods(&self) -> usize {
        self.opened.periods.len()
    }

    pub fn seconds(&self, at: usize) -> f64 {
        at as f64 * f64::from(self.opened.header.period_micros) / 1e6
    }

    /// Faults that come and go, and permissions with the reasons that withhold them, by period.
    pub fn happened(&self) -> Vec<(usize, String)> {
        let mut all = Vec::new();
        let names = <B::Machine as Machine>::Faults::INFO;
        for at in 0..self.periods() {
            let (Some(now), before) = (self.opened.periods.get(at), self.before(at)) else { continue };
            for (place, info) in names.iter().enumerate() {
                let active = now.faults.get(place).copied().unwrap_or(false);
                let was = before.and_then(|before| before.faults.get(place)).copied();
                match (was, active) {
                    (None, true) => all.push((at, format!("fault {} is active", info.name))),
                    (Some(false), true) => all.push((at, format!("fault {} comes", info.name))),
                    (Some(true), false) => all.push((at, format!("fault {} goes", info.name))),
                    _ => {}
                }
            }
            for group in B::GROUPS {
                let told = self.permission(group, at);
                if at == 0 || self.permission(group, at - 1) != told {
                    all.push((at, format!("{}: {}", group.name, told.unwrap_or_default())));
                }
            }
        }
        all
    }

    /// Whether a group is permitted, or why not.
    fn permission(&self, group: &FunctionGroup, at: usize) -> Option<String> {
        let permission = self.trace.column(group.permission)?;
        if *permission.values.get(at)? != 0.0 {
            return Some("permitted".to_owned());
        }
        let first = self.trace.column(group.why_not)?;
        let all = group.all.and_then(|name| self.trace.column(name));
        let state = *all.unwrap_or(first).values.get(at)?;
        Some(format!("not permitted: {}", reasons(&first.info, all.is_some(), state).join(", ")))
    }

    fn before(&self, at: usize) -> Option<&crate::black_box::BoxPeriod<B::Machine>> {
        self.opened.periods.get(at.checked_sub(1)?)
    }

    fn changed(&self, at: usize) -> [(&'static str, Vec<Changed>); 3] {
        let Some(now) = self.opened.periods.get(at) else {
            return [("in", Vec::new()), ("out", Vec::new()), ("inside", Vec::new())];
        };
        let before = self.before(at);
        [
            ("in", differing(before.map(|before| &before.inputs), &now.inputs)),
            ("out", differing(before.map(|before| &before.outputs), &now.outputs)),
            ("inside", differing(before.map(|before| &before.diagnostics), &now.diagnostics)),
        ]
    }

    /// A period: why not, and what is another than in the period before.
    pub fn write(&self, at: usize, streams: &mut Streams<'_>) -> Result<(), Trouble> {
        let heading = format!("period {at}, {:.2} s", self.seconds(at));
        writeln!(streams.out, "{}", streams.look.toned(Tone::Heading, &heading))?;
        for group in B::GROUPS {
            if let Some(told) = self.permission(group, at) {
                writeln!(streams.out, "  {}: {}", group.name, streams.look.wrapped(&told, 4))?;
            }
        }
        let names = <B::Machine as Machine>::Faults::INFO;
        if let Some(now) = self.opened.periods.get(at) {
            let active = names.iter().zip(&now.faults).filter(|(_, active)| **active);
            for (info, _) in active {
                writeln!(streams.out, "  fault {}: {}", info.name, info.location)?;
            }
            if !now.same {
                let told = streams.look.toned(Tone::Bad, "the recorded machine drove something else");
                writeln!(streams.out, "  {told}")?;
            }
        }
        for (what, changed) in self.changed(at) {
            for Changed { name, before, now } in changed {
                writeln!(streams.out, "  {what:<6} {name:<32} {before:>18}  →  {now}")?;
            }
        }
        Ok(())
    }

    pub fn as_json(&self, at: usize, faults: &[&str]) -> Value {
        let groups: Map<String, Value> = B::GROUPS
            .iter()
            .map(|group| (group.name.to_owned(), self.permission(group, at).into()))
            .collect();
        let now = self.opened.periods.get(at);
        let active = faults.iter().zip(now.map_or(&[][..], |now| &now.faults));
        let changed = self.changed(at).into_iter().flat_map(|(what, changed)| {
            changed.into_iter().map(move |Changed { name, before, now }| {
                json!({ "where": what, "signal": name, "before": before, "now": now })
            })
        });
        json!({
            "period": at,
            "seconds": self.seconds(at),
            "same": now.is_some_and(|now| now.same),
            "groups": groups,
            "faults": active.filter(|(_, active)| **active).map(|(name, _)| *name).collect::<Value>(),
            "changed": changed.collect::<Value>(),
        })
    }
}

fn raws<R: Record>(record: &R) -> Vec<i64> {
    let mut raws = Vec::with_capacity(R::FIELDS.len());
    record.visit(|_, raw| raws.push(raw));
    raws
}

/// Nothing differs in the first period of a box: what was before is not known.
fn differing<R: Record>(before: Option<&R>, now: &R) -> Vec<Changed> {
    let Some(before) = before else { return Vec::new() };
    let values = raws(before).into_iter().zip(raws(now));
    R::FIELDS
        .iter()
        .zip(values)
        .filter(|(_, (before, now))| before != now)
        .map(|(field, (before, now))| Changed {
            name: field.name,
            before: text(field, before),
            now: text(field, now),
        })
        .collect()
}

/// Frames and sets of bits as hexadecimal digits, all else with its unit.
fn text(field: &FieldInfo, raw: i64) -> String {
    if field.bytes == 8 { format!("{raw:016x}") } else { Scale::from(field).shown(raw) }
}
