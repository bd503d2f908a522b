//! Many contacts without their bounces, at the price of a few.

use crate::quantity::{Millis, Period};

use super::DebounceConfig;

/// Why the configs of a [`DebounceBank`] were refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum DebounceBankConfigError {
    /// A contact would have to be closed for more steps than are counted.
    SetAfterTooLong {
        /// Channel, counted from 0.
        channel: u8,
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
    /// A contact would have to be open for more steps than are counted.
    ClearAfterTooLong {
        /// Channel, counted from 0.
        channel: u8,
        /// What was asked for.
        value: Millis,
        /// The most that is allowed.
        longest: Millis,
    },
}

impl core::fmt::Display for DebounceBankConfigError {
    fn fmt(&self, formatter: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let (name, channel, value, longest) = match self {
            Self::SetAfterTooLong { channel, value, longest } => ("set_after", channel, value, longest),
            Self::ClearAfterTooLong { channel, value, longest } => ("clear_after", channel, value, longest),
        };
        write!(
            formatter,
            "channel {channel}: {name} is {value}; it must be at most {longest} at this period: \
             lower it or give the contact a Debounce of its own"
        )
    }
}

impl core::error::Error for DebounceBankConfigError {}

/// Digits of a count.
const DIGITS: usize = 8;

/// One binary digit of all counts, a channel a bit: the counts stand upright in the words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
struct Digit {
    /// Of the steps that are left.
    left: u32,
    /// Of the steps that an open contact takes to be closed.
    set: u32,
    /// Where those of a closed contact, to be open, differ.
    differs: u32,
}

impl Digit {
    const ZERO: Self = Self { left: 0, set: 0, differs: 0 };
}

/// Up to 32 contacts, each with its own times: equal to as many [`Debounce`](super::Debounce)s, bit for bit.
///
/// Levels go in and come out as one word, channel 0 in the lowest bit. A level must hold for its time before it counts;
/// the time starts at the first step that sees the new level and is never shorter than asked; a step with the old
/// level starts it anew. All start open. Bits above the last channel are ignored and come out as 0.
///
/// The cost is the same for one channel that is bouncing as for 32, and next to nothing while none is. A time is at
/// most 255 periods.
///
/// ```
/// use trunnion::quantity::{Millis, Period};
/// use trunnion::sense::{DebounceBank, DebounceConfig};
///
/// const SEAT: u32 = 1 << 0;
/// const BAR: u32 = 1 << 1;
/// let times = |set, clear| DebounceConfig { set_after: Millis::millis(set), clear_after: Millis::millis(clear) };
///
/// // On rough ground the operator leaves the seat for a moment; the bar has no such excuse.
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut contacts = DebounceBank::new([times(50, 700), times(50, 20)], tick).unwrap();
/// for _ in 0..6 {
///     contacts.step(SEAT | BAR);
/// }
/// assert_eq!(contacts.state(), SEAT | BAR);
/// for _ in 0..3 {
///     contacts.step(0);
/// }
/// assert_eq!(contacts.state(), SEAT);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct DebounceBank<const CHANNELS: usize> {
    digits: [Digit; DIGITS],
    state: u32,
    /// Channels whose count is below its start.
    counting: u32,
    /// Channels with nothing left to count.
    elapsed: u32,
    period: Period,
}

impl<const CHANNELS: usize> DebounceBank<CHANNELS> {
    /// Most periods that a time may take.
    pub const MOST_STEPS: u32 = (1 << DIGITS) - 1;
    const MASK: u32 = match u32::MAX.checked_shr(32 - CHANNELS as u32) {
        Some(mask) => mask,
        None => 0,
    };

    /// Refuses times above [`Self::MOST_STEPS`] periods. 1 to 32 channels; another number does not compile.
    ///
    /// # Errors
    ///
    /// [`DebounceBankConfigError`]: which rule the config breaks, with its value.
    pub fn new(configs: [DebounceConfig; CHANNELS], period: Period) -> Result<Self, DebounceBankConfigError> {
        const { assert!(CHANNELS >= 1 && CHANNELS <= 32, "a bank has 1 to 32 channels") };
        let mut bank = Self { digits: [Digit::ZERO; DIGITS], state: 0, counting: 0, elapsed: 0, period };
        for (channel, config) in (0_u8..=u8::MAX).zip(configs) {
            let (set, clear) = steps(channel, config, period)?;
            for (digit, place) in bank.digits.iter_mut().zip(0_u32..) {
                let bit = |steps: u32| (steps.wrapping_shr(place) & 1).wrapping_shl(u32::from(channel));
                digit.set |= bit(set);
                digit.differs |= bit(set ^ clear);
            }
        }
        bank.reset();
        Ok(bank)
    }

