//! What readings tell: means and lines with their 95 % intervals, and readings that stand out, how many fail before
//! enough are sound. Pure.
//!
//! All figures are in the unit of the readings.

mod failures;
mod line;
mod mean;
pub mod normal;
mod outlier;
mod student;

pub use failures::failures_before;
pub use line::FittedLine;
pub use mean::Mean;
pub use outlier::{Outlier, of_line, of_mean};
pub use student::within;

/// The share of cases that every interval is meant to hold.
pub const COVERAGE: f64 = 0.95;

/// A count as a number.
#[allow(clippy::cast_precision_loss, reason = "readings are counted in hundreds")]
fn number(count: usize) -> f64 {
    count as f64
}
