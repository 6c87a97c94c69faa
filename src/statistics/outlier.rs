//! Readings that stand out from all others.

use super::{FittedLine, Mean, number, within};

/// How often a reading that is sound may be taken for one that is not.
const RISK: f64 = 0.05;
/// How many steps of what it was read with a reading may stray for rounding and for the hand (common practice, no source).
const STEPS: f64 = 2.0;

/// The reading that stands out most, where it does so too far to be chance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlier {
    /// Its index.
    pub at: usize,
    /// How far it lies from what the others lead to expect, as the test counts it.
    pub statistic: f64,
    /// The most that the test allows for so many readings.
    pub critical: f64,
}

/// Of readings of one thing: Grubbs's test, two-sided, at 5 % (Grubbs, "Procedures for detecting outlying observations in
/// samples", Technometrics 11, 1969; NIST/SEMATECH e-Handbook 1.3.5.17.1). None under three readings, nor within two steps of
/// the mean. Readings are rounded to a `step`, which hides a part of what they stray by: two of three may come out alike by
/// rounding alone. So the variance of rounding counts in their deviation.
pub fn of_mean(readings: &[f64], step: f64) -> Option<Outlier> {
    let Mean { mean, deviation, .. } = Mean::of(readings)?;
    let deviation = deviation.filter(|s| *s > 0.0)?.hypot(rounding(step));
    let (n, count) = (number(readings.len()), readings.len());
    let t = within(1.0 - RISK / n, count.checked_sub(2).filter(|degrees| *degrees > 0)?);
    let critical = (n - 1.0) / n.sqrt() * (t * t / (n - 2.0 + t * t)).sqrt();
    let far = |reading: &f64| (reading - mean).abs();
    let is_far = |reading: &f64| far(reading) > STEPS * step;
    let statistics = readings.iter().map(|reading| if is_far(reading) { far(reading) / deviation } else { 0.0 });
    farthest(statistics, critical)
}

/// Of readings about a line: each residual over the deviation that the other points leave (the externally studentised
/// residual, which has Student's distribution), with the risk shared out among all (Cook and Weisberg, Residuals and
/// Influence in Regression, 1982, 2.2.2). It decides as Lund does, whose tables are of the internally studentised one ("Tables
/// for an approximate test for outliers in linear models", Technometrics 17, 1975). None under five points, where too little
/// is left to judge by, nor within two steps of the line. Rounding counts as above.
pub fn of_line(points: &[(f64, f64)], step: f64) -> Option<Outlier> {
    let line = FittedLine::through(points).filter(|line| line.deviation > 0.0)?;
    let n = number(points.len());
    let degrees = points.len().checked_sub(3).filter(|degrees| *degrees > 1)?;
    let studentised = |point: &(f64, f64)| {
        let (residual, room) = (point.1 - line.at(point.0), 1.0 - line.leverage(point.0));
        // The deviation without this point, from the whole one (Cook and Weisberg, 2.2.8).
        let without = ((n - 2.0) * line.deviation.powi(2) - residual * residual / room).max(0.0) / number(degrees);
        let scale = (without * room).sqrt().hypot(rounding(step));
        if room <= 1e-12 || residual.abs() <= STEPS * step { 0.0 } else { residual.abs() / scale }
    };
    farthest(points.iter().map(studentised), within(1.0 - RISK / n, degrees))
}

/// The standard deviation of what rounding to a step leaves out (JCGM 100, GUM, 4.3.7: a rectangular distribution).
fn rounding(step: f64) -> f64 {
    step / 12.0_f64.sqrt()
}

fn farthest(statistics: impl Iterator<Item = f64>, critical: f64) -> Option<Outlier> {
    let most = statistics.enumerate().reduce(|most, next| if next.1 > most.1 { next } else { most });
    most.filter(|(_, statistic)| *statistic > critical).map(|(at, statistic)| Outlier { at, statistic, critical })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook 1.3.5.17.1, uranium isotope readings of Tietjen and Moore: G = 2.4687. The critical value for
    /// both sides at n = 8, 2.126, is that of Grubbs and Beck (Technometrics 14, 1972; from memory).
    #[test]
    fn a_published_outlier_is_found() {
        let readings = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];
        let found = of_mean(&readings, 0.0).unwrap();
        assert_eq!(found.at, 7);
        assert!((found.statistic - 2.4687).abs() < 1e-4, "{}", found.statistic);
        assert!((found.critical - 2.126).abs() < 1e-3, "{}", found.critical);
        assert_eq!(of_mean(&readings[..7], 0.0), None);
    }

    #[test]
    fn too_few_or_equal_readings_say_nothing() {
        assert_eq!(of_mean(&[1.0, 9.0], 0.0), None);
        assert_eq!(of_mean(&[2.0, 2.0, 2.0, 2.0], 0.0), None);
        // Four readings of a calliper agree, the fifth is one step off.
        assert_eq!(of_mean(&[2.95, 2.95, 2.95, 2.95, 2.96], 0.01), None);
        assert!(of_mean(&[2.95, 2.95, 2.95, 2.95, 2.96], 0.0).is_some());
        assert_eq!(of_line(&[(1.0, 0.4), (2.0, 0.8), (3.0, 3.0), (4.0, 1.6)], 0.0), None);
    }

    /// At most one clean set in twenty is refused, whatever the step that normal readings are rounded to; within three standard
    /// errors of 4000 draws, which is 1 %. Without the step, sets of three that stray by five steps are refused twice as often.
    #[test]
    fn rounding_makes_no_sound_reading_stand_out() {
        let mut random = fastrand::Rng::with_seed(7);
        let mut normal = || (-2.0 * (1.0 - random.f64()).ln()).sqrt() * (std::f64::consts::TAU * random.f64()).cos();
        for count in [3, 4, 5, 8] {
            for steps in [0.3, 1.0, 2.0, 5.0, 20.0] {
                let mut set = || -> Vec<f64> { (0..count).map(|_| (steps * normal() + 300.37).round()).collect() };
                let refused = (0..4000).filter(|_| of_mean(&set(), 1.0).is_some()).count();
                assert!(refused <= 240, "{refused} of 4000 sets of {count} that stray by {steps} steps");
            }
        }
        // What is far off is refused among three as well.
        assert!(of_mean(&[2.94, 2.95, 3.95], 0.01).is_some());
    }

    /// Dropping a point and fitting the rest is the same test, by its definition.
    #[test]
    fn the_line_without_the_point_leaves_the_same() {
        let points =
            [(1.0, 0.42), (1.0, 0.45), (2.0, 0.83), (2.0, 0.88), (3.0, 1.27), (3.0, 1.62), (4.0, 1.71), (4.0, 1.66)];
        let found = of_line(&points, 0.0).unwrap();
        assert_eq!(found.at, 5);
        let rest: Vec<(f64, f64)> = points.iter().copied().filter(|point| *point != points[5]).collect();
        let line = FittedLine::through(&rest).unwrap();
        let expected = (points[5].1 - line.at(3.0)) / (line.deviation * (1.0 + line.leverage(3.0)).sqrt());
        assert!((found.statistic - expected).abs() < 1e-9, "{} {expected}", found.statistic);
        // Student's t of 5 degrees for 5 % on both sides of eight points is 4.526; of the residual over the deviation that all
        // points leave, that allows 2.1961 (a table of 2021 of Lund's test, 5 %, eight points on a straight line).
        let t = found.critical;
        let internally = (6.0 * t * t / (5.0 + t * t)).sqrt();
        assert!((internally - 2.1961).abs() < 5e-5, "{internally}");
        assert_eq!(of_line(&rest, 0.0), None);
    }
}