    /// Takes new times as a whole or refuses them as a whole; levels and times waited are kept, the latter up to the
    /// new times.
    ///
    /// # Errors
    ///
    /// [`DebounceBankConfigError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(
        &mut self,
        configs: [DebounceConfig; CHANNELS],
    ) -> Result<(), DebounceBankConfigError> {
        let mut next = Self::new(configs, self.period)?;
        next.state = self.state;
        next.counting = self.counting;
        for channel in 0..CHANNELS as u32 {
            let waited = self.start(channel).saturating_sub(self.left(channel));
            next.put_left(channel, next.start(channel).saturating_sub(waited));
        }
        next.find_elapsed();
        *self = next;
        Ok(())
    }

    /// All open again, nothing waited.
    pub fn reset(&mut self) {
        self.state = 0;
        self.counting = 0;
        for digit in &mut self.digits {
            digit.left = digit.set;
        }
        self.find_elapsed();
    }

    /// One step with the raw levels; gives the levels that count.
    pub fn step(&mut self, levels: u32) -> u32 {
        let levels = levels & Self::MASK;
        let contested = self.state ^ levels;
        if contested | self.counting == 0 {
            return self.state;
        }
        let believed = contested & self.elapsed;
        self.state ^= believed;
        let counting = contested & !believed;
        self.counting = counting;
        // One subtraction for all channels that count; all others start again, for the level that they have now.
        let mut borrow = counting;
        let mut any_left = 0;
        for digit in &mut self.digits {
            let start = digit.set ^ (digit.differs & levels);
            let counted = digit.left ^ borrow;
            borrow &= !digit.left;
            digit.left = start ^ ((start ^ counted) & counting);
            any_left |= digit.left;
        }
        self.elapsed = !any_left;
        self.state
    }

    /// The levels that count.
    pub const fn state(&self) -> u32 {
        self.state
    }

    fn find_elapsed(&mut self) {
        self.elapsed = !self.digits.iter().fold(0, |any, digit| any | digit.left);
    }

    /// Steps that this channel takes from the level that counts to the other.
    fn start(&self, channel: u32) -> u32 {
        self.number(channel, |digit| digit.set ^ (digit.differs & self.state))
    }

    fn left(&self, channel: u32) -> u32 {
        self.number(channel, |digit| digit.left)
    }

    fn number(&self, channel: u32, word: impl Fn(&Digit) -> u32) -> u32 {
        let places = (0_u32..=u32::MAX).zip(&self.digits);
        places
            .fold(0, |sum, (place, digit)| sum | (word(digit).wrapping_shr(channel) & 1).wrapping_shl(place))
    }

    fn put_left(&mut self, channel: u32, steps: u32) {
        let mask = 1_u32.wrapping_shl(channel);
        for (digit, place) in self.digits.iter_mut().zip(0_u32..) {
            let bit = (steps.wrapping_shr(place) & 1).wrapping_shl(channel);
            digit.left = (digit.left & !mask) | bit;
        }
    }
}

