//! What is active of the declared faults of a machine.

use trunnion::declare::{Latch, Reactions};
use trunnion::fault::FaultTable;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::subject::TICK;

const STOP_DRIVE: Reactions = Reactions(1);
const STOP_WORK: Reactions = Reactions(2);
const DERATE: Reactions = Reactions(4);
const STOP_ALL: Reactions = Reactions(8);

trunnion::faults! {
    /// Sixteen faults of a loader.
    pub enum Fault {
        /// LeverLeftLost.
        LeverLeftLost: spn 520200, fmi 9, set 50, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 11, "X1";
        /// LeverRightLost.
        LeverRightLost: spn 520201, fmi 9, set 50, clear 500, Latch::UntilNeutral, STOP_WORK, blink 12, "X2";
        /// LeverDisagrees.
        LeverDisagrees: spn 520202, fmi 9, set 0, clear 0, Latch::UntilRestart, STOP_ALL, blink 13, "X3";
        /// SeatContact.
        SeatContact: spn 520203, fmi 9, set 100, clear 100, Latch::WhilePresent, Reactions::NONE, blink 14, "X4";
        /// BarContact.
        BarContact: spn 520204, fmi 9, set 100, clear 100, Latch::WhilePresent, STOP_WORK, blink 15, "X5";
        /// EngineSpeedLost.
        EngineSpeedLost: spn 520205, fmi 9, set 200, clear 500, Latch::WhilePresent, DERATE, blink 21, "X6";
        /// MotorSpeedLeft.
        MotorSpeedLeft: spn 520206, fmi 9, set 300, clear 500, Latch::WhilePresent, DERATE, blink 22, "X7";
        /// MotorSpeedRight.
        MotorSpeedRight: spn 520207, fmi 9, set 300, clear 500, Latch::WhilePresent, DERATE, blink 22, "X8";
        /// ChargePressureLow.
        ChargePressureLow: spn 520208, fmi 9, set 500, clear 200, Latch::UntilNeutral, STOP_DRIVE, blink 31, "X9";
        /// OilHot.
        OilHot: spn 520209, fmi 9, set 1000, clear 5000, Latch::WhilePresent, DERATE, blink 32, "X10";
        /// SupplyLow.
        SupplyLow: spn 520210, fmi 9, set 500, clear 1000, Latch::WhilePresent, STOP_ALL, blink 41, "X11";
        /// SupplyHigh.
        SupplyHigh: spn 520211, fmi 9, set 100, clear 1000, Latch::WhilePresent, STOP_ALL, blink 42, "X12";
        /// CoilPumpOpen.
        CoilPumpOpen: spn 520212, fmi 9, set 50, clear 500, Latch::UntilNeutral, STOP_DRIVE, blink 51, "X13";
        /// CoilPumpShort.
        CoilPumpShort: spn 520213, fmi 9, set 0, clear 0, Latch::UntilRestart, STOP_ALL, blink 52, "X14";
        /// CoilBoomOpen.
        CoilBoomOpen: spn 520214, fmi 9, set 50, clear 500, Latch::UntilNeutral, STOP_WORK, blink 53, "X15";
        /// CoilBoomShort.
        CoilBoomShort: spn 520215, fmi 9, set 0, clear 0, Latch::UntilRestart, STOP_ALL, blink 54, "X16";
    }
}

/// Sixteen faults with times and latches as a machine has them.
pub struct Block(FaultTable<Fault, { Fault::COUNT }>);

/// The raw condition of each fault, and whether all levers are released.
type Conditions = ([bool; Fault::COUNT], bool);

/// What all active faults do, the blink code, how many they are.
type Active = (Reactions, u8, u8);

impl Subject for Block {
    const NAME: &'static str = "fault/table";
    type Input = Conditions;
    type Output = Active;

    fn new() -> Self {
        Self(FaultTable::new(TICK))
    }

    /// Mostly sound; a condition comes once in a while and stays for a while, or flutters.
    fn input(random: &mut Random, previous: Option<&Conditions>) -> Conditions {
        let Some((conditions, neutral)) = previous else { return ([false; Fault::COUNT], true) };
        let (mut conditions, neutral) = (*conditions, random.level(Some(*neutral), 40));
        let flutters = random.below(1_000) == 0;
        for condition in &mut conditions {
            let turns_in = match *condition {
                _ if flutters => 2,
                true => 60,
                false => 600,
            };
            *condition = random.level(Some(*condition), turns_in);
        }
        (conditions, neutral)
    }

    fn step(&mut self, (conditions, all_neutral): &Conditions) -> Active {
        self.0.step(conditions, *all_neutral);
        (self.0.reactions(), self.0.blink(), self.0.count_active())
    }

    fn input_words((conditions, all_neutral): &Conditions, into: &mut Words) -> usize {
        into[0] = i32::from(*all_neutral);
        for (word, condition) in into.iter_mut().skip(1).zip(conditions) {
            *word = i32::from(*condition);
        }
        Fault::COUNT + 1
    }

    fn output_words((reactions, blink, count): &Active, into: &mut Words) -> usize {
        into[0] = reactions.0.into();
        into[1] = i32::from(*blink);
        into[2] = i32::from(*count);
        3
    }
}
