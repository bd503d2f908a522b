//! The supply of the controller: dips, brown-outs, and what makes the processor start anew.

use loader::declaration::Parameters;
use trunnion::machine::{Boot, ResetCause};
use trunnion_rig::run::Way;

/// Below what the control program works with, above what the processor needs.
const DIP_V: f64 = 7.0;
const DIP_US: u32 = 200_000;
/// Below what the processor needs.
const BROWN_OUT_V: f64 = 4.0;
const BROWN_OUT_US: u32 = 400_000;

/// What is wrong with the supply.
#[derive(Debug, Clone, Default)]
pub struct Supply {
    /// Volts that the battery is forced to, and the time that it still takes, µs.
    low: Option<(f64, u32)>,
    /// The plug of the controller is open.
    unplugged: bool,
    /// The processor starts anew, and why.
    cause: Option<ResetCause>,
    /// What it is told as long as it is held in reset.
    held_with: Option<Boot<Parameters>>,
}

impl Supply {
    /// Breaks or mends it. An open plug comes as [`Way::Intermittent`], one that is closed again as `None`.
    pub fn set_way(&mut self, way: Option<Way>) {
        (self.low, self.unplugged) = (None, false);
        match way {
            Some(Way::Dip) => self.low = Some((DIP_V, DIP_US)),
            Some(Way::BrownOut) => {
                self.low = Some((BROWN_OUT_V, BROWN_OUT_US));
                self.cause = Some(ResetCause::BrownOut);
            }
            Some(Way::Intermittent) => {
                self.unplugged = true;
                self.cause = Some(ResetCause::PowerUp);
            }
            Some(_) => self.reset(ResetCause::Watchdog),
            None => {}
        }
    }

    /// The processor starts anew.
    pub fn reset(&mut self, cause: ResetCause) {
        self.cause = Some(cause);
    }

    /// Passes a fast step.
    pub fn advance(&mut self, dt_us: u32) {
        self.low = self.low.and_then(|(volts, left_us)| Some((volts, left_us.checked_sub(dt_us)?)));
    }

    /// What the battery is forced to.
    pub fn forced_v(&self) -> Option<f64> {
        self.low.map(|(volts, _)| volts)
    }

    /// It is what the battery gives, and nothing makes the processor start anew.
    pub fn is_sound(&self) -> bool {
        self.low.is_none() && !self.unplugged && self.cause.is_none() && self.held_with.is_none()
    }

    fn holds(&self) -> bool {
        self.unplugged || self.low.is_some_and(|(volts, _)| volts <= BROWN_OUT_V)
    }

    /// What the controller is told when it starts anew before the next period: once, or every period as long as it is held
    /// in reset.
    pub fn restart(&mut self, boot: impl FnOnce(ResetCause) -> Boot<Parameters>) -> Option<Boot<Parameters>> {
        match self.cause.take() {
            Some(cause) => self.held_with = Some(boot(cause)),
            None if self.holds() => {}
            None => self.held_with = None,
        }
        self.held_with
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Why the controller is told to start in each of so many periods of 10 ms.
    fn starts(supply: &mut Supply, periods: usize) -> Vec<Option<ResetCause>> {
        let mut boots = 0;
        let causes = (0..periods).map(|_| {
            let boot = supply.restart(|cause| {
                boots += 1;
                Boot { cause, ..Boot::default() }
            });
            (0..10).for_each(|_| supply.advance(1_000));
            boot.map(|boot| boot.cause)
        });
        let causes = causes.collect();
        assert!(boots <= 1, "a start is counted once");
        causes
    }

    #[test]
    fn a_dip_lowers_the_supply_for_a_while_and_starts_nothing() {
        let mut supply = Supply::default();
        supply.set_way(Some(Way::Dip));
        assert_eq!((supply.forced_v(), starts(&mut supply, 19)), (Some(DIP_V), vec![None; 19]));
        starts(&mut supply, 2);
        assert_eq!(supply.forced_v(), None);
    }

    #[test]
    fn a_brown_out_holds_the_processor_in_reset_until_the_supply_is_back() {
        let mut supply = Supply::default();
        supply.set_way(Some(Way::BrownOut));
        let starts = starts(&mut supply, 50);
        let held = starts.iter().take_while(|cause| **cause == Some(ResetCause::BrownOut)).count();
        assert_eq!(held, 41);
        assert!(starts[held..].iter().all(Option::is_none));
    }

    #[test]
    fn a_reset_starts_once_and_an_open_plug_until_it_is_closed() {
        let mut supply = Supply::default();
        supply.set_way(Some(Way::Reset));
        assert_eq!(starts(&mut supply, 3), [Some(ResetCause::Watchdog), None, None]);
        supply.set_way(Some(Way::Intermittent));
        assert_eq!(starts(&mut supply, 3), [Some(ResetCause::PowerUp); 3]);
        supply.set_way(None);
        assert_eq!(starts(&mut supply, 2), [None; 2]);
    }
}
