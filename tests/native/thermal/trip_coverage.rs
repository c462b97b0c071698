//! How often U holds the operating temperature, and the interval of a trip the heater's temperature at it, where the heater profile takes
//! part: a sign that is late, and trips that nobody read. From entries to findings, on the simulated heaters.

use super::coverage::{HOLD, OFF, late, profile_run, shown};
use super::simulator::{Heater, Heats, Random, Simulated, Use};
use crate::sample::{Phone, id, k, started};
use crate::tolerances::assert_share;
use soakbook::book::Id;
use soakbook::book::body::{Body, Ending, ProfileRunStart, TestStart, What};
use soakbook::book::entry::{Hash, Scope};
use soakbook::findings::{TestFindings, Way};
use soakbook::thermal::ProfileRun;
use soakbook::trade::conditions::Warmth;
use soakbook::trade::heater::Cycle;
use soakbook::units::{Celsius, Degree, Mono, Reading};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Standard uncertainty of the calibration, K, as declared and as drawn.
const CALIBRATION_U: f64 = 0.2;
/// Trips of a test, the first of them not counted.
const TRIPS: u32 = 4;
/// The 97.5 % point of the normal distribution (scipy 1.17.1: scipy.stats.norm.ppf(0.975)).
const NORMAL: f64 = 1.959963984540054;

#[derive(Clone, Copy, Debug)]
struct Case {
    by_itself: bool,
    cold: bool,
    read: bool,
    lagging: bool,
    /// Hold of a heater that cycles by itself after each later heat-up, s.
    hold_again: f64,
}

/// What is true of one test.
struct Truth {
    case: Case,
    test: Id,
    /// Where the detector operates, by a thermometer without error.
    operating: f64,
    /// The heater's temperature at each trip, by the same.
    trips: Vec<f64>,
}

fn ms(seconds: f64) -> i64 {
    (seconds * 1_000.0).round() as i64
}

/// As a display with steps of half a degree shows it.
fn half_degrees(celsius: Celsius) -> Reading {
    Reading { value: (celsius.0 * 10.0).round() as i64, scale: -1, unit: Degree::C }
}

/// As somebody types it in.
fn typed(celsius: f64) -> Reading {
    half_degrees(Celsius(celsius))
}

/// Says everything in the order of its times, and gives the hashes of the trips.
fn say(phone: &mut Phone, scope: Scope, test: Id, from: Mono, mut events: Vec<(i64, Event)>) {
    events.sort_by_key(|(at, _)| *at);
    let mut trip = None;
    for (at, event) in events {
        phone.mono = phone.mono.max(from + at);
        match event {
            Event::Mark(what) => {
                let hash = phone.say(scope, Body::Mark { of: test, what });
                if what == What::Tripped {
                    trip = Some(hash);
                }
            }
            Event::Read(reading) => {
                phone.say(scope, Body::ReadingTaken { of: test, reading, trip: None });
            }
            Event::ReadTrip(reading) => {
                phone.say(scope, Body::ReadingTaken { of: test, reading, trip });
            }
        }
    }
}

#[derive(Clone, Copy)]
enum Event {
    Mark(What),
    Read(Reading),
    /// Of the trip before it.
    ReadTrip(Reading),
}

fn enter(phone: &mut Phone, number: u128, start: &TestStart, taken: &ProfileRun) -> Hash {
    let profile_run = id(number);
    let begins = ProfileRunStart {
        run: profile_run,
        heater: start.heater.clone(),
        position: None,
        marking: None,
        ambient: typed(taken.ambient.0),
        heater_warmth: Warmth::Cold,
        by: None,
    };
    phone.mono += 1_000;
    let from = phone.mono;
    phone.say(Scope::Kit, Body::ProfileRunStarted(Arc::new(begins)));
    let off = taken.off_at.unwrap().0;
    let mut events = vec![(0, Event::Mark(What::HeatOn)), (ms(off), Event::Mark(What::HeaterOff))];
    events.extend(taken.top_at.map(|at| (ms(at.0), Event::Mark(What::AtTop))));
    let read = |at: f64, shown: Celsius| (ms(at), Event::Read(half_degrees(shown)));
    events.extend(taken.heating.iter().filter(|(at, _)| at.0 <= off).map(|(at, shown)| read(at.0, *shown)));
    events.extend(taken.cooling.iter().map(|(at, shown)| read(off + at.0, *shown)));
    say(phone, Scope::Kit, profile_run, from, events);
    phone.mono += 1_000;
    phone.say(Scope::Kit, Body::ProfileRunEnded { run: profile_run, usable: true })
}

