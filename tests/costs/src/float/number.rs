//! What plain `f32` code needs on a core without a library: comparisons that compile to comparisons.
//!
//! `f32::max`, `min` and `clamp` become calls where the unit has no such instruction, and `clamp` can panic.

/// The smaller of two; the second where one is no number.
pub fn smaller(one: f32, other: f32) -> f32 {
    if one < other { one } else { other }
}

/// The larger of two; the second where one is no number.
pub fn larger(one: f32, other: f32) -> f32 {
    if one > other { one } else { other }
}

/// Held between two limits.
pub fn held(value: f32, low: f32, high: f32) -> f32 {
    if value < low {
        low
    } else if value > high {
        high
    } else {
        value
    }
}

/// The magnitude of one with the direction of the other; zero where that has none.
pub fn directed_as(value: f32, direction: f32) -> f32 {
    if direction > 0.0 {
        value.abs()
    } else if direction < 0.0 {
        -value.abs()
    } else {
        0.0
    }
}

/// From one value towards another, at most this far.
pub fn approached(from: f32, goal: f32, rate: f32) -> f32 {
    let way = goal - from;
    if way > rate {
        from + rate
    } else if way < -rate {
        from - rate
    } else {
        goal
    }
}

/// True when they point opposite ways and neither is zero.
pub fn opposed(one: f32, other: f32) -> bool {
    (one > 0.0 && other < 0.0) || (one < 0.0 && other > 0.0)
}

/// What was measured, where there is something to be believed.
pub type Reading = Option<f32>;

/// Steps of a ratio in full scale.
pub const ONE: f32 = 1_073_741_824.0;

/// A ratio as a share of one.
pub fn share(bits: i32) -> f32 {
    bits as f32 / ONE
}

/// Eighths of a revolution a minute in rpm.
pub fn rpm(eighths: i32) -> f32 {
    eighths as f32 * 0.125
}

/// From a flag and a value.
pub fn reading(valid: i32, value: f32) -> Reading {
    if valid != 0 { Some(value) } else { None }
}
