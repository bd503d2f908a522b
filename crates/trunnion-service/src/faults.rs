//! Reading faults (ISO 14229-1, service 19). A trouble code has three bytes: SPN and FMI as in DM1.

use trunnion::declare::{FaultRule, FaultSet};

use crate::answer::Answer;
use crate::negative::Negative;
use crate::served::Served;

/// The failure is there now.
const TEST_FAILED: u8 = 0x01;
/// It came at least once since the history was cleared.
const CONFIRMED: u8 = 0x08;
/// The same: a fault counts as confirmed at once, its debounce is in the machine.
const FAILED_SINCE_CLEAR: u8 = 0x20;
/// The bits that this server keeps.
const KEPT: u8 = TEST_FAILED | CONFIRMED | FAILED_SINCE_CLEAR;
/// The format of the codes: SAE J1939-73.
const SPN_AND_FMI: u8 = 0x02;
/// The only extended data record: first and last time in periods since start, and count.
const HISTORY: u8 = 0x01;

/// Three bytes of a rule's code: SPN and FMI as in DM1 (SAE J1939-73).
pub const fn code_of(rule: &FaultRule) -> [u8; 3] {
    let [low, middle, high, _] = rule.spn.to_le_bytes();
    [low, middle, (high << 5) | (rule.fmi & 0x1F)]
}

/// The place of a code in the table.
pub fn place_of<F: FaultSet>(code: [u8; 3]) -> Option<u16> {
    (0..).zip(F::RULES).find(|(_, rule)| code_of(rule) == code).map(|(place, _)| place)
}

fn status(served: &impl Served, place: u16) -> u8 {
    let active = if served.is_fault_active(place) { TEST_FAILED } else { 0 };
    let came = if served.fault_entry(place).count > 0 { CONFIRMED | FAILED_SINCE_CLEAR } else { 0 };
    active | came
}

/// Answers a request of service 19; `asked` is what follows the service.
pub(crate) fn read<M: Served, const S: usize>(
    served: &M,
    asked: &[u8],
    answer: &mut Answer<S>,
) -> Result<(), Negative> {
    let rules = <M::Faults as FaultSet>::RULES;
    let places = || (0..).zip(rules);
    match *asked {
        [0x01, mask] => {
            let fits = |place| status(served, place) & mask & KEPT != 0;
            let count =
                places().fold(0_u16, |count, (place, _)| count.saturating_add(u16::from(fits(place))));
            let [high, low] = count.to_be_bytes();
            answer.begin(0x19).put(&[0x01, KEPT, SPN_AND_FMI, high, low]);
        }
        [0x02, mask] => {
            answer.begin(0x19).put(&[0x02, KEPT]);
            for (place, rule) in places() {
                let status = status(served, place);
                if status & mask & KEPT != 0 {
                    answer.put(&code_of(rule)).put(&[status]);
                }
            }
        }
        [0x06, a, b, c, record] if record == HISTORY || record == 0xFF => {
            let place = place_of::<M::Faults>([a, b, c]).ok_or(Negative::OutOfRange)?;
            let entry = served.fault_entry(place);
            answer.begin(0x19).put(&[0x06, a, b, c, status(served, place), HISTORY]);
            answer.put(&entry.first.to_be_bytes()).put(&entry.last.to_be_bytes()).put(&[entry.count]);
        }
        [0x06, _, _, _, _] => return Err(Negative::OutOfRange),
        [0x0A] => {
            answer.begin(0x19).put(&[0x0A, KEPT]);
            for (place, rule) in places() {
                answer.put(&code_of(rule)).put(&[status(served, place)]);
            }
        }
        [0x01 | 0x02 | 0x06 | 0x0A, ..] | [] => return Err(Negative::IncorrectLength),
        _ => return Err(Negative::SubFunctionNotSupported),
    }
    Ok(())
}
