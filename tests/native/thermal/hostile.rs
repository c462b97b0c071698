//! Profile runs and events of any kind: nothing panics or goes on for ever, and what is said is in order.

use super::cavity::{Cavity, Kind};
use super::coverage::profile_run;
use super::simulator::{Heater, Random, Simulated};
use proptest::collection::vec;
use proptest::prelude::*;
use soakbook::thermal::{Clockwork, Event, HeaterProfile, Live, ProfileRun, Start};
use soakbook::units::{Celsius, Kelvin, Seconds};

/// A number that taps and displays give, or one that only a broken file has.
fn number(usual: std::ops::Range<f64>) -> impl Strategy<Value = f64> {
    prop_oneof![
        12 => usual,
        1 => prop_oneof![Just(0.0), Just(-5.0), Just(8.64e5), Just(1e300)],
        1 => prop_oneof![Just(f64::NAN), Just(f64::INFINITY), Just(f64::NEG_INFINITY)],
    ]
}

fn readings(most: usize) -> impl Strategy<Value = Vec<(Seconds, Celsius)>> {
    vec((number(0.0..300.0), number(15.0..110.0)), 0..most)
        .prop_map(|readings| readings.into_iter().map(|(t, shown)| (Seconds(t), Celsius(shown))).collect())
}

/// A profile run as heaters give them, so that most have a profile: times in order, some of them equal, temperatures that bend.
fn plausible() -> impl Strategy<Value = ProfileRun> {
    let steps = || vec(0.0..20.0_f64, 3..14);
    (steps(), steps(), 0.2..0.8_f64, 80.0..500.0_f64, prop_oneof![Just(0.1), Just(1.0)], any::<bool>()).prop_map(
        |(up, down, rate, tau, step, cold)| {
            let shown = |temperature: f64| Celsius((temperature / step).round() * step);
            let walk = |steps: &[f64], at: &dyn Fn(f64) -> f64| -> Vec<(Seconds, Celsius)> {
                let mut t = 0.0;
                let mut take = |gap: &f64| {
                    t += gap.round();
                    (Seconds(t), shown(at(t)))
                };
                steps.iter().map(&mut take).collect()
            };
            let end = up.iter().sum::<f64>();
            let heat_up = |t: f64| 20.0 + rate * tau * -(-t / tau).exp_m1();
            let top = heat_up(end) - 20.0;
            ProfileRun {
                heating: walk(&up, &heat_up),
                cooling: walk(&down, &|t| 20.0 + top * (-t / tau).exp()),
                ambient: Celsius(20.0),
                ambient_u: Kelvin(1.0),
                cold,
                top_at: (end > 100.0).then_some(Seconds(end * 0.8)),
                off_at: Some(Seconds(end)),
                resolution: Kelvin(step),
            }
        },
    )
}

fn broken() -> impl Strategy<Value = ProfileRun> {
    let time = || proptest::option::of(number(0.0..300.0));
    (readings(20), readings(10), number(0.0..40.0), any::<bool>(), time(), time(), number(0.0..2.0)).prop_map(
        |(heating, cooling, ambient, cold, top, off, step)| ProfileRun {
            heating,
            cooling,
            ambient: Celsius(ambient),
            ambient_u: Kelvin(1.0),
            cold,
            top_at: top.map(Seconds),
            off_at: off.map(Seconds),
            resolution: Kelvin(step),
        },
    )
}

fn event(number: impl Strategy<Value = f64>) -> impl Strategy<Value = Event> {
    (0..5_u32, 1..6_u32, number).prop_map(|(what, heat_up, shown)| match what {
        0 => Event::AtTop(heat_up),
        1 => Event::HeaterOff(heat_up),
        2 => Event::HeaterOn(heat_up),
        _ => Event::Reading(Celsius(shown)),
    })
}

fn clockwork() -> impl Strategy<Value = Option<Clockwork>> {
    let time = || prop_oneof![3 => 10.0..120.0_f64, 1 => Just(0.0), 1 => Just(-3.0)];
    let times = (time(), time(), time()).prop_map(|(hold_first, hold_again, off)| Clockwork {
        hold_first: Seconds(hold_first),
        hold_again: Seconds(hold_again),
        off: Seconds(off),
    });
    proptest::option::of(times)
}

