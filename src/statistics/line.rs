//! A straight line through readings.

use super::{COVERAGE, number, within};

/// The line of least squares through points, and how sure it is. The intervals hold where the readings stray from a straight
/// line by chance alone, evenly all along it (NIST/SEMATECH e-Handbook 4.5.1.2 and 4.5.2.1).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedLine {
    /// Rise for each step of one along x.
    pub slope: f64,
    /// Value at x = 0.
    pub intercept: f64,
    /// Standard deviation of a reading about the line (n - 2).
    pub deviation: f64,
    /// How many points.
    pub count: usize,
    middle: f64,
    squares: f64,
    /// Student's t for its degrees of freedom.
    t: f64,
}

impl FittedLine {
    /// Through three points or more, not all at one x; else none.
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let n = number(points.len());
        let (x, y) = points.iter().fold((0.0, 0.0), |sum, point| (sum.0 + point.0 / n, sum.1 + point.1 / n));
        let squares: f64 = points.iter().map(|point| (point.0 - x).powi(2)).sum();
        if points.len() < 3 || squares <= 0.0 {
            return None;
        }
        let slope = points.iter().map(|point| (point.0 - x) * (point.1 - y)).sum::<f64>() / squares;
        let intercept = y - slope * x;
        let left: f64 = points.iter().map(|point| (point.1 - intercept - slope * point.0).powi(2)).sum();
        let deviation = (left / (n - 2.0)).sqrt();
        let t = within(COVERAGE, points.len().saturating_sub(2));
        Some(Self { slope, intercept, deviation, count: points.len(), middle: x, squares, t })
    }

    /// Its value at x.
    pub fn at(&self, x: f64) -> f64 {
        self.intercept + self.slope * x
    }

    /// How much of its own value a reading at x holds: 1/n + (x - mean)²/Sxx.
    pub fn leverage(&self, x: f64) -> f64 {
        number(self.count).recip() + (x - self.middle).powi(2) / self.squares
    }

    /// Half the 95 % interval of the slope.
    pub fn slope_half_width(&self) -> f64 {
        self.factor() / self.squares.sqrt()
    }

    /// Half the 95 % interval of the value at x = 0.
    pub fn intercept_half_width(&self) -> f64 {
        self.mean_half_width(0.0)
    }

    /// Half the 95 % interval of the line's value at x.
    pub fn mean_half_width(&self, x: f64) -> f64 {
        self.factor() * self.leverage(x).sqrt()
    }

    /// Half the 95 % interval of one further reading at x.
    pub fn half_width(&self, x: f64) -> f64 {
        self.factor() * (1.0 + self.leverage(x)).sqrt()
    }

    fn factor(&self) -> f64 {
        self.t * self.deviation
    }
}
