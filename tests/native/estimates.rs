//! Profile and live estimate of a test, as tests ask for them one at a time.

use soakbook::book::entries::Book;
use soakbook::book::test::Test;
use soakbook::book::timeline::Timeline;
use soakbook::findings::{Estimates, LiveEstimator, NoEstimate};
use soakbook::thermal::{Estimate, HeaterProfile};
use soakbook::units::TestTime;
use std::sync::Arc;

/// The heater profile frozen into a test.
pub(crate) fn profile_of_test(book: &Book, test: &Test) -> Result<Arc<HeaterProfile>, NoEstimate> {
    let heater = &test.frozen.heater;
    Estimates::default().profile_of(book, &heater.profile, heater.setting)
}

/// The display's temperature at `at`, ms since heat on, by everything seen until then.
pub(crate) fn estimate(
    test: &Test,
    timeline: &Timeline,
    profile: &HeaterProfile,
    at: TestTime,
) -> Result<Estimate, NoEstimate> {
    LiveEstimator::of(test, timeline, profile)?.at(at)
}
