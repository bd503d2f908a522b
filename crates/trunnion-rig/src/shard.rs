//! A large search or campaign in several processes: which part is whose, and one result out of all parts.
//!
//! Items are numbered from 0 on. The shard `k/n` does those whose number leaves `k - 1` when divided by `n`, so that
//! cheap and dear neighbours spread evenly. Each process writes a [`Part`]; [`merge`] takes all parts and gives the
//! items in order, as one process would have: it refuses parts of different builds or options, and says which are
//! missing.

use std::collections::BTreeMap;
use std::fmt;
use std::num::NonZeroU32;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use thiserror::Error;

/// One of several parts of the work: `2/4` is the second of four.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Shard {
    number: NonZeroU32,
    of: NonZeroU32,
}

impl Shard {
    /// All of the work.
    pub const WHOLE: Self = Self { number: NonZeroU32::MIN, of: NonZeroU32::MIN };

    /// Part `number` of `of`, counted from 1; `None` when there is no such part.
    pub const fn new(number: u32, of: u32) -> Option<Self> {
        match (NonZeroU32::new(number), NonZeroU32::new(of)) {
            (Some(number), Some(of)) if number.get() <= of.get() => Some(Self { number, of }),
            _ => None,
        }
    }

    /// How many parts there are.
    pub const fn of(self) -> u32 {
        self.of.get()
    }

    /// Whether this part does the item of that number, counted from 0.
    pub fn does(self, item: u64) -> bool {
        item % u64::from(self.of.get()) == u64::from(self.number.get() - 1)
    }
}

impl fmt::Display for Shard {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.number, self.of)
    }
}

/// What is no shard.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{0}` is no part of the work: write the part and how many there are, from 1/n to n/n, as in 2/4")]
pub struct ShardError(String);

impl FromStr for Shard {
    type Err = ShardError;

    fn from_str(text: &str) -> Result<Self, ShardError> {
        let read = || {
            let (number, of) = text.split_once('/')?;
            Self::new(number.trim().parse().ok()?, of.trim().parse().ok()?)
        };
        read().ok_or_else(|| ShardError(text.to_owned()))
    }
}

impl Serialize for Shard {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Shard {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?.parse().map_err(serde::de::Error::custom)
    }
}

/// What parts must have in common to be of one work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stamp {
    /// What was done, and on which machine: "hunt loader".
    pub work: String,
    /// [`build_hash`] of the program that did it.
    pub build: String,
    /// Everything that was asked for and changes the result: seed, budget, filters. Not the shard, not the number of
    /// threads.
    pub options: String,
    /// Number of items of the whole work.
    pub items: u64,
}

/// Hash of a program's bytes, as 64 hexadecimal digits.
pub fn build_hash(program: &[u8]) -> String {
    Sha256::digest(program).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// What one process has done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Part<T> {
    /// Of which work.
    pub stamp: Stamp,
    /// Which part of it.
    pub shard: Shard,
    /// The results by the number of their item.
    pub results: BTreeMap<u64, T>,
}

/// Why parts do not make a whole.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MergeError {
    /// No part at all.
    #[error("there is no part to merge: name the files that the shards wrote")]
    Nothing,
    /// Two parts are of different works.
    #[error(
        "shard {other} differs from shard {first} in its {what}: `{theirs}` and `{ours}`; run it again with the same program and options"
    )]
    Different {
        /// The first part given.
        first: Shard,
        /// The one that differs.
        other: Shard,
        /// In what.
        what: &'static str,
        /// What the other has.
        theirs: String,
        /// What the first has.
        ours: String,
    },
    /// The work was cut into another number of parts.
    #[error("shard {other} does not go with shard {first}: the work must be cut the same way for all")]
    Cut {
        /// The first part given.
        first: Shard,
        /// The one that differs.
        other: Shard,
    },
    /// A part is there twice.
    #[error("shard {0} is there twice")]
    Twice(Shard),
    /// A part is not there.
    #[error("missing: shard {}", .0.iter().map(Shard::to_string).collect::<Vec<_>>().join(", "))]
    Missing(Vec<Shard>),
    /// A part was ended before it was done, or has results of others.
    #[error("shard {shard} is not whole: item {item} is missing or not its own; run it again to its end")]
    Unfinished {
        /// Which.
        shard: Shard,
        /// The first item that is wrong.
        item: u64,
    },
}

