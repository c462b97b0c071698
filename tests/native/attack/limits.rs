//! A limit result where the method cannot carry one.

use super::*;
use soakbook::book::body::What::{AtTop, Tripped};
use soakbook::trade::detector::LimitsFrom;
use soakbook::trade::detector_type::DetectorType;

/// A whole set-point test on a rate-compensated detector, read at every trip (as in visit_rules::heat).
fn set_point_test(world: &mut World, readings: [i64; 5]) {
    let mut heating = auto();
    heating.resolution = Some(tenths(1));
    world.act(put_heater_with(SELF_HEATER, heating, |_, metrology| *metrology = known()));
    world.wait(SECOND).act(start_with(|start| start.display_read = true));
    for (second, reading) in [50, 420, 484, 548, 612].into_iter().zip(readings) {
        world.wait_until(second);
        let trip = world.mark(Tripped);
        world.wait(SECOND).act(Command::Read { of: id(TEST), reading: shown(reading), trip: Some(trip) });
        if second == 50 {
            world.taps(&[(60, AtTop)]);
        }
    }
    world.wait(SECOND).act(end(Ending::Done));
}

fn corrected(change: impl FnOnce(&mut Marking)) -> Vec<bool> {
    let mut world = given(|_| {});
    set_point_test(&mut world, [800, 881, 876, 884, 879]);
    let mut right = Marking { limits_from: Some(LimitsFrom::Owner), ..world.test().frozen.detector.marking.clone() };
    change(&mut right);
    let why = Hash::of(b"salted reason");
    world.wait(SECOND).act(Command::CorrectMarking { test: id(TEST), marking: right.into(), why });
    found(&world).judged_again.iter().map(|judgement| judgement.limit_result.is_ok()).collect()
}

/// Rule 0.2: electronic asks "rate function off, or heater slower than it"; nobody was asked here.
#[test]
fn a_detector_corrected_to_electronic_has_no_limit_result_unasked() {
    assert_eq!(corrected(|marking| marking.detector_type = DetectorType::Electronic), [false]);
}

/// Rule: design 6.5: rate-compensated, or the owner's limits for this method; of an unknown or used-up element nothing is known.
#[test]
fn a_detector_corrected_to_a_type_that_has_no_set_point_test_has_no_limit_result() {
    for detector_type in [DetectorType::Unknown, DetectorType::FixedNonrestorable, DetectorType::CombinationRestorable]
    {
        assert_eq!(corrected(|marking| marking.detector_type = detector_type), [false], "{detector_type:?}");
    }
}

/// Rule 0.6: a trip that may be another detector's is asked about; until then a mean with it is no detector's.
#[test]
fn an_unanswered_early_trip_carries_no_limit_result() {
    let mut world = given(|_| {});
    set_point_test(&mut world, [800, 881, 700, 884, 879]);
    assert_eq!(outcome(&world), Outcome::EarlyTrip);
    assert!(found(&world).judged.limit_result.is_err());
}
