//! Results of runs, as text.

use std::fmt::Write;

use trunnion_rig::requirement::Verdict;
use trunnion_rig::run::RequirementResult;

use super::selection::Job;
use super::streams::{Look, Tone};
use super::work::{Done, Firmware, Mark};

/// How many scenarios came to what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Counts {
    pub(super) passed: usize,
    pub(super) failed: usize,
    pub(super) skipped: usize,
}

impl Counts {
    pub(super) fn add(&mut self, mark: Mark) {
        match mark {
            Mark::Passed => self.passed += 1,
            Mark::Failed => self.failed += 1,
            Mark::Skipped => self.skipped += 1,
        }
    }

    /// The last line of a run.
    pub(super) fn line(self) -> String {
        format!("{} passed, {} failed, {} skipped", self.passed, self.failed, self.skipped)
    }
}

/// Column in which sentences and explanations begin.
const INDENT: usize = 2 + VERDICT + 1;
const VERDICT: usize = 10;

/// One scenario: its requirements, hash and firmware, or in short what it came to and what did not hold.
pub(super) fn scenario(job: &Job, done: &Done, look: Look, short: bool) -> String {
    if short {
        return short_of(job, done, look);
    }
    let heading = look.toned(Tone::Heading, format!("{}: {}", job.name, done.run.title));
    let mut text = format!("{heading}\n");
    let factor = done.simulated() / done.host.as_secs_f64().max(1e-6);
    let speed = format!("{} s, {} × real time", shown(done.simulated()), shown_factor(factor));
    let _ = writeln!(text, "  {}", look.toned(Tone::Quiet, format!("{speed}, seed {}", done.run.seed)));
    for (result, margin) in done.run.results.iter().zip(margins(&done.run.results)) {
        text += &requirement(result, &margin, look);
    }
    text += &firmware(&done.firmware, look);
    let _ = writeln!(text, "  {:VERDICT$} {}", "trace", done.run.hash);
    text
}

fn short_of(job: &Job, done: &Done, look: Look) -> String {
    let (tone, word) = match done.mark() {
        Mark::Passed => (Tone::Good, "passed"),
        Mark::Failed => (Tone::Bad, "failed"),
        Mark::Skipped => (Tone::Open, "skipped"),
    };
    let mut text = format!("{}  {}: {}\n", look.toned(tone, format!("{word:8}")), job.name, done.run.title);
    let margins = margins(&done.run.results);
    for (result, margin) in done.run.results.iter().zip(margins) {
        if result.verdict != Verdict::Held {
            text += &requirement(result, &margin, look);
        }
    }
    if matches!(done.firmware, Firmware::Failed(_) | Firmware::NotAvailable(_)) {
        text += &firmware(&done.firmware, look);
    }
    text
}

/// Margins, each as wide as the widest.
fn margins(results: &[RequirementResult]) -> Vec<String> {
    let margins: Vec<String> = results.iter().map(margin).collect();
    let width = margins.iter().map(|margin| margin.chars().count()).max().unwrap_or(0);
    margins.into_iter().map(|margin| format!("{margin:<width$}")).collect()
}

/// The margin with its unit, and when. A yes/no condition that held has no moment worth a look.
pub(super) fn margin(result: &RequirementResult) -> String {
    let by = match (result.margin, result.verdict) {
        (Some(margin), _) => format!("{} {}", shown(margin), result.unit).trim_end().to_owned(),
        (None, Verdict::Held) => return "yes/no".to_owned(),
        (None, _) => "yes/no".to_owned(),
    };
    match result.at {
        Some(at) => format!("{by} at {} s", shown(at)),
        None => by,
    }
}

fn requirement(result: &RequirementResult, margin: &str, look: Look) -> String {
    let (tone, word) = match result.verdict {
        Verdict::Held => (Tone::Good, "held"),
        Verdict::Violated => (Tone::Bad, "VIOLATED"),
        Verdict::Inconclusive => (Tone::Open, "undecided"),
    };
    let begins = INDENT + result.id.chars().count() + 2 + margin.chars().count() + 2;
    let mut text = format!(
        "  {} {}  {}  {}\n",
        look.toned(tone, format!("{word:VERDICT$}")),
        result.id,
        margin,
        look.wrapped(&result.sentence, begins)
    );
    if result.verdict != Verdict::Held {
        let mut tell = |what: &str| {
            let _ = writeln!(text, "{:INDENT$}{}", "", look.wrapped(what, INDENT));
        };
        tell(&result.explanation);
        tell(&format!("asked: {}", result.formula));
        if !result.hazard.is_empty() {
            tell(&format!("hazard: {}", result.hazard));
        }
    }
    text
}

fn firmware(firmware: &Firmware, look: Look) -> String {
    let (tone, word, told) = match firmware {
        Firmware::NotAsked => return String::new(),
        Firmware::Equal(run) => (
            Tone::Good,
            "equal",
            format!(
                "host and firmware, bit for bit over {} ticks, {} × real time",
                run.ticks,
                shown_factor(run.real_time_factor())
            ),
        ),
        Firmware::Failed(error) => (Tone::Bad, "DIFFERENT", with_help(error)),
        Firmware::NotAvailable(error) => (Tone::Open, "skipped", with_help(error)),
    };
    format!("  {} {}\n", look.toned(tone, format!("{word:VERDICT$}")), look.wrapped(&told, INDENT))
}

/// An error and what to do about it.
pub(super) fn with_help(error: &dyn miette::Diagnostic) -> String {
    match error.help() {
        Some(help) => format!("{error}; {help}"),
        None => error.to_string(),
    }
}

/// A number with four significant digits, without noughts that say nothing.
pub(super) fn shown(value: f64) -> String {
    if !value.is_finite() {
        return value.to_string();
    }
    let before_point = if value == 0.0 { 0 } else { value.abs().log10().floor() as i32 + 1 };
    let decimals = usize::try_from(4 - before_point).unwrap_or(0).min(9);
    let text = format!("{value:.decimals$}");
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// A speed over real time: a whole number, or one decimal when small.
pub(super) fn shown_factor(factor: f64) -> String {
    if factor < 10.0 { format!("{factor:.1}") } else { format!("{factor:.0}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_four_significant_digits_and_no_idle_noughts() {
        let cases = [
            (0.0, "0"),
            (158.0, "158"),
            (0.01, "0.01"),
            (-20.106, "-20.11"),
            (123_456.7, "123457"),
            (0.000_012_34, "0.00001234"),
            (-0.000_000_000_1, "0"),
            (9.999_96, "10"),
            (12.3, "12.3"),
        ];
        for (value, expected) in cases {
            assert_eq!(shown(value), expected, "{value}");
        }
    }

    #[test]
    fn the_last_line_counts_scenarios() {
        let mut counts = Counts::default();
        for mark in [Mark::Passed, Mark::Failed, Mark::Passed, Mark::Skipped] {
            counts.add(mark);
        }
        assert_eq!(counts.line(), "2 passed, 1 failed, 1 skipped");
    }
}
