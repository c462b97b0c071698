//! The rules that the app knows, as data, and which of a site's rules cover a position.

use super::Subject;
use crate::book::body::{RuleCheck, RuleExcept, RuleSet};
use crate::trade::detector_type::DetectorType;

/// A rule set that the app brings along. Sentences are in the app's own words.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shipped {
    /// Its stable name.
    pub key: &'static str,
    name: &'static str,
    sentence: &'static str,
    source: &'static str,
    from_memory: bool,
    check: RuleCheck,
    types: &'static [DetectorType],
    except: &'static [RuleExcept],
    every_months: u32,
    first_after_months: Option<u32>,
    least_per_circuit: Option<u32>,
    all_within_months: Option<u32>,
    sample_per_100: Option<u32>,
}

const PLAIN: Shipped = Shipped {
    key: "",
    name: "",
    sentence: "",
    source: "",
    from_memory: false,
    check: RuleCheck::Functional,
    types: &[],
    except: &[],
    every_months: 12,
    first_after_months: None,
    least_per_circuit: None,
    all_within_months: None,
    sample_per_100: None,
};

/// Every rule set that the app brings along; the first functional one and the first visual one apply where a site's own say nothing.
pub const SHIPPED: &[Shipped] = &[
    Shipped {
        key: "every-year",
        name: "Every position every year",
        sentence: "Every detector has a functional test once a year.",
        source: "Own choice: the strictest common interval. NFPA 72, chapter 14, asks for a yearly test of heat detectors",
        ..PLAIN
    },
    Shipped {
        key: "restorable-share",
        name: "Restorable fixed-temperature: two or more per circuit a year",
        sentence: "Of restorable fixed-temperature spot detectors two or more on each initiating circuit are tested every year, different ones \
                   each year, and every one within five years. The owner keeps the record of which ones.",
        source: "NFPA 72, chapter 14, testing; not checked against its text; check with the AHJ",
        from_memory: true,
        types: &[DetectorType::FixedRestorable],
        except: &[RuleExcept::Addressable, RuleExcept::Releasing],
        least_per_circuit: Some(2),
        all_within_months: Some(60),
        ..PLAIN
    },
    Shipped {
        key: "nonrestorable-15",
        name: "Nonrestorable: 15 years, then replace or sample",
        sentence: "Nonrestorable spot detectors get no heat test. 15 years after installation all are replaced, or two of every hundred are \
                   tested in a laboratory, and again every five years.",
        source: "NFPA 72, chapter 14, table of test methods, as quoted by a listing organization; check with the AHJ",
        from_memory: true,
        check: RuleCheck::ReplaceOrSample,
        types: &[DetectorType::FixedNonrestorable],
        every_months: 60,
        first_after_months: Some(180),
        sample_per_100: Some(2),
        ..PLAIN
    },
    Shipped {
        key: "visual-half-year",
        name: "Visual check every half year",
        sentence: "Every detector gets a visual check twice a year.",
        source: "NFPA 72, chapter 14, visual inspection",
        check: RuleCheck::Visual,
        every_months: 6,
        ..PLAIN
    },
    Shipped {
        key: "bs-5839-1",
        name: "BS 5839-1: every detector once a year",
        sentence: "Every detector is operated once a year, spread over the service visits of that year if need be.",
        source: "BS 5839-1, periodic inspection and test",
        ..PLAIN
    },
];

/// The place of the visual rule that applies by default among those shipped.
const VISUAL: usize = 3;

impl Shipped {
    /// The rule as a site takes it.
    pub fn rule(&self) -> RuleSet {
        RuleSet {
            name: self.name.into(),
            sentence: self.sentence.into(),
            source: self.source.into(),
            from_memory: self.from_memory,
            check: self.check,
            types: self.types.to_vec(),
            except: self.except.to_vec(),
            every_months: self.every_months,
            first_after_months: self.first_after_months,
            least_per_circuit: self.least_per_circuit,
            all_within_months: self.all_within_months,
            sample_per_100: self.sample_per_100,
        }
    }
}

