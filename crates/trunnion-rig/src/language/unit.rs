use std::fmt;

use super::symbols::{Dimension, SHARES, SYMBOLS, TIME};

/// A ratio of two integers, kept in lowest terms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Factor {
    pub(crate) numerator: i64,
    pub(crate) denominator: i64,
}

impl Factor {
    pub(crate) const ONE: Self = Self { numerator: 1, denominator: 1 };

    /// Both positive. When the terms do not fit 63 bits, both are halved until they do (a relative error
    /// below 2^-60).
    fn new(mut numerator: i128, mut denominator: i128) -> Self {
        let (mut a, mut b) = (numerator, denominator);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        numerator /= a.max(1);
        denominator /= a.max(1);
        while numerator > i128::from(i64::MAX) || denominator > i128::from(i64::MAX) {
            numerator /= 2;
            denominator = (denominator / 2).max(1);
        }
        Self { numerator: numerator as i64, denominator: denominator as i64 }
    }

    pub(crate) fn times(self, other: Self) -> Self {
        Self::new(
            i128::from(self.numerator) * i128::from(other.numerator),
            i128::from(self.denominator) * i128::from(other.denominator),
        )
    }

    /// The numerator times a whole number, held at the largest integer.
    pub(crate) fn times_whole(self, whole: i64) -> i64 {
        self.numerator.saturating_mul(whole)
    }

    pub(crate) fn inverse(self) -> Self {
        Self { numerator: self.denominator, denominator: self.numerator }
    }

    fn power(self, exponent: i8) -> Self {
        let base = if exponent < 0 { self.inverse() } else { self };
        (0..exponent.unsigned_abs()).fold(Self::ONE, |product, _| product.times(base))
    }

    pub(crate) fn value(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }
}

/// A unit as written: its symbol, what it measures, and how much of the base unit one of it is.
///
/// A symbol is a product of known symbols joined by `·` and `/` (everything after a `/` up to the next `·` or
/// `/` divides), each with an exponent `²`, `³` or a digit: `m/s²`, `N·m`, `l/min`, `1/min`. The empty symbol is
/// the bare number. Two units are equal when their symbols are.
#[derive(Debug, Clone)]
pub struct Unit {
    symbol: String,
    dimension: Dimension,
    factor: Factor,
}

impl PartialEq for Unit {
    fn eq(&self, other: &Self) -> bool {
        self.symbol == other.symbol
    }
}

impl Eq for Unit {}

impl Unit {
    /// The bare number.
    pub fn number() -> Self {
        Self { symbol: String::new(), dimension: Dimension::NUMBER, factor: Factor::ONE }
    }

    /// Seconds.
    pub fn second() -> Self {
        Self { symbol: "s".to_owned(), dimension: Dimension::base(TIME), factor: Factor::ONE }
    }

    /// Reads a symbol; `None` when a part of it is not in the table.
    pub fn parse(symbol: &str) -> Option<Self> {
        if symbol.is_empty() || symbol == "1" {
            return Some(Self::number());
        }
        if let Some(&(_, numerator, denominator)) = SHARES.iter().find(|(known, ..)| *known == symbol) {
            let factor = Factor { numerator, denominator };
            return Some(Self { symbol: symbol.to_owned(), dimension: Dimension::SHARE, factor });
        }
        let mut dimension = Dimension::NUMBER;
        let mut factor = Factor::ONE;
        let mut sign = 1;
        for part in split_keeping_separators(symbol) {
            match part {
                "/" => sign = -1,
                "·" | "*" => sign = 1,
                "1" => {}
                _ => {
                    let (part_dimension, part_factor, exponent) = power_of_known_symbol(part)?;
                    dimension = dimension.times(&part_dimension.power(sign * exponent)?)?;
                    factor = factor.times(part_factor.power(sign * exponent));
                }
            }
        }
        Some(Self { symbol: symbol.to_owned(), dimension, factor })
    }

    /// Reads the unit of a declared signal: a symbol outside of the table becomes a unit of its own.
    pub fn declared(symbol: &str) -> Self {
        Self::parse(symbol).unwrap_or_else(|| Self {
            symbol: symbol.to_owned(),
            dimension: Dimension::opaque(symbol),
            factor: Factor::ONE,
        })
    }

    /// The symbol as written.
    pub fn symbol(&self) -> &str {
        &self.symbol
    }

    /// How a sentence about a value goes on: "in mA", or "a bare number".
    pub(crate) fn described(&self) -> String {
        if self.symbol.is_empty() { "a bare number".to_owned() } else { format!("in {}", self.symbol) }
    }

    /// What it measures.
    pub fn dimension(&self) -> &Dimension {
        &self.dimension
    }

    /// True for the bare number.
    pub fn is_number(&self) -> bool {
        self.dimension == Dimension::NUMBER
    }

    /// True for %, ‰ and their like.
    pub fn is_share(&self) -> bool {
        self.dimension == Dimension::SHARE
    }

    /// What a value in this unit is multiplied by to be in `other`; `None` when they measure different things.
    pub(crate) fn factor_to(&self, other: &Unit) -> Option<Factor> {
        (self.dimension == other.dimension).then(|| self.factor.times(other.factor.inverse()))
    }

    /// What a value in this unit is multiplied by to be a bare number, for a share or a bare number.
    pub(crate) fn factor_to_number(&self) -> Option<Factor> {
        (self.is_share() || self.is_number()).then_some(self.factor)
    }

