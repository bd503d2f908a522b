//! From symptoms to the conditions of the fault table.

use serde::{Deserialize, Serialize};
use trunnion::declare::{FaultConditions, FaultSet, Refusal};
use trunnion::guard::{CutOffMonitor, CutOffMonitorConfig, GateState};
use trunnion::quantity::{Celsius, Kilopascals, Milliamps, Millis, Millivolts, Ratio, Rpm};
use trunnion::sense::Reading;
use trunnion::valve::{CoilReport, ExcessCurrent, StartUpTest};
use trunnion_can::FrameFlaw;

use super::PERIOD;
use super::levers::{Received, Wanted};
use super::permission::Gates;
use super::sensing::Sensed;
use crate::declaration::{Coil, Fault, Inputs, Parameter, Parameters};
use crate::planted::planted;

/// The faults whose condition holds in this period.
pub type Conditions = FaultConditions<Fault>;

/// What the last period did, for conditions that need it.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub struct LastPeriod {
    /// Coil supply was switched on.
    pub coil_supply: bool,
    /// The starter was allowed to turn: a dip of the supply is no fault then.
    pub start_permit: bool,
    /// Last gates.
    pub gates: Option<Gates>,
    /// Left side as the pumps were asked.
    pub left: Ratio,
    /// Right side as the pumps were asked.
    pub right: Ratio,
    /// Currents that the coils were asked for.
    pub asked: [Milliamps; Coil::COUNT],
}

/// Limits and memory of the monitoring.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Monitoring {
    cut_off: CutOffMonitor,
    supply_low: Millivolts,
    supply_high: Millivolts,
    charge_low: Kilopascals,
    hot_oil: Celsius,
    excess: ExcessCurrent<{ Coil::COUNT }>,
    parameters_replaced: bool,
    /// Frames that the board had lost up to the last period.
    bus_lost: u8,
    periods: u32,
    start_up: u32,
    /// So many periods after a start a coil may still carry what it carried before.
    decay: u32,
}

/// A side that is asked for more than this must turn its motor: engineering judgement.
const SURELY_MOVING: Ratio = match Ratio::from_permille(250) {
    Some(share) => share,
    None => Ratio::ONE,
};

/// Motor speed that a side does not reach by chance.
const SURELY_TURNING: Rpm = Rpm::from_whole(100);

impl Monitoring {
    /// Before the first step. `parameters_replaced`: the stored set was refused.
    pub fn new(parameters: &Parameters, parameters_replaced: bool) -> Result<Self, Refusal> {
        let config = CutOffMonitorConfig {
            disagree_after: Millis::from_ticks(100),
            low: Millivolts::saturating(3_000),
            high: Millivolts::saturating(6_000),
        };
        Ok(Self {
            cut_off: CutOffMonitor::new(config, PERIOD).map_err(|_| {
                parameters.contradiction(Parameter::supply_low, "cut-off limits are out of order")
            })?,
            supply_low: Millivolts::ZERO,
            supply_high: Millivolts::ZERO,
            charge_low: Kilopascals::ZERO,
            hot_oil: Celsius::ZERO,
            excess: ExcessCurrent::new(Milliamps::ZERO),
            parameters_replaced,
            bus_lost: 0,
            periods: 0,
            start_up: 0,
            decay: 0,
        }
        .with_limits(parameters))
    }

    fn with_limits(mut self, parameters: &Parameters) -> Self {
        self.supply_low = parameters.supply_low();
        self.supply_high = parameters.supply_high();
        self.charge_low = parameters.charge_pressure_low();
        self.hot_oil = Celsius::saturating(i64::from(parameters.hot_oil()).saturating_mul(10));
        self.excess.reconfigure(parameters.stray_current());
        self.start_up = PERIOD.steps(parameters.start_up_window());
        self.decay = PERIOD.steps(parameters.decay_time());
        self
    }

    /// Takes new limits.
    pub fn reconfigure(&mut self, parameters: &Parameters) {
        *self = self.clone().with_limits(parameters);
        self.parameters_replaced = false;
    }

    /// Supply is high enough for permission.
    pub fn supply_good(&self, sensed: &Sensed) -> bool {
        sensed.supply >= self.supply_low
    }

    /// Charge pressure is known and high enough.
    pub fn charge_good(&self, sensed: &Sensed) -> bool {
        sensed.charge_pressure.valid().is_some_and(|pressure| pressure >= self.charge_low)
            || planted!(BrakeBeforeCharge)
    }

