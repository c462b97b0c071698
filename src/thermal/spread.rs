//! From profile run to profile run: the mean over the profile runs and how far a new test may lie from it.

/// Two quantities of every profile run.
pub(super) type Pair = [f64; 2];
/// A covariance of two quantities.
pub(super) type Square = [[f64; 2]; 2];

/// Profile runs from which their own spread is taken; with fewer it is assumed.
pub const ENOUGH: usize = 3;

/// Relative standard deviation of the heating power that is assumed while fewer than three profile runs show it: the supply may lie
/// anywhere within ±10 % (EN 50160:2010, 4.2.2) and power goes with its square, so 2 · 10 %/√3 (GUM 4.3.7). The same is
/// assumed of the cooling, for want of a source.
pub const ASSUMED: f64 = 0.2 / 1.732_050_807_568_877_2;

/// Mean over the profile runs, with what a new test may have.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Spread {
    pub(super) mean: Pair,
    /// Covariance of the mean.
    pub(super) of_mean: Square,
    /// Standard deviations between profile runs; none with one profile run.
    pub(super) sd: Option<Pair>,
    /// Covariance of a new test's values about the mean.
    pub(super) of_new: Square,
    /// Degrees of freedom of `of_new`; none where it is assumed.
    pub(super) df: Option<f64>,
    pub(super) profile_runs: usize,
}

/// The spread of `values`, one pair a profile run; `within` is the covariance within one profile run. Their sample covariance holds that
/// too, because each profile run brings its own, so where it shows less that is chance; for a new test it counts 1 + 1/n times (the
/// prediction interval of a normal sample with unknown variance, NIST/SEMATECH e-Handbook 7.2.6 and GUM 4.2), n − 1 degrees of
/// freedom. With fewer than three profile runs `within` replaces it, with `assumed`, standard deviations between profile runs, added
/// 1 + 1/n times too: the profile runs lie as far from the mean of all as a new test does.
pub(super) fn spread(values: &[Pair], within: Square, assumed: Pair) -> Option<Spread> {
    let n = values.len() as f64;
    if values.is_empty() {
        return None;
    }
    let mean = [0, 1].map(|i| values.iter().map(|value| value[i]).sum::<f64>() / n);
    let sum = |i: usize, j: usize| -> f64 { values.iter().map(|v| (v[i] - mean[i]) * (v[j] - mean[j])).sum() };
    let sample = (values.len() > 1).then(|| [0, 1].map(|i| [0, 1].map(|j| sum(i, j) / (n - 1.0))));
    let scaled = |m: Square, by: f64| m.map(|row| row.map(|entry| entry * by));
    let (of_mean, of_new) = match sample {
        Some(mut of_one) if values.len() >= ENOUGH => {
            (0..2).for_each(|i| of_one[i][i] = of_one[i][i].max(within[i][i]));
            (scaled(of_one, 1.0 / n), scaled(of_one, 1.0 + 1.0 / n))
        }
        _ => {
            let with = |mut sum: Square, times: f64| {
                for i in 0..2 {
                    let seen = sample.map_or(0.0, |sample| sample[i][i]);
                    sum[i][i] += (assumed[i] * assumed[i]).max(seen) * times;
                }
                sum
            };
            (with(scaled(within, 1.0 / n), 1.0 / n), with(within, 1.0 + 1.0 / n))
        }
    };
    Some(Spread {
        mean,
        of_mean,
        sd: sample.map(|sample| [sample[0][0].sqrt(), sample[1][1].sqrt()]),
        of_new,
        df: (values.len() >= ENOUGH).then_some(n - 1.0),
        profile_runs: values.len(),
    })
}
