//! Why a group may not move, and how it is stopped.

use trunnion::guard::Reasons;

trunnion::choices! {
    /// A condition that keeps a group from being permitted, in the order in which the operator is told.
    pub enum Reason {
        /// Nothing: the group is permitted.
        Nothing = "nothing",
        /// The key is not in position "run".
        KeyOff = "key_off",
        /// The emergency stop is pressed.
        EmergencyStop = "emergency_stop",
        /// The coil supply is cut off.
        CoilSupplyCut = "coil_supply_cut",
        /// The start-up tests are not done.
        SelfTest = "self_test",
        /// A fault stops this group.
        Fault = "fault",
        /// Supply voltage is too low.
        SupplyLow = "supply_low",
        /// The engine does not run.
        EngineStopped = "engine_stopped",
        /// The work lock is on.
        Locked = "locked",
        /// The restraint bar is up.
        BarUp = "restraint_bar_up",
        /// The seat is empty.
        SeatOpen = "seat_open",
        /// The park brake switch is on.
        ParkBrakeOn = "park_brake_on",
        /// Charge pressure is too low.
        ChargePressureLow = "charge_pressure_low",
        /// No lever pattern is in force.
        NoPattern = "no_pattern",
        /// The pattern changes or was asked to.
        PatternRequest = "pattern_request",
        /// A controlled stop is under way and has to end first.
        Stopping = "stopping",
        /// A lever of the group is not neutral, or was not for long enough.
        LeversNotNeutral = "levers_not_neutral",
        /// The operator has not asked for permission with the enable button.
        NotAskedFor = "press_enable",
    }
}

impl Reason {
    /// Its place in a set of reasons.
    pub const fn bit(self) -> u8 {
        self as u8
    }

    /// The set with this reason alone.
    pub const fn alone(self) -> Reasons {
        Reasons::none().with(self.bit())
    }

    /// The first reason of a set.
    pub fn first(set: Reasons) -> Self {
        let first = set.lowest().unwrap_or(0);
        Self::ALL.get(usize::from(first)).copied().unwrap_or_default()
    }
}

trunnion::choices! {
    /// How a group is being stopped.
    pub enum StopKind {
        /// It is not.
        None = "none",
        /// Along the stop ramp, both sides as a pair.
        Controlled = "controlled",
        /// In the same period, by the last gate.
        Immediate = "immediate",
    }
}

/// A change of the reasons why not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReasonEntry {
    /// Period in which it changed.
    pub period: u32,
    /// Why not, for drive, work and auxiliary.
    pub why_not: [Reasons; 3],
}

/// Periods for which changes are kept before a stop.
const KEPT: u32 = 3_000;

/// Places of the log; a power of two, so that places wrap with the counter.
const ENTRIES: u8 = 32;

/// The last changes of why each group was not permitted: those of the 30 s before now, at most the newest 32.
///
/// A stop freezes it, so that it tells what led there; the next permission starts it anew.
#[derive(Debug, Clone)]
pub struct ReasonLog {
    /// A ring.
    entries: [ReasonEntry; ENTRIES as usize],
    /// Place of the next entry.
    next: u8,
    /// Entries that are kept.
    kept: u8,
    last: [Reasons; 3],
    frozen: bool,
    was_permitted: bool,
}

impl Default for ReasonLog {
    fn default() -> Self {
        Self::new()
    }
}

impl ReasonLog {
    /// Empty.
    pub const fn new() -> Self {
        Self {
            entries: [ReasonEntry { period: 0, why_not: [Reasons::none(); 3] }; ENTRIES as usize],
            next: 0,
            kept: 0,
            last: [Reasons::none(); 3],
            frozen: false,
            was_permitted: false,
        }
    }

    /// One period.
    pub fn step(&mut self, permissions: &super::Permissions, period: u32) {
        let why_not = [permissions.drive.why_not, permissions.work.why_not, permissions.auxiliary.why_not];
        let permitted = permissions.drive.permitted || permissions.work.permitted;
        if permitted && !self.was_permitted {
            self.frozen = false;
        }
        if !self.frozen {
            self.forget(period);
            if why_not != self.last {
                self.keep(ReasonEntry { period, why_not });
            }
        }
        if self.was_permitted && !permitted {
            self.frozen = true;
        }
        self.last = why_not;
        self.was_permitted = permitted;
    }

    fn keep(&mut self, entry: ReasonEntry) {
        if let Some(place) = self.entries.get_mut(usize::from(self.next % ENTRIES)) {
            *place = entry;
        }
        self.next = self.next.wrapping_add(1);
        self.kept = self.kept.saturating_add(1).min(ENTRIES);
    }

    fn forget(&mut self, period: u32) {
        let oldest = self.entries().next();
        if oldest.is_some_and(|oldest| period.saturating_sub(oldest.period) > KEPT) {
            self.kept = self.kept.saturating_sub(1);
        }
    }

    /// Oldest first.
    pub fn entries(&self) -> impl Iterator<Item = &ReasonEntry> {
        let first = self.next.wrapping_sub(self.kept);
        (0..self.kept).filter_map(move |age| self.entries.get(usize::from(first.wrapping_add(age) % ENTRIES)))
    }

    /// A stop has frozen it.
    pub fn is_frozen(&self) -> bool {
        self.frozen
    }
}
