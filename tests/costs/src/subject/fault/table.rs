//! The declared faults and what is active of them.

use trunnion::declare::{Latch, Reactions};
use trunnion::fault::FaultTable;

use crate::random::Random;
use crate::scale::{Subject, Words};
use crate::spelled::Spelled;
use crate::subject::TICK;

/// Sixteen faults.
pub struct Block(FaultTable<Fault, { Fault::COUNT }>);

impl Subject for Block {
    const NAME: &'static str = "fault/table";
    type Input = Conditions;
    type Output = (u8, u8, u16);

    fn new() -> Self {
        Self(FaultTable::new(TICK))
    }

    fn input(random: &mut Random, previous: Option<&Conditions>) -> Conditions {
        Conditions::next(random, previous)
    }

    fn step(&mut self, input: &Conditions) -> (u8, u8, u16) {
        self.0.step(&input.conditions, input.all_neutral);
        (self.0.count_active(), self.0.blink(), self.0.reactions().0)
    }
}

/// The raw conditions of all faults, and whether all levers are neutral.
#[derive(Clone, Copy)]
pub struct Conditions {
    pub(super) conditions: [bool; Fault::COUNT],
    pub(super) all_neutral: bool,
}

impl Conditions {
    /// Each comes and goes now and then.
    pub(super) fn next(random: &mut Random, previous: Option<&Self>) -> Self {
        let mut conditions = previous.map_or([false; Fault::COUNT], |before| before.conditions);
        for condition in &mut conditions {
            *condition = random.level(Some(*condition), 100);
        }
        Self { conditions, all_neutral: random.level(previous.map(|before| before.all_neutral), 40) }
    }
}

trunnion::faults! {
    /// Sixteen faults with the times and latches of a loader's.
    pub enum Fault {
        /// Left lever lost.
        LeftLeverLost: spn 520200, fmi 2, set 0, clear 500, Latch::UntilNeutral, Reactions(1), blink 11, "left lever lost";
        /// Right lever lost.
        RightLeverLost: spn 520201, fmi 2, set 0, clear 500, Latch::UntilNeutral, Reactions(2), blink 12, "right lever lost";
        /// Engine speed lost.
        EngineSpeedLost: spn 520202, fmi 2, set 200, clear 500, Latch::WhilePresent, Reactions(4), blink 13, "engine speed lost";
        /// Charge pressure low.
        ChargePressureLow: spn 520203, fmi 2, set 300, clear 1000, Latch::UntilNeutral, Reactions(8), blink 14, "charge pressure low";
        /// Charge pressure sensor.
        ChargePressureSensor: spn 520204, fmi 2, set 100, clear 500, Latch::WhilePresent, Reactions(1), blink 15, "charge pressure sensor";
        /// Oil temperature sensor.
        OilTemperatureSensor: spn 520205, fmi 2, set 500, clear 1000, Latch::WhilePresent, Reactions(2), blink 16, "oil temperature sensor";
        /// Oil temperature high.
        OilTemperatureHigh: spn 520206, fmi 2, set 2000, clear 5000, Latch::WhilePresent, Reactions(4), blink 17, "oil temperature high";
        /// Emergency stop.
        EmergencyStop: spn 520207, fmi 2, set 0, clear 0, Latch::UntilRestart, Reactions(8), blink 18, "emergency stop";
        /// Seat switch.
        SeatSwitch: spn 520208, fmi 2, set 1000, clear 1000, Latch::WhilePresent, Reactions(1), blink 19, "seat switch";
        /// Left forward coil.
        LeftForwardCoil: spn 520209, fmi 5, set 50, clear 500, Latch::UntilRestart, Reactions(2), blink 11, "left forward coil";
        /// Left reverse coil.
        LeftReverseCoil: spn 520210, fmi 5, set 50, clear 500, Latch::UntilRestart, Reactions(4), blink 12, "left reverse coil";
        /// Right forward coil.
        RightForwardCoil: spn 520211, fmi 5, set 50, clear 500, Latch::UntilRestart, Reactions(8), blink 13, "right forward coil";
        /// Right reverse coil.
        RightReverseCoil: spn 520212, fmi 5, set 50, clear 500, Latch::UntilRestart, Reactions(1), blink 14, "right reverse coil";
        /// Supply low.
        SupplyLow: spn 520213, fmi 2, set 500, clear 2000, Latch::WhilePresent, Reactions(2), blink 15, "supply low";
        /// Supply high.
        SupplyHigh: spn 520214, fmi 2, set 100, clear 2000, Latch::WhilePresent, Reactions(4), blink 16, "supply high";
        /// Loop overrun.
        LoopOverrun: spn 520215, fmi 2, set 0, clear 1000, Latch::WhilePresent, Reactions(8), blink 17, "loop overrun";
    }
}

impl Spelled for Conditions {
    fn spell(&self, into: &mut Words, at: usize) -> usize {
        let at = self.conditions.spell(into, at);
        self.all_neutral.spell(into, at)
    }
}
