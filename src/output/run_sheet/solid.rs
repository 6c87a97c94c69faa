//! Layers and magnets as solids, drawn in parallel projection from aside: what lies flat stays a figure of lines, and walls are
//! drawn over straight pieces.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};
use svg::node::element::{ClipPath, Group, Path};

use super::super::drawing::INK;
use super::super::page::text::{SMALL, Style, line};
use super::super::page::{THICK, THIN};
use super::content::Picture;
use crate::design::{Tone, hex};
use crate::geometry::{Region, contours};
use crate::units::plain;

/// Room of one picture, in mm of paper.
pub(super) const FRAME: (f64, f64) = (56.0, 44.0);
/// Kept free within it, at the sides and below, and above, where words stand.
const EDGE: f64 = 4.0;
const HEAD: f64 = 8.0;
/// Cosine and sine of the 63° that one looks down from off the axis, and how far the dial is turned to the left, in degrees.
const DOWN: (f64, f64) = (0.454, 0.891);
const YAW: f64 = 32.0;
/// Walls, and walls of holes.
const WALL: Tone = [0xbb; 3];
/// Between two lines that show glue, in mm of paper.
const HATCH: f64 = 1.3;
/// How far curves may be off where walls are drawn, in mm.
const FLAT: f64 = 0.1;

/// A body with a flat top and upright walls.
pub(super) struct Solid {
    /// Seen from above, in mm, y up.
    pub(super) shape: Region,
    /// Heights of its lower and upper face, in mm.
    pub(super) low: f64,
    pub(super) high: f64,
    /// The colour of its upper face.
    pub(super) tone: Tone,
    /// What is on that.
    pub(super) marks: Vec<(Region, Tone)>,
    /// Where glue goes on it.
    pub(super) glue: Option<Region>,
}

/// How something is moved.
pub(super) enum Way {
    /// Down onto what lies below.
    Down,
    /// Towards it, and pushed away again.
    Apart,
}

/// What is drawn in one picture, the lowest first.
#[derive(Default)]
pub(super) struct Scene {
    pub(super) solids: Vec<Solid>,
    /// Upright dashed lines: where, from which height to which.
    pub(super) leads: Vec<(Point, f64, f64)>,
    pub(super) way: Option<Way>,
    /// What stands above it at the left and at the right.
    pub(super) words: (String, String),
}

/// From a plane at a height to the picture, as yet in mm of the dial.
fn seen(height: f64) -> Affine {
    Affine::translate((0.0, -height * DOWN.1))
        * Affine::scale_non_uniform(1.0, -DOWN.0)
        * Affine::rotate(YAW.to_radians())
}

impl Scene {
    /// The picture; `id` must be its own on the page.
    pub(super) fn picture(&self, id: &str, says: &str) -> Picture {
        let bounds = self.solids.iter().map(Solid::bounds).reduce(|all, one| all.union(one));
        let bounds = bounds.unwrap_or(Rect::new(0.0, 0.0, 1.0, 1.0));
        // Room for an arrow at the right.
        let aside = if self.way.is_some() { 6.0 } else { 0.0 };
        let room = (FRAME.0 - 2.0 * EDGE - aside, FRAME.1 - EDGE - HEAD);
        let scale = (room.0 / bounds.width()).min(room.1 / bounds.height()).min(2.0);
        let middle = Vec2::new(EDGE + room.0 / 2.0, HEAD + room.1 / 2.0);
        let map = Affine::translate(middle) * Affine::scale(scale) * Affine::translate(-bounds.center().to_vec2());
        let mut drawn = Group::new();
        for (at, solid) in self.solids.iter().enumerate() {
            drawn = drawn.add(solid.drawn(map, &format!("{id}-{at}")));
        }
        for (at, from, to) in &self.leads {
            let [from, to] = [from, to].map(|height| map * seen(*height) * *at);
            let lead = Path::new().set("d", format!("M{} L{}", place(from), place(to)));
            drawn = drawn.add(inked(lead, THICK).set("stroke-dasharray", "1.2 0.8"));
        }
        if let Some(way) = &self.way {
            let high = map.transform_rect_bbox(bounds);
            drawn = drawn.add(arrow((high.x1 + 3.5, high.center().y), way));
        }
        let words = Style::of(SMALL);
        let drawn = drawn.add(line(&self.words.0, words.strong(), (1.5, 4.4), FRAME.0 / 2.0)).add(line(
            &self.words.1,
            words.strong().end(),
            (FRAME.0 - 1.5, 4.4),
            FRAME.0 / 2.0 - 3.0,
        ));
        Picture { drawn, size: FRAME, says: says.to_owned() }
    }
}

