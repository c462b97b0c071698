//! The book: rules, cycle, clocks, merge, format.

mod clocks;
mod cycle;
mod entries;
mod golden;
mod kit;
mod profile_run;
mod properties;
mod register;
mod resync;
mod schema;
mod start;
mod take_over;
mod visit;
