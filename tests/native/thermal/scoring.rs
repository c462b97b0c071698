//! What the scores of readings do on the simulator: how readings of one run hang together, and how many heads lose their
//! estimates.

use super::coverage::{HOLD, OFF, STEP, late, ramp, shown};
use super::simulator::{Head, Random, Use};
use soakbook::findings::WITHDRAWN_BELOW;
use soakbook::stats::binomial_tail;
use soakbook::thermal::{BAND, Clockwork, Event, HeatCurve, Live, Start};
use soakbook::units::{Celsius, Kelvin, Seconds};

/// Hold after each later climb, s.
const HOLD_AGAIN: f64 = 10.0;

/// Whether the readings at the trips of the second to fifth climb lie outside the band before them.
fn run(head: &Head, curve: &HeatCurve, slow: f64, by_itself: bool, random: &mut Random) -> Vec<bool> {
    let mut now = Use::of(head, random);
    let start = Start {
        ambient: Celsius(now.ambient() + random.normal(0.3)),
        ambient_u: Kelvin(1.0),
        cold: true,
        upper: Celsius(head.upper),
        upper_u: Kelvin(2.0),
        resolution: Kelvin(STEP),
        clockwork: by_itself.then_some(Clockwork {
            hold_first: Seconds(HOLD),
            hold_again: Seconds(HOLD_AGAIN),
            off: Seconds(OFF),
        }),
    };
    let mut live = Live::start(curve, &start);
    let mut outside = Vec::new();
    let mut on_at = 0.0;
    let share = random.between(0.5, 0.9);
    for climb in 1..=5 {
        now.until(on_at);
        now.switch(true);
        if climb > 1 && !by_itself {
            live.take(Seconds(on_at), Event::HeadOn(climb));
        }
        let low = now.display();
        let trip = low + (share + random.between(-0.05, 0.05)) * (head.upper - low);
        if now.until_shown(trip, 600.0) && climb > 1 {
            let (at, reading) = (Seconds(now.time + late(slow, random)), shown(now.display()));
            let before = live.seen(at).expect("ramps with cooling");
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
            live.take(Seconds(reached + late(slow, random)), Event::AtUpper(climb));
        }
        let off = reached + if climb == 1 { HOLD } else { HOLD_AGAIN };
        now.until(off);
        now.switch(false);
        if !by_itself {
            live.take(Seconds(off), Event::HeadOff(climb));
        }
        on_at = off + OFF;
    }
    outside
}

/// Prints what DEVELOPERS.md says of it.
#[test]
#[ignore = "prints figures"]
fn scores_on_the_simulator() {
    for ramps in [2, 3, 5] {
        let mut random = Random(7 + ramps);
        let (mut heads, mut withdrawn, mut readings, mut out) = (0, 0, 0, 0);
        // Outside or not after one inside and after one outside: how many, and how many of them outside.
        let mut after = [[0; 2]; 2];
        for index in 0..60 {
            let head = Head::any(&mut random);
            let slow = random.between(0.0, 1.0);
            let taken: Vec<_> = (0..ramps).map(|_| ramp(&head, slow, &mut random)).collect();
            let Ok(curve) = HeatCurve::fit(&taken) else { continue };
            let (mut runs, mut first, mut lost) = (0, 0, false);
            for _ in 0..50 {
                let outside = run(&head, &curve, slow, index % 2 == 0, &mut random);
                readings += outside.len();
                out += outside.iter().filter(|outside| **outside).count();
                for pair in outside.windows(2) {
                    after[usize::from(pair[0])][0] += 1;
                    after[usize::from(pair[0])][1] += usize::from(pair[1]);
                }
                runs += 1;
                first += u32::from(outside.first() == Some(&true));
                lost |= binomial_tail(runs, first, 1.0 - BAND) < WITHDRAWN_BELOW;
            }
            heads += 1;
            withdrawn += usize::from(lost);
        }
        let share = |[of, out]: [usize; 2]| out as f64 / of.max(1) as f64;
        println!(
            "{ramps} ramps: {withdrawn} of {heads} heads withdrawn; {out} of {readings} readings outside, {:.3} after one inside, \
             {:.3} after one outside",
            share(after[0]),
            share(after[1])
        );
    }
}
