//! Charts as SVG: plain, small, readable on light and on dark, and told in words.

use std::fmt::Write;

use crate::chart::{Chart, Curve, Panel, Pen};

const WIDTH: f64 = 560.0;
const LEFT: f64 = 52.0;
const RIGHT: f64 = 14.0;
const CURVES: f64 = 120.0;
const LEGEND: f64 = 20.0;
const LEVEL: f64 = 26.0;
const FOOT: f64 = 36.0;
/// Where a level's own row begins, so that its name stands before it.
const NAMES: f64 = 118.0;
/// How far, in units of the picture, a point may lie beside the line that replaces it.
const TOLERANCE: f64 = 0.2;

/// Mid-tones with a contrast above 3 : 1 on white and on the dark grounds of rustdoc.
const FIRST: &str = "#d9691e";
const SECOND: &str = "#2f8fd0";

/// Draws a chart. `id` tells its title and description from those of other pictures on a page.
pub fn svg(chart: &Chart, id: &str, title: &str) -> String {
    let left = if chart.panels.iter().any(|panel| matches!(panel, Panel::Levels(_))) { NAMES } else { LEFT };
    let height: f64 = chart.panels.iter().map(height).sum::<f64>() + FOOT;
    let along = Scale::along(chart, left);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" \
         aria-labelledby=\"{id}-title {id}-tells\" font-family=\"sans-serif\" font-size=\"11\" fill=\"none\" \
         style=\"max-width:100%;height:auto\">\n"
    );
    let _ = writeln!(out, "<title id=\"{id}-title\">{}</title>", escaped(title));
    let _ = writeln!(out, "<desc id=\"{id}-tells\">{}</desc>", escaped(chart.tells));
    // Alone in a window it brings its own ground; inside a page it takes that of the page.
    out.push_str(
        "<style>svg:root{color:#222;background:#fff}\
         @media(prefers-color-scheme:dark){svg:root{color:#ddd;background:#181818}}</style>\n",
    );
    let mut top = 0.0;
    for panel in &chart.panels {
        match panel {
            Panel::Curves { unit, curves } => draw_curves(&mut out, top, unit, curves, &along),
            Panel::Levels(levels) => draw_levels(&mut out, top, levels, &along),
        }
        top += height_of(panel);
    }
    draw_foot(&mut out, top, chart.along, &along);
    out.push_str("</svg>\n");
    out
}

fn height(panel: &Panel) -> f64 {
    height_of(panel)
}

fn height_of(panel: &Panel) -> f64 {
    match panel {
        Panel::Curves { .. } => LEGEND + CURVES + 10.0,
        Panel::Levels(levels) => LEVEL * levels.len() as f64 + 6.0,
    }
}

/// From values to places in the picture.
struct Scale {
    low: f64,
    high: f64,
    first: f64,
    last: f64,
    step: f64,
}

impl Scale {
    fn along(chart: &Chart, left: f64) -> Self {
        let places = chart.panels.iter().flat_map(|panel| match panel {
            Panel::Curves { curves, .. } => curves,
            Panel::Levels(levels) => levels,
        });
        let (low, high) = ends(places.flat_map(|curve| curve.points.iter().map(|point| point.0)));
        Self { low, high, first: left, last: WIDTH - RIGHT, step: step(high - low, 8.0) }
    }

    /// Whole steps above and below what is shown.
    fn up(curves: &[Curve], top: f64) -> Self {
        let (low, high) = ends(curves.iter().flat_map(|curve| curve.points.iter().map(|point| point.1)));
        let room = if high > low { high - low } else { high.abs().max(1.0) };
        let high = low + room;
        let step = step(room, 5.0);
        let (low, high) = ((low / step + 1e-6).floor() * step, (high / step - 1e-6).ceil() * step);
        Self { low, high, first: top + CURVES, last: top, step }
    }

    fn at(&self, value: f64) -> f64 {
        self.first + (self.last - self.first) * (value - self.low) / (self.high - self.low)
    }

    fn ticks(&self) -> Vec<f64> {
        let first = (self.low / self.step - 1e-6).ceil() as i64;
        let last = (self.high / self.step + 1e-6).floor() as i64;
        (first..=last).map(|tick| tick as f64 * self.step).collect()
    }

    fn label(&self, value: f64) -> String {
        let places = if self.step >= 1.0 {
            0
        } else if self.step >= 0.1 {
            1
        } else if self.step >= 0.01 {
            2
        } else {
            3
        };
        format!("{value:.places$}").replace('-', "−")
    }
}

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values
        .filter(|value| !value.is_nan())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(value), high.max(value)))
}

