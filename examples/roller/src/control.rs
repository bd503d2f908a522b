//! The control program: read top to bottom, it is the drawing of the data flow.
//!
//! ```text
//! sensing ─► stations ─► monitoring ─► permission ─► travel, vibration ─► coils ─► last gate
//! ```

pub mod coils;
pub mod monitoring;
pub mod panel;
pub mod permission;
pub mod reasons;
pub mod sensing;
mod showing;
pub mod stations;
pub mod travel;
pub mod vibration;

use trunnion::declare::Refusal;
use trunnion::fault::{FaultLog, FaultTable};
use trunnion::guard::{
    CutOffTestConfig, GateState, ReasonLog, ReasonLogConfig, Standstill, StandstillConfig,
};
use trunnion::machine::{Boot, Program};
use trunnion::quantity::{Milliamps, Millis, Millivolts, Period, Permille, Ratio, Rpm};
use trunnion::valve::{StartUpState, StartUpTest, StartUpTestConfig, TestPulseConfig};

use self::coils::{CoilLoop, Gates, Valves, coil_loop, gated, largest_currents, reconfigure_coil_loop};
use self::monitoring::{LastPeriod, Monitoring};
use self::panel::{Panel, PanelInputs};
use self::permission::{Circumstances, Guard, Permissions};
use self::reasons::{Seen, unexplained};
use self::sensing::{Sensed, Sensing, fixed};
use self::stations::{Station, Stations, Wanted};
use self::travel::{Travel, TravelCommand, TravelInputs};
use self::vibration::{Vibration, VibrationCommand};
use crate::declaration::faults::CUT;
use crate::declaration::{
    Coil, CoilReports, Diagnostics, Fault, Inputs, Outputs, Parameter, Parameters, SetPoints,
};

/// The control period.
pub const PERIOD: Period = Period::from_micros(10_000).unwrap();

/// The period of the current loop.
pub const FAST_PERIOD: Period = Period::from_micros(1_000).unwrap();

/// Largest reading of a coil that carries nothing: offset of the measurement.
const NO_CURRENT: Milliamps = Milliamps::saturating(20);

/// Supplies that a 12 V machine can have. A reading beyond them is not believed: coils are then driven as on the highest
/// supply, with the lowest duty.
const PLAUSIBLE_SUPPLY: core::ops::RangeInclusive<Millivolts> =
    Millivolts::saturating(5_000)..=Millivolts::saturating(20_000);
/// The highest supply that the coils are driven on.
const HIGHEST_SUPPLY: Millivolts = Millivolts::saturating(16_500);

/// Why drive, steering and vibration were not permitted in the 30 s before a stop.
pub type WhyNotLog = ReasonLog<3, 32>;

