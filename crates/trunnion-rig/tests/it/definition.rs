//! Formulas evaluated by their definition: a second implementation, slow, over whole traces, with nothing in
//! common with the monitors but the meaning of the words.

use std::fmt;

/// One row: two currents, two switches, one choice of three.
#[derive(Debug, Clone, Copy)]
pub struct Row {
    pub x: i32,
    pub y: i32,
    pub p: bool,
    pub q: bool,
    pub mode: u8,
}

impl Row {
    pub fn values(self) -> Vec<f64> {
        let bit = |value: bool| f64::from(u8::from(value));
        vec![f64::from(self.x), f64::from(self.y), bit(self.p), bit(self.q), f64::from(self.mode)]
    }
}

/// A condition on one row.
#[derive(Debug, Clone)]
pub enum Atom {
    Constant(bool),
    P,
    Q,
    Mode(u8),
    /// `x <relation> limit`
    X(&'static str, i32),
    /// `y = x ± width` (or `!=`)
    Near(bool, i32),
    /// `abs(x - previous(x)) <= step`
    Step(i32),
    /// `mode changes`
    ModeChanges,
    /// `max(x, -y) > 2 * x - limit`
    Mixed(i32),
}

/// A formula; times in ticks.
#[derive(Debug, Clone)]
pub enum Formula {
    Atom(Atom),
    Not(Box<Formula>),
    And(Vec<Formula>),
    Or(Vec<Formula>),
    Implies(Box<Formula>, Box<Formula>),
    Always(Box<Formula>),
    Eventually(Box<Formula>),
    For(usize, Box<Formula>),
    Within(usize, Box<Formula>),
    After(usize, Box<Formula>),
    Once(Box<Formula>),
    SoFar(Box<Formula>),
    OnceWithin(usize, Box<Formula>),
    HeldFor(usize, Box<Formula>),
    Until(Option<usize>, Box<Formula>, Box<Formula>),
    Since(Option<usize>, Box<Formula>, Box<Formula>),
    Rises(Box<Formula>),
    Falls(Box<Formula>),
    From(usize, Option<usize>, Box<Formula>),
    At(usize, Box<Formula>),
}

/// Margin and truth; ordered by margin, then truth.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Worth(pub f64, pub bool);

const TRUE: Worth = Worth(f64::INFINITY, true);
const FALSE: Worth = Worth(f64::NEG_INFINITY, false);

impl Worth {
    fn of(value: bool) -> Self {
        if value { TRUE } else { FALSE }
    }

    fn not(self) -> Self {
        Worth(-self.0, !self.1)
    }
}

fn least(a: Worth, b: Worth) -> Worth {
    if b < a { b } else { a }
}

fn most(a: Worth, b: Worth) -> Worth {
    if b > a { b } else { a }
}

/// The worst and the best that a formula can be worth, given what is not known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    pub low: Worth,
    pub high: Worth,
}

impl Interval {
    const UNKNOWN: Self = Self { low: FALSE, high: TRUE };

    fn known(worth: Worth) -> Self {
        Self { low: worth, high: worth }
    }

    fn not(self) -> Self {
        Self { low: self.high.not(), high: self.low.not() }
    }

    fn and(self, other: Self) -> Self {
        Self { low: least(self.low, other.low), high: least(self.high, other.high) }
    }

    fn or(self, other: Self) -> Self {
        Self { low: most(self.low, other.low), high: most(self.high, other.high) }
    }
}

fn all(parts: impl Iterator<Item = Interval>) -> Interval {
    parts.fold(Interval::known(TRUE), Interval::and)
}

fn any(parts: impl Iterator<Item = Interval>) -> Interval {
    parts.fold(Interval::known(FALSE), Interval::or)
}

