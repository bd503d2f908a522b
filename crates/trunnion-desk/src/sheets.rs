//! Sheets that follow from a machine's declaration: wiring list, parameter sheet, fault list, signal list, message list,
//! service identifiers, memory.
//!
//! Each is a [`Sheet`]: a title, a heading and rows, written as Markdown, CSV or aligned text.

mod bus;
mod declared;
mod memory;
mod page;
mod service;
mod write;

pub use bus::{database, identifier, message_list, message_name};
pub(crate) use declared::kind;
pub use declared::{fault_list, parameter_sheet, reaction_names, signal_list, wiring_list};
pub use memory::memory_list;
pub use page::{GAP, PAPERS_CAUTIONS, Subject, printable};
pub use service::identifier_list;
pub use write::{Format, Sheet};
