//! The book: rules, cycle, clocks, merge, format.

mod clocks;
mod cycle;
mod entries;
mod golden;
mod kit;
mod properties;
mod ramp;
mod register;
mod resync;
mod round;
mod schema;
mod start;
mod take_over;