fn start(top: f64, cold: bool, clockwork: Option<Clockwork>) -> Start {
    Start {
        ambient: Celsius(20.0),
        ambient_u: Kelvin(1.0),
        cold,
        top: Celsius(top),
        top_u: Kelvin(2.0),
        resolution: Kelvin(0.5),
        clockwork,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_said_is_in_order_whatever_was_seen(
        profile_runs in vec(plausible(), 1..5),
        top in prop_oneof![5 => 40.0..120.0_f64, 1 => Just(5.0), 1 => Just(20.0)],
        cold in any::<bool>(),
        clockwork in clockwork(),
        events in vec((0.0..60.0_f64, event(5.0..120.0)), 0..8),
        look in 0.0..3_000.0_f64,
    ) {
        let Ok(profile) = HeaterProfile::fit(&profile_runs) else { return Ok(()) };
        let mut live = Live::start(&profile, &start(top, cold, clockwork));
        let mut at = 0.0;
        for (wait, event) in events {
            at += wait;
            live.take(Seconds(at), event);
            for t in [at, at + look] {
                let Ok(said) = live.at(Seconds(t)) else { continue };
                let numbers = [said.value.0, said.lo.0, said.hi.0, said.u.0, said.rate.0, said.rate_u.0];
                prop_assert!(numbers.iter().all(|number| number.is_finite()), "{said:?}");
                prop_assert!(said.lo.0 <= said.value.0 && said.value.0 <= said.hi.0 && said.u.0 >= 0.0, "{said:?}");
            }
        }
    }

    #[test]
    fn nothing_broken_makes_a_panic_or_an_endless_loop(
        profile_runs in vec(prop_oneof![broken(), plausible()], 0..4),
        top in number(40.0..120.0),
        cold in any::<bool>(),
        clockwork in clockwork(),
        events in vec((number(0.0..600.0), event(number(15.0..110.0))), 0..12),
    ) {
        let Ok(profile) = HeaterProfile::fit(&profile_runs) else { return Ok(()) };
        let mut live = Live::start(&profile, &start(top, cold, clockwork));
        for (at, event) in events {
            live.take(Seconds(at), event);
            let _ = live.at(Seconds(at));
        }
    }
}

/// A quantity may be negative by so much of its variance: derivatives by differences carry ten digits, and they go through hundreds of
/// products.
const EPS: f64 = 1e-9;

/// Whether no eigenvalue of a covariance, each quantity in its own standard deviations, is below −[`EPS`]: by Sylvester's law of inertia
/// as many are as there are negative pivots.
fn is_semidefinite(covariance: &[[f64; 10]; 10]) -> bool {
    let sd: [f64; 10] = std::array::from_fn(|i| covariance[i][i].sqrt());
    let mut left = [[0.0; 10]; 10];
    for i in 0..10 {
        for j in 0..10 {
            let scale = sd[i] * sd[j];
            left[i][j] = if scale > 0.0 { covariance[i][j] / scale } else { covariance[i][j] };
        }
        left[i][i] += EPS;
    }
    for pivot in 0..10 {
        if left[pivot][pivot].is_nan() || left[pivot][pivot] <= 0.0 {
            return false;
        }
        for i in pivot + 1..10 {
            let (above, share) = (left[pivot], left[i][pivot] / left[pivot][pivot]);
            left[i].iter_mut().zip(above).for_each(|(entry, above)| *entry -= share * above);
        }
    }
    true
}

/// Takes events that each come after a wait, looking after each and `look` later.
fn follow(live: &Live, events: &[(f64, Event)], look: f64, most: f64) -> Result<(), TestCaseError> {
    let (mut live, mut at) = (live.clone(), 0.0);
    for (wait, event) in events {
        at += wait;
        live.take(Seconds(at), *event);
        // What readings that no heater shows have made of it is no covariance any more, and then nothing is said.
        let is_one = live.covariance().iter().flatten().all(|entry| entry.is_finite());
        prop_assert!(!is_one || is_semidefinite(live.covariance()), "{:?}", live.covariance());
        prop_assert!(is_one || live.at(Seconds(at)).is_err());
        for t in [at, at + look] {
            let Ok(said) = live.at(Seconds(t)) else { continue };
            let numbers = [said.value.0, said.lo.0, said.hi.0, said.u.0, said.rate.0, said.rate_u.0, said.clock_u.0];
            prop_assert!(numbers.iter().all(|number| number.is_finite()), "{said:?}");
            prop_assert!(AMBIENT - BELOW <= said.lo.0 && said.lo.0 <= said.value.0, "{said:?}");
            prop_assert!(said.value.0 <= said.hi.0 && said.hi.0 <= most, "{said:?}, at most {most}");
        }
    }
    Ok(())
}

/// A heater of this seed after so many profile runs, and the highest that an estimate of it may say: the highest that was displayed, with
/// what heat on its way still adds, and what the estimate itself allows on top of its own highest.
fn begun(cavity: bool, seed: u64, runs: usize, cold: bool, clockwork: Option<Clockwork>) -> Option<(Live, f64)> {
    let mut random = Random(seed);
    let (top, taken) = if cavity {
        let heater = Cavity::any(Kind::Behind, &mut random);
        (heater.top(), (0..runs).map(|_| profile_run(&heater, 60.0, 0.5, &mut random)).collect::<Vec<_>>())
    } else {
        let heater = Heater::any(&mut random);
        (heater.top(), (0..runs).map(|_| profile_run(&heater, 60.0, 0.5, &mut random)).collect())
    };
    let profile = HeaterProfile::fit(&taken).ok()?;
    let live = Live::start(&profile, &start(top, cold, clockwork));
    let seen = taken.iter().flat_map(|run| run.heating.iter().chain(&run.cooling)).map(|(_, shown)| shown.0);
    let adds = profile.rate.value * profile.lag.as_ref().map_or(0.0, |lag| lag.value.max(0.0));
    Some((live, seen.fold(top, f64::max) + 2.0 * adds + 2.0 * BELOW))
}

const AMBIENT: f64 = 20.0;
/// How far an estimate may lie below ambient or above all that the heater reaches, K: what the estimate itself allows.
const BELOW: f64 = 5.0;

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_covariance_stays_one_and_an_estimate_within_what_the_heater_reaches(
        cavity in any::<bool>(),
        seed in any::<u64>(),
        runs in 1..5_usize,
        cold in any::<bool>(),
        clockwork in clockwork(),
        mut events in vec((0.0..90.0_f64, event(AMBIENT..95.0)), 2..10),
        (undone, moved, by) in (0..10_usize, 0..10_usize, 0.0..60.0_f64),
        look in 0.0..600.0_f64,
    ) {
        let Some((live, most)) = begun(cavity, seed, runs, cold, clockwork) else { return Ok(()) };
        follow(&live, &events, look, most)?;
        // A mark or a reading undone, and another one moved.
        events.remove(undone % events.len());
        let moved = moved % events.len();
        events[moved].0 += by;
        follow(&live, &events, look, most)?;
    }
}

