//! What can break follows from the declaration, and each failure shows at the part behind its wire.

use trunnion::declare::{Failure, Wire};
use trunnion_rig::plant::{Coil, CoilConfig, CoilDrive, EngineUnit, EngineUnitConfig};
use trunnion_rig::run::BreakInfo;
use trunnion_rig::wiring::{BreakPlace, BreakTable, breakable};

use crate::hoist::Hoist;

const UNITS: &[BreakInfo] = &[BreakInfo::wired("pendant", "Pendant with its plug.", Wire::Frame)];
const COUNT: usize = breakable::<Hoist>(UNITS);
const BREAKS: BreakTable<COUNT> = BreakTable::new::<Hoist>(UNITS);

#[test]
fn units_come_first_then_every_wire_of_the_declaration_in_the_ways_of_its_kind() {
    let named: Vec<(&str, BreakPlace)> =
        (0_u16..).zip(&BREAKS.infos).map(|(row, info)| (info.signal, BREAKS.place(row).unwrap())).collect();
    let expected = [
        ("pendant", BreakPlace::Unit(0)),
        ("lever_signal", BreakPlace::Input(0)),
        ("seat_switch", BreakPlace::Input(1)),
        ("hoist_current", BreakPlace::Sense(0)),
        ("brake_released", BreakPlace::Output(0)),
        // A coil is called by its name, not by its duty.
        ("hoist", BreakPlace::Coil(0)),
    ];
    assert_eq!(named, expected);
    assert_eq!(BREAKS.place(6), None);
    assert!(BREAKS.is_possible(1, Failure::Drift) && !BREAKS.is_possible(1, Failure::Noise));
    assert!(!BREAKS.is_possible(6, Failure::Open));
}

#[test]
fn every_failure_of_a_coil_changes_its_current_and_is_mended() {
    let config =
        CoilConfig { resistance_20c_ohm: 5.3, inductance_h: 0.02, freewheel_drop_v: 0.5, series_ohm: 0.1 };
    let settled = |failure, supply_v| {
        let mut coil = Coil::new(config).unwrap();
        coil.set_failure(failure);
        for _ in 0..100 {
            coil.step(1.0e-3, &CoilDrive { duty: 0.5, supply_v, battery_v: 12.0 });
        }
        coil.current_a()
    };
    let sound = settled(None, 12.0);
    for failure in Wire::ProportionalCoil.failures() {
        assert!((settled(Some(*failure), 12.0) - sound).abs() > 0.2, "{failure:?} does not show");
    }
    assert_eq!(settled(None, 0.0), 0.0);
    assert!(settled(Some(Failure::StrayCurrent), 0.0) > 1.0, "a stray current passes the cut-off");
}

#[test]
fn every_failure_of_the_engine_unit_changes_its_frames_but_a_second_sender() {
    let frames = |failure| {
        let config = EngineUnitConfig { source_address: 0, period_ms: 20.0, phase_ms: 0.0 };
        let mut unit = EngineUnit::new(config).unwrap();
        let sound: Vec<_> = (0..100).map(|step| unit.step(1_000, 1_000.0 + f64::from(step), 0.3)).collect();
        unit.set_failure(failure);
        let broken: Vec<_> = (0..100).map(|step| unit.step(1_000, 1_200.0 + f64::from(step), 0.3)).collect();
        (sound, broken)
    };
    let mended = frames(None);
    for failure in Wire::Frame.failures() {
        assert_eq!(frames(Some(*failure)) == mended, *failure == Failure::Duplicated, "{failure:?}");
    }
}
