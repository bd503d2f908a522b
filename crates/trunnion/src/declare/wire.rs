//! How a signal is wired, and therefore how it can fail.

/// Electrical kind of a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wire {
    /// Not wired: a value inside of the controller.
    Internal,
    /// A contact that connects the input to supply when closed; an open wire reads low.
    SwitchToSupply,
    /// A contact that connects the input to ground when closed; an open wire reads high.
    SwitchToGround,
    /// A sensor that gives 0.5–4.5 V of a 5 V sensor supply.
    Ratiometric,
    /// A voltage measured through a divider.
    VoltageSense,
    /// A coil current measured over a shunt in the output stage.
    CurrentSense,
    /// Edges of a pulse pickup, counted by hardware.
    PulseCount,
    /// Time of the last edge of a pulse pickup.
    PulseStamp,
    /// Data of the latest frame of a declared message on the bus.
    Frame,
    /// Number of frames of a declared message, counted on.
    FrameCount,
    /// A proportional coil on a PWM output.
    ProportionalCoil,
    /// A coil, relay or lamp that is on or off.
    SwitchedOutput,
    /// A bus or service connection.
    Port,
}

/// A way in which a wired signal can fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Failure {
    /// The wire is broken.
    Open,
    /// The wire touches supply.
    ShortToSupply,
    /// The wire touches ground.
    ShortToGround,
    /// The value no longer changes.
    Stuck,
    /// The value is off by a slowly growing amount.
    Drift,
    /// Extra edges or counts appear.
    Noise,
    /// The value is outside its range.
    OutOfRange,
    /// Frames no longer arrive.
    Lost,
    /// Frames arrive later than the declared period allows.
    Late,
    /// A field says "error".
    ErrorValue,
    /// A field says "not available".
    NotAvailable,
    /// A field has a value that the standard keeps free.
    Reserved,
    /// Direction flags contradict each other or the position.
    Inconsistent,
    /// Frames arrive, but their data never changes.
    Frozen,
    /// A second unit sends with the same address.
    Duplicated,
    /// The resistance is far above nominal.
    HighResistance,
    /// Current flows without being asked for.
    StrayCurrent,
}

impl Failure {
    /// Its name in scenarios and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::ShortToSupply => "short_to_supply",
            Self::ShortToGround => "short_to_ground",
            Self::Stuck => "stuck",
            Self::Drift => "drift",
            Self::Noise => "noise",
            Self::OutOfRange => "out_of_range",
            Self::Lost => "lost",
            Self::Late => "late",
            Self::ErrorValue => "error_value",
            Self::NotAvailable => "not_available",
            Self::Reserved => "reserved",
            Self::Inconsistent => "inconsistent",
            Self::Frozen => "frozen",
            Self::Duplicated => "duplicated",
            Self::HighResistance => "high_resistance",
            Self::StrayCurrent => "stray_current",
        }
    }
}

impl Wire {
    /// What it is called in a wiring list.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Internal => "internal",
            Self::SwitchToSupply => "switch to supply",
            Self::SwitchToGround => "switch to ground",
            Self::Ratiometric => "sensor 0.5–4.5 V",
            Self::VoltageSense => "voltage sense",
            Self::CurrentSense => "coil current sense",
            Self::PulseCount => "pulse pickup",
            Self::PulseStamp => "pulse pickup (time of last edge)",
            Self::Frame => "bus message",
            Self::FrameCount => "bus message (count)",
            Self::ProportionalCoil => "proportional coil",
            Self::SwitchedOutput => "switched output",
            Self::Port => "supply, ground or bus",
        }
    }

    /// The ways in which a signal of this kind can fail.
    pub const fn failures(self) -> &'static [Failure] {
        use Failure::*;
        match self {
            Self::Internal | Self::PulseStamp | Self::FrameCount | Self::Port => &[],
            Self::SwitchToSupply | Self::SwitchToGround => &[Open, ShortToSupply, ShortToGround, Stuck],
            Self::Ratiometric => &[Open, ShortToSupply, ShortToGround, Stuck, Drift],
            Self::VoltageSense => &[Open, Stuck, Drift],
            Self::CurrentSense => &[Open, Stuck, Drift, StrayCurrent],
            Self::PulseCount => &[Open, Stuck, Noise],
            Self::Frame => {
                &[Lost, Late, ErrorValue, NotAvailable, Reserved, Inconsistent, Frozen, Duplicated]
            }
            Self::ProportionalCoil => &[Open, ShortToSupply, ShortToGround, HighResistance],
            Self::SwitchedOutput => &[Open, ShortToSupply, ShortToGround],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;
    use std::vec::Vec;

    const FAILURES: [Failure; 17] = [
        Failure::Open,
        Failure::ShortToSupply,
        Failure::ShortToGround,
        Failure::Stuck,
        Failure::Drift,
        Failure::Noise,
        Failure::OutOfRange,
        Failure::Lost,
        Failure::Late,
        Failure::ErrorValue,
        Failure::NotAvailable,
        Failure::Reserved,
        Failure::Inconsistent,
        Failure::Frozen,
        Failure::Duplicated,
        Failure::HighResistance,
        Failure::StrayCurrent,
    ];

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

    /// `ShortToSupply` is called `short_to_supply`.
    fn snake(camel: &str) -> std::string::String {
        let mut name = std::string::String::new();
        for letter in camel.chars() {
            if letter.is_uppercase() && !name.is_empty() {
                name.push('_');
            }
            name.extend(letter.to_lowercase());
        }
        name
    }

    #[test]
    fn a_scenario_calls_a_failure_as_the_code_does() {
        for failure in FAILURES {
            assert_eq!(failure.name(), snake(&std::format!("{failure:?}")));
        }
    }

    #[test]
    fn no_two_kinds_of_wire_have_the_same_name_and_none_is_nameless() {
        let names: BTreeSet<&str> = WIRES.iter().map(|wire| wire.name()).collect();
        assert_eq!(names.len(), WIRES.len());
        assert!(names.iter().all(|name| name.len() > 5), "{names:?}");
    }

    #[test]
    fn a_wire_with_a_conductor_can_open_or_be_lost_and_what_has_none_cannot_fail_by_itself() {
        for wire in WIRES {
            let failures = wire.failures();
            // A stamp and a count come with the pickup and the frame, whose failures they share.
            let follows = matches!(wire, Wire::Internal | Wire::PulseStamp | Wire::FrameCount | Wire::Port);
            assert_eq!(failures.is_empty(), follows, "{wire:?}");
            let breaks = failures.contains(&Failure::Open) || failures.contains(&Failure::Lost);
            assert!(follows || breaks, "{wire:?} cannot break");
            let distinct: BTreeSet<&str> = failures.iter().map(|failure| failure.name()).collect();
            assert_eq!(distinct.len(), failures.len(), "{wire:?} names a failure twice");
        }
    }

    #[test]
    fn every_failure_but_a_value_out_of_range_belongs_to_some_wire() {
        let of_wires: Vec<Failure> = WIRES.iter().flat_map(|wire| wire.failures()).copied().collect();
        for failure in FAILURES {
            // Sensors of a plant can be driven out of their range; no wiring fault is called so.
            assert_eq!(of_wires.contains(&failure), failure != Failure::OutOfRange, "{failure:?}");
        }
    }
}
