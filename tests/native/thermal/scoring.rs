//! What the scores of readings do on the simulator: how readings of one test hang together, and how many heaters lose their
//! estimates.

use super::coverage::{HOLD, OFF, STEP, late, profile_run, shown};
use super::simulator::{Heater, Random, Use};
use soakbook::findings::WITHDRAWN_BELOW;
use soakbook::stats::binomial_tail;
use soakbook::thermal::{BAND, Clockwork, Event, HeaterProfile, Live, Start};
use soakbook::units::{Celsius, Kelvin, Seconds};

/// Hold after each later heat-up, s.
const HOLD_AGAIN: f64 = 10.0;

/// Whether the readings at the trips of the second to fifth heat-up lie outside the band before them.
fn test(heater: &Heater, profile: &HeaterProfile, slow: f64, by_itself: bool, random: &mut Random) -> Vec<bool> {
    let mut now = Use::of(heater, random);
    let start = Start {
        ambient: Celsius(now.ambient() + random.normal(0.3)),
        ambient_u: Kelvin(1.0),
        cold: true,
        top: Celsius(heater.top),
        top_u: Kelvin(2.0),
        resolution: Kelvin(STEP),
        clockwork: by_itself.then_some(Clockwork {
            hold_first: Seconds(HOLD),
            hold_again: Seconds(HOLD_AGAIN),
            off: Seconds(OFF),
        }),
    };
    let mut live = Live::start(profile, &start);
    let mut outside = Vec::new();
    let mut on_at = 0.0;
    let share = random.between(0.5, 0.9);
    for heat_up in 1..=5 {
        now.until(on_at);
        now.switch(true);
        if heat_up > 1 && !by_itself {
            live.take(Seconds(on_at), Event::HeaterOn(heat_up));
        }
        let low = now.display();
        let trip = low + (share + random.between(-0.05, 0.05)) * (heater.top - low);
        if now.until_shown(trip, 600.0) && heat_up > 1 {
            let (at, reading) = (Seconds(now.time + late(slow, random)), shown(now.display()));
            let before = live.seen(at).expect("profile runs with cooling");
            let half = Kelvin(STEP / 2.0);
            outside.push(reading + half < before.lo || reading - half > before.hi);
            live.take(at, Event::Reading(reading));
        }
        let limit = now.time + 600.0;
        while now.reached.is_none() && now.time < limit {
            now.until(now.time + 0.05);
        }
        let reached = now.reached.unwrap_or(now.time);
        if !by_itself {
            live.take(Seconds(reached + late(slow, random)), Event::AtTop(heat_up));
        }
        let off = reached + if heat_up == 1 { HOLD } else { HOLD_AGAIN };
        now.until(off);
        now.switch(false);
        if !by_itself {
            live.take(Seconds(off), Event::HeaterOff(heat_up));
        }
        on_at = off + OFF;
    }
    outside
}

/// Prints what DEVELOPERS.md says of it.
#[test]
#[ignore = "prints figures"]
fn scores_on_the_simulator() {
    for profile_runs in [2, 3, 5] {
        let mut random = Random(7 + profile_runs);
        let (mut heaters, mut withdrawn, mut readings, mut out) = (0, 0, 0, 0);
        // Outside or not after one inside and after one outside: how many, and how many of them outside.
        let mut after = [[0; 2]; 2];
        for index in 0..60 {
            let heater = Heater::any(&mut random);
            let slow = random.between(0.0, 1.0);
            let taken: Vec<_> = (0..profile_runs).map(|_| profile_run(&heater, slow, &mut random)).collect();
            let Ok(profile) = HeaterProfile::fit(&taken) else { continue };
            let (mut tests, mut first, mut lost) = (0, 0, false);
            for _ in 0..50 {
                let outside = test(&heater, &profile, slow, index % 2 == 0, &mut random);
                readings += outside.len();
                out += outside.iter().filter(|outside| **outside).count();
                for pair in outside.windows(2) {
                    after[usize::from(pair[0])][0] += 1;
                    after[usize::from(pair[0])][1] += usize::from(pair[1]);
                }
                tests += 1;
                first += u32::from(outside.first() == Some(&true));
                lost |= binomial_tail(tests, first, 1.0 - BAND) < WITHDRAWN_BELOW;
            }
            heaters += 1;
            withdrawn += usize::from(lost);
        }
        let share = |[of, out]: [usize; 2]| out as f64 / of.max(1) as f64;
        println!(
            "{profile_runs} profile runs: {withdrawn} of {heaters} heaters withdrawn; {out} of {readings} readings outside, {:.3} after one inside, \
             {:.3} after one outside",
            share(after[0]),
            share(after[1])
        );
    }
}
