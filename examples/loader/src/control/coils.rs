//! From commands to currents, and the loop that holds them.

use trunnion::declare::Refusal;
use trunnion::guard::GateState;
use trunnion::machine::FastLoop;
use trunnion::propel::Sides;
use trunnion::quantity::{Centiohms, Duty, Hertz, Milliamps, Millis, Millivolts, Permille, Ratio};
use trunnion::valve::{
    Coil as CoilDriver, CoilConfig, CoilReport, CurrentLoopConfig, CurrentMap, CurrentMapConfig,
    DitherConfig, PairExclusion, PairExclusionConfig,
};

use super::permission::Gates;
use super::work::WorkCommand;
use super::{FAST_PERIOD, contradiction};
use crate::declaration::{Coil, CoilReports, FastInputs, FastOutputs, Parameter, Parameters, SetPoints};

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
#[derive(Debug, Clone)]
pub struct Valves {
    maps: [CurrentMap; Coil::COUNT],
}

impl Valves {
    /// Before the first step.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let table = currents(parameters);
        let build = |(parameter, config): (Parameter, CurrentMapConfig)| {
            CurrentMap::new(config)
                .map_err(|_| contradiction(parameters, parameter, "must be above the threshold"))
        };
        let [a, b, c, d, e, f, g, h, i, j, k] = table.map(build);
        Ok(Self { maps: [a?, b?, c?, d?, e?, f?, g?, h?, i?, j?, k?] })
    }

    /// Fifth hop: which current each coil is asked for.
    pub fn step(&self, sides: &Sides, work: &WorkCommand) -> [Milliamps; Coil::COUNT] {
        let float = if work.float { Ratio::ONE } else { Ratio::ZERO };
        let commands = [
            sides.left,
            sides.left.reversed(),
            sides.right,
            sides.right.reversed(),
            work.boom,
            work.boom.reversed(),
            float,
            work.bucket.reversed(),
            work.bucket,
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
#[derive(Debug, Clone)]
pub struct CoilLoop {
    coils: [CoilDriver; Coil::COUNT],
    pairs: [PairExclusion; PAIRS.len()],
}

/// Coils that must never be on together.
const PAIRS: [(Coil, Coil); 5] = [
    (Coil::left_pump_forward, Coil::left_pump_reverse),
    (Coil::right_pump_forward, Coil::right_pump_reverse),
    (Coil::boom_raise, Coil::boom_lower),
    (Coil::bucket_curl, Coil::bucket_dump),
    (Coil::auxiliary_a, Coil::auxiliary_b),
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

const IDLE_COIL: CoilDriver = match CoilDriver::new(coil(Centiohms::saturating(530)), FAST_PERIOD) {
    Ok(driver) => driver,
    Err(_) => panic!("the idle coil is refused"),
};

const IDLE_PAIR: PairExclusion = match PairExclusion::new(exclusion(Millis::from_ticks(0)), FAST_PERIOD) {
    Ok(pair) => pair,
    Err(_) => panic!("the idle pair is refused"),
};

const fn exclusion(pause: Millis) -> PairExclusionConfig {
    PairExclusionConfig { released: Milliamps::saturating(80), pause }
}

fn pair(parameters: &Parameters) -> PairExclusionConfig {
    exclusion(parameters.pair_pause())
}

impl CoilLoop {
    /// Before the first step: all off.
    pub fn new(parameters: &Parameters) -> Result<Self, Refusal> {
        let build = |parameter, resistance| {
            CoilDriver::new(coil(resistance), FAST_PERIOD)
                .map_err(|_| contradiction(parameters, parameter, "is no coil resistance"))
        };
        let pump = build(Parameter::pump_coil_resistance, parameters.pump_coil_resistance())?;
        let spool = build(Parameter::spool_coil_resistance, parameters.spool_coil_resistance())?;
        let pair = PairExclusion::new(pair(parameters), FAST_PERIOD)
            .map_err(|_| contradiction(parameters, Parameter::pair_pause, "is no pause"))?;
        Ok(Self {
            coils: [pump, pump, pump, pump, spool, spool, spool, spool, spool, spool, spool],
            pairs: [pair; PAIRS.len()],
        })
    }

    /// A loop that is never asked for anything: the machine's control program was refused.
    pub fn idle() -> Self {
        Self { coils: [IDLE_COIL; Coil::COUNT], pairs: [IDLE_PAIR; PAIRS.len()] }
    }

    /// Takes new parameters; currents and estimates go on.
    pub fn reconfigure(&mut self, parameters: &Parameters) -> Result<(), Refusal> {
        for (place, driver) in self.coils.iter_mut().enumerate() {
            let resistance = if place < 4 {
                parameters.pump_coil_resistance()
            } else {
                parameters.spool_coil_resistance()
            };
            driver.reconfigure(coil(resistance)).map_err(|_| {
                contradiction(parameters, Parameter::pump_coil_resistance, "is no coil resistance")
            })?;
        }
        for exclusion in &mut self.pairs {
            exclusion
                .reconfigure(pair(parameters))
                .map_err(|_| contradiction(parameters, Parameter::pair_pause, "is no pause"))?;
        }
        Ok(())
    }
}

impl FastLoop for CoilLoop {
    type SetPoints = SetPoints;
    type Inputs = FastInputs;
    type Outputs = FastOutputs;
    type Report = CoilReports;

    fn step(&mut self, set_points: &SetPoints, inputs: &FastInputs) -> FastOutputs {
        let mut wanted = set_points.currents();
        let measured = inputs.currents();
        for (exclusion, (first, second)) in self.pairs.iter_mut().zip(PAIRS) {
            let (first, second) = (first as usize, second as usize);
            let (a, b) = exclusion.step(wanted[first], wanted[second], measured[first], measured[second]);
            wanted[first] = a;
            wanted[second] = b;
        }
        let mut duties = [Duty::ZERO; Coil::COUNT];
        let lines = self.coils.iter_mut().zip(wanted).zip(measured).zip(duties.iter_mut());
        for (((driver, wanted), measured), duty) in lines {
            *duty = driver.step(wanted, measured, Some(set_points.supply));
        }
        FastOutputs::from_duties(duties)
    }

    fn report(&mut self) -> CoilReports {
        let mut reports = [CoilReport::default(); Coil::COUNT];
        for (report, driver) in reports.iter_mut().zip(&mut self.coils) {
            *report = driver.take_report();
        }
        reports
    }
}
