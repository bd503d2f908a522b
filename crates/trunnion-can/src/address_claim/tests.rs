use proptest::prelude::*;
use std::vec::Vec;

use super::*;
use crate::name::NameFields;
use crate::request::Request;

const TICK: Period = Period::from_micros(10_000).unwrap();

fn name(identity: u32, may_move: MayMove) -> Name {
    Name::new(NameFields {
        identity,
        manufacturer: 10,
        controller_instance: 0,
        function_instance: 0,
        function: 69,
        vehicle_system: 0,
        vehicle_system_instance: 0,
        industry_group: 3,
        may_move,
    })
    .unwrap()
}

fn claim(identity: u32, may_move: MayMove, preferred: u8) -> AddressClaim {
    AddressClaim::new(AddressClaimConfig { name: name(identity, may_move), preferred }, TICK).unwrap()
}

#[test]
fn an_address_in_the_free_range_is_used_only_after_250_ms_without_a_contest() {
    let mut claim = claim(1, MayMove::Yes, 128);
    assert_eq!(claim.step().unwrap().id29().unwrap().to_raw(), 0x18EE_FF80);
    for _ in 0..24 {
        assert_eq!((claim.step(), claim.address()), (None, None));
    }
    claim.step();
    assert_eq!(claim.address(), Some(128));
}

#[test]
fn a_higher_name_is_answered_and_the_address_kept() {
    let mut ours = claim(1, MayMove::No, 0x27);
    let mut theirs = claim(2, MayMove::No, 0x27);
    let first = ours.step().unwrap();
    ours.take(&theirs.step().unwrap());
    theirs.take(&first);
    let defence = ours.step().unwrap();
    assert_eq!(defence, first);
    theirs.take(&defence);
    assert_eq!((ours.address(), theirs.address()), (Some(0x27), None));
    let said: Vec<Frame> = (0..30).filter_map(|_| theirs.step()).collect();
    assert_eq!(said.len(), 1, "said once");
    assert_eq!(said[0].id29().unwrap().to_raw(), 0x18EE_FFFE);
}

#[test]
fn a_loser_that_may_move_takes_an_address_that_nobody_was_seen_to_claim() {
    let mut ours = claim(5, MayMove::Yes, 200);
    ours.step();
    for address in (201..=247).chain(128..=130).chain([200]) {
        let frame = claim(1, MayMove::No, address).step().unwrap();
        ours.take(&frame);
    }
    assert_eq!(ours.step().unwrap().id29().unwrap().source(), 131);
    for _ in 0..25 {
        ours.step();
    }
    assert_eq!(ours.address(), Some(131));
}

#[test]
fn a_request_for_the_claim_is_answered_to_all() {
    let mut ours = claim(5, MayMove::No, 0x27);
    ours.step();
    for destination in [0x27, 0xFF] {
        ours.take(&Request { pgn: pgn::ADDRESS_CLAIMED }.frame(destination, 0xF9).unwrap());
        assert_eq!(ours.step().unwrap().id29().unwrap().to_raw(), 0x18EE_FF27);
    }
    ours.take(&Request { pgn: pgn::ADDRESS_CLAIMED }.frame(0x28, 0xF9).unwrap());
    assert_eq!(ours.step(), None, "asked of somebody else");
}

#[test]
fn nobody_can_be_made_to_prefer_an_address_that_is_none() {
    for preferred in [254, 255] {
        let config = AddressClaimConfig { name: name(1, MayMove::No), preferred };
        let error = AddressClaim::new(config, TICK).unwrap_err();
        assert_eq!(error, AddressClaimConfigError::NoAddress { value: preferred });
    }
}

proptest! {
    #[test]
    fn of_any_controllers_on_one_bus_no_two_end_with_the_same_address(
        identities in proptest::collection::hash_set(0_u32..1 << 21, 1..8), seed in proptest::collection::vec(any::<(bool, u8, u8)>(), 8)
    ) {
        let mut controllers: Vec<(u8, AddressClaim)> = identities
            .iter()
            .zip(seed)
            .map(|(identity, (moves, preferred, late))| {
                let may_move = if moves { MayMove::Yes } else { MayMove::No };
                // Few addresses, so that most are contested.
                (late, claim(*identity, may_move, 126 + preferred % 4))
            })
            .collect();
        for period in 0_u32..600 {
            let mut frames = Vec::new();
            for (index, (late, controller)) in controllers.iter_mut().enumerate() {
                if u32::from(*late) <= period {
                    frames.extend(controller.step().map(|frame| (index, frame)));
                }
            }
            for (sender, frame) in frames {
                for (index, (late, controller)) in controllers.iter_mut().enumerate() {
                    if index != sender && u32::from(*late) <= period {
                        controller.take(&frame);
                    }
                }
            }
        }
        let mut addresses: Vec<u8> = controllers.iter().filter_map(|(_, controller)| controller.address()).collect();
        let all = addresses.len();
        addresses.sort_unstable();
        addresses.dedup();
        prop_assert_eq!(addresses.len(), all, "two of them share an address");
        for (_, controller) in &controllers {
            prop_assert_ne!(controller.standing(), Standing::Claiming, "undecided after six seconds");
            if controller.standing() == Standing::Lost {
                prop_assert_eq!(controller.name.may_move(), MayMove::No);
            }
        }
    }
}
