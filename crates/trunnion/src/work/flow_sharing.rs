//! More asked for than the pump delivers.

use core::fmt;

use crate::quantity::{Permille, Ratio, SHARE_BITS, product, quotient};

crate::choices! {
    /// Who goes without when the pump cannot serve all.
    #[cfg_attr(feature = "defmt", derive(defmt::Format))]
    pub enum FlowPriority {
        /// Gives up the same share as the others of its kind.
        Shared = "shared",
        /// Is served before those that share: steering, brakes.
        First = "first",
    }
}

/// One spool of a [`FlowSharing`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FlowConsumer {
    /// Flow at full opening as a share of the largest flow of the pump, 1 to 1000 ‰.
    pub full_flow: Permille,
    /// Who goes without.
    pub priority: FlowPriority,
}

/// Why the consumers of a [`FlowSharing`] were refused. Consumers are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum FlowSharingError {
    /// The flow at full opening is outside 1 to 1000 ‰.
    FullFlow {
        /// Which consumer.
        consumer: u8,
        /// What was asked for.
        given: Permille,
    },
}

impl fmt::Display for FlowSharingError {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::FullFlow { consumer, given } = self;
        write!(formatter, "consumer {consumer}: flow at full opening of {} ‰: set 1 ‰ to 1000 ‰", given.raw())
    }
}

impl core::error::Error for FlowSharingError {}

/// Shares the flow of one pump among spools when together they ask for more than there is.
///
/// Without it the function with the least load takes all and the others stop. Commands that fit stay as they are, to the
/// bit. Otherwise those with priority are served first, and whoever does not fit gives up the same share within
/// its kind, so that a movement of several cylinders keeps its direction. The sum of the flows is never above
/// what is available: each command rounds towards zero. None or more than 16 consumers are refused by the
/// compiler.
///
#[doc = include_str!("../../docs/work-flow_sharing.svg")]
///
/// ```
/// use trunnion::quantity::{Permille, Ratio};
/// use trunnion::work::{FlowConsumer, FlowPriority, FlowSharing};
///
/// let consumer = |full_flow, priority| FlowConsumer { full_flow: Permille::new(full_flow).unwrap(), priority };
/// let sharing = FlowSharing::new([
///     consumer(200, FlowPriority::First),  // steering
///     consumer(900, FlowPriority::Shared), // boom
///     consumer(700, FlowPriority::Shared), // bucket
/// ])
/// .unwrap();
/// let percent = |percent: i32| Ratio::from_permille(10 * percent).unwrap();
///
/// // Steering takes 20 %, boom and bucket ask for 160 % and get what is left, 80 %: half of it.
/// let given = sharing.step([percent(100), percent(100), percent(-100)], Ratio::ONE);
/// assert_eq!(given, [percent(100), percent(50), percent(-50)]);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct FlowSharing<const CONSUMERS: usize> {
    #[cfg_attr(feature = "snapshot", serde(with = "serde_big_array::BigArray"))]
    consumers: [FlowConsumer; CONSUMERS],
}

impl<const CONSUMERS: usize> FlowSharing<CONSUMERS> {
    /// Refuses a flow outside 1 to 1000 ‰.
    ///
    /// # Errors
    ///
    /// [`FlowSharingError`]: which rule the config breaks, with its value.
    pub fn new(consumers: [FlowConsumer; CONSUMERS]) -> Result<Self, FlowSharingError> {
        const { assert!(CONSUMERS >= 1 && CONSUMERS <= 16, "1 to 16 consumers share a pump") };
        for (consumer, FlowConsumer { full_flow: given, .. }) in (1_u8..).zip(consumers) {
            if given.raw() < 1 {
                return Err(FlowSharingError::FullFlow { consumer, given });
            }
        }
        Ok(Self { consumers })
    }

    /// Takes other consumers as a whole or refuses them as a whole.
    ///
    /// # Errors
    ///
    /// [`FlowSharingError`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, consumers: [FlowConsumer; CONSUMERS]) -> Result<(), FlowSharingError> {
        *self = Self::new(consumers)?;
        Ok(())
    }

    /// The commands that the pump can serve; `available` is its flow at the present speed and stroke as a share of its
    /// largest, below zero counts as zero.
    pub fn step(&self, commands: [Ratio; CONSUMERS], available: Ratio) -> [Ratio; CONSUMERS] {
        // In thousandths of 2⁻³⁰, as a demand.
        let available = product(available.at_least(Ratio::ZERO).to_bits().unsigned_abs(), 1000);
        let first = self.demand(&commands, FlowPriority::First);
        let shared = self.demand(&commands, FlowPriority::Shared);
        let first_share = Share::of(available, first);
        let shared_share = Share::of(available.saturating_sub(first), shared);
        let mut given = commands;
        for (command, consumer) in given.iter_mut().zip(&self.consumers) {
            let share = match consumer.priority {
                FlowPriority::First => first_share,
                FlowPriority::Shared => shared_share,
            };
            *command = share.take(*command);
        }
        given
    }

    /// In thousandths of 2⁻³⁰: at most 16 · 1000 · 2³⁰, below 2⁴⁴.
    fn demand(&self, commands: &[Ratio; CONSUMERS], priority: FlowPriority) -> u64 {
        let mut sum = 0_u64;
        for (command, consumer) in commands.iter().zip(&self.consumers) {
            if consumer.priority == priority {
                sum = sum.wrapping_add(flow(*command, consumer));
            }
        }
        sum
    }
}

