//! Speed from the edges of a pulse pickup.

use trunnion::quantity::Rpm;
use trunnion::sense::{PulseSpeed, PulseSpeedConfig, Reading};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::{TICK, millis, rpm};

/// 120 teeth, standing after 200 ms, at most 3500 rpm.
pub struct Block(PulseSpeed);

impl Subject for Block {
    const NAME: &'static str = "sense/pulse_speed";
    type Input = Capture;
    type Output = Reading<Rpm>;

    fn new() -> Self {
        Self(built!(PulseSpeed::new(
            PulseSpeedConfig { teeth: 120, zero_speed_after: millis(200), fastest: rpm(3_500) },
            TICK
        )))
    }

    fn input(random: &mut Random, previous: Option<&Capture>) -> Capture {
        Capture::next(random, previous)
    }

    fn step(&mut self, input: &Capture) -> Reading<Rpm> {
        self.0.step(input.edges, input.stamp_micros)
    }
}

/// What the capture hardware holds, and the wheel that it looks at.
#[derive(Clone, Copy)]
pub struct Capture {
    /// Edges so far.
    pub edges: u16,
    /// When the last one came.
    pub stamp_micros: u32,
    /// The time between two edges; no part of the input.
    micros_a_tooth: i32,
    /// Now; no part of the input.
    now_micros: u32,
}

impl Capture {
    /// A period later: as many edges as fit, of a wheel that changes its speed slowly, stops, or is thrown to another.
    pub fn next(random: &mut Random, previous: Option<&Self>) -> Self {
        let Some(before) = previous else {
            return Self { edges: random.bits() as u16, stamp_micros: 0, micros_a_tooth: 400, now_micros: 0 };
        };
        let now_micros = before.now_micros.wrapping_add(10_000);
        let micros_a_tooth = random.moved(Some(before.micros_a_tooth), 100, 20_000);
        let tooth = micros_a_tooth.cast_unsigned().max(1);
        let waited = now_micros.wrapping_sub(before.stamp_micros).min(100_000);
        let edges = if random.once_in(16) { 0 } else { waited.checked_div(tooth).unwrap_or(0) };
        Self {
            edges: before.edges.wrapping_add(edges as u16),
            stamp_micros: if edges == 0 {
                before.stamp_micros
            } else {
                now_micros.wrapping_sub(random.below(tooth.min(10_000)))
            },
            micros_a_tooth,
            now_micros,
        }
    }
}

impl Spelled for Capture {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.edges.spell(into, at);
        self.stamp_micros.spell(into, at)
    }
}
