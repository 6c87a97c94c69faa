//! How many of the things that are made fail before enough of them are sound.

/// The probability that at most 0, 1, 2, … fail before so many are sound, where each is sound with this probability whatever the
/// others are: sums of the negative binomial distribution (Feller, An Introduction to Probability Theory and Its Applications,
/// volume 1, VI.8). The same as that of `wanted` sound ones or more among `wanted` and so many spares.
pub fn failures_before(wanted: u32, sound: f64) -> impl Iterator<Item = f64> {
    let (wanted, sound) = (f64::from(wanted), sound.clamp(0.0, 1.0));
    // By logarithms, since a long run of which none fails may be less likely than the least number there is.
    let none_fails = wanted * sound.ln();
    let failed = (1.0 - sound).ln();
    (1_u32..).scan((none_fails, 0.0), move |(term, sum), next| {
        *sum += term.exp();
        let next = f64::from(next);
        *term += ((wanted + next - 1.0) / next).ln() + failed;
        Some(f64::min(*sum, 1.0))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_never_or_always_fails_is_certain() {
        assert!(failures_before(40, 1.0).take(3).all(|chance| chance == 1.0));
        assert!(failures_before(40, 0.0).take(300).all(|chance| chance == 0.0));
    }
}
