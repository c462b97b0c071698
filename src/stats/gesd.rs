//! Generalized extreme Studentized deviate test for one or more outliers: Rosner (1983), Technometrics 25, 165;
//! NIST/SEMATECH e-Handbook 1.3.5.17.3.

use super::summary::Centre;
use super::t_upper_quantile;

/// One step: the most deviant value is looked at and taken out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Which value, from 0 in the order given.
    pub index: usize,
    /// Its deviation from the mean in standard deviations, R.
    pub r: f64,
    /// The critical value λ for R.
    pub lambda: f64,
    /// Mean of the values that are left without it.
    pub others: f64,
    /// Distance from that mean beyond which R exceeds λ.
    pub reach: f64,
}

/// The steps and what follows from them.
#[derive(Clone, Debug, PartialEq)]
pub struct Gesd {
    /// Steps in order; fewer than asked for where fewer than three values or no spread remain.
    pub steps: Vec<Step>,
    /// How many outliers there are: the last step with R > λ.
    pub outliers: usize,
}

impl Gesd {
    /// The outliers in the order of their removal.
    pub fn outlier_indices(&self) -> impl Iterator<Item = usize> {
        self.steps.iter().take(self.outliers).map(|step| step.index)
    }

    /// The ends beyond which a value is an outlier, by the last step that found one, or else by the first; none where there is no step.
    pub fn ends(&self) -> Option<(f64, f64)> {
        let step = self.steps.get(self.outliers.saturating_sub(1))?;
        Some((step.others - step.reach, step.others + step.reach))
    }
}

/// Two deviations closer than this are a tie.
const TIE: f64 = 1.0 + 8.0 * f64::EPSILON;

/// Looks for up to `max_outliers` outliers at significance `alpha`; in a tie the lower index goes first. The standard deviation of the
/// values left without a suspect is not taken below `least_sd`, 0 in the published test: values rounded to one step have hardly any.
/// None when a value is not finite or `alpha` is not between 0 and 1.
pub fn gesd(values: &[f64], max_outliers: usize, alpha: f64, least_sd: f64) -> Option<Gesd> {
    let usable = values.iter().all(|value| value.is_finite()) && alpha > 0.0 && alpha < 1.0;
    if !usable {
        return None;
    }
    let mut left: Vec<(usize, f64)> = values.iter().copied().enumerate().collect();
    let mut steps = Vec::new();
    while steps.len() < max_outliers && left.len() >= 3 {
        let numbers: Vec<f64> = left.iter().map(|(_, value)| *value).collect();
        let m = numbers.len() as f64;
        let centre = Centre::of(&numbers)?;
        let sd = centre.root_sum_of_squares(&numbers, m - 1.0);
        if sd == 0.0 {
            break;
        }
        let (mut place, mut largest) = (0, 0.0);
        for (i, &number) in numbers.iter().enumerate() {
            let size = centre.deviation(number).abs();
            if size > largest * TIE {
                (place, largest) = (i, size);
            }
        }
        let index = left.remove(place).0;
        let others: Vec<f64> = left.iter().map(|(_, value)| *value).collect();
        let centre = Centre::of(&others)?;
        let sd_of_others = centre.root_sum_of_squares(&others, m - 2.0);
        // The sum of squares is that of the others and a part of the suspect's own.
        let sd = if sd_of_others < least_sd {
            ((m - 2.0).sqrt() * least_sd).hypot((m / (m - 1.0)).sqrt() * largest) / (m - 1.0).sqrt()
        } else {
            sd
        };
        let t = t_upper_quantile(alpha / (2.0 * m), Some(m - 2.0))?;
        let lambda = (m - 1.0) * t / ((m - 2.0 + t * t) * m).sqrt();
        let reach = t * (m / (m - 1.0)).sqrt() * sd_of_others.max(least_sd);
        steps.push(Step { index, r: largest / sd, lambda, others: centre.mean, reach });
    }
    let outliers = steps.iter().rposition(|step| step.r > step.lambda).map_or(0, |last| last + 1);
    Some(Gesd { steps, outliers })
}
