//! Numbers of the core against exact rational arithmetic in 128 bits.
//!
//! The rule is the crate's own, stated at `Ratio`: nearest, ties away from zero, held at the ends of the range.
//! No standard says so; what is checked here is that nothing else happens, bit for bit, with a reference that
//! shares no line with the core.
//!
//! Checks: propel/sides, sense/span

use std::fmt::Debug;

use trunnion::declare::Field;
use trunnion::propel::Sides;
use trunnion::quantity::{Celsius, Kilopascals, Milliamps, Millis, Millivolts, Period, Permille, Ratio, Rpm};
use trunnion::sense::Span;
use trunnion_rig::plant::SplitMix64;

const ONE: i128 = 1 << 30;
const RANDOM_PAIRS: usize = 100_000;

/// `numerator / denominator` to the nearest integer, ties away from zero.
fn nearest(numerator: i128, denominator: i128) -> i128 {
    let (whole, rest) = (numerator.abs() / denominator, numerator.abs() % denominator);
    let magnitude = if 2 * rest >= denominator { whole + 1 } else { whole };
    if numerator < 0 { -magnitude } else { magnitude }
}

fn held(bits: i128) -> i128 {
    bits.clamp(-ONE, ONE)
}

fn bits(ratio: Ratio) -> i128 {
    i128::from(ratio.to_bits())
}

/// Ends, middles, powers of two and their neighbours: where a rounding or a sign goes wrong first.
fn corners() -> Vec<Ratio> {
    let mut corners = Vec::new();
    for place in 0..=30 {
        for beside in [-1, 0, 1] {
            for sign in [-1, 1] {
                corners.extend(Ratio::from_bits(sign * ((1 << place) + beside)));
            }
        }
    }
    for permille in [1, 45, 99, 333, 450, 500, 550, 667, 999] {
        corners.extend([permille, -permille].map(|permille| Ratio::from_permille(permille).unwrap()));
    }
    corners.sort_unstable();
    corners.dedup();
    corners
}

fn random_ratio(random: &mut SplitMix64) -> Ratio {
    // Small numbers as often as large ones: a uniform draw would hardly ever be below a thousandth.
    let magnitude = (random.next_u64() & 0x3FFF_FFFF) as i32 >> (random.next_u64() % 31);
    let sign = if random.next_u64() & 1 == 0 { 1 } else { -1 };
    Ratio::from_bits(sign * magnitude).unwrap()
}

/// All pairs of corners, then random pairs.
fn pairs() -> impl Iterator<Item = (Ratio, Ratio)> {
    let corners = corners();
    let grid: Vec<_> = corners.iter().flat_map(|a| corners.iter().map(move |b| (*a, *b))).collect();
    let mut random = SplitMix64::new(30);
    let drawn = std::iter::repeat_with(move || (random_ratio(&mut random), random_ratio(&mut random)));
    grid.into_iter().chain(drawn.take(RANDOM_PAIRS))
}

#[test]
fn products_and_quotients_are_the_exact_ones_rounded_once() {
    for (a, b) in pairs() {
        assert_eq!(bits(a.times(b)), nearest(bits(a) * bits(b), ONE), "{a:?} times {b:?}");
        let quotient = if bits(b) > 0 { held(nearest(bits(a) * ONE, bits(b))) } else { 0 };
        assert_eq!(bits(a.divided_by(b)), quotient, "{a:?} divided by {b:?}");
    }
}

#[test]
fn sums_differences_and_bounds_are_exact_and_held() {
    for (a, b) in pairs() {
        assert_eq!(bits(a.plus(b)), held(bits(a) + bits(b)), "{a:?} plus {b:?}");
        assert_eq!(bits(a.minus(b)), held(bits(a) - bits(b)), "{a:?} minus {b:?}");
        let limit = bits(b).abs();
        assert_eq!(bits(a.within(b)), bits(a).clamp(-limit, limit), "{a:?} within {b:?}");
        assert_eq!(bits(a.reversed()), -bits(a));
        assert_eq!(bits(a.directed_as(b)), bits(a).abs() * bits(b).signum(), "{a:?} directed as {b:?}");
    }
}

#[test]
fn mean_and_half_difference_of_two_sides_are_the_exact_ones_rounded_once() {
    for (left, right) in pairs() {
        let sides = Sides { left, right };
        assert_eq!(bits(sides.mean()), nearest(bits(left) + bits(right), 2), "{sides:?}");
        assert_eq!(bits(sides.half_difference()), nearest(bits(left) - bits(right), 2), "{sides:?}");
    }
}

