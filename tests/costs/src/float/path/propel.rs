//! From the levers to the currents of a dual-path drive, in `f32`.

use trunnion::guard::{NeutralStartInputs, StartPhase};
use trunnion::sense::Reading;

use crate::float::guard::neutral_start::NeutralStart;
use crate::float::lever::axis::Axis;
use crate::float::number::{ONE, share};
use crate::float::propel::mixer::{Mixer, MixerConfig};
use crate::float::ramp::rate_limit::RateLimit;
use crate::float::sense::debounce::Debounce;
use crate::float::sense::pulse_speed::PulseSpeed;
use crate::float::sides::Sides;
use crate::float::valve::current_map::CurrentMap;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::path::propel::Block;

/// Seat, bar, lock.
const NEEDED: u32 = 0b111;

/// The path with the configuration of its subject.
pub struct Twin {
    contacts: [Debounce; 32],
    speed: PulseSpeed,
    axis: Axis,
    start: NeutralStart,
    mixer: Mixer,
    left: RateLimit,
    right: RateLimit,
    ramped: Sides,
    pump: CurrentMap,
}

/// What the wiring brings.
#[derive(Clone, Copy)]
pub struct Inputs {
    levers: [f32; 4],
    new_frame: bool,
    ask: bool,
    contacts: u32,
    edges: u16,
    stamp: u32,
}

/// What goes to the coils, and what else is known now.
#[derive(Clone, Copy)]
pub struct Outputs {
    currents: [f32; 4],
    boom: f32,
    bucket: f32,
    phase: StartPhase,
    speed: Reading<f32>,
    contacts: u32,
}

impl FloatTwin for Twin {
    type Of = Block;
    type Input = Inputs;
    type Output = Outputs;

    // One step of the faster ramp in mA; axes as in the twin of the axis; half a step of 1/8 rpm. Farther off where a
    // command turns round: it may lie a rounding error before zero where the block is at zero, and between nothing and
    // the threshold current is a jump.
    const DISTANCE: &'static [f32] = &[25.0, 25.0, 25.0, 25.0, 256.0, 256.0, 0.0, 0.0, 0.0, 0.0, 0.51];
    const APART_IN_A_MILLION: u32 = 40_000;

    fn new() -> Self {
        let times = |place| if place < 16 { (50.0, 20.0) } else { (30.0, 30.0) };
        Self {
            contacts: core::array::from_fn(|place| {
                let (set, clear) = times(place);
                Debounce::with(set, clear)
            }),
            speed: PulseSpeed::with(36.0, 200.0, 2_500.0),
            axis: Axis::with(0.08, 0.98, 0.3),
            start: NeutralStart::with(100.0, 3),
            mixer: Mixer::with(MixerConfig {
                banded: false,
                yaw_fixed: false,
                pivot_point: 0.5,
                pivot_band: 0.1,
                sensitivity: 0.7,
                blend_drive: 0.2,
                reverse_blend: 0.15,
            }),
            left: RateLimit::with(600.0, 300.0),
            right: RateLimit::with(600.0, 300.0),
            ramped: Sides::ZERO,
            pump: CurrentMap::with(420.0, 1150.0),
        }
    }

    fn input(words: &Words) -> Inputs {
        Inputs {
            levers: [share(words[0]), share(words[1]), share(words[2]), share(words[3])],
            new_frame: words[4] != 0,
            ask: words[5] != 0,
            contacts: words[6].cast_unsigned(),
            edges: words[7] as u16,
            stamp: words[8].cast_unsigned(),
        }
    }

    fn step(&mut self, input: &Inputs) -> Outputs {
        let mut contacts = 0_u32;
        for (place, contact) in self.contacts.iter_mut().enumerate() {
            contacts |= u32::from(contact.step(input.contacts & (1 << place) != 0)) << place;
        }
        let speed = self.speed.step(input.edges, input.stamp);
        let [drive, steer, boom, bucket] = input.levers.map(|lever| self.axis.step(lever));
        let phase = self.start.step(&NeutralStartInputs {
            conditions: contacts & NEEDED == NEEDED,
            neutral: drive == 0.0 && steer == 0.0 && boom == 0.0 && bucket == 0.0,
            new_frame: input.new_frame,
            ask: input.ask,
            ask_required: contacts & 1 == 0,
        });
        let mixed = self.mixer.step(drive, steer, self.ramped.sum() * 0.5);
        let target = if phase == StartPhase::Permitted { mixed } else { Sides::ZERO };
        self.ramped = Sides { left: self.left.step(target.left), right: self.right.step(target.right) };
        let Sides { left, right } = self.ramped;
        Outputs {
            currents: [left, -left, right, -right].map(|share| self.pump.step(share)),
            boom,
            bucket,
            phase,
            speed,
            contacts,
        }
    }

    fn output(output: &Outputs, into: &mut [f32; WORDS]) -> usize {
        into[..4].copy_from_slice(&output.currents);
        into[4] = output.boom * ONE;
        into[5] = output.bucket * ONE;
        into[6] = f32::from(output.phase as u8);
        into[7] = (output.contacts & 0xFFFF) as f32;
        into[8] = (output.contacts >> 16) as f32;
        let (health, speed) = match output.speed {
            Reading::Valid(speed) => (output.speed.health(), speed * 8.0),
            Reading::Faulted(_) => (output.speed.health(), 0.0),
        };
        into[9] = f32::from(health as u8);
        into[10] = speed;
        11
    }
}
