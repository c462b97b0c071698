//! Temperatures, differences and times.
