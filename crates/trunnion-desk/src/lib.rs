//! What a person touches: the command line that every machine gets, reports, processor in the loop.

pub mod report;
pub mod sheets;
pub mod virtual_controller;
