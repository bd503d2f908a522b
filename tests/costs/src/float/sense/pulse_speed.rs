//! Speed from the edges of a pulse pickup, in `f32`.

use trunnion::sense::{Flaw, Reading};

use crate::float::number::smaller;
use crate::float::sensed::{TICK, put};
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::sense::pulse_speed::Block;

enum Wheel {
    Unknown,
    Standing { edges: u16 },
    Turning { edges: u16, stamp_micros: u32 },
}

/// Times in ms, speeds in rpm.
pub struct PulseSpeed {
    /// Speed at one edge a microsecond.
    per_edge: f32,
    zero_speed_after: f32,
    fastest: f32,
    wheel: Wheel,
    silent: f32,
    reading: Reading<f32>,
}

/// The block with the configuration of its subject.
pub struct Twin(PulseSpeed);

impl PulseSpeed {
    /// Teeth of the wheel, ms until it counts as standing, the fastest in rpm.
    pub fn with(teeth: f32, zero_speed_after: f32, fastest: f32) -> Self {
        Self {
            per_edge: 60_000_000.0 / teeth,
            zero_speed_after,
            fastest,
            wheel: Wheel::Unknown,
            silent: 0.0,
            reading: Reading::Valid(0.0),
        }
    }

    /// One step, with the number of edges and the time of the last one.
    pub fn step(&mut self, edges: u16, stamp_micros: u32) -> Reading<f32> {
        match self.wheel {
            Wheel::Unknown => self.wheel = Wheel::Standing { edges },
            Wheel::Standing { edges: before } => {
                if edges != before {
                    self.wheel = Wheel::Turning { edges, stamp_micros };
                    self.silent = 0.0;
                }
            }
            Wheel::Turning { edges: before, .. } if edges == before => self.wait(edges),
            Wheel::Turning { edges: before, stamp_micros: stamp_before } => {
                let new_edges = f32::from(edges.wrapping_sub(before));
                let micros = stamp_micros.wrapping_sub(stamp_before) as f32;
                self.reading = match self.speed(new_edges, micros) {
                    Some(speed) => Reading::Valid(speed),
                    None => Reading::Faulted(Flaw::TooFast),
                };
                self.wheel = Wheel::Turning { edges, stamp_micros };
                self.silent = 0.0;
            }
        }
        self.reading
    }

    fn speed(&self, edges: f32, micros: f32) -> Option<f32> {
        // With no time between the edges it is infinite, which is too fast; 0 by 0 does not come.
        let speed = edges * self.per_edge / micros;
        (speed <= self.fastest).then_some(speed)
    }

    fn wait(&mut self, edges: u16) {
        self.silent += TICK;
        if self.silent >= self.zero_speed_after {
            self.wheel = Wheel::Standing { edges };
            self.reading = Reading::Valid(0.0);
        } else if let (Reading::Valid(speed), Some(bound)) =
            (self.reading, self.speed(1.0, self.silent * 1_000.0))
        {
            self.reading = Reading::Valid(smaller(speed, bound));
        }
    }
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (u16, u32);
    type Output = Reading<f32>;

    // The block rounds to 1/8 rpm, also before it compares with the fastest: less than 1/16 rpm above it counts there, not here.
    const DISTANCE: &'static [f32] = &[0.0, 0.51];
    const APART_IN_A_MILLION: u32 = 5;

    fn new() -> Self {
        Self(PulseSpeed::with(60.0, 200.0, 2_500.0))
    }

    fn input(words: &Words) -> Self::Input {
        (words[0] as u16, words[1].cast_unsigned())
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        self.0.step(input.0, input.1)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        put(*output, 8.0, into)
    }
}
