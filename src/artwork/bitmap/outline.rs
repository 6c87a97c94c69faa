//! An outline of pixels as lines and curves between its corners.

use kurbo::{BezPath, Point};

use super::corners::{Corner, Grain, corners};
use super::fit;
use super::run::Lap;

/// The ring as lines and curves, its corners kept.
pub(super) fn drawn(ring: &[Point], grain: Grain) -> BezPath {
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
    if next.along <= corner.along {
        to += lap.length();
    }
    [corner.tip].into_iter().chain(lap.span(from, to)).chain([next.tip]).collect()
}
