//! The steps, in the order in which they run: the quick ones that fail most often come first.

use std::{ffi::OsStr, path::PathBuf, time::Duration};

use super::{Bench, Step, harnesses};
use crate::{
    budget, bus, campaign,
    command::{Outcome, Task, quote},
    coverage, defects, documents, features,
    firmware::{self, Order},
    mutants, prove, python,
    setup::Need,
    tally::{Tally, failures_of_harness},
    toolchain::{CrossToolchain, with_cargo_command},
};

/// Processor in the loop waits for QEMU; half an hour means that it hangs.
const PARITY_LIMIT: Duration = Duration::from_secs(1800);
const LOGGING: &str = "trunnion/defmt,trunnion-can/defmt";
/// With log messages: more code to prove, and the very image that the demo runs.
const fn order(machine: &str) -> Order<'_> {
    Order { machine, log: true, planted: false }
}

/// The suite.
pub const STEPS: &[Step] = &[
    Step {
        name: "format",
        about: "every source file as rustfmt writes it",
        needs: &[Need::Format],
        run: format,
    },
    Step {
        name: "clippy",
        about: "lints of all host targets, warnings are errors",
        needs: &[Need::Lint],
        run: clippy,
    },
    Step { name: "docs", about: "rustdoc, warnings are errors", needs: &[], run: docs },
    Step {
        name: "tidy",
        about: "the house rules: no float in core, names, licences …",
        needs: &[],
        run: tidy,
    },
    Step {
        name: "generated",
        about: "tables in the documents are as the declarations say",
        needs: &[],
        run: generated,
    },
    Step {
        name: "features",
        about: "every combination of features builds, also with the oldest compiler that is promised and with Debian's",
        needs: &[],
        run: combinations,
    },
    Step { name: "units", about: "unit and property tests", needs: &[], run: units },
    Step {
        name: "conformance",
        about: "integration tests, and claims against published values and independent libraries",
        needs: &[Need::Python],
        run: conformance,
    },
    Step {
        name: "proofs",
        about: "every map at its boundaries and by stride, every block with states through all of them",
        needs: &[],
        run: proofs,
    },
    Step {
        name: "hunt",
        about: "the hunt finds at least 20 planted mistakes, and nothing in the loader as it is",
        needs: &[],
        run: hunt,
    },
    Step {
        name: "campaign",
        about: "everything broken in every way in every state of the loader: all as declared, mistakes turn it red",
        needs: &[],
        run: fault_campaign,
    },
    Step { name: "doctests", about: "the examples in the docs", needs: &[], run: doctests },
    Step {
        name: "coverage",
        about: "98 % of the core crate's lines and regions are reached; every other line has its reason",
        needs: &[Need::Coverage],
        run: reached,
    },
    Step {
        name: "mutants",
        about: "every survivor of the core crate's mutants has its reason; a sample is tried again",
        needs: &[Need::Mutants],
        run: planted_faults,
    },
    Step {
        name: "firmware",
        about: "the image of every machine: it links only if no panic is reachable; its symbols agree",
        needs: firmware::NEEDS,
        run: image,
    },
    Step {
        name: "planted-panic",
        about: "that proof can fail: images with a planted panic do not link",
        needs: firmware::NEEDS,
        run: planted_panic,
    },
    Step {
        name: "budget",
        about: "every block alone on the M4F: no panic is reachable; instructions, flash, state, stack in budget",
        needs: budget::NEEDS,
        run: weigh,
    },
    Step {
        name: "planted-block",
        about: "that proof can fail: a block with a planted panic does not link",
        needs: budget::NEEDS,
        run: planted_block,
    },
    Step {
        name: "clippy-firmware",
        about: "lints of the images' own code, for their own target",
        needs: &[Need::LintForCore, Need::Core, Need::Linker],
        run: clippy_firmware,
    },
    Step {
        name: "parity",
        about: "every scenario of every machine on host and in QEMU, all outputs bit for bit",
        needs: &[Need::Qemu, Need::Linker, Need::Core],
        run: parity,
    },
    Step {
        name: "bus",
        about: "python-can, cantools, can-j1939, udsoncan and can-isotp talk to the loader, on host and in QEMU",
        needs: &[Need::Python, Need::Qemu, Need::Linker, Need::Core],
        run: bus_tools,
    },
];

