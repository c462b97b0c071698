//! NIST Statistical Reference Datasets.

use soakbook::stats::mean_sd;
use soakbook::thermal::least_squares;

use super::samples::{BOX_BOD, MISRA1A, univariate};
use crate::tolerances::assert_close;

#[test]
fn means_and_standard_deviations_are_as_certified() {
    for (name, values, mean, sd, row) in univariate() {
        let summary = mean_sd(&values).unwrap();
        println!("{name}: {} values", values.len());
        assert_close("StRD mean", summary.mean, mean);
        assert_close(row, summary.sd.unwrap(), sd);
    }
}

/// Certified parameters and their standard deviations, sum of squares, degrees of freedom, and both published starts.
struct Certified {
    points: &'static [(f64, f64)],
    starts: [[f64; 2]; 2],
    parameters: [f64; 2],
    deviations: [f64; 2],
    sse: f64,
    df: f64,
}

fn check(certified: &Certified) {
    // Both data sets have the model y = b1 (1 − e^(−b2 x)).
    let model = |x: f64, &[b1, b2]: &[f64; 2]| {
        let left = (-b2 * x).exp();
        (b1 * (1.0 - left), [1.0 - left, b1 * x * left])
    };
    for start in certified.starts {
        let minimum = least_squares(certified.points, start, model).unwrap();
        assert_close("StRD nonlinear parameter", minimum.sse, certified.sse);
        for i in 0..2 {
            assert_close("StRD nonlinear parameter", minimum.parameters[i], certified.parameters[i]);
            let deviation = (minimum.inverse_information[i][i] * minimum.sse / certified.df).sqrt();
            assert_close("StRD nonlinear sd", deviation, certified.deviations[i]);
        }
    }
}

#[test]
fn misra1a_is_fitted_from_both_starts() {
    // https://www.itl.nist.gov/div898/strd/nls/data/misra1a.shtml
    check(&Certified {
        points: &MISRA1A,
        starts: [[500.0, 0.0001], [250.0, 0.0005]],
        parameters: [2.3894212918e+02, 5.5015643181e-04],
        deviations: [2.7070075241e+00, 7.2668688436e-06],
        sse: 1.2455138894e-01,
        df: 12.0,
    });
}

#[test]
fn boxbod_is_fitted_from_both_starts() {
    // https://www.itl.nist.gov/div898/strd/nls/data/boxbod.shtml
    check(&Certified {
        points: &BOX_BOD,
        starts: [[1.0, 1.0], [100.0, 0.75]],
        parameters: [2.1380940889e+02, 5.4723748542e-01],
        deviations: [1.2354515176e+01, 1.0455993237e-01],
        sse: 1.1680088766e+03,
        df: 4.0,
    });
}
