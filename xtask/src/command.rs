//! Runs a command: prints it, shows that it is alive, keeps its output, tells how it ended.

use std::{
    env,
    ffi::OsStr,
    fs,
    io::{BufRead, BufReader, Read},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    sync::mpsc::{self, RecvTimeoutError, Sender},
    thread,
    time::{Duration, Instant},
};

use crate::{
    progress::{Running, elapsed, say},
    workspace::Workspace,
};

/// How much of a failed command's output is shown; all of it is in the log file.
const TAIL: usize = 120;
/// How long to wait for output that a grandchild may still hold open after the command has ended.
const DRAIN: Duration = Duration::from_secs(2);

/// A command that will be run with its output kept.
pub struct Task {
    name: String,
    command: Command,
    shown_as: Option<&'static str>,
    live: bool,
    limit: Option<Duration>,
}

/// How a command ended.
pub struct Outcome {
    /// Whether it ended by itself with exit code 0.
    pub success: bool,
    /// What it printed, both streams in the order of arrival.
    pub text: String,
    /// What it printed on its standard output.
    pub out: String,
}

/// Where a line came from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Stream {
    Out,
    Error,
}

#[derive(Default)]
struct Printed {
    text: String,
    out: String,
}

impl Printed {
    fn add(&mut self, stream: Stream, line: &str) {
        for kept in
            [Some(&mut self.text), (stream == Stream::Out).then_some(&mut self.out)].into_iter().flatten()
        {
            kept.push_str(line);
            kept.push('\n');
        }
    }
}

impl Task {
    /// A command that will run in the top folder, freed of what Cargo set for this program only.
    pub fn new(workspace: &Workspace, name: &str, program: impl AsRef<OsStr>) -> Self {
        let mut command = Command::new(program);
        command.current_dir(&workspace.root).stdin(Stdio::null());
        for (key, _) in env::vars_os() {
            if key.to_str().is_some_and(is_ours_alone) {
                command.env_remove(key);
            }
        }
        Self { name: name.to_owned(), command, shown_as: None, live: false, limit: None }
    }

    /// Adds arguments.
    pub fn args<S: AsRef<OsStr>>(mut self, args: impl IntoIterator<Item = S>) -> Self {
        self.command.args(args);
        self
    }

    /// Sets an environment variable; it is shown in front of the printed command.
    pub fn env(mut self, key: &str, value: impl AsRef<OsStr>) -> Self {
        self.command.env(key, value);
        self
    }

    /// Prints the program under the name that a person would type.
    pub fn shown_as(mut self, name: &'static str) -> Self {
        self.shown_as = Some(name);
        self
    }

    /// Looks for programs in this folder before all others.
    pub fn path_first(self, folder: &Path) -> Self {
        let mut path = folder.as_os_str().to_owned();
        if let Some(rest) = env::var_os("PATH") {
            path.push(":");
            path.push(rest);
        }
        self.env("PATH", path)
    }

    /// Takes an environment variable away.
    pub fn without(mut self, key: &str) -> Self {
        self.command.env_remove(key);
        self
    }

    /// Shows every line as it comes, for a command whose output is meant for the person.
    pub fn live(mut self) -> Self {
        self.live = true;
        self
    }

    /// Ends the command when it runs longer, for one that could wait for ever.
    pub fn limit(mut self, limit: Duration) -> Self {
        self.limit = Some(limit);
        self
    }

    /// Runs it with our terminal as its own, for one that shows its progress itself; nothing is kept.
    pub fn hand_over(mut self, workspace: &Workspace) -> bool {
        say(format_args!("  $ {}", spelled(&self.command, self.shown_as, &workspace.root)));
        match self.command.status() {
            Ok(status) => status.success(),
            Err(error) => {
                let program = self.command.get_program().to_string_lossy().into_owned();
                say(format_args!("cannot start {program}: {error}"));
                false
            }
        }
    }

    /// Runs it to its end. A command that cannot be started is a failed one that says so.
    pub fn run(self, workspace: &Workspace) -> Outcome {
        let show_failure = !self.live;
        let log = workspace.logs().join(format!("{}.log", slug(&self.name)));
        let outcome = self.run_quietly(workspace);
        if !outcome.success && show_failure {
            quote(&outcome.text);
            say(format_args!("  (all of it: {})", workspace.shown(&log)));
        }
        outcome
    }

