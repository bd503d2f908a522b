//! Packs a column of numbers into printable text that a few lines of script can read back.
//!
//! Values become whole steps of `multiply / divide`: exactly when the values lie on such a grid (counts,
//! milliamps, hundredths), otherwise on one of at least [`FINE_STEPS`] steps over the range, which is far
//! below what a screen can show. Steps are predicted from the rows before (none, last, or straight line,
//! whichever packs best) and what the prediction missed is written in base 90:
//!
//! | first digit | meaning |
//! |---|---|
//! | 0–55 | the miss itself, folded (0, −1, 1, −2…) |
//! | 56–79 | two digits: 56 + 90·(first − 56) + next |
//! | 80–86 | three digits, from 2 216 |
//! | 87 | six digits follow, from 0 |
//! | 88 | two digits follow: so many rows, plus one, are missing |
//! | 89 | two digits follow: so many rows, plus one, were predicted exactly |
//!
//! The digits are the printable ASCII characters but for `"`, `&`, `<` and `\`, so that the text needs no
//! escape inside a JSON string inside a page.

use serde::Serialize;

/// Steps over the range of a column that lies on no grid. A lane is some 200 pixels high.
pub(super) const FINE_STEPS: f64 = 16_384.0;
/// Finest grid, in steps over the range, that is still packed exactly.
const EXACT_STEPS: f64 = 65_536.0;
/// Largest whole number of steps; a straight-line prediction then misses by less than 90^6 / 2.
const LARGEST: f64 = 2_147_483_648.0;
/// Grids that values of controllers lie on: decimal fractions, binary fractions, and their mixtures.
const GRIDS: [f64; 14] =
    [1.0, 2.0, 4.0, 8.0, 10.0, 16.0, 20.0, 40.0, 100.0, 128.0, 200.0, 256.0, 1000.0, 10_000.0];
const BASE: u64 = 90;
const ONE_DIGIT: u64 = 56;
const TWO_DIGITS: u64 = ONE_DIGIT + 24 * BASE;
const THREE_DIGITS: u64 = TWO_DIGITS + 7 * BASE * BASE;
const LONG: u64 = 87;
const MISSING: u64 = 88;
const EXACT: u64 = 89;
const LONGEST_RUN: usize = (BASE * BASE) as usize;

/// A packed column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Packed {
    /// Rows.
    pub(super) count: usize,
    /// A value is `steps * multiply / divide`.
    pub(super) multiply: f64,
    /// See `multiply`.
    pub(super) divide: f64,
    /// Rows that the prediction leans on: 0, 1 or 2.
    pub(super) order: u8,
    /// The digits.
    pub(super) code: String,
}

/// Packs values; those that are not finite come back as not-a-number.
pub(super) fn pack(values: &[f64]) -> Packed {
    let (multiply, divide) = grid(values);
    let steps: Vec<Option<i64>> = values
        .iter()
        .map(|value| value.is_finite().then(|| (value * divide / multiply).round() as i64))
        .collect();
    let (order, code) = (0..=2)
        .map(|order| (order, digits(&steps, order)))
        .min_by_key(|(_, code)| code.len())
        .unwrap_or_default();
    Packed { count: values.len(), multiply, divide, order, code }
}

/// The grid that the values lie on, as (multiply, divide), or a fine enough one.
fn grid(values: &[f64]) -> (f64, f64) {
    let finite = || values.iter().copied().filter(|value| value.is_finite());
    let low = finite().fold(f64::INFINITY, f64::min);
    let high = finite().fold(f64::NEG_INFINITY, f64::max);
    if low > high {
        return (1.0, 1.0);
    }
    let largest = high.abs().max(low.abs());
    let on = |divide: f64| {
        (high - low) * divide <= EXACT_STEPS
            && largest * divide < LARGEST
            && finite().all(|value| {
                let scaled = value * divide;
                (scaled - scaled.round()).abs() <= 1e-9 * largest * divide
            })
    };
    if let Some(divide) = GRIDS.into_iter().find(|divide| on(*divide)) {
        return (1.0, divide);
    }
    let wanted = ((high - low) / FINE_STEPS).max(largest / LARGEST).max(1e-300);
    let power = wanted.log10().floor();
    let decade = 10f64.powf(power);
    let lead = [5.0, 2.0, 1.0].into_iter().find(|lead| lead * decade <= wanted).unwrap_or(1.0);
    // The coarser of two neighbouring grids would do for the screen, but not for the largest value.
    let lead = if lead * decade < largest / LARGEST { 10.0 } else { lead };
    if power < 0.0 { (lead, 10f64.powf(-power)) } else { (lead * decade, 1.0) }
}

