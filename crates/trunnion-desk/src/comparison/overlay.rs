//! One scenario with other parameters, drawn over each other.

use std::collections::BTreeMap;

use trunnion_rig::run::Rig;
use trunnion_rig::trace::Trace;

use super::ComparisonError;
use crate::bench::Bench;
use crate::report::{Comparison, Curve, CurveLane, ReportError};
use crate::scenarios;

/// One scenario, run once for each variant.
#[derive(Debug, Clone, Copy)]
pub struct Overlay<'a> {
    /// Heading.
    pub title: &'a str,
    /// What to look for.
    pub caption: &'a str,
    /// Name of a scenario of the machine.
    pub scenario: &'a str,
    /// Variants: label, and the parameters that differ, each with its value as a scenario writes it: `"300 ‰"`.
    pub variants: &'a [(&'a str, &'a [(&'a str, &'a str)])],
    /// Heading and column of each lane.
    pub lanes: &'a [(&'a str, &'a str)],
    /// First and last second that are shown.
    pub between: (f64, f64),
}

/// Runs the variants and draws the same columns of each over time.
pub fn overlay<B: Bench>(overlay: &Overlay) -> Result<Comparison, ComparisonError> {
    let rig = Rig::<B::Machine, B::Plant>::new(B::REQUIREMENTS)?;
    let story = scenarios::built_in::<B>(overlay.scenario)??;
    let mut lanes: BTreeMap<usize, CurveLane> = BTreeMap::new();
    for (label, parameters) in overlay.variants {
        let mut varied = story.clone();
        for (name, value) in *parameters {
            varied = scenarios::with_parameter(&varied, name, value)?;
        }
        let run = rig.run(&varied)?;
        for (place, (title, column)) in overlay.lanes.iter().enumerate() {
            let (unit, curve) = curve(&run.trace, label, column, overlay.between).ok_or_else(|| {
                let place = format!("the comparison '{}'", overlay.title);
                ReportError::NoSuchColumn { run: run.title.clone(), place, column: (*column).to_owned() }
            })?;
            let empty = || CurveLane { title: (*title).to_owned(), unit, ..CurveLane::default() };
            lanes.entry(place).or_insert_with(empty).curves.push(curve);
        }
    }
    Ok(Comparison {
        title: overlay.title.to_owned(),
        caption: overlay.caption.to_owned(),
        x_label: "time".to_owned(),
        x_unit: "s".to_owned(),
        lanes: lanes.into_values().collect(),
    })
}

/// A column between two times, and its unit.
fn curve(trace: &Trace, label: &str, column: &str, between: (f64, f64)) -> Option<(String, Curve)> {
    let found = trace.column(column)?;
    let (x, y) = trace
        .time()
        .into_iter()
        .zip(found.values.iter().copied())
        .filter(|(at, _)| *at >= between.0 && *at <= between.1)
        .unzip();
    Some((found.info.unit.clone(), Curve::new(label, x, y)))
}
