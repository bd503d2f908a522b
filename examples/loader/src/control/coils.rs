//! From commands to currents, and the loop that holds them.

use serde::{Deserialize, Serialize};
use trunnion::declare::Refusal;
use trunnion::guard::GateState;
use trunnion::propel::Sides;
use trunnion::quantity::{Centiohms, Hertz, Milliamps, Millis, Millivolts, Permille, Ratio};
use trunnion::valve::{
    CoilBank, CoilBankError, CoilConfig, CoilReport, CurrentLoopConfig, CurrentMap, CurrentMapConfig,
    DitherConfig, PairExclusionConfig,
};

use super::FAST_PERIOD;
use super::permission::Gates;
use super::work::WorkCommand;
use crate::declaration::{Coil, Parameter, Parameters};
use crate::planted::planted;

/// Threshold and end of each coil, in the order of the coils.
fn currents(parameters: &Parameters) -> [(Parameter, CurrentMapConfig); Coil::COUNT] {
    let map = |parameter, threshold, end| (parameter, CurrentMapConfig { threshold, end });
    let p = parameters;
    [
        map(Parameter::left_pump_forward_end, p.left_pump_forward_threshold(), p.left_pump_forward_end()),
        map(Parameter::left_pump_reverse_end, p.left_pump_reverse_threshold(), p.left_pump_reverse_end()),
        map(Parameter::right_pump_forward_end, p.right_pump_forward_threshold(), p.right_pump_forward_end()),
        map(Parameter::right_pump_reverse_end, p.right_pump_reverse_threshold(), p.right_pump_reverse_end()),
        map(Parameter::boom_raise_end, p.boom_raise_threshold(), p.boom_raise_end()),
        map(Parameter::boom_lower_end, p.boom_lower_threshold(), p.boom_lower_end()),
        map(Parameter::boom_float_end, p.boom_float_threshold(), p.boom_float_end()),
        map(Parameter::bucket_curl_end, p.bucket_curl_threshold(), p.bucket_curl_end()),
        map(Parameter::bucket_dump_end, p.bucket_dump_threshold(), p.bucket_dump_end()),
        map(Parameter::auxiliary_a_end, p.auxiliary_a_threshold(), p.auxiliary_a_end()),
        map(Parameter::auxiliary_b_end, p.auxiliary_b_threshold(), p.auxiliary_b_end()),
    ]
}

/// The valve room of the loader: commands to set-points.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Valves {
    maps: [CurrentMap; Coil::COUNT],
}

impl Valves {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let table = currents(parameters);
        let build = |(parameter, config): (Parameter, CurrentMapConfig)| {
            CurrentMap::new(config)
                .map_err(|_| parameters.contradiction(parameter, "must be above the threshold"))
        };
        let [a, b, c, d, e, f, g, h, i, j, k] = table.map(build);
        Ok(Self { maps: [a?, b?, c?, d?, e?, f?, g?, h?, i?, j?, k?] })
    }

    /// Fifth hop: which current each coil is asked for.
    pub fn step(&self, sides: &Sides, work: &WorkCommand) -> [Milliamps; Coil::COUNT] {
        let float = if work.float { Ratio::ONE } else { Ratio::ZERO };
        let commands = [
            sides.left,
            if planted!(ReverseCoilsSwapped) { sides.right.reversed() } else { sides.left.reversed() },
            sides.right,
            if planted!(ReverseCoilsSwapped) { sides.left.reversed() } else { sides.right.reversed() },
            work.boom,
            work.boom.reversed(),
            float,
            if planted!(BucketCoilsSwapped) { work.bucket } else { work.bucket.reversed() },
            if planted!(BucketCoilsSwapped) { work.bucket.reversed() } else { work.bucket },
            work.auxiliary,
            work.auxiliary.reversed(),
        ];
        let mut set_points = [Milliamps::ZERO; Coil::COUNT];
        for ((set_point, map), command) in set_points.iter_mut().zip(&self.maps).zip(commands) {
            *set_point = map.step(command);
        }
        set_points
    }
}

