//! The section through the axis: what is solid, layer by layer, with pockets, magnets and their poles, all to scale.

use kurbo::{Affine, BezPath, Line, ParamCurve as _, Point};

use super::super::look::placed;
use crate::design::axis::{AxisMagnet, magnets};
use crate::design::heights::floors;
use crate::design::pose::Pose;
use crate::design::{Depth, Design, Ends, Face, Half, Layer, PocketDepth, Pole};
use crate::geometry::{Region, turn};
use crate::units::{Angle, Length};

/// Crossings nearer than this are one, in mm.
const SAME: f64 = 1e-6;

/// A stretch of a layer along the cut that is alike throughout: from and to along the cut, the lowest and the highest solid
/// place above the bottom of the dial; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it begins, seen from the axis.
    pub from: f64,
    /// Where it ends.
    pub to: f64,
    /// Its lower face.
    pub bottom: f64,
    /// Its upper face.
    pub top: f64,
}

/// A layer as it is cut.
#[derive(Clone, Debug, PartialEq)]
pub struct Slice {
    /// Place of the layer in the stack.
    pub layer: usize,
    /// Heights of its two faces above the bottom of the dial, in mm.
    pub faces: (f64, f64),
    /// What of it is solid, from left to right.
    pub stretches: Vec<Stretch>,
}

/// A magnet as it is cut: box in mm along the cut and above the bottom of the dial.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut<'d> {
    /// The magnet's name.
    pub name: &'d str,
    /// Left, right.
    pub across: (f64, f64),
    /// Bottom, top.
    pub heights: (f64, f64),
    /// Where its north pole looks, where that matters.
    pub north: Option<Pole>,
    /// Left and right of the hole through a washer, where that is cut.
    pub hole: Option<(f64, f64)>,
}

/// The whole dial as it is cut through the axis at a bearing.
#[derive(Clone, Debug, PartialEq)]
pub struct Section<'d> {
    /// Takes the board to the cut, which runs along x.
    pub across: Affine,
    /// The layers, bottom first.
    pub slices: Vec<Slice>,
    /// The magnets on an axis that are cut, bottom first.
    pub magnets: Vec<Cut<'d>>,
    /// The pins beside the axis that end a turn, where they are cut: from and to along the cut, and above the bottom of the dial.
    pub pins: Vec<((f64, f64), (f64, f64))>,
}

/// Cuts a dial at its first stops along the plane through the axis at this bearing; the left of the section is towards it.
pub fn section(design: &Design, bearing: Angle) -> Section<'_> {
    let pose = Pose::at(design, &[]);
    // The cut lies along x once the layer is laid by its own pose and turned back by the plane's.
    let by = |at: usize| turn(-bearing - Angle::degrees(90.0)) * placed(design, Face::Front, &pose, at);
    let standing = design.layers.iter().zip(floors(design)).enumerate();
    let slices = standing.map(|(at, (layer, floor))| {
        let faces = (floor.as_mm(), (floor + layer.stock.thickness.mean).as_mm());
        Slice { layer: at, faces, stretches: stretches(layer, by(at), faces) }
    });
    let slices: Vec<Slice> = slices.collect();
    let (all, across) = (magnets(design).0, turn(-bearing - Angle::degrees(90.0)));
    let magnets = all.iter().filter_map(|it| cut(it, across * it.axis)).collect();
    let pins = pins(design, &slices, by);
    Section { across, slices, magnets, pins }
}

/// Each is flush with the far face of the layer that it stands in.
fn pins(design: &Design, slices: &[Slice], by: impl Fn(usize) -> Affine) -> Vec<((f64, f64), (f64, f64))> {
    let ended = design.turns().filter_map(|(below, turn)| Some((below, turn, turn.ends.as_ref()?)));
    let cut = ended.flat_map(|(below, turn, ends)| {
        let (stays, _) = Ends::layers(design.across(below), turn.turning);
        let about = Affine::translate(design.axis_on(turn, stays).to_vec2());
        let hole = ends.hole().map(|hole| spans(&hole.transformed(by(stays) * about))).unwrap_or_default();
        let long = ends.pin.length.as_mm();
        let of = slices.get(stays).map(|slice| {
            let (bottom, top) = slice.faces;
            if turn.turning == Half::Upper { (bottom, bottom + long) } else { (top - long, top) }
        });
        hole.into_iter().filter_map(move |across| Some((across, of?)))
    });
    cut.collect()
}

/// A magnet whose axis stands here, the cut being along x; none where it is not cut.
fn cut<'d>(it: &AxisMagnet<'d>, axis: Point) -> Option<Cut<'d>> {
    let radius = it.magnet.diameter.as_mm() / 2.0;
    let half = (radius.powi(2) - axis.y.powi(2)).max(0.0).sqrt();
    let bottom = it.bottom.as_mm();
    let heights = (bottom, bottom + it.magnet.height.as_mm());
    let across = (axis.x - half, axis.x + half);
    let open = ((it.magnet.hole().as_mm() / 2.0).powi(2) - axis.y.powi(2)).max(0.0).sqrt();
    let hole = (open > SAME).then_some((axis.x - open, axis.x + open));
    (half > SAME).then(|| Cut { name: &it.magnet.name, across, heights, north: it.poled.then_some(it.north), hole })
}

