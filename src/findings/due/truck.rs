//! What goes on the truck: spares for what is due, detectors whose time is up soon, and what it takes to reach them.

use super::Due;
use super::clock::after;
use super::subjects::installed;
use crate::book::Id;
use crate::book::decide::day;
use crate::book::register::Register;
use crate::order;
use crate::trade::detector::{Access, Reach};
use crate::trade::detector_type::DetectorType;
use crate::units::{Decimal, Length, LengthUnit, Reading};
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Months from installation after which nonrestorable detectors are replaced or sampled; said of every detector, because owners ask.
const AGE: u32 = 180;

/// How far ahead the list looks, months.
const AHEAD: u32 = 12;

/// Why a detector's time is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ageing {
    /// It is 15 years old on that day.
    FifteenYears(NaiveDate),
    /// It is to be replaced by that day.
    ReplaceBy(NaiveDate),
}

impl Ageing {
    /// The day.
    pub fn day(self) -> NaiveDate {
        match self {
            Ageing::FifteenYears(day) | Ageing::ReplaceBy(day) => day,
        }
    }
}

/// The truck list of a visit.
#[derive(Clone, Debug, PartialEq)]
pub struct Truck {
    /// Types and ratings of what is due, with how many of each.
    pub spares: Vec<(DetectorType, Option<Reading>, usize)>,
    /// Detectors whose time is up within a year, the first one first; of any position in use.
    pub ageing: Vec<(Id, Ageing)>,
    /// What positions that are due are reached by, with how many and the highest of them; absent where nobody said.
    pub reach: Vec<(Option<Reach>, usize, Option<Length>)>,
    /// How many of them need a shutdown first.
    pub shutdowns: usize,
    /// What else to know before going up to them: tag of the position, words.
    pub hazards: Vec<(Id, String)>,
}

/// What a visit to all that is due needs.
pub fn truck(due: &Due, register: &Register, today: NaiveDate, offset_min: i64) -> Truck {
    let (mut spares, mut reach) = (BTreeMap::new(), BTreeMap::<Option<Reach>, (usize, Option<Length>)>::new());
    let (mut shutdowns, mut hazards) = (0, Vec::new());
    for id in due.proposal().iter().map(|of| of.position) {
        let Some(position) = register.positions.get(&id) else { continue };
        let marking = register.marking_of(position);
        let detector_type = marking.map_or(DetectorType::Unknown, |marking| marking.detector_type);
        let rating = marking.and_then(|marking| marking.rating);
        let heat = rating.map_or(0.0, |rating| rating.celsius().0);
        let key = format!("{}{:06}{rating:?}", detector_type as u8, (heat * 10.0).round() as i64);
        spares.entry(key).or_insert((detector_type, rating, 0)).2 += 1;
        let access = position.access.now().cloned().unwrap_or_default();
        let Access { reach: by, height, shutdown, hazard } = access;
        let of = reach.entry(by).or_default();
        of.0 += 1;
        of.1 = highest(of.1, height);
        shutdowns += usize::from(shutdown);
        hazards.extend(hazard.map(|hazard| (id, hazard)));
    }
    Truck {
        spares: spares.into_values().collect(),
        ageing: ageing(due, register, today, offset_min),
        reach: reach.into_iter().map(|(by, (count, height))| (by, count, height)).collect(),
        shutdowns,
        hazards,
    }
}

fn highest(one: Option<Length>, other: Option<Length>) -> Option<Length> {
    match (one, other) {
        (Some(one), Some(other)) if metres(one) >= metres(other) => Some(one),
        (one, other) => other.or(one),
    }
}

/// Source of the foot: NIST SP 811 B.8.
fn metres(of: Length) -> f64 {
    let number = Decimal { value: of.value, scale: of.scale }.number();
    if of.unit == LengthUnit::Ft { number * 0.3048 } else { number }
}

fn ageing(due: &Due, register: &Register, today: NaiveDate, offset_min: i64) -> Vec<(Id, Ageing)> {
    let soon = after(today, AHEAD).unwrap_or(today);
    let mut all = Vec::new();
    for id in due.positions.iter().map(|of| of.position) {
        let Some(position) = register.positions.get(&id) else { continue };
        let Some(detector) = position.detector() else { continue };
        let make = register.detectors.get(&detector).and_then(|of| of.make.now());
        let installed = installed(register, position, offset_min);
        let old = installed.and_then(|installed| after(installed, AGE)).map(Ageing::FifteenYears);
        let replace = make.and_then(|make| day(make.replace_by.as_deref()?)).map(Ageing::ReplaceBy);
        let first = [old, replace].into_iter().flatten().min_by_key(|of| of.day());
        all.extend(first.filter(|of| of.day() <= soon).map(|of| (id, of)));
    }
    order::by(all, |(_, of)| (0, 0, of.day().to_string()))
}
