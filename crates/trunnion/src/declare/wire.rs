//! How a signal is wired, and therefore how it can fail.

/// Electrical kind of a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
