//! The heat-ups of several profile runs fitted together: one loss k and one lag λ for all, a start and a heating rate for each.
//!
//! For given k and λ each profile run is a straight line in its start and its rate, so only k and λ are searched (variable
//! projection: Golub & Pereyra 1973, SIAM J. Numer. Anal. 10, 413; derivatives as Kaufman 1975, BIT 15, 49).

use super::exp_fit::Refused;
use super::response::heat_up;

/// The heat-up of one profile run: times since heat on, s, and temperatures above ambient, K.
pub(super) type Points = Vec<(f64, f64)>;

/// What one profile run says for the k and λ of all.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Own {
    /// Start above ambient, K, and heating rate at ambient, K/s.
    pub(super) value: [f64; 2],
    /// Their covariance for given k and λ, over the residual variance.
    pub(super) covariance: [[f64; 2]; 2],
    /// How they change with k and λ.
    pub(super) by_shared: [[f64; 2]; 2],
}

/// Heat-ups fitted together.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct HeatUps {
    /// k, 1/s; 0 for a constant rate.
    pub(super) loss: f64,
    /// λ, s; 0 for none.
    pub(super) lag: f64,
    /// Covariance of k and λ over the residual variance; zeros for one that is 0.
    pub(super) shared: [[f64; 2]; 2],
    pub(super) own: Vec<Own>,
    /// Sum of squared residuals, K².
    pub(super) sse: f64,
    /// Number of points.
    pub(super) n: usize,
    /// Number of fitted parameters.
    pub(super) fitted: usize,
    /// Why it is no profile of a heater, although it fits.
    pub(super) refused: Option<Refused>,
}

impl HeatUps {
    /// AICc, the second-order criterion of Hurvich & Tsai (1989, Biometrika 76, 297): n ln(SSE/n) + 2p + 2p(p + 1)/(n − p − 1),
    /// where p counts the residual variance too; none where the readings are too few for it.
    pub(super) fn aicc(&self, least_sse: f64) -> Option<f64> {
        let (n, p) = (self.n as f64, self.fitted as f64 + 1.0);
        let spare = n - p - 1.0;
        (spare > 0.0).then(|| n * (self.sse.max(least_sse) / n).ln() + 2.0 * p + 2.0 * p * (p + 1.0) / spare)
    }

    /// Residual degrees of freedom.
    pub(super) fn df(&self) -> usize {
        self.n.saturating_sub(self.fitted)
    }
}

/// Losses and lags tried before the search continues from the best.
const TRIED: i32 = 16;
/// The slowest loss tried is one over so many spans of the readings: below it a bend does not show.
const SLOWEST: f64 = 30.0;
/// The longest lag tried, as a share of the span; a longer one is a profile that gets steeper to its end.
const LONGEST: f64 = 0.5;
/// Steps of the search; it settles in about ten.
const MAX_STEPS: usize = 60;

/// Fits the heat-ups with or without a loss and a lag.
pub(super) fn fit(profile_runs: &[Points], bends: bool, lags: bool) -> Result<HeatUps, Refused> {
    let times = || profile_runs.iter().flat_map(|profile_run| profile_run.iter().map(|(t, _)| *t));
    let span = times().fold(0.0, f64::max);
    let gap = profile_runs.iter().flat_map(|profile_run| profile_run.windows(2)).map(|pair| pair[1].0 - pair[0].0);
    let gap = gap.filter(|gap| *gap > 0.0).fold(span, f64::min);
    let grid = |low: f64, high: f64, wanted: bool| -> Vec<f64> {
        let at = |i: i32| low * (high / low).powf(f64::from(i) / f64::from(TRIED - 1));
        if wanted { (0..TRIED).map(at).collect() } else { vec![0.0] }
    };
    let losses = grid(1.0 / (SLOWEST * span), 1.0 / gap, bends);
    let lag_grid = grid(gap / 8.0, LONGEST * span, lags);
    let mut best = (f64::INFINITY, [0.0; 2]);
    for &loss in &losses {
        for &lag in &lag_grid {
            let sse = Linear::of(profile_runs, [loss, lag]).map_or(f64::INFINITY, |linear| linear.sse);
            if sse < best.0 {
                best = (sse, [loss, lag]);
            }
        }
    }
    if !best.0.is_finite() {
        return Err(Refused::NotReached);
    }
    let mut at = best.1;
    let mut here = Linear::of(profile_runs, at).ok_or(Refused::NotReached)?;
    for _ in 0..MAX_STEPS {
        let Some(step) = here.step(at) else { break };
        // In logarithms, so that both stay positive; never by more than a factor of e at once.
        let longest = step[0].abs().max(step[1].abs()).max(1.0);
        let mut share = 1.0 / longest;
        let mut next = None;
        while share > 1e-9 {
            let tried = [at[0] * (share * step[0]).exp(), at[1] * (share * step[1]).exp()];
            next = Linear::of(profile_runs, tried).filter(|there| there.sse < here.sse).map(|there| (tried, there));
            if next.is_some() {
                break;
            }
            share /= 2.0;
        }
        let Some((tried, there)) = next else { break };
        let settled = (there.sse - here.sse).abs() <= 1e-14 * here.sse;
        (at, here) = (tried, there);
        if settled {
            break;
        }
    }
    let free = usize::from(bends) + usize::from(lags);
    let refused = match at {
        [loss, _] if loss * gap > 3.0 => Some(Refused::TooFast),
        [_, lag] if lag > LONGEST * span => Some(Refused::Accelerating),
        _ => None,
    };
    let n = times().count();
    let shared = if free == 0 { [[0.0; 2]; 2] } else { here.shared(at).ok_or(Refused::NotReached)? };
    let fitted = 2 * profile_runs.len() + free;
    Ok(HeatUps { loss: at[0], lag: at[1], shared, own: here.own, sse: here.sse, n, fitted, refused })
}

