//! What the black box keeps of the control program, and what a tester reads of it.

use trunnion_board::black_box::{Asked, BlackBoxConfig, FAULT_WORDS, Recorded, Unreadable};
use trunnion_service::negative::Negative;
use trunnion_service::served::BoxOrder;

use super::Control;

impl Recorded for Control {
    fn black_box(&self) -> BlackBoxConfig {
        let parameters = self.bus.parameters();
        BlackBoxConfig {
            depth: parameters.black_box_depth(),
            after: parameters.black_box_after(),
            rule: parameters.black_box_rule(),
        }
    }

    fn take_asked(&mut self) -> Option<Asked> {
        Some(match self.bus.take_box_order()? {
            BoxOrder::Read { place, length } => Asked::Read { place, length },
            BoxOrder::Freeze => Asked::Freeze,
            BoxOrder::Arm => Asked::Arm,
        })
    }

    fn answer(&mut self, bytes: Result<&[u8], Unreadable>) {
        self.bus.answer_box(bytes.map_err(|reason| match reason {
            Unreadable::NotFrozen => Negative::ConditionsNotCorrect,
            Unreadable::Outside => Negative::OutOfRange,
        }));
    }

    fn active_faults(&self) -> [u32; FAULT_WORDS] {
        let mut words = [0; FAULT_WORDS];
        for (word, active) in words.iter_mut().zip(self.faults.active_words()) {
            *word = *active;
        }
        words
    }
}
