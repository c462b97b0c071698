//! The heater profile and the live estimate.

mod coverage;
mod hostile;
mod live;
pub(crate) mod profile;
mod scoring;
mod simulator;
mod trip_coverage;