/// One heat-up, hold and cool-down at the nominal supply: how long both heat-ups take, and the trough between them.
fn nominal(heater: &Heater, hold: f64, random: &mut Random) -> (f64, f64, f64) {
    let mut now = heater.start(random);
    let heat_up = |now: &mut Use| {
        let from = now.time;
        now.switch(true);
        assert!(now.until_shown(heater.top, 900.0), "every heater reaches its top temperature");
        now.time - from
    };
    let cold = heat_up(&mut now);
    now.until(now.time + hold);
    now.switch(false);
    now.until(now.time + OFF);
    let trough = now.display();
    (cold, heat_up(&mut now), trough)
}

/// A test of one detector; none where it would have tripped before heat came on.
fn test(
    phone: &mut Phone,
    heater: &Heater,
    slow: f64,
    start: TestStart,
    case: Case,
    random: &mut Random,
) -> Option<Truth> {
    let mut start = start;
    let test = start.test;
    let mut now = heater.start(random);
    if !case.cold {
        now.warmed(random.between(0.0, 0.7));
    }
    // Seen late by what is drawn for the whole test, and declared with its mean and standard deviation.
    let lag = if case.lagging { random.between(1.0, 6.0) } else { 0.0 };
    let lag_u = lag / 4.0;
    (start.indication.lag_ms, start.indication.lag_u_ms) = (ms(lag), ms(lag_u));
    let lag = (lag + random.normal(lag_u)).max(0.0);
    start.ambient = Some(typed(now.ambient() + random.normal(0.5)));
    start.heater_warmth = if case.cold { Warmth::Cold } else { Warmth::Warm };
    let (cold, again, trough) = nominal(heater, HOLD, random);
    let hold_again = ms(case.hold_again);
    let (heat_up_cold_ms, heat_up_again_ms) = (Some(ms(cold)), Some(ms(again)));
    start.heater.heating.cycle = if case.by_itself {
        Cycle::Auto {
            heat_up_cold_ms,
            heat_up_again_ms,
            hold_first_ms: Some(ms(HOLD)),
            hold_again_ms: Some(hold_again),
            off_ms: Some(ms(OFF)),
        }
    } else {
        Cycle::Manual { heat_up_cold_ms, heat_up_again_ms }
    };
    let operating = trough + random.between(0.3, 0.9) * (heater.top - trough);
    let scatter = random.between(0.0, 0.4);
    let error = random.normal(CALIBRATION_U);
    let mut trips = Vec::new();
    let mut events = vec![(0, Event::Mark(What::HeatOn))];
    for heat_up in 1..=TRIPS {
        now.switch(true);
        if heat_up > 1 && !case.by_itself {
            events.push((ms(now.time), Event::Mark(What::HeaterOn)));
        }
        let at = operating + random.normal(scatter);
        if now.display() >= at || at > heater.top || !now.until_shown(at, 900.0) {
            return None;
        }
        trips.push(now.display() - error);
        now.until(now.time + lag);
        let tapped = now.time + late(slow, random);
        events.push((ms(tapped), Event::Mark(What::Tripped)));
        if case.read {
            events.push((ms(tapped) + 1, Event::ReadTrip(half_degrees(shown(now.display())))));
        }
        if heat_up == TRIPS {
            break;
        }
        if case.by_itself || heat_up == 1 {
            let limit = now.time + 900.0;
            while now.reached.is_none() && now.time < limit {
                now.until(now.time + 0.05);
            }
            let reached = now.reached.unwrap();
            // A heater that starts warm is soon ahead of its nominal heat-up, and the lamp brings it in step.
            if !case.by_itself || (heat_up == 1 && !case.cold) {
                events.push((ms(reached + late(slow, random)), Event::Mark(What::AtTop)));
            }
            now.until(reached + if heat_up == 1 { HOLD } else { case.hold_again });
        } else {
            // Switched off by hand after the trip.
            now.until(tapped + random.between(2.0, 5.0));
        }
        now.switch(false);
        if !case.by_itself {
            events.push((ms(now.time), Event::Mark(What::HeaterOff)));
        }
        now.until(now.time + OFF);
    }
    let end = ms(now.time) + 3_000;
    phone.mono += 1_000;
    let from = phone.mono;
    phone.in_visit(Body::TestStarted(Arc::new(start)));
    say(phone, Scope::Visit(id(crate::sample::VISIT)), test, from, events);
    phone.mono = phone.mono.max(from + end);
    phone.in_visit(Body::TestEnded { test, how: Ending::Done });
    Some(Truth { case, test, operating: operating - error, trips })
}

#[derive(Default)]
struct Tally {
    within: usize,
    /// Said to be higher than it was, by more than the interval.
    above: usize,
    of: usize,
    /// Half widths, added up.
    width: f64,
    /// Nothing was said, because the profile was contradicted or a trip fell into the wrong heat-up.
    none: usize,
}

impl Tally {
    fn add(&mut self, off: f64, half: f64) {
        self.of += 1;
        self.within += usize::from(off.abs() <= half);
        self.above += usize::from(off > half);
        self.width += half;
    }

