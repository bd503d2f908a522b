//! What a run leaves behind: one row a tick, in columns, and a hash of every bit that the controller saw and
//! said.
//!
//! Column names are the names of the declared signals. What the machine does not know of itself is told apart
//! by its prefix: `fault_…` whether a fault is active, `true_…` what the plant knows, `set_…` what the scenario
//! asks of the operator. Values are in the column's unit; a yes/no signal is 0 or 1, a choice its place in the
//! column's list. Row *k* is the tick that begins at *k* periods after the start: what a scenario does at 2 s
//! is seen in the row of 2 s.

mod column;
mod hash;
mod layout;
mod record;
mod recording;

pub use column::{ColumnInfo, ColumnKind};
pub use hash::{TraceHash, TraceHasher};
pub(crate) use layout::{Layout, TickRecords};
pub use record::{Column, Trace};
pub use recording::Recording;
