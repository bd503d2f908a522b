//! The image in which a subject is weighed: no log, no interrupt, one line after another to the computer that runs it.
//!
//! ```text
//! implementation rust        its name; those of the twins follow in the same image
//! state 18                   bytes of its state
//! ticks 0000033a…            a stream, eight digits a step: what the counter counted around it
//! stack 00000018…            a stream, eight digits a step: the deepest byte of the stack that was written
//! checksum 5bd1e995          over all outputs of all streams
//! end
//! ```
//!
//! Numbers are hexadecimal, for want of division on the smallest core. What the counter counts around an empty call is told
//! first, and a function of a hundred instructions shows that the counter is understood.
#![allow(unsafe_code)] // counters, calls by address, a handler that must not exist

mod probe;
mod semihosting;

use core::ffi::c_void;
use core::mem::MaybeUninit;

use crate::random::Random;
use crate::scale::{FloatTwin, Subject, WORDS, Words, next};
use probe::{Step, counted, depth};
use semihosting::{put_number, put_numbers, put_text};

/// Streams that are counted, each with a new block.
pub const STREAMS: u32 = 64;
/// Steps of a stream.
pub const STEPS: usize = 256;
/// After those, streams in which the stack is looked at.
const ALL_STREAMS: u32 = STREAMS + 4;
/// Bytes for the state of a twin in C.
const LARGEST_TWIN: usize = 4_096;

/// The two functions that a program needs which has this block and nothing else.
#[doc(hidden)]
#[macro_export]
macro_rules! alone {
    ($subject:ty) => {
        #[unsafe(no_mangle)]
        unsafe extern "C" fn block_new(state: *mut core::ffi::c_void) {
            unsafe { $crate::image::new::<$subject>(state) }
        }

        #[unsafe(no_mangle)]
        unsafe extern "C" fn block_step(
            state: *mut core::ffi::c_void,
            input: *const core::ffi::c_void,
            output: *mut core::ffi::c_void,
        ) {
            unsafe { $crate::image::step::<$subject>(state, input, output) }
        }
    };
}

/// Makes the image of a subject, with its twin in `f32` if it has one. The root of an image is this line:
///
/// ```text
/// costs::image!(costs::subject::lever::axis::Block; float costs::float::lever::axis::Twin);
/// ```
#[macro_export]
macro_rules! image {
    ($subject:ty $(; float $float:ty)?) => {
        $crate::alone!($subject);

        #[unsafe(no_mangle)]
        extern "C" fn weigh() -> ! {
            $crate::image::begin();
            unsafe { $crate::image::weigh_block::<$subject>(block_step) };
            $( unsafe { $crate::image::weigh_float::<$float>(block_step) }; )?
            $crate::image::end()
        }
    };
}

/// Makes the image of a subject's twins in C, which the linker adds:
///
/// ```text
/// costs::twin_image!(costs::subject::lever::axis::Block; "gcc" lever_axis_size_gcc lever_axis_new_gcc lever_axis_step_gcc);
/// ```
#[macro_export]
macro_rules! twin_image {
    ($subject:ty $(; $compiler:literal $size:ident $new:ident $step:ident)+) => {
        $crate::alone!($subject);

        unsafe extern "C" {
            $(
                static $size: u32;
                fn $new(state: *mut core::ffi::c_void);
                fn $step(
                    state: *mut core::ffi::c_void,
                    input: *const core::ffi::c_void,
                    output: *mut core::ffi::c_void,
                );
            )+
        }

        #[unsafe(no_mangle)]
        extern "C" fn weigh() -> ! {
            $crate::image::begin();
            $( unsafe { $crate::image::weigh_c::<$subject>($compiler, $size, $new, $step, block_step) }; )+
            $crate::image::end()
        }
    };
}

/// Puts a new block at `state`.
///
/// # Safety
/// `state` is memory for it.
pub unsafe fn new<S: Subject>(state: *mut c_void) {
    // SAFETY: as asked of the caller.
    unsafe { state.cast::<S>().write(S::new()) };
}

/// One step in the shape that all implementations share.
///
/// # Safety
/// `state` holds the block, `input` its input; `output` is memory for its output; none of them overlap.
#[inline(always)]
pub unsafe fn step<S: Subject>(state: *mut c_void, input: *const c_void, output: *mut c_void) {
    // SAFETY: as asked of the caller. References, because they tell the compiler that nothing overlaps.
    let (state, input, output) = unsafe {
        (&mut *state.cast::<S>(), &*input.cast::<S::Input>(), &mut *output.cast::<MaybeUninit<S::Output>>())
    };
    output.write(state.step(input));
}

