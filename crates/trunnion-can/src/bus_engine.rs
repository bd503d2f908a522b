//! Engine speed from the bus.

use trunnion::quantity::{Millis, Period, Rpm};
use trunnion::sense::{Flaw, Reading};

use crate::arrivals::{Arrivals, Timing};
use crate::engine::{Eec1, SpeedField};
use crate::{FrameFlaw, MessageTimingError};

/// How often the engine sends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BusEngineConfig {
    /// Time between two frames, 10 to 150 ms. The time-out is three of them, at most 300 ms.
    pub period: Millis,
    /// How long after start the engine may be missing, at most 60 s.
    pub start_up: Millis,
    /// Frames ahead of the declared rate, more than which mean a second sender, 2 to 10.
    pub most_frames: u8,
}

/// What the bus says of the engine, once a loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct EngineReading {
    /// The last valid speed, or why there is none.
    pub speed: Reading<Rpm>,
    /// A valid frame came in this step.
    pub new_frame: bool,
    /// The last valid frame is within the time-out, and one unit sends.
    pub fresh: bool,
    /// What is wrong with the message.
    pub flaw: FrameFlaw,
}

/// Engine speed from Electronic Engine Controller 1, once a loop, in the form of a mailbox slot.
///
/// A frame whose speed is an error, not available or reserved changes nothing but the flaw; the time-out,
/// three periods and at most 300 ms, runs from the last valid frame. After it, and while two units send, the
/// speed is faulted: [`Flaw::Silent`] when nothing comes, [`Flaw::OutOfRange`] when frames come without a
/// value, [`Flaw::Disagreement`] for two senders.
///
/// ```
/// use trunnion::quantity::{Millis, Period, Rpm};
/// use trunnion::sense::Reading;
/// use trunnion_can::bus_engine::{BusEngine, BusEngineConfig};
///
/// let config = BusEngineConfig {
///     period: Millis::millis(20),
///     start_up: Millis::millis(2_000),
///     most_frames: 4,
/// };
/// let mut engine = BusEngine::new(config, Period::from_micros(10_000).unwrap()).unwrap();
/// let eec1 = u64::from_le_bytes([0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF]);
/// assert_eq!(engine.step(eec1, 1).speed, Reading::Valid(Rpm::from_whole(700)));
/// ```
#[derive(Debug, Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct BusEngine {
    arrivals: Arrivals,
    speed: Rpm,
}

impl BusEngineConfig {
    const fn timing(&self) -> Timing {
        Timing { period: self.period, start_up: self.start_up, most_frames: self.most_frames }
    }
}

impl BusEngine {
    /// Refuses a period outside 10 to 150 ms, a start-up window above 60 s, and a number of frames outside
    /// 2 to 10.
    pub const fn new(config: BusEngineConfig, period: Period) -> Result<Self, MessageTimingError> {
        match Arrivals::new(config.timing(), period) {
            Ok(arrivals) => Ok(Self { arrivals, speed: Rpm::ZERO }),
            Err(error) => Err(error),
        }
    }

    /// Takes new times as a whole or refuses them as a whole; speed, counts and times waited are kept.
    pub fn reconfigure(&mut self, config: BusEngineConfig) -> Result<(), MessageTimingError> {
        self.arrivals.reconfigure(config.timing())
    }

    /// As after start: the start-up window opens anew. Frames counted before are not taken for new ones.
    pub fn reset(&mut self) {
        self.arrivals.reset();
        self.speed = Rpm::ZERO;
    }

