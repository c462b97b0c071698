//! Native tests.
#![allow(clippy::unwrap_used, reason = "helpers of tests fail where they stand")]

mod architecture;
mod area;
mod at_trip;
mod attack;
mod book;
mod bundle;
mod columns;
mod computed;
mod conflicts;
mod cut_off;
mod demo;
mod desk;
mod estimates;
mod evaluate;
mod findings;
mod forms;
mod healthy;
mod kit;
mod pages;
mod profile_runs;
mod questions;
mod reference;
mod sample;
mod scores;
mod session;
mod storage;
mod thermal;
mod tolerances;
mod trips;
mod view_area;
mod view_findings;
mod view_test;
mod visit_rules;
