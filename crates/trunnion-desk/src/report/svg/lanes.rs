//! Draws a figure's lanes as a still picture.

use maud::{Markup, html};

use super::{Picture, polyline, px};
use crate::report::axis;
use crate::report::decimate;
use crate::report::figure::{Band, Figure, FigureLane, Line};
use crate::report::plot_data::Stroke;

const WIDTH: f64 = 720.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 10.0;
const LINES_HEIGHT: f64 = 92.0;
const BAND_HEIGHT: f64 = 15.0;
const TEXT_ROW: f64 = 15.0;
const LANE_GAP: f64 = 9.0;
/// Average width of a character of the pictures' text, generous.
const CHARACTER: f64 = 5.9;

/// Maps x to the page.
#[derive(Clone, Copy)]
struct Across {
    low: f64,
    high: f64,
}

impl Across {
    fn at(self, x: f64) -> f64 {
        LEFT + (x - self.low) / (self.high - self.low) * (WIDTH - LEFT - RIGHT)
    }
}

/// Draws the whole figure.
pub(in crate::report) fn lanes(figure: &Figure<'_>) -> Picture {
    let across = Across { low: figure.x_range.0, high: figure.x_range.1 };
    let mut top = 4.0;
    let mut drawn = Vec::new();
    for lane in &figure.lanes {
        let (markup, height) = draw_lane(lane, across, top);
        drawn.push(markup);
        top += height + LANE_GAP;
    }
    let (axis, height) = draw_axis(figure, across, top - LANE_GAP);
    let names: Vec<&str> = figure.lanes.iter().map(|lane| lane.title).collect();
    Picture {
        width: WIDTH,
        height: top - LANE_GAP + height,
        label: format!("{}: {} over {}", figure.title, names.join(", "), figure.x_label),
        frame: None,
        body: html! { g class="pic" { @for lane in drawn { (lane) } (axis) } },
    }
}

fn draw_axis(figure: &Figure<'_>, across: Across, top: f64) -> (Markup, f64) {
    let (ticks, decimals) = axis::ticks(across.low, across.high, 9);
    let last = ticks.len().saturating_sub(1);
    let name = if figure.x_label == "time" { "" } else { figure.x_label };
    let height = if name.is_empty() { 18.0 } else { 32.0 };
    let markup = html! {
        @for (index, tick) in ticks.iter().enumerate() {
            @let x = across.at(*tick);
            path class="zero" d={ "M" (px(x)) " " (px(top)) "v4" } {}
            text class="faint" x=(px(x)) y=(px(top + 14.0)) text-anchor=(anchor(x)) {
                (axis::number(*tick, decimals))
                @if index == last && !figure.x_unit.is_empty() { " " (figure.x_unit) }
            }
        }
        @if !name.is_empty() {
            text class="faint" x=(px((LEFT + WIDTH - RIGHT) / 2.0)) y=(px(top + 28.0)) text-anchor="middle" {
                (name)
            }
        }
    };
    (markup, height)
}

/// Text at the right edge grows to the left.
fn anchor(x: f64) -> &'static str {
    if x > WIDTH - 40.0 { "end" } else { "middle" }
}

fn draw_lane(lane: &FigureLane<'_>, across: Across, top: f64) -> (Markup, f64) {
    let (legend, mut at) = draw_legend(lane, top);
    let lines = (!lane.lines.is_empty()).then(|| draw_lines(lane, across, at));
    if lines.is_some() {
        at += LINES_HEIGHT;
    }
    let mut bands = Vec::new();
    for band in &lane.bands {
        bands.push(draw_band(band, across, at));
        at += TEXT_ROW + BAND_HEIGHT;
    }
    (html! { (legend) @if let Some(lines) = lines { (lines) } @for band in bands { (band) } }, at - top)
}

/// Title, unit and names of the lines, in as many rows as they need; returns where the plot begins.
fn draw_legend(lane: &FigureLane<'_>, top: f64) -> (Markup, f64) {
    let title = match (lane.title.is_empty(), lane.unit.is_empty()) {
        (_, true) => lane.title.to_owned(),
        (true, false) => lane.unit.to_owned(),
        (false, false) => format!("{} · {}", lane.title, lane.unit),
    };
    let mut x = LEFT + title.chars().count() as f64 * (CHARACTER + 1.3) + 12.0;
    let mut row = top + 11.0;
    let mut entries = Vec::new();
    for line in &lane.lines {
        let width = 24.0 + line.label.chars().count() as f64 * CHARACTER + 12.0;
        if x + width > WIDTH - RIGHT && x > LEFT {
            x = LEFT;
            row += TEXT_ROW;
        }
        entries.push((x, row, line));
        x += width;
    }
    let markup = html! {
        text class="title" x=(px(LEFT)) y=(px(top + 11.0)) { (title) }
        @for (x, y, line) in entries {
            path class=(class(line)) d={ "M" (px(x)) " " (px(y - 3.5)) "h19" } {}
            text x=(px(x + 24.0)) y=(px(y)) { (line.label) }
        }
    };
    (markup, row + 5.0)
}

fn class(line: &Line<'_>) -> String {
    let stroke = match line.stroke {
        Stroke::Solid => "",
        Stroke::Dashed => " dashed",
        Stroke::Dotted => " dotted",
    };
    format!("line c{}{stroke}", line.colour)
}

