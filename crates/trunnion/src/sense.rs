//! From the wire to a quantity and its health.
