//! Under construction.
#![no_std]
