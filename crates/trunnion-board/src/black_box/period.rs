//! One recorded period as bytes.
//!
//! What came in is laid out as a series of words of four bytes: the record of the inputs, then the report of the fast
//! loop, each in its own encoding. Written is only what differs from the words of the period before. Each word that differs
//! is a token and bytes of the difference (exclusive or), lowest first, from the first that is not zero to the last one:
//!
//! | bits of the token | what |
//! |---|---|
//! | 0–1 | how many bytes follow, less one |
//! | 2–3 | how many bytes of the word below them are as before |
//! | 4–7 | how many words in front of it, since the last one that differs, are as before |
//!
//! A token 0xFF, without bytes, passes 15 words. The period ends with its bytes: all words behind are as before. So one
//! pass over words finds what changed, and a word that is as before costs a comparison.

use core::mem;

use serde::Serialize;
use serde::de::DeserializeOwned;
use trunnion::declare::Record;
use trunnion::machine::{FastLoop, Program};

use crate::state_bytes;

/// Most bytes of a period's inputs and report together.
pub(super) const MOST_IN: usize = 1_024;
/// In front of each period: its bytes, and the sum over its outputs.
pub(super) const PERIOD_HEAD: usize = 4;
/// A token that passes so many words and stands for none.
const PASS: usize = 15;
/// That token. No word has bytes there.
const PASSES: u8 = 0xFF;
/// Bytes of a word.
const WORD: usize = 4;

/// What came in last, from which the next period differs.
#[derive(Clone)]
pub(super) struct Last {
    /// The words of the last period and of the one under way.
    words: [[u8; MOST_IN]; 2],
    /// Bytes of each; behind them all are zero.
    lengths: [u32; 2],
    /// The second of the two is the last period's.
    second: bool,
}

impl Last {
    pub const fn new() -> Self {
        Self { words: [[0; MOST_IN]; 2], lengths: [0; 2], second: false }
    }

    /// Nothing came in yet.
    pub fn clear(&mut self) {
        *self = Self::new();
    }

    /// Writes a period as what differs from the last one; the bytes written, `None` where they do not fit: what came in
    /// last is not known any more then.
    pub fn put<P: Program>(
        &mut self,
        out: &mut [u8],
        inputs: &P::Inputs,
        report: &<P::Fast as FastLoop>::Report,
    ) -> Option<u16>
    where
        <P::Fast as FastLoop>::Report: Serialize,
    {
        const {
            assert!(
                (P::Inputs::ENCODED_BYTES as usize) < MOST_IN,
                "the black box has no room for these inputs"
            )
        };
        let [first, second] = &mut self.words;
        let [first_length, second_length] = &mut self.lengths;
        let (last, present, before, stale) = if self.second {
            (second, first, *second_length, first_length)
        } else {
            (first, second, *first_length, second_length)
        };
        let length = lay_out::<P>(present, inputs, report)?;
        present.get_mut(length..*stale as usize).unwrap_or_default().fill(0);
        *stale = length as u32;
        self.second = !self.second;
        let words = (before as usize).max(length).div_ceil(WORD);
        differences(last, present, words, out)
    }

    /// Reads one; `None` where the bytes are none.
    pub fn take<P: Program>(&mut self, bytes: &[u8]) -> Option<(P::Inputs, <P::Fast as FastLoop>::Report)>
    where
        <P::Fast as FastLoop>::Report: DeserializeOwned,
    {
        let [last, _] = &mut self.words;
        apply(last, bytes)?;
        let (encoded, rest) = last.split_at_checked(P::Inputs::ENCODED_BYTES.into())?;
        let mut inputs = P::Inputs::default();
        if !inputs.decode(encoded) {
            return None;
        }
        let (report, behind) = state_bytes::read(rest).ok()?;
        behind.iter().all(|byte| *byte == 0).then_some((inputs, report))
    }
}

/// Lays out what came in; its bytes, `None` where there are too many.
fn lay_out<P: Program>(
    into: &mut [u8; MOST_IN],
    inputs: &P::Inputs,
    report: &<P::Fast as FastLoop>::Report,
) -> Option<usize>
where
    <P::Fast as FastLoop>::Report: Serialize,
{
    let mut rest = into.as_mut_slice();
    inputs.visit(|bytes, raw| {
        // The encoding of a record, a whole number at a time.
        match bytes {
            1 => put(&mut rest, &(raw as u8).to_le_bytes()),
            2 => put(&mut rest, &(raw as u16).to_le_bytes()),
            4 => put(&mut rest, &(raw as u32).to_le_bytes()),
            _ => put(&mut rest, &raw.to_le_bytes()),
        };
    });
    let mut whole = true;
    state_bytes::write(report, |bytes| whole &= put(&mut rest, bytes)).ok()?;
    whole.then_some(MOST_IN.saturating_sub(rest.len()))
}

/// Puts these bytes in front and keeps what is behind; false where there is no room.
fn put(rest: &mut &mut [u8], bytes: &[u8]) -> bool {
    let Some((place, behind)) = mem::take(rest).split_at_mut_checked(bytes.len()) else { return false };
    place.copy_from_slice(bytes);
    *rest = behind;
    true
}

