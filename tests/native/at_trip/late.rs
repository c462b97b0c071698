//! How far the heater went on before a trip was noticed, where reading, lamp and profile do not agree, on the heater of [`super`].

use super::{NOTICED, lagging, phone, shown, start};
use crate::sample::id;
use crate::tolerances::assert_close;
use soakbook::book::body::{Body, Ending, TestStart, What};
use soakbook::findings::{Late, Unknown};
use soakbook::trade::heater::Cycle;
use std::sync::Arc;

/// What is said of a lag of 2 s before a trip that was marked and read in the first heat-up.
fn late_in_first_heat_up(at: i64, celsius: f64) -> Option<Late> {
    late_after(3, None, |_| (), at, celsius)
}

/// The same by so many profile runs, with "at top temperature" marked at a time, and with a test that differs.
fn late_after(
    profile_runs: u128,
    top_at: Option<i64>,
    differs: impl Fn(&mut TestStart),
    at: i64,
    celsius: f64,
) -> Option<Late> {
    let (mut phone, profile) = phone(profile_runs);
    let (test, from) = (id(1), phone.mono + 1_000);
    phone.mono = from;
    let mut start = lagging(&profile, 2_000, 0);
    start.procedure.not_averaged = 0;
    differs(&mut start);
    phone.in_visit(Body::TestStarted(Arc::new(start)));
    phone.in_visit(Body::Mark { of: test, what: What::HeatOn });
    if let Some(top_at) = top_at {
        phone.mono = from + top_at;
        phone.in_visit(Body::Mark { of: test, what: What::AtTop });
    }
    phone.mono = from + at;
    let trip = phone.in_visit(Body::Mark { of: test, what: What::Tripped });
    phone.in_visit(Body::ReadingTaken { of: test, reading: shown(celsius), trip: Some(trip) });
    phone.mono += 1_000;
    phone.in_visit(Body::TestEnded { test, how: Ending::StoppedEarly });
    let found = phone.visit().tests.remove(0);
    let late = found.trips[0].temperature.unwrap().late;
    let unknown = &found.operating.as_ref().unwrap().unknown;
    assert_eq!(unknown.contains(&Unknown::Lag), late.is_none());
    late
}

#[test]
fn where_reading_and_profile_disagree_on_the_heat_up_nothing_is_taken_for_known() {
    // By hand: the profile passes 94 °C at 138.6 s and is held there at 160 s, but 80 °C was read: another heater, or another supply.
    assert_eq!(late_in_first_heat_up(160_000, 80.0), None);
    // At 94 °C it held, and the lag of 2 s lies within the hold.
    assert_eq!(late_in_first_heat_up(160_000, 94.0).unwrap().rise.0, 0.0);
    // Where the profile rises, at 135.5 s, what was read moves the rate by little: (220 − 92.7)/300 K/s for 2 s.
    let late = late_in_first_heat_up(136_000, 92.7).unwrap();
    assert!((late.rise.0 - 0.85).abs() < 0.02, "{late:?}");
}

/// By hand: how fast the heater heat-ups at 94 °C, (220 − 94)/300 K/s, for 2 s.
const AT_THE_TOP: f64 = 0.84;

fn half_a_second_doubtful(start: &mut TestStart) {
    start.indication.lag_u_ms = 500;
}

fn on_its_own(start: &mut TestStart) {
    start.heater.heating.cycle = Cycle::Auto {
        heat_up_cold_ms: Some(139_000),
        heat_up_again_ms: Some(20_000),
        hold_first_ms: Some(60_000),
        hold_again_ms: Some(10_000),
        off_ms: Some(45_000),
    };
}

#[test]
fn a_reading_that_says_it_still_heat_ups_makes_the_lag_a_heat_up() {
    // By hand: at 139.5 s the profile has passed the top temperature of 94 °C since 0.9 s, and 93.2 °C was read. One profile run leaves the supply
    // open, so the heater would heat-up to 20 + 73.2/(1 − e^(−139.5/300)) = 216.85 °C and rose by (216.85 − 93.2)/300 K/s for 2 s, and for
    // another half a second if the lag was that much longer.
    let late = late_after(1, None, half_a_second_doubtful, 140_000, 93.2).unwrap();
    let rate = (216.85 - 93.2) / 300.0;
    assert!((late.rise.0 - 2.0 * rate).abs() < 0.01, "{late:?}");
    assert!((late.by_lag.0 - 0.5 * rate).abs() < 0.01, "{late:?}");
    assert!(late.by_profile.0 < 0.1 * late.rise.0, "{late:?}");
}

