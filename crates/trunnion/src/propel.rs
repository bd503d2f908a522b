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
//! | [`AntiStall`] | less drive before the engine stalls |
//! | [`TwoSpeed`] | the range of two-speed motors |

mod anti_stall;
mod inching;
mod mixer;
mod sides;
mod speed_limits;
mod steer_authority;
mod steering;
mod trim;
mod two_speed;

pub use anti_stall::{AntiStall, AntiStallConfig, AntiStallConfigError};
pub use inching::{Inching, InchingConfig, InchingConfigError};
pub use mixer::{MixLaw, Mixer, MixerConfig, MixerConfigError, ReverseConvention};
pub use sides::Sides;
pub use speed_limits::{SpeedLimits, SpeedLimitsConfig, SpeedLimitsConfigError};
pub use steer_authority::{SteerAuthority, SteerAuthorityConfig, SteerAuthorityConfigError};
pub use trim::{Trim, TrimConfig, TrimConfigError};
pub use two_speed::{TwoSpeed, TwoSpeedConfig, TwoSpeedConfigError, TwoSpeedInhibit, TwoSpeedInputs};
