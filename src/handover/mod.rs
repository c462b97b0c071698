//! Bytes in and out: the bundle that leaves the phone, and a bundle read back.
//!
//! Pure: texts are made and read here and sent elsewhere. Reads `book` and `findings`; knows no clock: when and by whom a bundle is
//! made is an argument. Reading order: `bundle` (out), `findings_json` (findings for readers without the app), `incoming` (in),
//! `chains` (what is missing or altered), `fault` (why not).

mod base64;
mod bundle;
mod chains;
mod fault;
mod fault_kind;
mod findings_json;
mod incoming;

pub use bundle::{
    Bundle, ChainHead, FORMAT, FORMAT_NAME, MEDIA, Made, NothingToHandOver, Select, bundle_of, file_name,
};
pub use fault::{BundleFault, Position};
pub use fault_kind::{FaultKind, Place};
pub use findings_json::{DIGITS, Differs, rounded, run_finding};
pub use incoming::{Audit, FindingsCheck, Incoming, MAX_BYTES, News, audit_bundle, read_bundle};
