//! The first-order curve and its fit.

use proptest::collection::vec;
use proptest::prelude::*;
use soakbook::thermal::{ExpFit, Refused, Shape, exp_fit, ramp_lag};
use soakbook::units::{Celsius, Kelvin, Seconds};

use crate::tolerances::assert_close;

/// Readings every `step` seconds from 0.
fn every(step: f64, temperatures: &[f64]) -> Vec<(Seconds, Celsius)> {
    temperatures.iter().enumerate().map(|(i, &t)| (Seconds(step * i as f64), Celsius(t))).collect()
}

#[track_caller]
fn check(row: &str, fit: &ExpFit, parameters: [f64; 3], errors: [f64; 3]) {
    let (ambient, amplitude, tau) = fit.std_errors().unwrap();
    let got = [fit.ambient.0, fit.amplitude.0, fit.tau.0, ambient.0, amplitude.0, tau.0];
    for (got, expected) in got.into_iter().zip(parameters.into_iter().chain(errors)) {
        assert_close(row, got, expected);
    }
}

// Expected fits: start from scipy 1.17.1 `optimize.curve_fit`, then Gauss–Newton with mpmath; covariance s² (JᵀJ)⁻¹.

#[test]
fn a_heating_record_is_fitted() {
    let readings = every(
        5.0,
        &[
            21.31, 30.89, 38.96, 45.63, 51.92, 57.32, 62.39, 66.43, 70.31, 72.89, 76.57, 78.64, 81.01, 82.71, 84.32,
            85.99, 87.37, 88.24, 89.24, 90.32, 90.69, 91.19, 92.25, 92.5, 92.63,
        ],
    );
    let fit = exp_fit(Shape::Heating, &readings, None).unwrap();
    check(
        "fit",
        &fit,
        [21.39092429876602, 74.72901019655963, 37.81866490328111],
        [0.15983292272609978, 0.1661025997650375, 0.24418544476749265],
    );
    let predicted = fit.predict(Seconds(150.0), 0.95);
    let spread = predicted.spread.unwrap();
    assert_close("fit", predicted.value.0, 94.70430701194994);
    assert_close("fit", spread.se_mean.0, 0.11374855598317678);
    assert_close("fit", spread.lo.0, 94.18174585154577);
    assert_close("fit", spread.hi.0, 95.22686817235412);
    assert_close("fit", fit.time_to_reach(Celsius(57.0)).unwrap().0, 24.477609039838242);
    assert_eq!(fit.time_to_reach(Celsius(97.0)), None);
    let backwards: Vec<_> = readings.iter().rev().copied().collect();
    assert_close("fit", exp_fit(Shape::Heating, &backwards, None).unwrap().tau.0, fit.tau.0);
}

#[test]
fn a_record_shorter_than_its_time_constant_has_wide_errors() {
    let readings = every(
        4.0,
        &[20.0, 24.84, 29.42, 33.91, 38.37, 42.35, 46.55, 50.52, 54.57, 58.51, 62.13, 65.81, 69.1, 72.75, 75.99, 79.52],
    );
    check(
        "fit",
        &exp_fit(Shape::Heating, &readings, None).unwrap(),
        [20.094194532332683, 184.19612120533117, 154.49095073984972],
        [0.07430969396483918, 4.241335753974183, 4.344505904038885],
    );
}

#[test]
fn a_record_without_noise_is_fitted_to_its_rounding() {
    let readings = every(
        10.0,
        &[
            21.0, 36.941008, 49.705569, 59.92663, 68.111017, 74.664561, 79.912229, 84.114233, 87.478935, 90.173177,
            92.330558, 94.058054, 95.441324, 96.54896, 97.435886, 98.146081, 98.71476, 99.170123, 99.534749,
        ],
    );
    check(
        "fit without noise",
        &exp_fit(Shape::Heating, &readings, None).unwrap(),
        [21.000000102963938, 80.0000000899983, 45.000000281167196],
        [1.8577043484822193e-07, 1.8694986454977536e-07, 2.714817394751287e-07],
    );
}

