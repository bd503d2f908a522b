//! The whole loader: its control code with a quick plant, and closed with the plant that scenarios run on.

use std::time::{Duration, Instant};

use costs::loader_bench::Bench;
use costs::random::Random;
use loader::Loader;
use loader::control::Control;
use loader::declaration::{
    Coil, CoilReports, FastInputs, FastOutputs, Inputs, Outputs, Parameters, SetPoints,
};
use loader::desk::LoaderBench;
use trunnion::declare::Record;
use trunnion::machine::{Boot, FastLoop, Machine, SafeStart, Stepper};
use trunnion::quantity::Milliamps;
use trunnion_desk::bench::Bench as _;
use trunnion_rig::requirement::Requirement;
use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;

type LoaderRig = Rig<Loader, <LoaderBench as trunnion_desk::bench::Bench>::Plant>;

/// The story of the full plant, which drives and works all the time.
const STORY: &str = "loading_cycle";
/// Ticks of a run with the quick plant: 100 s of the machine's time.
const TICKS: u32 = 10_000;
/// Runs of each kind, of which the fastest counts.
const RUNS: u32 = 5;
/// What a coil of 5.7 Ω carries at full duty of a supply of 13.8 V, mA.
const AT_FULL_DUTY: i32 = 2_421;

/// A quick plant: levers, contacts and motors as in the budget of `path/loader`, and coils whose currents go half of the way
/// to those of their duties in each step of the coil loop. Gives the time, and in how many ticks a coil was driven.
fn quick_run<M>() -> (Duration, u32)
where
    M: Machine<
            Inputs = Inputs,
            Outputs = Outputs,
            Parameters = Parameters,
            Fast: FastLoop<
                Inputs = FastInputs,
                Outputs = FastOutputs,
                Report = CoilReports,
                SetPoints = SetPoints,
            >,
        >,
{
    let mut stepper = Stepper::<M>::start(&Boot::default());
    let (mut bench, mut random) = (Bench::new(), Random::new(1));
    let mut currents = [0_i32; Coil::COUNT];
    let (mut sensed, mut driving) = (FastInputs::default(), 0);
    let begin = Instant::now();
    for _ in 0..TICKS {
        for _ in 0..M::FAST_STEPS {
            let duties = stepper.fast_step(&sensed).duties();
            let on = i32::from(bench.inputs.coil_supply_read_back.raw() > 0);
            for ((place, current), duty) in (0..).zip(&mut currents).zip(duties) {
                let aim = on * i32::from(duty.raw()) * AT_FULL_DUTY / 10_000;
                *current += (aim - *current) / 2;
                sensed.set(place, i64::from(*current));
            }
        }
        let outputs = stepper.step(&bench.inputs);
        let set_points = stepper.machine().set_points();
        driving += u32::from(set_points.currents().iter().any(|current| *current > Milliamps::ZERO));
        bench = bench.after(&mut random, &outputs, &set_points);
    }
    (begin.elapsed(), driving)
}

/// The same without the coil loop: each coil carries what it is asked for, and tells it with a little noise.
fn ideal_run() -> (Duration, u32) {
    let (mut control, _) = SafeStart::<Control>::start(&Boot::default());
    let (mut bench, mut random) = (Bench::new(), Random::new(1));
    let mut driving = 0;
    let begin = Instant::now();
    for _ in 0..TICKS {
        let outputs = control.step(&bench.inputs, &bench.reports);
        let set_points = control.set_points();
        driving += u32::from(set_points.currents().iter().any(|current| *current > Milliamps::ZERO));
        bench = bench.after(&mut random, &outputs, &set_points);
    }
    (begin.elapsed(), driving)
}

/// Seconds that a tick of the story takes, in the fastest of some runs.
fn full(requirements: &[Requirement]) -> Result<f64, String> {
    let (_, text) = LoaderBench::SCENARIOS
        .iter()
        .find(|(name, _)| *name == STORY)
        .ok_or_else(|| format!("the loader has no scenario `{STORY}`"))?;
    let scenario = Scenario::parse(STORY, text).map_err(|wrong| wrong.to_string())?;
    let rig = LoaderRig::new(requirements).map_err(|wrong| wrong.to_string())?;
    let mut fastest = f64::INFINITY;
    for _ in 0..RUNS {
        let mut session = rig.start_unrecorded(&scenario).map_err(|wrong| wrong.to_string())?;
        let ticks = session.ticks();
        let begin = Instant::now();
        while session.step().is_some() {}
        fastest = fastest.min(begin.elapsed().as_secs_f64() / f64::from(ticks));
    }
    Ok(fastest)
}

/// Each kind of run with the seconds that a tick of it takes.
pub fn seconds_a_tick() -> Result<Vec<(&'static str, f64)>, String> {
    let quick = |(time, driving): (Duration, u32)| {
        if driving < TICKS / 4 {
            return Err(format!(
                "the loader drives a coil in {driving} of {TICKS} ticks only: a broken bench"
            ));
        }
        Ok(time.as_secs_f64() / f64::from(TICKS))
    };
    let mut all = Vec::new();
    for (what, run) in [
        ("control step, ideal coils", ideal_run as fn() -> (Duration, u32)),
        ("with its coil loop, 10 steps a tick", quick_run::<SafeStart<Control>>),
        ("the same with black box", quick_run::<Loader>),
    ] {
        let times: Result<Vec<f64>, String> = (0..RUNS).map(|_| quick(run())).collect();
        all.push((what, times?.into_iter().fold(f64::INFINITY, f64::min)));
    }
    all.push(("full plant", full(&[])?));
    all.push(("full plant, all requirements", full(LoaderBench::REQUIREMENTS)?));
    Ok(all)
}
