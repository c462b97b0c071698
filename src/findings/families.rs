//! Which tests of a visit are held side by side: one area, type, rating and procedure; as found and as left apart, and
//! those whose every counted trip was read apart from those that rest on estimates.
//!
//! Families stay within an area because its detectors share air and ambient temperature, and both shift what a heater shows. A detector
//! that is tested twice as found, by two phones, is there twice, and counts once for the least number.

use super::area::compare;
use super::family::{Compared, Family, Member, Window};
use super::family_remark::remarks;
use super::operating::{Operating, Shared};
use super::test::TestFindings;
use crate::book::Id;
use crate::book::test::Test;
use crate::order;
use crate::trade::detector::Marking;
use crate::trade::detector_type::DetectorType;
use crate::units::{Kelvin, Reading};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What a family has in common, in the order in which families are listed.
type Shape = (Id, u8, i64, [i64; 5], [bool; 2]);

/// The families of a visit; `tests` and what they say, in the same order.
pub(super) fn families(tests: &[Test], found: &[TestFindings]) -> Vec<Family> {
    // A retest replaces the test that it follows, if it has an operating temperature.
    let retests = found.iter().filter(|found| found.frozen.after.is_none() && found.operating.is_ok());
    let followed = order::set(retests.filter_map(|found| found.frozen.follows));
    let as_left = as_left(found);
    let mut families: BTreeMap<Shape, (Family, bool)> = BTreeMap::new();
    for (test, found) in tests.iter().zip(found) {
        let marking = found.holding().last().map(|judgement| &judgement.marking);
        let Some((operating, marking, rating)) = found.operating.as_ref().ok().zip(marking).and_then(rated) else {
            continue;
        };
        if followed.contains(&found.test) {
            continue;
        }
        let limits = found.holding().last().and_then(|judgement| judgement.limits.as_ref().ok());
        let limits = limits.map(|limits| (limits.minus, limits.plus));
        let shape =
            shape(test, marking.detector_type, rating, [as_left.contains(&found.test), operating.estimated > 0]);
        let (family, same) = families.entry(shape).or_insert_with(|| {
            let family = empty(test, marking.detector_type, rating, limits);
            (Family { as_left: as_left.contains(&found.test), estimated: operating.estimated > 0, ..family }, true)
        });
        *same = *same && family.limits == limits;
        family.members.push(member(test, found, operating, rating));
    }
    families
        .into_values()
        .map(|(family, same)| Family { limits: family.limits.filter(|_| same), ..family })
        .map(whole)
        .collect()
}

/// The tests after a repair or replacement, and the retests of those.
fn as_left(found: &[TestFindings]) -> BTreeSet<Id> {
    let mut as_left = BTreeSet::new();
    for found in found {
        let follows = found.frozen.follows.is_some_and(|follows| as_left.contains(&follows));
        if found.frozen.after.is_some() || follows {
            as_left.insert(found.test);
        }
    }
    as_left
}

/// Those with a rating that says where they trip. A rate element trips before the fixed one, wherever the heater was then.
fn rated<'a>((operating, marking): (&'a Operating, &'a Marking)) -> Option<(&'a Operating, &'a Marking, Reading)> {
    let kind = marking.detector_type;
    Some((operating, marking, marking.rating.filter(|_| kind.has_set_point() && !kind.has_rate_element())?))
}

fn shape(test: &Test, detector_type: DetectorType, rating: Reading, [as_left, estimated]: [bool; 2]) -> Shape {
    let procedure = &test.frozen.procedure;
    let steps = [
        procedure.kind as i64,
        procedure.trips.into(),
        procedure.not_averaged.into(),
        procedure.soak_ms.unwrap_or(-1),
        procedure.off_ms.unwrap_or(-1),
    ];
    // To the thousandth of a degree, so that 190 °F and 87.778 °C are one rating.
    let rating = (rating.celsius().0 * 1_000.0).round() as i64;
    (test.frozen.position.place.area, detector_type as u8, rating, steps, [as_left, estimated])
}

fn empty(test: &Test, detector_type: DetectorType, rating: Reading, limits: Option<Window>) -> Family {
    Family {
        area: test.frozen.position.place.area,
        detector_type,
        rating,
        procedure: test.frozen.procedure.name.clone(),
        as_left: false,
        estimated: false,
        limits,
        members: Vec::new(),
        detectors: 0,
        median: Kelvin(0.0),
        compared: Compared::TooFew,
        remarks: Vec::new(),
    }
}

fn member(test: &Test, found: &TestFindings, operating: &Operating, rating: Reading) -> Member {
    let shared = Shared::of(&test.frozen.heater);
    let part = |u: Option<Kelvin>| u.map_or(0.0, |u| u.0);
    let of_profile = part(operating.late.map(|late| late.u())).hypot(part(operating.profile));
    Member {
        test: found.test,
        position: found.position,
        frozen: Arc::clone(&test.frozen),
        deviation: operating.mean - rating.celsius(),
        expanded: operating.expanded,
        score: None,
        flagged: false,
        esd: false,
        within: None,
        step: operating.step,
        shared: shared.calibration.zip(shared.fit).map(|(u, v)| Kelvin(u.0.hypot(v.0).hypot(of_profile))),
        heaters: None,
    }
}

fn whole(mut family: Family) -> Family {
    // Millionths of a kelvin order well enough, and equal ones by tag.
    let key = |member: &Member| ((member.deviation.0 * 1e6) as i64, 0, member.tag().to_owned());
    family.members = order::by(family.members, key);
    family.detectors = order::set(family.members.iter().map(|member| member.position)).len();
    compare(&mut family);
    family.remarks = remarks(&family);
    family
}
