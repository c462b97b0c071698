//! Findings of 1,000 runs in Chromium, slowed 4 times: the end-to-end program measures it in the built app.

use super::super::package::Package;
use super::super::{Trouble, verify};

/// Builds the app and measures. Gives whether it could.
pub(super) fn measure() -> Result<bool, Trouble> {
    let package = Package::find()?;
    println!("findings: 1,000 runs in Chromium, slowed 4 times (goal 200 ms, no frame over 50 ms)");
    verify::figures(&package, "figures_of_findings")
}
