//! The two loops of a controller, in the order that every host and every board keeps.

use core::fmt;

use super::{Boot, FastInputs, FastLoop, FastOutputs, Machine};
use crate::declare::Refusal;

/// A machine with its fast loop and the set-points latched between them.
///
/// Within one period come [`Machine::FAST_STEPS`] calls of [`fast_step`](Self::fast_step), then one of
/// [`step`](Self::step), whose set-points hold for the next period. A copy of it is a snapshot.
#[derive(Clone)]
pub struct Stepper<M: Machine> {
    machine: M,
    fast: M::Fast,
    set_points: <M::Fast as FastLoop>::SetPoints,
}

impl<M: Machine + fmt::Debug> fmt::Debug for Stepper<M> {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.debug_struct("Stepper").field("machine", &self.machine).finish_non_exhaustive()
    }
}

impl<M: Machine> Stepper<M> {
    /// Starts the machine; until its first step all set-points are safe.
    pub fn start(boot: &Boot<M::Parameters>) -> Self {
        let (machine, fast) = M::start(boot);
        Self { machine, fast, set_points: Default::default() }
    }

    /// One step of the fast loop on the latched set-points.
    pub fn fast_step(&mut self, inputs: &FastInputs<M>) -> FastOutputs<M> {
        self.fast.step(&self.set_points, inputs)
    }

    /// One step of the machine; latches the set-points for the fast loop. What a tester committed in it is in effect
    /// when the next one begins.
    pub fn step(&mut self, inputs: &M::Inputs) -> M::Outputs {
        let report = self.fast.report();
        let outputs = self.machine.step(inputs, &report);
        self.set_points = self.machine.set_points();
        if let Some(parameters) = self.machine.committed() {
            // The machine checked the set before it let the board store it.
            let _ = self.reconfigure(&parameters);
        }
        outputs
    }

    /// Puts a whole parameter set into effect between two periods, or refuses it as a whole.
    ///
    /// # Errors
    ///
    /// [`Refusal`], as for `new`; everything then stays as it was.
    pub fn reconfigure(&mut self, parameters: &M::Parameters) -> Result<(), Refusal> {
        self.machine.reconfigure(&mut self.fast, parameters)
    }

