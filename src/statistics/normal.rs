//! The normal distribution.

/// The probability that a standard normal variable stays below `x`, within 7.5e-8: Abramowitz and Stegun, Handbook of
/// Mathematical Functions, 26.2.17.
pub fn below(x: f64) -> f64 {
    // Farther out there is less than that.
    if x.abs() > 6.0 {
        return if x > 0.0 { 1.0 } else { 0.0 };
    }
    let t = 1.0 / (0.231_641_9 * x.abs() + 1.0);
    let terms = [1.330_274_429, -1.821_255_978, 1.781_477_937, -0.356_563_782, 0.319_381_530];
    // Not by `mul_add`, which is slow on processors that are not known to have it.
    let series = terms.iter().fold(0.0, |sum: f64, term| sum * t + *term) * t;
    let beyond = (-0.5 * x * x).exp() / std::f64::consts::TAU.sqrt() * series;
    if x > 0.0 { 1.0 - beyond } else { beyond }
}

/// How many standard deviations of its room a thing wants to spare, so that some 98 of 100 have it.
pub const FREE: f64 = 2.0;

/// The share of things that lack room: those whose room, this much on the average with this standard deviation, falls below zero.
/// All of them or none where nothing strays.
pub fn lacking(room: f64, deviation: f64) -> f64 {
    if deviation > 0.0 {
        below(-room / deviation)
    } else if room > 0.0 {
        0.0
    } else {
        1.0
    }
}

/// The value that a standard normal variable stays below with this probability (above 0, below 1), within 4.5e-4: Abramowitz
/// and Stegun, 26.2.23. Good enough to draw by.
pub fn quantile(probability: f64) -> f64 {
    let smaller = probability.min(1.0 - probability).max(f64::MIN_POSITIVE);
    let t = (-2.0 * smaller.ln()).sqrt();
    let over = (0.010_328 * t + 0.802_853) * t + 2.515_517;
    let under = ((0.001_308 * t + 0.189_269) * t + 1.432_788) * t + 1.0;
    let x = t - over / under;
    if probability < 0.5 { -x } else { x }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Half of all where there is no room, and 2.3 of 100 at two deviations (tables of the normal distribution).
    #[test]
    fn few_lack_room_at_two_deviations() {
        assert!((lacking(0.0, 0.1) - 0.5).abs() < 1e-3);
        assert!((lacking(0.2, 0.1) - 0.0228).abs() < 1e-3);
        assert_eq!((lacking(0.1, 0.0), lacking(-0.1, 0.0)), (0.0, 1.0));
    }

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.1, cumulative normal distribution (0.5 added).
    #[test]
    fn shares_are_those_of_the_handbook() {
        for (x, wanted) in
            [(0.0, 0.5), (0.5, 0.691_46), (1.0, 0.841_34), (1.96, 0.975_00), (2.33, 0.990_10), (3.0, 0.998_65)]
        {
            assert!((below(x) - wanted).abs() < 6e-6, "{x}: {}", below(x));
            assert!((below(-x) - (1.0 - wanted)).abs() < 6e-6, "-{x}: {}", below(-x));
            assert!((quantile(below(x)) - x).abs() < 5e-4 && (quantile(below(-x)) + x).abs() < 5e-4, "{x}");
        }
        assert!(below(9.0) <= 1.0 && below(-9.0) >= 0.0 && quantile(0.0).is_finite() && quantile(1.0).is_finite());
    }
}
