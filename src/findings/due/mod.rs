//! What is due at each position, why, and by which rule.
//!
//! Pure: positions, what was done at them, the site's rules and today come in as plain data. To call a position "not due" wrongly is the
//! most expensive mistake there is, so whatever is unknown, unclear or outside a rule's words is due: only a passed test of the detector that
//! hangs there now sets a clock. Reading order: this file, `rules` (which rules cover a position), `clock` (calendar months), `state` (one
//! position), `share` (a circuit's yearly share), `subjects` (how a site becomes plain data), `coverage`, `truck`.

mod clock;
mod coverage;
mod rules;
mod share;
mod state;
mod subjects;
mod truck;

pub use coverage::{Coverage, Mark, coverage};
pub use rules::{SHIPPED, Shipped, site_rules};
pub use share::{Share, least};
pub use subjects::{day_of, failed_samples, held_rules, subjects};
pub use truck::{Ageing, Truck, truck};

use super::outcome::Outcome;
use crate::book::Id;
use crate::book::body::RuleSet;
use crate::trade::conditions::Visual;
use crate::trade::detector_type::DetectorType;
use crate::units::Wall;
use chrono::NaiveDate;

/// Months between visits where the site does not say. Own figure: a yearly visit.
pub const VISIT_INTERVAL: u32 = 12;

/// One position, as the rules look at it. Retired ones are none.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject {
    /// Which.
    pub position: Id,
    /// Its area.
    pub area: Id,
    /// The type of the detector; not known is a type of its own.
    pub detector_type: DetectorType,
    /// Its initiating circuit, where one is on file.
    pub circuit: Option<Id>,
    /// Whether the circuit is addressable; unknown counts as yes.
    pub addressable: Option<bool>,
    /// Whether the circuit or the position releases anything; unknown counts as yes.
    pub releasing: Option<bool>,
    /// When the detector was installed.
    pub installed: Option<NaiveDate>,
    /// Added on the lift and not settled yet.
    pub provisional: bool,
    /// Whether exactly one detector hangs there.
    pub has_detector: bool,
    /// What was done to the detector that hangs there, in any order.
    pub facts: Vec<Fact>,
}

/// Something that was done to a detector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fact {
    /// When, UTC ms: of two facts from two chains the later one counts.
    pub at: Wall,
    /// The place in the chain of its phone in its visit, which counts there whatever the clock was set to.
    pub seq: i64,
    /// The local day; none where the time is no time.
    pub day: Option<NaiveDate>,
    /// The visit.
    pub visit: Id,
    /// The phone: clocks of two phones differ.
    pub phone: Id,
    /// What.
    pub what: FactWhat,
}

impl Fact {
    /// Of a laboratory's result whether it tripped there, where there is no panel to see and nothing to restore.
    fn sample(&self) -> Option<bool> {
        match self.what {
            FactWhat::Functional { outcome, laboratory: true, .. } => {
                Some(matches!(outcome, Outcome::Passed | Outcome::NotVerified { .. }))
            }
            _ => None,
        }
    }
}

/// What was done to a detector.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FactWhat {
    /// A functional test.
    Functional {
        /// What its three results come to.
        outcome: Outcome,
        /// Whether it came after a repair or replacement, or knowingly after another test.
        follows: bool,
        /// Whether it was made in a laboratory.
        laboratory: bool,
    },
    /// A visual check; what was found first, where anything was, and what refuses heat before all else.
    Looked(Option<Visual>),
    /// A repair.
    Repaired,
}

/// What a site goes by, and when it is asked.
#[derive(Clone, Copy, Debug)]
pub struct Terms<'a> {
    /// Its rules; empty for the default.
    pub rules: &'a [RuleSet],
    /// Months between visits; absent for [`VISIT_INTERVAL`].
    pub interval: Option<u32>,
    /// Today, local.
    pub today: NaiveDate,
    /// The visit that is open, and the day it was opened: what is done in it counts, and its share is not asked for twice.
    pub open: Option<(Id, NaiveDate)>,
    /// What a laboratory found wrong at positions that are not in use any more.
    pub failed: &'a [Fact],
}

