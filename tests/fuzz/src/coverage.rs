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
    known: Vec<u8>,
    edges: usize,
}

impl Seen {
    /// Nothing passed yet. One at a time may be in use: the counters belong to the whole program.
    pub fn new() -> Self {
        let areas = AREAS.lock().map(|areas| areas.clone()).unwrap_or_default();
        let bytes = areas.iter().map(|(_, length)| length).sum();
        Self { areas, known: vec![0; bytes], edges: 0 }
    }

    /// Edges that the program has; 0 when it was built without counters.
    pub const fn possible(&self) -> usize {
        self.known.len()
    }

    /// Edges that were passed.
    pub const fn edges(&self) -> usize {
        self.edges
    }

    /// Sets all counters to zero.
    pub fn reset(&self) {
        for (start, length) in &self.areas {
            // SAFETY: the area was told by the compiler's own start-up code and lives as long as the program; only this
            // thread runs instrumented code while a target is driven.
            unsafe { std::ptr::write_bytes(*start as *mut u8, 0, *length) };
        }
    }

    /// Takes the counters in: true when an edge was passed for the first time, or by a new order of magnitude.
    pub fn is_news(&mut self) -> bool {
        let mut news = false;
        let mut known = self.known.iter_mut();
        for (start, length) in &self.areas {
            // SAFETY: as in `reset`.
            let counters = unsafe { std::slice::from_raw_parts(*start as *const u8, *length) };
            for (count, known) in counters.iter().zip(known.by_ref()) {
                if *count == 0 {
                    continue;
                }
                let bit = 1_u8 << (7 - count.leading_zeros().min(7));
                if *known & bit == 0 {
                    self.edges += usize::from(*known == 0);
                    *known |= bit;
                    news = true;
                }
            }
        }
        news
    }
}
