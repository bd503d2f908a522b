//! The job-array script tried on a real Slurm: this computer is its only node, in a scratch folder, until the trial ends.

mod configuration;
mod daemon;

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, ExitCode},
    thread,
    time::{Duration, Instant},
};

pub use self::daemon::program;
use self::{
    configuration::{Node, Scratch, free_ports},
    daemon::Daemon,
};
use crate::{
    Verdict,
    command::{Task, ask},
    progress::{Running, elapsed, say},
    setup::{self, Need},
    tally::Tally,
    toolchain::Toolchain,
    workspace::Workspace,
};

const MACHINE: &str = "loader";
/// The script that a user takes to a cluster.
const SCRIPT: &str = "docs/shards.sbatch";
const SHARDS: usize = 4;
/// An array takes a minute; after a quarter of an hour it hangs.
const LIMIT: Duration = Duration::from_secs(900);
/// Tasks that are called off are gone after so long.
const ENDS: Duration = Duration::from_secs(20);
const LOOK: Duration = Duration::from_millis(500);
/// What is done in parts and as a whole.
const WORKS: [(&str, &[&str]); 2] = [
    ("campaign", &["campaign", "--sample", "40"]),
    ("hunt", &["hunt", "--hunts", "4", "--simulations", "20"]),
];

/// The verb.
pub fn verb(workspace: &Workspace) -> Verdict {
    let own = Toolchain::own()?;
    // One at a time: a package that cannot be had is then named by itself.
    for need in [Need::Munge, Need::Slurm] {
        if let Some(lack) = setup::provide(workspace, &own, &[need]).first() {
            return Err(format!("no {}: {}", lack.need.name(), lack.reason));
        }
    }
    let built = own.cargo(workspace, "loader").args(["build", "--package", MACHINE, "--bin", MACHINE]);
    if !built.run(workspace).success {
        return Err("the desk program does not build; see above".to_owned());
    }
    let scratch = Scratch::new(workspace.target.join("slurm"))?;
    // As on a cluster: a copy, so that a later build does not mix with this one.
    let copy = scratch.path(MACHINE);
    fs::copy(workspace.target.join("debug").join(MACHINE), &copy)
        .map_err(|error| format!("{}: {error}", copy.display()))?;
    let trial = Trial::start(workspace, scratch)?;
    let mut tally = Tally::default();
    for (name, words) in WORKS {
        match trial.try_out(name, words) {
            Ok(same) => tally.pass(&same),
            Err(why) => tally.fail(name, why),
        }
    }
    drop(trial);
    say("The daemons are stopped.");
    Ok(if tally.failed.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

/// A Slurm that runs. The order of the daemons is the order in which they end.
struct Trial<'a> {
    workspace: &'a Workspace,
    scratch: Scratch,
    _daemons: [Daemon; 3],
}

impl<'a> Trial<'a> {
    fn start(workspace: &'a Workspace, scratch: Scratch) -> Result<Self, String> {
        let whose = |program: &str, word: &str| {
            ask(program, [word]).ok_or_else(|| format!("`{program} {word}` does not answer"))
        };
        let node = Node {
            name: whose("hostname", "-s")?,
            user: whose("id", "-un")?,
            processors: thread::available_parallelism().map_or(1, usize::from),
            ports: free_ports()?,
        };
        scratch.configure(&node)?;
        let socket = scratch.socket();
        let file = |option: &str, path: PathBuf| format!("--{option}={}", path.display());
        let words = [
            "--foreground".to_owned(),
            "--force".to_owned(),
            file("key-file", scratch.key()),
            file("socket", socket.clone()),
            file("pid-file", scratch.path("munged.pid")),
            file("log-file", scratch.path("munged.own.log")),
            file("seed-file", scratch.path("munge.seed")),
        ];
        let munge = file("socket", socket);
        let munged = Daemon::start("munged", &words, &[], scratch.path("munged.log"), &|| {
            ask("munge", ["--no-input", &munge]).is_some()
        })?;
        let configuration = scratch.configuration();
        let variables = [("SLURM_CONF", configuration.as_path())];
        let words = |first: &[&str]| -> Vec<String> {
            let path = configuration.display().to_string();
            first.iter().map(|word| (*word).to_owned()).chain(["-f".to_owned(), path]).collect()
        };
        let answers = |program: &str, args: &[&str], word: &str| {
            slurm(&configuration, program, args).is_ok_and(|text| text.contains(word))
        };
        let log = scratch.path("slurmctld.log");
        let controller = Daemon::start("slurmctld", &words(&["-D", "-i"]), &variables, log, &|| {
            answers("scontrol", &["ping"], "UP")
        })?;
        let log = scratch.path("slurmd.log");
        let node = Daemon::start("slurmd", &words(&["-D"]), &variables, log, &|| {
            answers("sinfo", &["--noheader", "--format=%T"], "idle")
        })?;
        Ok(Self { workspace, scratch, _daemons: [node, controller, munged] })
    }

    /// One work in shards and as a whole: what came of both, or where they differ.
    fn try_out(&self, name: &str, words: &[&str]) -> Result<String, String> {
        let parts = self.scratch.path(&format!("{name}-parts"));
        let began = Instant::now();
        let job = self.submit(&parts, words)?;
        self.wait(name, &job)?;
        let array = began.elapsed();
        let files: Vec<PathBuf> = (1..=SHARDS).map(|number| parts.join(format!("{number}.json"))).collect();
        self.refuses(name, words, &files[1..], "missing: shard 1/")?;
        self.refuses(name, words, &[&files[..], &files[..1]].concat(), "is there twice")?;
        let [merged, whole] =
            ["merged", "whole"].map(|which| self.scratch.path(&format!("{name}-{which}.json")));
        let merge = self.program(name, words).args(["--merge"]).args(&files);
        let began = Instant::now();
        for (task, path) in [(merge, &merged), (self.program(name, words), &whole)] {
            if !task.args(["--json"]).args([path]).run(self.workspace).success {
                return Err("it found something, or could not be run; see above".to_owned());
            }
        }
        let read = |path: &Path| fs::read(path).map_err(|error| format!("{}: {error}", path.display()));
        let (ours, theirs) = (read(&merged)?, read(&whole)?);
        if ours != theirs {
            return Err(format!("{} and {} differ", merged.display(), whole.display()));
        }
        Ok(format!(
            "{name}: {SHARDS} shards as array job {job} in {}, merged the same {} bytes as one process in {}",
            elapsed(array),
            ours.len(),
            elapsed(began.elapsed())
        ))
    }

    fn program(&self, name: &str, words: &[&str]) -> Task {
        let out = self.scratch.path(&format!("{name}-found"));
        let program = self.scratch.path(MACHINE);
        Task::new(self.workspace, &format!("slurm {name}"), program).args(words).args(["--out"]).args([out])
    }

    /// Parts that are not the whole must not be merged.
    fn refuses(&self, name: &str, words: &[&str], files: &[PathBuf], why: &str) -> Result<(), String> {
        let outcome = self.program(name, words).args(["--merge"]).args(files).run_quietly(self.workspace);
        if !outcome.success && outcome.text.contains(why) {
            return Ok(());
        }
        Err(format!("a merge that must be refused with `{why}` said: {}", outcome.text))
    }

    fn submit(&self, parts: &Path, words: &[&str]) -> Result<String, String> {
        let folder = self.scratch.path(".");
        let mut args = vec![
            "--parsable".to_owned(),
            format!("--array=1-{SHARDS}"),
            format!("--chdir={}", folder.display()),
            format!("--output={}/shard-%A-%a.log", folder.display()),
            format!("--export=ALL,PARTS={}", parts.display()),
            self.workspace.root.join(SCRIPT).display().to_string(),
            self.scratch.path(MACHINE).display().to_string(),
        ];
        args.extend(words.iter().map(|word| (*word).to_owned()));
        say(format_args!("  $ sbatch {}", args.join(" ")));
        let args: Vec<&str> = args.iter().map(String::as_str).collect();
        Ok(slurm(&self.scratch.configuration(), "sbatch", &args)?.trim().to_owned())
    }

    /// Waits until no task of the job is left, and tells which did not end well.
    fn wait(&self, name: &str, job: &str) -> Result<(), String> {
        let running = Running::start(&format!("{name}, array job {job}"));
        let began = Instant::now();
        let ask = |program: &str, args: &[&str]| slurm(&self.scratch.configuration(), program, args);
        loop {
            let text = ask("scontrol", &["show", "job", job, "--oneliner"])?;
            let states: Vec<&str> =
                text.split_whitespace().filter_map(|word| word.strip_prefix("JobState=")).collect();
            let done = states.iter().filter(|state| **state == "COMPLETED").count();
            running.note(&format!("{done} of {SHARDS} shards done"));
            if done == SHARDS {
                return Ok(());
            }
            let alive = ["PENDING", "RUNNING", "COMPLETING", "CONFIGURING"];
            let why = if states.iter().all(|state| alive.contains(state) || *state == "COMPLETED") {
                if began.elapsed() < LIMIT {
                    thread::sleep(LOOK);
                    continue;
                }
                format!("still not done after {}", elapsed(LIMIT))
            } else {
                "a task did not end well".to_owned()
            };
            let _ = ask("scancel", &[job]);
            return Err(format!(
                "{why} ({}); see {}",
                states.join(", "),
                self.scratch.path("shard-*.log").display()
            ));
        }
    }
}

impl Drop for Trial<'_> {
    fn drop(&mut self) {
        // What slurmd has started goes on without it: it must end first.
        let ask = |program: &str, args: &[&str]| slurm(&self.scratch.configuration(), program, args);
        let _ = ask("scancel", &["--partition=trial"]);
        let began = Instant::now();
        while began.elapsed() < ENDS
            && ask("squeue", &["--noheader", "--format=%i"]).is_ok_and(|left| !left.trim().is_empty())
        {
            thread::sleep(LOOK);
        }
    }
}

/// What a program of Slurm answers, or its complaint.
fn slurm(configuration: &Path, program: &str, args: &[&str]) -> Result<String, String> {
    let answer = Command::new(program).args(args).env("SLURM_CONF", configuration).output();
    let answer = answer.map_err(|error| format!("cannot start {program}: {error}"))?;
    if answer.status.success() {
        return Ok(String::from_utf8_lossy(&answer.stdout).into_owned());
    }
    Err(format!("{program}: {}", String::from_utf8_lossy(&answer.stderr).trim()))
}
