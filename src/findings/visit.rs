//! The tests of one visit, flagged ones first.

use super::families::families;
use super::family::Family;
use super::scores::Estimates;
use super::test::{Flag, TestFindings, findings};
use crate::book::Id;
use crate::book::entries::Book;
use crate::book::visit::Visit;
use crate::order;
use crate::units::TestTime;

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
        order::by(self.tests.iter().collect(), |found| (found.started_wall.0, 0, found.test.to_string()))
    }
}

/// Test time that a test which has not ended is looked at: everything marked so far. The screen of a test asks for now.
fn last_mark(test: &crate::book::test::Test) -> TestTime {
    test.marks.last().map_or(TestTime::HEAT_ON, |mark| mark.at)
}

/// What a visit says. A test that has not ended is looked at as of its last mark, so that the answer does not depend on when
/// it is asked.
pub fn visit(book: &Book, visit: &Visit) -> VisitFindings {
    let mut working = Working::default();
    let mut estimates = Estimates::default();
    while working.next_test(book, visit, &mut estimates) {}
    working.whole(visit)
}

/// A visit worked out test by test, so that other work can run in between.
#[derive(Clone, Debug, Default)]
pub struct Working {
    tests: Vec<TestFindings>,
}

impl Working {
    /// Works out the next test by its start; false where none is left.
    pub fn next_test(&mut self, book: &Book, visit: &Visit, estimates: &mut Estimates) -> bool {
        let here = self.tests.len();
        if here == 0 {
            self.tests.reserve_exact(visit.tests.len());
        }
        let Some(test) = visit.tests.get(here) else { return false };
        let at = test.ended.map_or_else(|| last_mark(test), |(_, end)| end);
        self.tests.push(findings(book, test, at, estimates));
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
