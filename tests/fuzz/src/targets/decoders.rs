//! Messages of a single frame.

use trunnion::quantity::Permille;
use trunnion_can::engine::Eec1;
use trunnion_can::joystick::{BasicJoystick, ExtendedJoystick};
use trunnion_can::layout::{ALL, FieldLayout};
use trunnion_can::name::Name;
use trunnion_can::trouble_code::{Lamps, TroubleCode};
use trunnion_can::trouble_list::{TroubleList, parse};

use crate::steps::Steps;

/// Any eight bytes, and any band.
pub fn run(input: &[u8]) {
    let mut steps = Steps::new(input);
    let band = Permille::new((u16::from_le_bytes(steps.bytes()) % 1001) as i16).expect("up to 1000");
    let data: [u8; 8] = steps.bytes();
    let basic = BasicJoystick::parse(&data, band);
    assert_eq!(BasicJoystick::parse(&basic.emit(), band), basic);
    let extended = ExtendedJoystick::parse(&data, band);
    assert_eq!(ExtendedJoystick::parse(&extended.emit(), band), extended);
    let engine = Eec1::parse(&data);
    assert_eq!(Eec1::parse(&engine.emit()), engine);
    assert_eq!(Name::parse(data).emit(), data);
    let lamps = Lamps::parse([data[0], data[1]]);
    assert_eq!(Lamps::parse(lamps.emit()), lamps);
    if let Some(code) = TroubleCode::parse([data[2], data[3], data[4], data[5]]) {
        assert_eq!(TroubleCode::parse(code.emit()), Some(code));
    }
    let word = u64::from_le_bytes(data);
    for message in ALL {
        let put = message.fields.iter().fold(0, |put: u64, field: &FieldLayout| {
            assert_eq!(put & field.put(u64::MAX), 0, "fields overlap");
            put | field.put(field.read(word))
        });
        assert_eq!(put & !word, 0, "{}: a bit came from nowhere", message.name);
    }
}

/// Any bytes as DM1.
pub fn trouble_list(input: &[u8]) {
    let Some((lamps, codes)) = parse(input) else {
        assert!(input.len() < 6);
        return;
    };
    let mut written = TroubleList::<1785>::new(lamps);
    let mut read = Vec::new();
    for code in codes.take(445) {
        written.push(code);
        read.push(code);
    }
    assert_eq!((usize::from(written.codes()), written.left_out()), (read.len(), 0));
    let (again, codes) = parse(written.bytes()).expect("at least eight bytes");
    assert_eq!(again, lamps);
    // A code of all zeros is none, and a code that happens to be all ones is read as a free place.
    assert_eq!(codes.collect::<Vec<_>>(), read);
}
