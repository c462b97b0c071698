//! Non-linear least squares of a few parameters: Levenberg (1944) and Marquardt (1963), with the scaling and trust region
//! of Moré (1978, The Levenberg–Marquardt algorithm, Lecture Notes in Mathematics 630) and the damping of Nielsen (1999,
//! IMM-REP-1999-05).

/// A fitted model.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Minimum<const P: usize> {
    /// The parameters.
    pub parameters: [f64; P],
    /// Sum of squared residuals.
    pub sse: f64,
    /// (JᵀJ)⁻¹ at the minimum by rows, J the derivatives of the model; times the residual variance it is the covariance
    /// of the parameters.
    pub inverse_information: [[f64; P]; P],
}

/// Why there is no minimum to give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NoMinimum {
    /// Fewer points than parameters, or a number that is not finite.
    Unusable,
    /// The data leave a combination of the parameters open.
    NotIdentifiable,
    /// No minimum was reached in the steps allowed.
    NotReached,
}

/// Most steps tried, rejected ones included.
const MAX_STEPS: usize = 1000;
/// Columns of derivatives of unit length closer to dependent than this leave the parameters open.
const RANK: f64 = 1e-10;
/// The share of the residual that the derivatives may still explain at a minimum.
const FLAT: f64 = 1e-7;

/// Minimises Σ (y − f(x, b))² over the parameters b from `start`. `model` gives f and its derivatives by b at one x. A
/// parameter whose derivative is zero at every point is held where it starts and has no variance.
pub fn least_squares<const P: usize>(
    points: &[(f64, f64)],
    start: [f64; P],
    model: impl Fn(f64, &[f64; P]) -> (f64, [f64; P]),
) -> Result<Minimum<P>, NoMinimum> {
    let finite = points.iter().all(|(x, y)| x.is_finite() && y.is_finite()) && start.iter().all(|b| b.is_finite());
    if !finite {
        return Err(NoMinimum::Unusable);
    }
    let mut at = start;
    let mut here = Linear::of(points, &at, &model).ok_or(NoMinimum::NotReached)?;
    if points.len() < here.lengths.iter().filter(|length| **length > 0.0).count() {
        return Err(NoMinimum::Unusable);
    }
    let mut scale = here.lengths;
    let (mut damping, mut growth) = (1e-3, 2.0);
    for _ in 0..MAX_STEPS {
        let step = here.step(damping, &scale);
        let next = add(&at, &step);
        // A step longer than the parameters themselves leaves the region where the straight-line model means anything.
        let (length, reach) = (length(&step, &scale), length(&at, &scale));
        let trusted = length <= reach || reach == 0.0;
        let there = Linear::of(points, &next, &model).filter(|there| trusted && there.sse <= here.sse);
        let Some(there) = there else {
            damping *= growth;
            growth *= 2.0;
            if damping > 1e20 {
                break;
            }
            continue;
        };
        let ratio = (here.sse - there.sse) / here.gain(&step).max(f64::MIN_POSITIVE);
        damping *= (1.0 - (2.0 * ratio - 1.0).powi(3)).clamp(1.0 / 3.0, 2.0);
        growth = 2.0;
        let settled = at == next || there.is_flat();
        (at, here) = (next, there);
        for (largest, length) in scale.iter_mut().zip(here.lengths) {
            *largest = largest.max(length);
        }
        if settled {
            break;
        }
    }
    // Undamped steps for the last digits, where the sum of squares no longer tells better from worse.
    for _ in 0..4 {
        let next = add(&at, &here.step(0.0, &scale));
        let Some(there) = Linear::of(points, &next, &model) else { break };
        if there.sse > here.sse + here.noise() {
            break;
        }
        (at, here) = (next, there);
    }
    let inverse_information = here.inverse_information().ok_or(NoMinimum::NotIdentifiable)?;
    if !here.is_flat() {
        return Err(NoMinimum::NotReached);
    }
    Ok(Minimum { parameters: at, sse: here.sse, inverse_information })
}

fn add<const P: usize>(at: &[f64; P], step: &[f64; P]) -> [f64; P] {
    std::array::from_fn(|i| at[i] + step[i])
}

/// Length of a vector of parameters, each measured by `scale`.
fn length<const P: usize>(vector: &[f64; P], scale: &[f64; P]) -> f64 {
    vector.iter().zip(scale).map(|(value, scale)| (value * scale).powi(2)).sum::<f64>().sqrt()
}

/// The model as a straight line about one set of parameters: J = QR with columns of unit length.
struct Linear<const P: usize> {
    /// Lengths of the columns of J.
    lengths: [f64; P],
    /// R of J with its columns divided by their lengths.
    r: [[f64; P]; P],
    /// Qᵀ times the residuals: the part of them that the derivatives explain.
    explained: [f64; P],
    sse: f64,
    /// Sum of the squares of the values fitted, for what counts as nothing.
    size: f64,
}

