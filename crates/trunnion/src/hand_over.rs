//! From interrupts to the loop.
