/// What a unit measures: exponents of length, mass, time, current, temperature and angle.
///
/// An angle is a dimension of its own, so that a speed of rotation (rpm, deg/s) is not taken for a frequency
/// (Hz). A share of a whole (%, ‰) is not a bare number: `50` and `50 %` do not compare. A unit that the table
/// does not know measures itself and compares only with the same word.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Dimension {
    exponents: [i8; 6],
    kind: Kind,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Kind {
    Plain,
    Share,
    Opaque(String),
}

impl Dimension {
    pub(super) const NUMBER: Self = Self { exponents: [0; 6], kind: Kind::Plain };
    pub(super) const SHARE: Self = Self { exponents: [0; 6], kind: Kind::Share };

    pub(super) const fn base(exponents: [i8; 6]) -> Self {
        Self { exponents, kind: Kind::Plain }
    }

    /// A dimension of its own, for a symbol outside of the table.
    pub(super) fn opaque(symbol: &str) -> Self {
        Self { exponents: [0; 6], kind: Kind::Opaque(symbol.to_owned()) }
    }

    pub(super) fn power(&self, exponent: i8) -> Option<Self> {
        let mut result = self.clone();
        for part in &mut result.exponents {
            *part = part.checked_mul(exponent)?;
        }
        Some(result)
    }

    pub(super) fn times(&self, other: &Self) -> Option<Self> {
        let mut exponents = self.exponents;
        for (part, more) in exponents.iter_mut().zip(other.exponents) {
            *part = part.checked_add(more)?;
        }
        Some(Self { exponents, kind: Kind::Plain })
    }
}

const LENGTH: [i8; 6] = [1, 0, 0, 0, 0, 0];
const MASS: [i8; 6] = [0, 1, 0, 0, 0, 0];
pub(super) const TIME: [i8; 6] = [0, 0, 1, 0, 0, 0];
const CURRENT: [i8; 6] = [0, 0, 0, 1, 0, 0];
const TEMPERATURE: [i8; 6] = [0, 0, 0, 0, 1, 0];
const ANGLE: [i8; 6] = [0, 0, 0, 0, 0, 1];
const FREQUENCY: [i8; 6] = [0, 0, -1, 0, 0, 0];
const VOLUME: [i8; 6] = [3, 0, 0, 0, 0, 0];
const FORCE: [i8; 6] = [1, 1, -2, 0, 0, 0];
const TORQUE: [i8; 6] = [2, 1, -2, 0, 0, 0];
const POWER: [i8; 6] = [2, 1, -3, 0, 0, 0];
const PRESSURE: [i8; 6] = [-1, 1, -2, 0, 0, 0];
const VOLTAGE: [i8; 6] = [2, 1, -3, -1, 0, 0];
const RESISTANCE: [i8; 6] = [2, 1, -3, -2, 0, 0];
const INDUCTANCE: [i8; 6] = [2, 1, -2, -2, 0, 0];
const TURNING: [i8; 6] = [0, 0, -1, 0, 0, 1];

/// Symbol, dimension, and numerator and denominator of its size in base units (m, kg, s, A, °C, deg).
pub(super) const SYMBOLS: &[(&str, [i8; 6], i64, i64)] = &[
    ("m", LENGTH, 1, 1),
    ("mm", LENGTH, 1, 1_000),
    ("cm", LENGTH, 1, 100),
    ("km", LENGTH, 1_000, 1),
    ("kg", MASS, 1, 1),
    ("g", MASS, 1, 1_000),
    ("t", MASS, 1_000, 1),
    ("s", TIME, 1, 1),
    ("ms", TIME, 1, 1_000),
    ("us", TIME, 1, 1_000_000),
    ("µs", TIME, 1, 1_000_000),
    ("min", TIME, 60, 1),
    ("h", TIME, 3_600, 1),
    ("A", CURRENT, 1, 1),
    ("mA", CURRENT, 1, 1_000),
    ("°C", TEMPERATURE, 1, 1),
    ("degC", TEMPERATURE, 1, 1),
    ("deg", ANGLE, 1, 1),
    ("°", ANGLE, 1, 1),
    // 180/π to 16 digits: the only size here that is not exact.
    ("rad", ANGLE, 5_729_577_951_308_232, 100_000_000_000_000),
    ("mrad", ANGLE, 5_729_577_951_308_232, 100_000_000_000_000_000),
    ("rev", ANGLE, 360, 1),
    ("rpm", TURNING, 6, 1),
    ("Hz", FREQUENCY, 1, 1),
    ("kHz", FREQUENCY, 1_000, 1),
    ("l", VOLUME, 1, 1_000),
    ("L", VOLUME, 1, 1_000),
    ("ml", VOLUME, 1, 1_000_000),
    ("N", FORCE, 1, 1),
    ("kN", FORCE, 1_000, 1),
    ("Nm", TORQUE, 1, 1),
    ("kNm", TORQUE, 1_000, 1),
    ("J", TORQUE, 1, 1),
    ("kJ", TORQUE, 1_000, 1),
    ("W", POWER, 1, 1),
    ("kW", POWER, 1_000, 1),
    ("Pa", PRESSURE, 1, 1),
    ("kPa", PRESSURE, 1_000, 1),
    ("MPa", PRESSURE, 1_000_000, 1),
    ("bar", PRESSURE, 100_000, 1),
    ("V", VOLTAGE, 1, 1),
    ("mV", VOLTAGE, 1, 1_000),
    ("Ω", RESISTANCE, 1, 1),
    ("ohm", RESISTANCE, 1, 1),
    ("mΩ", RESISTANCE, 1, 1_000),
    ("H", INDUCTANCE, 1, 1),
    ("mH", INDUCTANCE, 1, 1_000),
];

/// Symbol, and numerator and denominator of its share of a whole.
pub(super) const SHARES: &[(&str, i64, i64)] = &[("%", 1, 100), ("‰", 1, 1_000), ("ppm", 1, 1_000_000)];
