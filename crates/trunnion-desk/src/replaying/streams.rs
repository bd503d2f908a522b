//! What the log has of each identifier beside what the replay sent, in their order.

use std::collections::{BTreeMap, VecDeque};

use embedded_can::{Frame as _, Id};
use trunnion_can::frame::Frame;

use super::scope::{Reader, Scope, Unknown, Wires};

/// A frame, the period whose step sent it, and where the log has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SentFrame {
    /// Period since the controller's start, from 0.
    pub period: i64,
    /// The frame.
    pub frame: Frame,
    /// Time in the log, µs; `None` for what the replay sent.
    pub micros: Option<u64>,
    /// Line of the log.
    pub line: Option<usize>,
}

/// A frame that the log has and the replay has not, or the other way round, or another one at its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The period in which it differs: the earlier of the two.
    pub period: i64,
    /// What the real controller sent.
    pub recorded: Option<SentFrame>,
    /// What this program sends.
    pub replayed: Option<SentFrame>,
}

/// Two frames that belong together: time in the log and period of the replay.
pub(super) type Pair = (u64, i64);

#[derive(Debug, Default)]
struct Stream {
    recorded: VecDeque<(SentFrame, Scope)>,
    replayed: VecDeque<(SentFrame, Scope)>,
    readers: [Reader; 2],
}

/// All identifiers.
#[derive(Debug)]
pub(super) struct Streams {
    streams: BTreeMap<(bool, u32), Stream>,
    wires: Wires,
    tolerance: i64,
    /// Periods that an answer may take which waits for the board.
    patience: i64,
    /// Groups that are left out.
    left_out: Vec<u32>,
    /// Pairs that were compared.
    pub compared: u64,
    /// Frames of the log of which something was not compared.
    pub unknown: BTreeMap<Unknown, u64>,
}

fn key(frame: &Frame) -> (bool, u32) {
    match frame.id() {
        Id::Standard(id) => (false, id.as_raw().into()),
        Id::Extended(id) => (true, id.as_raw()),
    }
}

impl Streams {
    pub fn new(wires: Wires, tolerance: i64, patience: i64, left_out: Vec<u32>) -> Self {
        let (streams, unknown) = (BTreeMap::new(), BTreeMap::new());
        Self { streams, wires, tolerance, patience, left_out, compared: 0, unknown }
    }

    /// Takes a frame of the log, or of the replay.
    pub fn take(&mut self, sent: SentFrame) {
        let recorded = sent.line.is_some();
        let left_out = sent.frame.id29().is_some_and(|id| self.left_out.contains(&id.pgn()));
        let stream = self.streams.entry(key(&sent.frame)).or_default();
        let [of_log, of_replay] = &mut stream.readers;
        let reader = if recorded { of_log } else { of_replay };
        let mut scope = reader.next(&sent.frame, self.wires);
        if left_out {
            scope = Scope { bytes: 0, timed: false, unknown: Some(Unknown::LeftOut) };
        }
        if let Some(unknown) = scope.unknown.filter(|_| recorded) {
            *self.unknown.entry(unknown).or_default() += 1;
        }
        if scope.bytes != 0 {
            let side = if recorded { &mut stream.recorded } else { &mut stream.replayed };
            side.push_back((sent, scope));
        }
    }

    /// Compares what there is up to a period, of whose frames none is to come; gives pairs whose time is compared.
    /// With `ends` at the last period of the log: what the replay sent from there on has no partner in it.
    pub fn compare(&mut self, now: i64, ends: i64) -> (Vec<Pair>, Option<Difference>) {
        let (mut pairs, mut first) = (Vec::new(), None::<Difference>);
        for stream in self.streams.values_mut() {
            if let Some(found) = stream.compare(now, ends, (self.tolerance, self.patience), &mut pairs)
                && first.as_ref().is_none_or(|first| found.period < first.period)
            {
                first = Some(found);
            }
        }
        self.compared += pairs.len() as u64;
        (pairs.into_iter().flatten().collect(), first)
    }
}

