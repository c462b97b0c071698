//! The book: rules, cycle, clocks, merge, format.

mod clocks;
mod cycle;
mod entries;
mod format;
mod golden;
mod profile_run;
mod properties;
mod register;
mod resync;
mod revisions;
mod schema;
mod start;
mod take_over;
mod unreleased;
mod visit;
