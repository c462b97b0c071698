//! Screens: each wires `view` data to parts.

mod before;
mod findings;
mod first;
mod handover;
mod register;
mod round;
mod run;

pub(super) use before::Before;
pub(super) use findings::{Finding, Findings};
pub(super) use handover::Handover;
pub(super) use register::{FormScreen, Register};
pub(super) use round::Round;
pub(super) use run::{NoRun, Run};