    /// The unit of a product. Bare numbers and shares leave the other unit as it is; of two shares the first.
    pub(crate) fn times(&self, other: &Unit) -> Unit {
        if self.is_number() {
            return other.clone();
        }
        if other.is_number() || other.is_share() {
            return self.clone();
        }
        if self.is_share() {
            return other.clone();
        }
        let symbol = format!("{}·{}", self.symbol, other.symbol);
        Self::parse(&symbol).unwrap_or_else(|| Self::declared(&symbol))
    }

    /// The unit of a change per second.
    pub(crate) fn per_second(&self) -> Unit {
        let symbol = match self.symbol.strip_suffix("/s") {
            Some(stem) => format!("{stem}/s²"),
            None if self.is_number() => "1/s".to_owned(),
            None => format!("{}/s", self.symbol),
        };
        Self::declared(&symbol)
    }

    /// Symbols that may follow a number, for a suggestion.
    pub(crate) fn known_symbols() -> impl Iterator<Item = &'static str> + Clone {
        const COMPOUND: &[&str] =
            &["m/s", "km/h", "mm/s", "m/s²", "deg/s", "rad/s", "l/min", "cm³", "N·m", "kN·m", "%/s", "mA/s"];
        let simple = SYMBOLS.iter().map(|(symbol, ..)| *symbol);
        simple.chain(SHARES.iter().map(|(symbol, ..)| *symbol)).chain(COMPOUND.iter().copied())
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if self.symbol.is_empty() { "a bare number" } else { &self.symbol })
    }
}

fn split_keeping_separators(symbol: &str) -> impl Iterator<Item = &str> {
    symbol.split_inclusive(['/', '·', '*']).flat_map(|piece| {
        let end = piece.trim_end_matches(['/', '·', '*']).len();
        let (part, separator) = piece.split_at(end);
        [part, separator].into_iter().filter(|text| !text.is_empty())
    })
}

fn power_of_known_symbol(part: &str) -> Option<(Dimension, Factor, i8)> {
    let (stem, exponent) = match part.char_indices().next_back()? {
        (end, '²' | '2') => (&part[..end], 2),
        (end, '³' | '3') => (&part[..end], 3),
        _ => (part, 1),
    };
    let stem = stem.strip_suffix('^').unwrap_or(stem);
    if let Some(&(_, numerator, denominator)) = SHARES.iter().find(|(known, ..)| *known == stem) {
        return Some((Dimension::NUMBER, Factor { numerator, denominator }, exponent));
    }
    let (_, exponents, numerator, denominator) = *SYMBOLS.iter().find(|(known, ..)| *known == stem)?;
    Some((Dimension::base(exponents), Factor { numerator, denominator }, exponent))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::language::{Decimal, Quantity, Span};

    fn convert(number: &str, from: &str, to: &str) -> Option<f64> {
        let quantity = Quantity {
            number: Decimal::parse(number).unwrap(),
            unit: Unit::parse(from).unwrap(),
            span: Span::default(),
        };
        quantity.value_in(&Unit::parse(to).unwrap())
    }

    #[test]
    fn units_of_one_kind_convert_exactly() {
        assert_eq!(convert("36", "km/h", "m/s"), Some(10.0));
        assert_eq!(convert("250", "bar", "kPa"), Some(25_000.0));
        assert_eq!(convert("1", "rpm", "deg/s"), Some(6.0));
        assert_eq!(convert("0.3", "A", "mA"), Some(300.0));
        assert_eq!(convert("1.5", "s", "ms"), Some(1_500.0));
        assert_eq!(convert("80", "%", "‰"), Some(800.0));
        assert_eq!(convert("60", "l/min", "l/s"), Some(1.0));
        assert_eq!(convert("9.81", "m/s²", "mm/s2"), Some(9_810.0));
        assert_eq!(convert("2", "N·m", "J"), Some(2.0));
        assert_eq!(convert("2", "V/A", "Ω"), Some(2.0));
    }

    #[test]
    fn radians_are_right_to_the_last_digits() {
        let degrees = convert("1", "rad", "deg").unwrap();
        assert!((degrees - 180.0 / std::f64::consts::PI).abs() < 1e-14, "{degrees}");
    }

    #[test]
    fn units_of_different_kinds_do_not_convert() {
        for (from, to) in [("mA", "mV"), ("rpm", "Hz"), ("%", ""), ("", "mA"), ("m/s", "m/s²"), ("deg", "")]
        {
            assert_eq!(convert("1", from, to), None, "{from} to {to}");
        }
        assert_eq!(convert("0", "", "mA"), Some(0.0), "a bare zero fits");
    }

    #[test]
    fn an_unknown_symbol_measures_only_itself() {
        assert!(Unit::parse("furlong").is_none());
        let counts = Unit::declared("counts");
        assert!(counts.factor_to(&Unit::declared("counts")).is_some());
        assert!(counts.factor_to(&Unit::declared("pulses")).is_none());
        assert!(counts.factor_to(&Unit::number()).is_none());
    }

    #[test]
    fn products_and_rates_have_the_unit_one_expects() {
        let speed = Unit::parse("m/s").unwrap();
        assert_eq!(speed.per_second().symbol(), "m/s²");
        assert_eq!(Unit::parse("%").unwrap().times(&speed), speed);
        let work = Unit::parse("N").unwrap().times(&Unit::parse("m").unwrap());
        assert!(work.factor_to(&Unit::parse("J").unwrap()).is_some());
        assert!(Unit::parse("%").unwrap().per_second().factor_to(&Unit::parse("‰/s").unwrap()).is_some());
    }

    #[test]
    fn every_known_symbol_is_read() {
        for symbol in Unit::known_symbols() {
            assert!(Unit::parse(symbol).is_some(), "{symbol}");
        }
    }
}
