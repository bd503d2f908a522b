//! The six formulas, with the usual quantitative semantics over samples.

use crate::model::SAMPLE;

/// A formula of the benchmark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Formula {
    /// `G[0,100] y5−y4 ≤ 40`
    Cc1,
    /// `G[0,70] F[0,30] y5−y4 ≥ 15`
    Cc2,
    /// `G[0,80] (G[0,20] y2−y1 ≤ 20 ∨ F[0,20] y5−y4 ≥ 40)`
    Cc3,
    /// `G[0,65] F[0,30] G[0,20] y5−y4 ≥ 8`, as the competition's reports have it (from memory).
    Cc4,
    /// `G[0,65] F[0,30] G[0,5] y5−y4 ≥ 8`, as participants' scripts have it.
    Cc4Short,
    /// `G[0,72] F[0,8] (G[0,5] y2−y1 ≥ 9 → G[5,20] y5−y4 ≥ 9)`
    Cc5,
    /// All four gaps above 7.5 over `G[0,50]`.
    CcX,
}

impl Formula {
    /// All, in the order of the table.
    pub const ALL: [Self; 7] =
        [Self::Cc1, Self::Cc2, Self::Cc3, Self::Cc4, Self::Cc4Short, Self::Cc5, Self::CcX];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cc1 => "CC1",
            Self::Cc2 => "CC2",
            Self::Cc3 => "CC3",
            Self::Cc4 => "CC4",
            Self::Cc4Short => "CC4 with G[0,5]",
            Self::Cc5 => "CC5",
            Self::CcX => "CCx",
        }
    }

    /// Margin over a whole run; negative when falsified.
    pub fn margin(self, gaps: &[[f64; 4]]) -> f64 {
        self.worth(gaps)
    }

    /// Margin over what a run shows so far, windows cut at its end.
    pub fn margin_so_far(self, gaps: &[[f64; 4]]) -> f64 {
        match self {
            Self::Cc1 | Self::Cc3 | Self::CcX => self.worth(gaps),
            // The last windows are hardly begun and would say the worst.
            Self::Cc2 | Self::Cc4 | Self::Cc4Short | Self::Cc5 => {
                if gaps.len() < samples(30.0) {
                    f64::MAX
                } else {
                    self.worth(gaps)
                }
            }
        }
    }

    fn worth(self, gaps: &[[f64; 4]]) -> f64 {
        let last = |what: fn(f64) -> f64| gaps.iter().map(|gap| what(gap[3])).collect::<Vec<f64>>();
        match self {
            Self::Cc1 => least(&last(|gap| 40.0 - gap), 0.0, 100.0),
            Self::Cc2 => least(&eventually(&last(|gap| gap - 15.0), 0.0, 30.0), 0.0, 70.0),
            Self::Cc3 => {
                let near: Vec<f64> = gaps.iter().map(|gap| 20.0 - gap[0]).collect();
                let (always, far) =
                    (globally(&near, 0.0, 20.0), eventually(&last(|gap| gap - 40.0), 0.0, 20.0));
                let either: Vec<f64> = always.iter().zip(&far).map(|(one, other)| one.max(*other)).collect();
                least(&either, 0.0, 80.0)
            }
            Self::Cc4 => {
                least(&eventually(&globally(&last(|gap| gap - 8.0), 0.0, 20.0), 0.0, 30.0), 0.0, 65.0)
            }
            Self::Cc4Short => {
                least(&eventually(&globally(&last(|gap| gap - 8.0), 0.0, 5.0), 0.0, 30.0), 0.0, 65.0)
            }
            Self::Cc5 => {
                let wide: Vec<f64> = gaps.iter().map(|gap| gap[0] - 9.0).collect();
                let (front, back) = (globally(&wide, 0.0, 5.0), globally(&last(|gap| gap - 9.0), 5.0, 20.0));
                let follows: Vec<f64> =
                    front.iter().zip(&back).map(|(one, other)| (-one).max(*other)).collect();
                least(&eventually(&follows, 0.0, 8.0), 0.0, 72.0)
            }
            Self::CcX => {
                let all: Vec<f64> = gaps
                    .iter()
                    .map(|gap| gap.iter().fold(f64::MAX, |least, one| least.min(one - 7.5)))
                    .collect();
                least(&all, 0.0, 50.0)
            }
        }
    }
}

fn samples(seconds: f64) -> usize {
    (seconds / SAMPLE).round() as usize
}

fn least(row: &[f64], from: f64, to: f64) -> f64 {
    let end = (samples(to) + 1).min(row.len());
    row.get(samples(from)..end).unwrap_or(&[]).iter().fold(f64::MAX, |least, one| least.min(*one))
}

fn globally(row: &[f64], from: f64, to: f64) -> Vec<f64> {
    window(row, from, to, f64::MAX, f64::min)
}

fn eventually(row: &[f64], from: f64, to: f64) -> Vec<f64> {
    window(row, from, to, f64::MIN, f64::max)
}

/// The extreme over `[t + from, t + to]` for every t, cut at the end of the row.
fn window(row: &[f64], from: f64, to: f64, nothing: f64, pick: fn(f64, f64) -> f64) -> Vec<f64> {
    // Blocks of the window's length, extremes from both of their ends: three picks a sample whatever the window.
    let (from, width) = (samples(from), samples(to) - samples(from) + 1);
    let count = row.len();
    let mut ahead = row.to_vec();
    let mut behind = row.to_vec();
    for place in 1..count {
        if !place.is_multiple_of(width) {
            behind[place] = pick(behind[place], behind[place - 1]);
        }
        let back = count - 1 - place;
        if !(back + 1).is_multiple_of(width) {
            ahead[back] = pick(ahead[back], ahead[back + 1]);
        }
    }
    let extreme = |begin: usize| {
        if begin >= count {
            return nothing;
        }
        let end = (begin + width - 1).min(count - 1);
        if end / width == begin / width {
            row[begin..=end].iter().copied().fold(nothing, pick)
        } else {
            pick(ahead[begin], behind[end])
        }
    };
    (0..count).map(|at| extreme(at + from)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn windows_are_as_the_definition_has_them() {
        let row: Vec<f64> = (0..300).map(|place| f64::from(place * 7919 % 101)).collect();
        for (from, to) in [(0.0, 0.0), (0.0, 2.0), (0.5, 2.0), (5.0, 20.0)] {
            let quick = globally(&row, from, to);
            for (at, value) in quick.iter().enumerate() {
                let end = (at + samples(to) + 1).min(row.len());
                let plain = row.get(at + samples(from)..end).unwrap_or(&[]);
                let plain = plain.iter().fold(f64::MAX, |least, one| least.min(*one));
                assert_eq!(*value, plain, "at {at}, {from} to {to}");
            }
        }
    }

    #[test]
    fn margins_of_cars_at_rest_are_known() {
        let gaps = vec![[10.0; 4]; 1001];
        let margins = Formula::ALL.map(|formula| formula.margin(&gaps));
        assert_eq!(margins, [30.0, -5.0, 10.0, 2.0, 2.0, 1.0, 2.5]);
    }
}
