//! A wired contact: normally open or closed, with bounce and wiring faults.

use super::config_error::{Check, PlantConfigError};
use super::random::SplitMix64;

/// What a contact does at rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContactKind {
    /// It closes when actuated.
    NormallyOpen,
    /// It opens when actuated.
    NormallyClosed,
}

/// Whether something presses on the switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Actuation {
    /// At rest.
    #[default]
    Released,
    /// Pressed, sat on, pulled.
    Actuated,
}

/// Level at the controller's input.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Level {
    /// Near ground.
    #[default]
    Low,
    /// Near the supply.
    High,
}

/// A switch between the supply and an input with a pull-down: closed is high.
///
/// Typical bounce (engineering judgement): 2 to 10 ms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwitchConfig {
    /// The contact.
    pub kind: ContactKind,
    /// How long it bounces after each change, 0 to 100 ms.
    pub bounce_ms: f64,
}

/// How a switch or its wire fails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SwitchFault {
    /// It does not.
    #[default]
    None,
    /// The wire is off: low.
    Open,
    /// The wire touches the supply: high.
    ShortToSupply,
    /// The wire touches ground: low (and a fuse blows when the contact closes).
    ShortToGround,
    /// The contact is welded: closed whatever presses on it.
    StuckClosed,
    /// The contact no longer closes.
    StuckOpen,
}

/// A switch. While it bounces its contact is open or closed at random, drawn anew at each step.
#[derive(Debug, Clone, PartialEq)]
pub struct Switch {
    kind: ContactKind,
    bounce_us: u64,
    bouncing_us: u64,
    actuation: Actuation,
    contact_closed: bool,
    fault: SwitchFault,
    random: SplitMix64,
}

impl Switch {
    /// A released switch with a stream of its own for its bounce; refuses values outside the ranges of
    /// [`SwitchConfig`].
    pub fn new(config: SwitchConfig, random: SplitMix64) -> Result<Self, PlantConfigError> {
        Check("switch").range("bounce_ms", config.bounce_ms, 0.0, 100.0)?;
        Ok(Switch {
            kind: config.kind,
            bounce_us: (config.bounce_ms * 1000.0).round() as u64,
            bouncing_us: 0,
            actuation: Actuation::Released,
            contact_closed: config.kind == ContactKind::NormallyClosed,
            fault: SwitchFault::None,
            random,
        })
    }

    /// Presses or releases it; a change starts the bounce.
    pub fn actuate(&mut self, actuation: Actuation) {
        if actuation != self.actuation {
            self.actuation = actuation;
            self.bouncing_us = self.bounce_us;
        }
    }

    /// Passes `dt_us` microseconds and gives the level at their end.
    pub fn step(&mut self, dt_us: u32) -> Level {
        let settled = (self.kind == ContactKind::NormallyOpen) == (self.actuation == Actuation::Actuated);
        self.bouncing_us = self.bouncing_us.saturating_sub(u64::from(dt_us));
        self.contact_closed = if self.bouncing_us > 0 { self.random.next_unit() < 0.5 } else { settled };
        self.level()
    }

    /// Breaks or mends the switch or its wire.
    pub fn set_fault(&mut self, fault: SwitchFault) {
        self.fault = fault;
    }

    /// What presses on it.
    pub fn actuation(&self) -> Actuation {
        self.actuation
    }

    /// Level at the input.
    pub fn level(&self) -> Level {
        let closed = match self.fault {
            SwitchFault::None => self.contact_closed,
            SwitchFault::ShortToSupply | SwitchFault::StuckClosed => true,
            SwitchFault::Open | SwitchFault::ShortToGround | SwitchFault::StuckOpen => false,
        };
        if closed { Level::High } else { Level::Low }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn switch(kind: ContactKind, bounce_ms: f64, seed: u64) -> Switch {
        Switch::new(SwitchConfig { kind, bounce_ms }, SplitMix64::new(seed)).unwrap()
    }

    #[test]
    fn both_kinds_show_their_level_without_bounce() {
        let mut open = switch(ContactKind::NormallyOpen, 0.0, 1);
        let mut closed = switch(ContactKind::NormallyClosed, 0.0, 1);
        assert_eq!((open.level(), closed.level()), (Level::Low, Level::High));
        open.actuate(Actuation::Actuated);
        closed.actuate(Actuation::Actuated);
        assert_eq!((open.step(1000), closed.step(1000)), (Level::High, Level::Low));
    }

    #[test]
    fn bounce_ends_in_time_shows_both_levels_and_repeats_with_its_seed() {
        let trace = |seed| {
            let mut switch = switch(ContactKind::NormallyOpen, 10.0, seed);
            switch.actuate(Actuation::Actuated);
            [(); 20].map(|()| switch.step(1000))
        };
        let levels = trace(3);
        assert!(levels[..9].contains(&Level::Low) && levels[..9].contains(&Level::High));
        assert!(levels[9..].iter().all(|&level| level == Level::High));
        assert_eq!(levels, trace(3));
        assert_ne!(levels, trace(4));
    }

    #[test]
    fn pressing_again_does_not_bounce_again() {
        let mut switch = switch(ContactKind::NormallyOpen, 10.0, 1);
        switch.actuate(Actuation::Actuated);
        for _ in 0..20 {
            switch.step(1000);
        }
        switch.actuate(Actuation::Actuated);
        assert!((0..20).all(|_| switch.step(1000) == Level::High));
    }

    #[test]
    fn each_fault_holds_its_level() {
        for (fault, level) in [
            (SwitchFault::Open, Level::Low),
            (SwitchFault::ShortToGround, Level::Low),
            (SwitchFault::StuckOpen, Level::Low),
            (SwitchFault::ShortToSupply, Level::High),
            (SwitchFault::StuckClosed, Level::High),
        ] {
            let mut switch = switch(ContactKind::NormallyOpen, 5.0, 1);
            switch.set_fault(fault);
            for actuation in [Actuation::Actuated, Actuation::Released] {
                switch.actuate(actuation);
                assert!((0..20).all(|_| switch.step(1000) == level), "{fault:?}");
            }
        }
    }
}
