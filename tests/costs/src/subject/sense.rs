//! Blocks of the room `sense`.

pub mod debounce;