fn format(bench: &Bench, tally: &mut Tally) {
    let what = "cargo fmt --check";
    if !bench.ready(&[Need::Format], what, tally) {
        return;
    }
    if let Some(chain) = with_cargo_command(&bench.own, "fmt") {
        let task = chain.cargo(bench.workspace, "format").args(["fmt", "--all", "--", "--check"]);
        verdict(&task.run(bench.workspace), what, "run `cargo fmt`", tally);
    }
}

fn clippy(bench: &Bench, tally: &mut Tally) {
    // All features at once do not go together: the host's critical section and the board's exclude each other.
    let logging = ["--package", "trunnion", "--package", "trunnion-can", "--features", LOGGING];
    for (what, selection) in [
        ("clippy finds nothing on the host", &["--workspace", "--all-targets"][..]),
        ("clippy finds nothing in the core crates with log messages", &logging[..]),
    ] {
        if !bench.ready(&[Need::Lint], what, tally) {
            continue;
        }
        let Some(chain) = with_cargo_command(&bench.own, "clippy") else { continue };
        let mut task = chain
            .cargo(bench.workspace, "clippy")
            .args(["clippy", "--keep-going"])
            .args(selection)
            .args(["--", "-D", "warnings"]);
        if chain != bench.own {
            // Another compiler's results would throw away those of the host build.
            task = task.env("CARGO_TARGET_DIR", bench.workspace.target.join("clippy"));
        }
        verdict(&task.run(bench.workspace), what, "see above", tally);
    }
}

fn clippy_firmware(bench: &Bench, tally: &mut Tally) {
    let what = "clippy finds nothing in the image";
    if !bench.ready(&[Need::LintForCore, Need::Core, Need::Linker], what, tally) {
        return;
    }
    let Some(cross) = CrossToolchain::find_with_lints(&bench.own) else {
        tally.fail(what, "no toolchain for the image has Clippy".to_owned());
        return;
    };
    for machine in machines(bench, what, tally) {
        let image = format!("{machine}-firmware");
        let task = cross
            .cargo(bench.workspace, "clippy of the firmware", "clippy")
            .args(["--package", &machine, "--lib", "--bin", &image, "--profile", "firmware"])
            .args(["--no-default-features", "--features", "firmware"])
            .args(["--", "-D", "warnings"]);
        verdict(&task.run(bench.workspace), &format!("{what} of the {machine}"), "see above", tally);
    }
}

fn docs(bench: &Bench, tally: &mut Tally) {
    let task =
        host(bench, "docs").env("RUSTDOCFLAGS", "-D warnings").args(["doc", "--workspace", "--no-deps"]);
    verdict(&task.run(bench.workspace), "rustdoc has no complaint", "see above", tally);
}

fn tidy(bench: &Bench, tally: &mut Tally) {
    harness(bench, "tidy", &INTEGRATED, &["--", "tidy::"], None, tally);
}

fn generated(bench: &Bench, tally: &mut Tally) {
    let what = "generated parts of documents are fresh";
    let Some(programs) = bench.programs(what, tally) else { return };
    match documents::stale(bench.workspace, programs) {
        Ok(stale) if stale.is_empty() => tally.pass(what),
        Ok(stale) => {
            let names: Vec<String> = stale.iter().map(|(path, _)| bench.workspace.shown(path)).collect();
            tally.fail(what, format!("{}: run `cargo xtask docs`", names.join(", ")));
        }
        Err(why) => tally.fail(what, why),
    }
}

