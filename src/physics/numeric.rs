//! Quadrature and searches that several of the formulas share.

use std::f64::consts::PI;
use std::sync::LazyLock;

/// One node of a quadrature over `t` from 0 to pi, for integrands in `cos t`, `sin² t` and `sin²(t/2)`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    /// `sin²(t/2)`, to full relative accuracy near `t = 0`.
    pub half_sine_squared: f64,
    /// `sin² t`
    pub sine_squared: f64,
    /// `cos t`
    pub cosine: f64,
    /// Weight, `dt` included.
    pub weight: f64,
}

/// Tanh-sinh (double exponential) nodes: Takahasi and Mori, "Double exponential formulas for numerical
/// integration", Publ. RIMS 9 (1974). They crowd towards `t = 0`, where rims that nearly touch make the integrand
/// steep; 241 of them give all forces here to better than 1e-10.
static NODES: LazyLock<Vec<Node>> = LazyLock::new(|| {
    const STEP: f64 = 3.3 / 120.0;
    (-120_i32..=120)
        .map(|index| {
            let u = f64::from(index) * STEP;
            let ratio = (PI * u.sinh()).exp();
            let half = 0.5 * PI * ratio / (1.0 + ratio);
            let half_sine_squared = half.sin().powi(2);
            Node {
                half_sine_squared,
                sine_squared: 4.0 * half_sine_squared * half.cos().powi(2),
                cosine: 1.0 - 2.0 * half_sine_squared,
                weight: STEP * PI * PI * u.cosh() * ratio / (1.0 + ratio).powi(2),
            }
        })
        .collect()
});

/// The integral of `f` over `t` from 0 to pi.
pub(super) fn over_half_turn(f: impl Fn(&Node) -> f64) -> f64 {
    NODES.iter().map(|node| node.weight * f(node)).sum()
}

/// Nodes and weights of Gauss and Legendre's rule on -1 to 1, of which each pair stands for two: zeros of the polynomial by
/// Newton's method from Tricomi's first guess (Abramowitz and Stegun 25.4.29, 22.16.6).
static LEGENDRE: LazyLock<Vec<(f64, f64)>> = LazyLock::new(|| {
    const COUNT: u32 = 28;
    let count = f64::from(COUNT);
    let node = |index: u32| {
        let mut x = (PI * (f64::from(index) + 0.75) / (count + 0.5)).cos();
        let mut slope = 1.0;
        for _ in 0..8 {
            let (mut before, mut here) = (1.0, x);
            for degree in 2..=COUNT {
                let n = f64::from(degree);
                (before, here) = (here, ((2.0 * n - 1.0) * x * here - (n - 1.0) * before) / n);
            }
            slope = count * (x * here - before) / (x * x - 1.0);
            x -= here / slope;
        }
        (x, 2.0 / ((1.0 - x * x) * slope * slope))
    };
    (0..COUNT / 2).map(node).collect()
});

/// Calls `f` at the nodes of a rule between `from` and `to`, with the weight of each, for integrands that are smooth.
pub(super) fn over_piece(from: f64, to: f64, mut f: impl FnMut(f64, f64)) {
    let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
    for (x, weight) in LEGENDRE.iter() {
        f(middle - half * x, half * weight);
        f(middle + half * x, half * weight);
    }
}

/// The complete elliptic integrals K and E, by the arithmetic-geometric mean (Abramowitz and Stegun 17.6); `complement` is
/// the complementary modulus, `sqrt(1 - m)`, above zero.
pub(super) fn elliptic(complement: f64) -> (f64, f64) {
    let (mut a, mut b) = (1.0, complement);
    let (mut sum, mut power) = (0.5 * (1.0 - complement * complement), 0.5);
    while (a - b).abs() > 1e-9 * a {
        let c = 0.5 * (a - b);
        (a, b) = (0.5 * (a + b), (a * b).sqrt());
        power *= 2.0;
        sum += power * c * c;
    }
    let k = PI / (a + b);
    (k, k * (1.0 - sum))
}

/// Where `f` changes sign between `low` and `high`, to within `within`, by bisection. `f(low)` is positive and
/// `f(high)` is not; so it stays at both ends, whatever rounding does. 100 halvings are past what `f64` can tell.
pub(super) fn bisect(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64, within: f64) -> f64 {
    for _ in 0..100 {
        if high - low <= within {
            break;
        }
        let middle = 0.5 * (low + high);
        if f(middle) > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Place and value of the largest `f` between `low` and `high`, where it is unimodal there: golden section
/// search (Kiefer 1953), 45 steps, which narrows the place as far as values in `f64` can tell.
pub(super) fn maximize(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> (f64, f64) {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let probe = |at: f64| (at, f(at));
    let mut left = probe(high - GOLDEN * (high - low));
    let mut right = probe(low + GOLDEN * (high - low));
    // One new value a step: the golden ratio puts the old probe where the narrower interval wants its other one.
    for _ in 0..45 {
        if left.1 > right.1 {
            (high, right) = (right.0, left);
            left = probe(high - GOLDEN * (high - low));
        } else {
            (low, left) = (left.0, right);
            right = probe(low + GOLDEN * (high - low));
        }
    }
    if left.1 > right.1 { left } else { right }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nodes_integrate_smooth_and_steep_functions() {
        assert!((over_half_turn(|_| 1.0) - PI).abs() < 1e-14);
        assert!((over_half_turn(|node| node.sine_squared) - PI / 2.0).abs() < 1e-14);
        assert!(over_half_turn(|node| node.cosine).abs() < 1e-14);
        // int_0^pi dt / (a^2 cos^2(t/2) + sin^2(t/2)) = pi / a (elementary), steep at t = pi, so turned round here.
        let sharp = 1e-3;
        let value =
            over_half_turn(|node| 1.0 / (node.half_sine_squared + sharp * sharp * (1.0 - node.half_sine_squared)));
        assert!((value * sharp / PI - 1.0).abs() < 1e-10, "{value}");
    }

    /// Exact for polynomials of twice as many degrees less one; K and E by tables (Abramowitz and Stegun 17.1: at m = 0.5
    /// 1.854 074 677 and 1.350 643 881; at 0.99 3.695 637 363 and 1.015 993 546).
    #[test]
    fn pieces_and_elliptic_integrals_are_exact() {
        let integral = |power: i32| {
            let mut sum = 0.0;
            over_piece(0.0, 2.0, |x, weight| sum += weight * x.powi(power));
            sum
        };
        for power in [0, 1, 5, 30, 55] {
            let exact = 2.0_f64.powi(power + 1) / f64::from(power + 1);
            assert!((integral(power) / exact - 1.0).abs() < 1e-12, "{power}");
        }
        for (m, k, e) in
            [(0.0, PI / 2.0, PI / 2.0), (0.5, 1.854_074_677, 1.350_643_881), (0.99, 3.695_637_363, 1.015_993_546)]
        {
            let found = elliptic((1.0_f64 - m).sqrt());
            assert!((found.0 - k).abs() < 1e-9 && (found.1 - e).abs() < 1e-9, "{m}: {found:?}");
        }
    }

    #[test]
    fn searches_find_what_they_should() {
        assert!((bisect(f64::cos, 1.0, 2.0, 1e-12) - PI / 2.0).abs() < 1e-12);
        let (at, value) = maximize(f64::sin, 1.0, 2.5);
        assert!((at - PI / 2.0).abs() < 1e-7 && (value - 1.0).abs() < 1e-14);
    }
}
