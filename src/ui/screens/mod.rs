//! Screens: each wires `view` data to parts.

mod before;
mod first;
mod round;
mod run;

pub(super) use before::Before;
pub(super) use round::Round;
pub(super) use run::{NoRun, Run};
