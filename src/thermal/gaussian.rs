//! A state of several quantities with its covariance, carried through functions of it: the extended Kalman filter (Jazwinski
//! 1970, Stochastic Processes and Filtering Theory, 8.3), with derivatives by central differences of closed forms.

use crate::stats;
use std::array::from_fn;

/// Number of quantities.
pub(super) const N: usize = 10;

/// Mean and covariance, and the part of the covariance that comes from the spread between profile runs, for its degrees of freedom.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Gaussian {
    pub(super) mean: [f64; N],
    pub(super) all: [[f64; N]; N],
    pub(super) between: [[f64; N]; N],
}

/// A number worked out from a state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Projected {
    pub(super) value: f64,
    pub(super) variance: f64,
    pub(super) between: f64,
}

/// The differences are taken over this share of each standard deviation: small enough for a derivative, and twelve digits
/// away from rounding.
const SHARE: f64 = 1e-3;

/// Halvings of the interval that holds the most likely spread.
const HALVINGS: usize = 50;

impl Gaussian {
    /// The same state without any doubt, for its path alone.
    pub(super) fn known(&self) -> Gaussian {
        Gaussian { mean: self.mean, all: [[0.0; N]; N], between: [[0.0; N]; N] }
    }

    /// Whether it is without any doubt.
    pub(super) fn is_known(&self) -> bool {
        self.all.iter().flatten().all(|entry| *entry == 0.0)
    }

    /// One quantity is now `mean` with `variance`, whatever was known before.
    pub(super) fn forget(&mut self, at: usize, mean: f64, variance: f64) {
        self.mean[at] = mean;
        for i in 0..N {
            (self.all[at][i], self.all[i][at]) = (0.0, 0.0);
            (self.between[at][i], self.between[i][at]) = (0.0, 0.0);
        }
        self.all[at][at] = variance;
    }

    /// Adds `variance` to one quantity; `between` is the part from the spread between profile runs. A path without doubt stays so.
    pub(super) fn add(&mut self, at: usize, variance: f64, between: f64) {
        if !self.is_known() {
            self.all[at][at] += variance;
            self.between[at][at] += between;
        }
    }

    /// The state after `map`.
    pub(super) fn through(&self, map: &dyn Fn(&[f64; N]) -> [f64; N]) -> Gaussian {
        if self.is_known() {
            return Gaussian { mean: map(&self.mean), ..*self };
        }
        let mut jacobian = [[0.0; N]; N];
        // A quantity without variance has no part in the covariance, whatever its derivative.
        for j in (0..N).filter(|j| self.all[*j][*j] > 0.0) {
            let step = SHARE * self.all[j][j].sqrt();
            let (up, down) = (map(&self.moved(j, step)), map(&self.moved(j, -step)));
            for i in 0..N {
                jacobian[i][j] = (up[i] - down[i]) / (2.0 * step);
            }
        }
        Gaussian {
            mean: map(&self.mean),
            all: sandwich(&jacobian, &self.all),
            between: sandwich(&jacobian, &self.between),
        }
    }

    fn moved(&self, at: usize, by: f64) -> [f64; N] {
        let mut moved = self.mean;
        moved[at] += by;
        moved
    }

    fn gradient(&self, of: &dyn Fn(&[f64; N]) -> f64) -> [f64; N] {
        let mut gradient = [0.0; N];
        for j in (0..N).filter(|j| self.all[*j][*j] > 0.0) {
            let step = SHARE * self.all[j][j].sqrt();
            gradient[j] = (of(&self.moved(j, step)) - of(&self.moved(j, -step))) / (2.0 * step);
        }
        gradient
    }

    /// A number with its variance.
    pub(super) fn project(&self, of: &dyn Fn(&[f64; N]) -> f64) -> Projected {
        let gradient = self.gradient(of);
        let variance = |m| dot(&gradient, &times(m, &gradient)).max(0.0);
        Projected { value: of(&self.mean), variance: variance(&self.all), between: variance(&self.between) }
    }

