//! Who may move, and why not.
