//! Where one position stands under every rule that covers it, and which of them asks for it first.

use super::clock::after;
use super::rules::{Rules, period, share};
use super::{Asked, Fact, FactWhat, PositionDue, State, Subject, Terms, Why};
use crate::book::Id;
use crate::book::body::{RuleCheck, RuleSet};
use crate::findings::outcome::Outcome;
use crate::order;
use crate::trade::conditions::Visual;
use crate::units::Wall;
use chrono::{Datelike, NaiveDate};

/// Fewest detectors of a laboratory sample. Own figure: one detector says nothing of the others.
const LEAST_SAMPLE: usize = 2;

/// What positions are held against.
pub(super) struct Now<'a> {
    pub(super) terms: Terms<'a>,
    pub(super) next_visit: NaiveDate,
    /// What samples say, by rule.
    pub(super) sampled: Vec<Sampled>,
}

/// What a laboratory said of samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sampled {
    /// Nothing that counts.
    No,
    /// A whole sample passed on that day, and none failed since.
    Passed(NaiveDate),
    /// One failed on that day, and no whole sample passed since.
    Failed(NaiveDate),
}

/// What the facts say a clock starts from, or why none does.
type Start = Result<(NaiveDate, Why), Why>;

impl Now<'_> {
    pub(super) fn position(&self, subject: &Subject, rules: &Rules) -> PositionDue {
        let here = |pass: &Fact| self.terms.open.is_some_and(|(visit, _)| visit == pass.visit);
        let functional = rules.functional(subject).into_iter().map(|rule| self.functional(subject, rule, rules));
        let visual = rules.visual(subject).into_iter().map(|rule| self.visual(subject, rule, &rules.all[rule]));
        let functional = first(functional.collect(), rules);
        let ended = |rule: usize| self.ended(subject, rule, &rules.all[rule]);
        let outside = matches!(functional.state, State::Overdue(_)) || rules.functional(subject).into_iter().any(ended);
        PositionDue {
            position: subject.position,
            functional,
            outside,
            visual: first(visual.collect(), rules),
            passed_here: last_passed(&subject.facts).is_ok_and(here),
        }
    }

    /// What one functional rule asks of a position.
    pub(super) fn functional(&self, subject: &Subject, rule: usize, rules: &Rules) -> Asked {
        let of = &rules.all[rule];
        let start = standing(subject).and_then(|()| match of.check {
            RuleCheck::ReplaceOrSample => self.aged(subject, rule, of),
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

    /// When it has to be replaced or sampled, where nothing speaks against it.
    fn aged(&self, subject: &Subject, rule: usize, of: &RuleSet) -> Start {
        let by_age = self.by_age(subject, rule, of)?;
        // It is hardly ever tested, so that a look alone has to be able to clear what a look found.
        if let Some(found) = last_look(&subject.facts).and_then(|(_, found)| found).filter(|found| found.refuses_heat())
        {
            return Err(Why::Found(found));
        }
        if let Err(why @ (Why::NotPassed(_) | Why::Repaired)) = last_passed(&subject.facts) {
            return Err(why);
        }
        Ok(by_age)
    }

    /// When it has to be replaced or sampled, from its installation.
    fn by_age(&self, subject: &Subject, rule: usize, of: &RuleSet) -> Start {
        let installed = self.not_ahead(Some(subject.installed.ok_or(Why::InstallUnknown)?))?;
        let first = after(installed, of.first_after_months.unwrap_or(of.every_months)).ok_or(Why::Ahead)?;
        match self.sampled.get(rule) {
            // A sample stands for those whose time was up when it was taken.
            Some(Sampled::Passed(on)) if *on >= first => {
                Ok((after(*on, of.every_months).ok_or(Why::Ahead)?, Why::Sampled(*on)))
            }
            // One that failed speaks against all that hung then, whatever their age.
            Some(Sampled::Failed(on)) if *on >= installed => Ok((first.min(self.terms.today), Why::SampleFailed)),
            _ => Ok((first, Why::Installed(installed))),
        }
    }

    /// Whether its period under a functional rule has ended by the calendar alone.
    fn ended(&self, subject: &Subject, rule: usize, of: &RuleSet) -> bool {
        let ends = match of.check {
            RuleCheck::ReplaceOrSample => self.by_age(subject, rule, of).ok().map(|(ends, _)| ends),
            RuleCheck::Functional | RuleCheck::Visual => {
                let last = passed(&subject.facts).filter_map(|pass| pass.day).max();
                last.and_then(|last| after(last, period(of)))
            }
        };
        ends.is_some_and(|ends| ends < self.terms.today)
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

/// What is asked for first: what is overdue by its day, then what is due now, then by the end of the period. Of equals the rule with the
/// shorter period, then the one without a share, then the first one.
fn first(asked: Vec<Asked>, rules: &Rules) -> Asked {
    let key = |asked: &Asked| {
        let (rank, ends) = match asked.state {
            State::Overdue(ends) => (0, ends.num_days_from_ce()),
            State::Now => (1, 0),
            State::ByNextVisit(ends) | State::NotUntil(ends) => (2, ends.num_days_from_ce()),
        };
        let rule = &rules.all[asked.rule];
        (rank, ends, period(rule), share(rule).is_some(), asked.rule)
    };
    let nothing = Asked { rule: rules.every_year, state: State::Now, why: Why::NeverPassed, last: None };
    asked.into_iter().min_by_key(key).unwrap_or(nothing)
}

/// Whether a position can be anything but due.
fn standing(subject: &Subject) -> Result<(), Why> {
    match subject {
        Subject { has_detector: false, .. } => Err(Why::NoDetector),
        Subject { provisional: true, .. } => Err(Why::Provisional),
        _ => Ok(()),
    }
}

/// Whether two facts are of one chain, whose order is known whatever the clock was set to.
fn same_chain(one: &Fact, other: &Fact) -> bool {
    (one.visit, one.phone) == (other.visit, other.phone)
}

/// When a fact that speaks against a detector happened at the latest: not before anything that its chain says happened before it.
fn latest(facts: &[Fact], of: &Fact) -> Wall {
    let before = facts.iter().filter(|fact| same_chain(fact, of) && fact.seq <= of.seq);
    before.map(|fact| fact.at).max().unwrap_or(of.at)
}

/// The last look and what it found; of looks at one time the one that found something.
fn last_look(facts: &[Fact]) -> Option<(&Fact, Option<Visual>)> {
    let looks = || {
        facts.iter().filter_map(|fact| match fact.what {
            FactWhat::Looked(found) => Some((fact, found)),
            FactWhat::Functional { .. } | FactWhat::Repaired => None,
        })
    };
    let followed = |of: &Fact| looks().any(|(fact, _)| same_chain(fact, of) && fact.seq > of.seq);
    let at = |fact: &Fact, found: Option<Visual>| if found.is_some() { latest(facts, fact) } else { fact.at };
    let last = looks().filter(|(fact, _)| !followed(fact));
    last.max_by_key(|(fact, found)| (at(fact, *found), found.map_or("", Visual::words), fact.day))
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
    let followed = |of: &Fact| passed(facts).any(|pass| same_chain(pass, of) && pass.seq > of.seq);
    let last = passed(facts).filter(|pass| !followed(pass));
    let last = last.max_by_key(|pass| (pass.at, !follows(pass), pass.visit, pass.phone));
    // Clocks of phones differ: what another phone saw in the same visit speaks against a test, unless that one came knowingly after it.
    let counts = |fact: &Fact, pass: &Fact| match same_chain(fact, pass) {
        true => fact.seq >= pass.seq,
        false => latest(facts, fact) >= pass.at || (fact.visit == pass.visit && !follows(pass)),
    };
    let against = facts.iter().filter_map(|fact| Some((fact, against(fact)?)));
    let against = against.filter(|(fact, _)| last.is_none_or(|pass| counts(fact, pass)));
    match against.max_by_key(|(fact, why)| (latest(facts, fact), fact.seq, rank(*why))) {
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

/// What samples say, by rule.
pub(super) fn sampled(subjects: &[Subject], rules: &Rules, terms: Terms<'_>) -> Vec<Sampled> {
    // A failed sample counts wherever it was taken, whatever hangs there now.
    let all = subjects.iter().flat_map(|subject| &subject.facts).chain(terms.failed);
    let bad: Vec<&Fact> = all.filter(|fact| fact.sample() == Some(false)).collect();
    let of = |(rule, set): (usize, &RuleSet)| {
        if set.check != RuleCheck::ReplaceOrSample {
            return Sampled::No;
        }
        let under = subjects.iter().filter(|subject| rules.functional(subject).contains(&rule));
        sample(&under.collect::<Vec<_>>(), set.sample_per_100, &bad, terms.today)
    };
    rules.all.iter().enumerate().map(of).collect()
}

/// What samples say of these positions. One passes whole: enough of them in one visit, none bad in it, and none bad since.
fn sample(under: &[&Subject], per_100: Option<u32>, bad: &[&Fact], today: NaiveDate) -> Sampled {
    let samples = |of: &&Subject| -> Vec<(Id, Fact)> {
        let of_it = of.facts.iter().filter(|fact| fact.sample().is_some());
        of_it.map(|fact| (of.position, *fact)).collect()
    };
    let all: Vec<(Id, Fact)> = under.iter().flat_map(samples).collect();
    let whole = |wanted: usize, visit: Id| {
        let here = || all.iter().filter(|(_, fact)| fact.visit == visit);
        let day = here().map(|(_, fact)| fact.day).min()??;
        let on_time = here().all(|(_, fact)| fact.day.is_some_and(|day| day <= today));
        let voids = |fact: &&Fact| fact.visit == visit || fact.day.is_none_or(|bad| bad >= day);
        // A position counts as sampled once.
        let enough = order::set(here().map(|(position, _)| *position)).len() >= wanted;
        (on_time && enough && !bad.iter().any(voids)).then_some(day)
    };
    let passed = per_100.and_then(|per_100| {
        let wanted = (under.len() * per_100 as usize).div_ceil(100).max(LEAST_SAMPLE);
        order::set(all.iter().map(|(_, fact)| fact.visit)).into_iter().filter_map(|visit| whole(wanted, visit)).max()
    });
    let failed = || bad.iter().map(|fact| fact.day.unwrap_or(NaiveDate::MAX)).max();
    passed.map(Sampled::Passed).or_else(|| failed().map(Sampled::Failed)).unwrap_or(Sampled::No)
}
