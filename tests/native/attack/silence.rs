//! "No alarm" that does not follow.

use super::*;
use soakbook::book::body::What::{AtTop, HeaterOff, HeaterOn};
use soakbook::findings::Tripped;
use soakbook::trade::detector_type::DetectorType;
use soakbook::trade::heater::{Cycle, Heating};

fn rate_of_rise() -> World {
    given(|marking| {
        *marking = Marking {
            detector_type: DetectorType::RateOfRise,
            rating: None,
            minus: None,
            plus: None,
            limits_from: None,
            ..marking.clone()
        };
    })
}

#[track_caller]
fn not_decided(world: &World) {
    let tripped = found(world).tripped;
    assert!(matches!(tripped, Tripped::NotDecided(_)), "{tripped:?}");
}

/// Rule 0.4: the rise has to be on the detector. Whoever ended the test lowered the heater then at the latest.
#[test]
fn readings_after_the_end_show_no_rate() {
    let mut world = rate_of_rise();
    world.act(functional(|_| {}));
    world.wait_until(5);
    world.act(end(Ending::NoTrip));
    not_decided(&world);
    for (second, tenths) in [(10, 250), (60, 600)] {
        world.wait_until(second);
        let _ = world.try_act(Command::Read { of: id(TEST), reading: shown(tenths), trip: None });
    }
    not_decided(&world);
}

/// Rule 0.3 and 0.18: a heater past its safety time-out is off, whatever nobody marked; the same soak of 81 s would
/// decide it (visit_rules::no_alarm).
#[test]
fn a_soak_ends_at_the_safety_time_out() {
    let mut world = rated_80();
    let heating = Heating { timeout_ms: Some(620_000), ..manual() };
    world.act(put_heater_with(HAND_HEATER, heating, |_, metrology| *metrology = known()));
    world.act(functional(|_| {}));
    world.taps(&[(600, AtTop)]);
    world.wait_until(700);
    world.act(end(Ending::NoTrip));
    not_decided(&world);
}

/// Rule 0.3: a soak followed. A heater that came on at 700 s was off before, nobody saw since when.
#[test]
fn a_heater_that_came_on_again_did_not_soak_until_then() {
    let mut world = rated_80();
    world.act(functional(|_| {}));
    world.taps(&[(600, AtTop), (700, HeaterOn)]);
    world.wait(SECOND).act(end(Ending::NoTrip));
    not_decided(&world);
}

/// Rule: design 4: the mark "heater came on" brings the app's idea back in step; rule 0.3: from 540 to 600 s is a heat-up of 60 s,
/// which asks for 246.69 s (visit_rules::no_alarm), and 100 s are held.
#[test]
fn a_heater_that_came_on_late_heated_up_fast() {
    let mut world = rated_80();
    let heating = Heating { cycle: Cycle::Manual { heat_up_cold_ms: None, heat_up_again_ms: None }, ..manual() };
    world.act(put_heater_with(HAND_HEATER, heating, |_, metrology| *metrology = known()));
    world.act(functional(|_| {}));
    world.taps(&[(540, HeaterOn), (600, AtTop), (700, HeaterOff)]);
    world.wait(SECOND).act(end(Ending::NoTrip));
    not_decided(&world);
}

/// Rule: design 4: "no alarm" rests on the heater's temperature; the findings themselves refuse an operating temperature then.
#[test]
fn a_heater_problem_is_no_silence_of_the_detector() {
    let mut world = rated_80();
    world.act(functional(|_| {}));
    world.taps(&[(600, AtTop)]);
    world.wait_until(700);
    world.act(end(Ending::HeaterProblem));
    not_decided(&world);
}

/// Rule 0.4: ≥ 20 °F/min by two readings or a profile; findings/test.rs: with a reading far from the profile nothing in the
/// test rests on the profile. 3 K in 120 s are 0.025 K/s, where 0.18519 K/s are asked.
#[test]
fn a_profile_that_the_readings_contradict_shows_no_rate() {
    use soakbook::book::body::Body;
    let (mut phone, mut start) = crate::at_trip::lagging_start(3);
    start.detector.marking.detector_type = DetectorType::RateOfRise;
    start.detector.marking.rating = None;
    let (of, from, ambient) = (start.test, phone.mono + 1_000, start.ambient.expect("ambient").celsius().0);
    phone.mono = from;
    phone.in_visit(Body::TestStarted(start.into()));
    phone.in_visit(Body::Mark { of, what: What::HeatOn });
    for (second, rise) in [(60, 1.0), (120, 3.0)] {
        phone.mono = from + second * SECOND;
        let reading = shown(((ambient + rise) * 10.0).round() as i64);
        phone.in_visit(Body::ReadingTaken { of, reading, trip: None });
    }
    phone.mono = from + 139_000;
    phone.in_visit(Body::Mark { of, what: What::AtTop });
    phone.mono = from + 200_000;
    phone.in_visit(Body::TestEnded { test: of, how: Ending::NoTrip });
    let tripped = phone.visit().tests.remove(0).tripped;
    assert!(matches!(tripped, Tripped::NotDecided(_)), "{tripped:?}");
}
