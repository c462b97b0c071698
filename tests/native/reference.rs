//! Checks against published figures and general-purpose reference libraries; every expected number has its source.
//!
//! "mpmath" is mpmath 1.4.1 with 50 digits; "exact" is exact rational arithmetic on the doubles given, rounded once.

mod cases;
mod encoding;
mod pictures;
mod samples;
mod stats;
mod strd;
mod thermal;
mod units;
