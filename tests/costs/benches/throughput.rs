//! How much faster than the machine's own time a control step runs on this computer, and beside it the same loop in
//! plain Python.
//!
//! `cargo bench -p costs --bench throughput`, `-- --help` tells more. The loop is the control
//! path of a skid-steer drive (four lever axes, neutral start, mix, two ramps, four current maps, a pulse pickup, 32
//! debounced contacts) and a kinematic plant (two sides that follow their currents with a lag, a position and a heading).
//! Both programs drive the same script and must end with the same outputs: the sum over all currents and contacts to the
//! bit, the position within a micrometre. Then the whole loader: its control code with a quick plant, first with coils that carry
//! what they are asked for and then with its coil loop, ten steps of eleven coils a tick; and closed with the plant that
//! scenarios run on. Nothing fails for being slow: the figures are to be read.

#[path = "throughput/loader.rs"]
mod loader_runs;
#[path = "throughput/machine.rs"]
mod machine;

use std::process::{Command, ExitCode};
use std::time::{Duration, Instant};

use machine::{Machine, TICK_SECONDS};

const HELP: &str = "\
Steps a skid-steer drive and its kinematic plant in Rust and in plain Python, side by side.

  cargo bench -p costs --bench throughput [-- OPTIONS]

  --ticks N         ticks of 10 ms in a run (20000)
  --runs N          runs in Rust, of which the fastest counts (200): short ones, that other work on this computer
                    does not fall into. Python runs once, and its fastest 1000 ticks count.
  --help            this text

The Python is `python3`, or what TRUNNION_PYTHON names. One thread each: the figures are per core.
Aims: 150000 times the machine's own time in Rust, a hundredth of the time that Python takes; the whole loader 20000 times
with a quick plant, 300 times with the full one.";

struct Options {
    ticks: u32,
    runs: u32,
}

fn main() -> ExitCode {
    let options = match read(std::env::args().skip(1)) {
        Ok(Some(options)) => options,
        Ok(None) => {
            println!("{HELP}");
            return ExitCode::SUCCESS;
        }
        Err(complaint) => {
            eprintln!("{complaint}; --help tells what can be given");
            return ExitCode::FAILURE;
        }
    };
    // The first run warms up caches and clock.
    run(options.ticks);
    let fastest = (0..options.runs).map(|_| run(options.ticks)).min_by_key(|(time, _)| *time);
    let Some((time, _)) = fastest else {
        eprintln!("--runs 0 measures nothing: give 1 or more");
        return ExitCode::FAILURE;
    };
    let rust = time.as_secs_f64() / f64::from(options.ticks);
    tell("Rust", rust);
    if beside(rust, options.ticks) == ExitCode::FAILURE {
        return ExitCode::FAILURE;
    }
    match loader_runs::seconds_a_tick() {
        Ok(runs) => runs.into_iter().for_each(|(what, seconds)| tell(&format!("loader: {what}"), seconds)),
        Err(why) => {
            eprintln!("{why}");
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}

fn tell(what: &str, seconds: f64) {
    println!(
        "{what:<38} {:9.1} ns a tick {:9.0} times the machine's own time",
        seconds * 1e9,
        TICK_SECONDS / seconds
    );
}

/// The same in Python, and whether it came to the same.
fn beside(rust: f64, ticks: u32) -> ExitCode {
    let interpreter = std::env::var("TRUNNION_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/throughput/machine.py");
    let answer = match Command::new(&interpreter).arg(script).arg(ticks.to_string()).output() {
        Ok(answer) if answer.status.success() => String::from_utf8_lossy(&answer.stdout).into_owned(),
        Ok(answer) => {
            eprintln!("{interpreter} {script} failed:\n{}", String::from_utf8_lossy(&answer.stderr));
            return ExitCode::FAILURE;
        }
        Err(error) => {
            println!(
                "Python  skipped: `{interpreter}` does not start ({error}); name another in TRUNNION_PYTHON"
            );
            return ExitCode::SUCCESS;
        }
    };
    let words: Vec<&str> = answer.split_whitespace().collect();
    let [python, sum, x, y, heading] = words[..] else {
        eprintln!("{script} answers `{}`: five words were expected", answer.trim());
        return ExitCode::FAILURE;
    };
    let number = |word: &str| word.parse::<f64>().unwrap_or(f64::NAN);
    let python = number(python);
    tell("Python", python);
    println!("Rust takes 1/{:.0} of the time that Python takes", python / rust);
    let (_, ours) = run(ticks);
    let near = [(x, ours.x()), (y, ours.y()), (heading, ours.heading())]
        .iter()
        .all(|(theirs, ours)| (number(theirs) - ours).abs() < 1e-6);
    if sum.parse() == Ok(ours.sum()) && near {
        println!(
            "After {ticks} ticks both came to the same: sum {sum}, at x {x} m, y {y} m, heading {heading} rad"
        );
        ExitCode::SUCCESS
    } else {
        eprintln!(
            "After {ticks} ticks they differ: sum {} and {sum}, x {} and {x}, y {} and {y}, heading {} and {heading}",
            ours.sum(),
            ours.x(),
            ours.y(),
            ours.heading()
        );
        ExitCode::FAILURE
    }
}

fn run(ticks: u32) -> (Duration, Machine) {
    let mut machine = Machine::new();
    let begin = Instant::now();
    for tick in 0..ticks {
        machine.step(std::hint::black_box(tick));
    }
    (begin.elapsed(), machine)
}

/// `None` asks for help.
fn read(arguments: impl Iterator<Item = String>) -> Result<Option<Options>, String> {
    let mut options = Options { ticks: 20_000, runs: 200 };
    let mut arguments = arguments.filter(|argument| argument != "--bench");
    while let Some(argument) = arguments.next() {
        let place = match argument.as_str() {
            "--help" | "-h" => return Ok(None),
            "--ticks" => &mut options.ticks,
            "--runs" => &mut options.runs,
            other => return Err(format!("`{other}` is not known")),
        };
        let value = arguments.next().ok_or_else(|| format!("{argument} needs a number"))?;
        *place = value.parse().map_err(|_| format!("{argument} {value}: a whole number was expected"))?;
    }
    Ok(Some(options))
}
