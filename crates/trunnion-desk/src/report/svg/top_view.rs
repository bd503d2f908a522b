//! Draws the path driven, seen from above, with the machine's outline along it.

use std::f64::consts::FRAC_PI_4;

use maud::{Markup, html};

use super::{Picture, polyline, px};
use crate::report::axis;
use crate::report::data::RunReport;
use crate::report::decimate;
use crate::report::plot_data::{Footprint, Path};

/// Longer side of the map in pixels.
const SIDE: f64 = 300.0;
/// Narrowest map, so that labels and scale find room.
const NARROWEST: f64 = 240.0;
const EDGE: f64 = 10.0;
const BELOW: f64 = 24.0;
const CHARACTER: f64 = 6.0;
/// Most outlines along the path.
const MOST_OUTLINES: usize = 60;
/// Metres to move before travel is called reversed: a machine that rocks on the spot is not reversing.
const TURN_BACK: f64 = 0.05;

/// Maps metres to the page: x to the right, y up.
#[derive(Clone, Copy)]
struct Map {
    left: f64,
    top: f64,
    scale: f64,
}

impl Map {
    fn at(self, x: f64, y: f64) -> (f64, f64) {
        (EDGE + (x - self.left) * self.scale, EDGE + (self.top - y) * self.scale)
    }
}

/// The picture; `None` when the run has no path or nowhere a finite position.
pub(in crate::report) fn top_view(run: &RunReport) -> Option<Picture> {
    let path = run.path.as_ref()?;
    let bounds = Bounds::of(path)?;
    let (wide, tall) = (bounds.right - bounds.left, bounds.top - bounds.bottom);
    let scale = (SIDE / wide).min(SIDE / tall);
    let width = (wide * scale).max(NARROWEST);
    let height = (tall * scale).max(NARROWEST * 0.5);
    // What the map is wider than the path goes to both sides alike.
    let map = Map {
        left: bounds.left - (width / scale - wide) / 2.0,
        top: bounds.top + (height / scale - tall) / 2.0,
        scale,
    };
    let (grid, metres) = draw_grid(map, width, height);
    let first = (0..path.x.len()).find(|row| pose(path, *row).is_some())?;
    let start = pose(path, first)?;
    let body = html! {
        g class="pic" {
            (grid)
            @for row in outlines(path) {
                @if let Some(pose) = pose(path, row) { (draw_outline(map, path.footprint, pose)) }
            }
            @for leg in legs(path) {
                @for piece in decimate::envelope(leg.points.iter().map(|(x, y)| map.at(*x, *y)), f64::MIN_POSITIVE) {
                    path class=(if leg.reverse { "reverse" } else { "forward" })
                        d=(polyline(&decimate::straighten(&piece, 0.25))) {}
                }
            }
            (draw_machine(map, path.footprint, start))
            (draw_marks(map, run, path, width))
            (draw_scale(metres, map.scale, height + 2.0 * EDGE))
        }
    };
    Some(Picture {
        width: width + 2.0 * EDGE,
        height: height + 2.0 * EDGE + BELOW,
        label: format!("Path driven in '{}', seen from above", run.title),
        frame: Some(format!("{:.4} {:.4} {:.4} {EDGE}", map.left, map.top, map.scale)),
        body,
    })
}

/// Metres covered by path and machine.
struct Bounds {
    left: f64,
    right: f64,
    bottom: f64,
    top: f64,
}

impl Bounds {
    fn of(path: &Path) -> Option<Self> {
        let foot = path.footprint;
        let reach = foot.ahead.abs().max((foot.length - foot.ahead).abs()).hypot(foot.width / 2.0) * 1.1;
        let mut bounds = Self {
            left: f64::INFINITY,
            right: f64::NEG_INFINITY,
            bottom: f64::INFINITY,
            top: f64::NEG_INFINITY,
        };
        for (x, y, _) in (0..path.x.len()).filter_map(|row| pose(path, row)) {
            bounds.left = bounds.left.min(x - reach);
            bounds.right = bounds.right.max(x + reach);
            bounds.bottom = bounds.bottom.min(y - reach);
            bounds.top = bounds.top.max(y + reach);
        }
        (bounds.left < bounds.right && bounds.bottom < bounds.top).then_some(bounds)
    }
}

/// Position and heading at a row, if all three are numbers.
fn pose(path: &Path, row: usize) -> Option<(f64, f64, f64)> {
    let pose = (*path.x.get(row)?, *path.y.get(row)?, *path.yaw.get(row)?);
    (pose.0.is_finite() && pose.1.is_finite() && pose.2.is_finite()).then_some(pose)
}

/// A stretch driven in one direction.
struct Leg {
    reverse: bool,
    points: Vec<(f64, f64)>,
}

