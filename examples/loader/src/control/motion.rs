//! Motion on purpose: what a tester may drive while the levers rest.

use serde::{Deserialize, Serialize};
use trunnion::quantity::{Milliamps, Ratio};
use trunnion::valve::CoilReport;
use trunnion_service::level::Level;
use trunnion_service::routine::{RoutineReason, RoutineReport, TrimInUse};
use trunnion_service::served::{Learnt, Motion, Needs, Progress};

use super::measuring::{LeverAxis, Measuring, STRAIGHT_LINE, Watched};
use crate::declaration::{Coil, Outputs};

/// Sweep of the first coil; the others follow in the order of the coils.
pub const FIRST_SWEEP: u16 = 0x0310;
/// The status lamp as an output that a tester drives.
pub const STATUS_LAMP: u16 = 0x0401;
/// The reverse alarm as an output that a tester drives.
pub const REVERSE_ALARM: u16 = 0x0402;

/// A sweep goes up for two seconds and down for two.
const HALF_SWEEP: u32 = 200;

const SWEEPS: usize = Coil::COUNT;
const CALIBRATIONS: usize = LeverAxis::ALL.len();

/// One sweep a coil, one calibration a lever axis, and the straight-line learn.
pub const ROUTINES: [Motion; SWEEPS + CALIBRATIONS + 1] = {
    let mut all = [Motion { id: STRAIGHT_LINE, level: Level::Tune, needs: Needs::Permitted };
        SWEEPS + CALIBRATIONS + 1];
    let mut place = 0;
    while place < SWEEPS {
        all[place].id = FIRST_SWEEP + place as u16;
        place += 1;
    }
    let mut axis = 0;
    while axis < CALIBRATIONS {
        all[SWEEPS + axis].id = LeverAxis::ALL[axis].routine();
        all[SWEEPS + axis].needs = Needs::Withheld;
        axis += 1;
    }
    all
};

/// A lamp and a horn move nothing.
pub const CONTROLS: [Motion; 2] = [
    Motion { id: STATUS_LAMP, level: Level::Tune, needs: Needs::Quiet },
    Motion { id: REVERSE_ALARM, level: Level::Tune, needs: Needs::Quiet },
];

/// What a tester drives and measures, and how the latest routine did.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct ServiceMotion {
    /// The routine under way or done last.
    routine: u16,
    /// Of a sweep.
    progress: Progress,
    reason: RoutineReason,
    elapsed: u32,
    cap: Milliamps,
    /// Asked and measured in the last period.
    found: [Milliamps; 2],
    control: Option<(u16, bool)>,
    measuring: Measuring,
}

impl ServiceMotion {
    /// Before the first step.
    pub fn new(cap: Milliamps) -> Self {
        Self {
            routine: 0,
            progress: Progress::Idle,
            reason: RoutineReason::Nothing,
            elapsed: 0,
            cap,
            found: [Milliamps::ZERO; 2],
            control: None,
            measuring: Measuring::idle(),
        }
    }

    /// Takes a new cap.
    pub const fn reconfigure(&mut self, cap: Milliamps) {
        self.cap = cap;
    }

    /// Begins a routine, with the trims that are in use.
    pub fn start(&mut self, id: u16, trims: TrimInUse) {
        *self = Self { routine: id, ..Self::new(self.cap) };
        if is_sweep(id) {
            self.progress = Progress::Running;
        }
        self.measuring.start(id, trims);
    }

    /// Ends the routine.
    pub fn stop(&mut self) {
        if self.progress == Progress::Running {
            self.progress = Progress::Idle;
            self.reason = RoutineReason::Stopped;
        }
        self.measuring.stop();
    }

    /// A routine drives a coil.
    pub fn is_running(&self) -> bool {
        self.progress == Progress::Running
    }

    /// A lever is being calibrated: nothing may be permitted.
    pub fn calibrates(&self) -> bool {
        self.measuring.calibrates()
    }

    /// Drives an output, off for 0.
    pub const fn control(&mut self, id: u16, value: i32) {
        self.control = Some((id, value != 0));
    }

    /// Gives the output back.
    pub const fn release(&mut self) {
        self.control = None;
    }

    /// How a routine is doing. A sweep tells asked and measured milliamps.
    pub fn report(&self, id: u16) -> RoutineReport {
        if id != self.routine {
            return RoutineReport::default();
        }
        if !is_sweep(id) {
            return self.measuring.report();
        }
        let [asked, measured] = self.found.map(|current| i16::try_from(current.raw()).unwrap_or(i16::MAX));
        RoutineReport {
            progress: self.progress,
            found: [asked, measured, 0],
            reason: self.reason,
            ..RoutineReport::default()
        }
    }

    /// How the latest routine is doing.
    pub fn latest(&self) -> RoutineReport {
        self.report(self.routine)
    }

    /// What a routine that is done has learnt.
    pub fn learnt(&self, id: u16) -> Learnt {
        if id == self.routine { self.measuring.learnt() } else { [None; 3] }
    }

    /// One period of a routine that only measures.
    pub fn measure(&mut self, watched: &Watched<'_>) {
        self.measuring.step(watched);
    }

    /// What the coils are asked for instead of `wished`, which is what the levers ask for. A lever that moves, or
    /// permission that goes, ends a routine for good.
    pub fn step(
        &mut self,
        wished: [Milliamps; Coil::COUNT],
        neutral_and_permitted: bool,
        reports: &[CoilReport; Coil::COUNT],
    ) -> [Milliamps; Coil::COUNT] {
        if self.progress == Progress::Running {
            self.drive(wished, neutral_and_permitted, reports)
        } else {
            wished
        }
    }

    /// Seldom: kept out of the way of the period in which no sweep runs.
    #[cold]
    #[inline(never)]
    fn drive(
        &mut self,
        wished: [Milliamps; Coil::COUNT],
        neutral_and_permitted: bool,
        reports: &[CoilReport; Coil::COUNT],
    ) -> [Milliamps; Coil::COUNT] {
        if !neutral_and_permitted {
            self.progress = Progress::Failed;
            self.reason = RoutineReason::Conditions;
            return wished;
        }
        let place = usize::from(self.routine.saturating_sub(FIRST_SWEEP));
        let asked = self.sweep();
        let mut currents = [Milliamps::ZERO; Coil::COUNT];
        if let (Some(current), Some(report)) = (currents.get_mut(place), reports.get(place)) {
            *current = asked;
            self.found = [asked, report.average_current];
        }
        self.elapsed = self.elapsed.saturating_add(1);
        if self.elapsed > 2 * HALF_SWEEP {
            self.progress = Progress::Done;
        }
        currents
    }

    /// Up to the cap and down again.
    fn sweep(&self) -> Milliamps {
        let from_end = (2 * HALF_SWEEP).saturating_sub(self.elapsed);
        let part = self.elapsed.min(from_end).min(HALF_SWEEP);
        let permille = part.saturating_mul(1000) / HALF_SWEEP;
        self.cap.scaled(Ratio::from_permille(permille as i32).unwrap_or(Ratio::ZERO))
    }

    /// Puts the output that a tester drives in place of the machine's own.
    pub const fn override_outputs(&self, outputs: &mut Outputs) {
        match self.control {
            Some((STATUS_LAMP, on)) => outputs.status_lamp = on,
            Some((REVERSE_ALARM, on)) => outputs.reverse_alarm = on,
            _ => {}
        }
    }
}

fn is_sweep(id: u16) -> bool {
    usize::from(id.wrapping_sub(FIRST_SWEEP)) < SWEEPS
}
