//! Still pictures of plots and paths, for print, for readers without scripts, for a README.
//!
//! Inside the report a picture takes its colours from the page. Written to a file of its own it carries them
//! along, light and dark.

mod lanes;
mod top_view;

use maud::{Markup, PreEscaped, html};

use super::check::{self, ReportError};
use super::data::RunReport;
use super::plot_data::{Comparison, PlotGroup};
use super::{figure, palette, timeline};

pub(super) use lanes::lanes;
pub(super) use top_view::top_view as path;

/// Rules for the classes that pictures use; part of the page's style as well.
pub(super) const RULES: &str = include_str!("picture.css");

/// A picture and its size in pixels.
pub(super) struct Picture {
    pub(super) width: f64,
    pub(super) height: f64,
    /// What a screen reader says.
    pub(super) label: String,
    /// Extra attribute for the script: how metres become pixels.
    pub(super) frame: Option<String>,
    pub(super) body: Markup,
}

impl Picture {
    /// For use inside the page.
    pub(super) fn inline(&self) -> Markup {
        html! {
            svg viewBox={ "0 0 " (self.width) " " (self.height) } role="img" aria-label=(self.label)
                data-frame=[self.frame.as_deref()] {
                (self.body)
            }
        }
    }

    /// For a file of its own.
    fn file(&self) -> String {
        let style = format!("{}{RULES}", palette::rules());
        let file = html! {
            svg xmlns="http://www.w3.org/2000/svg" viewBox={ "0 0 " (self.width) " " (self.height) }
                width=(self.width) height=(self.height) role="img" {
                title { (self.label) }
                style { (PreEscaped(style)) }
                rect class="paper" width="100%" height="100%" rx="4" {}
                (self.body)
            }
        };
        printable(file.into_string())
    }
}

/// Drops control characters, which no escape makes legal (XML 1.0, section 2.2; HTML, "preprocessing").
pub(super) fn printable(text: String) -> String {
    let control =
        |c: char| (c.is_control() && !matches!(c, '\n' | '\t')) || matches!(c, '\u{fffe}' | '\u{ffff}');
    if text.contains(control) { text.replace(control, "") } else { text }
}

/// The lanes of a plot group as an SVG file.
///
/// # Errors
/// When the run is inconsistent or a lane names a column that it did not record.
pub fn group(run: &RunReport, group: &PlotGroup) -> Result<String, ReportError> {
    check::check_run(run)?;
    let events = timeline::timeline(run);
    Ok(lanes(&figure::of_group(run, &events.columns, group)?).file())
}

/// Permissions and faults of a run as an SVG file; `None` when nothing happened.
///
/// # Errors
/// When the run is inconsistent.
pub fn events(run: &RunReport) -> Result<Option<String>, ReportError> {
    check::check_run(run)?;
    let events = timeline::timeline(run);
    let Some(group) = &events.group else { return Ok(None) };
    Ok(Some(lanes(&figure::of_group(run, &events.columns, group)?).file()))
}

/// A comparison as an SVG file.
///
/// # Errors
/// When a curve has not as many ordinates as abscissae.
pub fn comparison(comparison: &Comparison) -> Result<String, ReportError> {
    Ok(lanes(&figure::of_comparison(comparison)?).file())
}

/// The path driven as an SVG file; `None` when the run has none.
///
/// # Errors
/// When the run is inconsistent.
pub fn top_view(run: &RunReport) -> Result<Option<String>, ReportError> {
    check::check_run(run)?;
    Ok(path(run).map(|picture| picture.file()))
}

/// A length in pixels with one decimal at most.
fn px(value: f64) -> String {
    let text = format!("{value:.1}");
    match text.strip_suffix(".0") {
        Some("-0") => "0".to_owned(),
        Some(whole) => whole.to_owned(),
        None => text,
    }
}

/// Path data of a polyline.
fn polyline(points: &[(f64, f64)]) -> String {
    let mut data = String::new();
    // What is written is rounded: the next step starts from there, so that errors do not add up.
    let (mut x, mut y) = (0.0, 0.0);
    for (index, point) in points.iter().enumerate() {
        let (to_x, to_y) = ((point.0 * 10.0).round() / 10.0, (point.1 * 10.0).round() / 10.0);
        let (dx, dy) = (px(to_x - x), px(to_y - y));
        if index == 0 {
            data += &format!("M{} {}", px(to_x), px(to_y));
        } else {
            let gap = if dy.starts_with('-') { "" } else { " " };
            data += &format!("l{dx}{gap}{dy}");
        }
        (x, y) = (to_x, to_y);
    }
    data
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_does_not_add_up_along_a_polyline() {
        let points: Vec<(f64, f64)> = (0..1000).map(|i| (f64::from(i) * 0.333, 7.06)).collect();
        let data = polyline(&points);
        let sum: f64 = data
            .split('l')
            .skip(1)
            .map(|step| step.split([' ', '-']).next().unwrap().parse::<f64>().unwrap())
            .sum();
        assert!((sum - 999.0 * 0.333).abs() < 0.06, "{sum}");
        assert!(data.starts_with("M0 7.1l0.3 0"), "{data}");
    }
}
