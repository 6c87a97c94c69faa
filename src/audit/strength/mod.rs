//! Whether the parts hold and their marks burn: webs, floors, loose pieces, marks in the wrong place.

mod feature;
mod findings;
mod floor;
mod heads;
mod magnets;
mod marks;
mod raised;
mod seats;
mod through;
mod web;

pub use feature::{Narrow, finest_of, finest_places};
pub(super) use magnets::seat_mark;
pub(super) use raised::around as around_raised;

use kurbo::Point;

use crate::design::{Design, Face, Layer, Mark, PocketDepth, RingWork, Shape, Work, standing};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, TOUCH_MM};
use crate::source::Span;
use crate::units::Length;

/// Depth taken for an engraving that states none (nominal; common practice, no source).
pub const NOMINAL_ENGRAVING: Length = Length::mm(0.3);

/// Whether a length is less than is wanted, by more than the rounding of its sum.
pub(super) fn is_less(is: Length, wanted: Length) -> bool {
    is.as_mm() < wanted.as_mm() - TOUCH_MM
}

/// What was found about the strength of each layer, bottom first.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Strength {
    /// One for each layer.
    pub layers: Vec<LayerStrength>,
}

/// The weakest places of one layer.
#[derive(Clone, Debug, PartialEq)]
pub struct LayerStrength {
    /// The layer's name.
    pub layer: String,
    /// Its narrowest web as drawn. Of necks and strips between parts of one edge only those that are too thin are looked for:
    /// [`narrowest_web`] looks for all.
    pub web: Option<Web>,
    /// Its thinnest floor; none where it has no pockets.
    pub floor: Option<Floor>,
    /// Pieces that fall out when it is cut.
    pub loose: usize,
}

/// A narrow place between two edges.
#[derive(Clone, Debug, PartialEq)]
pub struct Web {
    /// How wide it is.
    pub width: Length,
    /// The two points, in the layer's front frame.
    pub at: (Point, Point),
    /// What lies on either side, in words.
    pub between: (String, String),
    /// What asked for either side.
    pub origins: (Span, Span),
}

/// What is left under a pocket.
#[derive(Clone, Debug, PartialEq)]
pub struct Floor {
    /// How thick it is; zero or less where the pocket goes through.
    pub left: Length,
    /// Where, in the layer's front frame.
    pub at: Point,
    /// What asked for the pocket.
    pub origin: Span,
}

/// Looks at every layer and every turn's magnets or rivet.
pub fn strength(design: &Design) -> (Strength, Problems) {
    let (mut problems, mut twice) = (Problems::default(), Problems::default());
    let mut layers: Vec<LayerStrength> = Vec::new();
    for (at, layer) in design.layers.iter().enumerate() {
        // What is wrong with one wheel is told once, however many like it there are.
        let first = design.alike(at);
        let known = first.filter(|first| design.layers.get(*first).is_some_and(|first| called_alike(first, layer)));
        let found = match known.and_then(|first| layers.get(first)) {
            Some(found) => LayerStrength { layer: layer.name.clone(), ..found.clone() },
            None => of_layer(design, at, layer, if first.is_some() { &mut twice } else { &mut problems }),
        };
        layers.push(found);
    }
    magnets::check(design, &mut problems);
    (Strength { layers }, problems)
}

/// Whether all that is cut or sunk into two layers has the same names.
fn called_alike(one: &Layer, other: &Layer) -> bool {
    let names = |layer: &Layer| -> Vec<Option<String>> {
        let cut = layer.openings().map(|(mark, _)| mark).chain(layer.pockets().map(|(mark, ..)| mark));
        cut.map(|mark| mark.name.clone()).collect()
    };
    names(one) == names(other)
}

fn of_layer(design: &Design, at: usize, layer: &Layer, problems: &mut Problems) -> LayerStrength {
    let parts = Parts::of(layer, seats::of(design, at));
    if web::nothing_left(&parts, problems) {
        return LayerStrength { layer: layer.name.clone(), web: None, floor: None, loose: 0 };
    }
    let loose = web::loose(&parts, problems);
    let web = web::narrowest(&parts, problems);
    let floor = floor::thinnest(&parts, design, problems);
    floor::passes(&parts, design, problems);
    through::check(&parts, problems);
    seats::check(&parts, design, problems);
    heads::check(&parts, standing::heads(design).filter(|head| head.layer == at), problems);
    marks::check(&parts, problems);
    feature::check(&parts, problems);
    raised::check(&parts, problems);
    LayerStrength { layer: layer.name.clone(), web, floor, loose }
}

/// Least web: half the board, and what the stock burns cleanly (common practice, no source).
pub fn least_web(layer: &Layer) -> Length {
    let half = layer.stock.thickness.mean / 2.0;
    if half > layer.stock.least_feature { half } else { layer.stock.least_feature }
}

