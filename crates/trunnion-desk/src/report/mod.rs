//! The run report: one self-contained page that needs no network and can be opened in ten years.
//!
//! [`html`] turns a [`ReportData`] into the page: a summary, a sheet per run with its requirements, plots on
//! one time axis and the path driven, comparisons, tables. Plots are drawn by a script of our own inside the
//! page; still pictures stand in where scripts do not run and on paper. [`svg`] writes the same pictures to
//! files of their own.

mod axis;
mod check;
mod codec;
mod data;
mod decimate;
mod figure;
mod matrix;
mod overview;
mod page;
mod palette;
mod payload;
mod plot_data;
mod run_sheet;
#[cfg(test)]
mod sample;
pub mod svg;
mod tables;
#[cfg(test)]
mod tests;
mod timeline;

pub use check::ReportError;
pub use data::{
    Fact, FaultEvent, LogLine, Parity, ReportData, Requirement, RunReport, Table, Verdict, WhyNot,
};
pub use matrix::{Matrix, expectation, matrix};
pub use plot_data::{
    Column, Comparison, Curve, CurveLane, Footprint, Lane, LaneSeries, Limit, Mark, Path, PlotGroup, Stroke,
};

/// Writes the whole report as one page of UTF-8.
///
/// The same data gives the same bytes. All text is escaped; nothing is loaded from elsewhere.
///
/// # Errors
/// When a run is inconsistent: time that does not rise, a column of another length than time, two columns of
/// one name, a lane that names a column that was not recorded.
pub fn html(data: &ReportData) -> Result<String, ReportError> {
    check::check(data)?;
    page::page(data)
}
