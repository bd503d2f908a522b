//! The twins in C, compiled for the host.
#![allow(unsafe_code)] // calls into C

use core::ffi::c_void;

include!(concat!(env!("OUT_DIR"), "/c_twins.rs"));

/// Bytes that hold the state of the largest twin.
const LARGEST: usize = 16_384;

/// A block by hand in C, as one compiler built it.
pub struct CTwin {
    /// `room/block`.
    pub name: &'static str,
    /// `gcc` or `clang`.
    pub compiler: &'static str,
    size: *const u32,
    new: unsafe extern "C" fn(*mut c_void),
    step: unsafe extern "C" fn(*mut c_void, *const i32, *mut i32),
}

// SAFETY: a size that is never written, and functions.
unsafe impl Sync for CTwin {}

impl CTwin {
    /// Bytes of its state.
    pub fn size(&self) -> u32 {
        // SAFETY: a constant that the twin defines.
        unsafe { *self.size }
    }

    /// A new state; `None` when it is larger than any state may be.
    pub fn start(&'static self) -> Option<RunningTwin> {
        if self.size() as usize > LARGEST {
            return None;
        }
        let mut state = RunningTwin { twin: self, memory: [0xA5A5_A5A5_A5A5_A5A5; LARGEST / 8] };
        // SAFETY: the memory is as large as the twin says, aligned for any of its members, and not shared.
        unsafe { (self.new)(state.memory.as_mut_ptr().cast()) };
        Some(state)
    }
}

/// A twin and its state. The state holds no address of itself, so it may move.
pub struct RunningTwin {
    twin: &'static CTwin,
    memory: [u64; LARGEST / 8],
}

impl RunningTwin {
    /// One step. `input` and `output` are as many words as the subject has.
    pub fn step(&mut self, input: &crate::scale::Words, output: &mut crate::scale::Words) {
        // SAFETY: as in `start`; the twin reads and writes fewer words than these arrays hold.
        unsafe { (self.twin.step)(self.memory.as_mut_ptr().cast(), input.as_ptr(), output.as_mut_ptr()) };
    }
}
