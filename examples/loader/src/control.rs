//! The control program: read top to bottom, it is the drawing of the data flow.
//!
//! ```text
//! sensing ─► levers ─► monitoring ─► permission ─► drive, work ─► coils ─► last gate
//! ```

mod bus;
mod closing;
pub mod coils;
pub mod drive;
pub mod engine_request;
pub mod levers;
pub mod measuring;
pub mod monitoring;
pub mod motion;
pub mod panel;
pub mod permission;
pub mod reasons;
mod recording;
pub mod sensing;
mod showing;
mod state_copy;
pub mod work;

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::fault::{FaultLog, FaultTable};
use trunnion::guard::{
    CutOffTestConfig, GateState, ParkBrake, ParkBrakeConfig, ReasonLog, ReasonLogConfig, Standstill,
    StandstillConfig,
};
use trunnion::machine::{Boot, Program};
use trunnion::quantity::{Milliamps, Millis, Millivolts, Period, Permille, Ratio, Rpm};
use trunnion::valve::{StartUpState, StartUpTest, StartUpTestConfig, TestPulseConfig};
use trunnion_service::level::Standing;

use self::bus::Bus;
use self::coils::{CoilLoop, Valves, coil_loop, gated, largest_currents, reconfigure_coil_loop};
use self::drive::{Drive, DriveCommand, DriveInputs};
use self::engine_request::{EngineRequest, EngineSeen};
use self::levers::{Levers, Received, Wanted};
use self::measuring::{Watched, is_withheld};
use self::monitoring::{LastPeriod, Monitoring, all_neutral, monitored};
use self::motion::ServiceMotion;
use self::panel::Panel;
use self::permission::{Circumstances, Gates, Guard, Permissions};
use self::reasons::{Seen, unexplained};
use self::sensing::{Sensed, Sensing};
use self::work::{Work, WorkCommand, WorkInputs};
use crate::declaration::faults::{CUT, LIMIT};
use crate::declaration::{
    Coil, CoilReports, Diagnostics, Fault, Inputs, Outputs, Parameter, Parameters, SetPoints,
};
use crate::planted::planted;

/// The control period.
pub const PERIOD: Period = match Period::from_micros(10_000) {
    Some(period) => period,
    None => panic!("the control period is out of range"),
};

/// The period of the current loop.
pub const FAST_PERIOD: Period = match Period::from_micros(1_000) {
    Some(period) => period,
    None => panic!("the period of the current loop is out of range"),
};

/// Frames ahead of the declared rate, more than which mean that two units have one address.
pub(crate) const MOST_FRAMES: u8 = 4;

/// Largest reading of a coil that carries nothing: offset of the measurement.
const NO_CURRENT: Milliamps = Milliamps::saturating(20);

/// Why drive, work and auxiliary were not permitted in the 30 s before a stop.
pub type WhyNotLog = ReasonLog<3, 32>;

const LOOK_BACK: ReasonLogConfig = ReasonLogConfig { look_back: Millis::from_ticks(30_000) };

/// The loader's control program.
#[derive(Debug, Serialize, Deserialize)]
pub struct Control {
    sensing: Sensing,
    levers: Levers,
    self_test: StartUpTest<{ Coil::COUNT }>,
    monitoring: Monitoring,
    faults: FaultTable<Fault, { Fault::COUNT }>,
    log: FaultLog<{ Fault::COUNT }>,
    guard: Guard,
    reason_log: WhyNotLog,
    drive: Drive,
    engine_request: EngineRequest,
    work: Work,
    valves: Valves,
    standstill: Standstill,
    park_brake: ParkBrake,
    panel: Panel,
    motion: ServiceMotion,
    bus: Bus,
    last: LastPeriod,
    at_rest: bool,
    set_points: SetPoints,
    diagnostics: Diagnostics,
    periods: u32,
}

fn standstill(parameters: &Parameters) -> StandstillConfig {
    StandstillConfig {
        band: Rpm::from_whole(parameters.standstill_speed().into()),
        hold: parameters.standstill_hold(),
    }
}

