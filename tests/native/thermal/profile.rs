//! The heater profile of several profile runs. Expected fits: scipy 1.17.1 `optimize.least_squares(method="lm")` over k, λ and a start and
//! a rate for each profile run; covariance s² (JᵀJ)⁻¹; AICc from its sum of squares.

use crate::tolerances::assert_close;
use soakbook::thermal::{HeaterProfile, HeatingUp, ProfileRun, Refused, Unseen};
use soakbook::units::{Celsius, Kelvin, Seconds};

/// Readings every `step` seconds from 0, each tapped the half second after it that the fit takes off again.
pub(super) fn every(step: f64, temperatures: &[f64]) -> Vec<(Seconds, Celsius)> {
    temperatures.iter().enumerate().map(|(i, &t)| (Seconds(step * i as f64 + 0.5), Celsius(t))).collect()
}

pub(super) fn profile_run(
    ambient: f64,
    heating: Vec<(Seconds, Celsius)>,
    cooling: Vec<(Seconds, Celsius)>,
) -> ProfileRun {
    ProfileRun {
        heating,
        cooling,
        ambient: Celsius(ambient),
        ambient_u: Kelvin(0.5),
        cold: true,
        top_at: None,
        off_at: None,
        resolution: Kelvin(0.1),
    }
}

/// τ = 300 s, λ = 6 s, 0.42 and 0.40 K/s, normal noise of 0.15 K, rounded to 0.1 °C.
const FIRST: [f64; 13] = [20.4, 22.6, 26.1, 29.9, 33.8, 37.4, 41.1, 44.7, 47.8, 51.0, 54.2, 57.2, 60.1];
const SECOND: [f64; 13] = [23.3, 25.4, 29.0, 32.4, 36.1, 39.4, 42.9, 46.1, 49.5, 52.4, 55.6, 58.4, 61.2];

pub(crate) fn two_profile_runs() -> [ProfileRun; 2] {
    [profile_run(20.0, every(10.0, &FIRST), vec![]), profile_run(23.0, every(10.0, &SECOND), vec![])]
}

#[test]
fn profile_runs_are_fitted_together() {
    let profile = HeaterProfile::fit(&two_profile_runs()).unwrap();
    assert_eq!(profile.heating_up, HeatingUp::Exponential);
    let (tau, lag) = (profile.heating_tau.unwrap(), profile.lag.unwrap());
    assert_close("joint fit", tau.value, 319.74262934644327);
    assert_close("joint fit", lag.value, 5.979713631492584);
    assert_close("joint fit", tau.u, 16.544405191282465);
    assert_close("joint fit", lag.u, 0.3530884479306816);
    assert_close("joint fit", profile.profile_runs[0].rate.0, 0.416087416323542);
    assert_close("joint fit", profile.profile_runs[1].rate.0, 0.3958102012450337);
    assert_close("joint fit", profile.profile_runs[0].start.0, 0.4246493231772476);
    assert_close("joint fit", profile.aicc.exponential.unwrap(), -104.0880773280447);
    assert_close("joint fit", profile.aicc.constant_rate.unwrap(), -23.832873995320874);
    // numpy 2.4.6 `mean`, `std(ddof=1)` of both rates.
    assert_close("joint fit", profile.rate.value, 0.40594880878428785);
    assert_close("joint fit", profile.rate.between.unwrap(), 0.014338156285591349);
    assert_close("joint fit", profile.residual_sd.0, 0.010902086316813109_f64.sqrt());
    let left: f64 = profile
        .profile_runs
        .iter()
        .flat_map(|profile_run| &profile_run.heating_up)
        .map(|(_, left)| left.0 * left.0)
        .sum();
    assert_close("joint fit", left, 0.21804172633626218);
    assert_eq!(profile.cooling_tau.unwrap_err(), Refused::TooFew);
}

#[test]
fn the_plot_is_the_fit() {
    let profile = HeaterProfile::fit(&two_profile_runs()).unwrap();
    for (index, readings) in [FIRST, SECOND].iter().enumerate() {
        for ((t, left), shown) in profile.profile_runs[index].heating_up.iter().zip(readings) {
            assert_close("last digits", profile.heat_up_at(index, *t).unwrap().0, shown - left.0);
        }
    }
    assert_eq!(profile.heat_up_at(2, Seconds(0.0)), None);
    assert_eq!(profile.cooling_at(0, Seconds(0.0)), None);
}

#[test]
fn one_profile_run_says_that_its_spread_is_unknown() {
    let profile = HeaterProfile::fit(&two_profile_runs()[..1]).unwrap();
    assert_eq!(profile.rate.between, None);
    assert!(!profile.spread_seen());
    assert!(profile.rate.u > 0.0);
}

#[test]
fn a_constant_rate_is_preferred_where_nothing_bends() {
    // 0.5 K/s from 20 °C, normal noise of 0.1 K; numpy 2.4.6 `polyfit`.
    let straight = [20.0, 25.1, 30.1, 34.9, 40.0, 44.9, 50.1, 55.0, 60.1, 64.8, 70.2, 75.0, 80.1];
    let profile = HeaterProfile::fit(&[profile_run(20.0, every(10.0, &straight), vec![])]).unwrap();
    assert_eq!(profile.heating_up, HeatingUp::ConstantRate);
    assert!(profile.aicc.constant_rate < profile.aicc.exponential);
    assert_close("joint fit", profile.rate.value, 0.5002747252747253);
    assert_close("joint fit", profile.profile_runs[0].start.0, 0.006593406593406593);
    assert_eq!((profile.heating_tau, profile.rise, profile.lag), (None, None, None));
}

