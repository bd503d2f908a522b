//! Work in numbered pieces on several threads, with results in the order of the numbers.

use std::{
    sync::{
        Mutex, PoisonError,
        atomic::{AtomicU64, Ordering},
    },
    thread,
};

/// Does the pieces 0 to `count` on `threads` threads. What is given does not depend on their number.
pub fn in_order<R: Send>(threads: usize, count: u64, piece: impl Fn(u64) -> R + Sync) -> Vec<R> {
    let next = AtomicU64::new(0);
    let done = Mutex::new(Vec::new());
    thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| {
                loop {
                    let number = next.fetch_add(1, Ordering::Relaxed);
                    if number >= count {
                        return;
                    }
                    let result = piece(number);
                    done.lock().unwrap_or_else(PoisonError::into_inner).push((number, result));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(number, _)| *number);
    done.into_iter().map(|(_, result)| result).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_come_in_the_order_of_their_numbers_on_any_number_of_threads() {
        for threads in [0, 1, 3] {
            assert_eq!(in_order(threads, 5, |number| number * number), [0, 1, 4, 9, 16]);
        }
    }
}
