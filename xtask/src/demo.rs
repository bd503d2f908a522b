//! One command from a clone to a report: the loader on the host and in QEMU, side by side.

use std::{path::PathBuf, process::ExitCode, thread, time::Instant};

use crate::{
    Verdict,
    command::on_path,
    firmware::{self, Order},
    progress::{elapsed, say},
    setup::{self, Lack},
    tally::Tally,
    toolchain::{CrossToolchain, Toolchain},
    workspace::Workspace,
};

const MACHINE: &str = "loader";

/// What became of the firmware part.
enum Firmware {
    Built(PathBuf),
    /// Nobody lets us install what it needs: the host part runs alone, and that is said.
    NotPossible(Vec<Lack>),
    Failed(String),
}

/// The verb.
pub fn verb(workspace: &Workspace) -> Verdict {
    let began = Instant::now();
    let own = Toolchain::own()?;
    say("Building: the desk program for this computer, the image for the controller.");
    let (host, firmware) = thread::scope(|scope| {
        let firmware = scope.spawn(|| build_firmware(workspace, &own));
        let words = ["build", "--package", MACHINE, "--bin", MACHINE];
        let host = own.cargo(workspace, "host build").args(words).run(workspace).success;
        let firmware = firmware.join().unwrap_or_else(|_| Firmware::Failed("xtask itself broke".to_owned()));
        (host, firmware)
    });
    if !host {
        return Err("the desk program does not build; see above".to_owned());
    }
    let ran = run(workspace, &own, &firmware);
    say(format_args!("\nThe demo took {}.", elapsed(began.elapsed())));
    Ok(match (ran, firmware) {
        (true, Firmware::Built(_)) => ExitCode::SUCCESS,
        (true, Firmware::NotPossible(lacks)) => {
            let names: Vec<&str> = lacks.iter().map(|lack| lack.need.name()).collect();
            say(format_args!(
                "Only the host part ran. Firmware in QEMU was skipped for want of: {} ({}).",
                names.join(", "),
                lacks.first().map_or("", |lack| lack.reason.as_str())
            ));
            say("What to install: `cargo xtask setup --check`.");
            ExitCode::SUCCESS
        }
        (true, Firmware::Failed(why)) => {
            say(format_args!("Only the host part ran: {why}."));
            ExitCode::FAILURE
        }
        (false, _) => ExitCode::FAILURE,
    })
}

fn build_firmware(workspace: &Workspace, own: &Toolchain) -> Firmware {
    let lacks = setup::provide(workspace, own, setup::FOR_DEMO);
    if let Some(lack) = lacks.first() {
        return if lacks.iter().all(|lack| lack.forbidden) {
            Firmware::NotPossible(lacks)
        } else {
            Firmware::Failed(format!("no {}: {}", lack.need.name(), lack.reason))
        };
    }
    let Some(cross) = CrossToolchain::find(own) else {
        return Firmware::Failed("no toolchain for the image".to_owned());
    };
    let mut tally = Tally::default();
    let order = Order { machine: MACHINE, log: true, planted: false };
    match firmware::prove(workspace, &cross, order, &mut tally) {
        Some(path) if tally.failed.is_empty() => Firmware::Built(path),
        _ => Firmware::Failed("the image was not built as it must be; see above".to_owned()),
    }
}

fn run(workspace: &Workspace, own: &Toolchain, firmware: &Firmware) -> bool {
    let mut task = own
        .cargo(workspace, "demo")
        .args(["run", "--quiet", "--package", MACHINE, "--", "demo", "--out"])
        .args([workspace.target.join("demo")]);
    if let Firmware::Built(path) = firmware
        && on_path("qemu-system-arm").is_some()
    {
        task = task.args(["--firmware"]).args([path]);
    }
    task.live().run(workspace).success
}
