//! The barrow's bench: what its desk program needs besides the declaration.

use std::path::Path;
use std::time::Duration;

use trunnion::machine::{Boot, Stepper};
use trunnion::propel::Sides;
use trunnion::quantity::{Millis, Period, Ratio};
use trunnion::ramp::{MotionRampConfig, MotionRates, PairRampConfig};
use trunnion_desk::bench::{Bench, FunctionGroup, PathColumns};
use trunnion_desk::comparison::{ComparisonError, Overlay, overlay, ramps};
use trunnion_desk::lock_step::Board;
use trunnion_desk::report::{Comparison, Footprint, Lane, PlotGroup, Stroke};
use trunnion_desk::virtual_controller::{
    BoardRun, ControlTick, Difference, LogLevel, LogLine, VirtualControllerError,
};
use trunnion_rig::requirement::Requirement;

use super::{Barrow, BarrowPlant, Parameters};

/// The bench.
pub struct BarrowBench;

impl Bench for BarrowBench {
    type Machine = Barrow;
    type Plant = BarrowPlant;
    const NAME: &'static str = "barrow";
    const TITLE: &'static str = "Power barrow, drawing B-1";
    const ABOUT: &'static str = "Two tracks, a grip for each, and a hold bar.";
    const VERSION: &'static str = "0.1.0";
    const REQUIREMENTS: &'static [Requirement] = &[
        Requirement {
            id: "R-01",
            sentence: "With the hold bar let go both tracks are at zero within the stop time",
            hazard: "H-01",
            formula: "always (hold_bar falls implies within stop_time + 10 ms (left_ramped = 0 and right_ramped = 0))",
        },
        Requirement {
            id: "R-02",
            sentence: "No track is faster than its largest speed",
            hazard: "H-02",
            formula: "always max(abs(true_left_speed), abs(true_right_speed)) <= 1.25 m/s",
        },
        Requirement {
            id: "R-03",
            sentence: "The lamp tells of permission",
            hazard: "H-01",
            formula: "always (lamp implies permission_drive)",
        },
    ];
    const HAZARDS: &'static [(&'static str, &'static str)] =
        &[("H-01", "It runs away from the one who holds it"), ("H-02", "It is too fast to walk behind")];
    const SCENARIOS: &'static [(&'static str, &'static str)] = &[
        ("errand", include_str!("scenarios/errand.scenario")),
        ("bar_released", include_str!("scenarios/bar_released.scenario")),
        ("wire_broken", include_str!("scenarios/wire_broken.scenario")),
    ];
    const DEMO: &'static [&'static str] = &["errand", "wire_broken"];
    const PORTS: &'static [(&'static str, &'static str)] = &[("X3:1", "Service plug.")];
    const REACTIONS: &'static [&'static str] = &["stops both tracks"];
    const GROUPS: &'static [FunctionGroup] = &[FunctionGroup {
        name: "drive",
        permission: "permission_drive",
        why_not: "why_not_drive",
        all: Some("why_not_drive_all"),
    }];
    const PATH: Option<PathColumns> = Some(PathColumns {
        x: "true_x",
        y: "true_y",
        yaw: "true_heading",
        footprint: Footprint { length: 1.4, width: 0.8, ahead: 0.7 },
    });

    fn plots() -> Vec<PlotGroup> {
        let pair = |lane: Lane, left: &str, right: &str, stroke| {
            lane.styled(left, "left", 0, stroke).styled(right, "right", 1, stroke)
        };
        vec![PlotGroup {
            title: "Grips to motion".into(),
            caption: "What is asked, what the ramp lets through, what flows, what moves.".into(),
            lanes: vec![
                pair(Lane::new("Asked", "%"), "left_asked", "right_asked", Stroke::Dashed),
                pair(Lane::new("Ramped", "%"), "left_ramped", "right_ramped", Stroke::Solid),
                pair(Lane::new("Currents", "mA"), "left_current", "right_current", Stroke::Solid),
                pair(Lane::new("Speed", "m/s"), "true_left_speed", "true_right_speed", Stroke::Solid),
            ],
        }]
    }

    fn comparisons() -> Result<Vec<Comparison>, ComparisonError> {
        let seconds = Millis::millis(1_000);
        let rates = MotionRates { accelerate: seconds, decelerate: seconds, reverse: seconds };
        let turn = Sides { left: Ratio::ONE, right: Ratio::from_quotient(4, 10) };
        let pair = PairRampConfig {
            forward: rates,
            reverse: rates,
            rotation: rates,
            stop: Millis::millis(400),
            dwell: Millis::millis(0),
        };
        let independent = MotionRampConfig { positive: rates, negative: rates, dwell: Millis::millis(0) };
        let asked = [(0.2, turn), (2.0, Sides::ZERO)];
        let period = Period::from_micros(10_000).unwrap();
        let slow_and_quick = Overlay {
            title: "A slow and a quick ramp",
            caption: "The same errand with other ramp times.",
            scenario: "errand",
            variants: &[("0.5 s", &[("ramp_time", "500 ms")]), ("2 s", &[("ramp_time", "2 s")])],
            lanes: &[("Left track", "left_ramped"), ("Speed", "true_left_speed")],
            between: (0.5, 4.0),
        };
        Ok(vec![ramps(pair, independent, period, &asked, 4.0)?, overlay::<Self>(&slow_and_quick)?])
    }

    /// A second copy of the program in this process stands for the emulated board; the image's text says what it does
    /// differently.
    fn board(
        image: &Path,
        boot: &Boot<Parameters>,
    ) -> Result<Box<dyn Board<Barrow>>, VirtualControllerError> {
        let order = std::fs::read_to_string(image)
            .map_err(|source| VirtualControllerError::NoImage { path: image.to_owned(), source })?;
        if order == "no emulator" {
            let source = std::io::ErrorKind::NotFound.into();
            return Err(VirtualControllerError::NoEmulator { source });
        }
        let differs_at = order.strip_prefix("differs at ").and_then(|tick| tick.parse().ok());
        let mut board =
            Copy { stepper: Stepper::start(boot), tick: 0, differs_at, log: Vec::new(), runs_of: Vec::new() };
        board.restart(boot)?;
        Ok(Box::new(board))
    }
}

