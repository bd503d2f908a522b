//! campaign
