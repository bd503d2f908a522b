//! What every block promises of `new`, `reconfigure`, `reset` and `step`, as properties: written once, tried for each.
//!
//! - The same configuration again, at any time, changes nothing.
//! - Another one makes of a block what would have been built with it, but for the state that it keeps.
//! - A refused one changes nothing, and its error says what was given and what to set.
//! - A reset makes it as new.

use std::fmt::{Debug, Display};
use std::vec::Vec;

use proptest::prelude::*;

type Outcome = Result<(), TestCaseError>;

/// Inputs that last for some steps each, so that time passes.
pub(crate) fn lasting<S: Strategy>(inputs: S) -> impl Strategy<Value = Vec<S::Value>>
where
    S::Value: Clone,
{
    proptest::collection::vec((inputs, prop_oneof![Just(1_usize), 1_usize..40]), 0..8).prop_map(|segments| {
        segments.into_iter().flat_map(|(input, steps)| std::iter::repeat_n(input, steps)).collect()
    })
}

fn run<B, I: Clone, O>(block: &mut B, inputs: &[I], step: &impl Fn(&mut B, I) -> O) -> Vec<O> {
    inputs.iter().map(|input| step(block, input.clone())).collect()
}

/// After a reset the outputs are those of a new block, whatever came before.
pub(crate) fn reset_forgets<B, C, E: Debug, I: Clone, O: PartialEq + Debug>(
    config: C,
    new: impl Fn(C) -> Result<B, E>,
    reset: impl Fn(&mut B),
    step: impl Fn(&mut B, I) -> O,
    (before, after): (&[I], &[I]),
) -> Outcome
where
    C: Copy,
{
    let mut used = new(config).unwrap();
    run(&mut used, before, &step);
    reset(&mut used);
    let mut fresh = new(config).unwrap();
    prop_assert_eq!(run(&mut used, after, &step), run(&mut fresh, after, &step));
    Ok(())
}

/// The configuration that is in force already changes nothing at any time, and another one makes of a block that
/// has not been stepped what would have been built with it.
pub(crate) fn configurations_are_taken<B: Clone, C: Copy, E: Debug, I: Clone, O: PartialEq + Debug>(
    (one, other): (C, C),
    new: impl Fn(C) -> Result<B, E>,
    reconfigure: impl Fn(&mut B, C) -> Result<(), E>,
    step: impl Fn(&mut B, I) -> O,
    (before, after): (&[I], &[I]),
) -> Outcome {
    let mut untouched = new(one).unwrap();
    run(&mut untouched, before, &step);
    let mut again = untouched.clone();
    reconfigure(&mut again, one).unwrap();
    prop_assert_eq!(run(&mut again, after, &step), run(&mut untouched, after, &step));

    let mut changed = new(one).unwrap();
    reconfigure(&mut changed, other).unwrap();
    let mut built = new(other).unwrap();
    prop_assert_eq!(run(&mut changed, after, &step), run(&mut built, after, &step));
    Ok(())
}

/// A refused configuration leaves the block as it was.
pub(crate) fn refusals_change_nothing<B: Clone, C: Copy, E: Debug, I: Clone, O: PartialEq + Debug>(
    (good, refused): (C, &[(C, &str)]),
    new: impl Fn(C) -> Result<B, E>,
    reconfigure: impl Fn(&mut B, C) -> Result<(), E>,
    step: impl Fn(&mut B, I) -> O,
    (before, after): (&[I], &[I]),
) -> Outcome {
    let mut untouched = new(good).unwrap();
    run(&mut untouched, before, &step);
    let mut refusing = untouched.clone();
    for (bad, _) in refused {
        prop_assert!(reconfigure(&mut refusing, *bad).is_err());
    }
    prop_assert_eq!(run(&mut refusing, after, &step), run(&mut untouched, after, &step));
    Ok(())
}

/// Each end of a range is taken, each value beyond is refused with words for the person who must act.
pub(crate) fn ends_are_taken_and_what_is_beyond_refused<B, C: Copy + Debug, E: Display + Debug>(
    new: impl Fn(C) -> Result<B, E>,
    accepted: &[C],
    refused: &[(C, &str)],
) {
    for good in accepted {
        assert!(new(*good).is_ok(), "{good:?} is refused");
    }
    for (bad, words) in refused {
        match new(*bad) {
            Ok(_) => panic!("{bad:?} is taken"),
            Err(error) => assert_eq!(std::format!("{error}"), *words),
        }
    }
}

/// Tries the promises of a block. `configs` are two that differ in every value; `accepted` are at the ends of the
/// ranges, `refused` beyond them; `step` gives all that can be seen of the block.
macro_rules! four_verbs {
    (
        new: $new:expr,
        configs: ($one:expr, $other:expr),
        accepted: [$($good:expr),* $(,)?],
        refused: [$($bad:expr => $words:expr),* $(,)?],
        inputs: $inputs:expr,
        step: $step:expr,
        $(reset: $reset:expr,)?
    ) => {
        mod four_verbs {
            use super::*;
            use crate::four_verbs;

            proptest! {
                #[test]
                fn a_configuration_is_taken_as_a_whole_and_the_state_kept(
                    before in four_verbs::lasting($inputs), after in four_verbs::lasting($inputs)
                ) {
                    four_verbs::configurations_are_taken(
                        ($one, $other), $new, |block, config| block.reconfigure(config), $step, (&before, &after)
                    )?;
                }

                #[test]
                fn a_refused_configuration_changes_nothing(
                    before in four_verbs::lasting($inputs), after in four_verbs::lasting($inputs)
                ) {
                    four_verbs::refusals_change_nothing(
                        ($one, &[$(($bad, $words)),*]), $new, |block, config| block.reconfigure(config), $step,
                        (&before, &after)
                    )?;
                }

                $(
                    #[test]
                    fn after_a_reset_it_is_as_new(
                        before in four_verbs::lasting($inputs), after in four_verbs::lasting($inputs)
                    ) {
                        four_verbs::reset_forgets($one, $new, $reset, $step, (&before, &after))?;
                    }
                )?
            }

            #[test]
            fn the_ends_of_the_ranges_are_taken_and_what_is_beyond_is_refused_with_what_to_set() {
                four_verbs::ends_are_taken_and_what_is_beyond_refused($new, &[$($good),*], &[$(($bad, $words)),*]);
            }
        }
    };
}
