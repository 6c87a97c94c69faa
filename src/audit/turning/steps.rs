//! How far a turn may stand off its stop before the reading fails, where what is seen through changes its shape as it turns.
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
/// what is found at the stop itself. `holds` tells whether there is a gap at all, which is told sooner than how wide it is.
pub(super) fn stepped(
    sign: f64,
    limit: f64,
    at_rest: Probe,
    probe: impl Fn(f64) -> Probe,
    holds: impl Fn(f64) -> bool,
) -> f64 {
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
            return narrowed(at, next, close, |x| holds(sign * x));
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

    /// The same, where whether it holds is told by the gap.
    fn slack(sign: f64, limit: f64, at_rest: Probe, probe: impl Fn(f64) -> Probe) -> f64 {
        super::stepped(sign, limit, at_rest, &probe, |x| probe(x).gap > 0.0)
    }

    /// A wall at an angle: the gap shrinks in proportion, at half the speed the reach allows.
    #[test]
    fn the_first_contact_is_found_from_either_side() {
        let wall = |x: f64| Probe { gap: (7.3 - x).min(x + 2.6) * 0.1, safe_step: (7.3 - x).min(x + 2.6) * 0.5 };
        assert!((slack(1.0, 180.0, wall(0.0), wall) - 7.3).abs() < 2.0 * PRECISION);
        assert!((slack(-1.0, 180.0, wall(0.0), wall) - 2.6).abs() < 2.0 * PRECISION);
        assert_eq!(slack(1.0, 5.0, wall(0.0), wall), 5.0);
    }
    /// Walls whose gap falls as a sine or straight, known where they close; a probe may go as far as the gap lets it.
    #[test]
    fn walls_of_all_shapes_are_found_where_they_close() {
        for at in [0.004, 0.3, 1.7, 12.0, 59.0, 91.3] {
            for (reach, speed) in [(30.0, 1.0), (30.0, 0.2), (5.0, 0.9)] {
                // A point `reach` from the axis comes no faster than its arc.
                let straight = |x: f64| speed * reach * (at - x.abs()).to_radians();
                let bent = |x: f64| 0.9 * speed * reach * (at - x.abs()).to_radians().sin();
                for gap in [&straight as &dyn Fn(f64) -> f64, &bent] {
                    let probe = |x: f64| {
                        let gap = gap(x).max(0.0);
                        Probe { gap, safe_step: (gap / reach).to_degrees() }
                    };
                    for sign in [1.0, -1.0] {
                        let found = slack(sign, 180.0, probe(0.0), probe);
                        assert!((found - at).abs() <= PRECISION, "{found} for {at}");
                        assert_eq!(slack(sign, 0.5 * at, probe(0.0), probe), 0.5 * at, "no farther than asked");
                    }
                }
            }
        }
        let shut = Probe { gap: 0.0, safe_step: 0.0 };
        assert_eq!(slack(1.0, 180.0, shut, |_| Probe { gap: 1.0, safe_step: 1.0 }), 0.0, "shut at the stop itself");
    }

    /// A step never passes the first contact for a later one: two walls, the nearer as thin as a step.
    #[test]
    fn a_thin_wall_is_not_passed_over() {
        let probe = |x: f64| {
            let thin = (x - 4.0).abs() - 0.03;
            let gap = thin.min(9.0 - x).max(0.0);
            Probe { gap, safe_step: gap }
        };
        assert!((slack(1.0, 180.0, probe(0.0), probe) - 3.97).abs() <= PRECISION);
    }

    /// Where the gap falls straight, the line through two probes tells where it closes: one look on either side of that place
    /// and the bracket is as narrow as it need be, where halving takes six from the least step.
    #[test]
    fn a_straight_fall_is_aimed_at() {
        let looks = std::cell::Cell::new(0);
        let found = narrowed(2.0, 2.05, aimed((0.5, 3.066), (1.0, 2.066)), |x| {
            looks.set(looks.get() + 1);
            x < 2.033
        });
        assert!((found - 2.033).abs() < PRECISION / 2.0 && looks.get() == 2, "{found} by {} looks", looks.get());
        assert!((aimed((0.5, 3.0), (1.0, 2.0)) - 2.0).abs() < 1e-12);
        assert!((aimed((0.0, 0.3), (2.0, 0.1)) - 3.0).abs() < 1e-12);
        assert!(aimed((0.5, 2.0), (1.0, 2.0)).is_nan() && aimed((0.5, 2.0), (1.0, 3.0)).is_nan());
        // A bad guess costs no more than the looks themselves.
        for likely in [f64::NAN, 0.0, 9.0, 2.0, 2.05, 2.01, 2.04] {
            let looks = std::cell::Cell::new(0);
            let found = narrowed(2.0, 2.05, likely, |x| {
                looks.set(looks.get() + 1);
                x < 2.033
            });
            assert!((found - 2.033).abs() <= PRECISION / 2.0 && looks.get() <= 8, "{likely}: {found}, {}", looks.get());
        }
    }
}
