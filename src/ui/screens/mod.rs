//! Screens: each wires `view` data to parts.

mod before;
mod computed;
mod curve;
mod findings;
mod first;
mod handover;
mod ramp;
mod register;
mod round;
mod run;

pub(super) use before::Before;
pub(super) use computed::Computed;
pub(super) use curve::Curve;
pub(super) use findings::Findings;
pub(super) use handover::Handover;
pub(super) use ramp::{Ramp, RampBefore};
pub(super) use register::{FormScreen, Register};
pub(super) use round::Round;
pub(super) use run::{NoRun, Run};