/// Keeps the steps before the present row and predicts the next.
struct Prediction {
    order: u8,
    last: i64,
    before: i64,
    seen: u8,
}

impl Prediction {
    fn new(order: u8) -> Self {
        Self { order, last: 0, before: 0, seen: 0 }
    }

    fn next(&self) -> i64 {
        match (self.order, self.seen) {
            (0, _) | (_, 0) => 0,
            (2, 2) => 2 * self.last - self.before,
            _ => self.last,
        }
    }

    fn learn(&mut self, step: i64) {
        self.before = self.last;
        self.last = step;
        self.seen = (self.seen + 1).min(2);
    }
}

fn digits(steps: &[Option<i64>], order: u8) -> String {
    let mut prediction = Prediction::new(order);
    let misses: Vec<Option<u64>> = steps
        .iter()
        .map(|step| {
            step.map(|step| {
                let miss = step - prediction.next();
                prediction.learn(step);
                if miss < 0 { (-2 * miss - 1) as u64 } else { (2 * miss) as u64 }
            })
        })
        .collect();
    let mut code = String::new();
    let mut row = 0;
    while let Some(&miss) = misses.get(row) {
        let run = || misses[row..].iter().take(LONGEST_RUN).take_while(|other| **other == miss).count();
        row += match miss {
            None => put_run(&mut code, MISSING, run()),
            Some(0) if run() > 3 => put_run(&mut code, EXACT, run()),
            Some(miss) => put_miss(&mut code, miss),
        };
    }
    code
}

/// Writes a run of rows and gives their number.
fn put_run(code: &mut String, digit: u64, rows: usize) -> usize {
    put(code, digit);
    put_number(code, rows as u64 - 1, 2);
    rows
}

/// Writes one row and gives its number.
fn put_miss(code: &mut String, miss: u64) -> usize {
    if miss < ONE_DIGIT {
        put(code, miss);
    } else if miss < TWO_DIGITS {
        put_number(code, miss - ONE_DIGIT + ONE_DIGIT * BASE, 2);
    } else if miss < THREE_DIGITS {
        put_number(code, miss - TWO_DIGITS + 80 * BASE * BASE, 3);
    } else {
        put(code, LONG);
        put_number(code, miss, 6);
    }
    1
}

fn put_number(code: &mut String, number: u64, places: u32) {
    for place in (0..places).rev() {
        put(code, number / BASE.pow(place) % BASE);
    }
}

fn put(code: &mut String, digit: u64) {
    code.push(char::from(DIGITS[digit as usize]));
}

