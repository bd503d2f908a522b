//! From a position to an intent.
