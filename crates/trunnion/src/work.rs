//! From an intent to a spool command.
