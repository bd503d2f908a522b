//! The controller's periods on the log's clock.

/// Between two clocks of crystals, parts per million: 100 for each, a usual tolerance (no source).
const DRIFT_PPM: i64 = 200;
/// So many frames of the controller tell anew where its periods are.
const HEARD_OUT: u32 = 16;
/// Frames at the beginning that say where in its periods the controller sends.
const FIRST: usize = 200;

/// When the controller's periods end on the log's clock, µs.
///
/// What was on the bus until the end of a period comes in with its step; what the step sends comes behind it. Where in the
/// period that is, the log says only by the controller's own frames: they follow its step closely. The clocks of log and
/// controller may run apart, slowly; that is followed.
#[derive(Debug, Clone)]
pub(super) struct Clock {
    /// End of period 0.
    zero: i64,
    period: i64,
    /// Smallest delay of a frame behind its step, since when, and of how many frames.
    least: Option<i64>,
    since: i64,
    heard: u32,
}

/// A frame is on the bus after its step, not at it.
const BEHIND: i64 = 1;

impl Clock {
    /// From the times of the controller's frames, ascending, of which the first was sent in the period with this number.
    pub fn new(period_micros: u32, sent: &[u64], number: i64) -> Self {
        let period = i64::from(period_micros).max(1);
        let times: Vec<i64> =
            sent.iter().take(FIRST).map(|micros| i64::try_from(*micros).unwrap_or(i64::MAX / 4)).collect();
        let first = times.first().copied().unwrap_or_default();
        let phase = phase(&times, period);
        let end = first - (first - phase).rem_euclid(period) - BEHIND;
        Self { zero: end - number * period, period, least: None, since: end, heard: 0 }
    }

    /// The end of a period.
    pub const fn end_of(&self, number: i64) -> i64 {
        self.zero.saturating_add(self.period.saturating_mul(number))
    }

    /// A frame of the controller that this period's step sent, at this time.
    pub fn heard(&mut self, micros: i64, number: i64) {
        let delay = micros - self.end_of(number);
        self.least = Some(self.least.map_or(delay, |least| least.min(delay)));
        self.heard += 1;
        if self.heard >= HEARD_OUT {
            let may = (micros - self.since) * DRIFT_PPM / 1_000_000;
            self.zero += (self.least.unwrap_or(BEHIND) - BEHIND).max(-may).min(may);
            (self.least, self.since, self.heard) = (None, micros, 0);
        }
    }
}

/// Where in a period frames come: the time behind which, within half a period, most of them are.
fn phase(times: &[i64], period: i64) -> i64 {
    let behind = |phase: i64| {
        let delays = times.iter().map(|time| (time - phase).rem_euclid(period));
        let near: Vec<i64> = delays.filter(|delay| *delay < period / 2).collect();
        // Among equals the one that is closest in front of them.
        (near.len(), -near.iter().sum::<i64>())
    };
    times.iter().copied().max_by_key(|time| behind(*time)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_log_that_counts_in_periods_is_read_in_periods() {
        let mut clock = Clock::new(10_000, &[10_000, 1_000_000, 2_000_000], 0);
        assert_eq!(clock.end_of(0), 9_999);
        for number in 0..1_000_i64 {
            clock.heard((number + 1) * 10_000, number);
        }
        assert_eq!(clock.end_of(0), 9_999, "nothing runs apart");
    }

    #[test]
    fn late_frames_do_not_move_the_period_and_one_outlier_does_not_either() {
        // Sent 0.6 to 3 ms behind steps at 4.2 ms of each period; one frame was held back for 6 ms.
        let sent: Vec<u64> =
            (0..50).map(|number| 1_004_200 + number * 10_000 + 600 + (number * 7 % 25) * 100).collect();
        let mut held_back = sent.clone();
        held_back[3] = 1_004_200 + 3 * 10_000 + 6_000;
        for times in [sent, held_back] {
            let clock = Clock::new(10_000, &times, 5);
            let end = clock.end_of(5);
            assert!((1_004_200..1_004_900).contains(&end), "{end}");
        }
    }

    #[test]
    fn a_clock_that_runs_apart_is_followed_and_a_late_period_is_not() {
        // 100 ppm fast: 3 periods in 5 minutes, a frame every 100 ms.
        let at = |number: i64| 10_000 + number * 10_001;
        let mut clock = Clock::new(10_000, &[10_000], 0);
        for number in (0..30_000).step_by(10) {
            clock.heard(at(number), number);
            assert!((clock.end_of(number) - at(number)).abs() < 500, "period {number}");
        }
        // One period late from now on: told, not followed, within the seconds that matter.
        let mut clock = Clock::new(10_000, &[10_000], 0);
        for number in (0..1_000).step_by(10) {
            clock.heard(20_000 + number * 10_000, number);
        }
        assert!(clock.end_of(0) < 9_999 + 3_000);
    }
}
