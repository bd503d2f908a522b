//! Speed from captured periods.

use trunnion::quantity::{Rpm, SignalPeriod};
use trunnion::sense::{PeriodSpeed, PeriodSpeedConfig, Reading};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis, reading_words};

/// 60 teeth, standing after 200 ms, at most 2500 rpm, two glitches.
pub struct Block(PeriodSpeed);

/// What was captured in a period of the loop.
#[derive(Clone, Copy)]
pub struct Capture {
    period: Option<SignalPeriod>,
    /// Time between two teeth in tenths of a microsecond.
    gap: i32,
    /// Time since the last tooth.
    age: i32,
}

impl Subject for Block {
    const NAME: &'static str = "sense/period_speed";
    type Input = Capture;
    type Output = Reading<Rpm>;

    fn new() -> Self {
        Self(built!(PeriodSpeed::new(
            PeriodSpeedConfig {
                teeth: 60,
                zero_speed_after: millis(200),
                fastest: Rpm::from_whole(2_500),
                glitches: 2,
            },
            TICK
        )))
    }

    /// A wheel between standstill and the fastest; now and then sparks, or any period.
    fn input(random: &mut Random, previous: Option<&Capture>) -> Capture {
        let Some(before) = previous.copied() else { return Capture { period: None, gap: 20_000, age: 0 } };
        let slowest = if random.once_in(20) { 5_000_000 } else { 150_000 };
        let gap = random.moved(Some(before.gap), 3_990, slowest);
        let elapsed = before.age.wrapping_add(100_000);
        let captured = elapsed >= gap;
        let mut period = captured.then(|| SignalPeriod::saturating(gap.into()));
        match random.below(300) {
            0 => period = Some(SignalPeriod::saturating(random.bits().into())),
            1..6 => period = Some(SignalPeriod::saturating(random.below(4_100).into())),
            _ => {}
        }
        Capture { period, gap, age: if captured { elapsed.checked_rem(gap).unwrap_or(0) } else { elapsed } }
    }

    fn step(&mut self, capture: &Capture) -> Reading<Rpm> {
        self.0.step(capture.period)
    }

    fn input_words(capture: &Capture, into: &mut Words) -> usize {
        into[0] = capture.period.is_some().into();
        into[1] = capture.period.map_or(0, |period| period.raw().cast_signed());
        2
    }

    fn output_words(speed: &Reading<Rpm>, into: &mut Words) -> usize {
        reading_words::put(*speed, Rpm::raw, into, 0)
    }
}
