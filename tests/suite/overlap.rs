//! How much area two shapes share, added up strip by strip over straight chords: no engine of the library or of another is in it.

use kurbo::{BezPath, ParamCurve as _, PathSeg, Point, Rect, Shape as _};

/// A shape as chords that stray from its curves by some micrometres.
pub struct Chords {
    edges: Vec<[Point; 2]>,
    bounds: Rect,
}

impl Chords {
    /// The filled inside of a path whose contours do not cross one another.
    pub fn of(path: &BezPath) -> Self {
        let mut edges = Vec::new();
        for segment in path.segments() {
            let count = match segment {
                PathSeg::Line(_) => 1,
                // A chord of length c strays from an arc of radius r by c²/8r, so as many for any size: about a micrometre.
                curve => (curve.perimeter(0.1) / 0.005).sqrt().ceil() as u32,
            };
            let at = |step: u32| segment.eval(f64::from(step) / f64::from(count));
            edges.extend((0..count).map(|step| [at(step), at(step + 1)]));
        }
        let bounds = edges.iter().flatten().fold(None, |bounds: Option<Rect>, at| {
            Some(bounds.map_or_else(|| Rect::from_points(*at, *at), |bounds| bounds.union_pt(*at)))
        });
        Self { edges, bounds: bounds.unwrap_or_default() }
    }

    /// The edges that come near a rectangle.
    fn near(&self, room: Rect) -> impl Iterator<Item = &[Point; 2]> {
        self.edges.iter().filter(move |[a, b]| Rect::from_points(*a, *b).inflate(1e-9, 1e-9).overlaps(room))
    }

    /// Where a level line is inside, from the left.
    fn inside(&self, y: f64) -> Vec<[f64; 2]> {
        let crossed = self.edges.iter().filter(|[a, b]| (a.y > y) != (b.y > y));
        let mut at: Vec<f64> = crossed.map(|[a, b]| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x)).collect();
        at.sort_unstable_by(f64::total_cmp);
        at.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
    }
}

/// Where two edges cross, above the zero.
fn crossing([a, b]: &[Point; 2], [c, d]: &[Point; 2]) -> Option<f64> {
    let (along, across) = (*b - *a, *d - *c);
    let turn = along.cross(across);
    let (t, u) = ((*c - *a).cross(across) / turn, (*c - *a).cross(along) / turn);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then_some(a.y + t * along.y)
}

/// The area that two shapes share, mm². Between two levels at which an edge ends or two cross, it is a row of trapezia: their width
/// midway times their height.
pub fn shared_area(one: &Chords, other: &Chords) -> f64 {
    if !one.bounds.overlaps(other.bounds) {
        return 0.0;
    }
    let room = one.bounds.intersect(other.bounds);
    let ends = one.near(room).chain(other.near(room)).flatten().map(|at| at.y);
    let others: Vec<&[Point; 2]> = other.near(room).collect();
    let crossings = one.near(room).flat_map(|edge| others.iter().filter_map(move |other| crossing(edge, other)));
    let mut levels: Vec<f64> = ends.chain(crossings).chain([room.y0, room.y1]).collect();
    levels.retain(|y| (room.y0..=room.y1).contains(y));
    levels.sort_unstable_by(f64::total_cmp);
    let strip = |pair: &[f64]| {
        let y = f64::midpoint(pair[0], pair[1]);
        let (ours, theirs) = (one.inside(y), other.inside(y));
        let both = ours.iter().flat_map(|a| theirs.iter().map(move |b| (a[1].min(b[1]) - a[0].max(b[0])).max(0.0)));
        both.sum::<f64>() * (pair[1] - pair[0])
    };
    levels.windows(2).map(strip).sum()
}

/// A square over a corner of another, over all of it, beside it; a disc over half of another of its size.
#[test]
fn areas_that_are_shared_are_added_up() {
    let square = |x: f64, y: f64, side: f64| Chords::of(&Rect::new(x, y, x + side, y + side).to_path(1e-3));
    assert!((shared_area(&square(0.0, 0.0, 4.0), &square(3.0, 1.0, 4.0)) - 3.0).abs() < 1e-12);
    assert!((shared_area(&square(0.0, 0.0, 4.0), &square(1.0, 1.0, 2.0)) - 4.0).abs() < 1e-12);
    assert_eq!(shared_area(&square(0.0, 0.0, 4.0), &square(4.5, 0.0, 4.0)), 0.0);
    let disc = |x: f64| Chords::of(&kurbo::Circle::new((x, 0.0), 10.0).to_path(1e-6));
    // Two circles of radius r, their middles r apart: r² (2 pi/3 - sqrt(3)/2), closed form.
    let lens = 100.0 * (2.0 * std::f64::consts::PI / 3.0 - 3.0_f64.sqrt() / 2.0);
    assert!((shared_area(&disc(0.0), &disc(10.0)) / lens - 1.0).abs() < 5e-4);
    // The corners of a diamond lie in the flanks of a square that no corner of it reaches.
    let diamond = BezPath::from_svg("M2,-1 L5,2 L2,5 L-1,2 Z").unwrap();
    assert!((shared_area(&square(0.0, 0.0, 4.0), &Chords::of(&diamond)) - 14.0).abs() < 1e-12);
}

/// Outlines laid at random against stored answers of shapely (`tests/data/overlaps.py`): whoever judges layouts is held to another
/// library. Its curves are chords ten times as fine, and ours lie a micrometre inside of them all round.
#[test]
fn areas_that_are_shared_agree_with_shapely() {
    let path = crate::dials::root().join("tests/data/overlaps.json");
    let stored: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let pairs = stored["pairs"].as_array().unwrap();
    assert_eq!((stored["library"].as_str(), pairs.len()), (Some("shapely 2.2.0"), 60));
    let drawn = |one: &serde_json::Value| Chords::of(&BezPath::from_svg(one.as_str().unwrap()).unwrap());
    for pair in pairs {
        let wanted = pair["shared_mm2"].as_f64().unwrap();
        let found = shared_area(&drawn(&pair["one"]), &drawn(&pair["other"]));
        assert!((found - wanted).abs() <= 4e-3 * wanted.sqrt() + 1e-4, "{found} and not {wanted}");
        assert_eq!(found > 0.0, wanted > 0.0);
    }
}
