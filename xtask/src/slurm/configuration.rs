//! A Slurm of its own on this computer: one node, everything in one scratch folder, no process groups of the kernel.

use std::{
    fs, io,
    net::TcpListener,
    os::unix::fs::PermissionsExt,
    path::{Path, PathBuf},
};

/// A socket's path must be shorter, by the kernel.
const LONGEST_SOCKET: usize = 107;
const KEY: usize = 1024;

/// Where the daemons of one trial keep their things.
pub struct Scratch {
    folder: PathBuf,
}

impl Scratch {
    /// An empty folder; what an earlier trial left in it is removed.
    pub fn new(folder: PathBuf) -> Result<Self, String> {
        let scratch = Self { folder };
        let socket = scratch.socket();
        let length = socket.as_os_str().len();
        if length > LONGEST_SOCKET {
            return Err(format!(
                "{}: {length} letters are too many for a socket's path, at most {LONGEST_SOCKET}: set CARGO_TARGET_DIR to a shorter one",
                socket.display()
            ));
        }
        let made = scratch.make();
        made.map_err(|error| format!("{}: {error}", scratch.folder.display()))?;
        Ok(scratch)
    }

    fn make(&self) -> io::Result<()> {
        if self.folder.exists() {
            fs::remove_dir_all(&self.folder)?;
        }
        for name in ["state", "spool"] {
            fs::create_dir_all(self.path(name))?;
        }
        let mut key = vec![0; KEY];
        io::Read::read_exact(&mut fs::File::open("/dev/urandom")?, &mut key)?;
        fs::write(self.key(), key)?;
        fs::set_permissions(self.key(), fs::Permissions::from_mode(0o400))
    }

    /// A file or folder in it.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// The key that all daemons share.
    pub fn key(&self) -> PathBuf {
        self.path("munge.key")
    }

    /// Where munged listens.
    pub fn socket(&self) -> PathBuf {
        self.path("munge.socket")
    }

    /// Where Slurm's configuration is.
    pub fn configuration(&self) -> PathBuf {
        self.path("slurm.conf")
    }

    /// Writes Slurm's configuration for this node.
    pub fn configure(&self, node: &Node) -> Result<(), String> {
        let path = self.configuration();
        fs::write(&path, node.configuration(&self.folder))
            .map_err(|error| format!("{}: {error}", path.display()))
    }
}

/// The computer as Slurm's only node.
pub struct Node {
    /// Its name, up to the first dot.
    pub name: String,
    /// Who runs the daemons and the jobs.
    pub user: String,
    /// Processors.
    pub processors: usize,
    /// Ports for slurmctld and slurmd.
    pub ports: [u16; 2],
}

impl Node {
    fn configuration(&self, folder: &Path) -> String {
        let Self { name, user, processors, ports: [controller, node] } = self;
        let folder = folder.display();
        format!(
            "ClusterName=trial\n\
             SlurmctldHost={name}(127.0.0.1)\n\
             SlurmUser={user}\n\
             SlurmdUser={user}\n\
             AuthType=auth/munge\n\
             CredType=cred/munge\n\
             AuthInfo=socket={folder}/munge.socket\n\
             SlurmctldPort={controller}\n\
             SlurmdPort={node}\n\
             StateSaveLocation={folder}/state\n\
             SlurmdSpoolDir={folder}/spool\n\
             SlurmctldPidFile={folder}/slurmctld.pid\n\
             SlurmdPidFile={folder}/slurmd.pid\n\
             ProctrackType=proctrack/linuxproc\n\
             TaskPlugin=task/none\n\
             MpiDefault=none\n\
             JobAcctGatherType=jobacct_gather/none\n\
             AccountingStorageType=accounting_storage/none\n\
             SelectType=select/cons_tres\n\
             SelectTypeParameters=CR_CPU\n\
             SlurmdParameters=config_overrides\n\
             ReturnToService=2\n\
             NodeName={name} NodeAddr=127.0.0.1 CPUs={processors} State=UNKNOWN\n\
             PartitionName=trial Nodes={name} Default=YES MaxTime=INFINITE State=UP\n"
        )
    }
}

/// Two ports that nobody listens on.
pub fn free_ports() -> Result<[u16; 2], String> {
    let listeners = [TcpListener::bind("127.0.0.1:0"), TcpListener::bind("127.0.0.1:0")];
    let mut ports = [0; 2];
    for (port, listener) in ports.iter_mut().zip(&listeners) {
        *port = listener
            .as_ref()
            .map_err(ToString::to_string)
            .and_then(|listener| listener.local_addr().map_err(|error| error.to_string()))
            .map_err(|error| format!("no free port on this computer: {error}"))?
            .port();
    }
    Ok(ports)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_configuration_keeps_everything_in_its_folder_and_needs_no_control_groups() {
        let node = Node { name: "bench".into(), user: "me".into(), processors: 3, ports: [7, 8] };
        let text = node.configuration(Path::new("/scratch"));
        for line in [
            "SlurmUser=me",
            "SlurmctldPort=7",
            "SlurmdPort=8",
            "StateSaveLocation=/scratch/state",
            "AuthInfo=socket=/scratch/munge.socket",
            "ProctrackType=proctrack/linuxproc",
            "TaskPlugin=task/none",
            "NodeName=bench NodeAddr=127.0.0.1 CPUs=3 State=UNKNOWN",
        ] {
            assert!(text.lines().any(|one| one == line), "{line} in\n{text}");
        }
    }

    #[test]
    fn a_folder_too_deep_for_a_socket_is_refused_before_anything_is_written() {
        let folder = Path::new("/nowhere").join("x".repeat(120));
        let problem = Scratch::new(folder).err().unwrap_or_default();
        assert!(problem.contains("too many for a socket's path"), "{problem}");
    }

    #[test]
    fn two_free_ports_differ() {
        let [one, other] = free_ports().unwrap();
        assert!(one != other && one != 0 && other != 0);
    }
}
