//! Which edges of the program an input has passed, by counters that the compiler puts there.
//!
//! `-C passes=sancov-module` with `-C llvm-args=-sanitizer-coverage-inline-8bit-counters` gives each edge a byte that
//! counts; a start-up function of each object file tells where its bytes are. Without these flags there are none.

use std::sync::Mutex;

/// Start and number of bytes of each object file.
static AREAS: Mutex<Vec<(usize, usize)>> = Mutex::new(Vec::new());

/// Called by code that the compiler adds, once for each object file, before `main`.
///
/// # Safety
/// `start` and `stop` are the ends of one array that lives as long as the program.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn __sanitizer_cov_8bit_counters_init(start: *mut u8, stop: *mut u8) {
    let area = (start as usize, (stop as usize).saturating_sub(start as usize));
    if let Ok(mut areas) = AREAS.lock()
        && area.1 > 0
        && !areas.contains(&area)
    {
        areas.push(area);
    }
}

/// Called with the table of edges, which is not needed here.
///
/// # Safety
/// Nothing is read.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn __sanitizer_cov_pcs_init(_: *const usize, _: *const usize) {}

/// What has been passed so far by any input.
#[derive(Debug, Default)]
pub struct Seen {
    areas: Vec<(usize, usize)>,
    /// Per edge a bit for each order of magnitude of its count.
    known: Vec<Vec<u8>>,
    /// Areas in which a target was seen to pass anything: only they are looked at for each input.
    active: Vec<bool>,
    edges: usize,
    inputs: u64,
}

/// All areas are looked at for the first inputs, and for one of so many later on.
const ALL_AREAS_EVERY: u64 = 1024;

impl Seen {
    /// Nothing passed yet. One at a time may be in use: the counters belong to the whole program.
    pub fn new() -> Self {
        let areas = AREAS.lock().map(|areas| areas.clone()).unwrap_or_default();
        let known: Vec<Vec<u8>> = areas.iter().map(|(_, length)| vec![0; *length]).collect();
        Self { active: vec![true; areas.len()], areas, known, edges: 0, inputs: 0 }
    }

    /// Edges that the program has; 0 when it was built without counters.
    pub fn possible(&self) -> usize {
        self.known.iter().map(Vec::len).sum()
    }

    /// Edges that were passed.
    pub const fn edges(&self) -> usize {
        self.edges
    }

    /// Sets the counters to zero before an input is run.
    pub fn reset(&mut self) {
        self.inputs += 1;
        let all = self.looks_at_all();
        for ((start, length), _) in self.areas.iter().zip(&self.active).filter(|(_, active)| all || **active)
        {
            // SAFETY: the area was told by the compiler's own start-up code and lives as long as the program; only this
            // thread runs instrumented code while a target is driven.
            unsafe { std::ptr::write_bytes(*start as *mut u8, 0, *length) };
        }
    }

    const fn looks_at_all(&self) -> bool {
        self.inputs <= ALL_AREAS_EVERY || self.inputs.is_multiple_of(ALL_AREAS_EVERY)
    }

    /// Takes the counters in: true when an edge was passed for the first time, or by a new order of magnitude.
    pub fn is_news(&mut self) -> bool {
        let all = self.looks_at_all();
        if self.inputs == 1 {
            self.active.fill(false);
        }
        let mut news = false;
        for (((start, length), known), active) in self.areas.iter().zip(&mut self.known).zip(&mut self.active)
        {
            if !all && !*active {
                continue;
            }
            // SAFETY: as in `reset`.
            let counters = unsafe { std::slice::from_raw_parts(*start as *const u8, *length) };
            for (counts, known) in counters.chunks(8).zip(known.chunks_mut(8)) {
                // Mostly nothing was passed: eight bytes are looked at together.
                if counts.iter().fold(0, |any, count| any | *count) == 0 {
                    continue;
                }
                *active = true;
                for (count, known) in counts.iter().zip(known).filter(|(count, _)| **count > 0) {
                    let bit = 1_u8 << (7 - count.leading_zeros().min(7));
                    if *known & bit == 0 {
                        self.edges += usize::from(*known == 0);
                        *known |= bit;
                        news = true;
                    }
                }
            }
        }
        news
    }
}