/// The narrowest web of a layer as drawn, of which this was found; none where nothing is cut or sunk into it and it has no neck.
pub fn narrowest_web(design: &Design, found: &LayerStrength) -> Option<Length> {
    let (_, layer) = design.layer(&found.layer)?;
    web::exact(layer, found)
}

/// The least that any pocket of one layer leaves beneath it; none where it has none.
pub(super) fn least_left(design: &Design, layer: usize) -> Option<Length> {
    floor::least_left(&Parts::of(design.layers.get(layer)?, Vec::new()))
}

/// A layer taken apart for these checks, everything flattened once.
struct Parts<'a> {
    layer: &'a Layer,
    outline: FlattenedShape,
    openings: Vec<Cutout<'a>>,
    pockets: Vec<Cutout<'a>>,
    burns: Vec<Burn<'a>>,
    /// The pockets and holes among them that hold a magnet or a rivet.
    seats: Vec<seats::Seat<'a>>,
}

/// An opening or a pocket.
pub(crate) struct Cutout<'a> {
    pub(crate) mark: &'a Mark,
    region: &'a Region,
    flat: FlattenedShape,
    /// Zero for an opening.
    pub(crate) depth: PocketDepth,
}

impl Cutout<'_> {
    pub(crate) fn called(&self) -> String {
        let kind = match self.mark.work {
            Work::Window => "window",
            Work::Hole => "hole",
            _ => "pocket",
        };
        self.mark.name.as_ref().map_or_else(|| format!("a {kind}"), |name| format!("{kind} `{name}`"))
    }
}

/// Something engraved or scored: a mark, or one label of a ring, printed ones included.
pub(crate) struct Burn<'a> {
    face: Face,
    pub(crate) origin: Span,
    pub(crate) called: String,
    /// The ring it belongs to.
    ring: Option<&'a str>,
    /// How that ring is worked.
    work: Option<RingWork>,
    /// Its filled area; none where it is a line.
    region: Option<&'a Region>,
    flat: FlattenedShape,
    pub(crate) depth: Length,
}

impl Burn<'_> {
    /// Whether it is no burn at all, but printed.
    fn is_printed(&self) -> bool {
        self.work == Some(RingWork::Printed)
    }
}

impl<'a> Parts<'a> {
    fn of(layer: &'a Layer, seats: Vec<seats::Seat<'a>>) -> Self {
        let openings = layer.openings().map(|(mark, region)| (mark, region, Length::ZERO.into()));
        let cutout = |(mark, region, depth)| Cutout { mark, region, flat: FlattenedShape::of(region), depth };
        Self {
            layer,
            outline: FlattenedShape::of(&layer.outline),
            openings: openings.map(cutout).collect(),
            pockets: layer.pockets().map(cutout).collect(),
            burns: layer.marks.iter().filter_map(burn_of).chain(labels_of(layer)).collect(),
            seats,
        }
    }

    /// The turn (the layer below it) whose magnet on the axis sits in this mark.
    fn turn_of(&self, mark: &Mark) -> Option<usize> {
        match self.seats.iter().find(|seat| std::ptr::eq(seat.mark, mark))?.held {
            seats::Held::OnAxis(below) => Some(below),
            seats::Held::Glued | seats::Held::Loose | seats::Held::Sliding => None,
        }
    }

    /// Whether this mark holds a magnet or a rivet.
    fn is_seat(&self, mark: &Mark) -> bool {
        self.seats.iter().any(|seat| std::ptr::eq(seat.mark, mark))
    }
}

fn burn_of(mark: &Mark) -> Option<Burn<'_>> {
    let (region, flat, depth) = match (&mark.work, &mark.shape) {
        (Work::Engrave { depth, .. }, Shape::Region(region)) => (Some(region), FlattenedShape::of(region), *depth),
        (Work::Score, Shape::Region(region)) => (None, FlattenedShape::boundary_of(region), Some(Length::ZERO)),
        (Work::Engrave { .. } | Work::Score, Shape::Trace(trace)) => {
            (None, FlattenedShape::of_trace(trace), Some(Length::ZERO))
        }
        _ => return None,
    };
    let kind = if mark.work == Work::Score { "scored line" } else { "engraving" };
    let called = mark.name.as_ref().map_or_else(|| format!("the {kind}"), |name| format!("the {kind} `{name}`"));
    let depth = depth.unwrap_or(NOMINAL_ENGRAVING);
    Some(Burn { face: mark.face, origin: mark.origin, called, ring: None, work: None, region, flat, depth })
}

fn labels_of(layer: &Layer) -> impl Iterator<Item = Burn<'_>> {
    layer.rings.iter().flat_map(|ring| {
        ring.labels.iter().map(|label| Burn {
            face: ring.face,
            origin: label.origin,
            called: format!("the label `{}` of ring `{}`", label.says, ring.name),
            ring: Some(&ring.name),
            work: Some(ring.work),
            region: Some(&label.ink),
            flat: FlattenedShape::of(&label.ink),
            depth: if ring.work == RingWork::Engraved { NOMINAL_ENGRAVING } else { Length::ZERO },
        })
    })
}
