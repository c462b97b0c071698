//! Which position was tested in which year.

use super::{Due, day_of};
use crate::book::Id;
use crate::book::body::Method;
use crate::findings::history::{Done, DoneWhat};
use crate::findings::outcome::Outcome;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// Most years side by side.
const YEARS: i32 = 10;

/// What was done at a position in a year, the best of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// Nothing.
    Nothing,
    /// A visual check.
    Looked,
    /// A functional test that did not pass.
    Tested,
    /// A functional test that passed.
    Passed,
}

/// Positions by years.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Coverage {
    /// The years, this one last.
    pub years: Vec<i32>,
    /// Every position and its years.
    pub rows: Vec<(Id, Vec<Mark>)>,
    /// Positions whose period has ended, also where something else makes them due.
    pub outside: usize,
    /// Positions without a date that a period could start from.
    pub no_date: usize,
}

/// The years of these positions.
pub fn coverage(due: &Due, history: &BTreeMap<Id, Vec<Done>>, today: NaiveDate, offset_min: i64) -> Coverage {
    let year = |done: &Done| day_of(done.at, offset_min).map(|day| day.year());
    let this = today.year();
    let first = history.values().flatten().filter_map(year).min().unwrap_or(this).clamp(this - YEARS + 1, this);
    let years: Vec<i32> = (first..=this).collect();
    let row = |position: Id| {
        let mut marks = vec![Mark::Nothing; years.len()];
        for done in history.get(&position).into_iter().flatten() {
            let place = year(done).and_then(|year| usize::try_from(year - first).ok());
            if let Some(mark) = place.and_then(|place| marks.get_mut(place)) {
                *mark = (*mark).max(mark_of(done));
            }
        }
        (position, marks)
    };
    Coverage {
        rows: due.positions.iter().map(|of| row(of.position)).collect(),
        years,
        outside: due.positions.iter().filter(|of| of.outside).count(),
        no_date: due.positions.iter().filter(|of| of.functional.why.no_date()).count(),
    }
}

fn mark_of(done: &Done) -> Mark {
    match &done.what {
        _ if done.passed() => Mark::Passed,
        DoneWhat::Test(test) if matches!(test.outcome, Outcome::Mistake | Outcome::InProgress) => Mark::Nothing,
        DoneWhat::Other(..) if done.is_electrical_only() => Mark::Nothing,
        DoneWhat::Other(of, Outcome::NotVerified { .. }) if of.method == Method::Laboratory => Mark::Passed,
        DoneWhat::Test(_) | DoneWhat::Other(..) => Mark::Tested,
        DoneWhat::Visual(_) => Mark::Looked,
        DoneWhat::NotTested(_) | DoneWhat::Repaired(_) => Mark::Nothing,
    }
}