/// Where a position stands under one rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Its period ended on that day.
    Overdue(NaiveDate),
    /// Due now, whatever the calendar says.
    Now,
    /// Its period ends on that day, before the visit after this one.
    ByNextVisit(NaiveDate),
    /// Its period ends on that day.
    NotUntil(NaiveDate),
}

impl State {
    /// Whether it is to be done in this visit.
    pub fn is_due(self) -> bool {
        !matches!(self, State::NotUntil(_))
    }
}

/// Why a position stands so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// None or two detectors hang there.
    NoDetector,
    /// It is provisional.
    Provisional,
    /// No passed test of this detector is on record.
    NeverPassed,
    /// The last test did not pass.
    NotPassed(Outcome),
    /// It was repaired after its last passed test.
    Repaired,
    /// The last look found something that speaks against it.
    Found(Visual),
    /// The date on record lies ahead of today.
    Ahead,
    /// The day of installation is not on record.
    InstallUnknown,
    /// No visual check of this detector is on record.
    NeverLooked,
    /// The last passed test, or look, was on that day.
    Last(NaiveDate),
    /// It was installed on that day.
    Installed(NaiveDate),
    /// A sample was tested in a laboratory on that day.
    Sampled(NaiveDate),
    /// A sample that was taken while it hung failed in a laboratory, and no whole one has passed since.
    SampleFailed,
    /// One of its circuit's share.
    Share,
    /// The same, though it was tested last time: too few others are left.
    Repeat,
}

impl Why {
    /// Whether no date is known that a period could start from.
    pub fn no_date(self) -> bool {
        matches!(self, Why::NeverPassed | Why::InstallUnknown | Why::NeverLooked | Why::Ahead | Why::NoDetector)
    }
}

/// What one rule asks of a position.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// The rule, by its place in [`Due::rules`].
    pub rule: usize,
    /// Where it stands.
    pub state: State,
    /// Why.
    pub why: Why,
    /// When it passed last.
    pub last: Option<NaiveDate>,
}

/// What is due at a position: of all rules that cover it the functional one and the visual one that ask for it first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PositionDue {
    /// Which.
    pub position: Id,
    /// The functional rule.
    pub functional: Asked,
    /// The visual rule.
    pub visual: Asked,
    /// Whether it passed in the visit that is open.
    pub passed_here: bool,
    /// Whether the period of any functional rule has ended, also where something else makes it due.
    pub outside: bool,
}

/// What is due at a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Due {
    /// The rules that apply to anything, the site's own first.
    pub rules: Vec<RuleSet>,
    /// Its positions, in the order in which they came.
    pub positions: Vec<PositionDue>,
    /// What circuits ask for by their yearly share.
    pub shares: Vec<Share>,
    /// The visit after this one.
    pub next_visit: NaiveDate,
}

impl Due {
    /// The positions to be tested in this visit, each once, in the order in which they came.
    pub fn proposal(&self) -> Vec<&PositionDue> {
        self.positions.iter().filter(|of| of.functional.state.is_due()).collect()
    }

    /// How many positions are overdue, due for another reason, and not due, by the functional rule.
    pub fn counts(&self) -> (usize, usize, usize) {
        let overdue = self.positions.iter().filter(|of| matches!(of.functional.state, State::Overdue(_))).count();
        let due = self.positions.iter().filter(|of| of.functional.state.is_due()).count();
        (overdue, due - overdue, self.positions.len() - due)
    }
}

/// What is due at these positions.
pub fn due(subjects: &[Subject], terms: Terms<'_>) -> Due {
    let rules = rules::Rules::of(terms.rules);
    let next_visit = clock::next_visit(terms);
    let now = state::Now { terms, next_visit, sampled: state::sampled(subjects, &rules, terms) };
    let mut positions: Vec<PositionDue> = subjects.iter().map(|subject| now.position(subject, &rules)).collect();
    let shares = share::shares(subjects, &mut positions, &rules, &now);
    Due { rules: rules.all, positions, shares, next_visit }
}
