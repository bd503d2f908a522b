//! Conditions in, an active set, a log and a lamp out.