    /// `of` was measured as `measured` with `variance`; `df` are the degrees of freedom of the spread between profile runs. For the
    /// measured number itself it is the scalar filter, unless that spread was too small.
    pub(super) fn observe(&mut self, of: &dyn Fn(&[f64; N]) -> f64, measured: f64, variance: f64, df: f64) {
        let gradient = self.gradient(of);
        self.widen(&gradient, measured - of(&self.mean), variance, df);
        let along = times(&self.all, &gradient);
        let before = stats::Estimate { x: of(&self.mean), variance: dot(&gradient, &along) };
        if before.variance <= 0.0 {
            return;
        }
        let (after, gain) = before.update(measured, variance);
        let by = along.map(|along| along / before.variance);
        for (mean, by) in self.mean.iter_mut().zip(by) {
            *mean += by * (after.x - before.x);
        }
        // Joseph's form (Bucy & Joseph 1968): a sum of squares, whatever is rounded, where a difference may turn negative.
        let keep: [[f64; N]; N] = from_fn(|i| from_fn(|j| if i == j { 1.0 } else { 0.0 } - by[i] * gain * gradient[j]));
        self.all = sandwich(&keep, &self.all);
        for i in 0..N {
            for j in 0..N {
                self.all[i][j] += by[i] * gain * variance * gain * by[j];
            }
        }
        self.between = sandwich(&keep, &self.between);
    }

    /// What was measured lies `off` the mean along `gradient`. A few profile runs show the spread between them only roughly; where they show
    /// less than this needs, it grows along `gradient` to its most likely size, what the profile runs show being worth `df` observations of
    /// it. There the spread is its own mean square given what was measured, as in a step of expectation and maximization
    /// (Dempster, Laird & Rubin 1977, J. R. Stat. Soc. B 39, 1).
    fn widen(&mut self, gradient: &[f64; N], off: f64, variance: f64, df: f64) {
        let along = times(&self.between, gradient);
        let between = dot(gradient, &along);
        let rest = dot(gradient, &times(&self.all, gradient)) - between + variance;
        let far = off * off;
        if between <= 0.0 || !df.is_finite() || far <= between + rest {
            return;
        }
        let too_small = |size: f64| {
            let share = size * between / (size * between + rest);
            df + share * (share * far + rest) / between > (df + 1.0) * size
        };
        let (mut low, mut high) = (1.0, (df + (far + rest) / between) / (df + 1.0));
        for _ in 0..HALVINGS {
            let middle = (low + high) / 2.0;
            if too_small(middle) { low = middle } else { high = middle }
        }
        let more = (low - 1.0) / between;
        for i in 0..N {
            for j in 0..N {
                self.all[i][j] += more * along[i] * along[j];
                self.between[i][j] += more * along[i] * along[j];
            }
        }
    }
}

fn dot(a: &[f64; N], b: &[f64; N]) -> f64 {
    let mut sum = 0.0;
    // Most derivatives are none.
    for (a, b) in a.iter().zip(b).filter(|(a, _)| **a != 0.0) {
        sum += a * b;
    }
    sum
}

fn times(m: &[[f64; N]; N], v: &[f64; N]) -> [f64; N] {
    from_fn(|i| dot(&m[i], v))
}

/// F P Fᵀ, symmetric to the last bit.
fn sandwich(f: &[[f64; N]; N], p: &[[f64; N]; N]) -> [[f64; N]; N] {
    // Row i of P Fᵀ … by symmetry of P, P times row j of F.
    let right: [[f64; N]; N] = from_fn(|j| times(p, &f[j]));
    let mut product = [[0.0; N]; N];
    for i in 0..N {
        for j in 0..=i {
            product[i][j] = dot(&f[i], &right[j]);
            product[j][i] = product[i][j];
        }
    }
    product
}