fn combinations(bench: &Bench, tally: &mut Tally) {
    let cross = CrossToolchain::find(&bench.own);
    features::check(bench.workspace, &bench.own, cross.as_ref(), tally);
    features::check_compilers(bench.workspace, &bench.own, tally);
}

fn units(bench: &Bench, tally: &mut Tally) {
    match harnesses::of_units(bench.workspace, &bench.own) {
        Ok(words) => harness(bench, "units", &words, &[], None, tally),
        Err(why) => tally.fail("unit tests", why),
    }
}

fn doctests(bench: &Bench, tally: &mut Tally) {
    harness(bench, "doctests", &["--workspace", "--profile", "dev", "--doc"], &[], None, tally);
}

fn conformance(bench: &Bench, tally: &mut Tally) {
    let what = "the Python environment of the oracles";
    let python = if bench.ready(&[Need::Python], what, tally) {
        python::environment(bench.workspace).map_err(|why| tally.fail(what, why)).ok()
    } else {
        None
    };
    // Steps of their own run the house rules and the proofs.
    let words = ["--", "--skip", "tidy::", "--skip", "every_proof_holds_at_boundaries_and_strides"];
    harness(bench, "conformance", &INTEGRATED, &words, python, tally);
}

fn reached(bench: &Bench, tally: &mut Tally) {
    if bench.ready(&[Need::Coverage], "coverage of the core crate", tally) {
        coverage::step(bench.workspace, &bench.own, tally);
    }
}

fn planted_faults(bench: &Bench, tally: &mut Tally) {
    mutants::hold_ledger(bench.workspace, tally);
    if bench.ready(&[Need::Mutants], "a sample of mutants", tally) {
        mutants::hold_sample(bench.workspace, &bench.own, tally);
    }
}

fn proofs(bench: &Bench, tally: &mut Tally) {
    if let Some(programs) = bench.programs("every map at its boundaries", tally) {
        prove::quick(bench.workspace, programs, tally);
    }
}

fn hunt(bench: &Bench, tally: &mut Tally) {
    defects::quick(bench.workspace, &bench.own, tally);
}

fn fault_campaign(bench: &Bench, tally: &mut Tally) {
    if let Some(programs) = bench.programs("the loader's campaign", tally) {
        campaign::whole(bench.workspace, &bench.own, programs, tally);
    }
}

fn image(bench: &Bench, tally: &mut Tally) {
    let what = "the images and their proof";
    if bench.ready(firmware::NEEDS, what, tally)
        && let Some(cross) = cross(bench, what, tally)
    {
        for machine in machines(bench, what, tally) {
            firmware::prove(bench.workspace, &cross, order(&machine), tally);
        }
    }
}

fn planted_panic(bench: &Bench, tally: &mut Tally) {
    let what = "the images with a planted panic";
    if bench.ready(firmware::NEEDS, what, tally)
        && let Some(cross) = cross(bench, what, tally)
    {
        for machine in machines(bench, what, tally) {
            firmware::refute(bench.workspace, &cross, order(&machine), tally);
        }
    }
}

/// The names of all machines; a step that finds none has failed.
fn machines(bench: &Bench, what: &str, tally: &mut Tally) -> Vec<String> {
    bench.workspace.machines().unwrap_or_else(|why| {
        tally.fail(what, why);
        Vec::new()
    })
}

fn weigh(bench: &Bench, tally: &mut Tally) {
    if bench.ready(budget::NEEDS, "what the blocks cost", tally) {
        budget::prove(bench.workspace, &bench.own, tally);
    }
}

fn planted_block(bench: &Bench, tally: &mut Tally) {
    if bench.ready(budget::NEEDS, "a block with a planted panic", tally) {
        budget::refute(bench.workspace, &bench.own, tally);
    }
}

