//! Delays and edges.
