//! The heat curve and the live estimate.

mod coverage;
mod simulator;