/// Writes how the first `words` differ; the bytes written, `None` where they do not fit.
fn differences(last: &[u8; MOST_IN], present: &[u8; MOST_IN], words: usize, out: &mut [u8]) -> Option<u16> {
    let (last, _) = last.as_chunks::<WORD>();
    let (present, _) = present.as_chunks::<WORD>();
    let mut written = 0_usize;
    let mut passed = 0_usize;
    for (last, present) in last.iter().zip(present).take(words) {
        let difference = u32::from_le_bytes(*last) ^ u32::from_le_bytes(*present);
        if difference == 0 {
            passed = passed.wrapping_add(1);
            continue;
        }
        while passed >= PASS {
            *out.get_mut(written)? = PASSES;
            written = written.wrapping_add(1);
            passed = passed.wrapping_sub(PASS);
        }
        let below = difference.trailing_zeros() / 8;
        let more = (31_u32.wrapping_sub(difference.leading_zeros()) / 8).wrapping_sub(below);
        // All four places are written, those behind the last byte that differs will be overwritten.
        let [token, bytes @ ..] = out.get_mut(written..)?.first_chunk_mut::<{ WORD + 1 }>()?;
        *token = (passed as u8).wrapping_mul(16) | (below as u8).wrapping_mul(4) | more as u8;
        *bytes = difference.wrapping_shr(below.wrapping_mul(8)).to_le_bytes();
        written = written.wrapping_add(more as usize).wrapping_add(2);
        passed = 0;
    }
    u16::try_from(written).ok()
}

/// Brings the words up to date by what was written; `None` where the bytes are none.
fn apply(words: &mut [u8; MOST_IN], bytes: &[u8]) -> Option<()> {
    let (words, _) = words.as_chunks_mut::<WORD>();
    let mut words = words.iter_mut();
    let mut bytes = bytes.iter();
    while let Some(token) = bytes.next() {
        let passed = usize::from(token >> 4);
        if *token == PASSES {
            words.nth(PASS.wrapping_sub(1))?;
            continue;
        }
        let (below, count) = (usize::from((token >> 2) & 3), usize::from(token & 3).wrapping_add(1));
        let word = words.nth(passed)?;
        for place in word.get_mut(below..below.wrapping_add(count))? {
            *place ^= bytes.next()?;
        }
    }
    Some(())
}

/// A sum over all that the machine drives: two runs that differ give the same one once in 65 536 times.
pub(super) fn sum(outputs: &impl Record) -> u16 {
    // FNV-1a of 32 bits (Fowler, Noll and Vo; public domain), a word at a time where the original takes a byte.
    let mut hash = 0x811C_9DC5_u32;
    outputs.visit(|bytes, raw| {
        hash = (hash ^ raw as u32).wrapping_mul(0x0100_0193);
        if bytes > 4 {
            hash = (hash ^ (raw >> 32) as u32).wrapping_mul(0x0100_0193);
        }
    });
    (hash ^ (hash >> 16)) as u16
}

#[cfg(test)]
mod tests {
    use std::vec;
    use std::vec::Vec;

    use proptest::prelude::*;

    use super::*;

    type Words = [u8; MOST_IN];

    fn written(last: &Words, present: &Words, words: usize) -> Vec<u8> {
        let mut out = vec![0; 2 * MOST_IN];
        let length = differences(last, present, words, &mut out).unwrap();
        out.truncate(length.into());
        out
    }

    prop_compose! {
        /// Some bytes, of which a few differ in the second.
        fn pair()(
            bytes in prop::collection::vec(any::<u8>(), MOST_IN),
            changes in prop::collection::vec((0..MOST_IN, any::<u8>()), 0..80),
        ) -> (Words, Words) {
            let last: Words = bytes.try_into().unwrap();
            let mut present = last;
            changes.into_iter().for_each(|(place, byte)| present[place] = byte);
            (last, present)
        }
    }

    proptest! {
        #[test]
        fn what_differs_is_read_back((last, present) in pair()) {
            let mut words = last;
            prop_assert_eq!(apply(&mut words, &written(&last, &present, MOST_IN / WORD)), Some(()));
            prop_assert!(words == present);
        }

        #[test]
        fn a_period_without_room_is_refused((last, present) in pair(), room in 0_usize..200) {
            let whole = written(&last, &present, MOST_IN / WORD);
            let mut out = vec![0; room];
            let length = differences(&last, &present, MOST_IN / WORD, &mut out);
            // A token may ask for the room of a whole word.
            prop_assert!(length.is_some() || room < whole.len() + WORD);
            prop_assert!(length.is_none_or(|length| out[..length.into()] == whole));
        }

        /// Whatever the bytes are, they are taken or refused.
        #[test]
        fn no_bytes_are_too_strange(bytes in prop::collection::vec(any::<u8>(), 0..60)) {
            let mut words = [0; MOST_IN];
            if apply(&mut words, &bytes).is_some() {
                let again = written(&[0; MOST_IN], &words, MOST_IN / WORD);
                let mut twice = [0; MOST_IN];
                prop_assert_eq!(apply(&mut twice, &again), Some(()));
                prop_assert!(twice == words);
            }
        }
    }

    #[test]
    fn a_token_passes_words_and_names_bytes() {
        let last = [0; MOST_IN];
        let mut present = last;
        present[9] = 7;
        present[20 * WORD] = 1;
        present[20 * WORD + 3] = 2;
        assert_eq!(written(&last, &present, 21), [0x24, 7, 0xFF, 0x23, 1, 0, 0, 2]);
        assert_eq!(written(&last, &present, 20), [0x24, 7]);
        assert!(written(&last, &last, 20).is_empty());
    }
}
