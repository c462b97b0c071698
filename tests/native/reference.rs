//! Checks against published figures and general-purpose reference libraries; every expected number has its source.

mod encoding;
