//! Blocks of the room `propel`.

pub mod anti_stall;
pub mod creep;
pub mod inching;
pub mod mixer;
pub mod mixer_banded;
pub mod overspeed;
pub mod single_path;
pub mod speed_limits;
pub mod steer_authority;
pub mod travel_speed;
pub mod trim;
pub mod two_speed;
