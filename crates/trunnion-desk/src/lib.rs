//! What a person touches: the command line that every machine gets, reports, processor in the loop.
//!
//! ```text
//!  Bench (what a machine tells) ──► command_line ──► runs ──► report, tables, CSV, JSON
//!                                        │             ▲
//!                                     sheets       lock_step ◄── virtual_controller (the image in QEMU)
//! ```
//!
//! | room | job |
//! |---|---|
//! | [`mod@bench`] | what a machine tells the desk about itself |
//! | [`black_box`] | a box that was read from a controller, gone through here |
//! | [`command_line`] | the verbs: list, run, demo, sheet, check, hunt, campaign, preview, evidence, serve, unit, box, explain, completions |
//! | [`comparison`] | laws, ramps and parameters beside each other |
//! | [`evidence`] | hazard, requirement, what was run, and the gaps |
//! | [`gateway`] | a machine's bus for ordinary CAN tools: over TCP, and as log files |
//! | [`hunting`] | a search, and the shrunk story of what it found |
//! | [`lock_step`] | a board that runs the image beside the host's own copy |
//! | [`previewing`] | the same stories with two parameter sets |
//! | [`rehearsal`] | what every machine's tests ask of scenarios and declaration |
//! | [`replaying`] | a log of the real bus, beside what this program would have sent |
//! | [`report`] | one page of HTML from plain data |
//! | [`rig_report`] | that data from a run of the rig |
//! | [`sheets`] | tables that follow from a declaration |
//! | [`tester`] | a controller over its service port: parameters, faults, routines
//! | [`trace_file`] | a trace as comma-separated values |
//! | [`virtual_controller`] | the image in an emulated board |

pub mod bench;
pub mod black_box;
pub mod command_line;
pub mod comparison;
pub mod evidence;
pub mod gateway;
pub mod hunting;
pub mod lock_step;
pub mod previewing;
pub mod rehearsal;
pub mod replaying;
pub mod report;
pub mod rig_report;
mod scenarios;
pub mod sheets;
pub mod tester;
pub mod trace_file;
pub mod virtual_controller;
