//! Findings of 1,000 tests of one visit in Chromium, slowed 4 times: the end-to-end program measures it in the built app.

use super::super::package::Package;
use super::super::{Trouble, verify};

/// Builds the app and measures. Gives whether it could.
pub(super) fn measure() -> Result<bool, Trouble> {
    let package = Package::find()?;
    println!(
        "findings: 1,000 tests in Chromium (goals, slowed 4 times: there after 200 ms, no frame over 50 ms until then)"
    );
    verify::figures(&package, "figures_of_findings_of_1_000_tests")
}