/// The ninety digits, in order.
const DIGITS: [u8; BASE as usize] = {
    let mut digits = [0; BASE as usize];
    let (mut at, mut byte) = (0, 33u8);
    while byte < 127 {
        if !matches!(byte, b'"' | b'&' | b'<' | b'\\') {
            digits[at] = byte;
            at += 1;
        }
        byte += 1;
    }
    digits
};

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    /// Reads a packed column back, written from the table above and not from the writer.
    fn unpack(packed: &Packed) -> Vec<f64> {
        let mut digits = packed.code.bytes().map(|c| DIGITS.iter().position(|d| *d == c).unwrap() as i64);
        let mut take = |places: u32| (0..places).fold(0, |n, _| n * 90 + digits.next().unwrap());
        let mut steps: Vec<i64> = Vec::new();
        let mut values = Vec::new();
        while values.len() < packed.count {
            let first = take(1);
            let (rows, folded) = match first {
                0..56 => (1, Some(first)),
                56..80 => (1, Some(56 + 90 * (first - 56) + take(1))),
                80..87 => (1, Some(2216 + 8100 * (first - 80) + take(2))),
                87 => (1, Some(take(6))),
                88 => (take(2) + 1, None),
                _ => (take(2) + 1, Some(0)),
            };
            for _ in 0..rows {
                let Some(folded) = folded else {
                    values.push(f64::NAN);
                    continue;
                };
                let miss = if folded % 2 == 0 { folded / 2 } else { -(folded + 1) / 2 };
                let guess = match (packed.order, steps.as_slice()) {
                    (0, _) | (_, []) => 0,
                    (2, [.., before, last]) => 2 * last - before,
                    (_, [.., last]) => *last,
                };
                steps.push(guess + miss);
                values.push((guess + miss) as f64 * packed.multiply / packed.divide);
            }
        }
        values
    }

    /// Columns with all that a trace can hold; shared with the test that runs the script.
    pub(in crate::report) fn samples() -> Vec<(&'static str, Vec<f64>)> {
        let mut noise = 1u64;
        let mut random = move || {
            noise = noise.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (noise >> 33) as f64 / (1u64 << 31) as f64
        };
        vec![
            ("empty", vec![]),
            ("one", vec![4.25]),
            ("constant", vec![1e9; 20_000]),
            ("constant odd", vec![0.123_456_789; 12]),
            ("time", (0..3000).map(|row| f64::from(row) / 100.0).collect()),
            ("missing", vec![f64::NAN; 9000]),
            ("gaps", vec![1.0, f64::NAN, f64::INFINITY, 2.0, 3.0, f64::NAN, 4.0, 4.0, 4.0, 4.0, 4.0, 4.0]),
            ("states", (0..500).map(|row| f64::from(row / 120)).collect()),
            ("counts", (0..500).map(|_| (random() * 65_535.0).floor()).collect()),
            ("milliamps", (0..500).map(|row| f64::from(row % 70) * 10.0).collect()),
            ("negative", (0..500).map(|row| -0.01 * f64::from(row * row % 733)).collect()),
            ("smooth", (0..4000).map(|row| (f64::from(row) * 0.003).sin() * 17.3).collect()),
            ("noise", (0..2000).map(|_| random() - 0.5).collect()),
            ("tiny", (0..200).map(|_| random() * 1e-12).collect()),
            ("huge", (0..200).map(|_| random() * 1e18).collect()),
            ("far from zero", (0..200).map(|_| 1e15 + random()).collect()),
            ("jumps", (0..200).map(|row| if row % 7 == 0 { 2_000_000_000.0 } else { -3.0 }).collect()),
        ]
    }

    /// Largest error that the module's text allows for these values.
    pub(in crate::report) fn allowed(values: &[f64]) -> f64 {
        let finite = || values.iter().copied().filter(|value| value.is_finite());
        let range = finite().fold(f64::NEG_INFINITY, f64::max) - finite().fold(f64::INFINITY, f64::min);
        let largest = finite().fold(0.0, |largest: f64, value| largest.max(value.abs()));
        (range / FINE_STEPS).max(10.0 * largest / LARGEST) / 2.0
    }

    #[test]
    fn every_kind_of_column_comes_back_within_half_a_step() {
        for (name, values) in samples() {
            let back = unpack(&pack(&values));
            assert_eq!(back.len(), values.len(), "{name}");
            let allowed = allowed(&values) * 1.000_001;
            for (row, (was, is)) in values.iter().zip(&back).enumerate() {
                if was.is_finite() {
                    let off = (was - is).abs();
                    assert!(off <= allowed, "{name} row {row}: {was} became {is}");
                } else {
                    assert!(is.is_nan(), "{name} row {row}: {was} became {is}");
                }
            }
        }
    }

    #[test]
    fn values_on_a_grid_come_back_exactly() {
        for name in ["constant", "time", "states", "counts", "milliamps"] {
            let (_, values) = samples().into_iter().find(|(other, _)| *other == name).unwrap();
            assert_eq!(unpack(&pack(&values)), values, "{name}");
        }
    }

    #[test]
    fn a_steady_signal_costs_next_to_nothing() {
        let time: Vec<f64> = (0..6000).map(|row| f64::from(row) / 100.0).collect();
        assert!(pack(&time).code.len() < 12);
        assert!(pack(&vec![1450.0; 6000]).code.len() < 12);
    }

    #[test]
    fn digits_need_no_escape_in_a_page() {
        assert!(DIGITS.iter().all(|digit| digit.is_ascii_graphic() && !b"\"&<\\".contains(digit)));
        assert_eq!(std::collections::BTreeSet::from(DIGITS).len(), 90);
    }
}
