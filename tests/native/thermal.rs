//! The heat curve and the live estimate.

mod coverage;
pub(crate) mod curve;
mod hostile;
mod live;
mod scoring;
mod simulator;
mod trip_coverage;
