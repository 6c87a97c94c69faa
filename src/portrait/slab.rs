//! One part, ready to be looked at: where its edge is, what is burnt, filled and painted on it.

use kurbo::Affine;
use resvg::tiny_skia::Path;

use super::colour::{Rgb, linear};
use super::distance::distance;
use super::grain::Slow;
use super::raster::{Grid, Stroked, blurred, cover, path};
use super::stuff::Stuff;
use crate::design::{Face, Tone};
use crate::geometry::Region;

/// Samples to the mm at the most where edges are looked for.
const EDGE_RES: f32 = 12.0;
/// Samples along a side at the most there.
const EDGE_SIDE: f32 = 2400.0;
/// Samples to the mm of what is blurred anyway.
const ROUGH_RES: f32 = 4.0;
/// How far the smoke of an engraving spreads, in mm.
const SMOKE: f32 = 0.35;

/// A part before it is drawn, in the frame of its layer, seen from the front.
pub(super) struct Part {
    pub(super) stuff: Stuff,
    /// Of the bare finished face, and of what is burnt.
    pub(super) colour: Tone,
    pub(super) engraved: Tone,
    pub(super) stained: bool,
    /// Bearing of the grain, in degrees.
    pub(super) grain: f64,
    pub(super) seed: u32,
    pub(super) material: Region,
    /// The layer that it turns with.
    pub(super) layer: usize,
    /// Heights of its faces over the lowest layer, in mm.
    pub(super) low: f64,
    pub(super) high: f64,
    /// What is on its front and on its back.
    pub(super) faces: [Vec<Mark>; 2],
}

/// Something on a face.
pub(super) struct Mark {
    pub(super) kind: Kind,
    pub(super) colour: Tone,
    pub(super) shape: Drawn,
}

/// What a mark is, of those that are drawn together.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Kind {
    /// A coat of paint.
    Paint,
    /// Burnt as deep as a share of the deepest; filled to the brim or not.
    Burnt { deep: f32, filled: bool },
    /// A pocket so many mm deep.
    Pocket(f32),
    /// Metal that lies in a pocket.
    Metal,
}

/// A filled region, or a line of a width in mm.
pub(super) enum Drawn {
    Region(Region),
    Line(kurbo::BezPath, f32),
}

/// Marks of one kind and colour.
pub(super) struct Layered {
    pub(super) kind: Kind,
    pub(super) colour: Rgb,
    pub(super) mask: Grid<u8>,
}

/// A part that is ready.
pub(super) struct Slab {
    pub(super) stuff: Stuff,
    pub(super) colour: Rgb,
    pub(super) engraved: Rgb,
    pub(super) stained: bool,
    /// Cosine and sine of the grain's direction on the picture.
    pub(super) grain: (f32, f32),
    pub(super) seed: u32,
    pub(super) layer: usize,
    pub(super) low: f32,
    pub(super) high: f32,
    /// How the figure of wood changes slowly.
    pub(super) slow: Option<Slow>,
    /// To the edge, positive in the material.
    pub(super) edge: Grid<f32>,
    /// The material blurred by its thickness: how much sky it takes from what lies beneath.
    pub(super) shade: Grid<u8>,
    /// What is on the face that looks at the reader, coats of paint first.
    pub(super) near: Vec<Layered>,
    /// What is on the other face, where it is seen through.
    pub(super) far: Vec<Layered>,
    /// What is burnt, blurred: where smoke was.
    pub(super) smoke: Option<Grid<u8>>,
}

