//! Five cars in a row, and the field that the hunt plays in.

use trunnion_rig::hunt::{Field, Finding};

use crate::Formula;

/// Seconds of an Euler step: what participants of the competition set their solver to. At 10 ms the error of a gap after
/// minutes of switching reaches 0.2 m, more than many margins that a search comes to, and leads it astray.
pub const STEP: f64 = 0.0025;
/// Steps into which one is cut to confirm a falsification: 0.5 ms. What does not hold here is no falsification.
const FINER: usize = 5;
/// Seconds of a run.
pub const LENGTH: f64 = 100.0;
/// Pieces of each input; each is held for five seconds. The same for every strategy and formula.
pub const PIECES: usize = 20;
/// Euler steps between two samples that the formulas see.
const STRIDE: usize = 40;
/// Seconds between two samples.
pub const SAMPLE: f64 = STEP * STRIDE as f64;
/// Samples of a whole run.
pub const SAMPLES: usize = 1001;

/// What a car behind another one does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mode {
    Keeping,
    Chasing,
    Braking,
}

/// The five cars under way, with the gaps of every sample so far.
#[derive(Debug, Clone)]
pub struct Cars {
    place: [f64; 5],
    speed: [f64; 5],
    mode: [Mode; 5],
    /// Throttle and brake of the pieces so far.
    pieces: Vec<(f64, f64)>,
    /// Gaps y2−y1, y3−y2, y4−y3, y5−y4 of every sample.
    pub gaps: Vec<[f64; 4]>,
}

impl Cars {
    /// At the start: ten metres apart, at rest.
    pub fn new() -> Self {
        let mut cars = Self {
            place: [0.0, 10.0, 20.0, 30.0, 40.0],
            speed: [0.0; 5],
            mode: [Mode::Keeping; 5],
            pieces: Vec::with_capacity(PIECES),
            gaps: Vec::with_capacity(SAMPLES),
        };
        cars.sample();
        cars
    }

    fn sample(&mut self) {
        let gap = |car: usize| self.place[car + 1] - self.place[car];
        self.gaps.push([gap(0), gap(1), gap(2), gap(3)]);
    }

    /// Holds throttle and brake for a piece.
    pub fn drive(&mut self, throttle: f64, brake: f64) {
        self.pieces.push((throttle, brake));
        self.drive_in_steps(throttle, brake, 1);
    }

    fn drive_in_steps(&mut self, throttle: f64, brake: f64, finer: usize) {
        let steps = finer * (LENGTH / STEP) as usize / PIECES;
        for step in 1..=steps {
            self.step(throttle, brake, STEP / finer as f64);
            if step % (finer * STRIDE) == 0 {
                self.sample();
            }
        }
    }

    /// The same inputs in finer steps.
    pub fn finer(&self) -> Self {
        let mut cars = Self::new();
        for (throttle, brake) in &self.pieces {
            cars.drive_in_steps(*throttle, *brake, FINER);
        }
        cars
    }

    fn step(&mut self, throttle: f64, brake: f64, seconds: f64) {
        let before = self.place;
        self.place[0] += seconds * self.speed[0];
        self.speed[0] += seconds * (-throttle - brake * self.speed[0]);
        for car in 1..5 {
            let gap = before[car] - before[car - 1];
            self.mode[car] = match self.mode[car] {
                Mode::Keeping if gap >= 15.0 => Mode::Chasing,
                Mode::Keeping if gap <= 5.0 => Mode::Braking,
                Mode::Chasing if gap <= 10.0 => Mode::Keeping,
                Mode::Braking if gap >= 20.0 => Mode::Chasing,
                mode => mode,
            };
            let speed = self.speed[car];
            let (way, change) = match self.mode[car] {
                Mode::Keeping => (speed, 0.0),
                Mode::Chasing => (-speed, 1.0),
                Mode::Braking => (-speed, -speed),
            };
            self.place[car] += seconds * way;
            self.speed[car] += seconds * change;
        }
    }
}

impl Default for Cars {
    fn default() -> Self {
        Self::new()
    }
}

/// A formula to be falsified on the cars: genes are throttle and brake of each piece.
#[derive(Debug, Clone, Copy)]
pub struct Course(pub Formula);

impl Field for Course {
    type Run = Cars;

    fn opening_genes(&self) -> usize {
        0
    }

    fn leg_genes(&self) -> usize {
        2
    }

    fn legs(&self) -> usize {
        PIECES
    }

    fn open(&self, _genes: &[f64]) -> Cars {
        Cars::new()
    }

    fn go_on(&self, run: &mut Cars, genes: &[f64]) {
        if let [throttle, brake] = genes {
            run.drive(*throttle, *brake);
        }
    }

    fn end(&self, _run: &mut Cars) {}

    fn finding(&self, run: &Cars) -> Finding {
        // The gaps and speeds of all cars, coarsely.
        let mut situation = 0_u64;
        for car in 0..4 {
            let gap = run.gaps.last().map_or(0.0, |gaps| gaps[car]);
            let level = (gap / 8.0).floor().max(-4.0).min(8.0) as i64 + 4;
            situation = situation * 16 + level.unsigned_abs();
        }
        let whole = run.gaps.len() >= SAMPLES;
        // What is not decided before the end is judged there: a run is a whole run, as in the competition.
        let margin = if whole { self.0.margin(&run.gaps) } else { self.0.margin_so_far(&run.gaps) };
        let confirmed = whole && margin < 0.0 && self.0.margin(&run.finer().gaps) < 0.0;
        Finding { margin: margin / 40.0, violated: confirmed.then_some(0), situation }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_input_nothing_moves() {
        let mut cars = Cars::new();
        for _ in 0..PIECES {
            cars.drive(0.0, 0.0);
        }
        assert_eq!(cars.gaps.len(), SAMPLES);
        assert!(cars.gaps.iter().all(|gaps| *gaps == [10.0; 4]));
    }

    #[test]
    fn full_throttle_opens_the_gap_as_a_fall_does_until_the_next_car_chases() {
        let mut cars = Cars::new();
        cars.drive(1.0, 0.0);
        // y1 = -t²/2; car 2 keeps its speed of zero until the gap is 15 m, at t² = 10.
        let at = |seconds: f64| cars.gaps[(seconds / SAMPLE).round() as usize][0];
        assert!((at(2.0) - 12.0).abs() < 0.02, "{}", at(2.0));
        assert!((at(3.1) - (10.0 + 3.1 * 3.1 / 2.0)).abs() < 0.03, "{}", at(3.1));
        assert!(at(5.0) < 22.5, "car 2 has begun to follow: {}", at(5.0));
    }
}
