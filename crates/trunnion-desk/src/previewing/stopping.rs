//! How far a machine went in a run, and how far without permission.

use serde::{Deserialize, Serialize};
use trunnion_rig::trace::ColumnInfo;

use crate::bench::Bench;

/// After its permission went a machine has come to rest in this time, or it has not stopped for this reason, s.
const LONGEST_STOP: f64 = 6.0;
/// A stop begins at this speed or above, m/s.
const ON_ITS_WAY: f64 = 0.3;

/// How a machine that moves in the plane went through a run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Driven {
    /// Way of the run, m.
    pub way: f64,
    /// Longest way to rest after the first group's permission went, m.
    pub longest_stop: f64,
    /// Seconds in which the first group was permitted.
    pub permitted: f64,
}

/// What of a run is needed to say it, period by period.
#[derive(Debug, Clone)]
pub(super) struct Track {
    places: [usize; 3],
    x: Vec<f64>,
    y: Vec<f64>,
    permission: Vec<f64>,
}

impl Track {
    /// Of a machine that moves in the plane, whose rows have these columns.
    pub fn of<B: Bench>(columns: &[ColumnInfo]) -> Option<Self> {
        let (path, group) = (B::PATH?, B::GROUPS.first()?);
        let place = |name| columns.iter().position(|column| column.name == name);
        let places = [place(path.x)?, place(path.y)?, place(group.permission)?];
        Some(Self { places, x: Vec::new(), y: Vec::new(), permission: Vec::new() })
    }

    pub fn take(&mut self, row: &[f64]) {
        let [x, y, permission] = self.places.map(|place| row.get(place).copied().unwrap_or_default());
        self.x.push(x);
        self.y.push(y);
        self.permission.push(permission);
    }

    /// What it comes to, with a row each `period` seconds.
    pub fn driven(&self, period: f64) -> Driven {
        let Self { x, y, permission, .. } = self;
        let permitted = permission.iter().filter(|permitted| **permitted != 0.0).count();
        Driven {
            way: steps(x, y).iter().sum(),
            longest_stop: longest_stop(x, y, permission, period),
            permitted: permitted as f64 * period,
        }
    }
}

fn steps(x: &[f64], y: &[f64]) -> Vec<f64> {
    x.windows(2).zip(y.windows(2)).map(|(x, y)| (x[1] - x[0]).hypot(y[1] - y[0])).collect()
}

/// The longest way from a row in which permission went to rest, of a machine that was on its way.
fn longest_stop(x: &[f64], y: &[f64], permission: &[f64], period: f64) -> f64 {
    let steps = steps(x, y);
    let window = (LONGEST_STOP / period) as usize;
    let falls = permission.windows(2).enumerate().filter(|(_, pair)| pair[0] != 0.0 && pair[1] == 0.0);
    falls
        .filter(|(row, _)| steps.get(*row).is_some_and(|step| *step >= ON_ITS_WAY * period))
        .map(|(row, _)| {
            let lost = steps[row..].iter().zip(&permission[row + 1..]);
            lost.take(window).take_while(|(_, permitted)| **permitted == 0.0).map(|(step, _)| step).sum()
        })
        .fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stop_is_measured_from_the_loss_of_permission_to_the_next_one() {
        // 1 m/s, permission lost behind row 2, at rest from row 4 on.
        let x = [0.0, 0.1, 0.2, 0.3, 0.35, 0.35, 0.35];
        let y = [0.0; 7];
        let permission = [1.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0];
        assert!((longest_stop(&x, &y, &permission, 0.1) - 0.15).abs() < 1e-12);
        assert_eq!(longest_stop(&x, &y, &[1.0; 7], 0.1), 0.0, "never lost");
        let standing = [0.0; 7];
        assert_eq!(longest_stop(&standing, &y, &permission, 0.1), 0.0, "lost at rest");
    }
}
