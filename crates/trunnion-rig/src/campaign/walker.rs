//! How far a machine has come.

use super::eyes::Eyes;

/// How far a machine has come since something broke: metres of way, degrees of heading, and what its parts moved.
#[derive(Debug, Clone, Default)]
pub(super) struct Way {
    pub(super) metres: f64,
    pub(super) heading: f64,
    pub(super) limbs: Vec<f64>,
}

/// Adds up a way.
pub(super) struct Walker {
    last: Option<[f64; 3]>,
    heading: f64,
    limbs: Vec<f64>,
    pub(super) way: Way,
}

impl Walker {
    pub(super) fn new(eyes: &Eyes, row: &[f64]) -> Self {
        let last = eyes.path.map(|(path, _)| path.map(|place| row[place]));
        Self {
            last,
            heading: last.map_or(0.0, |[_, _, heading]| heading),
            limbs: eyes.limbs.iter().map(|limb| row[limb.position]).collect(),
            way: Way { limbs: vec![0.0; eyes.limbs.len()], ..Way::default() },
        }
    }

    pub(super) fn step(&mut self, eyes: &Eyes, row: &[f64]) -> &Way {
        if let (Some([x, y, _]), Some((path, _))) = (self.last, eyes.path) {
            let now = path.map(|place| row[place]);
            self.way.metres += libm::hypot(now[0] - x, now[1] - y);
            self.way.heading = now[2] - self.heading;
            self.last = Some(now);
        }
        for ((moved, begin), limb) in self.way.limbs.iter_mut().zip(&self.limbs).zip(&eyes.limbs) {
            *moved = row[limb.position] - begin;
        }
        &self.way
    }
}

/// By how much a movement goes beyond that of a sound machine; all of it when it goes the other way.
pub(super) fn beyond(moved: f64, sound: f64) -> f64 {
    if moved * sound < 0.0 { libm::fabs(moved) } else { libm::fabs(moved) - libm::fabs(sound) }
}