/// 1, 2 or 5 times a power of ten, at most so many in the room.
fn step(room: f64, most: f64) -> f64 {
    assert!(room.is_finite(), "a curve without a value");
    let mut power = 0.001;
    loop {
        for factor in [1.0, 2.0, 5.0] {
            if room / (factor * power) <= most {
                return factor * power;
            }
        }
        power *= 10.0;
    }
}

fn stroke(pen: Pen) -> String {
    match pen {
        Pen::In => "stroke=\"currentColor\" stroke-width=\"1\"".to_owned(),
        Pen::InToo => "stroke=\"currentColor\" stroke-width=\"1\" stroke-dasharray=\"4 3\"".to_owned(),
        Pen::Out => format!("stroke=\"{FIRST}\" stroke-width=\"2.4\""),
        Pen::OutToo => format!("stroke=\"{SECOND}\" stroke-width=\"2.4\""),
    }
}

fn draw_curves(out: &mut String, top: f64, unit: &str, curves: &[Curve], along: &Scale) {
    let up = Scale::up(curves, top + LEGEND);
    let _ = write!(out, "<g fill=\"currentColor\">");
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>",
        along.first - 6.0,
        top + 13.0,
        escaped(unit)
    );
    let mut grid = String::new();
    for tick in up.ticks() {
        let y = up.at(tick);
        let _ = write!(
            out,
            "<text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            along.first - 6.0,
            y + 4.0,
            up.label(tick)
        );
        let _ = write!(grid, "M{} {:.1}H{}", along.first, y, along.last);
    }
    let mut x = along.first + 4.0;
    for curve in curves {
        let _ = write!(out, "<path d=\"M{x:.0} {:.1}h18\" {}/>", top + 9.5, stroke(curve.pen));
        let _ =
            write!(out, "<text x=\"{:.0}\" y=\"{}\">{}</text>", x + 23.0, top + 13.0, escaped(curve.name));
        x += 40.0 + 6.0 * curve.name.chars().count() as f64;
    }
    let _ = writeln!(out, "</g>\n<path d=\"{grid}\" stroke=\"currentColor\" stroke-opacity=\".2\"/>");
    for curve in curves {
        let points = curve.points.iter().map(|point| (along.at(point.0), up.at(point.1)));
        let _ =
            writeln!(out, "<path d=\"{}\" {} stroke-linejoin=\"round\"/>", path(points), stroke(curve.pen));
    }
}

fn draw_levels(out: &mut String, top: f64, levels: &[Curve], along: &Scale) {
    for (row, level) in levels.iter().enumerate() {
        let top = top + LEVEL * row as f64 + 4.0;
        let (high, low) = (top + 3.0, top + 17.0);
        let _ = write!(
            out,
            "<text x=\"{}\" y=\"{:.0}\" text-anchor=\"end\" fill=\"currentColor\">{}</text>",
            along.first - 6.0,
            top + 14.0,
            escaped(level.name)
        );
        let runs = runs(&level.points);
        if level.words.is_empty() {
            let mut line = String::new();
            for (place, (from, to, value)) in runs.iter().enumerate() {
                let y = if value.is_nan() { f64::NAN } else { low + (high - low) * value };
                let first = place == 0 || runs[place - 1].2.is_nan();
                if y.is_nan() {
                    continue;
                }
                let _ = if first {
                    write!(line, "M{:.1} {y}H{:.1}", along.at(*from), along.at(*to))
                } else {
                    write!(line, "V{y}H{:.1}", along.at(*to))
                };
            }
            let _ = writeln!(out, "<path d=\"{line}\" {}/>", stroke(level.pen));
            continue;
        }
        draw_states(out, &runs, level, along, high - 2.0);
    }
}

fn draw_states(out: &mut String, runs: &[(f64, f64, f64)], level: &Curve, along: &Scale, top: f64) {
    let mut line = String::new();
    let mut words = String::new();
    for (from, to, value) in runs {
        let (from, to) = (along.at(*from), along.at(*to));
        let word = level.words.get(*value as usize).copied().unwrap_or("").replace('_', " ");
        let _ = write!(line, "M{from:.1} {top}H{to:.1}v18H{from:.1}z");
        // A letter takes about 5.6 units; what does not fit is told by its neighbours.
        if 5.6 * word.chars().count() as f64 + 4.0 < to - from {
            let _ = write!(
                words,
                "<text x=\"{:.1}\" y=\"{}\">{}</text>",
                (from + to) / 2.0,
                top + 13.0,
                escaped(&word)
            );
        }
    }
    let _ = writeln!(out, "<path d=\"{line}\" {}/>", stroke(level.pen).replace("2.4", "1.4"));
    let _ = writeln!(out, "<g fill=\"currentColor\" text-anchor=\"middle\">{words}</g>");
}

