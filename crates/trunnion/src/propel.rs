//! Who moves how: from drive and steer to left and right.
//!
//! | block | does |
//! |---|---|
//! | [`Sides`] | carries a command of both sides |
//! | [`Mixer`] | drive and steer to sides, by one of two laws |
//! | [`SpeedLimits`] | largest speeds forward, reverse, rotation |
//! | [`Trim`] | straight ahead is straight |
//! | [`SteerAuthority`] | less steer at speed |
//! | [`Inching`] | less drive by a pedal |
//! | [`Creep`] | the whole lever over a small share of the speed |
//! | [`TravelSpeed`] | the speed that was asked for, uphill and down |
//! | [`Overspeed`] | retards what a downgrade drives |
//! | [`SinglePath`] | one pump, and the brake in step with it |
//! | [`EngineSpeedRequest`] | the speed to ask the engine for |
//! | [`AntiStall`] | less drive before the engine stalls |
//! | [`TwoSpeed`] | the range of two-speed motors |

mod anti_stall;
mod creep;
mod engine_speed_request;
mod inching;
mod mixer;
mod overspeed;
mod sides;
mod single_path;
mod speed_limits;
mod speed_share;
mod steer_authority;
mod steering;
mod travel_speed;
mod trim;
mod two_speed;

pub use anti_stall::{AntiStall, AntiStallConfig, AntiStallConfigError};
pub use creep::{Creep, CreepConfig, CreepConfigError, CreepInputs};
pub use engine_speed_request::{
    EngineSpeedInputs, EngineSpeedRequest, EngineSpeedRequestConfig, EngineSpeedRequestConfigError,
};
pub use inching::{Inching, InchingConfig, InchingConfigError};
pub use mixer::{MixLaw, Mixer, MixerConfig, MixerConfigError, ReverseConvention};
pub use overspeed::{Overspeed, OverspeedConfig, OverspeedConfigError, OverspeedDemand};
pub use sides::Sides;
pub use single_path::{
    SinglePath, SinglePathConfig, SinglePathConfigError, SinglePathInputs, SinglePathState,
};
pub use speed_limits::{SpeedLimits, SpeedLimitsConfig, SpeedLimitsConfigError};
pub use steer_authority::{SteerAuthority, SteerAuthorityConfig, SteerAuthorityConfigError};
pub use travel_speed::{TravelSpeed, TravelSpeedConfig, TravelSpeedConfigError};
pub use trim::{Trim, TrimConfig, TrimConfigError};
pub use two_speed::{TwoSpeed, TwoSpeedConfig, TwoSpeedConfigError, TwoSpeedInhibit, TwoSpeedInputs};
