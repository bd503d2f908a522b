//! Requests, and claims of addresses.

use trunnion::quantity::Period;
use trunnion_can::address_claim::{AddressClaim, AddressClaimConfig, Standing};
use trunnion_can::id::pgn;
use trunnion_can::name::Name;
use trunnion_can::request::asked;

use crate::steps::Steps;

const TICK: Period = Period::from_micros(10_000).unwrap();
/// Claims of others, requests to us and to all.
const KNOWN: [u32; 6] = [0x18EE_FF27, 0x18EE_FF80, 0x18EE_FF81, 0x18EA_27F9, 0x18EA_FFF9, 0x18EE_FFFE];

/// Any frames at a controller that has, seeks or loses its address.
pub fn run(input: &[u8]) {
    let mut steps = Steps::new(input);
    let name = Name::parse(steps.bytes());
    let preferred = steps.byte() % 254;
    let mut claim = AddressClaim::new(AddressClaimConfig { name, preferred }, TICK).expect("an address");
    while !steps.is_empty() {
        for _ in 0..steps.byte() % 4 {
            let frame = steps.frame(&KNOWN);
            claim.take(&frame);
            if let Some(asked) = asked(&frame, 0x27) {
                assert!(asked.pgn <= 0x3_FFFF);
                assert_eq!(asked.source, frame.id29().expect("a request has 29 bits").source());
            }
        }
        if let Some(frame) = claim.step() {
            let id = frame.id29().expect("a claim has 29 bits");
            assert_eq!((id.pgn(), frame.bytes()), (pgn::ADDRESS_CLAIMED, &name.emit()[..]));
            assert!(id.source() <= 254);
            assert!(id.source() != 254 || claim.standing() == Standing::Lost);
        }
        assert_eq!(claim.address().is_some(), claim.standing() == Standing::Claimed);
        assert!(claim.address().is_none_or(|address| address <= 253));
    }
}