    fn share(&self) -> f64 {
        self.within as f64 / self.of as f64
    }

    fn half_width(&self) -> f64 {
        self.width / self.of as f64
    }

    fn line(&self) -> String {
        let Tally { of, above, none, .. } = self;
        let above = *above as f64 / *of as f64;
        format!("{of}, {:.4} within, {above:.4} above, ± {:.2} K, none of {none}", self.share(), self.half_width())
    }
}

type Tallies = BTreeMap<String, Tally>;

fn count(tallies: &mut Tallies, truth: &Truth, found: &TestFindings) {
    let Case { by_itself, cold, read, lagging, .. } = truth.case;
    let way = if read { "read" } else { "estimated" };
    let kind = if by_itself { "by itself" } else { "by hand" };
    let (warmth, sign) = (if cold { "cold" } else { "warm" }, if lagging { "seen late" } else { "seen at once" });
    let names = |what: &str| [format!("{what}, {way}"), format!("{what}, {way}, {kind}, {warmth}, {sign}")];
    for name in names("operating") {
        let tally = tallies.entry(name).or_default();
        match &found.operating {
            Ok(operating) if operating.complete() => {
                tally.add(operating.mean.0 - truth.operating, operating.expanded.0);
            }
            _ => tally.none += 1,
        }
    }
    for (index, (trip, heater)) in found.trips.iter().zip(&truth.trips).enumerate() {
        let what = if index == 0 { "first trip" } else { "trip" };
        for name in names(what) {
            let tally = tallies.entry(name).or_default();
            match trip.temperature.filter(|of| of.late.is_some()) {
                Some(of) => {
                    assert_eq!(of.way == Way::Read, read);
                    tally.add(of.value.0 - heater, NORMAL * of.u.0);
                }
                None => tally.none += 1,
            }
        }
    }
}

fn simulate(heaters: usize, seed: u64, hold_again: f64, profile_runs: usize) -> Tallies {
    let mut random = Random(seed);
    let mut tallies = Tallies::new();
    for _ in 0..heaters {
        let heater = Heater::any(&mut random);
        let slow = random.between(0.0, 1.0);
        let mut phone = Phone::new();
        let mut start = started(1);
        start.heater.setting = Reading { value: (heater.top * 100.0).round() as i64, scale: -2, unit: Degree::C };
        start.heater.heating.overshoot = Some(k("0"));
        start.heater.heating.resolution = Some(k("0.5"));
        start.heater.metrology.calibration_u = Some(k("0.2"));
        start.heater.metrology.fit_u = Some(k("0"));
        start.procedure.trips = TRIPS;
        let mut profile: Vec<Hash> = Vec::new();
        for number in 0..profile_runs {
            let taken = profile_run(&heater, HOLD, slow, &mut random);
            profile.insert(0, enter(&mut phone, 900 + number as u128, &start, &taken));
        }
        start.heater.profile = profile;
        let mut truths = Vec::new();
        for bits in 0..8_u128 {
            let read = bits & 4 == 0;
            // Without readings a sign is late in every other test.
            let lagging = read || random.between(0.0, 1.0) < 0.5;
            let case = Case { by_itself: bits & 1 > 0, cold: bits & 2 > 0, read, lagging, hold_again };
            let start = TestStart { test: id(bits + 1), position: started(bits + 1).position, ..start.clone() };
            truths.extend(test(&mut phone, &heater, slow, start, case, &mut random));
        }
        let found = phone.visit();
        for truth in &truths {
            let found = found.tests.iter().find(|found| found.test == truth.test).unwrap();
            count(&mut tallies, truth, found);
        }
    }
    tallies
}

/// In about 95 % mean ± U holds the true operating temperature, and 1.96 u about what is said of a trip the heater's temperature at
/// it. Heaters of both kinds, from cold and warm, four profile runs each; with each heater four tests that are read and seen late, and four
/// that nobody read.
#[test]
fn what_is_said_of_trips_holds_the_truth() {
    for (name, tally) in &simulate(25, 20_261_128, HOLD, 4) {
        println!("{name}: {}", tally.line());
        if name.matches(", ").count() == 1 {
            assert_share("trips", &format!("{name}, ± {:.2} K", tally.half_width()), tally.share(), 0.95);
            assert!(tally.none * 10 <= tally.of, "{name}: nothing is said of {} beside {}", tally.none, tally.of);
        }
    }
}

/// Prints what DEVELOPERS.md says of it.
#[test]
#[ignore = "prints figures"]
fn trips_on_the_simulator() {
    for (hold_again, profile_runs) in [(HOLD, 4), (HOLD, 2), (HOLD, 3), (10.0, 4)] {
        println!("{profile_runs} profile runs, later holds of {hold_again} s:");
        for (name, tally) in &simulate(500, 1, hold_again, profile_runs) {
            println!("  {name}: {}", tally.line());
        }
    }
}
