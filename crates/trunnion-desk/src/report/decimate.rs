//! Thins a curve to what can be seen, without losing a spike.

/// A point of a picture.
pub(super) type Point = (f64, f64);

/// Breaks a curve at its gaps and keeps, of every run of points that share a bucket of `width` on x, the
/// first, the lowest, the highest and the last. Points must be in order of x within a piece; where x turns
/// back a new bucket begins, so that any curve may be passed.
pub(super) fn envelope(points: impl Iterator<Item = Point>, width: f64) -> Vec<Vec<Point>> {
    let mut pieces = Vec::new();
    let mut piece = Vec::new();
    let mut bucket: Vec<Point> = Vec::new();
    for point in points {
        if !(point.0.is_finite() && point.1.is_finite()) {
            flush(&mut bucket, &mut piece);
            if !piece.is_empty() {
                pieces.push(std::mem::take(&mut piece));
            }
            continue;
        }
        if bucket.first().is_some_and(|first| (first.0 / width).floor() != (point.0 / width).floor()) {
            flush(&mut bucket, &mut piece);
        }
        bucket.push(point);
    }
    flush(&mut bucket, &mut piece);
    if !piece.is_empty() {
        pieces.push(piece);
    }
    pieces
}

fn flush(bucket: &mut Vec<Point>, piece: &mut Vec<Point>) {
    let by_height = |a: &(usize, &Point), b: &(usize, &Point)| a.1.1.total_cmp(&b.1.1);
    let lowest = bucket.iter().enumerate().min_by(by_height).map(|(index, _)| index);
    let highest = bucket.iter().enumerate().max_by(by_height).map(|(index, _)| index);
    if let (Some(lowest), Some(highest)) = (lowest, highest) {
        let mut keep = [0, lowest.min(highest), lowest.max(highest), bucket.len() - 1].to_vec();
        keep.dedup();
        piece.extend(keep.into_iter().filter_map(|index| bucket.get(index)));
    }
    bucket.clear();
}

/// Drops points that lie within `tolerance` of the line between those that are kept (Ramer, 1972;
/// Douglas and Peucker, 1973).
pub(super) fn straighten(points: &[Point], tolerance: f64) -> Vec<Point> {
    let mut keep = vec![false; points.len()];
    let mut spans = vec![(0, points.len().saturating_sub(1))];
    while let Some((from, to)) = spans.pop() {
        let (Some(&start), Some(&end)) = (points.get(from), points.get(to)) else { continue };
        keep[from] = true;
        keep[to] = true;
        let farthest = (from + 1..to)
            .map(|index| (index, distance(points[index], start, end)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((index, off)) = farthest
            && off > tolerance
        {
            spans.push((from, index));
            spans.push((index, to));
        }
    }
    points.iter().zip(keep).filter(|(_, keep)| *keep).map(|(point, _)| *point).collect()
}

/// Distance of a point from a line segment.
fn distance(point: Point, start: Point, end: Point) -> f64 {
    let (dx, dy) = (end.0 - start.0, end.1 - start.1);
    let length = dx * dx + dy * dy;
    let along = if length > 0.0 {
        (((point.0 - start.0) * dx + (point.1 - start.1) * dy) / length).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (point.0 - start.0 - along * dx).hypot(point.1 - start.1 - along * dy)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spike_of_one_row_survives() {
        let spike = (0..10_000).map(|row| (f64::from(row) * 0.01, if row == 4321 { 9.0 } else { 0.0 }));
        let pieces = envelope(spike, 1.0);
        assert_eq!(pieces.len(), 1);
        assert!(pieces[0].len() <= 400);
        assert!(pieces[0].iter().any(|point| point.1 == 9.0));
        assert!(straighten(&pieces[0], 0.3).iter().any(|point| point.1 == 9.0));
    }

    #[test]
    fn a_missing_value_breaks_the_curve() {
        let pieces = envelope([(0.0, 1.0), (1.0, f64::NAN), (2.0, 3.0)].into_iter(), 0.5);
        assert_eq!(pieces, vec![vec![(0.0, 1.0)], vec![(2.0, 3.0)]]);
    }

    #[test]
    fn a_straight_line_needs_two_points_and_a_bend_three() {
        let line: Vec<Point> = (0..50).map(|x| (f64::from(x), f64::from(x) * 2.0)).collect();
        assert_eq!(straighten(&line, 0.01), vec![(0.0, 0.0), (49.0, 98.0)]);
        let bend: Vec<Point> = (0..50).map(|x| (f64::from(x), f64::from(x.min(20)))).collect();
        assert_eq!(straighten(&bend, 0.01), vec![(0.0, 0.0), (20.0, 20.0), (49.0, 20.0)]);
    }

    #[test]
    fn what_is_dropped_is_never_farther_off_than_the_tolerance() {
        let wave: Vec<Point> = (0..500).map(|x| (f64::from(x), (f64::from(x) * 0.05).sin() * 40.0)).collect();
        let kept = straighten(&wave, 0.4);
        assert!(kept.len() < 200);
        for point in wave {
            let near =
                kept.windows(2).map(|pair| distance(point, pair[0], pair[1])).fold(f64::INFINITY, f64::min);
            assert!(near <= 0.4, "{point:?} is {near} off");
        }
    }
}