fn draw_lines(lane: &FigureLane<'_>, across: Across, top: f64) -> Markup {
    let (low, high) = lane.y_range();
    let down = |y: f64| top + (high - y) / (high - low) * LINES_HEIGHT;
    let (ticks, decimals) = axis::ticks(low, high, 4);
    let (columns, _) = axis::ticks(across.low, across.high, 9);
    let right = WIDTH - RIGHT;
    html! {
        @for x in &columns { path class="grid" d={ "M" (px(across.at(*x))) " " (px(top)) "v" (px(LINES_HEIGHT)) } {} }
        @for tick in &ticks {
            @let y = down(*tick);
            path class=(if *tick == 0.0 { "zero" } else { "grid" }) d={ "M" (px(LEFT)) " " (px(y)) "H" (px(right)) } {}
            text class="faint" x=(px(LEFT - 5.0)) y=(px(y + 3.5)) text-anchor="end" { (axis::number(*tick, decimals)) }
        }
        path class="frame" d={ "M" (px(LEFT)) " " (px(top)) "v" (px(LINES_HEIGHT)) } {}
        @for limit in lane.limits.iter().filter(|limit| (low..=high).contains(&limit.value)) {
            @let y = down(limit.value);
            path class="limit" d={ "M" (px(LEFT)) " " (px(y)) "H" (px(right)) } {}
            text class="faint halo" x=(px(right)) y=(px(y - 3.0)) text-anchor="end" { (limit.label) }
        }
        @for line in &lane.lines { path class=(class(line)) d=(data(line, across, down, low, high)) {} }
    }
}

/// Path data of a curve, thinned to the page; what leaves a fixed axis runs along its edge.
fn data(line: &Line<'_>, across: Across, down: impl Fn(f64) -> f64, low: f64, high: f64) -> String {
    let points = line.x.iter().zip(line.y).map(|(x, y)| {
        let y = if y.is_finite() { y.max(low).min(high) } else { *y };
        (across.at(*x), down(y))
    });
    decimate::envelope(points, 1.0)
        .iter()
        .map(|piece| match piece.as_slice() {
            [only] => polyline(&[*only, (only.0 + 0.1, only.1)]),
            many => polyline(&decimate::straighten(many, 0.3)),
        })
        .collect()
}

fn draw_band(band: &Band<'_>, across: Across, top: f64) -> Markup {
    let bar = top + TEXT_ROW;
    let middle = bar + BAND_HEIGHT / 2.0;
    html! {
        text class="faint" x=(px(LEFT)) y=(px(top + 11.0)) { (band.label) }
        path class="rest" d={ "M" (px(LEFT)) " " (px(middle)) "H" (px(WIDTH - RIGHT)) } {}
        @for (from, until, state) in spans(band) {
            @let x = across.at(from);
            @let width = (across.at(until) - x).max(0.8);
            rect class={ "s" ((state - 1 + usize::from(band.ground)) % 6) } x=(px(x)) y=(px(bar)) width=(px(width)) height=(px(BAND_HEIGHT)) {}
            @if let Some(name) = band.choices.get(state) && name.chars().count() as f64 * CHARACTER + 8.0 < width {
                text x=(px(x + 4.0)) y=(px(middle + 3.7)) { (name) }
            }
        }
    }
}

/// Spans of the states other than the resting one: from, until, state.
fn spans(band: &Band<'_>) -> Vec<(f64, f64, usize)> {
    let mut spans: Vec<(f64, f64, usize)> = Vec::new();
    let mut open = false;
    for (x, state) in band.x.iter().zip(band.states) {
        if let Some(last) = spans.last_mut().filter(|_| open) {
            last.1 = *x;
        }
        let state = if state.is_finite() && *state >= 1.0 { *state as usize } else { 0 };
        let same = open && spans.last().is_some_and(|last| last.2 == state);
        if state > 0 && !same {
            spans.push((*x, *x, state));
        }
        open = state > 0;
    }
    spans
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_shows_each_stay_in_a_state_once_and_leaves_the_resting_state_out() {
        let x: Vec<f64> = (0..8).map(f64::from).collect();
        let states = [0.0, 1.0, 1.0, 2.0, 0.0, f64::NAN, 2.0, 2.0];
        let band = Band { label: "pattern", ground: 0, x: &x, states: &states, choices: &[] };
        assert_eq!(spans(&band), [(1.0, 3.0, 1), (3.0, 4.0, 2), (6.0, 7.0, 2)]);
    }

    #[test]
    fn a_spike_is_in_the_picture_and_a_gap_is_not_bridged() {
        let x: Vec<f64> = (0..5000).map(|row| f64::from(row) * 0.01).collect();
        let y: Vec<f64> = (0..5000)
            .map(|row| match row {
                2500 => 1.0,
                3000..3100 => f64::NAN,
                _ => 0.0,
            })
            .collect();
        let line = Line { label: "", colour: 0, stroke: Stroke::Solid, x: &x, y: &y };
        let data = data(&line, Across { low: 0.0, high: 50.0 }, |y| 100.0 - y * 90.0, 0.0, 1.0);
        assert_eq!(data.matches('M').count(), 2, "{data}");
        assert!(data.contains("-90"), "{data}");
        assert!(data.len() < 120, "a flat line needs few points: {data}");
    }
}
