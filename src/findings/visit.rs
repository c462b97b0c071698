//! The tests of one visit, flagged ones first.

use super::families::{Family, families};
use super::live::{NoEstimate, profile_of_test};
use super::test::{Flag, TestFindings, findings};
use crate::book::Id;
use crate::book::log::Book;
use crate::book::visit::Visit;
use crate::order;
use crate::thermal::HeaterProfile;

/// What a visit says.
#[derive(Clone, Debug, PartialEq)]
pub struct VisitFindings {
    /// The visit.
    pub visit: Id,
    /// Version of the method that made this.
    pub method: u32,
    /// Its tests: flagged ones first, the gravest on top, then by start.
    pub tests: Vec<TestFindings>,
    /// Tests side by side.
    pub families: Vec<Family>,
}

impl VisitFindings {
    /// Its tests in the order of their starts.
    pub fn by_start(&self) -> Vec<&TestFindings> {
        order::by(self.tests.iter().collect(), |found| (found.started_wall, 0, found.test.to_string()))
    }
}

/// Test time that a test which has not ended is looked at: everything marked so far. The screen of a test asks for now.
fn last_mark(test: &crate::book::test::Test) -> i64 {
    test.marks.last().map_or(0, |mark| mark.at)
}

/// What a visit says. A test that has not ended is looked at as of its last mark, so that the answer does not depend on when
/// it is asked.
pub fn visit(book: &Book, visit: &Visit) -> VisitFindings {
    let mut working = Working::default();
    while working.next_test(book, visit) {}
    working.whole(visit)
}

/// A visit worked out test by test, so that somebody who waits for something else can have a turn between.
#[derive(Clone, Debug, Default)]
pub struct Working {
    tests: Vec<TestFindings>,
    /// The profiles so far, each with the place of a test that has it: tests of one heater mostly share one, and fitting it takes longer
    /// than all else.
    profiles: Vec<(usize, Result<HeaterProfile, NoEstimate>)>,
}

impl Working {
    /// Works out the next test by its start; false where none is left.
    pub fn next_test(&mut self, book: &Book, visit: &Visit) -> bool {
        let here = self.tests.len();
        if here == 0 {
            self.tests.reserve_exact(visit.tests.len());
        }
        let Some(test) = visit.tests.get(here) else { return false };
        let at = test.ended.map_or_else(|| last_mark(test), |(_, end)| end);
        let heater = &test.frozen.heater;
        let same = |place: usize| {
            let of = visit.tests.get(place).map(|test| &test.frozen.heater);
            of.is_some_and(|of| of.setting == heater.setting && of.profile == heater.profile)
        };
        let known = self.profiles.iter().position(|(place, _)| same(*place));
        let known = known.unwrap_or_else(|| {
            self.profiles.push((here, profile_of_test(book, test)));
            self.profiles.len() - 1
        });
        self.tests.push(findings(test, at, self.profiles[known].1.as_ref().map_err(|why| *why)));
        true
    }

    /// Puts the tests side by side, once all are there.
    pub fn whole(self, visit: &Visit) -> VisitFindings {
        whole(visit, self.tests)
    }
}

fn whole(visit: &Visit, mut tests: Vec<TestFindings>) -> VisitFindings {
    let again = order::set(visit.retests.iter().filter(|retest| !retest.taken).filter_map(|retest| retest.test));
    let families = families(&visit.tests, &tests);
    let flagged = order::set(families.iter().flat_map(Family::flagged).map(|member| member.test));
    for found in &mut tests {
        if flagged.contains(&found.test) && found.flag.is_none_or(|flag| flag > Flag::Outlier) {
            found.flag = Some(Flag::Outlier);
        } else if found.flag.is_none_or(|flag| flag > Flag::Retest) && again.contains(&found.test) {
            found.flag = Some(Flag::Retest);
        }
    }
    let grave = |flag: Option<Flag>| flag.map_or(i64::MAX, |flag| flag as i64);
    // They come by start, and those that are as grave stay so.
    let tests = order::by_number(tests, |found| grave(found.flag));
    VisitFindings { visit: visit.id, method: super::METHOD, tests, families }
}
