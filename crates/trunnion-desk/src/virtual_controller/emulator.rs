//! The emulated board: a QEMU process and its two serial ports.

use std::ffi::OsString;
use std::fs::{self, DirBuilder, File};
use std::io;
use std::os::unix::fs::DirBuilderExt;
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::VirtualControllerError;

/// How long the emulator may take to connect.
const CONNECT_TIME: Duration = Duration::from_secs(5);

/// The emulator's program.
const PROGRAM: &str = "qemu-system-arm";

/// What the emulator always says of this board: its network port is not connected.
const USUAL_WARNING: &str = "warning: nic lan9118.0 has no peer";

/// A running emulator; ended when dropped.
pub(super) struct Emulator {
    process: Child,
    folder: Folder,
}

/// The board's serial ports.
pub(super) struct Connections {
    /// Requests and answers.
    pub wire: UnixStream,
    /// The log.
    pub log: UnixStream,
}

impl Emulator {
    /// Starts the board with an image and waits until both ports are connected.
    pub fn start(image: &Path) -> Result<(Self, Connections), VirtualControllerError> {
        let folder = Folder::new().map_err(|source| connection("cannot make a temporary folder", source))?;
        let listen = |name| {
            UnixListener::bind(folder.path.join(name))
                .and_then(|listener| listener.set_nonblocking(true).map(|()| listener))
                .map_err(|source| connection("cannot open a socket for the emulator", source))
        };
        let (wire, log) = (listen("wire")?, listen("log")?);
        let said = File::create(folder.said())
            .map_err(|source| connection("cannot write the emulator's error output", source))?;
        let process = Command::new(PROGRAM)
            .args(arguments(&folder, image))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(said)
            .spawn()
            .map_err(|source| VirtualControllerError::NoEmulator { source })?;
        let mut emulator = Self { process, folder };
        let deadline = Instant::now() + CONNECT_TIME;
        let connections =
            Connections { wire: emulator.accept(&wire, deadline)?, log: emulator.accept(&log, deadline)? };
        Ok((emulator, connections))
    }

    fn accept(
        &mut self,
        listener: &UnixListener,
        deadline: Instant,
    ) -> Result<UnixStream, VirtualControllerError> {
        loop {
            match listener.accept() {
                Ok((stream, _)) => return Ok(stream),
                Err(error) if error.kind() == io::ErrorKind::WouldBlock => {}
                Err(source) => return Err(connection("the emulator cannot connect", source)),
            }
            if let Some(ended) = self.ended() {
                return Err(ended);
            }
            if Instant::now() > deadline {
                return Err(self.no_answer("the call for its serial ports", CONNECT_TIME));
            }
            sleep(Duration::from_millis(2));
        }
    }

    /// Why the emulator ended, if it did.
    pub fn ended(&mut self) -> Option<VirtualControllerError> {
        let status = self.process.try_wait().ok()??;
        Some(VirtualControllerError::EmulatorEnded { status: status.to_string(), said: self.said() })
    }

    /// What a failed read or write on a port means.
    pub fn broken_link(&mut self, source: io::Error) -> VirtualControllerError {
        // The connection breaks a moment before the process is seen to have ended.
        sleep(Duration::from_millis(50));
        self.ended().unwrap_or_else(|| connection("the connection to the emulator broke", source))
    }

    /// Nothing was heard for `time`.
    pub fn no_answer(&mut self, request: &str, time: Duration) -> VirtualControllerError {
        VirtualControllerError::NoAnswer {
            request: request.to_owned(),
            seconds: time.as_secs(),
            said: self.said(),
        }
    }

    fn said(&self) -> String {
        let said = fs::read_to_string(self.folder.said()).unwrap_or_default();
        let lines: Vec<&str> = said.lines().filter(|line| !line.ends_with(USUAL_WARNING)).collect();
        if lines.is_empty() { "nothing".to_owned() } else { lines.join("; ") }
    }
}

impl Drop for Emulator {
    fn drop(&mut self) {
        // Both fail only when it has ended already.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn connection(what: &str, source: io::Error) -> VirtualControllerError {
    VirtualControllerError::Connection { what: what.to_owned(), source }
}

/// The emulator's command line.
///
/// The wire goes through a multiplexer, which reads bytes ahead: three times as many arrive in a second as
/// without. Its escape byte is the frames' delimiter, which is therefore sent twice (see [`super::link`]).
fn arguments(folder: &Folder, image: &Path) -> Vec<OsString> {
    let port = |name: &str, more: &str| {
        let mut option = OsString::from(format!("socket,id={name}{more},path="));
        option.push(doubled_commas(&folder.path.join(name)));
        option
    };
    let mut arguments: Vec<OsString> =
        ["-M", "mps2-an386", "-nodefaults", "-display", "none", "-monitor", "none", "-nic", "none"]
            .map(OsString::from)
            .into();
    arguments.extend(["-echr", "0", "-chardev"].map(OsString::from));
    arguments.push(port("wire", ",mux=on"));
    arguments.extend(["-serial", "chardev:wire", "-chardev"].map(OsString::from));
    arguments.push(port("log", ""));
    arguments.extend(["-serial", "chardev:log", "-kernel"].map(OsString::from));
    arguments.push(image.as_os_str().to_owned());
    arguments
}

/// A path as the emulator's option lists want it.
fn doubled_commas(path: &Path) -> OsString {
    path.to_string_lossy().replace(',', ",,").into()
}

/// A temporary folder of our own, for sockets; removed when dropped.
struct Folder {
    path: PathBuf,
}

impl Folder {
    fn new() -> io::Result<Self> {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        loop {
            let number = COUNT.fetch_add(1, Ordering::Relaxed);
            let name = format!("trunnion-{}-{number}", std::process::id());
            let path = std::env::temp_dir().join(name);
            match DirBuilder::new().mode(0o700).create(&path) {
                Ok(()) => return Ok(Self { path }),
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(error),
            }
        }
    }

    fn said(&self) -> PathBuf {
        self.path.join("said")
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // Left behind in the worst case: it is in the system's temporary folder.
        let _ = fs::remove_dir_all(&self.path);
    }
}
