//! What can go wrong with a virtual controller, and what to do.

use std::io;
use std::path::PathBuf;

use miette::Diagnostic;
use thiserror::Error;
use trunnion_board::host::Nonsense;
use trunnion_board::message::Reason;

use super::Difference;

/// Why the board's run stopped.
#[derive(Debug, Error, Diagnostic)]
pub enum VirtualControllerError {
    /// No such file.
    #[error("there is no image at {}", path.display())]
    #[diagnostic(help("build it with `cargo xtask firmware`"))]
    NoImage {
        /// Where it was looked for.
        path: PathBuf,
        /// What the system said.
        #[source]
        source: io::Error,
    },

    /// Not an ELF file, or with a log that cannot be read.
    #[error("{} is not an image whose log can be read: {why}", path.display())]
    #[diagnostic(help("build it anew with `cargo xtask firmware`"))]
    NotAnImage {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        why: String,
    },

    /// The emulator could not be started.
    #[error("the emulator qemu-system-arm cannot be started: {source}")]
    #[diagnostic(help("install it: `apt-get install qemu-system-arm` on Debian, or `cargo xtask setup`"))]
    NoEmulator {
        /// What the system said.
        source: io::Error,
    },

    /// The emulator ended.
    #[error("the emulator ended ({status}); it said: {said}")]
    #[diagnostic(help("QEMU 7.2 is known to work; see which one is installed: `qemu-system-arm --version`"))]
    EmulatorEnded {
        /// Its exit status.
        status: String,
        /// Its error output.
        said: String,
    },

    /// Nothing was heard for too long.
    #[error("the board gave no answer to {request} within {seconds} s; the emulator said: {said}")]
    #[diagnostic(help(
        "the image hangs or is not one of this project's: build it anew with `cargo xtask firmware`; \
         on a very busy computer, try again"
    ))]
    NoAnswer {
        /// What was asked.
        request: String,
        /// How long it was awaited.
        seconds: u64,
        /// The emulator's error output.
        said: String,
    },

    /// Files or connections that the emulator needs could not be made.
    #[error("{what}: {source}")]
    #[diagnostic(help(
        "its sockets are in the folder that TMPDIR names, else in /tmp: that must be writable, with a short path"
    ))]
    Connection {
        /// What was tried.
        what: String,
        /// What the system said.
        #[source]
        source: io::Error,
    },

    /// The board could not take a request.
    #[error("tick {tick}: the board refused the request: {why}")]
    #[diagnostic(help("{help}"))]
    Refused {
        /// Tick since the start, from 0.
        tick: u32,
        /// Why, as the board says.
        reason: Reason,
        /// The same in words.
        why: String,
        /// What to do.
        help: String,
    },

    /// The board's answer cannot be read.
    #[error("tick {tick}: the board's answer cannot be read: {why}")]
    #[diagnostic(help(
        "build the image anew with `cargo xtask firmware`; if it stays, the wire is at fault"
    ))]
    Unreadable {
        /// Tick since the start, from 0.
        tick: u32,
        /// What is wrong with it.
        why: String,
    },

    /// The board's answer arrived damaged.
    #[error("the board's answer to {request} arrived damaged: {what}")]
    #[diagnostic(help("try again; if it stays, see the emulator's version: QEMU 7.2 is known to work"))]
    Damaged {
        /// What was asked.
        request: String,
        /// What is wrong with the answer.
        what: &'static str,
    },

    /// The answer is of another kind than the request.
    #[error("tick {tick}: the board answered something else than it was asked")]
    #[diagnostic(help("build the image anew with `cargo xtask firmware`"))]
    Unexpected {
        /// Tick since the start, from 0.
        tick: u32,
    },

    /// Host and board drive different values.
    #[error("host and board differ in {0}")]
    #[diagnostic(help(
        "image and host program are not built from the same sources, or the control program depends on \
         the processor: build both anew; then look at this signal in the trace up to this tick"
    ))]
    Differs(Difference),

    /// One took a parameter set that the other refused.
    #[error("host and board differ at tick {tick}: the host {} the parameters, the board did not", took(*accepted))]
    #[diagnostic(help("build image and host program anew from the same sources"))]
    ParametersDiffer {
        /// Tick since the start, from 0.
        tick: u32,
        /// True when the host took them.
        accepted: bool,
    },
}

fn took(accepted: bool) -> &'static str {
    if accepted { "took" } else { "refused" }
}

impl VirtualControllerError {
    pub(super) fn refused(tick: u32, reason: Reason) -> Self {
        let why = match reason {
            Reason::Damaged(damage) => format!("it arrived damaged ({damage:?})"),
            Reason::UnknownKind(kind) => format!("it knows no request 0x{kind:02X}"),
            Reason::OutOfSequence { expected } => format!("request number {expected} did not arrive"),
            Reason::OtherLayout => {
                "the image was built from another declaration of signals and parameters".to_owned()
            }
            Reason::Content => "its content is not what the declaration says".to_owned(),
            Reason::NotStarted => "nothing was started".to_owned(),
            Reason::AnswerTooLong => "the answer is longer than a frame".to_owned(),
        };
        let help = match reason {
            Reason::OtherLayout | Reason::UnknownKind(_) | Reason::Content => {
                "build image and host program anew from the same sources: `cargo xtask firmware`"
            }
            _ => "bytes were lost on the wire: try again; if it stays, see the emulator's version",
        };
        Self::Refused { tick, reason, why, help: help.to_owned() }
    }

    pub(super) fn nonsense(tick: u32, nonsense: Nonsense) -> Self {
        let why = match nonsense {
            Nonsense::Unreadable => "it is no message of this protocol".to_owned(),
            Nonsense::OutOfSequence { expected, found } => {
                format!("it answers request number {found}, awaited was {expected}")
            }
        };
        Self::Unreadable { tick, why }
    }
}
