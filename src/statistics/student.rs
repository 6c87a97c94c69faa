//! Student's t distribution.

use std::f64::consts::{FRAC_2_PI, FRAC_PI_2};

use super::number;

/// Halvings of the angle that a quantile is sought at; each adds a binary digit.
const HALVINGS: usize = 60;

/// The t that |T| stays within with this probability (above 0, below 1), T having so many degrees of freedom; infinite
/// for none. For an interval with 5 % left outside, `within(0.95, degrees)`.
///
/// The distribution is a finite sum in the angle atan(t/√degrees): Abramowitz and Stegun, Handbook of Mathematical
/// Functions, 26.7.3 and 26.7.4. The sum rises with the angle, which is found by halving. Readings have whole degrees
/// of freedom, so thirty lines serve where a crate of special functions would be needed for the general case.
pub fn within(probability: f64, degrees: usize) -> f64 {
    if degrees == 0 {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (0.0, FRAC_PI_2);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if share(middle, degrees) < probability { low = middle } else { high = middle }
    }
    f64::midpoint(low, high).tan() * number(degrees).sqrt()
}

/// The probability that |T| stays within √degrees·tan(angle).
fn share(angle: f64, degrees: usize) -> f64 {
    let (sin, cos) = angle.sin_cos();
    let odd = degrees % 2 == 1;
    // Each term of the sum is the one before times cos² and a ratio of neighbouring whole numbers.
    let (mut term, first) = if odd { (cos, 2) } else { (1.0, 1) };
    let mut sum = 0.0;
    for at in (first..degrees).step_by(2) {
        sum += term;
        term *= cos * cos * number(at) / number(at + 1);
    }
    if odd { FRAC_2_PI * (angle + sin * sum) } else { sin * sum }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, critical values of Student's t.
    #[test]
    fn quantiles_are_those_of_the_handbook() {
        let table = [
            (1, 6.314, 12.706, 63.657),
            (2, 2.920, 4.303, 9.925),
            (3, 2.353, 3.182, 5.841),
            (4, 2.132, 2.776, 4.604),
            (5, 2.015, 2.571, 4.032),
            (6, 1.943, 2.447, 3.707),
            (10, 1.812, 2.228, 3.169),
            (15, 1.753, 2.131, 2.947),
            (30, 1.697, 2.042, 2.750),
            (100, 1.660, 1.984, 2.626),
        ];
        for (degrees, ninety, ninety_five, ninety_nine) in table {
            for (probability, wanted) in [(0.90, ninety), (0.95, ninety_five), (0.99, ninety_nine)] {
                let found = within(probability, degrees);
                assert!((found - wanted).abs() <= 0.000_51, "{degrees} at {probability}: {found}, not {wanted}");
            }
        }
    }

    /// The closed forms for one and two degrees of freedom (Cauchy's distribution; solved by hand for two).
    #[test]
    fn small_degrees_have_closed_forms() {
        for probability in [0.5, 0.9, 0.95, 0.999] {
            let cauchy = (FRAC_PI_2 * probability).tan();
            assert!((within(probability, 1) / cauchy - 1.0).abs() < 1e-12);
            let two = probability * (2.0 / (1.0 - probability * probability)).sqrt();
            assert!((within(probability, 2) / two - 1.0).abs() < 1e-12);
        }
        assert!(within(0.95, 0).is_infinite());
    }
}
