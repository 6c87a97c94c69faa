//! What is printed on a board before anything is cut from it, and the crosses that the cuts are lined up with.

use kurbo::{Affine, Circle, Line, Point, Rect, Shape as _};

use super::layer_plan::LayerPlan;
use super::model::{PlacedPart, Print, Printed, PrintedArea};
use crate::design::{Design, Face, Layer, Printer, Shape, Tone, Work};
use crate::geometry::Region;
use crate::source::Span;
use crate::units::Length;

/// How far each arm of a cross reaches from its middle, in mm (common practice, no source).
pub(crate) const ARM_MM: f64 = 4.0;
/// Radius of the ring round the cross at the lower left, by which a sheet is laid the right way round, in mm.
const RING_MM: f64 = 2.0;

/// Something printed on a layer, in its front frame, as far as it may show: what runs over the edge farther than that is left out.
pub(super) struct OnLayer<'a> {
    face: Face,
    name: Option<&'a String>,
    colour: Tone,
    region: Region,
    origin: Span,
}

/// How far parts must stay from each other at the least where something is printed on their board, in mm: what runs over the edge
/// of one must not lie on another.
pub(super) fn gap(designs: &[&Design]) -> f64 {
    2.0 * designs.iter().map(|design| design.spreads.print_reach().as_mm()).fold(0.0, f64::max)
}

/// How far parts that lie so far from each other must stay from the edge of the board, in mm: the crosses stand in the margin, and
/// nothing that runs over an edge lies on them.
pub(super) fn margin(designs: &[&Design], gap: f64) -> f64 {
    let border = designs.iter().map(|design| design.printer.border.as_mm()).fold(0.0, f64::max);
    border + 2.0 * ARM_MM + gap / 2.0
}

/// What is printed on a layer: its marks in the order of the text and its labels over them, each as far as half the gap beyond
/// the edge.
pub(super) fn on_layer(layer: &Layer, gap: f64) -> Vec<OnLayer<'_>> {
    if !layer.is_printed() {
        return Vec::new();
    }
    let reach = layer.outline.outer().offset(gap / 2.0);
    let bare = layer.marks.iter().filter(|mark| mark.work == Work::Bare).filter_map(|mark| match &mark.shape {
        Shape::Region(region) => Some((mark.face, region)),
        Shape::Trace(_) => None,
    });
    let bare: Vec<(Face, &Region)> = bare.collect();
    let left = |face: Face, region: &Region| {
        let open = bare.iter().filter(|(on, _)| *on == face);
        let open = open.fold(region.clone(), |all, (_, one)| all.difference(one));
        if reach.covers(&open) { open } else { open.intersection(&reach) }
    };
    let marks = layer.marks.iter().filter_map(|mark| match (&mark.work, &mark.shape) {
        (Work::Print { colour }, Shape::Region(region)) => Some(OnLayer {
            face: mark.face,
            name: mark.name.as_ref(),
            colour: *colour,
            region: left(mark.face, region),
            origin: mark.origin,
        }),
        _ => None,
    });
    let labels = layer.rings.iter().flat_map(|ring| {
        ring.labels.iter().filter_map(|label| {
            let colour = ring.is_printed().then_some(label.filled.as_ref()?.colour?)?;
            let region = left(ring.face, &label.ink);
            Some(OnLayer { face: ring.face, name: Some(&ring.name), colour, region, origin: ring.origin })
        })
    });
    marks.chain(labels).filter(|it| !it.region.is_empty()).collect()
}

/// What is printed on a board with these parts on it; none where nothing is.
pub(super) fn print(
    parts: &[(PlacedPart, &LayerPlan<'_>)],
    (width, height): (Length, Length),
    turned: bool,
    printer: &Printer,
) -> Option<Print> {
    // Seen on the other face of the sheet, once it is turned over as one turns a page.
    let over = Affine::translate((width.as_mm(), 0.0)) * Affine::FLIP_X;
    let crosses = crosses((width, height), printer.border);
    let mut print = Print { up: Vec::new(), under: Vec::new(), turned, crosses };
    for (part, plan) in parts {
        let Some(lie) = part.lies.first() else { continue };
        for it in &plan.printed {
            let is_up = it.face == lie.up;
            let at = if is_up { lie.at } else { over * lie.at };
            let area = PrintedArea {
                part: part.name.clone(),
                face: it.face,
                name: it.name.cloned(),
                colour: it.colour,
                region: it.region.transformed(at),
                origin: it.origin,
            };
            if is_up { print.up.push(area) } else { print.under.push(area) }
        }
    }
    (!print.up.is_empty() || !print.under.is_empty()).then_some(print)
}

/// The middles of the crosses on a sheet: lower left, lower right, upper right, upper left.
fn crosses((width, height): (Length, Length), border: Length) -> [Point; 4] {
    let inset = border.as_mm() + ARM_MM;
    let (right, top) = (width.as_mm() - inset, height.as_mm() - inset);
    [Point::new(inset, inset), Point::new(right, inset), Point::new(right, top), Point::new(inset, top)]
}

impl Print {
    /// Whether both faces of the sheet are printed.
    pub fn is_two_sided(&self) -> bool {
        self.turned || !self.under.is_empty()
    }

    /// Every face of the sheet that is printed, the one that lies up in the first setup first. That one always is, for its
    /// crosses.
    pub fn faces(&self) -> Vec<(Printed, &[PrintedArea])> {
        let under = self.is_two_sided().then_some((Printed::Under, self.under.as_slice()));
        [(Printed::Up, self.up.as_slice())].into_iter().chain(under).collect()
    }

    /// The lines of the crosses, with the ring round the one at the lower left; on the face of the sheet that lies under, where
    /// that corner comes to lie. `width` is that of the board, in mm.
    pub fn lines(&self, face: Printed, width: f64) -> kurbo::BezPath {
        let seen = |at: Point| if face == Printed::Up { at } else { Point::new(width - at.x, at.y) };
        let mut path = kurbo::BezPath::new();
        for at in self.crosses.map(seen) {
            let level = Line::new((at.x - ARM_MM, at.y), (at.x + ARM_MM, at.y));
            let upright = Line::new((at.x, at.y - ARM_MM), (at.x, at.y + ARM_MM));
            path.extend(level.path_elements(0.1).chain(upright.path_elements(0.1)));
        }
        let ringed = self.crosses.first().copied().unwrap_or_default();
        path.extend(Circle::new(seen(ringed), RING_MM).path_elements(1e-3));
        path
    }

    /// The first cross that does not lie free of what is kept clear on a board.
    pub(super) fn hidden_cross(&self, keep_out: &Region) -> Option<Point> {
        let is_hidden = |at: &Point| {
            let square = Rect::from_center_size(*at, (2.0 * ARM_MM, 2.0 * ARM_MM)).to_path(0.1);
            let square = Region::from_path(&square, crate::geometry::Rule::NonZero).unwrap_or_else(|_| Region::empty());
            !square.intersection(keep_out).is_empty()
        };
        self.crosses.into_iter().find(is_hidden)
    }
}