impl<const P: usize> Linear<P> {
    /// None where the model is not finite.
    fn of(
        points: &[(f64, f64)],
        at: &[f64; P],
        model: &impl Fn(f64, &[f64; P]) -> (f64, [f64; P]),
    ) -> Option<Linear<P>> {
        let mut columns: [Vec<f64>; P] = std::array::from_fn(|_| Vec::with_capacity(points.len()));
        let mut residuals = Vec::with_capacity(points.len());
        for &(x, y) in points {
            let (value, derivatives) = model(x, at);
            residuals.push(y - value);
            for (column, derivative) in columns.iter_mut().zip(derivatives) {
                column.push(derivative);
            }
        }
        let sse = dot(&residuals, &residuals);
        let lengths: [f64; P] = std::array::from_fn(|i| dot(&columns[i], &columns[i]).sqrt());
        if !sse.is_finite() || !lengths.iter().all(|length| length.is_finite()) {
            return None;
        }
        for (column, length) in columns.iter_mut().zip(lengths).filter(|(_, length)| *length > 0.0) {
            column.iter_mut().for_each(|value| *value /= length);
        }
        let (r, explained) = orthogonalise(&mut columns, &mut residuals);
        let size = points.iter().map(|(_, y)| y * y).sum();
        Some(Linear { lengths, r, explained, sse, size })
    }

    /// The step that minimises the straight-line model with `damping` on the parameters, each measured by `scale`.
    fn step(&self, damping: f64, scale: &[f64; P]) -> [f64; P] {
        let mut columns: [Vec<f64>; P] = std::array::from_fn(|j| {
            let damped = damping.sqrt() * self.per_length(j, scale[j]);
            (0..P).map(|i| self.r[i][j]).chain((0..P).map(|i| if i == j { damped } else { 0.0 })).collect()
        });
        let mut target: Vec<f64> = self.explained.iter().copied().chain([0.0; P]).collect();
        let (r, explained) = orthogonalise(&mut columns, &mut target);
        let solved = solve(&r, &explained);
        std::array::from_fn(|i| self.per_length(i, solved[i]))
    }

    /// `value` over the length of column `i`; zero for a parameter that is held.
    fn per_length(&self, i: usize, value: f64) -> f64 {
        if self.lengths[i] > 0.0 { value / self.lengths[i] } else { 0.0 }
    }

    /// How much the straight-line model expects `step` to take from the sum of squares.
    fn gain(&self, step: &[f64; P]) -> f64 {
        (0..P)
            .map(|i| {
                let change: f64 = (0..P).map(|j| self.r[i][j] * step[j] * self.lengths[j]).sum();
                change * (2.0 * self.explained[i] - change)
            })
            .sum()
    }

    /// What rounding of the values alone may do to the sum of squares.
    fn noise(&self) -> f64 {
        let rounding = 64.0 * f64::EPSILON * self.size.sqrt();
        rounding * (2.0 * self.sse.sqrt() + rounding)
    }

    fn is_flat(&self) -> bool {
        let explained = dot(&self.explained, &self.explained);
        explained <= FLAT * FLAT * self.sse || explained <= (64.0 * f64::EPSILON).powi(2) * self.size
    }

    fn inverse_information(&self) -> Option<[[f64; P]; P]> {
        if (0..P).any(|i| self.lengths[i] > 0.0 && self.r[i][i].abs() < RANK) {
            return None;
        }
        let inverse: [[f64; P]; P] =
            std::array::from_fn(|j| solve(&self.r, &std::array::from_fn(|i| if i == j { 1.0 } else { 0.0 })));
        let entry = |i: usize, j: usize| -> f64 {
            let sum: f64 = inverse.iter().map(|column| column[i] * column[j]).sum();
            self.per_length(i, self.per_length(j, sum))
        };
        Some(std::array::from_fn(|i| std::array::from_fn(|j| entry(i, j))))
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Modified Gram–Schmidt with the target as a last column, which makes it as good as Householder's for least squares
/// (Björck 1967, BIT 7, 1). Gives R and Qᵀ·target.
fn orthogonalise<const P: usize>(columns: &mut [Vec<f64>; P], target: &mut [f64]) -> ([[f64; P]; P], [f64; P]) {
    let mut r = [[0.0; P]; P];
    let mut explained = [0.0; P];
    for i in 0..P {
        let (done, rest) = columns.split_at_mut(i + 1);
        let column = &mut done[i];
        r[i][i] = dot(column, column).sqrt();
        if r[i][i] == 0.0 {
            continue;
        }
        column.iter_mut().for_each(|value| *value /= r[i][i]);
        let take_out = |other: &mut [f64]| {
            let share = dot(column, other);
            other.iter_mut().zip(column.iter()).for_each(|(value, unit)| *value -= share * unit);
            share
        };
        for (j, other) in rest.iter_mut().enumerate() {
            r[i][i + 1 + j] = take_out(other);
        }
        explained[i] = take_out(target);
    }
    (r, explained)
}

/// Solves the upper triangular system; a parameter that the data leave open stays where it is.
fn solve<const P: usize>(r: &[[f64; P]; P], right: &[f64; P]) -> [f64; P] {
    let mut solved = [0.0; P];
    for i in (0..P).rev() {
        let known: f64 = (i + 1..P).map(|j| r[i][j] * solved[j]).sum();
        solved[i] = if r[i][i].abs() < f64::EPSILON { 0.0 } else { (right[i] - known) / r[i][i] };
    }
    solved
}
