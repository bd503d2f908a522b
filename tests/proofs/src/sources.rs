//! sources
