//! The path driven, out of three columns.

use trunnion_rig::trace::Trace;

use crate::bench::PathColumns;
use crate::report::{Mark, Path};

/// The path; nothing when one of its columns was not recorded.
pub(super) fn path(columns: &PathColumns, trace: &Trace, marks: Vec<Mark>) -> Option<Path> {
    let (x, y, yaw) = (trace.column(columns.x)?, trace.column(columns.y)?, trace.column(columns.yaw)?);
    let radians = if matches!(yaw.info.unit.as_str(), "°" | "deg") { 1_f64.to_radians() } else { 1.0 };
    Some(Path {
        x: x.values.clone(),
        y: y.values.clone(),
        yaw: yaw.values.iter().map(|angle| angle * radians).collect(),
        footprint: columns.footprint,
        marks,
    })
}
