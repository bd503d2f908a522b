//! Who moves how.
