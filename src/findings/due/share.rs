//! The share of a circuit that is tested in a visit, where a rule asks for a share.

use super::clock::{after, interval, months_between};
use super::rules::{Rules, share};
use super::state::Now;
use super::{Fact, FactWhat, PositionDue, State, Subject, Terms, Why};
use crate::book::Id;
use crate::findings::outcome::Outcome;
use crate::order;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// What a rule asks of a circuit in this visit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Share {
    /// The circuit.
    pub circuit: Id,
    /// The rule, by its place.
    pub rule: usize,
    /// Positions under the rule on it.
    pub of: usize,
    /// How many of them are to be tested in this visit.
    pub wanted: usize,
    /// How many of them passed in it already.
    pub done: usize,
    /// How many were taken again though they were tested last time.
    pub repeats: usize,
}

/// How many of a circuit's positions are tested in one visit so that each has its turn before its period ends: of those whose period ends
/// within so many months, ⌈their number ÷ years left⌉, and never fewer than the rule's least. `unit` is a year, or the visit interval
/// where that is longer.
pub fn least(ends: &[NaiveDate], today: NaiveDate, unit: u32, least: u32) -> usize {
    let months = ends.iter().map(|ends| months_between(today, *ends)).collect();
    let mut most = least as usize;
    for (index, months) in order::by_number(months, |months: &u32| i64::from(*months)).into_iter().enumerate() {
        let count = index + 1;
        most = most.max(if months == 0 {
            count
        } else {
            (count * unit as usize).div_ceil(months as usize).min(ends.len())
        });
    }
    most.min(ends.len())
}

/// Works out every circuit's share and marks the positions that are taken for it.
pub(super) fn shares(subjects: &[Subject], positions: &mut [PositionDue], rules: &Rules, now: &Now<'_>) -> Vec<Share> {
    let mut circuits: BTreeMap<(Id, usize), Vec<usize>> = BTreeMap::new();
    // By every rule that asks for one, also where another rule asks for a position first.
    for (index, subject) in subjects.iter().enumerate() {
        let Some(circuit) = subject.circuit else { continue };
        for rule in rules.functional(subject).into_iter().filter(|rule| share(&rules.all[*rule]).is_some()) {
            circuits.entry((circuit, rule)).or_default().push(index);
        }
    }
    let mut shares = Vec::with_capacity(circuits.len());
    for ((circuit, rule), members) in circuits {
        let Some((fewest, _)) = share(&rules.all[rule]) else { continue };
        let every = rules.all[rule].every_months;
        let group = Group { subjects, now, rules, rule, members: &members, every };
        shares.push(Share { circuit, ..group.take(positions, fewest) });
    }
    shares
}

/// The positions of one circuit under one rule, by their places.
struct Group<'a> {
    subjects: &'a [Subject],
    now: &'a Now<'a>,
    rules: &'a Rules,
    rule: usize,
    members: &'a [usize],
    /// Months in which the rule asks for its least.
    every: u32,
}

impl Group<'_> {
    fn take(&self, positions: &mut [PositionDue], fewest: u32) -> Share {
        let terms = self.now.terms;
        let ends: Vec<NaiveDate> = self.members.iter().map(|index| self.ended_before(*index, positions)).collect();
        let unit = interval(terms).max(self.every);
        let fewest = fewest.saturating_sub(self.still_count(positions));
        let wanted = least(&ends, terms.today, unit, fewest);
        let done = self.members.iter().filter(|index| positions[**index].passed_here).count();
        let due = |index: &&usize| positions[**index].functional.state.is_due() && !positions[**index].passed_here;
        let due = self.members.iter().filter(due).count();
        let mut open = wanted.saturating_sub(done + due);
        let last_time = self.last_time();
        let by = last_time.and_then(|(_, day)| after(day?, self.every));
        let state = match by {
            Some(by) if by > terms.today => State::ByNextVisit(by),
            _ => State::Now,
        };
        let mut repeats = 0;
        for again in [false, true] {
            for index in self.oldest_first(positions) {
                let was = last_time.is_some_and(|(visit, _)| self.tested_in(index, visit));
                if open == 0 || was != again {
                    continue;
                }
                let asked = &mut positions[index].functional;
                let why = if again { Why::Repeat } else { Why::Share };
                (asked.rule, asked.state, asked.why) = (self.rule, state, why);
                open -= 1;
                repeats += usize::from(again);
            }
        }
        Share { circuit: Id::nil(), rule: self.rule, of: self.members.len(), wanted, done, repeats }
    }

    /// How many tests of earlier visits still count for the rule's least when the next visit comes.
    fn still_count(&self, positions: &[PositionDue]) -> u32 {
        let (next, every) = (self.now.next_visit, self.every);
        let recent = |index: &&usize| {
            let due = &positions[**index];
            let counts = |last: NaiveDate| after(last, every).is_some_and(|until| until >= next);
            !due.passed_here && !due.functional.state.is_due() && due.functional.last.is_some_and(counts)
        };
        u32::try_from(self.members.iter().filter(recent).count()).unwrap_or_default()
    }

    /// When a member's period under this rule ends by what was known before the open visit: its share is reckoned once, and not again after
    /// each test.
    fn ended_before(&self, index: usize, positions: &[PositionDue]) -> NaiveDate {
        let subject = &self.subjects[index];
        let asked = match (self.now.terms.open, positions[index].passed_here) {
            (Some((visit, _)), true) => {
                let mut before = subject.clone();
                before.facts.retain(|fact| fact.visit != visit);
                self.now.functional(&before, self.rule, self.rules)
            }
            _ => self.now.functional(subject, self.rule, self.rules),
        };
        match asked.state {
            State::Overdue(ends) | State::ByNextVisit(ends) | State::NotUntil(ends) => ends,
            State::Now => self.now.terms.today,
        }
    }

    /// Members that are neither due nor done here, those tested longest ago first, then in their order.
    fn oldest_first(&self, positions: &[PositionDue]) -> Vec<usize> {
        let free = |index: &&usize| !positions[**index].functional.state.is_due() && !positions[**index].passed_here;
        let free: Vec<usize> = self.members.iter().filter(free).copied().collect();
        let day =
            |index: &usize| positions[*index].functional.last.map_or(i64::MIN, |day| day.num_days_from_ce().into());
        order::by_number(free, day)
    }

    /// The last visit before the open one in which any of them was tested, and when.
    fn last_time(&self) -> Option<(Id, Option<NaiveDate>)> {
        let all = self.members.iter().flat_map(|index| &self.subjects[*index].facts);
        let tests = all.filter(|fact| is_test(fact) && !here(self.now.terms, fact));
        tests.max_by_key(|fact| (fact.at, fact.visit)).map(|fact| (fact.visit, fact.day))
    }

    fn tested_in(&self, index: usize, visit: Id) -> bool {
        self.subjects[index].facts.iter().any(|fact| fact.visit == visit && is_test(fact))
    }
}

fn here(terms: Terms<'_>, fact: &Fact) -> bool {
    terms.open.is_some_and(|(visit, _)| visit == fact.visit)
}

fn is_test(fact: &Fact) -> bool {
    matches!(fact.what, FactWhat::Functional { outcome, .. } if outcome != Outcome::Mistake)
}
