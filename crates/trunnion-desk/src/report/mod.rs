//! The run report: one self-contained page that needs no network and can be opened in ten years.

mod axis;
mod check;
mod codec;
mod data;
mod decimate;
mod figure;
mod palette;
pub mod svg;
mod timeline;

pub use check::ReportError;
pub use data::{
    Column, Comparison, Curve, CurveLane, Fact, FaultEvent, Footprint, Lane, LaneSeries, Limit, LogLine,
    Mark, Parity, Path, PlotGroup, ReportData, Requirement, RunReport, Stroke, Table, Verdict, WhyNot,
};
