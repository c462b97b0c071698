//! How the register of a site and what was done there become plain data.

use super::rules::{SHIPPED, site_rules};
use super::{Fact, FactWhat, Subject, VISIT_INTERVAL};
use crate::book::Id;
use crate::book::body::{Circuit, Method, RuleCheck, RuleSet, SiteRules, Work};
use crate::book::decide::day;
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::findings::history::{Done, DoneWhat};
use crate::findings::outcome::Outcome;
use crate::order;
use crate::trade::conditions::Visual;
use crate::trade::detector_type::DetectorType;
use crate::units::Wall;
use chrono::{DateTime, NaiveDate};
use std::collections::BTreeMap;

/// The local day of a wall clock time; none where it is no time.
pub fn day_of(at: Wall, offset_min: i64) -> Option<NaiveDate> {
    let at = DateTime::from_timestamp_millis(at.0.checked_add(offset_min.checked_mul(60_000)?)?)?;
    Some(at.date_naive())
}

/// What a site goes by. While two phones' versions stand side by side: the rules of both, of which the strictest applies, and the longest
/// time between visits.
pub fn held_rules(register: &Register, site: Id) -> SiteRules {
    let mut held = register.rules_of(site);
    let versions = register.all_rules_of(site).unwrap_or_default();
    if versions.is_empty() {
        return held;
    }
    held.rules.clear();
    for rule in versions.iter().flat_map(|version| site_rules(&version.rules)) {
        if !held.rules.contains(&rule) {
            held.rules.push(rule);
        }
    }
    // What one of them covers and the other does not is tested every year by the other.
    let functional = |of: &SiteRules| {
        let all = of.rules.iter().filter(|rule| rule.check != RuleCheck::Visual);
        all.cloned().collect::<Vec<_>>()
    };
    if versions.iter().any(|version| functional(version) != functional(versions[0])) {
        let every_year = SHIPPED[0].rule();
        held.rules.retain(|rule| *rule != every_year);
        held.rules.push(RuleSet { types: DetectorType::ALL.to_vec(), ..every_year });
    }
    let months = versions.iter().map(|version| version.visit_interval_months.unwrap_or(VISIT_INTERVAL));
    held.visit_interval_months = months.max();
    held
}

/// The positions of a site that are in use, by area and walking order, with what was done to the detectors that hang there.
pub fn subjects(register: &Register, site: Id, history: &BTreeMap<Id, Vec<Done>>, offset_min: i64) -> Vec<Subject> {
    let circuits = Circuits::of(register);
    let areas = order::map(register.areas_of(site).into_iter().zip(0..).map(|((area, _), place)| (area, place)));
    // One walk over all positions, in the order that `Register::positions_of` has for each area.
    let in_use = register.positions.iter().filter(|(_, position)| !position.retired());
    let here = in_use.filter_map(|(id, position)| {
        let area = position.place.now()?.area;
        Some((*areas.get(&area)?, area, *id, position))
    });
    let here = order::by(here.collect(), |(place, _, id, position): &(i64, Id, Id, &Position)| {
        let number = position.order.now().map_or(i64::MAX, |order| order.number);
        (*place, number, format!("{}\0{id}", position.tag()))
    });
    let subject = |(_, area, id, position): (i64, Id, Id, &Position)| {
        let done = history.get(&id).map_or(&[][..], Vec::as_slice);
        let subject = circuits.subject(register, id, position, done, offset_min);
        Subject { area, ..subject }
    };
    here.into_iter().map(subject).collect()
}

/// What circuits are: addressable and releasing, where all phones agree.
struct Circuits(BTreeMap<Id, (Option<bool>, Option<bool>)>);

/// What all say; unknown where they differ or say nothing.
fn agreed(mut all: impl Iterator<Item = Option<bool>>) -> Option<bool> {
    let first = all.next()??;
    all.all(|other| other == Some(first)).then_some(first)
}

impl Circuits {
    fn of(register: &Register) -> Circuits {
        let circuit = |(id, versions): (&Id, &Versions<Circuit>)| {
            let addressable = agreed(versions.versions().map(|(_, circuit)| circuit.addressable));
            (*id, (addressable, agreed(versions.versions().map(|(_, circuit)| circuit.releasing))))
        };
        Circuits(order::map(register.circuits.iter().map(circuit)))
    }

    fn subject(&self, register: &Register, id: Id, position: &Position, done: &[Done], offset_min: i64) -> Subject {
        let detector = position.detector();
        let circuit = position.place.now().and_then(|place| place.circuit);
        let (addressable, serves) = circuit.and_then(|id| self.0.get(&id).copied()).unwrap_or_default();
        let releases = position.duty.versions().map(|(_, duty)| duty.releases.as_ref().map(|of| !of.is_empty()));
        let releases = agreed(releases);
        let facts = done.iter().flat_map(|done| facts(register, position, done, offset_min)).collect();
        Subject {
            position: id,
            area: Id::nil(),
            detector_type: type_of(register, detector),
            circuit: circuit.filter(|_| !position.place.conflict()),
            addressable,
            releasing: match (releases, serves) {
                (Some(true), _) | (_, Some(true)) => Some(true),
                (Some(false), Some(false)) => Some(false),
                _ => None,
            },
            installed: installed(register, position, offset_min),
            provisional: position.status.versions().any(|(_, status)| status.provisional),
            has_detector: detector.is_some(),
            facts,
        }
    }
}

