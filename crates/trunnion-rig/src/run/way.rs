//! The ways in which something can break.

use trunnion::declare::{Failure, Wire};

/// A way in which something can break: a steady failure that the declaration of a wire knows, or one that comes and goes,
/// that is the bus's or the supply's, or that needs a restart.
///
/// There is no frozen counter among them: a plant whose controller receives a message with a counter has to bring one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Way {
    /// As the wire's kind can fail, from now on.
    Steady(Failure),
    /// A loose contact: it opens and closes by chance.
    Intermittent,
    /// Bytes of frames are others than were sent.
    Corrupted,
    /// Frames come under another unit's address.
    WrongSource,
    /// Frames come as fast as the bus carries them, and drown all with a higher identifier.
    Flooding,
    /// The return wire of a coil touches ground: current flows past its measurement.
    ReturnToGround,
    /// Both wires of the bus touch: nobody is heard.
    Shorted,
    /// The supply is low for a moment; the controller works on.
    Dip,
    /// The supply is too low for the processor for a moment; it starts anew behind it.
    BrownOut,
    /// The processor starts anew at once.
    Reset,
    /// Bits of the stored parameters have fallen over.
    Damaged,
    /// Bits of the stored parameters have fallen over, and the processor starts anew.
    DamagedAtStart,
}

impl Way {
    /// Its name in scenarios and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Steady(failure) => failure.name(),
            Self::Intermittent => "intermittent",
            Self::Corrupted => "corrupted",
            Self::WrongSource => "wrong_source",
            Self::Flooding => "flooding",
            Self::ReturnToGround => "return_to_ground",
            Self::Shorted => "shorted",
            Self::Dip => "dip",
            Self::BrownOut => "brown_out",
            Self::Reset => "reset",
            Self::Damaged => "damaged",
            Self::DamagedAtStart => "damaged_at_start",
        }
    }

    /// The ways of a kind of wire beyond its steady failures: a hunt does not draw from them, so that its stories stay as
    /// they are recorded.
    pub const fn beyond(wire: Wire) -> &'static [Self] {
        const OUT_OF_RANGE: Way = Way::Steady(Failure::OutOfRange);
        match wire {
            Wire::Internal | Wire::PulseStamp | Wire::FrameCount | Wire::Port => &[],
            Wire::SwitchToSupply | Wire::SwitchToGround | Wire::SwitchedOutput => &[Self::Intermittent],
            Wire::Ratiometric | Wire::VoltageSense | Wire::CurrentSense | Wire::PulseCount => {
                &[Self::Intermittent, OUT_OF_RANGE]
            }
            Wire::Frame => &[Self::Intermittent, Self::Corrupted, Self::WrongSource, Self::Flooding],
            Wire::ProportionalCoil => &[Self::Intermittent, Self::ReturnToGround],
        }
    }

    /// The steady failure, if it is one.
    pub const fn steady(self) -> Option<Failure> {
        match self {
            Self::Steady(failure) => Some(failure),
            _ => None,
        }
    }
}

impl From<Failure> for Way {
    fn from(failure: Failure) -> Self {
        Self::Steady(failure)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    const WIRES: [Wire; 13] = [
        Wire::Internal,
        Wire::SwitchToSupply,
        Wire::SwitchToGround,
        Wire::Ratiometric,
        Wire::VoltageSense,
        Wire::CurrentSense,
        Wire::PulseCount,
        Wire::PulseStamp,
        Wire::Frame,
        Wire::FrameCount,
        Wire::ProportionalCoil,
        Wire::SwitchedOutput,
        Wire::Port,
    ];

    #[test]
    fn a_name_belongs_to_one_way_of_a_wire() {
        for wire in WIRES {
            let ways: Vec<Way> = wire
                .failures()
                .iter()
                .map(|failure| Way::from(*failure))
                .chain(Way::beyond(wire).iter().copied())
                .collect();
            let names: BTreeSet<&str> = ways.iter().map(|way| way.name()).collect();
            assert_eq!(names.len(), ways.len(), "{wire:?}");
        }
    }

    #[test]
    fn what_cannot_break_steadily_cannot_break_otherwise() {
        for wire in WIRES {
            assert_eq!(wire.failures().is_empty(), Way::beyond(wire).is_empty(), "{wire:?}");
        }
    }
}
