//! Native tests.
#![allow(clippy::unwrap_used, reason = "helpers of tests fail where they stand")]

mod architecture;
mod book;
mod bundle;
mod conflicts;
mod demo;
mod desk;
mod findings;
mod forms;
mod ramps;
mod reference;
mod sample;
mod thermal;
mod tolerances;
mod view_findings;
