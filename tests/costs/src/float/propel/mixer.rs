//! Drive and steer to left and right, in `f32`.

use crate::float::number::{ONE, directed_as, held, larger, share, smaller};
use crate::float::sides::Sides;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::propel::mixer::Block;

/// Shares of one.
pub struct MixerConfig {
    pub(crate) banded: bool,
    pub(crate) yaw_fixed: bool,
    pub(crate) pivot_point: f32,
    pub(crate) pivot_band: f32,
    pub(crate) sensitivity: f32,
    pub(crate) blend_drive: f32,
    pub(crate) reverse_blend: f32,
}

#[derive(Clone, Copy, PartialEq)]
enum Rolling {
    Rest,
    Forward,
    Reverse,
}

/// The configuration, resolved to a step, and the state.
pub struct Mixer {
    config: MixerConfig,
    pivot_from: f32,
    pivot_to: f32,
    rolling: Rolling,
}

impl Mixer {
    pub(crate) fn with(config: MixerConfig) -> Self {
        Self {
            pivot_from: config.pivot_point - config.pivot_band * 0.5,
            pivot_to: config.pivot_point + config.pivot_band * 0.5,
            config,
            rolling: Rolling::Rest,
        }
    }

    pub(crate) fn step(&mut self, drive: f32, steer: f32, travel: f32) -> Sides {
        self.rolling = self.rolls(travel);
        let linear = self.config.sensitivity;
        let steer = steer * linear + steer * steer * steer * (1.0 - linear);
        if self.config.banded { self.banded(drive, steer) } else { self.blended(drive, steer) }
    }

    fn rolls(&self, travel: f32) -> Rolling {
        let (beyond, within) = (self.config.reverse_blend, self.config.reverse_blend * 0.25);
        if travel >= beyond || (self.rolling == Rolling::Forward && travel > within) {
            Rolling::Forward
        } else if travel <= -beyond || (self.rolling == Rolling::Reverse && travel < -within) {
            Rolling::Reverse
        } else {
            Rolling::Rest
        }
    }

    fn yaw_share(&self, steer: f32) -> f32 {
        let steer = steer.abs();
        if steer < self.pivot_from {
            0.5 * steer / self.pivot_from
        } else {
            0.5 + 0.5 * self.beyond_pivot(steer)
        }
    }

    fn beyond_pivot(&self, steer: f32) -> f32 {
        larger(steer.abs() - self.pivot_to, 0.0) / (1.0 - self.pivot_to)
    }

    fn yaw_is_turned_round(&self, drive: f32) -> bool {
        !self.config.yaw_fixed
            && match self.rolling {
                Rolling::Forward => false,
                Rolling::Reverse => true,
                Rolling::Rest => drive < 0.0,
            }
    }

    fn banded(&self, drive: f32, steer: f32) -> Sides {
        if drive == 0.0 {
            return Sides { left: steer, right: -steer };
        }
        let speed = drive.abs();
        let curve = speed * self.yaw_share(steer);
        let yaw = directed_as(curve, steer);
        combined(drive, speed - curve, if self.yaw_is_turned_round(drive) { -yaw } else { yaw })
    }

    fn blended(&self, drive: f32, steer: f32) -> Sides {
        let speed = drive.abs();
        let driving = smaller(speed / self.config.blend_drive, 1.0);
        let yaw_share = self.yaw_share(steer);
        let curve = speed * yaw_share;
        let left_over = (1.0 - speed) * yaw_share * self.beyond_pivot(steer);
        let spin = steer * (1.0 - driving);
        let turn = directed_as((curve + left_over) * driving, steer);
        let turn = if self.yaw_is_turned_round(drive) { -turn } else { turn };
        combined(drive, speed - curve, spin + turn)
    }
}

fn combined(drive: f32, speed: f32, yaw: f32) -> Sides {
    let travel = directed_as(speed, drive);
    Sides { left: held(travel + yaw, -1.0, 1.0), right: held(travel - yaw, -1.0, 1.0) }
}

/// The block with the configuration of its subject.
pub struct Twin(Mixer);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = [f32; 3];
    type Output = Sides;

    // A millionth of full scale: an f32 has 24 bits where a ratio has 30, and each operation rounds.
    const DISTANCE: &'static [f32] = &[1024.0, 1024.0];
    const APART_IN_A_MILLION: u32 = 0;

    fn new() -> Self {
        Self(Mixer::with(MixerConfig {
            banded: false,
            yaw_fixed: false,
            pivot_point: 0.5,
            pivot_band: 0.1,
            sensitivity: 0.7,
            blend_drive: 0.2,
            reverse_blend: 0.15,
        }))
    }

    fn input(words: &Words) -> Self::Input {
        [share(words[0]), share(words[1]), share(words[2])]
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let [drive, steer, travel] = *input;
        self.0.step(drive, steer, travel)
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.left * ONE;
        into[1] = output.right * ONE;
        2
    }
}
