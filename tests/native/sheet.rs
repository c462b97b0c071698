//! A customer's spreadsheet: read, matched, shown, taken in as a whole or not at all, and written out again.

pub(crate) mod desk;
mod export;
mod import;
mod page;
mod reading;
mod suites;

use desk::{Desk, NOW, SITE, fates, lines, rows};
