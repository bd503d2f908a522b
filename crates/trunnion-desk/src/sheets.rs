//! Sheets that follow from a machine's declaration: wiring list, parameter sheet, fault list, signal list,
//! service identifiers.
//!
//! Each is a [`Sheet`]: a title, a heading and rows, written as Markdown, CSV or aligned text.

mod declared;
mod identifiers;
mod write;

pub(crate) use declared::kind;
pub use declared::{fault_list, parameter_sheet, reaction_names, signal_list, wiring_list};
pub use identifiers::identifiers;
pub use write::{Format, Sheet};
