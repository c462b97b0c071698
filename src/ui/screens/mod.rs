//! Screens: each wires `view` data to parts.

mod alarm;
mod before;
mod computed;
mod findings;
mod first;
mod handover;
mod old_records;
mod people;
mod profile;
mod profile_run;
mod register;
mod settings;
mod test;
mod visit;

pub(super) use alarm::AlarmNotOurs;
pub(super) use before::Before;
pub(super) use computed::Computed;
pub(super) use findings::Findings;
pub(super) use handover::Handover;
pub(super) use old_records::OldRecords;
pub(super) use people::People;
pub(super) use profile::Profile;
pub(super) use profile_run::{ProfileRun, ProfileRunBefore};
pub(super) use register::{FormScreen, Register};
pub(super) use settings::Settings;
pub(super) use test::{NoTest, Test};
pub(super) use visit::Visit;
