//! The mean of readings.

use super::{COVERAGE, number, within};

/// A mean, and how sure it is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Sample standard deviation (n - 1); none for a single reading.
    pub deviation: Option<f64>,
    /// How many readings.
    pub count: usize,
}

impl Mean {
    /// Of these readings; none where there are none.
    pub fn of(readings: &[f64]) -> Option<Self> {
        let n = number(readings.len());
        let mean = (!readings.is_empty()).then(|| readings.iter().sum::<f64>() / n)?;
        let squares: f64 = readings.iter().map(|reading| (reading - mean).powi(2)).sum();
        let deviation = (readings.len() > 1).then(|| (squares / (n - 1.0)).sqrt());
        Some(Self { mean, deviation, count: readings.len() })
    }

    /// Half the 95 % interval of the mean, t·s/√n (NIST/SEMATECH e-Handbook 1.3.5.2); none for a single reading.
    pub fn half_width(&self) -> Option<f64> {
        let n = number(self.count);
        self.deviation.map(|s| within(COVERAGE, self.count.saturating_sub(1)) * s / n.sqrt())
    }
}
