//! Why a request is not fulfilled.

/// Negative response codes that this server gives (ISO 14229-1, annex A).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
#[repr(u8)]
pub enum Negative {
    /// The service is not known.
    ServiceNotSupported = 0x11,
    /// The service is known, this part of it is not.
    SubFunctionNotSupported = 0x12,
    /// The request is too short, too long, or not as the service wants it.
    IncorrectLength = 0x13,
    /// The answer does not fit one message.
    ResponseTooLong = 0x14,
    /// Not in this standing of the machine.
    ConditionsNotCorrect = 0x22,
    /// Not in this order.
    SequenceError = 0x24,
    /// No such identifier, or the value is out of range.
    OutOfRange = 0x31,
    /// The level is locked.
    AccessDenied = 0x33,
    /// The code is wrong.
    InvalidKey = 0x35,
    /// The code is wrong once too often.
    TooManyAttempts = 0x36,
    /// The lock-out is not over.
    DelayNotOver = 0x37,
    /// The flash did not take it; nothing has changed.
    ProgrammingFailure = 0x72,
    /// It takes longer; the answer follows.
    Pending = 0x78,
    /// The part of the service is known, but not in this session.
    SubFunctionNotInSession = 0x7E,
    /// The service is known, but not in this session.
    ServiceNotInSession = 0x7F,
}

impl Negative {
    /// Not said to a request to all controllers: somebody else may know (ISO 14229-1).
    pub(crate) const fn is_kept_from_all(self) -> bool {
        matches!(
            self,
            Self::ServiceNotSupported
                | Self::SubFunctionNotSupported
                | Self::OutOfRange
                | Self::SubFunctionNotInSession
                | Self::ServiceNotInSession
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use automotive_diag::uds::UdsError;

    #[test]
    fn the_codes_are_those_of_an_independent_table() {
        // automotive_diag (MIT), ISO 14229-1 annex A.
        for (ours, theirs) in [
            (Negative::ServiceNotSupported, UdsError::ServiceNotSupported),
            (Negative::SubFunctionNotSupported, UdsError::SubFunctionNotSupported),
            (Negative::IncorrectLength, UdsError::IncorrectMessageLengthOrInvalidFormat),
            (Negative::ResponseTooLong, UdsError::ResponseTooLong),
            (Negative::ConditionsNotCorrect, UdsError::ConditionsNotCorrect),
            (Negative::SequenceError, UdsError::RequestSequenceError),
            (Negative::OutOfRange, UdsError::RequestOutOfRange),
            (Negative::AccessDenied, UdsError::SecurityAccessDenied),
            (Negative::InvalidKey, UdsError::InvalidKey),
            (Negative::TooManyAttempts, UdsError::ExceedNumberOfAttempts),
            (Negative::DelayNotOver, UdsError::RequiredTimeDelayNotExpired),
            (Negative::ProgrammingFailure, UdsError::GeneralProgrammingFailure),
            (Negative::Pending, UdsError::RequestCorrectlyReceivedResponsePending),
            (Negative::SubFunctionNotInSession, UdsError::SubFunctionNotSupportedInActiveSession),
            (Negative::ServiceNotInSession, UdsError::ServiceNotSupportedInActiveSession),
        ] {
            assert_eq!(ours as u8, u8::from(theirs), "{ours:?}");
        }
    }
}
