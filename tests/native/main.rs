//! Native tests.
#![allow(clippy::unwrap_used, reason = "helpers of tests fail where they stand")]

mod architecture;
mod book;
mod bundle;
mod conflicts;
mod demo;
mod desk;
mod evaluate;
mod findings;
mod forms;
mod reference;
mod sample;
mod tolerances;
mod view_findings;