impl Slab {
    /// Of a part of a dial between these heights, seen from one side; `res` is in samples to the mm. None of a part without
    /// material.
    pub(super) fn new(part: &Part, (bottom, top): (f64, f64), face: Face, res: f32) -> Option<Self> {
        let behind = face == Face::Back;
        // Pictures count y downwards, and a back is seen mirrored.
        let map = if behind { Affine::FLIP_X * Affine::FLIP_Y } else { Affine::FLIP_Y };
        // What stands out lowest lies on the ground.
        let (low, high) =
            if behind { (top - part.high, top - part.low) } else { (part.low - bottom, part.high - bottom) };
        let [front, back] = &part.faces;
        let (near, far) = if behind { (back, front) } else { (front, back) };
        let outline = path(part.material.path(), map)?;
        let bounds = outline.bounds();
        let fine = EDGE_RES.min(res.max(4.0)).min(EDGE_SIDE / bounds.width().max(bounds.height()));
        let alone = |path: &Path| [Stroked { path: path.clone(), width: 0.0 }];
        let body = cover(&alone(&outline), fine, 3.0)?;
        let rough = cover(&alone(&outline), ROUGH_RES.min(fine), 9.0)?;
        let far_x = bounds.left().abs().max(bounds.right().abs());
        let far_y = bounds.top().abs().max(bounds.bottom().abs());
        let grain = if behind { -part.grain } else { part.grain }.to_radians();
        let slow = match part.stuff {
            Stuff::Wood { figure, .. } => Some(Slow::new(figure, (far_x * far_x + far_y * far_y).sqrt(), part.seed)),
            _ => None,
        };
        let seen_through = part.stuff == Stuff::Clear;
        Some(Self {
            stuff: part.stuff,
            colour: linear(part.colour),
            engraved: linear(part.engraved),
            stained: part.stained,
            grain: (libm::cos(grain) as f32, libm::sin(grain) as f32),
            seed: part.seed,
            layer: part.layer,
            low: low as f32,
            high: high as f32,
            slow,
            edge: distance(&body, &outline),
            shade: blurred(&rough, 0.75 * (high - low) as f32),
            near: layered(near, map, res),
            far: if seen_through { layered(far, map, res) } else { Vec::new() },
            smoke: if part.stuff.is_wood() || part.stuff == Stuff::Card { smoke(near, map) } else { None },
        })
    }

    /// Whether it is a disc about its axis, as far as its shadow tells.
    pub(super) fn is_round(&self) -> bool {
        const OFF: f32 = 0.15;
        let radii = || self.edge.border().into_iter().map(|(u, v)| (u * u + v * v).sqrt());
        let far = radii().fold(0.0, f32::max);
        radii().all(|radius| radius > far - OFF)
    }

    pub(super) fn is_clear(&self) -> bool {
        self.stuff == Stuff::Clear
    }
}

fn stroked(mark: &Mark, map: Affine) -> Option<Stroked> {
    Some(match &mark.shape {
        Drawn::Region(region) => Stroked { path: path(region.path(), map)?, width: 0.0 },
        Drawn::Line(line, width) => Stroked { path: path(line, map)?, width: *width },
    })
}

/// Marks of one kind and colour together, in the order in which they lie on one another: paint, what is burnt into it, pockets.
fn layered(marks: &[Mark], map: Affine, res: f32) -> Vec<Layered> {
    let order = |kind: Kind| match kind {
        Kind::Paint => 0,
        Kind::Burnt { .. } => 1,
        Kind::Pocket(_) => 2,
        Kind::Metal => 3,
    };
    let mut groups: Vec<(Kind, Tone, Vec<&Mark>)> = Vec::new();
    let mut last = None;
    for mark in marks {
        let is_alike = |(kind, colour, _): &(Kind, Tone, Vec<&Mark>)| (*kind, *colour) == (mark.kind, mark.colour);
        let known = match mark.kind {
            // Of coats the later lies on the former, so only neighbours are drawn together.
            Kind::Paint => last.filter(|at| groups.get(*at).is_some_and(is_alike)),
            _ => groups.iter().position(is_alike),
        };
        let at = known.unwrap_or_else(|| {
            groups.push((mark.kind, mark.colour, Vec::new()));
            groups.len() - 1
        });
        groups.get_mut(at).into_iter().for_each(|(_, _, all)| all.push(mark));
        if mark.kind == Kind::Paint {
            last = Some(at);
        }
    }
    groups.sort_by_key(|(kind, ..)| order(*kind));
    let one = |(kind, colour, alike): (Kind, Tone, Vec<&Mark>)| {
        let paths: Vec<Stroked> = alike.into_iter().filter_map(|mark| stroked(mark, map)).collect();
        Some(Layered { kind, colour: linear(colour), mask: cover(&paths, res, 0.5)? })
    };
    groups.into_iter().filter_map(one).collect()
}

fn smoke(marks: &[Mark], map: Affine) -> Option<Grid<u8>> {
    let burnt = marks.iter().filter(|mark| matches!(mark.kind, Kind::Burnt { .. }));
    let paths: Vec<Stroked> = burnt.filter_map(|mark| stroked(mark, map)).collect();
    Some(blurred(&cover(&paths, 8.0, 2.0)?, SMOKE))
}
