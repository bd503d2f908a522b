//! Who moves how.

mod sides;

pub use sides::Sides;