unsafe extern "C" fn step_float<T: FloatTwin>(state: *mut c_void, input: *const c_void, output: *mut c_void) {
    // SAFETY: called by `weigh_float` only, with what the names say.
    let (state, input, output) = unsafe {
        (&mut *state.cast::<T>(), &*input.cast::<T::Input>(), &mut *output.cast::<MaybeUninit<T::Output>>())
    };
    output.write(state.step(input));
}

/// Starts the counter and tells what it counts around nothing, and around a hundred instructions.
pub fn begin() {
    probe::start();
    let nothing: *mut c_void = core::ptr::null_mut();
    for (name, function) in [("empty", probe::nothing as Step), ("hundred", probe::hundred as Step)] {
        // SAFETY: functions that touch nothing.
        let ticks = unsafe { counted(function, nothing, nothing, nothing) };
        put_number(name, ticks);
    }
}

/// Ends the run: what makes the inputs of a stream, or a twin, has panicked. The linker leads panics of a whole image here;
/// the block alone is linked without it.
#[unsafe(no_mangle)]
extern "C" fn broke_off() -> ! {
    put_text("a panic\n");
    semihosting::exit()
}

/// Says that all is said, and ends the run.
pub fn end() -> ! {
    put_text("end\n");
    semihosting::exit()
}

/// Weighs a block.
///
/// # Safety
/// `block` is [`step`] of this subject.
pub unsafe fn weigh_block<S: Subject>(block: Step) {
    let mut sheet = Sheet::begin("rust", size_of::<S>());
    for seed in 0..ALL_STREAMS {
        let mut state = S::new();
        sheet.each_input::<S>(seed, |sheet, input| {
            let mut output = MaybeUninit::<S::Output>::uninit();
            // SAFETY: a block, its input, memory for its output, and its step, which writes the output.
            let output = unsafe {
                sheet.weigh(
                    block,
                    (&raw mut state).cast(),
                    (&raw const *input).cast(),
                    output.as_mut_ptr().cast(),
                );
                output.assume_init()
            };
            let mut words = [0; WORDS];
            S::output_words(&output, &mut words);
            sheet.check(&words);
            output
        });
    }
    sheet.end();
}

/// Weighs a twin in `f32`. Its outputs are not checked: they are near those of the block, not the same.
///
/// # Safety
/// `block` is [`step`] of the twin's subject.
pub unsafe fn weigh_float<T: FloatTwin>(block: Step) {
    let mut sheet = Sheet::begin("float", size_of::<T>());
    for seed in 0..ALL_STREAMS {
        let (mut state, mut beside) = (T::new(), <T::Of as Subject>::new());
        sheet.each_input::<T::Of>(seed, |sheet, input| {
            let mut words = [0; WORDS];
            <T::Of as Subject>::input_words(input, &mut words);
            let natural = T::input(&words);
            let mut output = MaybeUninit::<T::Output>::uninit();
            // SAFETY: a twin, its input, memory for its output, and its step; then a block and its step.
            unsafe {
                sheet.weigh(
                    step_float::<T>,
                    (&raw mut state).cast(),
                    (&raw const natural).cast(),
                    output.as_mut_ptr().cast(),
                );
                step_beside(block, &mut beside, input)
            }
        });
    }
    sheet.end();
}

/// Weighs a twin in C.
///
/// # Safety
/// `size`, `new` and `twin` belong together and are what tests/costs/README.md says; `block` is [`step`] of the subject.
pub unsafe fn weigh_c<S: Subject>(
    compiler: &str,
    size: u32,
    new: unsafe extern "C" fn(*mut c_void),
    twin: Step,
    block: Step,
) {
    let mut sheet = Sheet::begin(compiler, size as usize);
    if size as usize > LARGEST_TWIN {
        put_text("too large\n");
        return;
    }
    for seed in 0..ALL_STREAMS {
        let mut state = MaybeUninit::<[u64; LARGEST_TWIN / 8]>::uninit();
        // SAFETY: memory that is large enough.
        unsafe { new(state.as_mut_ptr().cast()) };
        let mut beside = S::new();
        sheet.each_input::<S>(seed, |sheet, input| {
            let (mut given, mut taken): (Words, Words) = ([0; WORDS], [0; WORDS]);
            S::input_words(input, &mut given);
            // SAFETY: a twin, words of its input, more words than its output has, and its step; then a block and its step.
            let output = unsafe {
                sheet.weigh(
                    twin,
                    state.as_mut_ptr().cast(),
                    given.as_ptr().cast(),
                    taken.as_mut_ptr().cast(),
                );
                step_beside(block, &mut beside, input)
            };
            sheet.check(&taken);
            output
        });
    }
    sheet.end();
}