    /// Charge pressure is known to be gone. A sensor that fails says nothing of the pressure: the drive stops along
    /// its ramp, and the brake waits for standstill.
    pub fn charge_lost(&self, sensed: &Sensed) -> bool {
        sensed.charge_pressure.valid().is_some_and(|pressure| pressure < self.charge_low)
            && !planted!(BrakeBeforeCharge)
    }

    /// All conditions of this period.
    pub fn step(
        &mut self,
        inputs: &Inputs,
        sensed: &Sensed,
        received: &Received,
        reports: &[CoilReport; Coil::COUNT],
        self_test: &StartUpTest<{ Coil::COUNT }>,
        last: &LastPeriod,
    ) -> Conditions {
        self.periods = self.periods.saturating_add(1);
        let mut conditions = Conditions::none();
        self.controller(&mut conditions, inputs, sensed, self_test, last);
        // The left thumb-wheel works nothing: its message is shown and not relied upon.
        lever(&mut conditions, &[received.left.flaw], &LEFT_LEVER);
        lever(&mut conditions, &[received.right.flaw, received.right.wheel_flaw], &RIGHT_LEVER);
        conditions.add_if(Fault::PatternRocker, !sensed.rocker.is_valid());
        self.engine(&mut conditions, sensed, last);
        self.hydraulics(&mut conditions, sensed);
        let stray = coils(&mut conditions, reports, self_test) | self.excess.step(last.asked, reports);
        // A controller that starts anew while a coil is driven finds a current that nobody asks for any more.
        conditions.add_if(Fault::StrayCurrent, stray && self.periods > self.decay);
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
        let tested = self_test.is_supply_proven();
        // A supply that is down itself (cranking, an empty battery) says nothing of the relay.
        let agrees = self.cut_off.step(last.coil_supply, sensed.read_back)
            || !tested
            || (last.coil_supply && !self.supply_good(sensed));
        let disagrees =
            |gates: &Gates| [gates.drive, gates.work, gates.auxiliary].contains(&GateState::Disagrees);
        conditions.add_if(Fault::EmergencyStop, sensed.emergency_stop);
        conditions.add_if(Fault::EmergencyStopContacts, sensed.emergency_stop_contacts);
        conditions.add_if(Fault::CutOffStuckOn, self_test.stuck_on() || (!agrees && !last.coil_supply));
        conditions.add_if(Fault::CutOffStuckOff, self_test.stuck_off() || (!agrees && last.coil_supply));
        conditions.add_if(Fault::GateDisagrees, last.gates.as_ref().is_some_and(disagrees));
        conditions.add_if(Fault::ParametersReplaced, self.parameters_replaced);
        conditions.add_if(Fault::PeriodsMissed, inputs.missed_periods > 0);
        conditions.add_if(Fault::BusOverrun, inputs.bus_lost != self.bus_lost);
        conditions.add_if(Fault::BusOff, inputs.bus_off);
        self.bus_lost = inputs.bus_lost;
        conditions.add_if(Fault::SupplyLow, !self.supply_good(sensed) && !last.start_permit);
        conditions.add_if(Fault::SupplyHigh, sensed.supply > self.supply_high);
        conditions.add_if(Fault::SensorSupply, !sensed.sensor_supply_good);
    }

    fn engine(&self, conditions: &mut Conditions, sensed: &Sensed, last: &LastPeriod) {
        let started_up = self.periods > self.start_up;
        conditions.add_if(Fault::EnginePickup, !sensed.engine.is_valid());
        conditions.add_if(Fault::EngineSpeedDisagrees, sensed.engine_disagrees);
        conditions.add_if(Fault::EngineControllerLost, started_up && !sensed.engine_bus.is_valid());
        conditions.add_if(Fault::HandThrottleSensor, !sensed.throttle_good);
        conditions.add_if(
            Fault::LeftMotorPickup,
            silent((sensed.left_motor, last.left), (sensed.right_motor, last.right)),
        );
        conditions.add_if(
            Fault::RightMotorPickup,
            silent((sensed.right_motor, last.right), (sensed.left_motor, last.left)),
        );
    }

    fn hydraulics(&self, conditions: &mut Conditions, sensed: &Sensed) {
        conditions.add_if(Fault::ChargePressureSensor, !sensed.charge_pressure.is_valid());
        conditions.add_if(Fault::ChargePressureLow, sensed.engine_runs && self.charge_lost(sensed));
        conditions.add_if(Fault::OilTemperatureSensor, !sensed.oil_temperature.is_valid());
        conditions.add_if(
            Fault::OilHot,
            sensed.oil_temperature.valid().is_some_and(|temperature| temperature > self.hot_oil),
        );
    }
}

