//! Many contacts at once: each as a debouncer of its own.

use trunnion::sense::{Debounce, DebounceBank, DebounceConfig};

use super::{TICK, entry, ticks};
use crate::proof::Proof;
use crate::walk::{Merge, Requirement, Walked, always, family, planted, sometimes};

const CHANNELS: usize = 3;
/// The bank may be asked with bits beyond its channels.
const BEYOND: u32 = 1 << CHANNELS;

/// Steps to set and to clear, by channel.
#[derive(Debug, Clone, Copy)]
struct Rules {
    times: [(u32, u32); CHANNELS],
}

/// The bank, and beside it one debouncer a channel.
type Both = (DebounceBank<CHANNELS>, [Debounce; CHANNELS]);

impl Walked for Rules {
    type Block = Both;
    type Input = u32;
    /// What the bank says, and what the debouncers say.
    type Output = (u32, u32);
    /// What the bank said.
    type Memory = u32;
    // Words of bits are no counts.
    const MERGE: Merge = Merge::NOTHING;

    fn block(&self) -> Both {
        let configs = self
            .times
            .map(|(set, clear)| DebounceConfig { set_after: ticks(set), clear_after: ticks(clear) });
        let bank = DebounceBank::new(configs, TICK).expect("times in range");
        (bank, configs.map(|config| Debounce::new(config, TICK).expect("times in range")))
    }

    fn inputs(&self) -> Vec<u32> {
        (0..1 << CHANNELS).chain([BEYOND, u32::MAX]).collect()
    }

    fn step((bank, single): &mut Both, levels: u32) -> (u32, u32) {
        let mut expected = 0;
        for (place, debounce) in single.iter_mut().enumerate() {
            expected |= u32::from(debounce.step(levels & (1 << place) != 0)) << place;
        }
        (bank.step(levels), expected)
    }

    fn remember(&self, memory: &mut u32, _: u32, (bank, _): (u32, u32)) {
        *memory = bank;
    }

    fn requirements() -> Vec<Requirement<Self>> {
        vec![
            always("every channel is as a debouncer of its own", |now| now.output.0 == now.output.1),
            always("bits beyond the channels are nothing", |now| now.output.0 < BEYOND),
            sometimes("all are closed", |now| now.output.0 == BEYOND - 1),
            sometimes("one closes while another opens", |now| {
                let (rose, fell) = (now.output.0 & !*now.before, now.before & !now.output.0);
                rose != 0 && fell != 0
            }),
            planted("channels change one at a time", |now| (now.output.0 ^ *now.before).count_ones() < 2),
        ]
    }
}

pub(super) fn proof() -> Proof {
    let family_of =
        "three channels, steps to set and clear: 0/0 1/3 2/1, 3/0 2/2 0/3, 1/1 1/1 4/4, 7/2 2/7 8/1";
    entry::<Rules>("debounce_bank", "sense/debounce_bank", family_of, |bench| {
        let times = [
            [(0, 0), (1, 3), (2, 1)],
            [(3, 0), (2, 2), (0, 3)],
            [(1, 1), (1, 1), (4, 4)],
            [(7, 2), (2, 7), (8, 1)],
        ];
        family(bench, "debounce_bank", &times.map(|times| Rules { times }))
    })
}
