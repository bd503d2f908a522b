//! What a failure of a wire is at the part behind it.

use trunnion::declare::Failure;

use crate::plant::{
    AnalogSensor, Coil, CoilFault, EngineUnit, EngineUnitFault, Level, Pickup, PickupFault, SensorFault,
    Switch, SwitchFault,
};
use crate::run::Way;

/// Rate of stray edges of a noisy pickup, 1/s: engineering judgement.
const NOISE_HZ: f64 = 2_000.0;
/// Rate of edges that no wheel of a machine gives, 1/s: engineering judgement.
const BEYOND_HZ: f64 = 50_000.0;
/// Share of its range that a drifting sensor runs away in a second: engineering judgement.
const DRIFT_PER_SECOND: f64 = 0.05;
/// What a corroded plug adds to a coil, Ω: engineering judgement, about one coil more.
const CORRODED_OHM: f64 = 6.0;
/// Frames arrive this much after the declared period when a unit is late.
const LATE_BY_US: u32 = 120_000;
/// A raw speed that SAE J1939-71 keeps free.
const RESERVED_SPEED: u16 = 0xFB00;

impl Switch {
    /// Breaks the switch or its wire in a declared way, or mends it with `None`. Stuck is as it stands.
    pub fn set_failure(&mut self, failure: Option<Failure>) {
        self.set_fault(match failure {
            None => SwitchFault::None,
            Some(Failure::Open) => SwitchFault::Open,
            Some(Failure::ShortToSupply) => SwitchFault::ShortToSupply,
            Some(Failure::ShortToGround) => SwitchFault::ShortToGround,
            Some(_) if self.level() == Level::High => SwitchFault::StuckClosed,
            Some(_) => SwitchFault::StuckOpen,
        });
    }
}

impl AnalogSensor {
    /// Breaks the sensor or its wire in a declared way, or mends it with `None`.
    pub fn set_failure(&mut self, failure: Option<Failure>) {
        self.set_fault(match failure {
            None => SensorFault::None,
            Some(Failure::Open) => SensorFault::Open,
            Some(Failure::ShortToSupply) => SensorFault::ShortToSupply,
            Some(Failure::ShortToGround) => SensorFault::ShortToGround,
            Some(Failure::Drift) => SensorFault::Drift(DRIFT_PER_SECOND),
            Some(Failure::OutOfRange) => SensorFault::Beyond,
            Some(_) => SensorFault::Frozen,
        });
    }
}

impl Pickup {
    /// Breaks the pickup or its wire in a declared way, or mends it with `None`.
    pub fn set_failure(&mut self, failure: Option<Failure>) {
        self.set_fault(match failure {
            None => PickupFault::None,
            Some(Failure::Noise) => PickupFault::Noise(NOISE_HZ),
            Some(Failure::OutOfRange) => PickupFault::Rate(BEYOND_HZ),
            Some(Failure::Open) => PickupFault::Open,
            Some(_) => PickupFault::Stuck,
        });
    }
}

impl Coil {
    /// Breaks the coil or its wire in a declared way, or mends it with `None`. A stray current comes from the battery,
    /// whatever the cut-off does.
    pub fn set_failure(&mut self, failure: Option<Failure>) {
        self.set_fault(match failure {
            None => CoilFault::None,
            Some(Failure::Open) => CoilFault::Open,
            Some(Failure::ShortToGround) => CoilFault::ShortToGround,
            Some(Failure::HighResistance) => CoilFault::HighResistance(CORRODED_OHM),
            Some(Failure::StrayCurrent) => CoilFault::ShortToBattery,
            Some(_) => CoilFault::ShortToSupply,
        });
    }

    /// Breaks the coil, its wire or its return in one of its ways, or mends it with `None`; a loose contact is its plant's.
    pub fn set_way(&mut self, way: Option<Way>) {
        match way {
            Some(Way::ReturnToGround) => self.set_fault(CoilFault::ReturnShortToGround),
            other => self.set_failure(other.and_then(Way::steady)),
        }
    }
}

impl EngineUnit {
    /// Breaks the unit in a declared way of a bus message, or mends it with `None`. A second sender is a unit of its own:
    /// the plant has to let one send.
    pub fn set_failure(&mut self, failure: Option<Failure>) {
        self.set_fault(match failure {
            Some(Failure::Lost) => EngineUnitFault::Lost,
            Some(Failure::Late) => EngineUnitFault::Late { by_us: LATE_BY_US },
            Some(Failure::ErrorValue) => EngineUnitFault::SpeedError,
            Some(Failure::NotAvailable) => EngineUnitFault::SpeedNotAvailable,
            Some(Failure::Reserved | Failure::Inconsistent) => EngineUnitFault::SpeedRaw(RESERVED_SPEED),
            Some(Failure::Frozen) => EngineUnitFault::Frozen,
            _ => EngineUnitFault::None,
        });
    }
}