/// The roller's control program.
#[derive(Debug, Clone)]
pub struct Control {
    sensing: Sensing,
    stations: Stations,
    self_test: StartUpTest<{ Coil::COUNT }>,
    monitoring: Monitoring,
    faults: FaultTable<Fault, { Fault::COUNT }>,
    log: FaultLog<{ Fault::COUNT }>,
    guard: Guard,
    reason_log: WhyNotLog,
    travel: Travel,
    vibration: Vibration,
    valves: Valves,
    standstill: Standstill,
    panel: Panel,
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

/// Before the first period nothing was asked for.
const NOTHING_YET: LastPeriod = LastPeriod {
    coil_supply: false,
    start_permit: false,
    gates: [GateState::Closed; 3],
    drive: Ratio::ZERO,
    vibration: Ratio::ZERO,
    asked: [Milliamps::ZERO; Coil::COUNT],
};

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
        let look_back = ReasonLogConfig { look_back: Millis::from_ticks(30_000) };
        Ok(Self {
            sensing: Sensing::new(parameters)?,
            stations: Stations::new(parameters)?,
            self_test: StartUpTest::new(self_test(parameters), PERIOD).map_err(|_| no_pulse(parameters))?,
            monitoring: Monitoring::new(parameters, replaced)?,
            faults: FaultTable::new(PERIOD),
            log: FaultLog::new(),
            guard: Guard::new(parameters)?,
            reason_log: ReasonLog::new(look_back, PERIOD).map_err(|_| fixed(parameters))?,
            travel: Travel::new(parameters)?,
            vibration: Vibration::new(parameters)?,
            valves: Valves::new(parameters)?,
            standstill: Standstill::new(standstill(parameters), PERIOD).map_err(|_| fixed(parameters))?,
            panel: Panel::new(parameters)?,
            last: NOTHING_YET,
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

    fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        let mut next = self.clone();
        next.sensing.reconfigure(parameters)?;
        next.stations.reconfigure(parameters)?;
        next.self_test.reconfigure(self_test(parameters)).map_err(|_| no_pulse(parameters))?;
        next.monitoring.reconfigure(parameters);
        next.guard.reconfigure(parameters)?;
        next.travel.reconfigure(parameters)?;
        next.vibration.reconfigure(parameters)?;
        next.valves = Valves::new(parameters)?;
        *self = next;
        Ok(())
    }

    fn reconfigure_fast(fast: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
        reconfigure_coil_loop(fast, parameters)
    }

    /// Six hops from lever to coil.
    fn step(&mut self, inputs: &Inputs, reports: &CoilReports) -> Outputs {
        let sensed = self.sensing.step(inputs);
        let wanted = self.stations.step(inputs, &sensed, self.at_rest);
        self.test(&sensed, &reports.map(|report| report.average_current));
        let conditions = self.monitoring.step(inputs, &sensed, &wanted, reports, &self.self_test, &self.last);
        self.faults.step(&conditions, wanted.all_neutral);
        self.log.step(&self.faults, self.periods);
        let about = self.circumstances(&sensed);
        let permissions = self.guard.step(&sensed, &wanted, &about);
        let travel = self.travel.step(&self.travel_inputs(&sensed, &wanted, &permissions));
        let vibration = self.vibration.step(&sensed, &permissions.drive, about.unexplained);
        let wished = self.valves.step(travel.drive, travel.steer, vibration.command);
        let testing = self.self_test.state() != StartUpState::Done;
        let measured = if testing { [Milliamps::ZERO; 3] } else { largest_currents(reports) };
        let gates = self.gates(&permissions, measured);
        let set_points = if testing { self.self_test.set_points() } else { gated(wished, &gates) };
        self.rest(&sensed, measured);
        let outputs = self.outputs(&sensed, &wanted, &permissions, &travel, &vibration);
        self.remember(&sensed, &outputs, gates, &travel, &vibration, set_points);
        self.reason_log.step(
            [permissions.drive.why_not, permissions.steer.why_not, vibration.why_not],
            permissions.drive.permitted || permissions.steer.permitted,
        );
        self.show(&Shown { sensed, wanted, permissions, travel, vibration, gates, measured });
        outputs
    }

    fn set_points(&self) -> SetPoints {
        self.set_points
    }

    fn is_fault_active(&self, index: u16) -> bool {
        self.faults.is_place_active(index)
    }

    fn diagnostics(&self) -> Diagnostics {
        self.diagnostics
    }
}

impl Control {
    fn test(&mut self, sensed: &Sensed, currents: &[Milliamps; Coil::COUNT]) {
        let ready = sensed.key_on && !sensed.emergency_stop && self.monitoring.supply_good(sensed);
        self.self_test.step(ready, sensed.read_back, currents);
    }

    fn circumstances(&self, sensed: &Sensed) -> Circumstances {
        let (supply_good, charge_good) =
            (self.monitoring.supply_good(sensed), self.monitoring.charge_good(sensed));
        Circumstances {
            unexplained: unexplained(
                &self.faults,
                &Seen {
                    emergency_stop: sensed.emergency_stop,
                    supply_low: !supply_good,
                    charge_pressure_low: !charge_good,
                    no_amplitude: !sensed.amplitude.is_valid(),
                },
            ),
            self_test: self.self_test.state(),
            supply_good,
            charge_good,
            at_rest: self.at_rest,
        }
    }

