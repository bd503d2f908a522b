//! The declared faults and what is active of them.

use core::marker::PhantomData;

use crate::declare::{FaultBits, FaultConditions, FaultRule, FaultSet, Latch, Reactions};
use crate::quantity::{Period, product};

/// The faults of a machine: which are active, what they do, what the lamp shows.
///
/// Once a loop it takes the raw condition of every row, in the order of declaration, and works out the
/// active set anew:
/// - a fault is set when its condition has held for `set_after`, counted from the first step that saw it and
///   never shorter than declared; a step without it starts the time anew;
/// - it may clear when the condition was gone for `clear_after`, counted likewise; then its
///   [`Latch`] decides: at once, at the first step with all levers neutral, or only at a restart.
///
/// `N` is the number of rows; a wrong one does not compile. Nothing is active at start.
///
#[doc = include_str!("../../docs/fault-fault_table.svg")]
///
/// ```
/// use trunnion::declare::{FaultSet, Latch, Reactions};
/// use trunnion::fault::FaultTable;
/// use trunnion::quantity::Period;
///
/// const STOP_TRAVEL: Reactions = Reactions(1);
///
/// trunnion::faults! {
///     /// What can go wrong on the roller.
///     pub enum Fault {
///         /// The travel lever is not heard. Check its plug and the bus.
///         TravelLeverLost: spn 2661, fmi 9, set 0, clear 500, Latch::UntilNeutral, STOP_TRAVEL, blink 11, "travel lever, X9";
///         /// The drum coil draws no current. Check its plug.
///         DrumCoilOpen: spn 520_200, fmi 5, set 50, clear 500, Latch::WhilePresent, Reactions::NONE, blink 21, "drum coil, X3:4";
///     }
/// }
///
/// let tick = Period::from_micros(10_000).unwrap();
/// let mut faults = FaultTable::<Fault, { Fault::COUNT }>::new(tick);
/// let (lever_lost, coil_open, all_neutral) = (true, true, false);
/// faults.step(&[lever_lost, coil_open], all_neutral);
/// assert!(faults.is_active(Fault::TravelLeverLost), "set at once");
/// assert!(!faults.is_active(Fault::DrumCoilOpen), "50 ms have not passed");
/// assert!(faults.reactions().has(STOP_TRAVEL));
/// assert_eq!(faults.blink(), 11);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
pub struct FaultTable<F: FaultSet, const N: usize> {
    active: F::Bits,
    /// Rows whose time runs.
    waiting: F::Bits,
    /// Steps since the condition first contradicted what is active.
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    waited: [u32; N],
    period: Period,
    reactions: Reactions,
    blink: u8,
    count: u8,
    faults: PhantomData<F>,
}

impl<F: FaultSet, const N: usize> FaultTable<F, N> {
    /// Nothing active; the times of the rules counted in `period`.
    pub const fn new(period: Period) -> Self {
        const { assert!(N == F::RULES.len(), "N must be the number of declared faults: use Fault::COUNT") };
        const { assert!(N <= u8::MAX as usize, "a table holds at most 255 faults") };
        Self {
            active: F::Bits::EMPTY,
            waiting: F::Bits::EMPTY,
            waited: [0; N],
            period,
            reactions: Reactions::NONE,
            blink: 0,
            count: 0,
            faults: PhantomData,
        }
    }

    /// As after a restart: nothing active, nothing waited.
    pub fn reset(&mut self) {
        *self = Self::new(self.period);
    }

    /// One step with the raw condition of each row and whether all levers are released.
    pub fn step(&mut self, conditions: &[bool; N], all_neutral: bool) {
        self.step_conditions(&FaultConditions::from_flags(conditions), all_neutral);
    }

