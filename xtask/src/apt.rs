//! Installs Debian packages, when this computer has apt and we may use it.

use std::{path::Path, time::Duration};

use crate::{
    command::{Task, ask, on_path},
    workspace::Workspace,
};

/// apt may wait for another apt, and a slow mirror takes its time; half an hour means that it hangs.
const LIMIT: Duration = Duration::from_secs(1800);

/// How packages can be installed here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Apt {
    /// We are root.
    Root,
    /// `sudo` works without a password.
    Sudo,
}

impl Apt {
    /// Whether packages can be installed without asking anybody; else why not.
    pub fn find() -> Result<Self, String> {
        if on_path("apt-get").is_none() {
            return Err("this system has no apt-get".to_owned());
        }
        if ask("id", ["-u"]).as_deref() == Some("0") {
            return Ok(Self::Root);
        }
        if on_path("sudo").is_some() && ask("sudo", ["-n", "true"]).is_some() {
            return Ok(Self::Sudo);
        }
        Err("not root, and sudo asks for a password".to_owned())
    }

    /// Brings the package lists up to date, then installs. An old list points at files that are gone.
    pub fn install(self, workspace: &Workspace, packages: &[&str]) -> Result<(), String> {
        let updated = self.task(workspace, "apt update", &["update"]).run(workspace).success;
        let mut words = vec!["install", "--yes", "--no-install-recommends"];
        words.extend(packages);
        if self.task(workspace, "apt install", &words).run(workspace).success {
            return Ok(());
        }
        let lists =
            if updated { "" } else { " (the package lists could not be updated: is there a network?)" };
        Err(format!("apt-get could not install {}{lists}", packages.join(" ")))
    }

    fn task(self, workspace: &Workspace, name: &str, words: &[&str]) -> Task {
        let mut all: Vec<&str> = match self {
            Self::Root => vec!["apt-get"],
            Self::Sudo => vec!["sudo", "-n", "DEBIAN_FRONTEND=noninteractive", "apt-get"],
        };
        all.extend(["-o", "DPkg::Lock::Timeout=300"]);
        all.extend(words);
        let program = Path::new(all[0]);
        Task::new(workspace, name, program)
            .env("DEBIAN_FRONTEND", "noninteractive")
            .limit(LIMIT)
            .args(&all[1..])
    }
}