fn steps(channel: u8, config: DebounceConfig, period: Period) -> Result<(u32, u32), DebounceBankConfigError> {
    const MOST: u32 = DebounceBank::<1>::MOST_STEPS;
    let longest = Millis::from_ticks(MOST.saturating_mul(period.micros()) / 1000);
    let (set, clear) = (period.steps(config.set_after), period.steps(config.clear_after));
    if set > MOST {
        let value = config.set_after;
        return Err(DebounceBankConfigError::SetAfterTooLong { channel, value, longest });
    }
    if clear > MOST {
        let value = config.clear_after;
        return Err(DebounceBankConfigError::ClearAfterTooLong { channel, value, longest });
    }
    Ok((set, clear))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sense::Debounce;
    use proptest::prelude::*;
    use std::string::ToString;

    const TICK: Period = Period::from_micros(10_000).unwrap();

    fn times(set: u32, clear: u32) -> DebounceConfig {
        DebounceConfig {
            set_after: Millis::from_ticks(set * 10),
            clear_after: Millis::from_ticks(clear * 10),
        }
    }

    fn singles<const N: usize>(configs: [DebounceConfig; N]) -> [Debounce; N] {
        configs.map(|config| Debounce::new(config, TICK).unwrap())
    }

    fn together(singles: &mut [Debounce], levels: u32) -> u32 {
        (0..).zip(singles).fold(0, |word, (channel, single)| {
            word | u32::from(single.step(levels >> channel & 1 != 0)) << channel
        })
    }

    fn config() -> impl Strategy<Value = DebounceConfig> {
        prop_oneof![(0u32..4, 0u32..4), (0u32..=255, 0u32..=255), Just((255, 255))]
            .prop_map(|(set, clear)| times(set, clear))
    }

    #[derive(Debug, Clone)]
    #[allow(clippy::large_enum_variant)] // a stream of a dozen
    enum Event {
        Levels(u32, usize),
        Bounces(u32, usize),
        Reset,
        /// And the step that follows.
        Reconfigure([DebounceConfig; 32], u32),
    }

    fn event() -> impl Strategy<Value = Event> {
        let configs = || proptest::array::uniform32(config());
        prop_oneof![
            8 => (any::<u32>(), 1usize..300).prop_map(|(word, steps)| Event::Levels(word, steps)),
            4 => (any::<u32>(), 1usize..60).prop_map(|(word, steps)| Event::Bounces(word, steps)),
            1 => Just(Event::Reset),
            2 => (configs(), any::<u32>()).prop_map(|(configs, word)| Event::Reconfigure(configs, word)),
        ]
    }

    proptest! {
        #[test]
        fn a_bank_is_as_many_single_debouncers_over_any_stream(
            configs in proptest::array::uniform32(config()), events in proptest::collection::vec(event(), 1..12)
        ) {
            let mut bank = DebounceBank::new(configs, TICK).unwrap();
            let mut single = singles(configs);
            for event in events {
                match event {
                    Event::Levels(word, steps) => {
                        for _ in 0..steps {
                            prop_assert_eq!(bank.step(word), together(&mut single, word));
                        }
                    }
                    Event::Bounces(mut word, steps) => {
                        for _ in 0..steps {
                            word = word.wrapping_mul(1_664_525).wrapping_add(1_013_904_223).rotate_left(7);
                            prop_assert_eq!(bank.step(word), together(&mut single, word));
                        }
                    }
                    Event::Reset => {
                        bank.reset();
                        single.iter_mut().for_each(Debounce::reset);
                    }
                    Event::Reconfigure(configs, word) => {
                        bank.reconfigure(configs).unwrap();
                        for (single, config) in single.iter_mut().zip(configs) {
                            single.reconfigure(config).unwrap();
                        }
                        prop_assert_eq!(bank.step(word), together(&mut single, word));
                    }
                }
            }
        }
    }

    #[test]
    fn every_stream_of_twelve_steps_through_short_times_is_that_of_a_single_debouncer() {
        for set in 0..4 {
            for clear in 0..4 {
                for stream in 0..1_u32 << 12 {
                    let mut bank = DebounceBank::new([times(set, clear)], TICK).unwrap();
                    let mut single = singles([times(set, clear)]);
                    for step in 0..12 {
                        let level = stream >> step & 1;
                        assert_eq!(
                            bank.step(level),
                            together(&mut single, level),
                            "{set} {clear} {stream:b}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn bits_above_the_last_channel_are_ignored() {
        let mut bank = DebounceBank::new([times(0, 0); 5], TICK).unwrap();
        assert_eq!(bank.step(u32::MAX), 0b11111);
        assert_eq!(bank.state(), 0b11111);
        assert_eq!(bank.step(0x8000_0000), 0);
        assert_eq!(DebounceBank::new([times(0, 0); 32], TICK).unwrap().step(u32::MAX), u32::MAX);
    }

    #[test]
    fn a_time_that_cannot_be_counted_is_refused_with_its_channel_and_nothing_changes() {
        let mut bank = DebounceBank::new([times(255, 1), times(1, 255)], TICK).unwrap();
        let error = bank.reconfigure([times(1, 1), times(256, 1)]).unwrap_err();
        assert_eq!(
            error.to_string(),
            "channel 1: set_after is 2560 ms; it must be at most 2550 ms at this period: \
             lower it or give the contact a Debounce of its own"
        );
        assert!(
            bank.reconfigure([times(1, 256), times(1, 1)])
                .unwrap_err()
                .to_string()
                .contains("channel 0: clear_after")
        );
        for step in 0..300 {
            assert_eq!(bank.step(0b01), u32::from(step >= 255));
        }
    }
}