    /// The machine, for its diagnostic signals.
    pub fn machine(&self) -> &M {
        &self.machine
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::declare::{Access, Latch, ParameterSet, Reactions};
    use crate::quantity::Period;
    use proptest::prelude::*;

    crate::signals! {
        /// What comes in.
        pub struct In, pub enum InIndex {
            /// A count.
            count: i32 = 0;
        }
    }

    crate::signals! {
        /// What goes out.
        pub struct Out, pub enum OutIndex {
            /// A count.
            count: i32 = 0;
        }
    }

    crate::parameters! {
        /// One of a kind.
        pub struct Set, pub enum SetIndex {
            /// Added in every step.
            0x0001 added: u8 = 1, in 0..=100, Access::Tune;
        }
    }

    crate::faults! {
        /// What can go wrong.
        pub enum Fault {
            /// Never.
            Never: spn 1, fmi 1, set 0, clear 0, Latch::WhilePresent, Reactions::NONE, blink 1, "nowhere";
        }
    }

    /// Adds the set-point to what it is given, and reports how many steps it has made.
    #[derive(Debug, Clone, PartialEq)]
    struct Adder {
        added: i32,
        steps: u32,
    }

    impl FastLoop for Adder {
        type SetPoints = In;
        type Inputs = In;
        type Outputs = Out;
        type Report = u32;

        fn step(&mut self, set_points: &In, inputs: &In) -> Out {
            self.steps += 1;
            Out { count: inputs.count + set_points.count + self.added }
        }

        fn report(&mut self) -> u32 {
            core::mem::take(&mut self.steps)
        }
    }

    /// Its set-point is the last input; its output what the fast loop reported.
    #[derive(Debug, Clone, PartialEq)]
    struct Echo {
        last: In,
        reported: u32,
        /// What it was given stands for what a tester writes.
        committed: Option<Set>,
    }

    impl Machine for Echo {
        const PERIOD: Period = Period::from_micros(10_000).unwrap();
        const FAST_STEPS: u8 = 10;
        type Parameters = Set;
        type Fast = Adder;
        type Inputs = In;
        type Outputs = Out;
        type Diagnostics = Out;
        type Faults = Fault;

        fn start(boot: &Boot<Set>) -> (Self, Adder) {
            let added = i32::from(boot.parameters.added());
            (Self { last: In::default(), reported: 0, committed: None }, Adder { added, steps: 0 })
        }

        fn step(&mut self, inputs: &In, report: &u32) -> Out {
            let mut set = Set::default();
            let committed = (inputs.count < 0 && set.stage(1, -inputs.count).is_ok()).then_some(set);
            *self = Self { last: *inputs, reported: *report, committed };
            Out { count: *report as i32 }
        }

        fn set_points(&self) -> In {
            self.last
        }

        fn reconfigure(&mut self, fast: &mut Adder, parameters: &Set) -> Result<(), Refusal> {
            if parameters.raw(0) == 13 {
                return Err(parameters.contradiction(SetIndex::added, "not this one"));
            }
            fast.added = parameters.raw(0);
            Ok(())
        }

        fn committed(&mut self) -> Option<Set> {
            self.committed.take()
        }

        fn is_fault_active(&self, _index: u16) -> bool {
            false
        }

        fn diagnostics(&self) -> Out {
            Out { count: self.reported as i32 }
        }
    }

    proptest! {
        #[test]
        fn the_fast_loop_has_the_set_points_of_the_last_period_and_the_machine_the_report_of_this_one(
            periods in proptest::collection::vec((0..1_000, 0_usize..20), 1..20), added in 0..100
        ) {
            let mut parameters = Set::default();
            parameters.stage(1, added).unwrap();
            let mut stepper = Stepper::<Echo>::start(&Boot { parameters, ..Boot::default() });
            let mut set_point = 0;
            for (input, fast_steps) in periods {
                for fast in 0..fast_steps {
                    let out = stepper.fast_step(&In { count: fast as i32 });
                    prop_assert_eq!(out.count, fast as i32 + set_point + added);
                }
                prop_assert_eq!(stepper.step(&In { count: input }).count, fast_steps as i32);
                prop_assert_eq!(stepper.machine().last.count, input);
                set_point = input;
            }
        }
    }

    #[test]
    fn what_a_tester_committed_is_in_effect_from_the_next_period_on_unless_it_is_refused() {
        let mut stepper = Stepper::<Echo>::start(&Boot::default());
        stepper.step(&In { count: 0 });
        assert_eq!(stepper.fast_step(&In::default()).count, 1);
        stepper.step(&In { count: -40 });
        assert_eq!(stepper.fast_step(&In { count: 40 }).count, 40, "set-point -40, input 40, added 40");
        stepper.step(&In { count: -13 });
        assert_eq!(stepper.fast_step(&In { count: 13 }).count, 40, "13 is refused: 40 stays");
    }

    #[test]
    fn other_parameters_reach_both_loops_or_are_refused() {
        let mut stepper = Stepper::<Echo>::start(&Boot::default());
        let mut parameters = Set::default();
        parameters.stage(SetIndex::added.id(), 40).unwrap();
        assert_eq!(stepper.reconfigure(&parameters), Ok(()));
        assert_eq!(stepper.fast_step(&In::default()).count, 40);
        parameters.stage(1, 13).unwrap();
        assert!(stepper.reconfigure(&parameters).is_err());
        assert_eq!(stepper.fast_step(&In::default()).count, 40);
        assert!((0..Fault::COUNT).all(|fault| !stepper.machine().is_fault_active(fault as u16)));
        assert_eq!(stepper.machine().diagnostics().count, 0);
        assert!(std::format!("{stepper:?}").starts_with("Stepper { machine: Echo {"));
    }
}
