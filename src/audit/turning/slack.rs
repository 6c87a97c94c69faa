//! How far a turn may stand off its stop before the reading fails.
//!
//! The gap between two shapes that turn against each other changes by no more than the reach of the turning
//! one times the angle, so a step of gap over reach can never jump past the first contact. Steps of that
//! size close in on it; once a step has passed it the bracket is halved down to [`PRECISION`].

/// Smallest step of the search, in degrees. A contact that lasts for less than this may be passed over.
const LEAST_STEP: f64 = 0.05;
/// Width to which the bracket is narrowed, in degrees.
const PRECISION: f64 = 1e-3;

/// What a probe finds at an angle: the gap in mm, and a step in degrees that certainly meets no contact.
#[derive(Clone, Copy)]
pub(super) struct Probe {
    pub gap: f64,
    pub safe_step: f64,
}

/// Angle in degrees, `limit` at most, at which the gap first closes when turning by `sign` (1 or -1) times it, from
/// what is found at the stop itself.
pub(super) fn slack(sign: f64, limit: f64, at_rest: Probe, probe: impl Fn(f64) -> Probe) -> f64 {
    let (mut before, mut at) = ((0.0, at_rest.gap), 0.0);
    let mut here = at_rest;
    if here.gap <= 0.0 {
        return 0.0;
    }
    while at < limit {
        let next = (at + here.safe_step.max(LEAST_STEP)).min(limit);
        let there = probe(sign * next);
        if there.gap <= 0.0 {
            let close = aimed(before, (at, here.gap));
            return narrowed(at, next, close, |x| probe(sign * x).gap > 0.0);
        }
        (before, at, here) = ((at, here.gap), next, there);
    }
    limit
}

/// Where the line through two gaps, each with its angle, comes to zero; not a number where it does not.
fn aimed(before: (f64, f64), here: (f64, f64)) -> f64 {
    let fall = (before.1 - here.1) / (here.0 - before.0);
    if fall > 0.0 { here.0 + here.1 / fall } else { f64::NAN }
}

/// Where `holds` ceases to, between a place where it does and one where it does not. Looks first closely on either
/// side of a likely place.
fn narrowed(mut from: f64, mut to: f64, likely: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for near in [likely - 0.4 * PRECISION, likely + 0.4 * PRECISION] {
        if from < near && near < to {
            if holds(near) { from = near } else { to = near }
        }
    }
    while to - from > PRECISION {
        let middle = f64::midpoint(from, to);
        if holds(middle) { from = middle } else { to = middle }
    }
    f64::midpoint(from, to)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A wall at an angle: the gap shrinks in proportion, at half the speed the reach allows.
    #[test]
    fn the_first_contact_is_found_from_either_side() {
        let wall = |x: f64| Probe { gap: (7.3 - x).min(x + 2.6) * 0.1, safe_step: (7.3 - x).min(x + 2.6) * 0.5 };
        assert!((slack(1.0, 180.0, wall(0.0), wall) - 7.3).abs() < 2.0 * PRECISION);
        assert!((slack(-1.0, 180.0, wall(0.0), wall) - 2.6).abs() < 2.0 * PRECISION);
        assert_eq!(slack(1.0, 5.0, wall(0.0), wall), 5.0);
    }
}
