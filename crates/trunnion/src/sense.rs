//! From the wire to a quantity and its health.
//!
//! | block | takes | gives |
//! |---|---|---|
//! | [`RatiometricSensor`] | signal and sensor-supply voltage | share of the span, or which wire to look at |
//! | [`CurrentLoopSensor`] | drop over the shunt of a 4–20 mA loop | share of the span, or which wire to look at |
//! | [`RedundantPair`] | two readings of one quantity | one reading, or that they disagree |
//! | [`LookupTable`] | a quantity | another one, by the points of a characteristic |
//! | [`Span`] | share | a quantity |
//! | [`PulseSpeed`] | edges and the time of the last one | speed |
//! | [`PeriodSpeed`] | the captured period of one tooth | speed |
//! | [`SpeedComparison`] | two speeds | whether they disagree |
//! | [`TwoPhaseDirection`] | two pulse trains a quarter apart | which way, and how far |
//! | [`Debounce`] | a contact | the contact without its bounces |
//! | [`DebounceBank`] | up to 32 contacts in a word | the contacts without their bounces |
//! | [`DualContact`] | make and break contact of one switch | pressed or not |
//! | [`Changeover`] | the two contacts of a rocker | which of them |
//! | [`LowPass`] | a quantity | the quantity without noise |
//! | [`MedianOfThree`] | a quantity | the quantity without single outliers |
//! | [`Freshness`] | whether a valid frame came | waiting, fresh, lost or never seen |
//!
//! A [`Reading`] is decided once, here: further on nobody looks at raw counts again.

mod contact_pair;
mod current_loop_sensor;
mod debounce;
mod debounce_bank;
mod freshness;
mod lookup_table;
mod low_pass;
mod median;
mod period_speed;
mod pulse_speed;
mod ratiometric;
mod reading;
mod redundant_pair;
mod span;
mod speed_comparison;
mod two_phase_direction;

pub use contact_pair::{
    Changeover, ChangeoverConfig, ContactPairConfigError, DualContact, DualContactConfig,
};
pub use current_loop_sensor::{
    CurrentLoopSensor, CurrentLoopSensorConfig, CurrentLoopSensorConfigError, LoopBands,
};
pub use debounce::{Debounce, DebounceConfig, DebounceConfigError};
pub use debounce_bank::{DebounceBank, DebounceBankConfigError};
pub use freshness::{Freshness, FreshnessConfig, FreshnessConfigError, FreshnessState};
pub use lookup_table::{LookupTable, LookupTableError};
pub use low_pass::{LowPass, LowPassConfig, LowPassConfigError};
pub use median::MedianOfThree;
pub use period_speed::{PeriodSpeed, PeriodSpeedConfig, PeriodSpeedConfigError};
pub use pulse_speed::{PulseSpeed, PulseSpeedConfig, PulseSpeedConfigError};
pub use ratiometric::{RatiometricSensor, RatiometricSensorConfig, RatiometricSensorConfigError};
pub use reading::{Flaw, Health, Reading};
pub use redundant_pair::{PairValue, RedundantPair, RedundantPairConfig, RedundantPairConfigError};
pub use span::Span;
pub use speed_comparison::{SpeedComparison, SpeedComparisonConfig, SpeedComparisonConfigError};
pub use two_phase_direction::{
    TurnDirection, TwoPhaseDirection, TwoPhaseDirectionConfig, TwoPhaseDirectionConfigError,
};
