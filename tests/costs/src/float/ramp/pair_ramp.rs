//! Both sides as a pair, in `f32`.

use super::motion_ramp::{Phase, Rates};
use crate::float::number::{ONE, larger, opposed, share, smaller};
use crate::float::sides::Sides;
use crate::scale::{FloatTwin, WORDS, Words};
use crate::subject::ramp::pair_ramp::Block;

/// The configuration, resolved to a step, and the state.
pub struct PairRamp {
    forward: Rates,
    reverse: Rates,
    rotation: Rates,
    stop: f32,
    dwell: u32,
    present: Sides,
    came_from: Sides,
    rested: u32,
    phase: Phase,
}

impl PairRamp {
    /// At zero; the stop as share of full scale per step, the dwell in steps.
    pub(crate) fn with(forward: Rates, reverse: Rates, rotation: Rates, stop: f32, dwell: u32) -> Self {
        Self {
            forward,
            reverse,
            rotation,
            stop,
            dwell,
            present: Sides::ZERO,
            came_from: Sides::ZERO,
            rested: 0,
            phase: Phase::Holding,
        }
    }

    pub(crate) fn step(&mut self, target: Sides, controlled_stop: bool) -> Sides {
        let asked = if controlled_stop { Sides::ZERO } else { target };
        let present = self.present;
        if present.is_zero() {
            self.rested = self.rested.saturating_add(1);
        }
        let must_rest = self.rested < self.dwell && present.is_zero() && opposes(self.came_from, asked);
        let direction = if present.sum() == 0.0 { asked.sum() } else { present.sum() };
        let drive = if direction < 0.0 { &self.reverse } else { &self.forward };

        let next = if must_rest {
            present
        } else if controlled_stop {
            let eased = towards_zero(present, drive.decelerate, self.rotation.decelerate);
            let stopped = stopped(present, self.stop);
            if largest(stopped) < largest(eased) { stopped } else { eased }
        } else if asked.is_zero() {
            towards_zero(present, drive.decelerate, self.rotation.decelerate)
        } else if opposes(present, asked) {
            towards_zero(present, drive.reverse, self.rotation.reverse)
        } else {
            towards(present, asked, drive, &self.rotation)
        };
        self.phase = phase(if must_rest { self.came_from } else { present }, asked);
        self.present = next;
        if !next.is_zero() {
            self.came_from = next;
            self.rested = 0;
        }
        next
    }

    pub(crate) fn phase(&self) -> Phase {
        self.phase
    }
}

fn largest(sides: Sides) -> f32 {
    larger(sides.left.abs(), sides.right.abs())
}

/// Travel against travel, or spin against spin.
fn opposes(sides: Sides, other: Sides) -> bool {
    if sides.sum() == 0.0 && other.sum() == 0.0 {
        opposed(sides.difference(), other.difference())
    } else {
        opposed(sides.sum(), other.sum())
    }
}

fn towards_zero(sides: Sides, drive: f32, rotation: f32) -> Sides {
    let (travel, turn) = (sides.sum().abs(), sides.difference().abs());
    let less_travel = larger(travel - 2.0 * drive, 0.0);
    let less_turn = larger(turn - 2.0 * rotation, 0.0);
    if less_travel * turn < less_turn * travel || travel == 0.0 {
        if turn == 0.0 { Sides::ZERO } else { sides.scaled(less_turn / turn) }
    } else {
        sides.scaled(less_travel / travel)
    }
}

fn stopped(sides: Sides, rate: f32) -> Sides {
    let largest = largest(sides);
    if largest == 0.0 { Sides::ZERO } else { sides.scaled(larger(largest - rate, 0.0) / largest) }
}

fn towards(sides: Sides, asked: Sides, drive: &Rates, rotation: &Rates) -> Sides {
    let side = if asked.difference() < 0.0 { -1.0 } else { 1.0 };
    let way = if asked.sum() < 0.0 || (asked.sum() == 0.0 && sides.sum() < 0.0) { -1.0 } else { 1.0 };
    let on_way = OnWay {
        travel: sides.sum() * way,
        turn: sides.difference() * side,
        asked_travel: asked.sum() * way,
        asked_turn: asked.difference() * side,
    };
    let mut travel = on_way.next_travel(drive, rotation);
    let mut turn = approach(on_way.turn, on_way.turn_goal(travel), rotation);
    // No side above full scale: what grew gives way to what did not.
    if travel.abs() + turn.abs() > 2.0 {
        if turn.abs() > on_way.turn.abs() {
            let room = 2.0 - travel.abs();
            turn = if turn < 0.0 { -room } else { room };
        } else {
            travel = 2.0 - turn.abs();
        }
    }
    travel *= way;
    turn *= side;
    Sides { left: (travel + turn) * 0.5, right: (travel - turn) * 0.5 }
}