#[test]
fn cooling_records_are_fitted_with_ambient_free_and_given() {
    let free = every(
        3.0,
        &[
            95.88, 87.65, 80.2, 73.53, 67.77, 62.08, 57.62, 53.31, 49.43, 46.33, 43.62, 40.85, 38.73, 36.98, 35.09,
            33.51, 32.06, 30.72, 29.28, 28.87, 27.5,
        ],
    );
    check(
        "fit",
        &exp_fit(Shape::Cooling, &free, None).unwrap(),
        [20.83416224130721, 75.24436537279423, 25.09199165198582],
        [0.214355098429699, 0.19298612099262563, 0.1892620356338349],
    );
    let given = every(
        5.0,
        &[
            129.83, 116.68, 105.01, 94.72, 85.65, 78.38, 71.22, 65.09, 59.9, 55.2, 50.33, 47.59, 43.44, 41.72, 38.79,
            36.23, 34.79, 32.64, 31.3,
        ],
    );
    let fit = exp_fit(Shape::Cooling, &given, Some(Celsius(19.5))).unwrap();
    check("fit", &fit, [19.5, 109.97355506707399, 39.90228311301457], [0.0, 0.2266831061373046, 0.1342576449221957]);
    assert_close("fit", fit.time_to_reach(Celsius(60.0)).unwrap().0, 39.85990506465564);
    assert_close("fit", fit.predict(Seconds(100.0), 0.95).spread.unwrap().se_pred.0, 0.35530963874162547);
}

#[test]
fn as_many_readings_as_parameters_fit_exactly_and_say_nothing_of_their_error() {
    // Exact: 20, 50, 65 halve their distance to 80 every 30 s.
    let fit = exp_fit(Shape::Heating, &every(30.0, &[20.0, 50.0, 65.0]), None).unwrap();
    assert_close("fit", fit.ambient.0, 20.0);
    assert_close("fit", fit.amplitude.0, 60.0);
    assert_close("fit", fit.tau.0, 30.0 / std::f64::consts::LN_2);
    assert_eq!((fit.df(), fit.std_errors(), fit.residual_sd()), (0, None, None));
    assert_eq!(fit.predict(Seconds(90.0), 0.95).spread, None);
    // Exact: 80 above a given 20 are halved in 20 s.
    let cooling = [(Seconds(10.0), Celsius(100.0)), (Seconds(30.0), Celsius(60.0))];
    let fit = exp_fit(Shape::Cooling, &cooling, Some(Celsius(20.0))).unwrap();
    assert_close("fit", fit.amplitude.0, 80.0 * std::f64::consts::SQRT_2);
    assert_close("fit", fit.tau.0, 20.0 / std::f64::consts::LN_2);
    assert_eq!((fit.df(), fit.std_errors(), fit.residual_sd()), (0, None, None));
    // Exact: 1 − e^(−10/τ) and 1 − e^(−30/τ) are 1/2 and 7/8.
    let heating = [(Seconds(10.0), Celsius(60.0)), (Seconds(30.0), Celsius(90.0))];
    let fit = exp_fit(Shape::Heating, &heating, Some(Celsius(20.0))).unwrap();
    assert_close("fit", fit.amplitude.0, 80.0);
    assert_close("fit", fit.tau.0, 10.0 / std::f64::consts::LN_2);
}