fn flow(command: Ratio, consumer: &FlowConsumer) -> u64 {
    product(command.to_bits().unsigned_abs(), consumer.full_flow.raw().unsigned_abs().into())
}

/// What everybody of a kind keeps, in 2⁻³⁰, rounded towards zero.
#[derive(Clone, Copy)]
#[cfg_attr(feature = "snapshot", derive(serde::Serialize, serde::Deserialize))]
struct Share {
    bits: u32,
}

impl Share {
    const ONE: Self = Self { bits: 1 << 30 };

    fn of(available: u64, demand: u64) -> Self {
        if demand <= available {
            return Self::ONE;
        }
        // A guess with the highest 31 bits of the demand, and one more where others follow: at most three below the quotient.
        let shift = 33_u32.saturating_sub(demand.leading_zeros());
        let divisor = (demand.wrapping_shr(shift) as u32).wrapping_add(u32::from(shift > 0));
        let mut bits = quotient(available.wrapping_shr(shift).wrapping_shl(SHARE_BITS), divisor);
        // The whole product has 74 bits, but what is left of it is below four times the demand.
        let mut rest = available.wrapping_shl(SHARE_BITS).wrapping_sub(u64::from(bits).wrapping_mul(demand));
        for _ in 0..3 {
            if rest >= demand {
                rest = rest.wrapping_sub(demand);
                bits = bits.wrapping_add(1);
            }
        }
        Self { bits }
    }