/// Cuts the path where the machine turns from forward to reverse travel and back.
fn legs(path: &Path) -> Vec<Leg> {
    let mut legs: Vec<Leg> = Vec::new();
    let mut last: Option<(f64, f64)> = None;
    let mut back = 0.0;
    for (x, y, yaw) in (0..path.x.len()).filter_map(|row| pose(path, row)) {
        let (was_x, was_y) = last.replace((x, y)).unwrap_or((x, y));
        let along = (x - was_x) * yaw.cos() + (y - was_y) * yaw.sin();
        let reverse = legs.last().is_some_and(|leg| leg.reverse);
        // Travel against the present direction, forgotten as soon as it goes on.
        back = if (along < 0.0) == reverse { 0.0 } else { back + along.abs() };
        if legs.is_empty() || back > TURN_BACK {
            let reverse = if legs.is_empty() { along < 0.0 } else { !reverse };
            legs.push(Leg { reverse, points: vec![(was_x, was_y)] });
            back = 0.0;
        }
        if let Some(leg) = legs.last_mut() {
            leg.points.push((x, y));
        }
    }
    legs
}

/// Rows at which an outline is drawn: a good machine's length or an eighth of a turn apart.
fn outlines(path: &Path) -> Vec<usize> {
    let apart = path.footprint.length * 1.1;
    let mut rows: Vec<usize> = Vec::new();
    let mut last: Option<(f64, f64, f64)> = None;
    for (row, now) in (0..path.x.len()).filter_map(|row| Some((row, pose(path, row)?))) {
        let far = last.is_none_or(|was| {
            (now.0 - was.0).hypot(now.1 - was.1) >= apart || (now.2 - was.2).abs() >= FRAC_PI_4
        });
        if far {
            rows.push(row);
            last = Some(now);
        }
    }
    let every = rows.len().div_ceil(MOST_OUTLINES).max(1);
    rows.into_iter().step_by(every).collect()
}

/// Places a drawing made about the reference point, heading to the right.
fn placed(map: Map, pose: (f64, f64, f64)) -> String {
    let (x, y) = map.at(pose.0, pose.1);
    format!("translate({x:.1} {y:.1}) rotate({:.1})", -pose.2.to_degrees())
}

/// Corners of the outline in pixels: rear, front, half width.
fn corners(map: Map, foot: Footprint) -> (f64, f64, f64) {
    let half = foot.width * map.scale / 2.0;
    ((foot.ahead - foot.length) * map.scale, foot.ahead * map.scale, half)
}

fn draw_outline(map: Map, foot: Footprint, pose: (f64, f64, f64)) -> Markup {
    let (rear, front, half) = corners(map, foot);
    html! {
        g transform=(placed(map, pose)) {
            rect class="ghost" x=(px(rear)) y=(px(-half)) width=(px(front - rear)) height=(px(half * 2.0)) rx="2" {}
            path class="ghost-front" d={ "M" (px(front)) " " (px(-half)) "V" (px(half)) } {}
        }
    }
}

/// The machine itself, which the script moves with the cursor.
fn draw_machine(map: Map, foot: Footprint, pose: (f64, f64, f64)) -> Markup {
    let (rear, front, half) = corners(map, foot);
    let nose = (front - rear) * 0.14;
    html! {
        g class="now" transform=(placed(map, pose)) {
            rect class="hull" x=(px(rear)) y=(px(-half)) width=(px(front - rear)) height=(px(half * 2.0)) rx="2.5" {}
            path class="front" d={ "M" (px(front)) " " (px(-half)) "V" (px(half)) } {}
            path class="nose" d={
                "M" (px(front - nose)) " 0L" (px(front - 2.4 * nose)) " " (px(-nose)) "V" (px(nose)) "Z"
            } {}
        }
    }
}

/// Marks with their labels, where a label finds room; a title tells the rest.
fn draw_marks(map: Map, run: &RunReport, path: &Path, width: f64) -> Markup {
    let mut taken: Vec<(f64, f64, f64)> = Vec::new();
    let mut drawn = Vec::new();
    for mark in &path.marks {
        let row = run.time.partition_point(|at| *at < mark.at).min(run.time.len().saturating_sub(1));
        let Some((x, y, _)) = pose(path, row) else { continue };
        let (x, y) = map.at(x, y);
        let wide = mark.label.chars().count() as f64 * CHARACTER;
        let spots = [
            (x + 8.0, y + 3.5),
            (x - 8.0 - wide, y + 3.5),
            (x - wide / 2.0, y - 9.0),
            (x - wide / 2.0, y + 17.0),
        ];
        let free = spots.into_iter().find(|(left, base)| {
            let inside = *left > 2.0 && left + wide < width + 2.0 * EDGE - 2.0;
            let clear = taken.iter().all(|(other, other_base, other_wide)| {
                left + wide < *other || other + other_wide < *left || (base - other_base).abs() > 13.0
            });
            inside && clear
        });
        if let Some((left, base)) = free {
            taken.push((left, base, wide));
        }
        drawn.push((x, y, free, mark));
    }
    html! {
        @for (x, y, free, mark) in drawn {
            circle class="mark" cx=(px(x)) cy=(px(y)) r="3.2" {
                title { (mark.label) " at " (axis::significant(mark.at)) " s" }
            }
            @if let Some((left, base)) = free { text class="halo" x=(px(left)) y=(px(base)) { (mark.label) } }
        }
    }
}