#[test]
fn readings_that_carry_no_profile_are_refused_with_the_reason() {
    #[track_caller]
    fn check(temperatures: &[f64], expected: Refused) {
        assert_eq!(HeaterProfile::fit(&[profile_run(20.0, every(10.0, temperatures), vec![])]), Err(expected));
    }
    check(&[], Refused::TooFewClimbing);
    check(&[20.0, 30.0, 40.0], Refused::TooFewClimbing);
    check(&[20.0, 20.0, 20.0, 20.0, 20.0, 20.0, 20.0], Refused::Flat);
    check(&[60.0, 55.0, 49.0, 44.0, 40.0, 35.0, 31.0], Refused::WrongDirection);
    check(&[20.0, 20.4, 21.6, 23.6, 26.4, 30.0, 34.4, 39.6, 45.6, 52.4, 60.0], Refused::Accelerating);
    check(&[20.0, f64::NAN, 40.0, 50.0, 60.0, 70.0, 80.0], Refused::NotFinite);
    check(&[20.0, 90.0, 90.1, 89.9, 90.0, 90.1, 89.9, 90.0], Refused::TooFast);
    assert_eq!(HeaterProfile::fit(&[]), Err(Refused::TooFewClimbing));
}

#[test]
fn a_level_of_readings_all_alike_is_no_surer_than_the_display() {
    let mut profile_run = profile_run(20.0, every(10.0, &FIRST), vec![]);
    profile_run.top_at = Some(Seconds(121.0));
    profile_run.heating.extend([130.0, 140.0, 150.0].map(|at| (Seconds(at), Celsius(60.0))));
    let held = HeaterProfile::fit(&[profile_run]).unwrap().held.unwrap();
    assert_close("exact", held.value, 60.0);
    // By hand (GUM 4.3.7): half a step of 0.1 K over √3 is 0.1 K/√12.
    assert_close("last digits", held.u, 0.1 / 12.0_f64.sqrt());
}

#[test]
fn cooling_that_carries_nothing_leaves_heating_alone() {
    let mut readings = profile_run(20.0, every(10.0, &FIRST), every(20.0, &[60.0, 60.0, 60.0]));
    assert_eq!(HeaterProfile::fit(&[readings.clone()]).unwrap().cooling_tau, Err(Refused::Flat));
    // Exactly on a profile to 20 °C: two readings say nothing of their own error.
    readings.cooling = every(20.0, &[60.0, 40.0]);
    assert_eq!(HeaterProfile::fit(&[readings.clone()]).unwrap().cooling_tau, Err(Refused::TooFew));
    readings.cooling = every(20.0, &[60.0, 63.0, 67.0]);
    assert!(HeaterProfile::fit(&[readings]).unwrap().cooling_tau.is_err());
}

#[test]
fn readings_that_say_nothing_say_so() {
    // Random numbers: the line through them rises by 0.14 K/s with a standard error of 0.19 (scipy 1.17.1 `linregress`).
    let random = [20.0, 71.0, 33.0, 64.0, 25.0, 58.0, 80.0, 22.0, 61.0, 35.0, 79.0, 48.0];
    let random = HeaterProfile::fit(&[profile_run(20.0, every(10.0, &random), vec![])]);
    assert_eq!(random.err(), Some(Refused::Scattered));
    // Warmer and warmer without heat.
    let warmer = every(20.0, &[60.0, 63.0, 65.0, 66.0, 66.5]);
    let profile = HeaterProfile::fit(&[profile_run(20.0, every(10.0, &FIRST), warmer)]).unwrap();
    assert_eq!(profile.cooling_tau, Err(Refused::WrongDirection));
}

#[test]
fn what_one_profile_run_tells_leaves_the_spread_open() {
    let of = |profile_runs: &[ProfileRun]| HeaterProfile::fit(profile_runs).unwrap();
    let mut first = profile_run(20.0, every(10.0, &FIRST), every(20.0, &[60.0, 56.0, 52.4, 49.2, 46.2, 43.6, 41.3]));
    first.off_at = Some(Seconds(121.0));
    let one = of(&[first.clone()]);
    // The assumed spread of the heating power, 0.2/√3 of the rate, is in it whatever the readings say.
    assert!(one.rate.u > 0.2 / 3.0_f64.sqrt() * one.rate.value);
    // Profile runs that happen to be all alike are no surer than their readings.
    let alike = of(&[first.clone(), first.clone(), first]);
    let scatter = alike.residual_sd.0;
    assert!(alike.cooling_tau.unwrap().u > 0.0 && alike.rate.u > 0.0 && scatter > 0.0);
}

#[test]
fn a_profile_says_what_its_runs_cannot_carry() {
    let [first, _] = two_profile_runs();
    // Every 4 s at the top temperature, then every 12 s after heat off.
    let held = |until: usize| (0..=until).map(|i| (Seconds(120.5 + 4.0 * i as f64), Celsius(60.0 + (i % 2) as f64)));
    let cools =
        |from: f64| (0..6).map(move |i| (Seconds(from + 12.0 * f64::from(i)), Celsius(60.0 - 2.0 * f64::from(i))));
    let unseen = |until: usize, from: f64| {
        let mut heating = first.heating.clone();
        heating.extend(held(until));
        let off_at = Some(heating[heating.len() - 1].0);
        let run = ProfileRun {
            heating,
            cooling: cools(from).collect(),
            top_at: Some(Seconds(120.6)),
            off_at,
            ..first.clone()
        };
        HeaterProfile::fit(&[run.clone(), run]).unwrap().unseen()
    };
    assert_eq!(unseen(16, 5.0), []);
    assert_eq!(unseen(16, 40.0), [Unseen::RunningOn]);
    assert_eq!(unseen(3, 5.0), [Unseen::Settling]);
    assert_eq!(unseen(0, 5.0), [Unseen::Level]);
    assert!(Unseen::Level.to_string().contains("setting"));
}
