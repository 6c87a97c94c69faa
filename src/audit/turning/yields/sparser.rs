//! Curves with fewer corners. What is asked of a label in an opening grows with the corners of both, and a yield needs them less
//! closely than a gap does.

use kurbo::{Line, Point, Vec2};

/// How closely the straight pieces follow what they stand for, in mm. They are laid so that they stray as much to one side as to
/// the other, so a share of dials, which is a mean over many places of a curve, hardly feels it.
const CLOSE_MM: f64 = 2e-3;
/// Where a chord and its arc part by 1 in the middle, the chord is moved by this. A corner meets it anywhere, so on average where
/// they part by 2/3; a curve that nearly fits the arc meets it where their directions are the same, in the middle.
const CHORD: f64 = 0.8;
/// By so much less than a circle a polygon in it reaches on average over all directions, where each chord parts by 1 from its arc.
const POLYGON: f64 = 1.0 / 3.0;

/// A straight piece that stands for several, and how far they stand off it at the most, in mm to the right of its way.
struct Piece {
    line: Line,
    bulge: f64,
}

impl Piece {
    fn right(&self) -> Vec2 {
        let along = self.line.p1 - self.line.p0;
        Vec2::new(along.y, -along.x) / along.hypot().max(f64::MIN_POSITIVE)
    }
}

/// Edges that follow one another, as fewer of them; where several become one, it lies between them.
pub(super) fn edges(edges: &[Line]) -> impl Iterator<Item = Line> {
    let points = edges.first().map(|edge| edge.p0).into_iter().chain(edges.iter().map(|edge| edge.p1));
    pieces(points).into_iter().map(|piece| {
        let by = piece.right() * (CHORD * piece.bulge);
        Line::new(piece.line.p0 + by, piece.line.p1 + by)
    })
}

/// The corners of a convex hull, counter-clockwise, fewer of them.
pub(super) fn hull(corners: &[Point]) -> Vec<Point> {
    let pieces = pieces(corners.iter().chain(corners.first()).copied());
    let before = pieces.last().into_iter().chain(&pieces);
    let by = |piece: &Piece| piece.right() * (POLYGON * piece.bulge);
    before.zip(&pieces).map(|(before, after)| after.line.p0 + (by(before) + by(after)) / 2.0).collect()
}

fn pieces(points: impl Iterator<Item = Point>) -> Vec<Piece> {
    let mut found: Vec<Piece> = Vec::new();
    let (mut from, mut passed): (Option<Point>, Vec<Point>) = (None, Vec::new());
    for point in points {
        let Some(begun) = from else {
            from = Some(point);
            continue;
        };
        if let Some(last) = passed.last().copied()
            && bulge(Line::new(begun, point), &passed).is_none()
        {
            found.extend(piece(begun, &mut passed));
            from = Some(last);
        }
        passed.push(point);
    }
    found.extend(from.and_then(|from| piece(from, &mut passed)));
    found
}

/// The piece that ends at the last of the points passed, and leaves none of them.
fn piece(from: Point, passed: &mut Vec<Point>) -> Option<Piece> {
    let line = Line::new(from, passed.pop()?);
    let bulge = bulge(line, passed).unwrap_or_default();
    passed.clear();
    Some(Piece { line, bulge })
}

/// How far points stand off a line at the most, to its right; none where that is too far, or they lead past its ends.
fn bulge(line: Line, passed: &[Point]) -> Option<f64> {
    let along = line.p1 - line.p0;
    let length = along.hypot();
    passed.iter().try_fold(0.0_f64, |most, point| {
        let from = *point - line.p0;
        let right = from.cross(along) / length;
        let close = right.abs() <= CLOSE_MM && (0.0..=length * length).contains(&from.dot(along));
        close.then_some(if right.abs() > most.abs() { right } else { most })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn circle(radius: f64, corners: usize) -> Vec<Point> {
        let at =
            |place| Point::ORIGIN + Vec2::from_angle(std::f64::consts::TAU * place as f64 / corners as f64) * radius;
        (0..corners).map(at).collect()
    }

    /// A circle keeps its mean radius, as seen from within and from without, with less than half its corners.
    #[test]
    fn a_circle_keeps_its_size() {
        let radius = 3.0;
        let fine = circle(radius, 180);
        let coarse = hull(&fine);
        assert!(coarse.len() * 2 <= fine.len(), "{}", coarse.len());
        let ways = (0..3600).map(|place| Vec2::from_angle(std::f64::consts::TAU * f64::from(place) / 3600.0));
        let reach = |corners: &[Point], way: Vec2| corners.iter().map(|at| way.dot(at.to_vec2())).fold(0.0, f64::max);
        let off: Vec<f64> = ways.map(|way| reach(&coarse, way) - radius).collect();
        assert!(off.iter().all(|off| off.abs() < CLOSE_MM), "{off:?}");
        assert!((off.iter().sum::<f64>() / off.len() as f64).abs() < 1e-4);
        // The wall of a round opening: its inside is on the right, so it goes round clockwise.
        let wall: Vec<Line> =
            fine.iter().rev().zip(fine.iter().rev().skip(1)).map(|(a, b)| Line::new(*a, *b)).collect();
        let walls: Vec<Line> = edges(&wall).collect();
        let away = |line: &Line| (line.p1 - line.p0).cross(line.p0.to_vec2()).abs() / (line.p1 - line.p0).hypot();
        let mean = |lines: &[Line]| lines.iter().map(away).sum::<f64>() / lines.len() as f64;
        assert!(walls.len() * 2 <= wall.len() + 1, "{}", walls.len());
        assert!((mean(&walls) - mean(&wall)).abs() < 2e-3, "{} {}", mean(&walls), mean(&wall));
        assert!(walls.iter().all(|line| (away(line) - radius).abs() < CLOSE_MM));
    }

    /// Corners stay, and so does what is straight.
    #[test]
    fn corners_stay_where_they_are() {
        let square = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)].map(Point::from);
        assert_eq!(hull(&square), square);
        let sides: Vec<Line> = square.windows(2).map(|ends| Line::new(ends[0], ends[1])).collect();
        assert_eq!(edges(&sides).collect::<Vec<_>>(), sides);
        assert_eq!(hull(&square[..2]), square[..2]);
        assert_eq!(hull(&square[..1]), square[..1]);
        // A way there and back is no point.
        let back = [Line::new((0.0, 0.0), (1.0, 0.0)), Line::new((1.0, 0.0), (0.0, 0.001))];
        assert_eq!(edges(&back).count(), 2);
    }
}
