//! Screens: each wires `view` data to parts.

mod alarm;
mod before;
mod beside;
mod old_records;
mod profile_run;
mod register;
mod test;

pub(super) use alarm::AlarmNotOurs;
pub(super) use before::Before;
pub(super) use beside::{Profile, Register, Results};
pub(super) use old_records::OldRecords;
pub(super) use profile_run::{ProfileRun, ProfileRunBefore};
pub(super) use register::{FormScreen, load_demo};
pub(super) use test::{NoTest, Test};