/// The rules of a site: its own, and the defaults for what they leave out.
pub fn site_rules(own: &[RuleSet]) -> Vec<RuleSet> {
    let mut all = own.to_vec();
    let lacks = |check: RuleCheck| !own.iter().any(|rule| rule.check == check);
    all.extend(lacks(RuleCheck::Functional).then(|| SHIPPED[0].rule()));
    all.extend(lacks(RuleCheck::Visual).then(|| SHIPPED[VISUAL].rule()));
    all
}

/// A site's rules, and where those that apply when no other does stand among them.
pub(super) struct Rules {
    pub(super) all: Vec<RuleSet>,
    /// How many of them the site chose; the rest apply where none of those does.
    own: usize,
    pub(super) every_year: usize,
}

impl Rules {
    pub(super) fn of(own: &[RuleSet]) -> Rules {
        let mut all = site_rules(own);
        let rule = SHIPPED[0].rule();
        let every_year = all.iter().position(|other| *other == rule).unwrap_or_else(|| {
            all.push(rule);
            all.len() - 1
        });
        Rules { all, own: own.len(), every_year }
    }

    /// The functional rules that cover a position: every one of them asks for something. Every year where there is none.
    pub(super) fn functional(&self, subject: &Subject) -> Vec<usize> {
        let own = self.all.iter().take(self.own).enumerate();
        let covering = own.filter(|(_, rule)| rule.check != RuleCheck::Visual && covers(rule, subject));
        let mut covering: Vec<usize> = covering.map(|(index, _)| index).collect();
        if covering.is_empty() {
            covering.push(self.every_year);
        }
        covering
    }

    /// The visual rules that cover a position; where none is said to, each of them does.
    pub(super) fn visual(&self, subject: &Subject) -> Vec<usize> {
        let visual = self.all.iter().enumerate().filter(|(_, rule)| rule.check == RuleCheck::Visual);
        let (covering, others): (Vec<_>, Vec<_>) = visual.partition(|(_, rule)| covers(rule, subject));
        let asked = if covering.is_empty() { others } else { covering };
        asked.into_iter().map(|(index, _)| index).collect()
    }
}

/// The least number per circuit and the months for all of them, of a rule that asks for a share.
pub(super) fn share(rule: &RuleSet) -> Option<(u32, u32)> {
    rule.least_per_circuit.zip(rule.all_within_months).filter(|_| rule.check == RuleCheck::Functional)
}

/// Months until a position has to have its turn again.
pub(super) fn period(rule: &RuleSet) -> u32 {
    match (share(rule), rule.check) {
        (Some((_, all_within)), _) => all_within,
        (None, RuleCheck::ReplaceOrSample) => rule.first_after_months.unwrap_or(rule.every_months),
        (None, RuleCheck::Functional | RuleCheck::Visual) => rule.every_months,
    }
}

fn covers(rule: &RuleSet, subject: &Subject) -> bool {
    let named = rule.types.contains(&subject.detector_type);
    let never_heated = subject.detector_type == DetectorType::FixedNonrestorable;
    let by_type = match rule.check {
        // Replacing by age is no test of what can be tested.
        RuleCheck::ReplaceOrSample => named && never_heated,
        // A functional test by heat would use it up, so a rule that means it has to name it.
        RuleCheck::Functional if never_heated => named,
        RuleCheck::Functional | RuleCheck::Visual => named || rule.types.is_empty(),
    };
    let excepted = |except: &RuleExcept| match except {
        RuleExcept::Addressable => subject.addressable != Some(false),
        RuleExcept::Releasing => subject.releasing != Some(false),
    };
    by_type && !rule.except.iter().any(excepted) && (share(rule).is_none() || takes_share(subject))
}

/// Whether a share may stand for a position at all, whatever the rule says: not for what has to answer every time, nor for what is unknown.
fn takes_share(subject: &Subject) -> bool {
    let type_may = !matches!(subject.detector_type, DetectorType::RateCompensated | DetectorType::Unknown);
    let plain = subject.addressable == Some(false) && subject.releasing == Some(false);
    type_may && plain && subject.circuit.is_some()
}
