//! The cut-off and every coil, looked at once before anything moves.

use trunnion::guard::CutOffTestConfig;
use trunnion::quantity::{Milliamps, Millivolts};
use trunnion::valve::{StartUpState, StartUpTest, StartUpTestConfig, TestPulseConfig};

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::{TICK, millis, permille};

/// Coils of the machine.
const COILS: usize = 8;

/// Eight coils, 200 mA for 80 ms each.
pub struct Block(StartUpTest<COILS>);

/// What the wiring brings.
#[derive(Clone, Copy)]
pub struct Inputs {
    ready: bool,
    read_back: Millivolts,
    measured: [Milliamps; COILS],
}

/// The state, the supply that is asked for, and the set-point of each coil.
#[derive(Clone, Copy)]
pub struct Outputs {
    state: StartUpState,
    supply_on: bool,
    set_points: [Milliamps; COILS],
}

impl Subject for Block {
    const NAME: &'static str = "valve/start_up_test";
    type Input = Inputs;
    type Output = Outputs;

    fn new() -> Self {
        Self(built!(StartUpTest::new(
            StartUpTestConfig {
                cut_off: CutOffTestConfig {
                    settle: millis(60),
                    low: Millivolts::saturating(3_000),
                    high: Millivolts::saturating(6_000),
                },
                pulse: TestPulseConfig {
                    current: Milliamps::saturating(200),
                    length: millis(80),
                    pass: permille(500),
                },
                decay: millis(50),
            },
            TICK
        )))
    }

    fn input(_: &mut Random, _: Option<&Inputs>) -> Inputs {
        Inputs { ready: false, read_back: Millivolts::ZERO, measured: [Milliamps::ZERO; COILS] }
    }

    /// Supply and currents follow what is asked for; now and then a relay sticks, or a coil is open for a step.
    fn input_after(random: &mut Random, previous: &Inputs, output: &Outputs) -> Inputs {
        let on = output.supply_on != random.once_in(400);
        let mut measured = output.set_points;
        for current in &mut measured {
            if random.once_in(60) {
                *current = Milliamps::saturating(random.below(250).into());
            }
        }
        Inputs {
            ready: previous.ready != random.once_in(if previous.ready { 300 } else { 4 }),
            read_back: Millivolts::saturating(if on { 12_000 } else { 400 }),
            measured,
        }
    }

    fn step(&mut self, input: &Inputs) -> Outputs {
        let state = self.0.step(input.ready, input.read_back, &input.measured);
        Outputs { state, supply_on: self.0.supply_on(), set_points: self.0.set_points() }
    }

    fn input_words(input: &Inputs, into: &mut Words) -> usize {
        into[0] = input.ready.into();
        into[1] = input.read_back.raw().into();
        currents(&input.measured, into, 2)
    }

    fn output_words(output: &Outputs, into: &mut Words) -> usize {
        into[0] = output.state as i32;
        into[1] = output.supply_on.into();
        currents(&output.set_points, into, 2)
    }
}

fn currents(currents: &[Milliamps; COILS], into: &mut Words, place: usize) -> usize {
    for (word, current) in into.iter_mut().skip(place).zip(currents) {
        *word = current.raw().into();
    }
    place.wrapping_add(COILS)
}