/// Found by the property above: it said 42 K below ambient, without any uncertainty.
#[test]
fn readings_that_draw_the_top_below_ambient_leave_no_estimate() {
    let (live, most) = begun(true, 10_214_102_462_879_957_637, 3, false, None).expect("a profile");
    let events = [
        (29.597_323_095_406_164, Event::Reading(Celsius(21.036_474_575_689_91))),
        (46.476_725_774_662_384, Event::AtTop(1)),
        (0.0, Event::Reading(Celsius(37.133_035_985_963_225))),
        (0.0, Event::HeaterOn(3)),
    ];
    follow(&live, &events, 408.686_787_291_501_54, most).unwrap();
    let off = [(0.0, Event::HeaterOff(2))];
    follow(&live, &[&off[..], &events[..]].concat(), 408.686_787_291_501_54, most).unwrap();
}

#[test]
fn three_readings_make_no_profile_or_say_how_little_they_know() {
    let three = |times: [f64; 3], shown: [f64; 3]| ProfileRun {
        heating: times.into_iter().zip(shown).map(|(t, shown)| (Seconds(t), Celsius(shown))).collect(),
        cooling: vec![],
        ambient: Celsius(20.0),
        ambient_u: Kelvin(1.0),
        cold: true,
        top_at: None,
        off_at: None,
        resolution: Kelvin(0.1),
    };
    // AICc of a line with its variance, three parameters, needs five points (Hurvich & Tsai 1989); from cold there are four.
    assert!(HeaterProfile::fit(&[three([10.0, 20.0, 30.0], [25.0, 30.0, 35.0])]).is_err());
    assert!(HeaterProfile::fit(&[three([10.0, 10.0, 10.0], [25.0, 30.0, 35.0])]).is_err());
    assert!(HeaterProfile::fit(&[]).is_err());
}
