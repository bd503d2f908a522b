//! The loader's whole control step as [`loader`](super::loader), with the black box that records it.

use loader::Loader;

use super::loader::{Step, Whole};

/// With the black box.
pub type Block = Step<Loader>;

impl Whole for Loader {
    const NAME: &'static str = "path/loader_boxed";
}