fn self_test(parameters: &Parameters) -> StartUpTestConfig {
    StartUpTestConfig {
        cut_off: CutOffTestConfig {
            settle: Millis::from_ticks(60),
            low: Millivolts::saturating(3_000),
            high: Millivolts::saturating(6_000),
        },
        pulse: TestPulseConfig {
            current: parameters.test_pulse_current(),
            length: Millis::from_ticks(80),
            pass: Permille::saturating(500),
        },
        decay: parameters.decay_time(),
    }
}

fn no_pulse(parameters: &Parameters) -> Refusal {
    parameters.contradiction(Parameter::test_pulse_current, "is no test pulse")
}

fn park_brake(parameters: &Parameters) -> ParkBrakeConfig {
    ParkBrakeConfig { stop_time_out: parameters.brake_time_out() }
}

impl Program for Control {
    const PERIOD: Period = PERIOD;
    const FAST_STEPS: u8 = 10;
    type Parameters = Parameters;
    type Fast = CoilLoop;
    type Inputs = Inputs;
    type Outputs = Outputs;
    type Diagnostics = Diagnostics;
    type Faults = Fault;

    fn new(boot: &Boot<Parameters>, replaced: bool) -> Result<Self, Refusal> {
        let parameters = &boot.parameters;
        Ok(Self {
            sensing: Sensing::new(parameters)?,
            levers: Levers::new(parameters)?,
            self_test: StartUpTest::new(self_test(parameters), PERIOD).map_err(|_| no_pulse(parameters))?,
            monitoring: Monitoring::new(parameters, replaced)?,
            faults: FaultTable::new(PERIOD),
            log: FaultLog::new(),
            guard: Guard::new(parameters)?,
            reason_log: ReasonLog::new(LOOK_BACK, PERIOD).map_err(|_| {
                parameters.contradiction(Parameter::control_period, "is longer than the look-back")
            })?,
            drive: Drive::new(parameters)?,
            engine_request: EngineRequest::new(parameters)?,
            work: Work::new(parameters)?,
            valves: Valves::new(parameters)?,
            standstill: Standstill::new(standstill(parameters), PERIOD).map_err(|_| {
                parameters.contradiction(Parameter::standstill_speed, "is no standstill band")
            })?,
            park_brake: ParkBrake::new(park_brake(parameters), PERIOD)
                .map_err(|_| parameters.contradiction(Parameter::brake_time_out, "is no time-out"))?,
            panel: Panel::new(parameters)?,
            motion: ServiceMotion::new(parameters.service_current()),
            bus: Bus::new(boot)?,
            last: LastPeriod {
                coil_supply: false,
                start_permit: false,
                gates: None,
                left: Ratio::ZERO,
                right: Ratio::ZERO,
                asked: [Milliamps::ZERO; Coil::COUNT],
            },
            at_rest: false,
            set_points: SetPoints::default(),
            diagnostics: Diagnostics::default(),
            periods: 0,
        })
    }

    fn fast(parameters: &Parameters) -> Result<CoilLoop, Refusal> {
        coil_loop(parameters)
    }

    fn idle_fast() -> CoilLoop {
        CoilLoop::idle()
    }

    fn reconfigure_fast(fast: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
        reconfigure_coil_loop(fast, parameters)
    }

    fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let mut next = self.clone();
        next.sensing.reconfigure(parameters)?;
        next.levers.reconfigure(parameters)?;
        next.self_test.reconfigure(self_test(parameters)).map_err(|_| no_pulse(parameters))?;
        next.monitoring.reconfigure(parameters);
        next.guard.reconfigure(parameters)?;
        next.drive.reconfigure(parameters)?;
        next.engine_request.reconfigure(parameters)?;
        next.work.reconfigure(parameters)?;
        next.valves = Valves::new(parameters)?;
        next.motion.reconfigure(parameters.service_current());
        next.bus.reconfigure(parameters)?;
        next.park_brake
            .reconfigure(park_brake(parameters))
            .map_err(|_| parameters.contradiction(Parameter::brake_time_out, "is no time-out"))?;
        *self = next;
        Ok(())
    }

    /// One period, six hops from lever to coil.
    fn step(&mut self, inputs: &Inputs, reports: &CoilReports) -> Outputs {
        let sensed = self.sensing.step(inputs);
        let received = self.levers.receive(inputs);
        let wanted = self.levers.want(&received, sensed.rocker, self.at_rest);
        self.test(&sensed, reports);
        let conditions =
            self.monitoring.step(inputs, &sensed, &received, reports, &self.self_test, &self.last);
        self.faults.step_conditions(&conditions, all_neutral(&wanted));
        self.log.step(&self.faults, self.periods);
        let mut permissions = self.guard.step(&sensed, &wanted, &self.circumstances(&sensed, &wanted));
        if planted!(DipClearsLatch) && !self.monitoring.supply_good(&sensed) {
            permissions.drive.permitted = false;
        }
        let drive = self.drive.step(&self.drive_inputs(&sensed, &wanted, &permissions));
        let engine_request = self.engine_request.step(&EngineSeen {
            permitted: permissions.drive.permitted,
            throttle: sensed.throttle,
            expected: sensed.engine_expected,
            load_share: drive.load_share,
        });
        let work = self.work.step(&work_inputs(&wanted, &permissions));
        let wished = self.valves.step(&drive.sides, &work);
        let standing = self.standing(&wanted, &permissions);
        let wished = self.motion.step(wished, standing.neutral && standing.permitted, reports);
        let under_test = self.self_test.state() != StartUpState::Done;
        let measured = monitored(largest_currents(reports), under_test);
        let gates = self.gates(&permissions, measured);
        let set_points = if under_test { self.self_test.set_points() } else { gated(wished, &gates) };
        let brake = self.rest(&sensed, &permissions, &drive, measured[0]);
        self.motion.measure(&Watched {
            sensed: &sensed,
            received: &received,
            wanted: &wanted,
            permissions: &permissions,
            gates: &gates,
            drive: &drive,
            at_rest: self.everything_rests(),
        });
        let mut outputs = self.outputs(&sensed, &received, &wanted, &permissions, &drive, brake);
        self.remember(&sensed, &outputs, &gates, &drive, set_points);
        self.reason_log.step(
            [permissions.drive.why_not, permissions.work.why_not, permissions.auxiliary.why_not],
            permissions.drive.permitted || permissions.work.permitted || permissions.auxiliary.permitted,
        );
        self.show(&Shown {
            sensed: &sensed,
            received: &received,
            wanted: &wanted,
            permissions: &permissions,
            drive: &drive,
            work: &work,
            gates: &gates,
            measured,
            engine_request,
        });
        self.motion.override_outputs(&mut outputs);
        self.talk(inputs, &mut outputs, standing);
        outputs
    }

    fn set_points(&self) -> SetPoints {
        self.set_points
    }

    fn committed(&mut self) -> Option<Parameters> {
        self.bus.take_committed()
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.faults.is_place_active(index)
    }

    fn diagnostics(&self) -> Diagnostics {
        self.diagnostics
    }
}

impl Control {
    fn test(&mut self, sensed: &Sensed, reports: &CoilReports) {
        if self.self_test.state() == StartUpState::Done {
            return;
        }
        // A test of coils whose supply a fault has cut blames sound coils and the relay; one that has failed says why.
        let cut = self.faults.reactions().has(CUT) && self.self_test.state() != StartUpState::Failed;
        let ready = sensed.key_on && !sensed.emergency_stop && !cut && self.monitoring.supply_good(sensed);
        self.start_up(ready, sensed.read_back, reports);
    }

    /// Seldom: kept out of the way of the periods after the tests.
    #[cold]
    #[inline(never)]
    fn start_up(&mut self, ready: bool, read_back: Millivolts, reports: &CoilReports) {
        let currents = reports.map(|report| report.average_current);
        self.self_test.step(ready, read_back, &currents);
    }

    /// Whether the machine would run with this set: each part is built from it, and forgotten.
    fn check(parameters: &Parameters) -> Result<(), Refusal> {
        Sensing::new(parameters).map(|_| ())?;
        Levers::new(parameters).map(|_| ())?;
        Monitoring::new(parameters, false).map(|_| ())?;
        Guard::new(parameters).map(|_| ())?;
        Drive::new(parameters).map(|_| ())?;
        EngineRequest::new(parameters).map(|_| ())?;
        Work::new(parameters).map(|_| ())?;
        Valves::new(parameters).map(|_| ())?;
        Panel::new(parameters).map(|_| ())?;
        ParkBrake::new(park_brake(parameters), PERIOD)
            .map_err(|_| parameters.contradiction(Parameter::brake_time_out, "is no time-out"))?;
        StartUpTest::<{ Coil::COUNT }>::new(self_test(parameters), PERIOD)
            .map_err(|_| no_pulse(parameters))?;
        coil_loop(parameters).map(|_| ())
    }

