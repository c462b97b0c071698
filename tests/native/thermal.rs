//! The heat curve and the live estimate.

mod coverage;
mod curve;
mod live;
mod simulator;
