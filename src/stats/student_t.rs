//! Student's t distribution with real degrees of freedom, and quantiles of it and of the normal distribution.

use statrs::distribution::{Continuous, StudentsT};
use statrs::function::beta::checked_beta_reg;

use super::normal;

/// Beyond these degrees of freedom Hill's transformation to the normal distribution is good to the last digit out to
/// t = 10, and the incomplete beta function begins to lose digits.
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
/// 1/2 (DLMF 8.17, Abramowitz & Stegun 26.7.1), from either end.
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
    // Degrees of freedom too small to halve leave the parameters of the function.
    let share = |a, b, x| checked_beta_reg(a, b, x).unwrap_or(f64::NAN);
    (share(a, b, x), share(b, a, (ratio * x).min(1.0)))
}

/// Density of the t distribution at t; it only steers Newton's steps.
fn density(t: f64, df: Option<f64>) -> f64 {
    let Some(df) = df.filter(|df| *df <= 1e9) else { return normal::density(t) };
    StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |student| student.pdf(t))
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