    /// The same with conditions in bits. Rows whose condition is as it was told cost nothing: all of them together
    /// are a few comparisons of 32 rows.
    pub fn step_conditions(&mut self, conditions: &FaultConditions<F>, all_neutral: bool) {
        let mut changed = false;
        let words = self.active.as_mut().iter_mut().zip(self.waiting.as_mut());
        for ((first, (active, waiting)), conditions) in firsts().zip(words).zip(conditions.words()) {
            let contradicted = *conditions ^ *active;
            if contradicted | *waiting == 0 {
                continue;
            }
            for bit in bits(*waiting & !contradicted) {
                if let Some(waited) = self.waited.get_mut(usize::from(first.wrapping_add(bit))) {
                    *waited = 0;
                }
            }
            *waiting = contradicted;
            for bit in bits(contradicted) {
                let place = usize::from(first.wrapping_add(bit));
                let (Some(rule), Some(waited)) = (F::RULES.get(place), self.waited.get_mut(place)) else {
                    break;
                };
                let mask = 1_u32.wrapping_shl(u32::from(bit));
                if elapsed(rule, conditions & mask != 0, waited, self.period, all_neutral) {
                    *active ^= mask;
                    *waiting &= !mask;
                    changed = true;
                }
            }
        }
        if changed {
            self.sum_up();
        }
    }

    fn sum_up(&mut self) {
        self.reactions = Reactions::NONE;
        self.blink = 0;
        self.count = 0;
        for (first, word) in firsts().zip(self.active.as_ref()) {
            for bit in bits(*word) {
                let Some(rule) = F::RULES.get(usize::from(first.wrapping_add(bit))) else { break };
                self.reactions = self.reactions.union(rule.reactions);
                self.count = self.count.saturating_add(1);
                if self.blink == 0 || rule.blink < self.blink {
                    self.blink = rule.blink;
                }
            }
        }
    }

    /// True while the fault is active.
    #[inline]
    pub fn is_active(&self, fault: F) -> bool {
        self.is_place_active(fault.place())
    }

    /// True while the fault in this place of the declaration is active; false when there is no such place.
    #[inline]
    pub fn is_place_active(&self, index: u16) -> bool {
        let word = self.active.as_ref().get(usize::from(index / 32));
        word.is_some_and(|word| word.wrapping_shr(u32::from(index % 32)) & 1 != 0)
    }

    /// Places of the active faults, in the order of declaration.
    pub fn active_places(&self) -> impl Iterator<Item = u16> + '_ {
        let words = firsts().zip(self.active.as_ref());
        words.flat_map(|(first, word)| bits(*word).map(move |bit| first.wrapping_add(bit)))
    }

    /// A bit for each active fault, the first of the declaration in the lowest bit of the first word.
    pub fn active_words(&self) -> &[u32] {
        self.active.as_ref()
    }

    /// How many are active.
    pub const fn count_active(&self) -> u8 {
        self.count
    }

    /// What the active faults do, together.
    pub const fn reactions(&self) -> Reactions {
        self.reactions
    }

    /// What the active faults do, without those whose cause is told already: one cause is one reason why not.
    ///
    /// `told` is asked with the place of each active fault.
    pub fn reactions_untold(&self, told: impl Fn(u16) -> bool) -> Reactions {
        self.active_places()
            .filter(|place| !told(*place))
            .filter_map(|place| F::RULES.get(usize::from(place)))
            .fold(Reactions::NONE, |reactions, rule| reactions.union(rule.reactions))
    }

    /// The smallest blink code among the active faults; 0 when none is active.
    pub const fn blink(&self) -> u8 {
        self.blink
    }
}

/// Whether a row whose condition contradicts it changes now.
fn elapsed(rule: &FaultRule, condition: bool, waited: &mut u32, period: Period, all_neutral: bool) -> bool {
    let time = if condition { rule.set_after } else { rule.clear_after };
    // Steps times period against the time, both in microseconds: no table of steps, no division.
    if product(*waited, period.micros()) < product(time.ticks(), 1000) {
        *waited = waited.saturating_add(1);
        return false;
    }
    let released = match rule.latch {
        Latch::WhilePresent => true,
        Latch::UntilNeutral => all_neutral,
        Latch::UntilRestart => false,
    };
    let changes = condition || released;
    if changes {
        *waited = 0;
    }
    changes
}