#[test]
fn a_reading_at_the_top_leaves_open_for_how_much_of_the_lag_it_climbed() {
    // By hand: at 137.5 s the profile has 93.5 °C, and 94.3 °C was read: it held, but not for long. Rectangular between nothing and the heat-up
    // of the whole lag (GUM 4.3.7); and one profile run alone leaves the rate open by 0.2/√3 · √2 of itself (EN 50160, as in the live estimate).
    let late = late_after(1, None, half_a_second_doubtful, 138_000, 94.3).unwrap();
    assert!((late.rise.0 - AT_THE_TOP / 2.0).abs() < 0.01, "{late:?}");
    assert!((late.by_lag.0 - AT_THE_TOP / 4.0).abs() < 0.01, "{late:?}");
    let open = (AT_THE_TOP / 2.0 / 3.0_f64.sqrt()).hypot(0.2 / 3.0_f64.sqrt() * 2.0_f64.sqrt() * AT_THE_TOP);
    assert!((late.by_profile.0 - open).abs() < 0.01, "{late:?} {open}");
    // The same where the heater keeps the time, so that it may have held for some seconds by the profile, too: an top temperature that is
    // known to 2 K is a time that is known to 2/0.42 = 4.8 s.
    for at in [138_000, 142_000, 146_000] {
        let late = late_after(3, None, on_its_own, at, 94.0).unwrap();
        assert!((late.rise.0 - AT_THE_TOP / 2.0).abs() < 0.03, "{at}: {late:?}");
        assert!((late.by_profile.0 - AT_THE_TOP / 2.0 / 3.0_f64.sqrt()).abs() < 0.02, "{at}: {late:?}");
    }
    // Half a minute later it has held for longer than the lag.
    let late = late_after(3, None, on_its_own, 172_000, 94.0).unwrap();
    assert!(late.rise.0.abs() < 1e-3 && late.by_profile.0 < 1e-3, "{late:?}");
}

#[test]
fn a_lamp_seen_within_the_lag_says_how_long_it_climbed() {
    // By hand: marked at 150 s, so it heated up until 149.5 s, whatever the profile says; noticed at 150.5 s, 2 s late: 1 s of heat-up.
    let late = late_after(3, Some(150_000), |_| (), 151_000, 94.0).unwrap();
    assert!((late.rise.0 - AT_THE_TOP / 2.0).abs() < 0.01, "{late:?}");
    assert!(late.by_profile.0 < 0.05, "{late:?}");
}

/// A test that trips at 60 s and in every later heat-up; the temperature of its last trip, nobody read.
fn last_trip(differs: impl Fn(&mut TestStart), marks: &[(i64, What)]) -> Option<f64> {
    let (mut phone, profile) = phone(3);
    let (test, from) = (id(1), phone.mono + 1_000);
    let mut start = start(&profile);
    differs(&mut start);
    phone.mono = from;
    phone.in_visit(Body::TestStarted(Arc::new(start)));
    phone.in_visit(Body::Mark { of: test, what: What::HeatOn });
    for (at, what) in [(60, What::Tripped)].iter().chain(marks) {
        phone.mono = from + at * 1_000;
        phone.in_visit(Body::Mark { of: test, what: *what });
    }
    phone.mono += 1_000;
    phone.in_visit(Body::TestEnded { test, how: Ending::StoppedEarly });
    let trips = phone.visit().tests.remove(0).trips;
    assert!(
        trips.iter().all(|trip| trip.number == trip.heat_up as usize),
        "a detector trips once a heat-up: {trips:?}"
    );
    trips.last().unwrap().temperature.map(|of| of.value.0)
}

#[test]
fn a_heat_up_that_only_its_trip_tells_began_by_the_heaters_own_clock() {
    // The nominal heat-up of 160 s has the heater off from 220 to 265 s. By the profile it passes 94 °C at 138.611 s, goes off at 198.611 s and
    // comes on at 243.611 s, where 66.13 K are left: at 250.5 s it has 20 + 66.13 e^(−6.889/400) + 200 (1 − e^(−6.889/300)) = 89.537 °C. It is
    // at 94 °C again 16.168 s after it came on, holds 10 s, is off 45 s and comes on at 314.779 s: at 320.5 s it has 88.965 °C (bisected).
    let slow = |start: &mut TestStart| {
        on_its_own(start);
        if let Cycle::Auto { heat_up_cold_ms, .. } = &mut start.heater.heating.cycle {
            *heat_up_cold_ms = Some(160_000);
        }
    };
    let trips = [(251, What::Tripped), (321, What::Tripped)];
    for (so_many, expected) in [(1, 89.537), (2, 88.965)] {
        let found = last_trip(slow, &trips[..so_many]).unwrap();
        assert!((found - expected).abs() < 0.01, "{found}");
    }
}

#[test]
fn a_heat_up_by_hand_that_nobody_marked_has_no_temperature() {
    // Off at 120 s by a mark; who tripped it at 185 s must have switched it on, nobody says when.
    let unseen = [(120, What::HeaterOff), (185, What::Tripped)];
    assert_eq!(last_trip(|_| (), &unseen), None);
    // By the table above.
    let seen = [(120, What::HeaterOff), (165, What::HeaterOn), (185, What::Tripped)];
    assert_close("path of profile runs read", last_trip(|_| (), &seen).unwrap(), NOTICED[1]);
}