/// Steps the block beside its twin, uncounted: what it gives decides on the next input.
///
/// # Safety
/// `block` is [`step`] of this subject.
unsafe fn step_beside<S: Subject>(block: Step, state: &mut S, input: &S::Input) -> S::Output {
    let mut output = MaybeUninit::<S::Output>::uninit();
    // SAFETY: a block, its input, memory for its output, and its step, which writes the output.
    unsafe {
        block((&raw mut *state).cast(), (&raw const *input).cast(), output.as_mut_ptr().cast());
        output.assume_init()
    }
}

/// What was counted of one implementation.
struct Sheet {
    /// Of the stream that is under way: ticks, or bytes of stack.
    figures: [u32; STEPS],
    place: usize,
    /// Steps that are not yet kept.
    leading_in: u32,
    /// This stream is for the stack.
    deep: bool,
    checksum: u32,
}

impl Sheet {
    fn begin(implementation: &str, size: usize) -> Self {
        put_text("implementation ");
        put_text(implementation);
        put_text("\n");
        put_number("state", size as u32);
        Self { figures: [0; STEPS], place: 0, leading_in: 0, deep: false, checksum: 0x811C_9DC5 }
    }

    /// Goes through the inputs of a stream and tells what was counted.
    fn each_input<S: Subject>(&mut self, seed: u32, mut step: impl FnMut(&mut Self, &S::Input) -> S::Output) {
        self.place = 0;
        self.deep = seed >= STREAMS;
        self.leading_in = if seed % 8 == 0 { 0 } else { S::LEAD_IN };
        let (mut random, mut previous) = (Random::new(seed), None);
        while self.place < STEPS {
            let input = next::<S>(&mut random, previous.as_ref());
            let output = step(self, &input);
            previous = Some((input, output));
        }
        put_numbers(if self.deep { "stack" } else { "ticks" }, &self.figures);
    }

    /// One step.
    ///
    /// # Safety
    /// As `function` asks.
    unsafe fn weigh(
        &mut self,
        function: Step,
        state: *mut c_void,
        input: *const c_void,
        output: *mut c_void,
    ) {
        let probe = if self.deep { depth } else { counted };
        // SAFETY: as asked of the caller.
        let figure = unsafe { probe(function, state, input, output) };
        if self.leading_in > 0 {
            self.leading_in = self.leading_in.wrapping_sub(1);
            return;
        }
        if let Some(place) = self.figures.get_mut(self.place) {
            *place = figure;
        }
        self.place = self.place.wrapping_add(1);
    }

    /// FNV-1a over words.
    fn check(&mut self, words: &Words) {
        for word in words {
            self.checksum = (self.checksum ^ *word as u32).wrapping_mul(0x0100_0193);
        }
    }

    fn end(&self) {
        put_number("checksum", self.checksum);
    }
}

/// A block that can panic, to show that the proof can fail: its image must not link.
pub struct Planted(u32);

impl Subject for Planted {
    const NAME: &'static str = "image/planted";
    type Input = u32;
    type Output = u32;

    fn new() -> Self {
        Self(1)
    }

    fn input(random: &mut Random, _: Option<&u32>) -> u32 {
        random.bits()
    }

    fn step(&mut self, input: &u32) -> u32 {
        assert!(*input != self.0, "planted");
        self.0 = *input;
        *input
    }

    fn input_words(input: &u32, into: &mut Words) -> usize {
        into[0] = input.cast_signed();
        1
    }

    fn output_words(output: &u32, into: &mut Words) -> usize {
        Self::input_words(output, into)
    }
}

mod panic {
    use core::panic::PanicInfo;

    unsafe extern "C" {
        /// Defined nowhere. The linker names the function from which it is reached.
        fn a_panic_is_reachable_in_this_image() -> !;
    }

    #[panic_handler]
    fn panic(_: &PanicInfo<'_>) -> ! {
        // SAFETY: an image in which this could be called is not built.
        unsafe { a_panic_is_reachable_in_this_image() }
    }
}