    /// One step with data and count of the message.
    pub fn step(&mut self, data: u64, count: u8) -> EngineReading {
        let (speed, latest) = match Eec1::parse(&data.to_le_bytes()).speed {
            SpeedField::Valid(speed) => (speed, FrameFlaw::None),
            SpeedField::Error => (Rpm::ZERO, FrameFlaw::ErrorValue),
            SpeedField::NotAvailable => (Rpm::ZERO, FrameFlaw::NotAvailable),
            SpeedField::Reserved => (Rpm::ZERO, FrameFlaw::Reserved),
        };
        let arrival = self.arrivals.step(count, latest);
        if arrival.new_frame {
            self.speed = speed;
        }
        let speed = if arrival.fresh {
            Reading::Valid(self.speed)
        } else {
            Reading::Faulted(match arrival.flaw {
                FrameFlaw::Duplicated => Flaw::Disagreement,
                FrameFlaw::ErrorValue
                | FrameFlaw::NotAvailable
                | FrameFlaw::Reserved
                | FrameFlaw::Inconsistent => Flaw::OutOfRange,
                FrameFlaw::Waiting | FrameFlaw::None | FrameFlaw::NeverSeen | FrameFlaw::Lost => Flaw::Silent,
            })
        };
        EngineReading { speed, new_frame: arrival.new_frame, fresh: arrival.fresh, flaw: arrival.flaw }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn engine() -> BusEngine {
        let config =
            BusEngineConfig { period: Millis::millis(10), start_up: Millis::millis(100), most_frames: 4 };
        BusEngine::new(config, TICK).unwrap()
    }

    fn data(speed: SpeedField) -> u64 {
        u64::from_le_bytes(Eec1 { speed }.emit())
    }

    #[test]
    fn values_that_are_none_are_bridged_for_the_time_out_and_then_told_apart_from_silence() {
        for (field, flaw) in [
            (SpeedField::Error, FrameFlaw::ErrorValue),
            (SpeedField::NotAvailable, FrameFlaw::NotAvailable),
            (SpeedField::Reserved, FrameFlaw::Reserved),
        ] {
            let mut engine = engine();
            let running = Reading::Valid(Rpm::from_whole(1_500));
            assert_eq!(engine.step(data(SpeedField::Valid(Rpm::from_whole(1_500))), 1).speed, running);
            let found = [2, 3, 4, 5].map(|count| engine.step(data(field), count));
            let out = Reading::Faulted(Flaw::OutOfRange);
            assert_eq!(found.map(|reading| reading.speed), [running, running, out, out]);
            assert!(found.iter().all(|reading| reading.flaw == flaw && !reading.new_frame));
            let silent = [5, 5, 5].map(|count| engine.step(data(field), count));
            assert_eq!(silent[2].speed, Reading::Faulted(Flaw::Silent));
            assert_eq!(silent[2].flaw, FrameFlaw::Lost);
        }
    }

    #[test]
    fn an_engine_that_never_speaks_is_waited_for_and_then_missed() {
        let mut engine = engine();
        for _ in 0..10 {
            assert_eq!(engine.step(u64::MAX, 0).flaw, FrameFlaw::Waiting);
        }
        let reading = engine.step(u64::MAX, 0);
        assert_eq!((reading.flaw, reading.speed), (FrameFlaw::NeverSeen, Reading::Faulted(Flaw::Silent)));
        engine.reset();
        assert_eq!(engine.step(u64::MAX, 0).flaw, FrameFlaw::Waiting);
    }

    #[test]
    fn two_engines_with_one_address_contradict_each_other() {
        let mut engine = engine();
        let frame = data(SpeedField::Valid(Rpm::from_whole(1_500)));
        let last = (1..=20).map(|step| engine.step(frame, step * 2)).last().unwrap();
        assert_eq!((last.flaw, last.speed), (FrameFlaw::Duplicated, Reading::Faulted(Flaw::Disagreement)));
    }

    #[test]
    fn wrong_times_are_refused_and_right_ones_keep_the_speed() {
        let mut engine = engine();
        engine.step(data(SpeedField::Valid(Rpm::from_whole(900))), 1);
        let config =
            BusEngineConfig { period: Millis::millis(200), start_up: Millis::millis(0), most_frames: 4 };
        assert!(matches!(engine.reconfigure(config), Err(MessageTimingError::PeriodOutOfRange { .. })));
        engine.reconfigure(BusEngineConfig { period: Millis::millis(100), ..config }).unwrap();
        for _ in 0..29 {
            assert_eq!(engine.step(0, 1).speed, Reading::Valid(Rpm::from_whole(900)));
        }
        assert_eq!(engine.step(0, 1).speed, Reading::Faulted(Flaw::Silent));
    }

    proptest! {
        #[test]
        fn any_frames_read_as_a_speed_of_the_field_or_as_none(steps in proptest::collection::vec(any::<(u64, u8)>(), 1..100)) {
            let mut engine = engine();
            for (data, count) in steps {
                let reading = engine.step(data, count);
                prop_assert_eq!(reading.speed.is_valid(), reading.fresh);
                if let Some(speed) = reading.speed.valid() {
                    prop_assert!(speed >= Rpm::ZERO && speed.raw() <= 0xFAFF);
                }
            }
        }
    }
}
