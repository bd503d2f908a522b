//! Why something was not done, and what to do.

use std::fmt;
use std::io;

/// Why a request came to nothing.
#[derive(Debug)]
pub enum Refusal {
    /// The adaptor is gone, or does not take a frame.
    Bus(io::Error),
    /// The controller did not answer.
    Silent {
        /// Address that was asked.
        address: u8,
    },
    /// The controller refused.
    Negative {
        /// Service that was asked for.
        service: u8,
        /// Negative response code (ISO 14229-1, annex A).
        code: u8,
    },
    /// The answer is not one to the request.
    Strange {
        /// What came.
        answer: Vec<u8>,
    },
    /// It was not even asked for.
    Before {
        /// What is wrong.
        what: String,
        /// What to do.
        help: String,
    },
}

impl Refusal {
    /// Something that is wrong before anything is asked.
    pub fn before(what: impl Into<String>, help: impl Into<String>) -> Self {
        Self::Before { what: what.into(), help: help.into() }
    }

    /// The negative response code, if the controller gave one.
    pub const fn code(&self) -> Option<u8> {
        match self {
            Self::Negative { code, .. } => Some(*code),
            _ => None,
        }
    }

    /// What to do about it.
    pub fn help(&self) -> String {
        match self {
            Self::Bus(_) => "check the adaptor's plug, and that no other program holds it".into(),
            Self::Silent { .. } => {
                "check supply and plug of the controller, the bit rate, and its address (--controller)".into()
            }
            Self::Negative { code, .. } => match code {
                0x22 => "stop the machine, release all levers, and for a motion let the operator enable it; then try again",
                0x31 => "compare program and version with `unit who`: this identifier or value is none of its own, or the values contradict each other",
                0x33 => "name the unit's key with --key FILE; safety parameters need its higher level",
                0x35 => "this is not the key of this unit: the wrong code was counted",
                0x36 | 0x37 => "wait: the lock-out grows with every wrong code, and a restart does not shorten it",
                0x24 => "begin anew: something else came in between",
                0x72 => "the flash did not take it and nothing has changed; if it happens again, replace the controller",
                0x7E | 0x7F => "the session fell back because nothing was heard for five seconds; try again",
                0x21 => "another tester is being served; try again when it has finished",
                _ => "compare program and version with `unit who`",
            }
            .into(),
            Self::Strange { .. } => "compare program and version with `unit who`; is it the right controller?".into(),
            Self::Before { help, .. } => help.clone(),
        }
    }
}

const fn meaning(code: u8) -> &'static str {
    match code {
        0x11 => "it does not know this service",
        0x12 => "it does not know this part of the service",
        0x13 => "the request has a wrong length",
        0x14 => "the answer would be too long",
        0x21 => "it is busy",
        0x22 => "the machine is not at rest in neutral, or not permitted to move",
        0x24 => "this was not the order of things",
        0x31 => "there is no such identifier, or the value is not one that it takes",
        0x33 => "the level is locked",
        0x35 => "the code is wrong",
        0x36 => "the code was wrong once too often",
        0x37 => "the lock-out is not over",
        0x72 => "its flash did not take it",
        0x7E | 0x7F => "not in this session",
        _ => "it gave no reason that is known here",
    }
}

const fn asked(service: u8) -> &'static str {
    match service {
        0x10 => "a session",
        0x11 => "a restart",
        0x14 => "the faults to be cleared",
        0x19 => "the faults",
        0x22 => "values",
        0x27 => "access",
        0x2E => "a value to be written",
        0x2F => "an output to be driven",
        0x31 => "a routine",
        0x3E => "whether it is there",
        _ => "an unknown service",
    }
}

impl fmt::Display for Refusal {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bus(error) => write!(formatter, "the bus cannot be used: {error}"),
            Self::Silent { address } => write!(formatter, "nothing answers at address 0x{address:02X}"),
            Self::Negative { service, code } => write!(
                formatter,
                "asked for {}, the controller refused: {} (code 0x{code:02X})",
                asked(*service),
                meaning(*code)
            ),
            Self::Strange { answer } => write!(formatter, "the answer makes no sense: {answer:02X?}"),
            Self::Before { what, .. } => formatter.write_str(what),
        }
    }
}

impl std::error::Error for Refusal {}

impl From<io::Error> for Refusal {
    fn from(error: io::Error) -> Self {
        Self::Bus(error)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use trunnion_service::Negative;

    #[test]
    fn every_code_of_our_server_is_explained() {
        for code in [
            Negative::ServiceNotSupported,
            Negative::SubFunctionNotSupported,
            Negative::IncorrectLength,
            Negative::ResponseTooLong,
            Negative::ConditionsNotCorrect,
            Negative::SequenceError,
            Negative::OutOfRange,
            Negative::AccessDenied,
            Negative::InvalidKey,
            Negative::TooManyAttempts,
            Negative::DelayNotOver,
            Negative::ProgrammingFailure,
            Negative::SubFunctionNotInSession,
            Negative::ServiceNotInSession,
        ] {
            let refusal = Refusal::Negative { service: 0x2E, code: code as u8 };
            assert!(!refusal.to_string().contains("no reason"), "{code:?}");
            assert!(!refusal.help().is_empty());
        }
    }
}
