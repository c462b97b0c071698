//! Screens: each wires `view` data to parts.

mod alarm;
mod before;
mod beside;
mod files;
mod folder;
mod old_records;
mod passphrase;
mod play;
mod profile_run;
mod register;
mod still_off;
mod test;

pub(super) use alarm::AlarmNotOurs;
pub(super) use before::Before;
pub(super) use beside::{OneOfRegister, Profile, Register, Results};
pub(super) use files::Files;
pub(super) use folder::Folder;
pub(super) use old_records::OldRecords;
pub(super) use passphrase::Passphrase;
pub(super) use play::Play;
pub(super) use profile_run::{ProfileRun, ProfileRunBefore};
pub(super) use register::{FormScreen, load_demo};
pub(super) use still_off::StillOff;
pub(super) use test::{NoTest, Test};