    /// What a tester has to wait for.
    fn standing(&self, wanted: &Wanted, permissions: &Permissions) -> Standing {
        Standing {
            at_rest: self.everything_rests(),
            neutral: all_neutral(wanted),
            permitted: permissions.drive.permitted
                && permissions.work.permitted
                && permissions.auxiliary.permitted,
            withheld: is_withheld(permissions, self.last.gates.as_ref()),
        }
    }

    fn everything_rests(&self) -> bool {
        self.at_rest && self.work.work_at_zero() && self.work.auxiliary_at_zero()
    }

    fn circumstances(&self, sensed: &Sensed, wanted: &Wanted) -> Circumstances {
        Circumstances {
            unexplained: unexplained(
                &self.faults,
                &Seen {
                    emergency_stop: sensed.emergency_stop,
                    supply_low: !self.monitoring.supply_good(sensed) || planted!(DipClearsLatch),
                    charge_pressure_low: !self.monitoring.charge_good(sensed),
                    no_pattern: wanted.pattern.active.is_none(),
                },
            ),
            self_test: self.self_test.state(),
            supply_good: self.monitoring.supply_good(sensed),
            charge_good: self.monitoring.charge_good(sensed),
            calibrating: self.motion.calibrates(),
        }
    }

    fn drive_inputs(&self, sensed: &Sensed, wanted: &Wanted, permissions: &Permissions) -> DriveInputs {
        DriveInputs {
            intent: wanted.intent,
            pattern: wanted.pattern.active.unwrap_or_default(),
            permitted: permissions.drive.permitted,
            engine_expected: sensed.engine_expected,
            engine_speed: sensed.engine_speed,
            oil_temperature: sensed.oil_temperature,
            current_unreachable: self.faults.is_active(Fault::DriveCurrentUnreachable),
            limited: self.faults.reactions().has(LIMIT),
            two_speed_pressed: wanted.two_speed_pressed,
            at_rest: self.at_rest,
        }
    }

    fn gates(&mut self, permissions: &Permissions, measured: [Milliamps; 3]) -> Gates {
        let stopped = planted!(StopAsksTheLever) && !permissions.drive.permitted;
        let at_zero =
            [self.drive.at_zero() || stopped, self.work.work_at_zero(), self.work.auxiliary_at_zero()];
        let mut gates = self.guard.gates(permissions, at_zero, measured);
        if planted!(WorkGateLeftOpen) && gates.work == GateState::Closed {
            gates.work = GateState::Open;
        }
        if gates.drive != GateState::Open {
            self.drive.reset();
        }
        if gates.work != GateState::Open {
            self.work.reset_work();
        }
        if gates.auxiliary != GateState::Open {
            self.work.reset_auxiliary();
        }
        gates
    }

    /// The fault table.
    pub fn faults(&self) -> &FaultTable<Fault, { Fault::COUNT }> {
        &self.faults
    }

    /// Why each group was not permitted, over the last changes.
    pub fn reason_log(&self) -> &WhyNotLog {
        &self.reason_log
    }
}

/// All stages of a period, to be shown.
struct Shown<'a> {
    sensed: &'a Sensed,
    received: &'a Received,
    wanted: &'a Wanted,
    permissions: &'a Permissions,
    drive: &'a DriveCommand,
    work: &'a WorkCommand,
    gates: &'a Gates,
    measured: [Milliamps; 3],
    engine_request: Option<Rpm>,
}

fn work_inputs(wanted: &Wanted, permissions: &Permissions) -> WorkInputs {
    WorkInputs {
        boom: wanted.intent.boom,
        bucket: wanted.intent.bucket,
        auxiliary: wanted.auxiliary,
        work_permitted: permissions.work.permitted,
        auxiliary_permitted: permissions.auxiliary.permitted,
        float_pressed: wanted.float_pressed,
        continuous_pressed: wanted.continuous_pressed,
    }
}
