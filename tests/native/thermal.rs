//! The heater profile and the live estimate.

mod cavity;
mod coverage;
mod hostile;
mod live;
pub(crate) mod profile;
mod scoring;
mod simulator;
mod strata;
mod trip_coverage;