fn parity(bench: &Bench, tally: &mut Tally) {
    let what = "every scenario on host and in QEMU";
    if !bench.ready(&[Need::Qemu, Need::Linker, Need::Core], what, tally) {
        return;
    }
    for machine in machines(bench, what, tally) {
        parity_of(bench, &machine, tally);
    }
}

fn bus_tools(bench: &Bench, tally: &mut Tally) {
    if bench.ready(&[Need::Python], "CAN tools that talk to the loader", tally) {
        let emulated =
            bench.ready(&[Need::Qemu, Need::Linker, Need::Core], "CAN tools that talk to the image", tally);
        if bench.programs("CAN tools that talk to the loader", tally).is_some() {
            bus::step(bench.workspace, emulated, tally);
        }
    }
}

fn parity_of(bench: &Bench, machine: &str, tally: &mut Tally) {
    let what = &format!("every scenario of the {machine} on host and in QEMU");
    let path = firmware::path(bench.workspace, machine);
    if !path.is_file() {
        tally.fail(what, "there is no image: see the step `firmware`".to_owned());
        return;
    }
    let Some(programs) = bench.programs(what, tally) else { return };
    let words = ["run", "--package", machine, "--", "run", "--all", "--firmware"];
    let outcome = match programs.task(bench.workspace, "parity", &words) {
        Ok(task) => task.args([&path]).limit(PARITY_LIMIT).run(bench.workspace),
        Err(why) => return tally.fail(what, why),
    };
    match Tally::of_closing_line(&outcome.text) {
        Some((passed, 0, skipped)) if outcome.success && passed > 0 => {
            tally.passed += passed;
            if skipped > 0 {
                tally.skip(what, format!("{skipped} of them were skipped; see the log of this step"));
            }
        }
        Some((passed, failed, _)) => {
            tally.passed += passed;
            tally.fail(what, format!("{failed} of {} scenarios; see above", passed + failed));
        }
        None => tally.fail(what, "the run printed no counts; see above".to_owned()),
    }
}

/// Integration tests, optimised like the programs: they run whole machines. The selection of packages is always that of
/// the programs, too, so that Cargo resolves the same features and builds nothing twice.
const INTEGRATED: [&str; 5] = ["--workspace", "--profile", "dev", "--test", "*"];

/// Runs Rust's test harness over the targets that `selection` names.
fn harness<S: AsRef<OsStr>>(
    bench: &Bench,
    name: &str,
    selection: &[S],
    words: &[&str],
    python: Option<PathBuf>,
    tally: &mut Tally,
) {
    let mut task = host(bench, name)
        .env("RUST_BACKTRACE", "0")
        .args(["test", "--no-fail-fast"])
        .args(selection)
        .args(words);
    task = match python {
        Some(python) => task.env("TRUNNION_PYTHON", python),
        None => task.without("TRUNNION_PYTHON"),
    };
    let outcome = task.run_quietly(bench.workspace);
    if !outcome.success {
        quote(&failures_of_harness(&outcome.text));
    }
    let counted = Tally::of_harness(&outcome.text);
    if !outcome.success && counted.failed.is_empty() {
        tally.fail(name, "it did not build, or a test ended the process; see above".to_owned());
    } else if outcome.success && counted.passed == 0 {
        tally.fail(name, "no test ran: is the selection of tests still right?".to_owned());
    }
    tally.add(counted);
}

fn host(bench: &Bench, name: &str) -> Task {
    bench.own.cargo(bench.workspace, name)
}

fn cross(bench: &Bench, what: &str, tally: &mut Tally) -> Option<CrossToolchain> {
    let found = CrossToolchain::find(&bench.own);
    if found.is_none() {
        tally.fail(what, "no toolchain for the image".to_owned());
    }
    found
}

fn verdict(outcome: &Outcome, what: &str, remedy: &str, tally: &mut Tally) {
    if outcome.success { tally.pass(what) } else { tally.fail(what, remedy.to_owned()) }
}
