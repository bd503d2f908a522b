//! The walks: one file a block.

mod blink_code;
mod coil_monitor;
mod contact_pair;
mod continuous_flow;
mod creep;
mod cut_off;
mod cut_off_monitor;
mod debounce;
mod debounce_bank;
mod delay;
mod dither;
mod edge;
mod fault_table;
mod flasher;
mod float;
mod freshness;
mod hold_to_run;
mod hysteresis;
mod immediate_stop;
mod last_gate;
mod lever_neutral;
mod lock;
mod loop_alive;
mod median;
mod mixer;
mod motion_ramp;
mod neutral_start;
mod pair_exclusion;
mod park_brake;
mod pattern_latch;
mod peak_and_hold;
mod permission_group;
mod pulse_speed;
mod rate_limit;
mod redundant_pair;
mod return_to_position;
mod single_path;
mod speed_comparison;
mod standstill;
mod station_latch;
mod switched_output;
mod test_pulse;
mod two_phase_direction;
mod two_speed;

use trunnion::quantity::{Millis, Period, Ratio};

use crate::proof::{Bench, Kind, Outcome, Proof};
use crate::walk::{self, Walked};

/// A long period, so that times of the trade are a few steps: 100 ms.
const TICK: Period = Period::from_micros(100_000).unwrap();
const MILLIS_PER_TICK: u32 = 100;

/// A time of so many steps.
const fn ticks(steps: u32) -> Millis {
    Millis::millis(steps * MILLIS_PER_TICK)
}

const fn permille(raw: i32) -> Ratio {
    Ratio::from_permille(raw).unwrap()
}

/// The entry of a walk.
fn entry<W: Walked>(
    name: &'static str,
    block: &'static str,
    family: &'static str,
    run: fn(&Bench<'_>) -> Outcome,
) -> Proof {
    Proof { name, block, kind: Kind::Walk, family, claims: walk::claims::<W>(), run }
}

/// All walks, room by room.
pub fn all() -> Vec<Proof> {
    vec![
        contact_pair::proof(),
        debounce::proof(),
        debounce_bank::proof(),
        freshness::proof(),
        median::proof(),
        pulse_speed::proof(),
        redundant_pair::proof(),
        speed_comparison::proof(),
        two_phase_direction::proof(),
        lever_neutral::proof(),
        cut_off::proof(),
        cut_off_monitor::proof(),
        hold_to_run::proof(),
        immediate_stop::proof(),
        last_gate::proof(),
        lock::proof(),
        loop_alive::proof(),
        neutral_start::proof(),
        park_brake::proof(),
        pattern_latch::proof(),
        permission_group::proof(),
        standstill::proof(),
        station_latch::proof(),
        creep::proof(),
        mixer::proof(),
        single_path::proof(),
        two_speed::proof(),
        continuous_flow::proof(),
        float::proof(),
        return_to_position::proof(),
        motion_ramp::proof(),
        rate_limit::proof(),
        coil_monitor::proof(),
        dither::proof(),
        pair_exclusion::proof(),
        peak_and_hold::proof(),
        switched_output::proof(),
        test_pulse::proof(),
        blink_code::proof(),
        fault_table::proof(),
        delay::proof_of_on_delay(),
        delay::proof_of_off_delay(),
        edge::proof_of_rising(),
        flasher::proof(),
        edge::proof_of_falling(),
        hysteresis::proof(),
    ]
}
