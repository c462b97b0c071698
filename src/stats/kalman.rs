//! Scalar Kalman filter of a random walk: Kalman (1960), in the notation of Welch & Bishop, TR 95-041 (2006).

/// A state with its variance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Best estimate x.
    pub x: f64,
    /// Its variance P.
    pub variance: f64,
}

impl Estimate {
    /// Time passes: the variance grows by that of the process, Q.
    pub fn predict(self, process_variance: f64) -> Estimate {
        Estimate { variance: self.variance + process_variance, ..self }
    }

    /// A reading with variance R narrows the estimate; gives the gain K beside it. An estimate already exact stays.
    pub fn update(self, reading: f64, reading_variance: f64) -> (Estimate, f64) {
        let total = self.variance + reading_variance;
        let gain = if total > 0.0 { self.variance / total } else { 0.0 };
        // P·R/(P + R) and not (1 − K)·P, which loses its digits where the reading is much better than the estimate.
        let variance = if total > 0.0 { self.variance * (reading_variance / total) } else { 0.0 };
        (Estimate { x: self.x + gain * (reading - self.x), variance }, gain)
    }
}

/// The filter over a series of readings: for each one a prediction, then, where there is a reading, an update. Gives
/// for each the estimate and the gain; no gain without a reading.
pub fn kalman_scalar(
    start: Estimate,
    process_variance: f64,
    reading_variance: f64,
    readings: &[Option<f64>],
) -> Vec<(Estimate, Option<f64>)> {
    let mut estimate = start;
    readings
        .iter()
        .map(|reading| {
            estimate = estimate.predict(process_variance);
            let gain = reading.map(|reading| {
                let (updated, gain) = estimate.update(reading, reading_variance);
                estimate = updated;
                gain
            });
            (estimate, gain)
        })
        .collect()
}
