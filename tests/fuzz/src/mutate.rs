//! Inputs from inputs.

/// A small generator with a seed (xorshift*, Vigna 2016).
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// The same seed gives the same sequence.
    pub const fn new(seed: u64) -> Self {
        Self(seed ^ 0x9E37_79B9_7F4A_7C15)
    }

    /// The next word.
    pub const fn word(&mut self) -> u64 {
        let mut word = if self.0 == 0 { 1 } else { self.0 };
        word ^= word >> 12;
        word ^= word << 25;
        word ^= word >> 27;
        self.0 = word;
        word.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// Below a bound; 0 when that is 0.
    pub fn below(&mut self, bound: usize) -> usize {
        ((u128::from(self.word()) * bound as u128) >> 64) as usize
    }
}

/// Longest input.
pub const LONGEST: usize = 768;
/// Bytes at which decoders decide.
const TELLING: [u8; 16] = [0, 1, 2, 3, 7, 8, 16, 0x10, 0x20, 0x21, 0x30, 0x7F, 0x80, 0xFA, 0xFE, 0xFF];

/// A few changes, of which each is small; `other` is a second input to take parts from.
pub fn mutated(random: &mut Random, input: &[u8], other: &[u8]) -> Vec<u8> {
    let mut bytes = input.to_vec();
    for _ in 0..=random.below(4) {
        change(random, &mut bytes, other);
    }
    bytes.truncate(LONGEST);
    bytes
}

fn change(random: &mut Random, bytes: &mut Vec<u8>, other: &[u8]) {
    let place = random.below(bytes.len());
    match random.below(8) {
        0 => {
            let at = random.below(bytes.len() + 1);
            bytes.insert(at, random.word() as u8);
        }
        1 if !bytes.is_empty() => drop(bytes.remove(place)),
        2 => {
            let from = random.below(other.len());
            let count = random.below((other.len() - from).min(32) + 1);
            let at = random.below(bytes.len() + 1);
            let part: Vec<u8> = other[from..from + count].to_vec();
            bytes.splice(at..at, part);
        }
        3 if !bytes.is_empty() => {
            let end = (place + 1 + random.below(16)).min(bytes.len());
            let part = bytes[place..end].to_vec();
            bytes.splice(place..place, part);
        }
        4 if !bytes.is_empty() => {
            let end = (place + 1 + random.below(16)).min(bytes.len());
            bytes.drain(place..end);
        }
        5 if !bytes.is_empty() => bytes[place] ^= 1 << random.below(8),
        6 if !bytes.is_empty() => bytes[place] = TELLING[random.below(TELLING.len())],
        _ if !bytes.is_empty() => {
            bytes[place] = bytes[place].wrapping_add(random.word() as u8 % 17).wrapping_sub(8)
        }
        _ => bytes.push(random.word() as u8),
    }
}