/// A side without pulses, although both are driven and the other turns: a machine that pushes against a pile
/// may stall both, but a wire breaks on one.
fn silent(this: (Reading<Rpm>, Ratio), other: (Reading<Rpm>, Ratio)) -> bool {
    let driven = this.1.magnitude() >= SURELY_MOVING && other.1.magnitude() >= SURELY_MOVING;
    match this.0 {
        Reading::Valid(speed) => {
            speed == Rpm::ZERO && driven && other.0.or(Rpm::ZERO).magnitude() >= SURELY_TURNING
        }
        Reading::Faulted(_) => true,
    }
}

struct LeverFaults {
    never_seen: Fault,
    lost: Fault,
    value: Fault,
    inconsistent: Fault,
    duplicated: Fault,
}

const LEFT_LEVER: LeverFaults = LeverFaults {
    never_seen: Fault::LeftLeverNeverSeen,
    lost: Fault::LeftLeverLost,
    value: Fault::LeftLeverValue,
    inconsistent: Fault::LeftLeverInconsistent,
    duplicated: Fault::LeftLeverDuplicated,
};

const RIGHT_LEVER: LeverFaults = LeverFaults {
    never_seen: Fault::RightLeverNeverSeen,
    lost: Fault::RightLeverLost,
    value: Fault::RightLeverValue,
    inconsistent: Fault::RightLeverInconsistent,
    duplicated: Fault::RightLeverDuplicated,
};

fn lever(conditions: &mut Conditions, flaws: &[FrameFlaw], faults: &LeverFaults) {
    for flaw in flaws {
        let fault = match flaw {
            FrameFlaw::None | FrameFlaw::Waiting => continue,
            FrameFlaw::NeverSeen => faults.never_seen,
            FrameFlaw::Lost if planted!(LeverTimeOutBackwards) => continue,
            FrameFlaw::Lost => faults.lost,
            FrameFlaw::ErrorValue | FrameFlaw::NotAvailable | FrameFlaw::Reserved => faults.value,
            FrameFlaw::Inconsistent => faults.inconsistent,
            FrameFlaw::Duplicated => faults.duplicated,
        };
        conditions.add_if(fault, true);
    }
}

/// Coil faults follow one another in the table in the order of the coils. Whether a coil carries a current that is not asked
/// for.
fn coils(
    conditions: &mut Conditions,
    reports: &[CoilReport; Coil::COUNT],
    self_test: &StartUpTest<{ Coil::COUNT }>,
) -> bool {
    let opened = self_test.open_coils();
    // Nothing is wrong in nearly every period: all flags in one, without a jump for each.
    let anything = opened.iter().fold(false, |any, opened| any | opened);
    let anything = reports.iter().fold(anything, |any, CoilReport { conditions: found, .. }| {
        any | found.open | found.short | found.deviation | found.unreachable | found.stray
    });
    if anything {
        return found_wrong(conditions, reports, opened);
    }
    false
}

/// Seldom: kept out of the way of the period in which nothing is wrong.
#[cold]
#[inline(never)]
fn found_wrong(
    conditions: &mut Conditions,
    reports: &[CoilReport; Coil::COUNT],
    opened: [bool; Coil::COUNT],
) -> bool {
    let mut unreachable = [false; Coil::COUNT];
    let mut stray = false;
    for (place, (report, opened)) in (0..Coil::COUNT as u16).zip(reports.iter().zip(opened)) {
        let found = report.conditions;
        let coil = |first: Fault| first.place().wrapping_add(place);
        conditions.add_place_if(coil(Fault::LeftPumpForwardOpen), found.open || opened);
        conditions.add_place_if(coil(Fault::LeftPumpForwardShort), found.short);
        conditions.add_place_if(coil(Fault::LeftPumpForwardCurrent), found.deviation && !found.unreachable);
        unreachable[usize::from(place)] = found.unreachable;
        stray |= found.stray;
    }
    let (drive, rest) = unreachable.split_at(4);
    conditions.add_if(Fault::DriveCurrentUnreachable, drive.contains(&true));
    conditions.add_if(Fault::WorkCurrentUnreachable, rest.contains(&true));
    stray
}

/// True when every lever is heard and neutral, for latches that ask for it.
pub fn all_neutral(wanted: &Wanted) -> bool {
    wanted.drive_neutral && wanted.work_neutral && wanted.auxiliary_neutral
}

/// Largest measured current, for groups under test none.
pub fn monitored(currents: [Milliamps; 3], under_test: bool) -> [Milliamps; 3] {
    if under_test { [Milliamps::ZERO; 3] } else { currents }
}
