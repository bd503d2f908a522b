//! What a block must say about itself to be weighed.

use crate::random::Random;

/// Most words that an input or an output has.
pub const WORDS: usize = 192;
/// An input or an output as the twins take and give it.
pub type Words = [i32; WORDS];

/// A block on the scale.
pub trait Subject: Sized {
    /// `room/block`, as the files are named: `lever/axis`.
    const NAME: &'static str;
    /// What a step takes.
    type Input: Copy;
    /// What a step gives.
    type Output: Copy;

    /// Steps at the head of most streams that are not counted: for a machine that starts up before it works. Every eighth
    /// stream is counted from its first step.
    const LEAD_IN: u32 = 0;

    /// The block with the configuration that its twins have, too. Period 10 ms; 1 ms in the coil loop.
    fn new() -> Self;

    /// The next input of a stream: mostly as a machine moves (slow changes, holds), now and then hostile.
    fn input(random: &mut Random, previous: Option<&Self::Input>) -> Self::Input;

    /// The next input of a stream when the block gave this: other than [`input`](Self::input) where what a block gives comes
    /// back to it, as a supply that it switches does.
    fn input_after(random: &mut Random, previous: &Self::Input, output: &Self::Output) -> Self::Input {
        let _ = output;
        Self::input(random, Some(previous))
    }

    /// One step: nothing but the block's own step. This is what is counted.
    fn step(&mut self, input: &Self::Input) -> Self::Output;

    /// An input in words, in the order in which the twins take them; gives how many. `bool` is 0 or 1, an enum its
    /// ordinal in the order of declaration.
    fn input_words(input: &Self::Input, into: &mut Words) -> usize;

    /// An output in words, likewise.
    fn output_words(output: &Self::Output, into: &mut Words) -> usize;
}

/// The function of a subject in `f32`, as a good engineer would write it for a controller with a floating-point unit.
pub trait FloatTwin: Sized {
    /// The subject.
    type Of: Subject;
    /// What a step takes, in natural units (share of full scale, mA, rpm …).
    type Input: Copy;
    /// What a step gives, in natural units.
    type Output: Copy;

    /// For each word of the output, how far it may be off, in the unit of that word; 0 for flags. The reason stands
    /// beside it in the twin.
    const DISTANCE: &'static [f32];
    /// Of a million steps, how many may lie farther off, because a threshold is passed a step earlier or later.
    const APART_IN_A_MILLION: u32;

    /// With the subject's configuration.
    fn new() -> Self;

    /// An input of the subject in natural units. Not counted: a program in `f32` has it in that form.
    fn input(words: &Words) -> Self::Input;

    /// One step. This is what is counted.
    fn step(&mut self, input: &Self::Input) -> Self::Output;

    /// The output in the units of the subject's words, not rounded; gives how many.
    fn output(output: &Self::Output, into: &mut [f32; WORDS]) -> usize;
}

/// What sees each step of a replay: words of the input, words of the output.
pub type Seer<'a> = &'a mut dyn FnMut(&Words, &[i32]);

/// A subject by its name.
pub struct Entry {
    /// `room/block`.
    pub name: &'static str,
    /// Steps a new block so many times through the stream of a seed.
    pub replay: fn(seed: u32, steps: u32, seer: Seer<'_>),
}

impl Entry {
    /// The entry of a subject.
    pub const fn of<S: Subject>() -> Self {
        Self { name: S::NAME, replay: replay::<S> }
    }
}

fn replay<S: Subject>(seed: u32, steps: u32, seer: Seer<'_>) {
    let mut random = Random::new(seed);
    let mut subject = S::new();
    let mut previous = None;
    let (mut given, mut taken) = ([0; WORDS], [0; WORDS]);
    for _ in 0..steps {
        let input = next::<S>(&mut random, previous.as_ref());
        let output = subject.step(&input);
        S::input_words(&input, &mut given);
        let count = S::output_words(&output, &mut taken);
        seer(&given, taken.get(..count).unwrap_or(&taken));
        previous = Some((input, output));
    }
}

/// The next input of a stream.
pub(crate) fn next<S: Subject>(random: &mut Random, previous: Option<&(S::Input, S::Output)>) -> S::Input {
    match previous {
        Some((input, output)) => S::input_after(random, input, output),
        None => S::input(random, None),
    }
}

/// What sees each step of a comparison: words of the subject's output, the twin's output in their units.
pub type Comparer<'a> = &'a mut dyn FnMut(&[i32], &[f32]);

/// A twin in `f32` by its name.
pub struct FloatEntry {
    /// `room/block`.
    pub name: &'static str,
    /// [`FloatTwin::DISTANCE`].
    pub distance: &'static [f32],
    /// [`FloatTwin::APART_IN_A_MILLION`].
    pub apart_in_a_million: u32,
    /// Steps subject and twin together so many times through the stream of a seed.
    pub compare: fn(seed: u32, steps: u32, comparer: Comparer<'_>),
}

impl FloatEntry {
    /// The entry of a twin.
    pub const fn of<T: FloatTwin>() -> Self {
        Self {
            name: <T::Of as Subject>::NAME,
            distance: T::DISTANCE,
            apart_in_a_million: T::APART_IN_A_MILLION,
            compare: compare::<T>,
        }
    }
}

fn compare<T: FloatTwin>(seed: u32, steps: u32, comparer: Comparer<'_>) {
    let mut twin = T::new();
    let mut natural = [0.0; WORDS];
    replay::<T::Of>(seed, steps, &mut |given, taken| {
        let output = twin.step(&T::input(given));
        let count = T::output(&output, &mut natural);
        comparer(taken, natural.get(..count).unwrap_or(&natural));
    });
}
