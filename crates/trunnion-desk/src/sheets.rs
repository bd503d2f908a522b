//! Sheets that follow from a machine's declaration: wiring list, parameter sheet, fault list.
//!
//! Each is a [`Sheet`]: a title, a heading and rows, written as Markdown, CSV or aligned text.

mod declared;
mod write;

pub use declared::{fault_list, parameter_sheet, wiring_list};
pub use write::{Format, Sheet};
