//! Screens: each wires `view` data to parts.

mod before;
mod computed;
mod findings;
mod first;
mod handover;
mod profile;
mod profile_run;
mod register;
mod test;
mod visit;

pub(super) use before::Before;
pub(super) use computed::Computed;
pub(super) use findings::Findings;
pub(super) use handover::Handover;
pub(super) use profile::Profile;
pub(super) use profile_run::{ProfileRun, ProfileRunBefore};
pub(super) use register::{FormScreen, Register};
pub(super) use test::{NoTest, Test};
pub(super) use visit::Visit;