/// Sixth hop, the last gate: a group whose gate is not open gets no current.
pub fn gated(set_points: [Milliamps; Coil::COUNT], gates: &Gates) -> [Milliamps; Coil::COUNT] {
    let mut gated = set_points;
    for (coil, set_point) in Coil::ALL.iter().zip(gated.iter_mut()) {
        if group_of(*coil, gates) != GateState::Open {
            *set_point = Milliamps::ZERO;
        }
    }
    gated
}

fn group_of(coil: Coil, gates: &Gates) -> GateState {
    match coil {
        Coil::left_pump_forward
        | Coil::left_pump_reverse
        | Coil::right_pump_forward
        | Coil::right_pump_reverse => gates.drive,
        Coil::auxiliary_a | Coil::auxiliary_b => gates.auxiliary,
        _ => gates.work,
    }
}

/// Largest current of drive, work and auxiliary.
pub fn largest_currents(reports: &[CoilReport; Coil::COUNT]) -> [Milliamps; 3] {
    let [lf, lr, rf, rr, br, bl, bf, bc, bd, aa, ab] = reports.map(|report| report.average_current);
    let largest = |currents: &[Milliamps]| {
        currents.iter().fold(Milliamps::ZERO, |most, current| most.at_least(*current))
    };
    [largest(&[lf, lr, rf, rr]), largest(&[br, bl, bf, bc, bd]), largest(&[aa, ab])]
}

/// The fast loop: exclusion of each pair, then current control and monitoring of each coil.
pub type CoilLoop = CoilBank<Coil, { Coil::COUNT }, { PAIRS.len() }>;

/// Coils that must never be on together.
const PAIRS: [(u8, u8); 5] = [
    (Coil::left_pump_forward as u8, Coil::left_pump_reverse as u8),
    (Coil::right_pump_forward as u8, Coil::right_pump_reverse as u8),
    (Coil::boom_raise as u8, Coil::boom_lower as u8),
    (Coil::bucket_curl as u8, Coil::bucket_dump as u8),
    (Coil::auxiliary_a as u8, Coil::auxiliary_b as u8),
];

const fn coil(resistance: Centiohms) -> CoilConfig {
    CoilConfig {
        control: CurrentLoopConfig {
            resistance,
            time_constant: Millis::from_ticks(4),
            proportional: resistance,
            integral_time: Millis::from_ticks(6),
            lowest_supply: Millivolts::saturating(7_000),
            highest_supply: Millivolts::saturating(16_500),
            largest: Milliamps::saturating(1_600),
        },
        dither: DitherConfig::at(Hertz::from_whole(100), Milliamps::saturating(40), FAST_PERIOD),
        averaging: Millis::from_ticks(10),
        tolerance: Permille::saturating(120),
        offset: Milliamps::saturating(40),
        stray: Milliamps::saturating(150),
    }
}

fn coils(parameters: &Parameters) -> [CoilConfig; Coil::COUNT] {
    let pump = coil(parameters.pump_coil_resistance());
    let spool = coil(parameters.spool_coil_resistance());
    [pump, pump, pump, pump, spool, spool, spool, spool, spool, spool, spool]
}

fn exclusion(parameters: &Parameters) -> PairExclusionConfig {
    PairExclusionConfig { released: Milliamps::saturating(80), pause: parameters.pair_pause() }
}

fn refused(parameters: &Parameters, error: CoilBankError) -> Refusal {
    match error {
        CoilBankError::Coil { place: 0..4, .. } => {
            parameters.contradiction(Parameter::pump_coil_resistance, "is no coil resistance")
        }
        CoilBankError::Coil { .. } => {
            parameters.contradiction(Parameter::spool_coil_resistance, "is no coil resistance")
        }
        _ => parameters.contradiction(Parameter::pair_pause, "is no pause"),
    }
}

/// The fast loop before its first step: all off.
pub fn coil_loop(parameters: &Parameters) -> Result<CoilLoop, Refusal> {
    CoilLoop::new(coils(parameters), PAIRS, exclusion(parameters), FAST_PERIOD)
        .map_err(|error| refused(parameters, error))
}

/// Takes new parameters; currents and estimates go on.
pub fn reconfigure_coil_loop(bank: &mut CoilLoop, parameters: &Parameters) -> Result<(), Refusal> {
    bank.reconfigure(coils(parameters), exclusion(parameters)).map_err(|error| refused(parameters, error))
}
