//! Subjects beside their twins.

mod c_twins;
mod float_twins;
mod memory;
mod subjects;
mod tester;
