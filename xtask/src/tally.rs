//! Counts of what passed, failed and was skipped, with names and reasons.

/// The counts of a step, or of all.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    /// How many checks passed.
    pub passed: usize,
    /// What failed, and why.
    pub failed: Vec<(String, String)>,
    /// What was skipped, and why.
    pub skipped: Vec<(String, String)>,
}

impl Tally {
    /// One check held.
    pub fn pass(&mut self, what: &str) {
        crate::progress::say(format_args!("    passed: {what}"));
        self.passed += 1;
    }

    /// One check did not hold.
    pub fn fail(&mut self, what: &str, why: String) {
        crate::progress::say(format_args!("    FAILED: {what}: {why}"));
        self.failed.push((what.to_owned(), why));
    }

    /// One check could not be made.
    pub fn skip(&mut self, what: &str, why: String) {
        crate::progress::say(format_args!("    skipped: {what}: {why}"));
        self.skipped.push((what.to_owned(), why));
    }

    /// Adds another count.
    pub fn add(&mut self, other: Self) {
        self.passed += other.passed;
        self.failed.extend(other.failed);
        self.skipped.extend(other.skipped);
    }

    /// Reads the line `N passed, N failed, N skipped` with which a program of ours closes a run.
    pub fn of_closing_line(text: &str) -> Option<(usize, usize, usize)> {
        text.lines().rev().find_map(|line| {
            let mut parts = line.trim().splitn(3, ", ");
            let mut number = |word: &str| parts.next()?.strip_suffix(word)?.trim().parse().ok();
            Some((number("passed")?, number("failed")?, number("skipped")?))
        })
    }

    /// The three counts, in the words that close a run.
    pub fn counts(&self) -> String {
        format!("{} passed, {} failed, {} skipped", self.passed, self.failed.len(), self.skipped.len())
    }

    /// Reads what Rust's test harness printed, over all binaries of a run.
    ///
    /// A test that cannot do its work for want of an outside tool prints `skipped: NAME: REASON` and returns;
    /// the harness counts it as passed, we do not.
    pub fn of_harness(text: &str) -> Self {
        let mut tally = Self::default();
        let (mut passed, mut unmade) = (0_usize, 0_usize);
        for line in text.lines().map(str::trim) {
            if let Some(rest) = line.strip_prefix("test result: ") {
                passed += count(rest, "passed");
            } else if let Some(rest) = line.strip_prefix("test ") {
                if let Some(name) = rest.strip_suffix(" ... FAILED") {
                    tally.failed.push((name.to_owned(), "see its output above".to_owned()));
                } else if let Some((name, why)) = rest.split_once(" ... ignored") {
                    let why = why.trim_start_matches([',', ' ']);
                    let why = if why.is_empty() { "marked `ignore` in the source" } else { why };
                    tally.skipped.push((name.to_owned(), why.to_owned()));
                }
            } else if let Some((name, why)) =
                line.strip_prefix("skipped: ").and_then(|rest| rest.split_once(": "))
            {
                tally.skipped.push((name.to_owned(), why.to_owned()));
                unmade += 1;
            }
        }
        tally.passed = passed.saturating_sub(unmade);
        tally
    }
}

/// What the failed tests of a run printed, without the lists of tests that passed; all of it when none failed.
pub fn failures_of_harness(text: &str) -> String {
    let mut shown = String::new();
    let mut failing = false;
    for line in text.lines() {
        failing |= line == "failures:";
        if failing {
            shown.push_str(line);
            shown.push('\n');
        }
        failing &= !line.starts_with("test result: ");
    }
    if shown.is_empty() { text.to_owned() } else { shown }
}

/// The number before a word in the harness's summary: `ok. 3 passed; 0 failed; …`.
fn count(summary: &str, word: &str) -> usize {
    summary
        .split([';', '.'])
        .find_map(|part| part.trim().strip_suffix(word)?.trim().parse().ok())
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "
running 3 tests
test ramp::tests::never_passes_the_target ... ok
test ramp::tests::is_slow ... ignored, takes an hour
test ramp::tests::wrong ... FAILED

test result: FAILED. 1 passed; 1 failed; 1 ignored; 0 measured; 0 filtered out; finished in 0.00s

running 2 tests
skipped: responses::coil: no Python environment
test responses::coil ... ok
test responses::spool ... ok

test result: ok. 2 passed; 0 failed; 0 ignored; 0 measured; 12 filtered out; finished in 0.10s
";

    #[test]
    fn the_harness_of_several_binaries_is_added_up() {
        let tally = Tally::of_harness(TEXT);
        assert_eq!(tally.counts(), "2 passed, 1 failed, 2 skipped");
        assert_eq!(tally.failed[0].0, "ramp::tests::wrong");
        assert_eq!(tally.skipped[0], ("ramp::tests::is_slow".to_owned(), "takes an hour".to_owned()));
        assert_eq!(tally.skipped[1].1, "no Python environment");
    }

    #[test]
    fn the_closing_line_of_a_run_is_the_last_that_fits() {
        let text = "1 passed, 0 failed, 0 skipped\nmore\n  12 passed, 3 failed, 1 skipped\nreport written\n";
        assert_eq!(Tally::of_closing_line(text), Some((12, 3, 1)));
        assert_eq!(Tally::of_closing_line("12 passed, some failed, 1 skipped"), None);
    }

    #[test]
    fn only_the_failures_of_a_run_are_quoted() {
        let text = "test a ... ok\nfailures:\n\n---- b ----\n1 != 2\n\nfailures:\n    b\n\ntest result: FAILED. 1\n\ntest c ... ok\n";
        let shown = failures_of_harness(text);
        assert!(shown.contains("1 != 2") && !shown.contains("... ok"), "{shown}");
        assert_eq!(failures_of_harness("error: no"), "error: no");
    }

    #[test]
    fn a_run_that_did_not_get_as_far_as_testing_counts_nothing() {
        assert_eq!(Tally::of_harness("error: could not compile `trunnion`"), Tally::default());
    }
}