/// Stretches of one value: from, to, value.
fn runs(points: &[(f64, f64)]) -> Vec<(f64, f64, f64)> {
    let mut runs: Vec<(f64, f64, f64)> = Vec::new();
    for (at, value) in points {
        match runs.last_mut() {
            Some((_, to, last)) if last.to_bits() == value.to_bits() => *to = *at,
            Some((_, to, _)) => {
                *to = *at;
                runs.push((*at, *at, *value));
            }
            None => runs.push((*at, *at, *value)),
        }
    }
    runs
}

fn draw_foot(out: &mut String, top: f64, caption: &str, along: &Scale) {
    let mut marks = format!("M{} {top}H{}", along.first, along.last);
    let _ = write!(out, "<g fill=\"currentColor\" text-anchor=\"middle\">");
    for tick in along.ticks() {
        let x = along.at(tick);
        let _ = write!(marks, "M{x:.1} {top}v4");
        let _ = write!(out, "<text x=\"{x:.1}\" y=\"{}\">{}</text>", top + 16.0, along.label(tick));
    }
    let middle = (along.first + along.last) / 2.0;
    let _ = writeln!(out, "<text x=\"{middle}\" y=\"{}\">{}</text></g>", top + 30.0, escaped(caption));
    let _ = writeln!(out, "<path d=\"{marks}\" stroke=\"currentColor\"/>");
}

/// The path through points, without those that lie on the way between others.
fn path(points: impl Iterator<Item = (f64, f64)>) -> String {
    let mut text = String::new();
    let mut stretch: Vec<(f64, f64)> = Vec::new();
    for point in points.map(Some).chain([None]) {
        match point {
            Some(point) if !point.1.is_nan() => stretch.push(point),
            _ => {
                for (place, (x, y)) in thinned(&stretch).iter().enumerate() {
                    let _ = write!(text, "{}{x:.1} {y:.1}", if place == 0 { "M" } else { "L" });
                }
                stretch.clear();
            }
        }
    }
    text.replace(".0 ", " ").replace(".0L", "L")
}

/// Douglas and Peucker's way: what lies farthest from the straight line stays, until nothing lies far from it.
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let [first, inner @ .., last] = points else {
        return points.to_vec();
    };
    let (dx, dy) = (last.0 - first.0, last.1 - first.1);
    let length = (dx * dx + dy * dy).sqrt();
    let off = |point: &(f64, f64)| {
        let (x, y) = (point.0 - first.0, point.1 - first.1);
        if length == 0.0 { (x * x + y * y).sqrt() } else { (x * dy - y * dx).abs() / length }
    };
    let farthest = inner.iter().enumerate().max_by(|one, other| off(one.1).total_cmp(&off(other.1)));
    match farthest {
        Some((place, point)) if off(point) > TOLERANCE => {
            let mut kept = thinned(&points[..=place + 1]);
            kept.pop();
            kept.extend(thinned(&points[place + 1..]));
            kept
        }
        _ => vec![*first, *last],
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chart::{curves, input, levels, output};

    #[test]
    fn a_straight_line_is_two_points_and_a_corner_stays() {
        let points: Vec<(f64, f64)> =
            (0..=20).map(|x| (f64::from(x), f64::from(if x < 10 { x } else { 10 }))).collect();
        assert_eq!(thinned(&points), [(0.0, 0.0), (10.0, 10.0), (20.0, 10.0)]);
    }

    #[test]
    fn a_gap_breaks_the_curve() {
        let points = [(0.0, 1.0), (1.0, f64::NAN), (2.0, 1.0), (3.0, 1.0)];
        assert_eq!(path(points.into_iter()).matches('M').count(), 2);
    }

    #[test]
    fn steps_are_of_the_trade() {
        assert_eq!([step(7.0, 8.0), step(100.0, 5.0), step(0.5, 8.0)], [1.0, 20.0, 0.1]);
    }

    /// Markdown takes the first line for the beginning of a block, and an empty one for its end.
    #[test]
    fn a_picture_can_stand_in_markdown_and_tells_what_it_shows() {
        let line = || vec![(0.0, 0.0), (1.0, 1.0)];
        let panels = vec![curves("%", [input("asked", line())]), levels([output("on", line())])];
        let picture = svg(&Chart { tells: "one < two", along: "time in s", panels }, "x", "A block");
        assert!(picture.starts_with("<svg ") && picture.lines().next().unwrap().ends_with('>'));
        assert!(picture.lines().all(|line| !line.trim().is_empty()));
        assert!(
            picture.contains("<title id=\"x-title\">A block</title>") && picture.contains("one &lt; two")
        );
    }
}