#[test]
fn readings_that_cannot_carry_the_curve_are_refused_with_the_reason() {
    #[track_caller]
    fn check(shape: Shape, temperatures: &[f64], ambient: Option<f64>, expected: Refused) {
        assert_eq!(exp_fit(shape, &every(10.0, temperatures), ambient.map(Celsius)), Err(expected));
    }
    use Shape::{Cooling, Heating};
    check(Heating, &[], None, Refused::TooFew);
    check(Heating, &[21.0], None, Refused::TooFew);
    check(Heating, &[21.0, 25.0], None, Refused::TooFew);
    check(Cooling, &[90.0], Some(20.0), Refused::TooFew);
    // A heated body stands at a given ambient at time 0, whatever its curve.
    check(Heating, &[20.0, 50.0], Some(20.0), Refused::Straight);
    check(Heating, &[21.0; 5], None, Refused::Flat);
    check(Heating, &[20.0, 22.0, 24.0, 26.0, 28.0], None, Refused::Straight);
    check(Heating, &[20.1, 20.3, 20.5, 20.7, 20.9, 21.1], None, Refused::Straight);
    check(Cooling, &[57.1, 56.4, 55.7, 55.0], None, Refused::Straight);
    // T = 19 + 2^(t/10): the best curve has a negative time constant.
    check(Heating, &[20.0, 21.0, 23.0, 27.0], None, Refused::Accelerating);
    check(Cooling, &[80.0, 79.0, 77.0, 73.0], None, Refused::Accelerating);
    check(Heating, &[90.0, 60.0, 45.0, 37.5, 33.75], None, Refused::WrongDirection);
    check(Cooling, &[20.0, 50.0, 65.0, 72.5, 76.25], None, Refused::WrongDirection);
    check(Heating, &[20.0, 90.0, 90.0, 90.0, 90.0], None, Refused::TooFast);
    check(Heating, &[20.0, f64::NAN, 65.0, 70.0], None, Refused::NotFinite);
    check(Heating, &[20.0, 50.0, 65.0, 72.5], Some(f64::INFINITY), Refused::NotFinite);
    let at_once: Vec<_> = [20.0, 50.0, 65.0, 70.0].iter().map(|&t| (Seconds(5.0), Celsius(t))).collect();
    assert_eq!(exp_fit(Heating, &at_once, None), Err(Refused::TooFew));
}

#[test]
fn huge_and_tiny_records_end_in_an_answer() {
    for scale in [1e-300, 1e-12, 1e12, 1e150, 1e300] {
        let readings: Vec<_> = every(1.0, &[20.0, 50.0, 65.0, 72.6])
            .into_iter()
            .map(|(time, t)| (Seconds(time.0 * scale), Celsius(t.0 * scale)))
            .collect();
        for shape in [Shape::Heating, Shape::Cooling] {
            let answer = exp_fit(shape, &readings, None);
            assert!(answer.is_err() || answer.is_ok_and(|fit| fit.tau.0.is_finite()), "{scale:e}");
        }
    }
}

#[test]
fn in_warming_air_the_reading_runs_ahead_of_the_detector() {
    // scipy 1.17.1 `optimize.brentq` on T = T0 + r (t − τ (1 − e^(−t/τ))), T0 = 25 °C, T = 57 °C: the air is at 58 °C with 1 K/min
    // and at 66.84774358915487 °C with 10 K/min.
    let lag = |kelvin_per_minute: f64, air: f64| {
        ramp_lag(Kelvin(kelvin_per_minute) / Seconds(60.0), Celsius(air) - Celsius(25.0), Seconds(60.0)).0
    };
    assert_close("fit", lag(1.0, 58.0), 1.0);
    assert_close("fit", lag(10.0, 66.84774358915487), 9.84774358915487);
    assert_eq!(lag(-1.0, 58.0), 0.0);
}

proptest! {
    #[test]
    fn any_readings_end_in_a_curve_or_a_reason(
        readings in vec((0_i32..200, -50_i32..300), 0..12),
        ambient in proptest::option::of(0_i32..60),
        heating in any::<bool>(),
    ) {
        let readings: Vec<_> =
            readings.iter().map(|&(t, c)| (Seconds(f64::from(t)), Celsius(f64::from(c)))).collect();
        let shape = if heating { Shape::Heating } else { Shape::Cooling };
        if let Ok(fit) = exp_fit(shape, &readings, ambient.map(|c| Celsius(f64::from(c)))) {
            prop_assert!(fit.tau.0 > 0.0 && fit.amplitude.0 > 0.0 && fit.sse.is_finite());
            // The sum of squares given is that of the curve given.
            let left = |time: Seconds| (-time.0 / fit.tau.0).exp();
            let height = |time: Seconds| if heating { 1.0 - left(time) } else { left(time) };
            let at = |time: Seconds| fit.ambient.0 + fit.amplitude.0 * height(time);
            let sse: f64 = readings.iter().map(|&(time, t)| (t.0 - at(time)).powi(2)).sum();
            prop_assert!((sse - fit.sse).abs() <= 1e-6 * (1.0 + sse));
        }
    }
}