/// Puts all parts of a work together: results in the order of their items, whatever the order of the parts.
pub fn merge<T>(parts: Vec<Part<T>>) -> Result<(Stamp, Vec<T>), MergeError> {
    let (stamp, first) = match parts.first() {
        Some(part) => (part.stamp.clone(), part.shard),
        None => return Err(MergeError::Nothing),
    };
    let mut whole = BTreeMap::new();
    let mut seen = Vec::new();
    for part in parts {
        same(first, &stamp, &part)?;
        if seen.contains(&part.shard) {
            return Err(MergeError::Twice(part.shard));
        }
        if let Some(item) = first_wrong(&part) {
            return Err(MergeError::Unfinished { shard: part.shard, item });
        }
        seen.push(part.shard);
        whole.extend(part.results);
    }
    let all = (1..=first.of()).filter_map(|number| Shard::new(number, first.of()));
    let missing: Vec<Shard> = all.filter(|shard| !seen.contains(shard)).collect();
    if missing.is_empty() {
        Ok((stamp, whole.into_values().collect()))
    } else {
        Err(MergeError::Missing(missing))
    }
}

fn same<T>(first: Shard, stamp: &Stamp, part: &Part<T>) -> Result<(), MergeError> {
    if part.shard.of() != first.of() {
        return Err(MergeError::Cut { first, other: part.shard });
    }
    let pairs = [
        ("work", part.stamp.work.clone(), stamp.work.clone()),
        ("build", part.stamp.build.clone(), stamp.build.clone()),
        ("options", part.stamp.options.clone(), stamp.options.clone()),
        ("number of items", part.stamp.items.to_string(), stamp.items.to_string()),
    ];
    match pairs.into_iter().find(|(_, theirs, ours)| theirs != ours) {
        Some((what, theirs, ours)) => {
            Err(MergeError::Different { first, other: part.shard, what, theirs, ours })
        }
        None => Ok(()),
    }
}

/// The first item that a part should have and has not, or has and should not.
fn first_wrong<T>(part: &Part<T>) -> Option<u64> {
    let due = (0..part.stamp.items).filter(|item| part.shard.does(*item));
    let mut there = part.results.keys().copied();
    for item in due {
        match there.next() {
            Some(found) if found == item => {}
            Some(found) => return Some(found.min(item)),
            None => return Some(item),
        }
    }
    there.next()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(text: &str, items: u64) -> Part<u64> {
        let shard: Shard = text.parse().unwrap();
        let stamp = Stamp { work: "hunt".into(), build: build_hash(b"x"), options: "seed 1".into(), items };
        let results = (0..items).filter(|item| shard.does(*item)).map(|item| (item, item * item)).collect();
        Part { stamp, shard, results }
    }

    #[test]
    fn parts_in_any_order_give_what_one_process_gives() {
        let (_, whole) = merge(vec![part("1/1", 10)]).unwrap();
        let (_, merged) = merge(vec![part("3/3", 10), part("1/3", 10), part("2/3", 10)]).unwrap();
        assert_eq!(merged, whole);
        assert_eq!(whole[9], 81);
    }

    #[test]
    fn a_missing_part_is_named() {
        let error = merge(vec![part("2/3", 10)]).unwrap_err();
        assert_eq!(error.to_string(), "missing: shard 1/3, 3/3");
        assert_eq!(merge(Vec::<Part<u64>>::new()), Err(MergeError::Nothing));
    }

    #[test]
    fn parts_of_another_build_or_other_options_are_refused() {
        let mut other = part("2/2", 10);
        other.stamp.build = build_hash(b"y");
        assert!(matches!(
            merge(vec![part("1/2", 10), other]),
            Err(MergeError::Different { what: "build", .. })
        ));
        let mut other = part("2/2", 10);
        other.stamp.options = "seed 2".into();
        assert!(matches!(
            merge(vec![part("1/2", 10), other]),
            Err(MergeError::Different { what: "options", .. })
        ));
        assert!(matches!(merge(vec![part("1/2", 10), part("2/3", 10)]), Err(MergeError::Cut { .. })));
        assert!(matches!(merge(vec![part("1/2", 10), part("1/2", 10)]), Err(MergeError::Twice(_))));
    }

    #[test]
    fn a_part_that_was_ended_early_is_refused() {
        let mut short = part("2/2", 10);
        short.results.remove(&5);
        let error = merge(vec![part("1/2", 10), short]).unwrap_err();
        assert_eq!(error, MergeError::Unfinished { shard: "2/2".parse().unwrap(), item: 5 });
    }

    #[test]
    fn what_is_no_shard_is_refused() {
        for wrong in ["", "1", "0/2", "3/2", "1/0", "a/b", "-1/2"] {
            assert!(wrong.parse::<Shard>().is_err(), "{wrong}");
        }
        assert_eq!(" 2/4".parse::<Shard>().unwrap().to_string(), "2/4");
    }
}
