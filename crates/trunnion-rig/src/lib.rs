//! Simulated machines, scenarios, requirements and traces for control programs written with trunnion.
//!
//! ```text
//!  scenario ──► run ──► trace
//!     │        ▲   │      │
//!     │  plant ┘   └─► requirement ──► verdict, margin, why
//!     └────────────────────▲
//! ```
//!
//! | room | takes | gives |
//! |---|---|---|
//! | [`plant`] | commands | parts of a simulated machine: engine, pumps, lines, coils, ground |
//! | [`scenario`] | a text | who does what when, what breaks, what must hold |
//! | [`board`] | what a controller orders, frames of the bus | flash, key and frame queue of a simulated board |
//! | [`wiring`] | what is true | what a controller reads over its wires, sound and broken |
//! | [`requirement`] | a formula | whether a run satisfies it, by how much, and why not |
//! | [`run`] | a machine, its plant, a scenario | a run, tick by tick |
//! | `hunt` (feature) | what an operator can do | the shortest story that breaks a requirement |
//! | [`campaign`] | what can break, states | every case, and what is expected of it |
//! | [`trace`] | ticks | columns, and a hash of every bit at the controller's border |
//! | [`shard`] | parts of a search or campaign | one result, as one process would have given it |
//! | [`language`] | words | places, units and complaints, which the two languages share |
//!
//! No safety certification is claimed: a requirement that held in simulation held in simulation. The machine's
//! risk assessment, local codes and licensed practice decide.

pub mod board;
pub mod campaign;
#[cfg(feature = "hunt")]
pub mod hunt;
pub mod language;
pub mod plant;
pub mod requirement;
pub mod run;
pub mod scenario;
pub mod shard;
pub mod trace;
pub mod wiring;
