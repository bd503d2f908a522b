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