impl Solid {
    fn bounds(&self) -> Rect {
        let Some(_) = self.shape.bounds() else { return Rect::ZERO };
        let [low, high] = [self.low, self.high].map(|height| (seen(height) * self.shape.path().clone()).bounding_box());
        low.union(high)
    }

    fn drawn(&self, map: Affine, id: &str) -> Group {
        let top = map * seen(self.high);
        let path =
            |region: &Region| Path::new().set("d", contours(region.path(), top).join(" ")).set("fill-rule", "evenodd");
        let walls = self.walls(map);
        let mut drawn = Group::new()
            .add(inked(Path::new().set("d", walls.as_str()), 2.0 * THIN).set("stroke-linejoin", "round"))
            .add(Path::new().set("d", walls).set("fill", hex(WALL)))
            .add(inked(path(&self.shape), THIN).set("fill", hex(self.tone)).set("stroke-linejoin", "round"));
        if let Some(glue) = &self.glue {
            let clip = ClipPath::new().set("id", id).add(path(glue).set("clip-rule", "evenodd"));
            let lines = hatch((top * glue.path().clone()).bounding_box());
            let hatched = inked(Path::new().set("d", lines), THIN).set("clip-path", format!("url(#{id})"));
            drawn = drawn.add(clip).add(hatched);
        }
        self.marks.iter().fold(drawn, |drawn, (region, tone)| drawn.add(path(region).set("fill", hex(*tone))))
    }

    /// Every wall as four-sided pieces, all the same way round, so that together they are one area.
    fn walls(&self, map: Affine) -> String {
        let (low, high) = (map * seen(self.low), map * seen(self.high));
        let mut all = String::new();
        for ring in self.shape.flattened(FLAT) {
            let points: Vec<Point> = ring.iter().map(|[x, y]| Point::new(*x, *y)).collect();
            let next = points.iter().cycle().skip(1);
            for (from, to) in points.iter().zip(next) {
                let mut corners = [low * *from, low * *to, high * *to, high * *from];
                let across = (corners[1] - corners[0]).cross(corners[3] - corners[0]);
                if across < 0.0 {
                    corners.reverse();
                }
                let [a, b, c, d] = corners.map(place);
                all.push_str(&format!("M{a} L{b} L{c} L{d} Z "));
            }
        }
        all.trim_end().to_owned()
    }
}

fn place(point: Point) -> String {
    format!("{},{}", plain(point.x, 3), plain(point.y, 3))
}

fn inked(path: Path, wide: f64) -> Path {
    path.set("fill", "none").set("stroke", hex(INK)).set("stroke-width", plain(wide, 3))
}

/// Lines at 45° over a box.
fn hatch(over: Rect) -> String {
    let mut all = String::new();
    let mut x = over.x0 - over.height();
    while x < over.x1 {
        // No farther than the box: what is beyond it would be drawn for nothing.
        let (left, right) = (x.max(over.x0), (x + over.height()).min(over.x1));
        let (from, to) = (Point::new(left, over.y1 - (left - x)), Point::new(right, over.y1 - (right - x)));
        all.push_str(&format!("M{} L{} ", place(from), place(to)));
        x += HATCH * std::f64::consts::SQRT_2;
    }
    all.trim_end().to_owned()
}

/// An arrow down, or one up and one down, its middle at a place.
fn arrow((x, y): (f64, f64), way: &Way) -> Group {
    let one = |from: f64, to: f64| {
        let toward = (to - from).signum();
        let mut head = BezPath::new();
        head.move_to((x, to + toward * 1.8));
        head.line_to((x - 1.4, to - toward * 1.0));
        head.line_to((x + 1.4, to - toward * 1.0));
        head.close_path();
        let shaft = inked(Path::new().set("d", format!("M{x:.3},{from:.3} L{x:.3},{to:.3}")), 0.9);
        Group::new().add(shaft).add(Path::new().set("d", head.to_svg()).set("fill", hex(INK)))
    };
    match way {
        Way::Down => one(y - 5.0, y + 4.0),
        Way::Apart => Group::new().add(one(y - 0.6, y - 5.5)).add(one(y + 0.6, y + 5.5)),
    }
}
