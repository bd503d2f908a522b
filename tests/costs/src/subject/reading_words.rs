//! Readings as the twins take and give them.

use trunnion::sense::Reading;

use crate::scale::Words;

/// Two words from this place on: the health by its ordinal, then the value, 0 where there is none. Gives the next place.
pub fn put<T: Copy>(
    reading: Reading<T>,
    value: impl FnOnce(T) -> i32,
    into: &mut Words,
    place: usize,
) -> usize {
    let words = [reading.health() as i32, reading.valid().map_or(0, value)];
    for (word, of_reading) in into.iter_mut().skip(place).zip(words) {
        *word = of_reading;
    }
    place.wrapping_add(words.len())
}
