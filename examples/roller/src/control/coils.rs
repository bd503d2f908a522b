//! From commands to currents, and the loop that holds them.

use trunnion::declare::Refusal;
use trunnion::guard::GateState;
use trunnion::quantity::{Centiohms, Milliamps, Millis, Millivolts, Permille, Ratio};
use trunnion::valve::{
    CoilBank, CoilBankError, CoilConfig, CoilReport, CurrentLoopConfig, CurrentMap, CurrentMapConfig,
    DitherConfig, PairExclusionConfig,
};

use super::FAST_PERIOD;
use crate::declaration::{Coil, Parameter, Parameters};

/// The fast loop.
pub type CoilLoop = CoilBank<Coil, { Coil::COUNT }, { PAIRS.len() }>;

/// Coils that must never be on together.
const PAIRS: [(u8, u8); 3] = [
    (Coil::drive_forward as u8, Coil::drive_reverse as u8),
    (Coil::steer_left as u8, Coil::steer_right as u8),
    (Coil::vibration_high as u8, Coil::vibration_low as u8),
];

/// Threshold and end of each coil, in the order of the coils.
fn currents(p: &Parameters) -> [(Parameter, CurrentMapConfig); Coil::COUNT] {
    let map = |parameter, threshold, end| (parameter, CurrentMapConfig { threshold, end });
    [
        map(Parameter::drive_forward_end, p.drive_forward_threshold(), p.drive_forward_end()),
        map(Parameter::drive_reverse_end, p.drive_reverse_threshold(), p.drive_reverse_end()),
        map(Parameter::steer_left_end, p.steer_left_threshold(), p.steer_left_end()),
        map(Parameter::steer_right_end, p.steer_right_threshold(), p.steer_right_end()),
        map(Parameter::vibration_high_end, p.vibration_high_threshold(), p.vibration_high_end()),
        map(Parameter::vibration_low_end, p.vibration_low_threshold(), p.vibration_low_end()),
    ]
}

/// The valve room of the roller: commands to set-points.
#[derive(Debug, Clone)]
pub struct Valves {
    maps: [CurrentMap; Coil::COUNT],
}

impl Valves {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let build = |(parameter, config): (Parameter, CurrentMapConfig)| {
            CurrentMap::new(config)
                .map_err(|_| parameters.contradiction(parameter, "must be above the threshold"))
        };
        let [a, b, c, d, e, f] = currents(parameters).map(build);
        Ok(Self { maps: [a?, b?, c?, d?, e?, f?] })
    }

    /// Fifth hop: which current each coil is asked for. Forward, right and large amplitude are positive.
    pub fn step(&self, drive: Ratio, steer: Ratio, vibration: Ratio) -> [Milliamps; Coil::COUNT] {
        let commands = [drive, drive.reversed(), steer.reversed(), steer, vibration, vibration.reversed()];
        let mut set_points = [Milliamps::ZERO; Coil::COUNT];
        for ((set_point, map), command) in set_points.iter_mut().zip(&self.maps).zip(commands) {
            *set_point = map.step(command);
        }
        set_points
    }
}

/// Last gates of drive, steering and vibration.
pub type Gates = [GateState; 3];

/// Sixth hop, the last gate: a pair whose gate is not open gets no current.
pub fn gated(set_points: [Milliamps; Coil::COUNT], gates: &Gates) -> [Milliamps; Coil::COUNT] {
    let [a, b, c, d, e, f] = set_points;
    let [drive, steer, vibration] =
        gates.map(|gate| move |current| if gate == GateState::Open { current } else { Milliamps::ZERO });
    [drive(a), drive(b), steer(c), steer(d), vibration(e), vibration(f)]
}

/// Largest current of drive, steering and vibration.
pub fn largest_currents(reports: &[CoilReport; Coil::COUNT]) -> [Milliamps; 3] {
    let [a, b, c, d, e, f] = reports.map(|report| report.average_current);
    [a.at_least(b), c.at_least(d), e.at_least(f)]
}

const fn coil(resistance: Centiohms) -> CoilConfig {
    CoilConfig {
        control: CurrentLoopConfig {
            resistance,
            time_constant: Millis::from_ticks(4),
            proportional: resistance,
            integral_time: Millis::from_ticks(6),
            lowest_supply: Millivolts::saturating(7_000),
            highest_supply: super::HIGHEST_SUPPLY,
            largest: Milliamps::saturating(1_600),
        },
        dither: DitherConfig { amplitude: Milliamps::saturating(40), cycle: Millis::from_ticks(10) },
        averaging: Millis::from_ticks(10),
        tolerance: Permille::saturating(120),
        offset: Milliamps::saturating(40),
        stray: Milliamps::saturating(150),
    }
}

fn coils(parameters: &Parameters) -> [CoilConfig; Coil::COUNT] {
    let pump = coil(parameters.pump_coil_resistance());
    let spool = coil(parameters.steer_coil_resistance());
    [pump, pump, spool, spool, pump, pump]
}

fn apart(parameters: &Parameters) -> PairExclusionConfig {
    PairExclusionConfig { released: Milliamps::saturating(80), pause: parameters.pair_pause() }
}

fn refused(parameters: &Parameters, error: CoilBankError) -> Refusal {
    match error {
        CoilBankError::Coil { place: 2 | 3, .. } => {
            parameters.contradiction(Parameter::steer_coil_resistance, "is no coil resistance")
        }
        CoilBankError::Coil { .. } => {
            parameters.contradiction(Parameter::pump_coil_resistance, "is no coil resistance")
        }
        _ => parameters.contradiction(Parameter::pair_pause, "is no pause"),
    }
}

/// The fast loop before its first step: all off.
pub fn coil_loop(parameters: &Parameters) -> Result<CoilLoop, Refusal> {
    CoilLoop::new(coils(parameters), PAIRS, apart(parameters), FAST_PERIOD)
        .map_err(|error| refused(parameters, error))
}

/// Takes new parameters; currents and estimates go on.
pub fn reconfigure_coil_loop(bank: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
    bank.reconfigure(coils(parameters), apart(parameters)).map_err(|error| refused(parameters, error))
}
