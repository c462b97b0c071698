//! Where one position stands under its two rules.

use super::clock::after;
use super::rules::{Rules, period};
use super::{Asked, Fact, FactWhat, PositionDue, State, Subject, Terms, Why};
use crate::book::Id;
use crate::book::body::{RuleCheck, RuleSet};
use crate::findings::outcome::Outcome;
use crate::order;
use crate::trade::conditions::Visual;
use chrono::NaiveDate;

/// Fewest detectors of a laboratory sample. Own figure: one detector says nothing of the others.
const LEAST_SAMPLE: usize = 2;

/// What positions are held against.
pub(super) struct Now<'a> {
    pub(super) terms: Terms<'a>,
    pub(super) next_visit: NaiveDate,
    /// When a laboratory passed a sample.
    pub(super) sampled: Option<NaiveDate>,
}

/// What the facts say a clock starts from, or why none does.
type Start = Result<(NaiveDate, Why), Why>;

impl Now<'_> {
    pub(super) fn position(&self, subject: &Subject, rules: &Rules) -> PositionDue {
        let (functional, visual) = (rules.functional(subject), rules.visual(subject));
        let here = |pass: &Fact| self.terms.open.is_some_and(|(visit, _)| visit == pass.visit);
        PositionDue {
            position: subject.position,
            functional: self.functional(subject, functional, &rules.all[functional]),
            visual: self.visual(subject, visual, &rules.all[visual]),
            passed_here: last_passed(&subject.facts).is_ok_and(here),
        }
    }

    fn functional(&self, subject: &Subject, rule: usize, of: &RuleSet) -> Asked {
        let start = standing(subject).and_then(|()| match of.check {
            RuleCheck::ReplaceOrSample => self.aged(subject, of),
            RuleCheck::Functional | RuleCheck::Visual => self.passed(subject, of),
        });
        let last = passed(&subject.facts).filter_map(|pass| pass.day).max();
        self.asked(rule, start, last)
    }

    /// When its period ends, from its last passed test; where the rule has one, from its installation.
    fn passed(&self, subject: &Subject, rule: &RuleSet) -> Start {
        match last_passed(&subject.facts) {
            Ok(pass) => {
                let day = self.not_ahead(pass.day)?;
                Ok((after(day, period(rule)).ok_or(Why::Ahead)?, Why::Last(day)))
            }
            Err(Why::NeverPassed) => {
                let first = rule.first_after_months.zip(subject.installed).ok_or(Why::NeverPassed)?;
                let installed = self.not_ahead(Some(first.1))?;
                Ok((after(installed, first.0).ok_or(Why::Ahead)?, Why::Installed(installed)))
            }
            Err(why) => Err(why),
        }
    }

    /// When it has to be replaced or sampled, from its installation.
    fn aged(&self, subject: &Subject, rule: &RuleSet) -> Start {
        let installed = self.not_ahead(Some(subject.installed.ok_or(Why::InstallUnknown)?))?;
        // It is hardly ever tested, so that a look alone has to be able to clear what a look found.
        if let Some(found) = last_look(&subject.facts).and_then(|(_, found)| found).filter(|found| found.refuses_heat())
        {
            return Err(Why::Found(found));
        }
        if let Err(why @ (Why::NotPassed(_) | Why::Repaired)) = last_passed(&subject.facts) {
            return Err(why);
        }
        let first = after(installed, rule.first_after_months.unwrap_or(rule.every_months)).ok_or(Why::Ahead)?;
        // A sample stands for those whose time was up when it was taken.
        match self.sampled.filter(|sampled| *sampled >= first) {
            Some(sampled) => Ok((after(sampled, rule.every_months).ok_or(Why::Ahead)?, Why::Sampled(sampled))),
            None => Ok((first, Why::Installed(installed))),
        }
    }

    fn visual(&self, subject: &Subject, rule: usize, of: &RuleSet) -> Asked {
        let start = standing(subject).and_then(|()| match last_look(&subject.facts) {
            None => Err(Why::NeverLooked),
            Some((_, Some(found))) => Err(Why::Found(found)),
            Some((fact, None)) => {
                let day = self.not_ahead(fact.day)?;
                Ok((after(day, period(of)).ok_or(Why::Ahead)?, Why::Last(day)))
            }
        });
        let clean = subject.facts.iter().filter(|fact| fact.what == FactWhat::Looked(None));
        let last = clean.filter_map(|fact| fact.day).max();
        self.asked(rule, start, last)
    }

    /// A day that can start a clock. Tomorrow counts as today: it is tomorrow already further east.
    fn not_ahead(&self, day: Option<NaiveDate>) -> Result<NaiveDate, Why> {
        let today = self.terms.today;
        let tomorrow = today.succ_opt().unwrap_or(today);
        day.filter(|day| *day <= tomorrow).map(|day| day.min(today)).ok_or(Why::Ahead)
    }

    fn asked(&self, rule: usize, start: Start, last: Option<NaiveDate>) -> Asked {
        let today = self.terms.today;
        let (state, why) = match start {
            Err(why) => (State::Now, why),
            Ok((ends, why)) if ends < today => (State::Overdue(ends), why),
            Ok((ends, why)) if ends == today => (State::Now, why),
            Ok((ends, why)) if ends < self.next_visit => (State::ByNextVisit(ends), why),
            Ok((ends, why)) => (State::NotUntil(ends), why),
        };
        Asked { rule, state, why, last }
    }
}