/// The program again, in this process.
struct Copy {
    stepper: Stepper<Barrow>,
    tick: u32,
    differs_at: Option<u32>,
    log: Vec<LogLine>,
    runs_of: Vec<u32>,
}

impl Board<Barrow> for Copy {
    fn restart(&mut self, boot: &Boot<Parameters>) -> Result<(), VirtualControllerError> {
        self.stepper = Stepper::start(boot);
        self.runs_of.push(self.tick);
        self.tick = 0;
        let message = format!("started, run {}", self.runs_of.len());
        self.log.push(LogLine { tick: Some(0), level: LogLevel::Info, message });
        Ok(())
    }

    fn check(&mut self, host: &ControlTick<'_, Barrow>) -> Result<(), VirtualControllerError> {
        let fast_outputs: Vec<_> =
            host.fast_inputs.iter().map(|inputs| self.stepper.fast_step(inputs)).collect();
        let mut outputs = self.stepper.step(host.inputs);
        let diagnostics = trunnion::machine::Machine::diagnostics(self.stepper.machine());
        outputs.lamp ^= self.differs_at == Some(self.tick);
        let board = ControlTick {
            fast_outputs: &fast_outputs,
            outputs: &outputs,
            diagnostics: &diagnostics,
            ..*host
        };
        let difference = Difference::between(self.tick, host, &board);
        self.tick += 1;
        difference.map_or(Ok(()), |difference| Err(VirtualControllerError::Differs(difference)))
    }

    fn reconfigure(&mut self, parameters: &Parameters, accepted: bool) -> Result<(), VirtualControllerError> {
        if self.stepper.reconfigure(parameters).is_ok() == accepted {
            return Ok(());
        }
        Err(VirtualControllerError::ParametersDiffer { tick: self.tick, accepted })
    }

    fn finish(&mut self) -> Result<BoardRun, VirtualControllerError> {
        Ok(BoardRun {
            ticks: self.tick,
            simulated: Duration::from_millis(10) * self.tick,
            elapsed: Duration::from_millis(1),
            bytes_sent: 0,
            bytes_received: 0,
        })
    }

    fn take_log(&mut self) -> Vec<LogLine> {
        std::mem::take(&mut self.log)
    }
}
