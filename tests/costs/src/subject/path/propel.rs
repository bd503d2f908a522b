//! From the levers to the currents of a dual-path drive: what a skid-steer controller does at least.

use trunnion::guard::{NeutralStart, NeutralStartConfig, NeutralStartInputs, StartPhase};
use trunnion::lever::{Axis, AxisConfig};
use trunnion::propel::{MixLaw, Mixer, MixerConfig, ReverseConvention, Sides};
use trunnion::quantity::{Milliamps, Ratio, Rpm};
use trunnion::ramp::{RateLimit, RateLimitConfig};
use trunnion::sense::{DebounceBank, DebounceConfig, PulseSpeed, PulseSpeedConfig, Reading};
use trunnion::valve::{CurrentMap, CurrentMapConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis, permille, reading_words};

/// Contacts that are debounced.
const CONTACTS: usize = 32;
/// The contacts without which nothing drives: seat, bar, lock.
const NEEDED: u32 = 0b111;

/// Four axes, neutral start, mix, two ramps, four current maps, a pulse pickup and 32 contacts.
pub struct Block {
    contacts: DebounceBank<CONTACTS>,
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
    /// Drive, steer, boom, bucket.
    levers: [Ratio; 4],
    new_frame: bool,
    ask: bool,
    contacts: u32,
    edges: u16,
    stamp: u32,
}

/// What goes to the coils, and what else is known now.
#[derive(Clone, Copy)]
pub struct Outputs {
    /// Left forward and reverse, right forward and reverse.
    currents: [Milliamps; 4],
    boom: Ratio,
    bucket: Ratio,
    phase: StartPhase,
    speed: Reading<Rpm>,
    contacts: u32,
}

impl Subject for Block {
    const NAME: &'static str = "path/propel";
    type Input = Inputs;
    type Output = Outputs;

    fn new() -> Self {
        const fn contact(set: u32, clear: u32) -> DebounceConfig {
            DebounceConfig { set_after: millis(set), clear_after: millis(clear) }
        }
        let ramp = built!(RateLimit::new(RateLimitConfig { rise: millis(600), fall: millis(300) }, TICK));
        let mut contacts = [contact(30, 30); CONTACTS];
        for config in contacts.iter_mut().take(CONTACTS / 2) {
            *config = contact(50, 20);
        }
        Self {
            contacts: started!(DebounceBank::new(contacts, TICK)),
            speed: built!(PulseSpeed::new(
                PulseSpeedConfig { teeth: 36, zero_speed_after: millis(200), fastest: Rpm::from_whole(2500) },
                TICK
            )),
            axis: built!(Axis::new(AxisConfig {
                deadband: permille(80),
                saturation: permille(980),
                progression: permille(300),
            })),
            start: built!(NeutralStart::new(NeutralStartConfig { hold: millis(100), frames: 3 }, TICK)),
            mixer: built!(Mixer::new(MixerConfig {
                law: MixLaw::Blended,
                pivot_point: permille(500),
                pivot_band: permille(100),
                sensitivity: permille(700),
                blend_drive: permille(200),
                convention: ReverseConvention::PathFollowing,
                reverse_blend: permille(150),
            })),
            left: ramp,
            right: ramp,
            ramped: Sides::ZERO,
            pump: built!(CurrentMap::new(CurrentMapConfig {
                threshold: Milliamps::saturating(420),
                end: Milliamps::saturating(1150),
            })),
        }
    }

    fn input(random: &mut Random, previous: Option<&Inputs>) -> Inputs {
        let Some(last) = previous else {
            return Inputs {
                levers: [Ratio::ZERO; 4],
                new_frame: false,
                ask: false,
                contacts: NEEDED,
                edges: 0,
                stamp: 0,
            };
        };
        // Levers rest in the middle until the start, and now and then.
        let let_go = random.once_in(150) || (last.levers == [Ratio::ZERO; 4] && !random.once_in(40));
        let bounce = if random.once_in(4) { 1_u32 << random.below(32) } else { 0 };
        // The wheel turns while the drive lever is out of the middle.
        let turning = last.levers[0] != Ratio::ZERO && !random.once_in(50);
        let edges = if turning { random.below(4).wrapping_add(6) } else { u32::from(random.once_in(40)) };
        let passed = if random.once_in(500) { random.bits() } else { random.below(1000).wrapping_add(9_500) };
        let stamp = last.stamp.wrapping_add(if edges == 0 { 0 } else { passed });
        Inputs {
            levers: if let_go {
                [Ratio::ZERO; 4]
            } else {
                last.levers.map(|lever| random.ratio(Some(lever)))
            },
            new_frame: random.below(2) == 0,
            ask: random.level(Some(last.ask), 10),
            contacts: (last.contacts ^ bounce) | if random.once_in(4) { 0 } else { NEEDED },
            edges: last.edges.wrapping_add(edges as u16),
            stamp,
        }
    }

    fn step(&mut self, input: &Inputs) -> Outputs {
        let contacts = self.contacts.step(input.contacts);
        let speed = self.speed.step(input.edges, input.stamp);
        let [drive, steer, boom, bucket] = input.levers.map(|lever| self.axis.step(lever));
        let phase = self.start.step(NeutralStartInputs {
            conditions: contacts & NEEDED == NEEDED,
            neutral: drive.is_zero() && steer.is_zero() && boom.is_zero() && bucket.is_zero(),
            new_frame: input.new_frame,
            ask: input.ask,
            ask_required: contacts & 1 == 0,
        });
        let mixed = self.mixer.step(drive, steer, self.ramped.mean());
        let target = if phase == StartPhase::Permitted { mixed } else { Sides::ZERO };
        self.ramped = Sides { left: self.left.step(target.left), right: self.right.step(target.right) };
        let Sides { left, right } = self.ramped;
        Outputs {
            currents: [left, left.reversed(), right, right.reversed()].map(|share| self.pump.step(share)),
            boom,
            bucket,
            phase,
            speed,
            contacts,
        }
    }

    fn input_words(input: &Inputs, into: &mut Words) -> usize {
        into[..4].copy_from_slice(&input.levers.map(Ratio::to_bits));
        into[4] = input.new_frame.into();
        into[5] = input.ask.into();
        into[6] = input.contacts.cast_signed();
        into[7] = input.edges.into();
        into[8] = input.stamp.cast_signed();
        9
    }

    fn output_words(output: &Outputs, into: &mut Words) -> usize {
        into[..4].copy_from_slice(&output.currents.map(|current| current.raw().into()));
        into[4] = output.boom.to_bits();
        into[5] = output.bucket.to_bits();
        into[6] = output.phase as i32;
        // In halves, so that each is exact in f32, too.
        into[7] = (output.contacts & 0xFFFF).cast_signed();
        into[8] = (output.contacts >> 16).cast_signed();
        reading_words::put(output.speed, Rpm::raw, into, 9)
    }
}
