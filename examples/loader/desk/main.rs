//! The loader on the desk.

mod plant;
mod requirements;

use std::process::ExitCode;

use loader::Loader;
use trunnion_rig::run::Rig;
use trunnion_rig::scenario::Scenario;

fn main() -> ExitCode {
    let rig = match Rig::<Loader, plant::LoaderPlant>::new(requirements::REQUIREMENTS) {
        Ok(rig) => rig,
        Err(complaints) => {
            eprintln!("{complaints}");
            return ExitCode::from(2);
        }
    };
    for path in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&path).unwrap();
        let scenario = match Scenario::parse(&path, &text) {
            Ok(scenario) => scenario,
            Err(complaints) => {
                eprintln!("{complaints}");
                continue;
            }
        };
        let begin = std::time::Instant::now();
        match rig.run(&scenario) {
            Ok(run) => {
                println!("== {path} {} ({:.2} s)", run.hash, begin.elapsed().as_secs_f64());
                for result in &run.results {
                    println!(
                        "{:?} {} {} {:?} {} at {:?} {}",
                        result.verdict,
                        result.id,
                        result.sentence,
                        result.margin,
                        result.unit,
                        result.at,
                        result.explanation
                    );
                }
                if let Ok(columns) = std::env::var("COLUMNS_OF") {
                    let names: Vec<&str> = columns.split(',').collect();
                    println!("t {}", names.join(" "));
                    for row in (0..run.trace.rows()).step_by(5) {
                        let values: Vec<String> = names
                            .iter()
                            .map(|name| {
                                run.trace.column(name).map_or("?".into(), |c| format!("{:.2}", c.values[row]))
                            })
                            .collect();
                        println!("{:.2} {}", row as f64 * run.trace.period, values.join(" "));
                    }
                }
            }
            Err(complaints) => eprintln!("{complaints}"),
        }
    }
    ExitCode::SUCCESS
}