    fn travel_inputs(&self, sensed: &Sensed, wanted: &Wanted, permissions: &Permissions) -> TravelInputs {
        TravelInputs {
            drive: wanted.drive,
            steer: wanted.steer,
            drive_permitted: permissions.drive.permitted,
            steer_permitted: permissions.steer.permitted,
            charge_good: !self.monitoring.charge_lost(sensed),
            speed: sensed.travel,
            at_rest: self.at_rest,
        }
    }

    /// The last gates; behind a closed one nothing moves and nothing resumes.
    fn gates(&mut self, permissions: &Permissions, measured: [Milliamps; 3]) -> Gates {
        let [drive, steer, vibration] = measured;
        let gates = [
            self.guard.drive.gate(&permissions.drive, self.travel.drive_at_zero(), drive),
            self.guard.steer.gate(&permissions.steer, self.travel.steer_at_zero(), steer),
            self.vibration.gate(&permissions.drive, vibration),
        ];
        if gates[0] != GateState::Open {
            self.travel.reset_drive();
        }
        if gates[1] != GateState::Open {
            self.travel.reset_steer();
        }
        gates
    }

    /// Finds the machine at rest. The brake's valve is fed by the coil supply: without it the brake is on.
    fn rest(&mut self, sensed: &Sensed, measured: [Milliamps; 3]) {
        let still = self.travel.drive_at_zero() && measured[0] <= NO_CURRENT;
        self.at_rest = self.standstill.step(still, sensed.travel, sensed.travel);
        if !self.last.coil_supply {
            self.travel.brake();
        }
    }

    fn outputs(
        &mut self,
        sensed: &Sensed,
        wanted: &Wanted,
        permissions: &Permissions,
        travel: &TravelCommand,
        vibration: &VibrationCommand,
    ) -> Outputs {
        let cut = self.faults.reactions().has(CUT) || sensed.emergency_stop || !sensed.key_on;
        self.panel.step(&PanelInputs {
            coil_supply: self.self_test.supply_on() && !cut,
            brake_open: self.travel.brake_open(),
            crank: sensed.key_on
                && !sensed.emergency_stop
                && sensed.engine_stands
                && wanted.all_neutral
                && !self.travel.brake_open(),
            drive: travel.drive,
            travel: sensed.travel,
            fault_code: self.faults.blink(),
            why_not: permissions.drive.why_not.union(permissions.steer.why_not),
            station: Station::of(wanted.station.in_command),
            waiting: Station::of(wanted.station.waiting),
            vibration_on: vibration.switched_on,
            vibrates: !vibration.command.is_zero(),
        })
    }

    fn remember(
        &mut self,
        sensed: &Sensed,
        outputs: &Outputs,
        gates: Gates,
        travel: &TravelCommand,
        vibration: &VibrationCommand,
        asked: [Milliamps; Coil::COUNT],
    ) {
        let (coil_supply, start_permit) = (outputs.coil_supply, outputs.start_permit);
        let (drive, vibration) = (travel.drive, vibration.command);
        self.last = LastPeriod { coil_supply, start_permit, gates, drive, vibration, asked };
        let supply = if PLAUSIBLE_SUPPLY.contains(&sensed.supply) { sensed.supply } else { HIGHEST_SUPPLY };
        self.set_points = SetPoints { supply, ..SetPoints::from_currents(asked) };
        self.periods = self.periods.saturating_add(1);
    }

    /// First, last and count of every fault since start.
    pub fn fault_log(&self) -> &FaultLog<{ Fault::COUNT }> {
        &self.log
    }

    /// Why each function was not permitted, over the last changes.
    pub fn reason_log(&self) -> &WhyNotLog {
        &self.reason_log
    }
}

/// All stages of a period, to be shown.
struct Shown {
    sensed: Sensed,
    wanted: Wanted,
    permissions: Permissions,
    travel: TravelCommand,
    vibration: VibrationCommand,
    gates: Gates,
    measured: [Milliamps; 3],
}
