//! The sweeps: one file a block, or a family of conversions.
//!
//! A family has corners of the allowed configurations, typical ones and seeded ones. Where a domain has 2³¹ inputs or
//! more, the first two kinds are swept whole and the seeded ones at their breakpoints and by a stride, in the whole mode
//! too; each proof says so in its family.

mod axis;
mod bus;
mod calibration;
mod current_loop_sensor;
mod current_map;
mod derate;
mod end_cushion;
mod frequency;
mod inching;
mod lookup_table;
mod peak_and_hold;
mod proportional_output;
mod pulse_speed;
mod quantities;
mod ratio;
mod ratiometric;
mod response_curve;
mod span;
mod speeds;
mod spool;
mod time;

use trunnion::quantity::{Permille, Ratio};

use crate::proof::{Bench, Kind, Outcome, Proof};

/// All raw values of a ratio.
const RATIO: (i64, i64) = (-(1 << 30), 1 << 30);
/// 1.0 of a ratio.
const ONE: i64 = 1 << 30;

fn ratio(raw: i64) -> Ratio {
    Ratio::saturating(raw)
}

fn bits(ratio: Ratio) -> i64 {
    i64::from(ratio.to_bits())
}

fn permille(raw: i64) -> Permille {
    Permille::saturating(raw)
}

/// Steps of 2⁻³⁰ in so many thousandths, as a breakpoint.
fn edge(permille: i64) -> i64 {
    permille * ONE / 1000
}

/// Numbers that look random and are the same on every run (the constants are those of Knuth's MMIX generator).
struct Seeded(u64);

impl Seeded {
    /// From `low` to `high`, both included.
    fn between(&mut self, low: i64, high: i64) -> i64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let width = (high - low + 1).unsigned_abs();
        low + ((self.0 >> 16) % width).cast_signed()
    }
}

fn entry(
    name: &'static str,
    block: &'static str,
    family: &'static str,
    claims: &[&'static str],
    run: fn(&Bench<'_>) -> Outcome,
) -> Proof {
    Proof { name, block, kind: Kind::Sweep, family, claims: claims.to_vec(), run }
}

/// All sweeps, room by room.
pub fn all() -> Vec<Proof> {
    let mut all = ratio::proofs();
    all.extend(quantities::proofs());
    all.extend(time::proofs());
    all.extend(frequency::proofs());
    all.extend([
        calibration::proof(),
        axis::proof(),
        response_curve::proof(),
        ratiometric::proof(),
        current_loop_sensor::proof(),
        lookup_table::proof(),
        span::proof(),
        pulse_speed::proof(),
        derate::proof(),
        inching::proof(),
    ]);
    all.extend(speeds::proofs());
    all.extend([spool::proof(), end_cushion::proof(), current_map::proof()]);
    all.extend([peak_and_hold::proof(), proportional_output::proof()]);
    all.extend(bus::proofs());
    all
}
