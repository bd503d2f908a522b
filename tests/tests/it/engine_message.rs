//! Electronic Engine Controller 1 (SAE J1939-71): PGN 61444, bytes 4–5 engine speed, 0.125 rpm a bit.
//!
//! The plant's engine unit writes, the core reads; neither knows the other.

use trunnion::quantity::Rpm;
use trunnion_can::engine::{Eec1, SpeedField};
use trunnion_can::id::{Id29, pgn};
use trunnion_rig::plant::{EngineUnit, EngineUnitConfig, EngineUnitFault};

fn unit() -> EngineUnit {
    EngineUnit::new(EngineUnitConfig { source_address: 0, period_ms: 10.0, phase_ms: 0.0 }).unwrap()
}

fn speed_field(unit: &mut EngineUnit, speed_rpm: f64) -> SpeedField {
    let frame = unit.step(10_000, speed_rpm, 0.0).expect("a frame each period");
    Eec1::parse(&frame.data).speed
}

fn valid(eighths: u16) -> SpeedField {
    SpeedField::Valid(Rpm::new(i32::from(eighths)).unwrap())
}

/// `FF7D7DE015FFF0FF` → 0x15E0 = 700 rpm, identifier 0x0CF00400 (a public generating-set manual).
#[test]
fn the_published_frame_is_written_by_the_plant_and_read_by_the_core() {
    let published = [0xFF, 0x7D, 0x7D, 0xE0, 0x15, 0xFF, 0xF0, 0xFF];
    let frame = unit().step(10_000, 700.0, 0.0).unwrap();
    assert_eq!((frame.id, frame.data), (0x0CF0_0400, published));
    assert_eq!(Eec1::parse(&published).speed, SpeedField::Valid(Rpm::from_whole(700)));
    let id = Id29::from_raw(frame.id).unwrap();
    assert_eq!((id.pgn(), id.source(), id.priority()), (61_444, 0, 3));
    assert_eq!(pgn::ELECTRONIC_ENGINE_CONTROLLER_1, 61_444);
}

/// Bytes `6009` → 300 rpm, `FFFA` → 8031.875 rpm, the largest, `FFFE` error, `FFFF` not available, `00FB`
/// rejected (j1939-84 test suite, MIT).
#[test]
fn the_values_of_a_public_test_suite_mean_the_same_here() {
    for (bytes, expected) in [
        ([0x60, 0x09], SpeedField::Valid(Rpm::from_whole(300))),
        ([0xFF, 0xFA], valid(8 * 8031 + 7)),
        ([0xFF, 0xFE], SpeedField::Error),
        ([0xFF, 0xFF], SpeedField::NotAvailable),
        ([0x00, 0xFB], SpeedField::Reserved),
    ] {
        let mut unit = unit();
        unit.set_fault(EngineUnitFault::SpeedRaw(u16::from_le_bytes(bytes)));
        let frame = unit.step(10_000, 1000.0, 0.0).unwrap();
        assert_eq!(frame.data[3..5], bytes);
        assert_eq!(Eec1::parse(&frame.data).speed, expected, "{bytes:02X?}");
    }
}

#[test]
fn every_speed_that_the_field_can_hold_is_read_as_it_was_written() {
    let mut unit = unit();
    for eighths in 0..=0xFAFF_u16 {
        assert_eq!(speed_field(&mut unit, f64::from(eighths) / 8.0), valid(eighths));
    }
}

#[test]
fn a_speed_between_two_eighths_is_written_to_the_nearest_and_one_beyond_the_field_is_held() {
    let mut unit = unit();
    for eighths in (0..8000_u16).step_by(7) {
        for (beside, expected) in [(-0.49, eighths), (0.49, eighths), (0.51, eighths + 1)] {
            let speed_rpm = (f64::from(eighths) + beside) / 8.0;
            assert_eq!(speed_field(&mut unit, speed_rpm), valid(expected), "{speed_rpm}");
        }
    }
    assert_eq!(speed_field(&mut unit, 9000.0), valid(0xFAFF));
    assert_eq!(speed_field(&mut unit, -3.0), valid(0));
}

/// A word up to 0xFAFF is a value, 0xFBxx–0xFDxx are reserved, 0xFExx error, 0xFFxx not available (SAE J1939-71).
#[test]
fn every_word_is_what_its_range_says() {
    let mut unit = unit();
    for word in 0..=u16::MAX {
        unit.set_fault(EngineUnitFault::SpeedRaw(word));
        let expected = match word >> 8 {
            0x00..=0xFA => valid(word),
            0xFB..=0xFD => SpeedField::Reserved,
            0xFE => SpeedField::Error,
            _ => SpeedField::NotAvailable,
        };
        assert_eq!(speed_field(&mut unit, 1000.0), expected, "{word:#06X}");
    }
    for (fault, expected) in [
        (EngineUnitFault::SpeedError, SpeedField::Error),
        (EngineUnitFault::SpeedNotAvailable, SpeedField::NotAvailable),
    ] {
        unit.set_fault(fault);
        assert_eq!(speed_field(&mut unit, 1000.0), expected);
    }
}

#[test]
fn what_the_core_writes_it_reads_and_the_plant_means_the_same_bytes() {
    let mut unit = unit();
    for eighths in (0..=0xFAFF_u16).step_by(31) {
        let ours = Eec1 { speed: valid(eighths) }.emit();
        let theirs = unit.step(10_000, f64::from(eighths) / 8.0, 0.0).unwrap().data;
        assert_eq!(ours[3..5], theirs[3..5]);
        assert_eq!(Eec1::parse(&ours).speed, valid(eighths));
    }
}