impl Stream {
    fn compare(
        &mut self,
        now: i64,
        ends: i64,
        (tolerance, patience): (i64, i64),
        pairs: &mut Vec<Option<Pair>>,
    ) -> Option<Difference> {
        loop {
            let (recorded, replayed) = (self.recorded.front().copied(), self.replayed.front().copied());
            match (recorded, replayed) {
                (None, None) => return None,
                (Some((recorded, scope)), Some((replayed, other))) => {
                    let timed = scope.timed && other.timed;
                    let most = if timed { tolerance } else { patience };
                    let apart = recorded.period - replayed.period;
                    if apart > most {
                        return Some(alone(None, Some(replayed)));
                    }
                    if -apart > most {
                        return Some(alone(Some(recorded), None));
                    }
                    if !same(&recorded.frame, &replayed.frame, scope.bytes & other.bytes) {
                        let period = recorded.period.min(replayed.period);
                        let (recorded, replayed) = (Some(recorded), Some(replayed));
                        return Some(Difference { period, recorded, replayed });
                    }
                    pairs.push(recorded.micros.filter(|_| timed).map(|micros| (micros, replayed.period)));
                    self.recorded.pop_front();
                    self.replayed.pop_front();
                }
                (Some((recorded, scope)), None) => {
                    let most = if scope.timed { tolerance } else { patience };
                    return (now - recorded.period > most).then(|| alone(Some(recorded), None));
                }
                (None, Some((replayed, scope))) => {
                    let most = if scope.timed { tolerance } else { patience };
                    let late = now - replayed.period > most && ends - replayed.period > most;
                    return late.then(|| alone(None, Some(replayed)));
                }
            }
        }
    }
}

fn alone(recorded: Option<SentFrame>, replayed: Option<SentFrame>) -> Difference {
    let period = recorded.or(replayed).map_or(0, |sent| sent.period);
    Difference { period, recorded, replayed }
}

fn same(one: &Frame, other: &Frame, bytes: u8) -> bool {
    let compared = |frame: &Frame| -> Vec<u8> {
        let bytes = frame.bytes().iter().enumerate().filter(|(place, _)| bytes & (1 << place) != 0);
        bytes.map(|(_, byte)| *byte).collect()
    };
    one.bytes().len() == other.bytes().len() && compared(one) == compared(other)
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_can::id::Id29;

    fn sent(period: i64, byte: u8, recorded: bool) -> SentFrame {
        let frame = Frame::group(Id29::from_raw(0x18FE_CA27).unwrap(), [byte; 8]);
        let line = recorded.then_some(1);
        SentFrame { period, frame, micros: recorded.then_some(0), line }
    }

    fn streams() -> Streams {
        Streams::new(Wires::Told, 1, 500, Vec::new())
    }

    #[test]
    fn a_period_earlier_or_later_is_the_same_and_two_are_not() {
        for (apart, same) in [(-2, false), (-1, true), (0, true), (1, true), (2, false)] {
            let mut streams = streams();
            streams.take(sent(100, 1, true));
            streams.take(sent(100 + apart, 1, false));
            let (_, found) = streams.compare(110, 1_000);
            assert_eq!(found.is_none(), same, "{apart}");
            assert_eq!(streams.compared, u64::from(same));
            if let Some(found) = found {
                assert_eq!(found.period, 100_i64.min(100 + apart), "the earlier one has no partner");
            }
        }
    }

    #[test]
    fn another_byte_a_missing_frame_and_one_too_many_are_told_with_their_period() {
        let mut changed = streams();
        changed.take(sent(7, 1, true));
        changed.take(sent(7, 2, false));
        let found = changed.compare(7, 1_000).1.unwrap();
        assert!(found.period == 7 && found.recorded.is_some() && found.replayed.is_some());
        let mut missing = streams();
        missing.take(sent(7, 1, false));
        assert_eq!(missing.compare(8, 1_000).1, None, "it may still come");
        let found = missing.compare(9, 1_000).1.unwrap();
        assert!(found.period == 7 && found.recorded.is_none());
        let mut too_many = streams();
        too_many.take(sent(7, 1, true));
        let found = too_many.compare(9, 1_000).1.unwrap();
        assert!(found.period == 7 && found.replayed.is_none());
    }

    #[test]
    fn what_the_replay_sends_behind_the_end_of_the_log_is_no_difference() {
        let mut streams = streams();
        streams.take(sent(7, 1, false));
        assert_eq!(streams.compare(20, 8).1, None);
    }

    #[test]
    fn a_group_that_is_left_out_is_counted_and_not_compared() {
        let mut streams = Streams::new(Wires::Told, 1, 500, vec![0xFECA]);
        streams.take(sent(7, 1, true));
        streams.take(sent(7, 2, false));
        assert_eq!(streams.compare(20, 1_000), (Vec::new(), None));
        assert_eq!(streams.unknown.get(&Unknown::LeftOut), Some(&1));
    }
}
