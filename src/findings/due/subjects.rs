//! How the register of a site and what was done there become plain data.

use super::{Fact, FactWhat, Subject};
use crate::book::Id;
use crate::book::body::{Circuit, Method, Work};
use crate::book::decide::day;
use crate::book::register::{Position, Register};
use crate::book::versions::Versions;
use crate::findings::history::{Done, DoneWhat};
use crate::findings::outcome::Outcome;
use crate::order;
use crate::trade::conditions::Visual;
use crate::trade::detector_type::DetectorType;
use chrono::{DateTime, NaiveDate};
use std::collections::BTreeMap;

/// The local day of a wall clock time; none where it is no time.
pub fn day_of(at: i64, offset_min: i64) -> Option<NaiveDate> {
    let at = DateTime::from_timestamp_millis(at.checked_add(offset_min.checked_mul(60_000)?)?)?;
    Some(at.date_naive())
}

/// The positions of a site that are in use, by area and walking order, with what was done to the detectors that hang there.
pub fn subjects(register: &Register, site: Id, history: &BTreeMap<Id, Vec<Done>>, offset_min: i64) -> Vec<Subject> {
    let circuits = Circuits::of(register);
    let areas = order::map(register.areas_of(site).into_iter().zip(0..).map(|((area, _), place)| (area, place)));
    // One walk over all positions, in the order that `Register::positions_of` has for each area.
    let here = register.positions.iter().filter(|(_, position)| !position.retired()).filter_map(|(id, position)| {
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
        let of = detector.and_then(|detector| register.detectors.get(&detector));
        let types = || of.into_iter().flat_map(|of| of.marking.versions()).map(|(_, marking)| marking.detector_type);
        let first = types().next();
        let detector_type = first.filter(|first| types().all(|other| other == *first));
        let circuit = position.place.now().and_then(|place| place.circuit);
        let (addressable, serves) = circuit.and_then(|id| self.0.get(&id).copied()).unwrap_or_default();
        let releases = position.duty.versions().map(|(_, duty)| duty.releases.as_ref().map(|of| !of.is_empty()));
        let releases = agreed(releases);
        let facts = done.iter().flat_map(|done| facts(position, detector, done, offset_min)).collect();
        Subject {
            position: id,
            area: Id::nil(),
            detector_type: detector_type.unwrap_or(DetectorType::Unknown),
            circuit: circuit.filter(|_| !position.place.conflict()),
            addressable,
            releasing: match (releases, serves) {
                (Some(true), _) | (_, Some(true)) => Some(true),
                (Some(false), Some(false)) => Some(false),
                _ => None,
            },
            installed: installed(register, position, offset_min),
            provisional: position.status.now().is_some_and(|status| status.provisional),
            has_detector: detector.is_some(),
            facts,
        }
    }
}

/// The earliest day on which the detector may have been installed.
fn installed(register: &Register, position: &Position, offset_min: i64) -> Option<NaiveDate> {
    let hung = position.hanging().filter_map(|hung| day_of(hung.happened?.at, offset_min));
    let of = position.detector().and_then(|detector| register.detectors.get(&detector));
    let makes = of.into_iter().flat_map(|of| of.make.versions());
    let said = makes.filter_map(|(_, make)| day(make.installed_on.as_deref()?));
    hung.chain(said).min()
}

/// What something done says of the detector that hangs there now.
fn facts(position: &Position, detector: Option<Id>, done: &Done, offset_min: i64) -> Vec<Fact> {
    // Of a detector that nobody named it is good news only where no other one ever hung there.
    let surely = match done.detector {
        Some(of) => detector == Some(of),
        None => position.installed.len() == 1,
    };
    let another = done.detector.is_some_and(|of| detector != Some(of));
    let fact =
        |what| Fact { at: done.at, day: day_of(done.at, offset_min), visit: done.visit, phone: done.phone, what };
    let look = |found: &[Visual]| {
        let worst = found.iter().find(|found| found.refuses_heat()).or(found.first());
        fact(FactWhat::Looked(worst.copied()))
    };
    let all = match &done.what {
        DoneWhat::Test(test) => {
            let follows = test.frozen.follows.is_some() || test.frozen.after.is_some();
            let outcome = test.outcome;
            let functional = fact(FactWhat::Functional { outcome, follows, laboratory: false });
            [functional].into_iter().chain(test.frozen.visual.as_deref().map(look)).collect()
        }
        DoneWhat::Other(of, outcome) => {
            let laboratory = of.method == Method::Laboratory;
            vec![fact(FactWhat::Functional { outcome: *outcome, follows: false, laboratory })]
        }
        DoneWhat::Visual(found) => vec![look(found)],
        // Cleaning takes nothing away from what was tested.
        DoneWhat::Repaired(Work::Cleaned) | DoneWhat::NotTested(_) => Vec::new(),
        DoneWhat::Repaired(_) => vec![fact(FactWhat::Repaired)],
    };
    // A laboratory's word is about the sample, whichever detector has taken its place.
    let kept = |fact: &Fact| match fact.what {
        FactWhat::Functional { laboratory: true, .. } => true,
        FactWhat::Functional { .. } | FactWhat::Looked(None) => surely || (is_bad(fact) && !another),
        FactWhat::Looked(Some(_)) | FactWhat::Repaired => !another,
    };
    all.into_iter().filter(kept).collect()
}

fn is_bad(fact: &Fact) -> bool {
    matches!(fact.what, FactWhat::Functional { outcome, .. } if outcome != Outcome::Passed)
}
