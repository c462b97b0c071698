//! stats