/// Every profile run's straight line for one k and λ.
struct Linear {
    own: Vec<Own>,
    sse: f64,
    /// Normal equations of ln k and ln λ with the lines projected out.
    normal: [[f64; 2]; 2],
    towards: [f64; 2],
}

impl Linear {
    fn of(profile_runs: &[Points], at: [f64; 2]) -> Option<Linear> {
        let mut all =
            Linear { own: Vec::with_capacity(profile_runs.len()), sse: 0.0, normal: [[0.0; 2]; 2], towards: [0.0; 2] };
        for profile_run in profile_runs {
            all.add(profile_run, at)?;
        }
        all.sse.is_finite().then_some(all)
    }

    fn add(&mut self, profile_run: &Points, [loss, lag]: [f64; 2]) -> Option<()> {
        let rows: Vec<Row> = profile_run.iter().map(|&(t, y)| Row::at(t, y, loss, lag)).collect();
        let over = |of: &dyn Fn(&Row) -> f64| rows.iter().map(of).sum::<f64>();
        let square = [0, 1].map(|i| [0, 1].map(|j| over(&|row| row.basis[i] * row.basis[j])));
        let inverse = invert(square)?;
        let line = |of: &dyn Fn(&Row) -> f64| times(&inverse, [0, 1].map(|i| over(&|row| row.basis[i] * of(row))));
        let value = line(&|row| row.y);
        // The derivative of the fit by ln k and ln λ, and the part of it that the line itself takes up.
        let slope = |row: &Row, c: usize| value[0] * row.by[c][0] + value[1] * row.by[c][1];
        let taken = [0, 1].map(|c| line(&|row| slope(row, c)));
        let residual = |row: &Row| row.y - value[0] * row.basis[0] - value[1] * row.basis[1];
        let left = |row: &Row, c: usize| slope(row, c) - taken[c][0] * row.basis[0] - taken[c][1] * row.basis[1];
        self.sse += over(&|row| residual(row).powi(2));
        for (c, (towards, normal)) in self.towards.iter_mut().zip(&mut self.normal).enumerate() {
            *towards += over(&|row| left(row, c) * residual(row));
            for (d, entry) in normal.iter_mut().enumerate() {
                *entry += over(&|row| left(row, c) * left(row, d));
            }
        }
        let per = |c: usize, i: usize| if [loss, lag][c] > 0.0 { -taken[c][i] / [loss, lag][c] } else { 0.0 };
        let by_shared = [[per(0, 0), per(1, 0)], [per(0, 1), per(1, 1)]];
        self.own.push(Own { value, covariance: inverse, by_shared });
        Some(())
    }

    /// The Gauss–Newton step in ln k and ln λ; one that is 0 stays.
    fn step(&self, at: [f64; 2]) -> Option<[f64; 2]> {
        let inverse = invert_free(self.normal, at)?;
        Some(times(&inverse, self.towards))
    }

    /// Covariance of k and λ over the residual variance.
    fn shared(&self, at: [f64; 2]) -> Option<[[f64; 2]; 2]> {
        let inverse = invert_free(self.normal, at)?;
        Some([0, 1].map(|i| [0, 1].map(|j| inverse[i][j] * at[i] * at[j])))
    }
}

struct Row {
    y: f64,
    basis: [f64; 2],
    /// Derivatives of the basis by ln k and ln λ.
    by: [[f64; 2]; 2],
}

impl Row {
    fn at(t: f64, y: f64, loss: f64, lag: f64) -> Row {
        let basis = heat_up(loss, lag, t);
        // Central differences of a smooth closed form: a step of 1e-5 in the logarithm leaves an error of 1e-10.
        let by = |up: [f64; 2], down: [f64; 2]| [0, 1].map(|i| (up[i] - down[i]) / (2.0 * STEP));
        let by_loss = by(heat_up(loss * STEP.exp(), lag, t), heat_up(loss * (-STEP).exp(), lag, t));
        let by_lag = by(heat_up(loss, lag * STEP.exp(), t), heat_up(loss, lag * (-STEP).exp(), t));
        Row { y, basis, by: [by_loss, by_lag] }
    }
}

const STEP: f64 = 1e-5;

fn invert(m: [[f64; 2]; 2]) -> Option<[[f64; 2]; 2]> {
    let determinant = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    // Columns of unit length closer to dependent than this leave the parameters open.
    let open = determinant <= 1e-12 * m[0][0] * m[1][1];
    (!open && determinant.is_finite())
        .then(|| [[m[1][1] / determinant, -m[0][1] / determinant], [-m[1][0] / determinant, m[0][0] / determinant]])
}

/// The inverse with the parameters that are 0 left out.
fn invert_free(m: [[f64; 2]; 2], at: [f64; 2]) -> Option<[[f64; 2]; 2]> {
    match [at[0] > 0.0, at[1] > 0.0] {
        [true, true] => invert(m),
        [true, false] if m[0][0] > 0.0 => Some([[1.0 / m[0][0], 0.0], [0.0, 0.0]]),
        [false, true] if m[1][1] > 0.0 => Some([[0.0, 0.0], [0.0, 1.0 / m[1][1]]]),
        _ => None,
    }
}

fn times(m: &[[f64; 2]; 2], v: [f64; 2]) -> [f64; 2] {
    [0, 1].map(|i| m[i][0] * v[0] + m[i][1] * v[1])
}