fn stretches(layer: &Layer, map: Affine, (bottom, top): (f64, f64)) -> Vec<Stretch> {
    let along = |region: &Region| spans(&region.transformed(map));
    let solid = along(layer.material());
    let pockets: Vec<(Spans, Face, PocketDepth)> =
        layer.pockets().map(|(mark, region, depth)| (along(region), mark.face, depth)).collect();
    let ends = pockets.iter().flat_map(|(spans, _, _)| spans).chain(&solid).flat_map(|(from, to)| [*from, *to]);
    let mut ends: Vec<f64> = ends.collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup_by(|a, b| (*a - *b).abs() < SAME);
    let inside = |spans: &[(f64, f64)], x: f64| spans.iter().any(|(from, to)| *from < x && x < *to);
    let mut found: Vec<Stretch> = Vec::new();
    for (from, to) in ends.iter().zip(ends.iter().skip(1)) {
        let middle = f64::midpoint(*from, *to);
        if !inside(&solid, middle) {
            continue;
        }
        let sunk = |face: Face| {
            let deep = pockets.iter().filter(|(spans, on, _)| *on == face && inside(spans, middle));
            deep.map(|(_, _, depth)| depth.made().as_mm()).fold(0.0, f64::max)
        };
        // A pocket on either face may meet one on the other; the deepest on each counts, and nothing is left where
        // they meet.
        let here = Stretch { from: *from, to: *to, bottom: bottom + sunk(Face::Back), top: top - sunk(Face::Front) };
        let same = |last: &&mut Stretch| {
            (last.to - here.from).abs() < SAME && last.bottom == here.bottom && last.top == here.top
        };
        match found.last_mut().filter(same) {
            Some(last) => last.to = here.to,
            None if here.top > here.bottom => found.push(here),
            None => {}
        }
    }
    found
}

/// From and to along the cut, from left to right, in mm.
type Spans = Vec<(f64, f64)>;

/// Where the line y = 0 runs inside a region, from left to right. Whether a stretch between two crossings is inside is asked
/// of the region itself, so that an edge that only touches the line does no harm.
fn spans(region: &Region) -> Spans {
    let Some(bounds) = region.bounds() else { return Vec::new() };
    let line = Line::new((bounds.x0 - 1.0, 0.0), (bounds.x1 + 1.0, 0.0));
    let path: &BezPath = region.path();
    let met = path
        .segments()
        .flat_map(|piece| piece.intersect_line(line).into_iter().map(move |hit| piece.eval(hit.segment_t).x));
    let mut met: Vec<f64> = met.collect();
    met.sort_by(f64::total_cmp);
    met.dedup_by(|a, b| (*a - *b).abs() < SAME);
    let pairs = met.iter().zip(met.iter().skip(1));
    let within = pairs.filter(|(from, to)| region.contains(Point::new(f64::midpoint(**from, **to), 0.0)));
    let mut spans = Spans::new();
    for (from, to) in within {
        match spans.last_mut().filter(|last| (last.1 - from).abs() < SAME) {
            Some(last) => last.1 = *to,
            None => spans.push((*from, *to)),
        }
    }
    spans
}

/// The seats of magnets on the axis: place of the layer, the face they open to, their diameter and depth.
pub fn seats(design: &Design) -> Vec<(usize, Face, Length, Depth)> {
    let magnets = magnets(design).0;
    let wide = |it: &AxisMagnet| it.magnet.diameter + it.magnet.clearance;
    magnets.iter().map(|it| (it.layer, it.face, wide(it), it.depth)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::{circle, rectangle};

    /// A chord at distance d from the middle of a circle of radius r is 2 sqrt(r² - d²) long (Euclid III.3, by Pythagoras).
    #[test]
    fn spans_are_chords() {
        let disc = circle(10.0).unwrap();
        let moved = disc.transformed(kurbo::Affine::translate((3.0, 6.0)));
        let found = spans(&moved);
        assert_eq!(found.len(), 1);
        assert!((found[0].0 + 5.0).abs() < 1e-3 && (found[0].1 - 11.0).abs() < 1e-3, "{found:?}");
    }

    #[test]
    fn a_touched_edge_and_a_corner_on_the_line_do_no_harm() {
        let square = rectangle(10.0, 10.0, 0.0).unwrap();
        let diamond = square.transformed(kurbo::Affine::rotate(std::f64::consts::FRAC_PI_4));
        let found = spans(&diamond);
        assert!((found[0].1 - 50.0_f64.sqrt()).abs() < 1e-9 && found.len() == 1, "{found:?}");
        let above = square.transformed(kurbo::Affine::translate((0.0, 5.0)));
        assert!(spans(&above).len() <= 1);
        let ring = circle(10.0).unwrap().difference(&circle(4.0).unwrap());
        assert_eq!(spans(&ring).len(), 2);
    }
}