impl Atom {
    fn worth(&self, rows: &[Row], t: usize) -> Worth {
        let row = rows[t];
        let before = rows[t.saturating_sub(1)];
        let (x, y) = (f64::from(row.x), f64::from(row.y));
        match *self {
            Atom::Constant(value) => Worth::of(value),
            Atom::P => Worth::of(row.p),
            Atom::Q => Worth::of(row.q),
            Atom::Mode(mode) => Worth::of(row.mode == mode),
            Atom::ModeChanges => Worth::of(row.mode != before.mode),
            Atom::X(relation, limit) => {
                let gap = x - f64::from(limit);
                match relation {
                    "<" => Worth(-gap, gap < 0.0),
                    "<=" => Worth(-gap, gap <= 0.0),
                    ">" => Worth(gap, gap > 0.0),
                    ">=" => Worth(gap, gap >= 0.0),
                    "=" => Worth(-gap.abs(), gap == 0.0),
                    "!=" => Worth(gap.abs(), gap != 0.0),
                    _ => unreachable!("{relation}"),
                }
            }
            Atom::Near(equal, width) => {
                let margin = f64::from(width) - (y - x).abs();
                let near = Worth(margin, margin >= 0.0);
                if equal { near } else { near.not() }
            }
            Atom::Step(step) => {
                let margin = f64::from(step) - (x - f64::from(before.x)).abs();
                Worth(margin, margin >= 0.0)
            }
            Atom::Mixed(limit) => {
                let margin = x.max(-y) - (2.0 * x - f64::from(limit));
                Worth(margin, margin > 0.0)
            }
        }
    }
}

impl Formula {
    /// What the formula is worth at tick `t`, by its definition. What lies behind the last row is unknown.
    pub fn worth(&self, rows: &[Row], t: usize) -> Interval {
        let n = rows.len();
        if t >= n {
            return self.worth_behind_the_end(rows);
        }
        let at = |f: &Formula, t: usize| if t < n { f.worth(rows, t) } else { Interval::UNKNOWN };
        match self {
            Formula::Atom(atom) => Interval::known(atom.worth(rows, t)),
            Formula::Not(f) => f.worth(rows, t).not(),
            Formula::And(fs) => all(fs.iter().map(|f| f.worth(rows, t))),
            Formula::Or(fs) => any(fs.iter().map(|f| f.worth(rows, t))),
            Formula::Implies(a, b) => a.worth(rows, t).not().or(b.worth(rows, t)),
            Formula::Always(f) => all((t..n).map(|i| f.worth(rows, i))),
            Formula::Eventually(f) => any((t..n).map(|i| f.worth(rows, i))),
            Formula::For(d, f) => all((t..=t + d).map(|i| at(f, i))),
            Formula::Within(d, f) => any((t..=t + d).map(|i| at(f, i))),
            Formula::After(d, f) => at(f, t + d),
            Formula::Once(f) => any((0..=t).map(|i| f.worth(rows, i))),
            Formula::SoFar(f) => all((0..=t).map(|i| f.worth(rows, i))),
            Formula::OnceWithin(d, f) => any((t.saturating_sub(*d)..=t).map(|i| f.worth(rows, i))),
            Formula::HeldFor(d, f) if t < *d => {
                all((0..=t).map(|i| f.worth(rows, i))).and(Interval::known(FALSE))
            }
            Formula::HeldFor(d, f) => all((t - d..=t).map(|i| f.worth(rows, i))),
            Formula::Until(bound, a, b) => {
                let last = bound.map_or(n - 1, |d| t + d);
                any((t..=last).map(|i| at(b, i).and(all((t..i).map(|j| at(a, j))))))
            }
            Formula::Since(bound, a, b) => {
                let first = bound.map_or(0, |d| t.saturating_sub(d));
                any((first..=t).map(|i| b.worth(rows, i).and(all((i + 1..=t).map(|j| a.worth(rows, j))))))
            }
            Formula::Rises(_) | Formula::Falls(_) if t == 0 => Interval::known(FALSE),
            Formula::Rises(f) => f.worth(rows, t).and(f.worth(rows, t - 1).not()),
            Formula::Falls(f) => f.worth(rows, t).not().and(f.worth(rows, t - 1)),
            Formula::From(first, last, f) => match last {
                Some(last) => all((*first..=*last).map(|i| at(f, i))),
                None if *first >= n => Interval::UNKNOWN,
                None => all((*first..n).map(|i| f.worth(rows, i))),
            },
            Formula::At(time, f) => f.worth(rows, *time),
        }
    }

