//! Student's t distribution with real degrees of freedom, and quantiles of it and of the normal distribution.

use std::f64::consts::PI;

use super::normal;

/// Beyond these degrees of freedom Hill's transformation to the normal distribution is good to the last digit out to
/// t = 10, and the continued fraction begins to lose digits.
const MANY: f64 = 2000.0;

/// The t for which a share `central` of Student's t distribution lies between −t and t, as in GUM table G.2. `df` is real
/// and above 0; `None` means infinite, the normal distribution. `None` where there is no finite answer: `central`
/// outside 0 ≤ p < 1, `df` not above 0.
pub fn t_quantile(central: f64, df: Option<f64>) -> Option<f64> {
    quantile(central, 1.0 - central, df)
}

/// The t with P(T > t) = `tail`, for tails up to one half; accurate for tails however small.
pub fn t_upper_quantile(tail: f64, df: Option<f64>) -> Option<f64> {
    quantile(1.0 - 2.0 * tail, 2.0 * tail, df)
}

/// P(T ≤ t) of Student's t with `df` degrees of freedom, `None` meaning infinite; not a number for `df` not above 0.
pub fn t_cdf(t: f64, df: Option<f64>) -> f64 {
    let (tail, central) = tail_and_central(t.abs(), df);
    if t < 0.0 { 0.5 * tail } else { 0.5 + 0.5 * central }
}

/// P(T > t) of Student's t with `df` degrees of freedom, with full relative accuracy in the upper tail.
pub fn t_sf(t: f64, df: Option<f64>) -> f64 {
    let (tail, central) = tail_and_central(t.abs(), df);
    if t > 0.0 { 0.5 * tail } else { 0.5 + 0.5 * central }
}

/// Solves by Newton's method in the logarithms of t and of the smaller share: there the curve is nearly straight, so a
/// few steps reach the last digit from any start.
fn quantile(central: f64, tail: f64, df: Option<f64>) -> Option<f64> {
    let valid = (0.0..1.0).contains(&central) && tail > 0.0 && df.is_none_or(|df| df > 0.0);
    if !valid {
        return None;
    }
    if central == 0.0 {
        return Some(0.0);
    }
    let from_centre = central < 0.5;
    let mut t = if from_centre { central / (2.0 * density(0.0, df)) } else { normal::rough_quantile(tail) };
    for _ in 0..100 {
        let (tail_at, central_at) = tail_and_central(t, df);
        let slope = 2.0 * t * density(t, df);
        let step = if from_centre {
            (central / central_at).ln() * central_at / slope
        } else {
            (tail_at / tail).ln() * tail_at / slope
        };
        t *= step.exp();
        if !t.is_finite() {
            return None;
        }
        if step.abs() <= 2.0 * f64::EPSILON {
            break;
        }
    }
    Some(t)
}

/// P(|T| > t) and P(|T| ≤ t) for t ≥ 0, each without cancellation: the incomplete beta function with parameters df/2 and
/// 1/2 (DLMF 8.17, Abramowitz & Stegun 26.7.1) by its continued fraction on the side where that converges fast.
fn tail_and_central(t: f64, df: Option<f64>) -> (f64, f64) {
    let Some(df) = df.filter(|df| *df != f64::INFINITY) else { return normal::tail_and_central(t) };
    if df.is_nan() || df <= 0.0 || t.is_nan() {
        return (f64::NAN, f64::NAN);
    }
    if df > MANY {
        return normal::tail_and_central(to_normal(t, df));
    }
    let (a, b) = (0.5 * df, 0.5);
    let ratio = t / df.sqrt() * (t / df.sqrt());
    if ratio == f64::INFINITY {
        return (0.0, 1.0);
    }
    let x = 1.0 / (1.0 + ratio);
    let front = (-a * ratio.ln_1p()).exp() * (ratio * x).sqrt() * gamma_ratio(a) / PI.sqrt();
    if x < (a + 1.0) / (a + b + 2.0) {
        let tail = front / a * continued_fraction(a, b, x);
        (tail, 1.0 - tail)
    } else {
        let central = front / b * continued_fraction(b, a, ratio * x);
        (1.0 - central, central)
    }
}

/// Density of the t distribution at t (Abramowitz & Stegun 26.7.1).
fn density(t: f64, df: Option<f64>) -> f64 {
    let Some(df) = df.filter(|df| *df != f64::INFINITY) else { return normal::density(t) };
    let ratio = t / df.sqrt() * (t / df.sqrt());
    (-0.5 * (df + 1.0) * ratio.ln_1p()).exp() * gamma_ratio(0.5 * df) / (PI * df).sqrt()
}

/// The normal deviate with the same tail as t: Hill (1970), Student's t-distribution, Communications of the ACM 13, 617
/// (algorithm 395).
fn to_normal(t: f64, df: f64) -> f64 {
    let ratio = t / df.sqrt() * (t / df.sqrt());
    let a = df - 0.5;
    let b = 48.0 * a * a;
    let y = a * ratio.ln_1p();
    let third = ((-0.4 * y - 3.3) * y - 24.0) * y - 85.5;
    ((third / (0.8 * y * y + 100.0 + b) + y + 3.0) / b + 1.0) * y.sqrt()
}

/// Γ(a + ½)/Γ(a) for a > 0, by its asymptotic series (Graham, Knuth & Patashnik, Concrete Mathematics, exercise 9.60)
/// where that is exact to the last digit, reached by the recurrence Γ(a + 1) = a Γ(a). Differences of log-gammas would
/// lose the digits that large degrees of freedom need.
fn gamma_ratio(a: f64) -> f64 {
    const SERIES: [f64; 8] = [
        1.0,
        -1.0 / 8.0,
        1.0 / 128.0,
        5.0 / 1024.0,
        -21.0 / 32768.0,
        -399.0 / 262_144.0,
        869.0 / 4_194_304.0,
        39_325.0 / 33_554_432.0,
    ];
    let mut shifted = a;
    let mut factor = 1.0;
    while shifted < 32.0 {
        factor *= shifted / (shifted + 0.5);
        shifted += 1.0;
    }
    factor * shifted.sqrt() * SERIES.iter().rev().fold(0.0, |sum, term| sum / shifted + term)
}

/// The continued fraction of the incomplete beta function (DLMF 8.17.22) by the modified Lentz method. It needs about
/// as many terms as the square root of the larger parameter, here at most some 50.
fn continued_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away_from_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for i in 1..1000 {
        let m = f64::from(i);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        for term in [even, odd] {
            d = 1.0 / away_from_zero(1.0 + term * d);
            c = away_from_zero(1.0 + term / c);
            fraction *= c * d;
        }
        if (c * d - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    fraction
}