/// The type of a detector; not known where phones disagree.
fn type_of(register: &Register, detector: Option<Id>) -> DetectorType {
    let of = detector.and_then(|detector| register.detectors.get(&detector));
    let types = || of.into_iter().flat_map(|of| of.marking.versions()).map(|(_, marking)| marking.detector_type);
    let first = types().next().filter(|first| types().all(|other| other == *first));
    first.unwrap_or(DetectorType::Unknown)
}

/// The earliest day on which the detector may have been installed.
pub(super) fn installed(register: &Register, position: &Position, offset_min: i64) -> Option<NaiveDate> {
    let hung = position.hanging().filter_map(|hung| day_of(hung.happened?.at, offset_min));
    let of = position.detector().and_then(|detector| register.detectors.get(&detector));
    let makes = of.into_iter().flat_map(|of| of.make.versions());
    let said = makes.filter_map(|(_, make)| day(make.installed_on.as_deref()?));
    hung.chain(said).min()
}

/// What a laboratory found wrong at positions that are not in use any more: it speaks against those that are.
pub fn failed_samples(register: &Register, history: &BTreeMap<Id, Vec<Done>>, offset_min: i64) -> Vec<Fact> {
    let gone = |id: &Id| register.positions.get(id).is_none_or(|of| of.retired() || of.place.now().is_none());
    let done = history.iter().filter(|(id, _)| gone(id)).flat_map(|(_, done)| done);
    let samples = done.filter_map(|done| sample(register, done, offset_min));
    samples.filter(|fact| fact.sample() == Some(false)).collect()
}

fn fact(done: &Done, offset_min: i64, what: FactWhat) -> Fact {
    let Done { at, seq, visit, phone, .. } = *done;
    Fact { at, seq, day: day_of(at, offset_min), visit, phone, what }
}

/// What a laboratory said of a sample, whichever detector has taken its place. One of a type that is not sampled is none; of one whose type
/// is not known only bad news counts.
fn sample(register: &Register, done: &Done, offset_min: i64) -> Option<Fact> {
    let DoneWhat::Other(of, outcome) = &done.what else { return None };
    let what = FactWhat::Functional { outcome: *outcome, follows: false, laboratory: true };
    let fact = Some(fact(done, offset_min, what)).filter(|_| of.method == Method::Laboratory)?;
    let counts = match type_of(register, done.detector) {
        DetectorType::FixedNonrestorable => true,
        DetectorType::Unknown => fact.sample() == Some(false),
        _ => false,
    };
    counts.then_some(fact)
}

/// What something done says of the detector that hangs there now, and of samples.
fn facts(register: &Register, position: &Position, done: &Done, offset_min: i64) -> Vec<Fact> {
    let detector = position.detector();
    // Of a detector that nobody named it is good news only where no other one ever hung there.
    let surely = match done.detector {
        Some(of) => detector == Some(of),
        None => position.installed.len() == 1,
    };
    let another = done.detector.is_some_and(|of| detector != Some(of));
    let fact = |what| fact(done, offset_min, what);
    let functional = |outcome: Outcome, follows| fact(FactWhat::Functional { outcome, follows, laboratory: false });
    let look = |found: &[Visual]| {
        let worst = found.iter().find(|found| found.refuses_heat()).or(found.first());
        fact(FactWhat::Looked(worst.copied()))
    };
    let all = match &done.what {
        DoneWhat::Test(test) => {
            let follows = test.frozen.follows.is_some() || test.frozen.after.is_some();
            // Of a test that was none, or is not over, the look counts only against the detector.
            let whole = !matches!(test.outcome, Outcome::Mistake | Outcome::InProgress);
            let looked = test.frozen.visual.as_deref().filter(|found| whole || !found.is_empty());
            [functional(test.outcome, follows)].into_iter().chain(looked.map(look)).collect()
        }
        // No element saw heat, or it was not on its circuit: what is bad is bad, and what is fine so is not tested.
        DoneWhat::Other(of, Outcome::Passed | Outcome::NotVerified { .. })
            if matches!(of.method, Method::Electrical | Method::Laboratory) =>
        {
            Vec::new()
        }
        DoneWhat::Other(_, outcome) => vec![functional(*outcome, false)],
        DoneWhat::Visual(found) => vec![look(found)],
        // Cleaning takes nothing away from what was tested.
        DoneWhat::Repaired(Work::Cleaned) | DoneWhat::NotTested(_) => Vec::new(),
        DoneWhat::Repaired(_) => vec![fact(FactWhat::Repaired)],
    };
    let kept = |fact: &Fact| match fact.what {
        FactWhat::Functional { outcome, .. } => surely || (outcome != Outcome::Passed && !another),
        FactWhat::Looked(None) => surely,
        FactWhat::Looked(Some(_)) | FactWhat::Repaired => !another,
    };
    all.into_iter().filter(kept).chain(sample(register, done, offset_min)).collect()
}