/// One period of a doubled quantity.
fn approach(from: f32, goal: f32, rates: &Rates) -> f32 {
    let doubled = Rates {
        accelerate: 2.0 * rates.accelerate,
        decelerate: 2.0 * rates.decelerate,
        reverse: 2.0 * rates.reverse,
    };
    doubled.approach(from, goal)
}

/// The present and the asked motion, mirrored so that what is asked is forward and clockwise.
struct OnWay {
    travel: f32,
    turn: f32,
    asked_travel: f32,
    asked_turn: f32,
}

impl OnWay {
    fn ray(&self, travel: f32) -> f32 {
        self.asked_turn * travel / self.asked_travel
    }

    fn travel_on_ray(&self, turn: f32) -> f32 {
        turn * self.asked_travel / self.asked_turn
    }

    fn next_travel(&self, drive: &Rates, rotation: &Rates) -> f32 {
        let free = approach(self.travel, self.asked_travel, drive);
        if self.asked_turn == 0.0 || self.asked_travel == 0.0 {
            free
        } else if self.travel < self.asked_travel {
            larger(smaller(free, self.most_travel(rotation)), self.travel)
        } else if self.travel > self.asked_travel && self.turn > self.asked_turn {
            larger(free, smaller(self.least_travel(rotation), self.travel))
        } else {
            free
        }
    }

    fn most_travel(&self, rotation: &Rates) -> f32 {
        let rate = 2.0 * if self.turn < 0.0 { rotation.reverse } else { rotation.accelerate };
        let lag = self.ray(self.travel) - self.turn;
        if lag <= 0.0 {
            self.travel_on_ray(self.turn + rate)
        } else {
            self.travel + self.travel_on_ray(rate - smaller(lag, rate * 0.5))
        }
    }

    fn least_travel(&self, rotation: &Rates) -> f32 {
        let rate = 2.0 * rotation.decelerate;
        let excess = self.turn - self.ray(self.travel);
        if excess <= 0.0 {
            self.travel_on_ray(larger(self.turn - rate, 0.0))
        } else {
            self.travel - self.travel_on_ray(rate - smaller(excess, rate * 0.5))
        }
    }

    fn turn_goal(&self, next_travel: f32) -> f32 {
        if self.asked_turn == 0.0 || self.asked_travel == 0.0 {
            self.asked_turn
        } else if self.travel < self.asked_travel {
            self.ray(next_travel)
        } else if self.turn > self.asked_turn {
            larger(smaller(self.ray(next_travel), self.turn), self.asked_turn)
        } else {
            self.asked_turn
        }
    }
}

fn phase(present: Sides, asked: Sides) -> Phase {
    if opposes(present, asked) {
        return Phase::Reversing;
    }
    let (is, shall) = if present.sum() == asked.sum() {
        (present.difference(), asked.difference())
    } else {
        (present.sum(), asked.sum())
    };
    if is == shall {
        Phase::Holding
    } else if !opposed(is, shall) && shall.abs() > is.abs() {
        Phase::Accelerating
    } else {
        Phase::Decelerating
    }
}

/// What the machine does: standing, forward, reverse, rotation.
fn state(sides: Sides) -> u8 {
    if sides.is_zero() {
        0
    } else if opposed(sides.left, sides.right) {
        3
    } else if sides.sum() > 0.0 {
        1
    } else {
        2
    }
}

/// The block with the configuration of its subject.
pub struct Twin(PairRamp);

impl FloatTwin for Twin {
    type Of = Block;
    type Input = (Sides, bool);
    type Output = (Sides, Phase);

    // Four millionths of full scale. Farther off where a threshold is passed a step apart: zero, on which the dwell begins,
    // and the ray to what is asked. The phase differs more often: the twin may stay one unit in the last place short of what is asked.
    const DISTANCE: &'static [f32] = &[4096.0, 4096.0, 0.0, 0.0];
    const APART_IN_A_MILLION: u32 = 80_000;

    fn new() -> Self {
        Self(PairRamp::with(
            Rates::of(1800.0, 1200.0, 1000.0),
            Rates::of(2000.0, 1300.0, 1100.0),
            Rates::of(1300.0, 800.0, 700.0),
            10.0 / 1000.0,
            10,
        ))
    }

    fn input(words: &Words) -> Self::Input {
        (Sides { left: share(words[0]), right: share(words[1]) }, words[2] != 0)
    }

    fn step(&mut self, input: &Self::Input) -> Self::Output {
        let ramped = self.0.step(input.0, input.1);
        (ramped, self.0.phase())
    }

    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize {
        into[0] = output.0.left * ONE;
        into[1] = output.0.right * ONE;
        into[2] = f32::from(output.1 as u8);
        into[3] = f32::from(state(output.0));
        4
    }
}
