//! Bytes in and out: the bundle that leaves the phone, and a bundle read back.
//!
//! Pure: texts are made and read here and sent elsewhere. Reads `book` and `findings`; knows no clock: when and by whom a bundle is
//! made is an argument. Reading order: `bundle` (out), `findings_json` and `family_json` (findings for readers without the app), `incoming` (in),
//! `differences` (of findings), `results` (one flat table), `chains` and `spans` (what is missing or altered), `fault` (why not), `delivery` (on the way to the office), `sealed` (under a
//! passphrase).

mod bundle;
mod chains;
pub mod delivery;
mod differences;
mod family_json;
mod fault;
mod fault_kind;
mod findings_json;
mod incoming;
mod results;
mod rounded;
pub mod sealed;
mod spans;

pub use bundle::{
    Bundle, BundlePictures, ChainHead, Cover, FORMAT, FORMAT_NAME, MAX_BYTES, MEDIA, Made, NothingToHandOver, Select,
    bundle_of, bundle_with, file_name, file_size, heads_of, last_recorded, pictures_of, results_name, slug,
};
pub use differences::Differs;
pub use fault::{BundleFault, Position};
pub use fault_kind::{FaultKind, Place};
pub use findings_json::FindingsJson;
pub use incoming::{
    Audit, FindingsCheck, Incoming, News, NotRead, Progress, audit_bundle, read_bundle, read_in_pieces,
};
pub use results::{
    InUnit, Offsets, RESULTS, ResultsSheet, VisitResults, difference, guarded, line, results_sheet, temperature,
};
pub use rounded::DIGITS;
pub use spans::Spans;
