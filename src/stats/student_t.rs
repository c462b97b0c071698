//! Student's t distribution with real degrees of freedom, and quantiles of it and of the normal distribution.

use std::cell::RefCell;
use std::sync::OnceLock;

use statrs::distribution::{Continuous, StudentsT};
use statrs::function::beta::checked_beta_reg;

use super::normal;

/// Beyond these degrees of freedom Hill's transformation to the normal distribution is good to the last digit out to
/// t = 10, and the incomplete beta function begins to lose digits.
const MANY: f64 = 2000.0;
/// The same for t above 10: at 2000 degrees of freedom and t = 38 the transformation is 3e-9 off a tail of 1e-230.
const MANY_FAR: f64 = 5000.0;

/// How many upper quantiles are kept: a family of 200 asks for 40.
const ANSWERS_KEPT: usize = 128;

/// The t for which a share `central` of Student's t distribution lies between −t and t, as in GUM table G.2. `df` is real
/// and above 0; `None` means infinite, the normal distribution. `None` where there is no finite answer: `central`
/// outside 0 ≤ p < 1, `df` not above 0.
pub fn t_quantile(central: f64, df: Option<f64>) -> Option<f64> {
    // The factor of nearly every uncertainty, 95 % at a whole number of degrees of freedom or, in place 0, at infinite ones, is
    // worked out once.
    static USUAL: [OnceLock<Option<f64>>; 2049] = [const { OnceLock::new() }; 2049];
    let whole = df.map_or(Some(0.0), |df| Some(df).filter(|df| df.fract() == 0.0 && *df >= 1.0));
    match whole.filter(|_| central == 0.95).and_then(|df| USUAL.get(df as usize)) {
        Some(usual) => *usual.get_or_init(|| quantile(central, 1.0 - central, df)),
        None => quantile(central, 1.0 - central, df),
    }
}

/// The t with P(T > t) = `tail`, for tails up to one half; accurate for tails however small.
pub fn t_upper_quantile(tail: f64, df: Option<f64>) -> Option<f64> {
    // Samples of one size ask for the same few again and again, and each takes thousands of steps.
    type Answer = (f64, Option<f64>, Option<f64>);
    thread_local! {
        static ANSWERS: RefCell<Vec<Answer>> = const { RefCell::new(Vec::new()) };
    }
    ANSWERS.with_borrow_mut(|answers| {
        if let Some((.., known)) = answers.iter().find(|(of_tail, of_df, _)| (*of_tail, *of_df) == (tail, df)) {
            return *known;
        }
        if answers.len() >= ANSWERS_KEPT {
            answers.clear();
        }
        let found = quantile(1.0 - 2.0 * tail, 2.0 * tail, df);
        answers.push((tail, df, found));
        found
    })
}

/// P(T ≤ t) of Student's t with `df` degrees of freedom, `None` meaning infinite; not a number for `df` not above 0.
pub fn t_cdf(t: f64, df: Option<f64>) -> f64 {
    if t < 0.0 { 0.5 * tail_share(-t, df) } else { 0.5 + 0.5 * central_share(t, df) }
}

/// P(T > t) of Student's t with `df` degrees of freedom, with full relative accuracy in the upper tail.
pub fn t_sf(t: f64, df: Option<f64>) -> f64 {
    if t > 0.0 { 0.5 * tail_share(t, df) } else { 0.5 + 0.5 * central_share(-t, df) }
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
    let mut t = if from_centre { central / (2.0 * density(0.0, df)) } else { rough_quantile(tail, df) };
    for _ in 0..100 {
        let slope = 2.0 * t * density(t, df);
        let step = if from_centre {
            let at = central_share(t, df);
            (central / at).ln() * at / slope
        } else {
            let at = tail_share(t, df);
            (at / tail).ln() * at / slope
        };
        t *= step.exp();
        if !t.is_finite() {
            return None;
        }
        // The next step would be about the square of this one, and below the noise of the beta function there is no end.
        if step.abs() <= 1e-8 {
            break;
        }
    }
    Some(t)
}

/// t with P(|T| > t) ≈ `tail`: Abramowitz & Stegun (1964), 26.7.5, its first terms. A start for an iteration.
fn rough_quantile(tail: f64, df: Option<f64>) -> f64 {
    let z = normal::rough_quantile(tail);
    let Some(df) = df.filter(|df| *df >= 4.0) else { return z };
    let square = z * z;
    let first = (square + 1.0) / (4.0 * df);
    let second = ((5.0 * square + 16.0) * square + 3.0) / (96.0 * df * df);
    z * (1.0 + first + second)
}

/// P(|T| > t) for t ≥ 0, without cancellation.
fn tail_share(t: f64, df: Option<f64>) -> f64 {
    share(t, df, true)
}

/// P(|T| ≤ t) for t ≥ 0, without cancellation.
fn central_share(t: f64, df: Option<f64>) -> f64 {
    share(t, df, false)
}

/// The incomplete beta function with parameters df/2 and 1/2 (DLMF 8.17, Abramowitz & Stegun 26.7.1), from the end from
/// which its continued fraction converges; the other end is its complement.
fn share(t: f64, df: Option<f64>, tail: bool) -> f64 {
    let Some(df) = df.filter(|df| *df != f64::INFINITY) else { return normal::share(t, tail) };
    if df.is_nan() || df <= 0.0 || t.is_nan() {
        return f64::NAN;
    }
    let ratio = t / df.sqrt() * (t / df.sqrt());
    if ratio == f64::INFINITY {
        return if tail { 0.0 } else { 1.0 };
    }
    let many = if t > 10.0 { MANY_FAR } else { MANY };
    if df > many {
        return normal::share(to_normal(t, df), tail);
    }
    let (a, b) = (0.5 * df, 0.5);
    let outer = 1.0 / (1.0 + ratio);
    // The function would turn its argument round itself beyond this point, and 1 − x has lost the digits of ratio · x.
    let from_outside = outer < (a + 1.0) / (a + b + 2.0);
    let share = if from_outside { checked_beta_reg(a, b, outer) } else { checked_beta_reg(b, a, ratio * outer) };
    // Degrees of freedom too small to halve leave the parameters of the function.
    let share = share.unwrap_or(f64::NAN);
    if from_outside == tail { share } else { 1.0 - share }
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