#[test]
fn quotients_of_integers_are_the_exact_ones_rounded_once_up_to_their_stated_limit() {
    const LIMIT: i64 = 1 << 32;
    let mut random = SplitMix64::new(32);
    let check = |numerator: i64, denominator: i64| {
        let exact = if denominator > 0 {
            held(nearest(i128::from(numerator.clamp(-LIMIT, LIMIT)) * ONE, i128::from(denominator)))
        } else {
            0
        };
        let found = bits(Ratio::from_quotient(numerator, denominator));
        assert_eq!(found, exact, "{numerator} / {denominator}");
    };
    let ends = [0, 1, 2, 3, 7, 999, 1000, 1001, LIMIT - 1, LIMIT, LIMIT + 1, i64::MAX];
    for numerator in ends.into_iter().flat_map(|end| [end, -end]).chain([i64::MIN]) {
        for denominator in ends.into_iter().chain([-1, i64::MIN]) {
            check(numerator, denominator);
        }
    }
    for _ in 0..RANDOM_PAIRS {
        let numerator = random.next_u64() as i64 >> (random.next_u64() % 63);
        check(numerator, (random.next_u64() >> (1 + random.next_u64() % 63)) as i64);
    }
}

#[test]
fn thousandths_go_in_and_out_to_the_nearest() {
    for permille in -1000..=1000 {
        let ratio = Ratio::from_permille(permille).unwrap();
        assert_eq!(bits(ratio), nearest(i128::from(permille) * ONE, 1000));
        assert_eq!(ratio, Ratio::from(Permille::new(permille as i16).unwrap()));
    }
    for (ratio, _) in pairs() {
        let permille = i128::from(ratio.to_permille().raw());
        assert_eq!(permille, nearest(bits(ratio) * 1000, ONE), "{ratio:?}");
    }
}

/// Scaling by a ratio, share of a whole and the span between two values, for one kind of quantity.
fn assert_quantity_is_exact<Q: Field + Debug>(
    seed: u64,
    scaled: impl Fn(Q, Ratio) -> Q,
    share_of: impl Fn(Q, Q) -> Ratio,
) {
    let mut random = SplitMix64::new(seed);
    let width = (Q::MAX_RAW - Q::MIN_RAW + 1) as u64;
    let mut values: Vec<i64> = (0..600).map(|_| Q::MIN_RAW + (random.next_u64() % width) as i64).collect();
    values.extend([Q::MIN_RAW, Q::MIN_RAW + 1, 0, 1, 2, Q::MAX_RAW - 1, Q::MAX_RAW]);
    let quantity = |raw: i64| Q::from_raw(raw).expect("inside the range");
    let raw = |quantity: Q| i128::from(quantity.to_raw());
    for ratio in corners() {
        for &value in &values {
            let exact = nearest(i128::from(value) * bits(ratio), ONE);
            let exact = exact.clamp(i128::from(Q::MIN_RAW), i128::from(Q::MAX_RAW));
            assert_eq!(raw(scaled(quantity(value), ratio)), exact, "{value} scaled by {ratio:?}");
        }
    }
    for ends in values.windows(2) {
        let (low, high) = (i128::from(ends[0]), i128::from(ends[1]));
        let share = if high > 0 { held(nearest(low * ONE, high)) } else { 0 };
        assert_eq!(bits(share_of(quantity(ends[0]), quantity(ends[1]))), share, "{low} of {high}");
        let span = Span::new(quantity(ends[0]), quantity(ends[1]));
        for ratio in corners() {
            let exact = low + nearest((high - low) * bits(ratio).max(0), ONE);
            assert_eq!(raw(span.at(ratio)), exact, "{ratio:?} of {low} to {high}");
        }
    }
}

#[test]
fn quantities_are_scaled_shared_and_spanned_exactly_and_rounded_once() {
    assert_quantity_is_exact(1, Milliamps::scaled, Milliamps::share_of);
    assert_quantity_is_exact(2, Millivolts::scaled, Millivolts::share_of);
    assert_quantity_is_exact(3, Kilopascals::scaled, Kilopascals::share_of);
    assert_quantity_is_exact(4, Celsius::scaled, Celsius::share_of);
    assert_quantity_is_exact(5, Rpm::scaled, Rpm::share_of);
    assert_quantity_is_exact(6, Permille::scaled, Permille::share_of);
}

#[test]
fn a_wait_in_periods_is_the_least_number_that_lasts_long_enough() {
    let mut random = SplitMix64::new(7);
    for _ in 0..RANDOM_PAIRS {
        let micros = 100 + (random.next_u64() % 999_901) as u32;
        let millis = (random.next_u64() as u32) >> (random.next_u64() % 32);
        let steps = Period::from_micros(micros).unwrap().steps(Millis::millis(millis));
        let (asked, period) = (u128::from(millis) * 1000, u128::from(micros));
        let enough = |steps: u128| steps * period >= asked;
        let least = enough(steps.into()) && (steps == 0 || !enough(u128::from(steps) - 1));
        assert!(least || steps == u32::MAX, "{millis} ms in {steps} periods of {micros} µs");
    }
}