/// The place of the first row of each word. A range that is stepped through checks a sum, so a panic would be reachable as
/// far as a linker can tell.
pub(super) fn firsts() -> impl Iterator<Item = u16> {
    core::iter::successors(Some(0_u16), |first| first.checked_add(32))
}

/// Places of the bits of a word, lowest first.
pub(super) fn bits(word: u32) -> impl Iterator<Item = u16> {
    let mut rest = word;
    core::iter::from_fn(move || {
        let lowest = rest.trailing_zeros();
        rest &= rest.wrapping_sub(1);
        (lowest < 32).then_some(lowest as u16)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::declare::FaultInfo;
    use crate::quantity::Millis;
    use proptest::prelude::*;
    use std::vec::Vec;

    const STOP: Reactions = Reactions(1);
    const SLOW: Reactions = Reactions(2);

    crate::faults! {
        /// One of each kind.
        pub enum Fault {
            /// At once, gone with its cause.
            Plain: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 40, "here";
            /// With times, gone with its cause.
            Timed: spn 1, fmi 2, set 30, clear 20, Latch::WhilePresent, SLOW, blink 12, "here";
            /// Kept until the levers are neutral.
            UntilNeutral: spn 1, fmi 3, set 10, clear 20, Latch::UntilNeutral, STOP, blink 30, "here";
            /// Kept until a restart.
            UntilRestart: spn 1, fmi 4, set 20, clear 10, Latch::UntilRestart, STOP, blink 99, "here";
        }
    }

    type Table = FaultTable<Fault, { Fault::COUNT }>;

    fn table() -> Table {
        Table::new(Period::from_micros(10_000).unwrap())
    }

    /// More faults than one word has bits.
    #[derive(Debug, Clone, Copy)]
    struct Many(u16);

    impl FaultSet for Many {
        type Bits = [u32; 3];
        const RULES: &'static [FaultRule] = &[FaultRule {
            spn: 1,
            fmi: 1,
            set_after: Millis::from_ticks(20),
            clear_after: Millis::from_ticks(10),
            latch: Latch::WhilePresent,
            reactions: STOP,
            blink: 7,
        }; 70];
        const INFO: &'static [FaultInfo] = &[];

        fn place(self) -> u16 {
            self.0
        }
    }

    #[test]
    fn a_fault_of_any_word_waits_its_own_time_and_is_told_in_its_own_place() {
        for place in 0..70_u16 {
            let mut table = FaultTable::<Many, 70>::new(Period::from_micros(10_000).unwrap());
            let mut conditions = [false; 70];
            conditions[usize::from(place)] = true;
            conditions[usize::from((place + 33) % 70)] = true;
            table.step(&conditions, true);
            conditions[usize::from((place + 33) % 70)] = false;
            table.step(&conditions, true);
            assert_eq!((table.count_active(), table.blink()), (0, 0));
            table.step(&conditions, true);
            assert_eq!(table.active_places().collect::<Vec<_>>(), [place]);
            assert!(table.is_active(Many(place)) && !table.is_place_active(place + 70));
            assert_eq!((table.count_active(), table.blink(), table.reactions()), (1, 7, STOP));
            let mut words = [0; 3];
            words[usize::from(place / 32)] = 1 << (place % 32);
            assert_eq!(table.active_words(), words);
            conditions[usize::from(place)] = false;
            table.step(&conditions, true);
            assert!(table.is_active(Many(place)));
            table.step(&conditions, true);
            assert_eq!((table.count_active(), table.blink(), table.reactions()), (0, 0, Reactions::NONE));
        }
    }

    #[test]
    fn a_safety_latch_stays_whatever_the_levers_do_until_the_table_is_reset() {
        let mut table = table();
        for _ in 0..3 {
            table.step(&[false, false, false, true], false);
        }
        for _ in 0..1_000 {
            table.step(&[false; 4], true);
        }
        assert!(table.is_active(Fault::UntilRestart));
        assert_eq!((table.reactions(), table.blink(), table.count_active()), (STOP, 99, 1));
        table.reset();
        assert!(!table.is_active(Fault::UntilRestart));
        assert_eq!((table.reactions(), table.blink(), table.count_active()), (Reactions::NONE, 0, 0));
    }

    #[test]
    fn a_latch_until_neutral_waits_for_the_levers_even_long_after_its_cause_is_gone() {
        let mut table = table();
        table.step(&[false, false, true, false], true);
        table.step(&[false, false, true, false], true);
        assert!(table.is_active(Fault::UntilNeutral), "neutral levers do not keep it from being set");
        for _ in 0..100 {
            table.step(&[false; 4], false);
            assert!(table.is_active(Fault::UntilNeutral));
        }
        table.step(&[false; 4], true);
        assert!(!table.is_active(Fault::UntilNeutral));
    }

    #[test]
    fn places_beyond_the_table_are_never_active() {
        let mut table = table();
        table.step(&[true; 4], false);
        assert!(!table.is_place_active(4) && !table.is_place_active(u16::MAX));
    }

    /// The rules by their words, over the whole history: no counters.
    fn expected(history: &[([bool; 4], bool)], fault: usize, before: bool) -> bool {
        let rule = &Fault::RULES[fault];
        let (now, all_neutral) = *history.last().unwrap();
        let run = history.iter().rev().take_while(|(conditions, _)| conditions[fault] == now[fault]).count();
        let time = if now[fault] { rule.set_after } else { rule.clear_after };
        if run <= time.ticks() as usize / 10 {
            return before;
        }
        match (now[fault], rule.latch) {
            (true, _) => true,
            (false, Latch::WhilePresent) => false,
            (false, Latch::UntilNeutral) => before && !all_neutral,
            (false, Latch::UntilRestart) => before,
        }
    }

    proptest! {
        #[test]
        fn every_row_follows_its_own_rule_and_the_sums_follow_the_rows(
            history in proptest::collection::vec((prop::array::uniform4(prop::bool::weighted(0.6)), prop::bool::weighted(0.3)), 1..120)
        ) {
            let mut table = table();
            let mut active = [false; 4];
            for step in 0..history.len() {
                let (conditions, all_neutral) = history[step];
                table.step(&conditions, all_neutral);
                for (fault, active) in Fault::ALL.iter().zip(&mut active) {
                    *active = expected(&history[..=step], *fault as usize, *active);
                    prop_assert_eq!(table.is_active(*fault), *active, "{:?} at {}", fault, step);
                }
                // What waits is what contradicts, and nothing else: a row that did not change costs nothing.
                for (fault, (condition, active)) in conditions.iter().zip(active).enumerate() {
                    prop_assert_eq!(table.waiting.as_ref()[0] & (1 << fault) != 0, *condition != active);
                }
                let places: Vec<u16> = (0..4).filter(|place| active[usize::from(*place)]).collect();
                let rules: Vec<&FaultRule> = places.iter().map(|place| &Fault::RULES[usize::from(*place)]).collect();
                prop_assert_eq!(table.active_places().collect::<Vec<u16>>(), places);
                prop_assert_eq!(usize::from(table.count_active()), rules.len());
                prop_assert_eq!(table.blink(), rules.iter().map(|rule| rule.blink).min().unwrap_or(0));
                let reactions = rules.iter().fold(Reactions::NONE, |sum, rule| sum.union(rule.reactions));
                prop_assert_eq!(table.reactions(), reactions);
                for told in 0..16_u16 {
                    let is_told = |place: u16| told & (1 << place) != 0;
                    let untold = Fault::RULES.iter().enumerate().filter(|(place, _)| active[*place] && !is_told(*place as u16));
                    let expected = untold.fold(Reactions::NONE, |sum, (_, rule)| sum.union(rule.reactions));
                    prop_assert_eq!(table.reactions_untold(is_told), expected);
                }
            }
        }
    }
}
