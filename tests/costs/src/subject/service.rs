//! The loader's station with its diagnostic server, and the other things on the bus that it answers.

pub mod anything;
pub mod foreign_frame;
pub mod full_mailbox;
pub mod read_frame;
pub mod silence;
