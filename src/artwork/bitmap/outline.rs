//! An outline of pixels as lines and curves between its corners.

use kurbo::{BezPath, Point};

use super::corners::{Corner, Grain, corners};
use super::fit;
use super::run::Lap;

/// The ring as lines and curves, its corners kept. A rough one is followed less closely.
pub(super) fn drawn(ring: &[Point], grain: Grain) -> BezPath {
    let grain = grain.for_strays(unevenness(ring));
    let lap = Lap::new(ring);
    let corners = corners(&lap, grain);
    let mut path = BezPath::new();
    let reach = grain.chord;
    if let Some(first) = corners.first() {
        path.move_to(first.tip);
        let next = corners.iter().skip(1).chain([first]);
        for (corner, next) in corners.iter().zip(next) {
            fit::draw(&side(&lap, corner, next), false, grain.tolerance, reach, &mut path);
        }
    } else if let Some(first) = ring.first() {
        path.move_to(*first);
        let round: Vec<Point> = ring.iter().chain([first]).copied().collect();
        fit::draw(&round, true, grain.tolerance, reach, &mut path);
    }
    path.close_path();
    path
}

/// The points of the outline from one corner's tip to the next one's, without what the corners round.
fn side(lap: &Lap<'_>, corner: &Corner, next: &Corner) -> Vec<Point> {
    let from = corner.along + corner.rounding;
    let mut to = next.along - next.rounding;
    // The side that goes on past the start of the outline; with one corner it is the whole of it.
    if next.along <= corner.along {
        to += lap.length();
    }
    [corner.tip].into_iter().chain(lap.span(from, to)).chain([next.tip]).collect()
}

/// How far the points of a ring stray from a smooth line on both sides, in px: the median of their third differences
/// across the line, which straight stretches and even curves leave at nothing, over that of a normal spread of 1 px
/// (0.6745 times the root of 1 + 9 + 9 + 1).
fn unevenness(ring: &[Point]) -> f64 {
    let mut strays: Vec<f64> = ring
        .windows(4)
        .filter_map(|four| {
            let [a, b, c, d] = four else { return None };
            let along = *d - *a;
            let third = (d.to_vec2() - a.to_vec2()) - 3.0 * (*c - *b);
            (along.hypot() > 0.0).then(|| (along.cross(third) / along.hypot()).abs())
        })
        .collect();
    let middle = strays.len() / 2;
    if strays.is_empty() {
        return 0.0;
    }
    let (_, median, _) = strays.select_nth_unstable_by(middle, f64::total_cmp);
    *median / (0.6745 * 20.0_f64.sqrt())
}
