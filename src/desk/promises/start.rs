//! Start and mark with 20,000 entries in Chromium, slowed 4 times: the end-to-end program measures it in the built app.

use super::super::package::Package;
use super::super::{Trouble, verify};

/// Builds the app and measures. Gives whether it could.
pub(super) fn measure() -> Result<bool, Trouble> {
    let package = Package::find()?;
    println!("start and mark: 20,000 entries in Chromium (goals, slowed 4 times: 3 x an empty page; p95 150 ms)");
    verify::figures(&package, "figures_with_20_000_entries")
}
