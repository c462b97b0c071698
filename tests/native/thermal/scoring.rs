//! What the scores of readings do on the simulator: how readings of one test hang together, and how many heaters lose their
//! estimates.

use super::coverage::{HOLD, OFF, STEP, late, profile_run, shown};
use super::simulator::{Heater, Heats, Random, Simulated};
use soakbook::findings::Record;
use soakbook::thermal::{Clockwork, Event, HeaterProfile, Live, Start};
use soakbook::units::{Celsius, Kelvin, Seconds};

/// Hold after each later heat-up, s.
const HOLD_AGAIN: f64 = 10.0;

/// Whether the readings at the trips of the second to fifth heat-up lie outside the band before them.
fn test(heater: &Heater, profile: &HeaterProfile, slow: f64, by_itself: bool, random: &mut Random) -> Vec<bool> {
    let mut now = heater.start(random);
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

/// Tests with each heater.
const TESTS: u32 = 50;

#[derive(Default)]
struct Counted {
    heaters: u32,
    /// Withdrawn within ten tests and within all, by first readings alone and by all readings.
    withdrawn: [[u32; 2]; 2],
    /// Readings, and those outside.
    readings: [usize; 2],
    /// The same of readings after one inside and after one outside.
    after: [[usize; 2]; 2],
}

/// Tests with heaters that have this share of the power they had in their profile runs.
fn count(profile_runs: usize, power: f64) -> Counted {
    let mut random = Random(7 + profile_runs as u64);
    let mut counted = Counted::default();
    for index in 0..60 {
        let heater = Heater::any(&mut random);
        let slow = random.between(0.0, 1.0);
        let taken: Vec<_> = (0..profile_runs).map(|_| profile_run(&heater, HOLD, slow, &mut random)).collect();
        let Ok(profile) = HeaterProfile::fit(&taken) else { continue };
        let heater = heater.weakened(power);
        let mut records = [Record::default(); 2];
        let mut lost = [u32::MAX; 2];
        for number in 1..=TESTS {
            let outside = test(&heater, &profile, slow, index % 2 == 0, &mut random);
            counted.readings[0] += outside.len();
            counted.readings[1] += outside.iter().filter(|outside| **outside).count();
            for pair in outside.windows(2) {
                counted.after[usize::from(pair[0])][0] += 1;
                counted.after[usize::from(pair[0])][1] += usize::from(pair[1]);
            }
            records[0].count(outside.first().copied());
            records[1].count(outside);
            for (record, lost) in records.iter().zip(&mut lost) {
                *lost = if record.withdrawn.is_some() { number.min(*lost) } else { *lost };
            }
        }
        counted.heaters += 1;
        for (by, lost) in lost.iter().enumerate() {
            counted.withdrawn[by][0] += u32::from(*lost <= 10);
            counted.withdrawn[by][1] += u32::from(*lost <= TESTS);
        }
    }
    counted
}

/// Prints what DEVELOPERS.md says of it.
#[test]
#[ignore = "prints figures"]
fn scores_on_the_simulator() {
    let share = |[of, out]: [usize; 2]| 100.0 * out as f64 / of.max(1) as f64;
    for power in [1.0, 0.92, 0.85, 0.75] {
        for profile_runs in [2, 3, 5] {
            let Counted { heaters, withdrawn: [first, all], readings, after } = count(profile_runs, power);
            println!(
                "power {power}, {profile_runs} profile runs: of {heaters} heaters withdrawn after 10 and {TESTS} tests {first:?} by first readings, {all:?} by \
                 all; {:.2} % of readings outside, {:.1} % after one outside",
                share(readings),
                share(after[1])
            );
        }
    }
}