    /// Runs it to its end without showing the output of a failure, for one that is expected to fail.
    pub fn run_quietly(mut self, workspace: &Workspace) -> Outcome {
        say(format_args!("  $ {}", spelled(&self.command, self.shown_as, &workspace.root)));
        let started = Instant::now();
        let running = Running::start(&self.name);
        let mut printed = Printed::default();
        let success = match self.command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn() {
            Ok(child) => self.follow(child, &running, &mut printed),
            Err(error) => {
                let program = self.command.get_program().to_string_lossy();
                printed.text = format!("cannot start {program}: {error}");
                false
            }
        };
        drop(running);
        let Printed { text, out } = printed;
        keep(&workspace.logs(), &slug(&self.name), &text);
        let end = if success { "done" } else { "ended with an error" };
        say(format_args!("    {end} after {}", elapsed(started.elapsed())));
        Outcome { success, text, out }
    }

    fn follow(&self, mut child: Child, running: &Running, printed: &mut Printed) -> bool {
        let started = Instant::now();
        let (sender, lines) = mpsc::channel();
        if let Some(stream) = child.stdout.take() {
            read_lines(stream, Stream::Out, sender.clone());
        }
        if let Some(stream) = child.stderr.take() {
            read_lines(stream, Stream::Error, sender);
        }
        let mut ended: Option<(bool, Instant)> = None;
        loop {
            match lines.recv_timeout(Duration::from_millis(100)) {
                Ok((stream, line)) => {
                    running.note(&line);
                    if self.live {
                        say(format_args!("  {line}"));
                    }
                    printed.add(stream, &line);
                }
                Err(RecvTimeoutError::Disconnected) => break,
                Err(RecvTimeoutError::Timeout) => {}
            }
            if let Some((_, at)) = ended {
                if at.elapsed() > DRAIN {
                    break;
                }
            } else if let Ok(Some(status)) = child.try_wait() {
                ended = Some((status.success(), Instant::now()));
            } else if self.limit.is_some_and(|limit| started.elapsed() > limit) {
                let _ = child.kill();
                let _ = child.wait();
                let line = format!("stopped: still running after {}", elapsed(started.elapsed()));
                printed.add(Stream::Error, &line);
                ended = Some((false, Instant::now()));
            }
        }
        match ended {
            Some((success, _)) => success,
            None => child.wait().is_ok_and(|status| status.success()),
        }
    }
}

/// Shows the end of what a command printed, set apart from our own lines and without Cargo's list of packages.
pub fn quote(text: &str) {
    let lines: Vec<&str> = text.lines().filter(|line| !is_cargo_at_work(line)).collect();
    for line in &lines[lines.len().saturating_sub(TAIL)..] {
        say(format_args!("  | {line}"));
    }
}

/// Lines such as `   Compiling clap v4.6.9`, which bury the error that a build ended with.
fn is_cargo_at_work(line: &str) -> bool {
    let mut words = line.split_whitespace();
    let at_work =
        ["Compiling", "Checking", "Documenting", "Downloaded", "Downloading", "Updating", "Locking"];
    line.starts_with(' ') && words.next().is_some_and(|word| at_work.contains(&word))
}

/// What a command prints, or nothing when it cannot be run or fails.
pub fn ask<S: AsRef<OsStr>>(program: impl AsRef<OsStr>, args: impl IntoIterator<Item = S>) -> Option<String> {
    let answer = Command::new(program).args(args).stdin(Stdio::null()).output().ok()?;
    answer.status.success().then(|| String::from_utf8_lossy(&answer.stdout).trim().to_owned())
}

/// Where a program lies, by the search path.
pub fn on_path(program: &str) -> Option<PathBuf> {
    env::split_paths(&env::var_os("PATH")?).map(|folder| folder.join(program)).find(|path| path.is_file())
}

/// Cargo tells a program it runs where its own package is; a nested build must not take that as its own.
fn is_ours_alone(key: &str) -> bool {
    ["CARGO_PKG_", "CARGO_MANIFEST_", "CARGO_BIN_"].iter().any(|start| key.starts_with(start))
        || ["CARGO_CRATE_NAME", "CARGO_PRIMARY_PACKAGE", "LD_LIBRARY_PATH", "OUT_DIR"].contains(&key)
}

