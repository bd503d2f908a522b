//! A daemon that runs as long as its trial and not longer.

use std::{
    env,
    fs::{self, File},
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

use crate::{
    command::{ask, on_path},
    progress::{Running, elapsed, say},
};

/// A daemon answers after so long, or it does not come up.
const COMES_UP: Duration = Duration::from_secs(60);
/// It ends by itself after so long, or it is killed.
const GOES_DOWN: Duration = Duration::from_secs(10);
const LOOK: Duration = Duration::from_millis(200);
/// Lines of a log that are shown.
const TAIL: usize = 12;

/// Where a program lies. Debian keeps daemons where a person's search path does not lead.
pub fn program(name: &str) -> Option<PathBuf> {
    on_path(name).or_else(|| Some(Path::new("/usr/sbin").join(name)).filter(|path| path.is_file()))
}

/// A daemon in the foreground; it ends when this is dropped, or with the program that started it.
pub struct Daemon {
    name: &'static str,
    child: Child,
    log: PathBuf,
}

impl Daemon {
    /// Starts it and waits until `up` says that it answers; else an error with its last words.
    pub fn start(
        name: &'static str,
        args: &[String],
        variables: &[(&str, &Path)],
        log: PathBuf,
        up: &dyn Fn() -> bool,
    ) -> Result<Self, String> {
        let path = program(name).ok_or_else(|| format!("{name} is not installed"))?;
        let file = File::create(&log).map_err(|error| format!("{}: {error}", log.display()))?;
        let errors = file.try_clone().map_err(|error| format!("{}: {error}", log.display()))?;
        say(format_args!("  $ {} {}", path.display(), args.join(" ")));
        // `setpriv` lets the kernel end the daemon even when this program is killed.
        let mut command = Command::new("setpriv");
        command.args(["--pdeathsig", "TERM"]).arg(path).args(args);
        command.envs(variables.iter().copied()).current_dir(env::temp_dir());
        command.stdin(Stdio::null()).stdout(file).stderr(errors);
        let child = command.spawn().map_err(|error| format!("cannot start {name}: {error}"))?;
        let mut daemon = Self { name, child, log };
        daemon.wait(up)?;
        Ok(daemon)
    }

    fn wait(&mut self, up: &dyn Fn() -> bool) -> Result<(), String> {
        let began = Instant::now();
        let _running = Running::start(&format!("{} comes up", self.name));
        loop {
            if let Ok(Some(status)) = self.child.try_wait() {
                return Err(self.last_words(&format!("ended at once ({status})")));
            }
            if up() {
                say(format_args!("    {} answers after {}", self.name, elapsed(began.elapsed())));
                return Ok(());
            }
            if began.elapsed() > COMES_UP {
                return Err(self.last_words(&format!("does not answer after {}", elapsed(COMES_UP))));
            }
            thread::sleep(LOOK);
        }
    }

    fn last_words(&self, what: &str) -> String {
        let text = fs::read_to_string(&self.log).unwrap_or_default();
        let lines: Vec<&str> = text.lines().collect();
        let tail = lines[lines.len().saturating_sub(TAIL)..].join("\n  | ");
        format!("{} {what}; the end of {}:\n  | {tail}", self.name, self.log.display())
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        let _ = ask("kill", ["-TERM", &self.child.id().to_string()]);
        let began = Instant::now();
        while began.elapsed() < GOES_DOWN {
            if !matches!(self.child.try_wait(), Ok(None)) {
                return;
            }
            thread::sleep(LOOK);
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn log(name: &str) -> PathBuf {
        env::temp_dir().join(format!("{name}-{}.log", std::process::id()))
    }

    #[test]
    fn a_daemon_that_ends_at_once_is_told_with_its_last_words() {
        let log = log("ends");
        let words = ["-c".to_owned(), "echo no such key; exit 4".to_owned()];
        let problem = Daemon::start("sh", &words, &[], log.clone(), &|| false).err().unwrap_or_default();
        let _ = fs::remove_file(log);
        assert!(problem.contains("exit status: 4") && problem.contains("| no such key"), "{problem}");
    }

    #[test]
    fn a_daemon_ends_with_its_trial() {
        let log = log("stays");
        let daemon = Daemon::start("sleep", &["600".to_owned()], &[], log.clone(), &|| true).unwrap();
        let process = PathBuf::from(format!("/proc/{}", daemon.child.id()));
        assert!(process.exists());
        drop(daemon);
        let _ = fs::remove_file(log);
        assert!(!process.exists());
    }
}