/// Whether a position can be anything but due.
fn standing(subject: &Subject) -> Result<(), Why> {
    match subject {
        Subject { has_detector: false, .. } => Err(Why::NoDetector),
        Subject { provisional: true, .. } => Err(Why::Provisional),
        _ => Ok(()),
    }
}

/// The last look and what it found; of looks at one time the one that found something.
fn last_look(facts: &[Fact]) -> Option<(&Fact, Option<Visual>)> {
    let looks = facts.iter().filter_map(|fact| match fact.what {
        FactWhat::Looked(found) => Some((fact, found)),
        FactWhat::Functional { .. } | FactWhat::Repaired => None,
    });
    looks.max_by_key(|(fact, found)| (fact.at, found.map_or("", Visual::words)))
}

/// Passed tests of the detector that hangs there; a laboratory's are of a sample.
fn passed(facts: &[Fact]) -> impl Iterator<Item = &Fact> {
    let good =
        |fact: &&Fact| matches!(fact.what, FactWhat::Functional { outcome: Outcome::Passed, laboratory: false, .. });
    facts.iter().filter(good)
}

/// The last passed test that nothing speaks against.
pub(super) fn last_passed(facts: &[Fact]) -> Result<&Fact, Why> {
    let follows = |pass: &Fact| matches!(pass.what, FactWhat::Functional { follows: true, .. });
    let last = passed(facts).max_by_key(|pass| (pass.at, !follows(pass), pass.visit, pass.phone));
    // Clocks of phones differ: what another phone saw in the same visit speaks against a test, unless that one came knowingly after it.
    let side_by_side =
        |fact: &Fact, pass: &Fact| fact.visit == pass.visit && fact.phone != pass.phone && !follows(pass);
    let counts = |fact: &&Fact| last.is_none_or(|pass| fact.at >= pass.at || side_by_side(fact, pass));
    let against = facts.iter().filter(counts).filter_map(|fact| Some((fact, against(fact)?)));
    match against.max_by_key(|(fact, why)| (fact.at, rank(*why))) {
        Some((_, why)) => Err(why),
        None => last.ok_or(Why::NeverPassed),
    }
}

/// Of what speaks against a detector at one time always the same is said.
fn rank(why: Why) -> &'static str {
    match why {
        Why::NotPassed(outcome) => outcome.name(),
        Why::Found(found) => found.words(),
        _ => "",
    }
}

/// What a fact says against the detector.
fn against(fact: &Fact) -> Option<Why> {
    match fact.what {
        FactWhat::Functional { laboratory: true, .. } => None,
        FactWhat::Functional { outcome, .. } => match outcome {
            // Tripped, and the rest not checked: it is not done, and nothing is against it.
            Outcome::Passed | Outcome::NotVerified { .. } | Outcome::Mistake => None,
            _ => Some(Why::NotPassed(outcome)),
        },
        FactWhat::Looked(Some(found)) if found.refuses_heat() => Some(Why::Found(found)),
        FactWhat::Looked(_) => None,
        FactWhat::Repaired => Some(Why::Repaired),
    }
}

/// When a laboratory last passed a sample that is large enough: in one visit, with not one that failed.
pub(super) fn sampled(subjects: &[Subject], rules: &Rules, terms: Terms<'_>) -> Option<NaiveDate> {
    let ruled = |subject: &&Subject| rules.all[rules.functional(subject)].check == RuleCheck::ReplaceOrSample;
    let group: Vec<&Subject> = subjects.iter().filter(ruled).collect();
    let per_100 = group.iter().filter_map(|of| rules.all[rules.functional(of)].sample_per_100).max()?;
    let wanted = (group.len() * per_100 as usize).div_ceil(100).max(LEAST_SAMPLE);
    let tested = |fact: &&Fact| matches!(fact.what, FactWhat::Functional { laboratory: true, .. });
    let all: Vec<&Fact> = group.iter().flat_map(|subject| subject.facts.iter().filter(tested)).collect();
    let visits: Vec<Id> = order::set(all.iter().map(|fact| fact.visit)).into_iter().collect();
    let of_visit = |visit: Id| {
        let here = || all.iter().filter(|fact| fact.visit == visit);
        let passed = |fact: &Fact| matches!(fact.what, FactWhat::Functional { outcome: Outcome::Passed, .. });
        let good = |fact: &Fact| passed(fact) && fact.day.is_some_and(|day| day <= terms.today);
        let whole = here().count() >= wanted && here().all(|fact| good(fact));
        here().filter_map(|fact| fact.day).min().filter(|_| whole)
    };
    visits.into_iter().filter_map(of_visit).max()
}
