//! Hundreds of short commands, kept in a log file instead of on the screen.

use std::{
    fs::{self, OpenOptions},
    io::{self, Read, Write},
    path::Path,
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

/// A command that takes longer hangs.
const LIMIT: Duration = Duration::from_secs(180);
const LOOK: Duration = Duration::from_millis(2);

/// Runs a command to its end and gives what it printed; as the error if it failed.
pub fn succeed(mut command: Command, log: &Path) -> Result<String, String> {
    let words: Vec<String> = [command.get_program()]
        .into_iter()
        .chain(command.get_args())
        .map(|word| word.to_string_lossy().into_owned())
        .collect();
    keep(log, &words.join(" "));
    let cannot = |error: io::Error| format!("cannot run {}: {error}", words[0]);
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().map_err(cannot)?;
    let streams = [
        child.stdout.take().map(|stream| thread::spawn(move || all_of(stream))),
        child.stderr.take().map(|stream| thread::spawn(move || all_of(stream))),
    ];
    let success = wait(&mut child, LIMIT).map_err(cannot)?;
    let text: String = streams.into_iter().flatten().filter_map(|stream| stream.join().ok()).collect();
    match success {
        Some(true) => Ok(text),
        Some(false) => Err(text),
        None => Err(format!("still running after {} s: {}", LIMIT.as_secs(), words.join(" "))),
    }
}

/// How it ended; `None` when it had to be stopped.
fn wait(child: &mut Child, limit: Duration) -> io::Result<Option<bool>> {
    let started = Instant::now();
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(Some(status.success()));
        }
        if started.elapsed() > limit {
            child.kill()?;
            child.wait()?;
            return Ok(None);
        }
        thread::sleep(LOOK);
    }
}

fn all_of(mut stream: impl Read) -> String {
    let mut bytes = Vec::new();
    let _ = stream.read_to_end(&mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

fn keep(log: &Path, line: &str) {
    if let Some(folder) = log.parent() {
        let _ = fs::create_dir_all(folder);
    }
    if let Ok(mut file) = OpenOptions::new().create(true).append(true).open(log) {
        let _ = writeln!(file, "{line}");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::workspace::Workspace;

    #[test]
    fn a_command_gives_what_it_printed_also_when_it_fails() {
        let log = Workspace::find().unwrap().logs().join("self-test-quiet.log");
        let shell = |text: &str| {
            let mut command = Command::new("sh");
            command.args(["-c", text]);
            succeed(command, &log)
        };
        assert_eq!(shell("echo one; echo two >&2"), Ok("one\ntwo\n".to_owned()));
        assert_eq!(shell("echo why >&2; exit 3"), Err("why\n".to_owned()));
        assert!(succeed(Command::new("no-such-program"), &log).unwrap_err().contains("no-such-program"));
    }

    #[test]
    fn a_command_that_hangs_is_stopped() {
        let mut child = Command::new("sleep").arg("60").spawn().unwrap();
        assert_eq!(wait(&mut child, Duration::from_millis(50)).unwrap(), None);
    }
}