fn read_lines(from: impl Read + Send + 'static, stream: Stream, sender: Sender<(Stream, String)>) {
    thread::spawn(move || {
        let mut reader = BufReader::new(from);
        let mut bytes = Vec::new();
        while reader.read_until(b'\n', &mut bytes).is_ok_and(|count| count > 0) {
            let line = String::from_utf8_lossy(&bytes).trim_end().to_owned();
            bytes.clear();
            if sender.send((stream, line)).is_err() {
                break;
            }
        }
    });
}

fn spelled(command: &Command, shown_as: Option<&str>, root: &Path) -> String {
    let root = format!("{}/", root.display());
    let mut words = Vec::new();
    for (key, value) in command.get_envs() {
        if let Some(folder) = value.filter(|_| key == "PATH").map(first_of_path) {
            words.push(format!("PATH={folder}:$PATH"));
        } else if let Some(value) = value {
            words.push(format!("{}={}", key.to_string_lossy(), quoted(value, &root)));
        }
    }
    words.push(shown_as.map_or_else(|| quoted(command.get_program(), &root), str::to_owned));
    words.extend(command.get_args().map(|argument| quoted(argument, &root)));
    words.join(" ")
}

fn first_of_path(path: &OsStr) -> String {
    path.to_string_lossy().split(':').next().unwrap_or_default().to_owned()
}

fn quoted(word: &OsStr, root: &str) -> String {
    let word = word.to_string_lossy().replace(root, "");
    let plain = |letter: char| letter.is_ascii_alphanumeric() || "-_=+./:,@%".contains(letter);
    if !word.is_empty() && word.chars().all(plain) {
        word
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

fn keep(folder: &Path, name: &str, text: &str) {
    let written =
        fs::create_dir_all(folder).and_then(|()| fs::write(folder.join(format!("{name}.log")), text));
    if let Err(error) = written {
        say(format_args!("    (output not kept in {}: {error})", folder.display()));
    }
}

fn slug(name: &str) -> String {
    name.chars().map(|letter| if letter.is_ascii_alphanumeric() { letter } else { '-' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn workspace() -> Workspace {
        Workspace::find().unwrap()
    }

    #[test]
    fn both_streams_and_the_exit_code_are_kept() {
        let task =
            Task::new(&workspace(), "self test streams", "sh").args(["-c", "echo a; echo b >&2; exit 3"]);
        let outcome = task.run_quietly(&workspace());
        assert!(!outcome.success);
        let mut lines: Vec<&str> = outcome.text.lines().collect();
        lines.sort_unstable();
        assert_eq!(lines, ["a", "b"]);
        assert_eq!(outcome.out, "a\n");
    }

    #[test]
    fn the_list_of_packages_that_cargo_works_on_is_not_quoted() {
        assert!(is_cargo_at_work("   Compiling clap v4.6.9"));
        assert!(!is_cargo_at_work("error: could not compile `trunnion` (lib) due to 1 previous error"));
        assert!(!is_cargo_at_work("Checking is done by hand"));
    }

    #[test]
    fn a_command_that_waits_for_ever_is_ended_at_its_limit() {
        let task = Task::new(&workspace(), "self test limit", "sleep").args(["60"]);
        let outcome = task.limit(Duration::from_millis(300)).run_quietly(&workspace());
        assert!(!outcome.success);
        assert!(outcome.text.contains("still running"), "{}", outcome.text);
    }

    #[test]
    fn a_program_that_is_not_there_fails_and_is_named() {
        let outcome =
            Task::new(&workspace(), "self test absent", "no-such-program").run_quietly(&workspace());
        assert!(!outcome.success && outcome.text.contains("no-such-program"));
    }

    #[test]
    fn a_printed_command_can_be_pasted_into_a_shell() {
        let mut command = Command::new("/clone/target/debug/loader");
        command.env("RUSTDOCFLAGS", "-D warnings").env("PATH", "/a:/b").args(["run", "it's"]);
        let text = spelled(&command, None, Path::new("/clone"));
        assert_eq!(text, r"PATH=/a:$PATH RUSTDOCFLAGS='-D warnings' target/debug/loader run 'it'\''s'");
        assert!(spelled(&command, Some("cargo"), Path::new("/clone")).contains(" cargo run "));
    }
}