    /// Behind the end nothing is known, not even a constant; only absolute times lead back into the run.
    fn worth_behind_the_end(&self, rows: &[Row]) -> Interval {
        match self {
            Formula::Not(f) => f.worth_behind_the_end(rows).not(),
            Formula::From(..) | Formula::At(..) => self.worth(rows, 0),
            _ => Interval::UNKNOWN,
        }
    }
}

const MILLIS_PER_TICK: usize = 10;

fn time(ticks: usize) -> String {
    format!("{} ms", ticks * MILLIS_PER_TICK)
}

fn bound(ticks: &Option<usize>) -> String {
    ticks.map_or_else(String::new, |ticks| format!("within {} ", time(ticks)))
}

impl fmt::Display for Atom {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Atom::Constant(value) => write!(f, "{value}"),
            Atom::P => f.write_str("p"),
            Atom::Q => f.write_str("q"),
            Atom::Mode(mode) => write!(f, "mode = {}", ["rest", "drive", "spin"][usize::from(*mode)]),
            Atom::ModeChanges => f.write_str("mode changes"),
            Atom::X(relation, limit) => write!(f, "x {relation} {limit} mA"),
            Atom::Near(equal, width) => write!(f, "y {} x ± {width} mA", if *equal { "=" } else { "!=" }),
            Atom::Step(step) => write!(f, "abs(x - previous(x)) <= {step} mA"),
            Atom::Mixed(limit) => write!(f, "max(x, -y) > 2 * x - {limit} mA"),
        }
    }
}

impl fmt::Display for Formula {
    /// With parentheses everywhere.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let chain = |fs: &[Formula], word: &str| {
            fs.iter().map(|f| format!("({f})")).collect::<Vec<_>>().join(&format!(" {word} "))
        };
        match self {
            Formula::Atom(atom) => write!(out, "{atom}"),
            Formula::Not(f) => write!(out, "not ({f})"),
            Formula::And(fs) => out.write_str(&chain(fs, "and")),
            Formula::Or(fs) => out.write_str(&chain(fs, "or")),
            Formula::Implies(a, b) => write!(out, "({a}) implies ({b})"),
            Formula::Always(f) => write!(out, "always ({f})"),
            Formula::Eventually(f) => write!(out, "eventually ({f})"),
            Formula::For(d, f) => write!(out, "for {} ({f})", time(*d)),
            Formula::Within(d, f) => write!(out, "within {} ({f})", time(*d)),
            Formula::After(d, f) => write!(out, "after {} ({f})", time(*d)),
            Formula::Once(f) => write!(out, "once ({f})"),
            Formula::SoFar(f) => write!(out, "so far ({f})"),
            Formula::OnceWithin(d, f) => write!(out, "once within {} ({f})", time(*d)),
            Formula::HeldFor(d, f) => write!(out, "held for {} ({f})", time(*d)),
            Formula::Until(d, a, b) => write!(out, "({a}) until {}({b})", bound(d)),
            Formula::Since(d, a, b) => write!(out, "({a}) since {}({b})", bound(d)),
            Formula::Rises(f) => write!(out, "({f}) rises"),
            Formula::Falls(f) => write!(out, "({f}) falls"),
            Formula::From(first, None, f) => write!(out, "from {} ({f})", time(*first)),
            Formula::From(first, Some(last), f) => {
                write!(out, "from {} to {} ({f})", time(*first), time(*last))
            }
            Formula::At(t, f) => write!(out, "at {} ({f})", time(*t)),
        }
    }
}
