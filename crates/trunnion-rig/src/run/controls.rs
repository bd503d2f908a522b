/// The values that a scenario asks of the operator and the surroundings, moving towards their targets.
#[derive(Debug, Clone)]
pub(super) struct Controls {
    values: Vec<f64>,
    moves: Vec<Option<Movement>>,
}

/// An even movement.
#[derive(Debug, Clone, Copy)]
struct Movement {
    from: f64,
    to: f64,
    begin: u32,
    ticks: u32,
}

impl Controls {
    pub(super) fn new(values: Vec<f64>) -> Self {
        Self { moves: vec![None; values.len()], values }
    }

    pub(super) fn values(&self) -> &[f64] {
        &self.values
    }

    /// Begins a movement at a tick; it replaces one that is under way.
    pub(super) fn begin(&mut self, tick: u32, place: usize, to: f64, ticks: u32) {
        if let (Some(value), Some(movement)) = (self.values.get(place), self.moves.get_mut(place)) {
            *movement = Some(Movement { from: *value, to, begin: tick, ticks });
        }
    }

    /// Moves on to a tick; `changed` is told every value that is another than before. A movement leaves its
    /// first value at its first tick and has its last value so many ticks later.
    pub(super) fn move_to(&mut self, tick: u32, mut changed: impl FnMut(usize, f64)) {
        for (place, (value, slot)) in self.values.iter_mut().zip(&mut self.moves).enumerate() {
            let Some(Movement { from, to, begin, ticks }) = *slot else { continue };
            let passed = tick.saturating_sub(begin);
            let now = if passed >= ticks {
                *slot = None;
                to
            } else {
                from + (to - from) * f64::from(passed) / f64::from(ticks)
            };
            if now != *value {
                *value = now;
                changed(place, now);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(controls: &mut Controls, ticks: std::ops::Range<u32>) -> Vec<f64> {
        ticks
            .map(|tick| {
                controls.move_to(tick, |_, _| {});
                controls.values()[0]
            })
            .collect()
    }

    #[test]
    fn a_movement_is_even_and_arrives_on_time() {
        let mut controls = Controls::new(vec![10.0]);
        controls.begin(3, 0, 50.0, 4);
        assert_eq!(row(&mut controls, 2..9), [10.0, 10.0, 20.0, 30.0, 40.0, 50.0, 50.0]);
    }

    #[test]
    fn a_new_movement_begins_where_the_old_one_is() {
        let mut controls = Controls::new(vec![0.0]);
        controls.begin(0, 0, 100.0, 10);
        row(&mut controls, 0..6);
        controls.begin(6, 0, 0.0, 5);
        assert_eq!(row(&mut controls, 6..12), [50.0, 40.0, 30.0, 20.0, 10.0, 0.0]);
    }

    #[test]
    fn only_changes_are_told() {
        let mut controls = Controls::new(vec![1.0, 2.0]);
        controls.begin(0, 0, 1.0, 0);
        controls.begin(0, 1, 3.0, 0);
        let mut told = Vec::new();
        controls.move_to(0, |place, value| told.push((place, value)));
        controls.move_to(1, |place, value| told.push((place, value)));
        assert_eq!(told, [(1, 3.0)]);
    }
}