    fn take(self, command: Ratio) -> Ratio {
        let kept = product(command.to_bits().unsigned_abs(), self.bits).wrapping_shr(SHARE_BITS);
        Ratio::within_range(kept as i32).directed_as(command)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    type Case = ([FlowConsumer; 4], [Ratio; 4]);

    fn ratio() -> impl Strategy<Value = Ratio> {
        prop_oneof![
            8 => (-Ratio::ONE_BITS..=Ratio::ONE_BITS).prop_map(|bits| Ratio::from_bits(bits).unwrap()),
            1 => Just(Ratio::ZERO),
            1 => (-5..=5).prop_map(|bits| Ratio::from_bits(bits).unwrap()),
        ]
    }

    fn case() -> impl Strategy<Value = Case> {
        let consumer =
            (1_i16..=1000, proptest::sample::select(FlowPriority::ALL)).prop_map(|(full_flow, priority)| {
                FlowConsumer { full_flow: Permille::new(full_flow).unwrap(), priority }
            });
        (proptest::array::uniform4(consumer), proptest::array::uniform4(ratio()))
    }

    fn sum((consumers, commands): &Case, which: impl Fn(FlowPriority) -> bool) -> u64 {
        let kind = consumers.iter().zip(commands).filter(|(consumer, _)| which(consumer.priority));
        kind.map(|(consumer, command)| flow(*command, consumer)).sum()
    }

    fn flow_of(available: Ratio) -> u64 {
        1000 * available.at_least(Ratio::ZERO).to_bits() as u64
    }

    fn given(case: &Case, available: Ratio) -> [Ratio; 4] {
        FlowSharing::new(case.0).unwrap().step(case.1, available)
    }

    proptest! {
        #[test]
        fn the_sum_of_the_flows_is_never_above_what_is_available(case in case(), available in ratio()) {
            let given = (case.0, given(&case, available));
            prop_assert!(sum(&given, |_| true) <= flow_of(available));
        }

        #[test]
        fn commands_that_fit_stay_as_they_are_and_no_command_grows_or_turns(case in case(), available in ratio()) {
            let given = given(&case, available);
            prop_assert!(sum(&case, |_| true) > flow_of(available) || given == case.1);
            for (given, asked) in given.iter().zip(case.1) {
                prop_assert!(given.magnitude() <= asked.magnitude() && !given.opposite_direction(asked));
            }
        }

        #[test]
        fn whoever_has_priority_keeps_all_before_the_others_get_any(case in case(), available in ratio()) {
            let given = (case.0, given(&case, available));
            let first = |priority| priority == FlowPriority::First;
            let kept_all = sum(&given, first) == sum(&case, first);
            prop_assert!(kept_all || sum(&given, |priority| !first(priority)) == 0);
            prop_assert_eq!(kept_all, sum(&case, first) <= flow_of(available));
        }

        #[test]
        fn a_share_is_the_quotient_rounded_down(
            demand in 1_u64..1 << 44, available in 0_u64..1 << 44, short in 0_u32..44, tie in any::<bool>()
        ) {
            let demand = (demand >> short).max(1);
            let available = if tie { demand - 1 - available % demand.min(4) } else { available % demand };
            let exact = (u128::from(available) << 30) / u128::from(demand);
            prop_assert_eq!(u128::from(Share::of(available, demand).bits), exact);
            prop_assert_eq!(Share::of(demand, demand).bits, 1 << 30);
        }

        #[test]
        fn those_of_a_kind_keep_the_same_share_and_little_is_left_over(case in case(), available in ratio()) {
            let given = given(&case, available);
            let available = flow_of(available);
            for kind in FlowPriority::ALL {
                let asked = sum(&case, |priority| priority == *kind);
                let rest = if *kind == FlowPriority::First { available } else { available.saturating_sub(sum(&case, |priority| priority == FlowPriority::First)) };
                if asked > rest {
                    for place in (0..4).filter(|place| case.0[*place].priority == *kind) {
                        let exact = i128::from(case.1[place].magnitude().to_bits()) * i128::from(rest) / i128::from(asked);
                        let error = exact - i128::from(given[place].magnitude().to_bits());
                        prop_assert!((0..=1).contains(&error), "off by {}", error);
                    }
                }
            }
        }

        #[test]
        fn more_flow_never_gives_anybody_less(case in case(), one in ratio(), other in ratio()) {
            let (less, more) = (given(&case, one.at_most(other)), given(&case, one.at_least(other)));
            prop_assert!(less.iter().zip(more).all(|(less, more)| less.magnitude() <= more.magnitude()));
        }
    }

    #[test]
    fn what_the_first_leave_is_shared_by_the_others() {
        let of =
            |full_flow, priority| FlowConsumer { full_flow: Permille::new(full_flow).unwrap(), priority };
        let sharing = FlowSharing::new([
            of(200, FlowPriority::First),
            of(900, FlowPriority::Shared),
            of(700, FlowPriority::Shared),
        ])
        .unwrap();
        let served = |commands: [i32; 3], available| {
            let given = sharing.step(
                commands.map(|raw| Ratio::from_permille(raw).unwrap()),
                Ratio::from_permille(available).unwrap(),
            );
            given.map(|command| command.to_permille().raw())
        };
        assert_eq!(served([1_000, 1_000, -1_000], 1_000), [1_000, 500, -500]);
        assert_eq!(served([1_000, 1_000, -1_000], 100), [500, 0, 0]);
        assert_eq!(served([0, 500, 500], 800), [0, 500, 500]);
    }

    #[test]
    fn a_flow_of_zero_is_refused_with_its_consumer_and_changes_nothing() {
        let good = FlowConsumer { full_flow: Permille::MAX, priority: FlowPriority::Shared };
        let mut sharing = FlowSharing::new([good, good]).unwrap();
        let error =
            sharing.reconfigure([good, FlowConsumer { full_flow: Permille::ZERO, ..good }]).unwrap_err();
        assert_eq!(std::format!("{error}"), "consumer 2: flow at full opening of 0 ‰: set 1 ‰ to 1000 ‰");
        assert_eq!(sharing.consumers, [good, good]);
    }

    four_verbs! {
        new: FlowSharing::new,
        configs: ([FlowConsumer { full_flow: Permille::new(800).unwrap(), priority: FlowPriority::ALL[0] }, FlowConsumer { full_flow: Permille::new(500).unwrap(), priority: FlowPriority::ALL[1] }], [FlowConsumer { full_flow: Permille::new(400).unwrap(), priority: FlowPriority::ALL[0] }, FlowConsumer { full_flow: Permille::new(900).unwrap(), priority: FlowPriority::ALL[1] }]),
        accepted: [
            [FlowConsumer { full_flow: Permille::new(1).unwrap(), priority: FlowPriority::ALL[0] }, FlowConsumer { full_flow: Permille::new(1).unwrap(), priority: FlowPriority::ALL[1] }],
            [FlowConsumer { full_flow: Permille::new(1000).unwrap(), priority: FlowPriority::ALL[0] }, FlowConsumer { full_flow: Permille::new(1000).unwrap(), priority: FlowPriority::ALL[1] }],
        ],
        refused: [
            [FlowConsumer { full_flow: Permille::new(0).unwrap(), priority: FlowPriority::ALL[0] }, FlowConsumer { full_flow: Permille::new(1).unwrap(), priority: FlowPriority::ALL[1] }] => "consumer 1: flow at full opening of 0 ‰: set 1 ‰ to 1000 ‰",
            [FlowConsumer { full_flow: Permille::new(1).unwrap(), priority: FlowPriority::ALL[0] }, FlowConsumer { full_flow: Permille::new(0).unwrap(), priority: FlowPriority::ALL[1] }] => "consumer 2: flow at full opening of 0 ‰: set 1 ‰ to 1000 ‰",
        ],
        inputs: (ratio(), ratio(), ratio()),
        step: |block, (one, other, available)| block.step([one, other], available),
    }
}
