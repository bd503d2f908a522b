//! From symptoms to the conditions of the fault table.

use trunnion::declare::Refusal;
use trunnion::guard::{CutOffMonitor, CutOffMonitorConfig, GateState};
use trunnion::quantity::{Kilopascals, Milliamps, Millis, Millivolts, Ratio, Rpm};
use trunnion::sense::{Flaw, Reading};
use trunnion::valve::{CoilReport, ExcessCurrent, StartUpTest};

use super::PERIOD;
use super::coils::Gates;
use super::sensing::{Sensed, fixed};
use super::stations::{StationLevers, Wanted};
use crate::declaration::{Coil, Fault, Inputs, Parameters};

/// One entry a fault: its condition holds in this period.
pub type Conditions = [bool; Fault::COUNT];

/// What the last period did, for conditions that need it.
#[derive(Debug, Clone, Copy)]
pub struct LastPeriod {
    /// Coil supply was switched on.
    pub coil_supply: bool,
    /// The starter was allowed to turn: a dip of the supply is no fault then.
    pub start_permit: bool,
    /// Last gates.
    pub gates: Gates,
    /// Drive as the pump was asked.
    pub drive: Ratio,
    /// Vibration as its pump was asked.
    pub vibration: Ratio,
    /// Currents that the coils were asked for.
    pub asked: [Milliamps; Coil::COUNT],
}

/// Limits and memory of the monitoring.
#[derive(Debug, Clone)]
pub struct Monitoring {
    cut_off: CutOffMonitor,
    excess: ExcessCurrent<{ Coil::COUNT }>,
    supply_low: Millivolts,
    supply_high: Millivolts,
    charge_low: Kilopascals,
    parameters_replaced: bool,
    periods: u32,
    start_up: u32,
}

/// A pump that is asked for more than this must turn its motor: engineering judgement.
const SURELY_MOVING: Ratio = Ratio::from_quotient(250, 1000);

const CUT_OFF: CutOffMonitorConfig = CutOffMonitorConfig {
    disagree_after: Millis::from_ticks(100),
    low: Millivolts::saturating(3_000),
    high: Millivolts::saturating(6_000),
};

impl Monitoring {
    /// Before the first step. `parameters_replaced`: the stored set was refused.
    pub fn new(parameters: &Parameters, parameters_replaced: bool) -> Result<Self, Refusal> {
        Ok(Self {
            cut_off: CutOffMonitor::new(CUT_OFF, PERIOD).map_err(|_| fixed(parameters))?,
            excess: ExcessCurrent::new(parameters.stray_current()),
            supply_low: parameters.supply_low(),
            supply_high: parameters.supply_high(),
            charge_low: parameters.charge_pressure_low(),
            parameters_replaced,
            periods: 0,
            start_up: PERIOD.steps(parameters.start_up_window()),
        })
    }

    /// Takes new limits.
    pub fn reconfigure(&mut self, parameters: &Parameters) {
        self.excess.reconfigure(parameters.stray_current());
        self.supply_low = parameters.supply_low();
        self.supply_high = parameters.supply_high();
        self.charge_low = parameters.charge_pressure_low();
        self.start_up = PERIOD.steps(parameters.start_up_window());
        self.parameters_replaced = false;
    }

    /// Supply is high enough for permission.
    pub fn supply_good(&self, sensed: &Sensed) -> bool {
        sensed.supply >= self.supply_low
    }

    /// Charge pressure is known and high enough.
    pub fn charge_good(&self, sensed: &Sensed) -> bool {
        sensed.charge_pressure.valid().is_some_and(|pressure| pressure >= self.charge_low)
    }

    /// Charge pressure is known to be gone. A sensor that fails says nothing of the pressure: the drive stops along
    /// its ramp, and the brake waits for standstill.
    pub fn charge_lost(&self, sensed: &Sensed) -> bool {
        sensed.charge_pressure.valid().is_some_and(|pressure| pressure < self.charge_low)
    }

    /// All conditions of this period.
    pub fn step(
        &mut self,
        inputs: &Inputs,
        sensed: &Sensed,
        wanted: &Wanted,
        reports: &[CoilReport; Coil::COUNT],
        self_test: &StartUpTest<{ Coil::COUNT }>,
        last: &LastPeriod,
    ) -> Conditions {
        self.periods = self.periods.saturating_add(1);
        let mut conditions = [false; Fault::COUNT];
        self.controller(&mut conditions, inputs, sensed, self_test, last);
        if sensed.sensor_supply_good {
            // Without their supply they tell nothing of themselves: that is a fault of its own.
            levers(&mut conditions, &wanted.levers);
        }
        self.engine_and_speeds(&mut conditions, sensed, last);
        conditions[Fault::AmplitudeRocker as usize] = !sensed.amplitude.is_valid();
        conditions[Fault::ChargePressureSensor as usize] =
            sensed.sensor_supply_good && !sensed.charge_pressure.is_valid();
        conditions[Fault::ChargePressureLow as usize] = sensed.engine_runs && self.charge_lost(sensed);
        coils(&mut conditions, reports, self_test);
        conditions[Fault::StrayCurrent as usize] |= self.excess.step(last.asked, reports);
        conditions
    }