/// Grid lines and the metres between them.
fn draw_grid(map: Map, width: f64, height: f64) -> (Markup, f64) {
    let (left, right) = (map.left, map.left + width / map.scale);
    let (bottom, top) = (map.top - height / map.scale, map.top);
    let (apart, _) = axis::ticks(0.0, (right - left).max(top - bottom), 5);
    let metres = apart.get(1).copied().unwrap_or(1.0);
    let lines = |low: f64, high: f64| {
        let (first, last) = ((low / metres).ceil() as i64, (high / metres).floor() as i64);
        (first..=last).map(move |index| index as f64 * metres)
    };
    let markup = html! {
        @for x in lines(left, right) {
            path class="grid" d={ "M" (px(map.at(x, 0.0).0)) " " (px(EDGE)) "v" (px(height)) } {}
        }
        @for y in lines(bottom, top) {
            path class="grid" d={ "M" (px(EDGE)) " " (px(map.at(0.0, y).1)) "h" (px(width)) } {}
        }
    };
    (markup, metres)
}

fn draw_scale(metres: f64, scale: f64, top: f64) -> Markup {
    let length = metres * scale;
    html! {
        path class="frame" d={ "M" (px(EDGE)) " " (px(top)) "v6h" (px(length)) "v-6" } {}
        text class="faint" x=(px(EDGE + length + 8.0)) y=(px(top + 7.0)) { (axis::significant(metres)) " m" }
        path class="forward" d={ "M" (px(EDGE + length + 58.0)) " " (px(top + 3.0)) "h22" } {}
        text class="faint" x=(px(EDGE + length + 86.0)) y=(px(top + 7.0)) { "forward" }
        path class="reverse" d={ "M" (px(EDGE + length + 136.0)) " " (px(top + 3.0)) "h22" } {}
        text class="faint" x=(px(EDGE + length + 164.0)) y=(px(top + 7.0)) { "reverse" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::Mark;

    fn out_and_back() -> RunReport {
        let out = (0..100).map(|row| f64::from(row) * 0.1);
        let x: Vec<f64> = out.clone().chain(out.rev()).collect();
        let rows = x.len();
        RunReport {
            time: (0..rows).map(|row| row as f64 * 0.1).collect(),
            path: Some(Path {
                x,
                y: vec![2.0; rows],
                yaw: vec![0.0; rows],
                marks: vec![Mark { at: 9.9, label: "pile".into() }, Mark { at: 10.0, label: "<b>".into() }],
                ..Path::default()
            }),
            ..RunReport::default()
        }
    }

    #[test]
    fn out_and_back_is_one_leg_forward_and_one_in_reverse() {
        let run = out_and_back();
        let legs = legs(run.path.as_ref().unwrap());
        assert_eq!(legs.iter().map(|leg| leg.reverse).collect::<Vec<_>>(), [false, true]);
    }

    #[test]
    fn outlines_stand_a_machine_apart_and_never_crowd() {
        let run = out_and_back();
        let rows = outlines(run.path.as_ref().unwrap());
        assert!((5..=8).contains(&rows.len()), "{rows:?}");
        let mut spin = Path { x: vec![0.0; 9000], y: vec![0.0; 9000], ..Path::default() };
        spin.yaw = (0..9000).map(|row| f64::from(row) * 0.1).collect();
        assert!(outlines(&spin).len() <= MOST_OUTLINES);
    }

    #[test]
    fn labels_do_not_lie_on_each_other_and_hostile_ones_are_escaped() {
        let picture = top_view(&out_and_back()).unwrap().file();
        assert!(picture.contains(">pile<") && picture.contains("&lt;b&gt;"));
        assert!(!picture.contains("<b>"));
    }

    #[test]
    fn a_path_without_positions_has_no_picture() {
        let mut run = out_and_back();
        if let Some(path) = &mut run.path {
            path.x.fill(f64::NAN);
        }
        assert!(top_view(&run).is_none());
    }
}
