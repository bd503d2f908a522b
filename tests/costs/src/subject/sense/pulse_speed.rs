//! Speed from the edges of a pulse pickup.

use trunnion::quantity::Rpm;
use trunnion::sense::{PulseSpeed, PulseSpeedConfig, Reading};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis, reading_words};

/// 60 teeth, standing after 200 ms, at most 2500 rpm.
pub struct Block(PulseSpeed);

/// What the capture shows at the end of a period.
#[derive(Clone, Copy)]
pub struct Capture {
    edges: u16,
    stamp_micros: u32,
    /// Time between two teeth.
    gap: i32,
    /// Time since the last tooth.
    age: i32,
}

impl Subject for Block {
    const NAME: &'static str = "sense/pulse_speed";
    type Input = Capture;
    type Output = Reading<Rpm>;

    fn new() -> Self {
        Self(built!(PulseSpeed::new(
            PulseSpeedConfig { teeth: 60, zero_speed_after: millis(200), fastest: Rpm::from_whole(2_500) },
            TICK
        )))
    }

    /// A wheel between standstill and a little above the fastest; now and then glitches, or a timer that lost itself.
    fn input(random: &mut Random, previous: Option<&Capture>) -> Capture {
        let Some(before) = previous.copied() else {
            let stamp_micros = random.bits();
            return Capture { edges: random.bits() as u16, stamp_micros, gap: 2_000, age: 0 };
        };
        let slowest = if random.once_in(20) { 500_000 } else { 20_000 };
        let gap = random.moved(Some(before.gap), 390, slowest);
        let elapsed = before.age.wrapping_add(10_000);
        let new = elapsed.checked_div(gap).unwrap_or(0);
        let passed = new.wrapping_mul(gap);
        let mut after = Capture {
            edges: before.edges.wrapping_add(new as u16),
            stamp_micros: before.stamp_micros.wrapping_add(passed.cast_unsigned()),
            gap,
            age: elapsed.wrapping_sub(passed),
        };
        match random.below(400) {
            0 => after.edges = random.bits() as u16,
            1 => after.stamp_micros = random.bits(),
            2 => after.edges = after.edges.wrapping_add(random.below(4) as u16),
            _ => {}
        }
        after
    }

    fn step(&mut self, capture: &Capture) -> Reading<Rpm> {
        self.0.step(capture.edges, capture.stamp_micros)
    }

    fn input_words(capture: &Capture, into: &mut Words) -> usize {
        into[0] = capture.edges.into();
        into[1] = capture.stamp_micros.cast_signed();
        2
    }

    fn output_words(speed: &Reading<Rpm>, into: &mut Words) -> usize {
        reading_words::put(*speed, Rpm::raw, into, 0)
    }
}