    fn controller(
        &mut self,
        conditions: &mut Conditions,
        inputs: &Inputs,
        sensed: &Sensed,
        self_test: &StartUpTest<{ Coil::COUNT }>,
        last: &LastPeriod,
    ) {
        // A supply that is down itself (cranking, an empty battery) says nothing of the relay.
        let agrees = self.cut_off.step(last.coil_supply, sensed.read_back)
            || !self_test.is_supply_proven()
            || (last.coil_supply && !self.supply_good(sensed));
        conditions[Fault::EmergencyStop as usize] = sensed.emergency_stop;
        conditions[Fault::EmergencyStopContacts as usize] = sensed.emergency_stop_contacts;
        conditions[Fault::CutOffStuckOn as usize] = self_test.stuck_on() || (!agrees && !last.coil_supply);
        conditions[Fault::CutOffStuckOff as usize] = self_test.stuck_off() || (!agrees && last.coil_supply);
        conditions[Fault::GateDisagrees as usize] = last.gates.contains(&GateState::Disagrees);
        conditions[Fault::ParametersReplaced as usize] = self.parameters_replaced;
        conditions[Fault::PeriodsMissed as usize] = inputs.missed_periods > 0;
        conditions[Fault::SupplyLow as usize] = !self.supply_good(sensed) && !last.start_permit;
        conditions[Fault::SupplyHigh as usize] = sensed.supply > self.supply_high;
        conditions[Fault::SensorSupply as usize] = !sensed.sensor_supply_good;
    }

    fn engine_and_speeds(&self, conditions: &mut Conditions, sensed: &Sensed, last: &LastPeriod) {
        conditions[Fault::EnginePickup as usize] = !sensed.engine.is_valid();
        conditions[Fault::EngineSpeedDisagrees as usize] = sensed.engine_disagrees;
        conditions[Fault::EngineControllerLost as usize] =
            self.periods > self.start_up && !sensed.engine_bus.is_valid();
        conditions[Fault::TravelPickup as usize] = silent(sensed.travel, last.drive);
        conditions[Fault::EccentricPickup as usize] = silent(sensed.eccentric, last.vibration);
    }
}

/// No pulses although the pump is asked for a good part, or an impossible speed.
fn silent(speed: Reading<Rpm>, asked: Ratio) -> bool {
    match speed {
        Reading::Valid(speed) => speed == Rpm::ZERO && asked.magnitude() >= SURELY_MOVING,
        Reading::Faulted(_) => true,
    }
}

/// Three faults a lever follow one another: too low, too high, disagreement.
fn levers(conditions: &mut Conditions, stations: &[StationLevers; 2]) {
    let [left, right] = stations;
    let faults = [
        (left.drive, [Fault::LeftDriveLow, Fault::LeftDriveHigh, Fault::LeftDriveDisagrees]),
        (left.steer, [Fault::LeftSteerLow, Fault::LeftSteerHigh, Fault::LeftSteerDisagrees]),
        (right.drive, [Fault::RightDriveLow, Fault::RightDriveHigh, Fault::RightDriveDisagrees]),
        (right.steer, [Fault::RightSteerLow, Fault::RightSteerHigh, Fault::RightSteerDisagrees]),
    ];
    for (lever, [low, high, disagrees]) in faults {
        let Some(flaw) = lever.position.flaw() else { continue };
        let fault = match flaw {
            Flaw::WireBreak => low,
            Flaw::ShortCircuit => high,
            _ => disagrees,
        };
        conditions[fault as usize] = true;
    }
}

/// Coil faults follow one another in the table in the order of the coils.
fn coils(
    conditions: &mut Conditions,
    reports: &[CoilReport; Coil::COUNT],
    self_test: &StartUpTest<{ Coil::COUNT }>,
) {
    for (place, (report, opened)) in reports.iter().zip(self_test.open_coils()).enumerate() {
        let found = report.conditions;
        conditions[Fault::DriveForwardOpen as usize + place] = found.open || opened;
        conditions[Fault::DriveForwardShort as usize + place] = found.short;
        conditions[Fault::DriveForwardCurrent as usize + place] = found.deviation && !found.unreachable;
        conditions[Fault::CurrentUnreachable as usize] |= found.unreachable;
        conditions[Fault::StrayCurrent as usize] |= found.stray;
    }
}
