//! Whether what is printed is still whole once the sheet was cut and worked: a print never lies just where the cuts do.

mod findings;

use kurbo::{Point, Vec2};

use self::findings as say;
use crate::design::{Depth, Design, Face, Layer, Lettering, Mark, Shape, Spreads, Work};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region};
use crate::source::Span;
use crate::units::Length;

/// How far apart the places along an edge are that are looked at, in mm.
const STEP_MM: f64 = 0.5;
/// How far in from an edge is meant by just inside it, in mm.
const INSIDE_MM: f64 = 0.02;
/// To how many parts of the reach it is found how far a print runs over an edge.
const PARTS: u32 = 20;
/// A share of letters that is lost before it is told: less is the raster's and the boolean's (common practice, no source).
const SLIVER: f64 = 0.02;

/// Looks at every face with a print.
pub fn printed(design: &Design) -> Problems {
    let mut problems = Problems::default();
    for (at, layer) in design.layers.iter().enumerate() {
        // What is wrong with one wheel is told once, however many like it there are.
        if !layer.is_printed() || design.alike(at).is_some() {
            continue;
        }
        for face in [Face::Front, Face::Back].into_iter().filter(|face| layer.is_printed_on(*face)) {
            let print = FacePrint::of(layer, face);
            along_edges(layer, face, &print, &design.spreads, &mut problems);
            letters_near_edge(layer, face, &design.spreads, &mut problems);
            letters_lost(layer, face, &mut problems);
        }
    }
    problems
}

/// What is printed on a face, label by label.
struct FacePrint {
    areas: Vec<(FlattenedShape, Span)>,
    bare: Vec<FlattenedShape>,
}

impl FacePrint {
    fn of(layer: &Layer, face: Face) -> Self {
        let marks = || layer.marks.iter().filter(|mark| mark.face == face);
        let flat = |mark: &Mark| region_of(mark).map(FlattenedShape::of);
        let printed = marks().filter(|mark| matches!(mark.work, Work::Print { .. }));
        let areas = printed.filter_map(|mark| Some((flat(mark)?, mark.origin)));
        let labels = letters(layer, face).into_iter().filter(|it| it.mark.is_none());
        Self {
            areas: areas.chain(labels.map(|it| (FlattenedShape::of(it.ink), it.origin))).collect(),
            bare: marks().filter(|mark| mark.work == Work::Bare).filter_map(flat).collect(),
        }
    }

    /// What asked for the print at a place, the uppermost; none where nothing is printed.
    fn at(&self, place: Point) -> Option<Span> {
        if self.bare.iter().any(|bare| bare.contains(place)) {
            return None;
        }
        self.areas.iter().rev().find(|(area, _)| area.contains(place)).map(|(_, origin)| *origin)
    }
}

/// How a print ends at an edge.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Ends {
    /// Over it, by less than it may lie off.
    Over,
    /// Inside it, by less than it may lie off.
    Short,
}

/// A place at an edge where a print ends too near.
#[derive(Clone, Copy)]
struct Spot {
    at: Point,
    ends: Ends,
    /// How far over the edge, or short of it, in mm.
    by: f64,
    origin: Span,
}

/// Where a print ends so near along an edge that the cut may show it. What crosses an edge ends there anyway, so only stretches
/// count that are longer than a print is wide which crosses it at half a right angle.
fn along_edges(layer: &Layer, face: Face, print: &FacePrint, spreads: &Spreads, problems: &mut Problems) {
    let reach = spreads.print_reach().as_mm();
    if reach <= 0.0 {
        return;
    }
    let edge = FlattenedShape::of(layer.material());
    let mut worst: [Option<Spot>; 2] = [None; 2];
    for contour in edge.contours() {
        let places: Vec<(Point, Vec2)> = places(contour);
        let ends: Vec<Option<Spot>> = places.iter().map(|(at, out)| ending(print, (*at, *out), reach)).collect();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few dozen")]
        let long = (2.0 * reach / STEP_MM).ceil() as usize;
        for (slot, wanted) in worst.iter_mut().zip([Ends::Over, Ends::Short]) {
            let is = |spot: &Option<Spot>| spot.is_some_and(|spot| spot.ends == wanted);
            for spot in stretches(&ends, is, long) {
                if slot.is_none_or(|known| spot.by < known.by) {
                    *slot = Some(spot);
                }
            }
        }
    }
    for spot in worst.into_iter().flatten() {
        let by = Length::mm(spot.by);
        let share = spreads.print_misses(by);
        let asked = (layer, face, spot.origin, spot.at);
        problems.push(match spot.ends {
            Ends::Over => say::without_bleed(asked, by, spreads.print_reach(), share),
            Ends::Short => say::ends_near_edge(asked, by, spreads.print_reach(), share),
        });
    }
}

/// Places along a contour with the way out of the material there.
fn places(contour: &[kurbo::Line]) -> Vec<(Point, Vec2)> {
    let mut found = Vec::new();
    let mut left = 0.0;
    for line in contour {
        let along = line.p1 - line.p0;
        let length = along.hypot();
        if length < 1e-9 {
            continue;
        }
        let way = along / length;
        // The inside is on the left.
        let out = Vec2::new(way.y, -way.x);
        while left < length {
            found.push((line.p0 + way * left, out));
            left += STEP_MM;
        }
        left -= length;
    }
    found
}

/// How a print ends at a place of an edge; none where it ends far enough off, or nothing is printed there.
fn ending(print: &FacePrint, (at, out): (Point, Vec2), reach: f64) -> Option<Spot> {
    let steps = |way: f64| (1..=PARTS).map(move |part| way * reach * f64::from(part) / f64::from(PARTS));
    if let Some(origin) = print.at(at - out * INSIDE_MM) {
        let end = steps(1.0).find(|by| print.at(at + out * *by).is_none())?;
        return Some(Spot { at, ends: Ends::Over, by: (end - reach / f64::from(PARTS)).max(0.0), origin });
    }
    let (by, origin) = steps(-1.0).find_map(|by| Some((by, print.at(at + out * by)?)))?;
    Some(Spot { at, ends: Ends::Short, by: -by, origin })
}

/// The worst spot of each long stretch round a contour.
fn stretches(ends: &[Option<Spot>], is: impl Fn(&Option<Spot>) -> bool, long: usize) -> Vec<Spot> {
    let first = ends.iter().position(|spot| !is(spot));
    let turned = ends.iter().cycle().skip(first.unwrap_or(0)).take(ends.len());
    let mut found = Vec::new();
    let mut stretch: Vec<Spot> = Vec::new();
    let mut close = |stretch: &mut Vec<Spot>| {
        // A small opening is amiss all round and no longer than that.
        if stretch.len() > long || stretch.len() == ends.len() {
            found.extend(stretch.iter().copied().reduce(|one, other| if other.by < one.by { other } else { one }));
        }
        stretch.clear();
    };
    for spot in turned {
        match spot {
            Some(spot) if is(&Some(*spot)) => stretch.push(*spot),
            _ => close(&mut stretch),
        }
    }
    close(&mut stretch);
    found
}

/// Printed words: a label, or a mark that is lettering.
struct Printed<'a> {
    says: &'a str,
    ink: &'a Region,
    origin: Span,
    /// Its place among the layer's marks; none of a label, which lies on all of them.
    mark: Option<usize>,
}

fn letters(layer: &Layer, face: Face) -> Vec<Printed<'_>> {
    let marks = layer.marks.iter().enumerate().filter(|(_, mark)| mark.face == face).filter_map(|(at, mark)| {
        let Lettering { says, .. } = mark.lettering.as_ref()?;
        let ink = region_of(mark).filter(|_| matches!(mark.work, Work::Print { .. }))?;
        Some(Printed { says, ink, origin: mark.origin, mark: Some(at) })
    });
    let rings = layer.rings.iter().filter(|ring| ring.face == face && ring.is_printed());
    let labels = rings.flat_map(|ring| {
        ring.labels.iter().map(|label| Printed { says: &label.says, ink: &label.ink, origin: ring.origin, mark: None })
    });
    marks.chain(labels).collect()
}

/// Letters that stand nearer to an edge than the print may lie off: the nearest of a face.
fn letters_near_edge(layer: &Layer, face: Face, spreads: &Spreads, problems: &mut Problems) {
    let reach = spreads.print_reach().as_mm();
    let edge = FlattenedShape::of(layer.material());
    let near = letters(layer, face).into_iter().filter_map(|it| {
        let flat = FlattenedShape::of(it.ink);
        let gap = flat.edge_gap(&edge, reach);
        let inside = flat.vertices().any(|point| edge.contains(point));
        // A label that crosses an edge is told of by what looks for marks over it.
        (inside && (gap.mm > 0.0 || it.mark.is_some()) && gap.mm < reach).then_some((gap, it))
    });
    if let Some((gap, it)) = near.reduce(|one, other| if other.0.mm < one.0.mm { other } else { one }) {
        let by = Length::mm(gap.mm);
        let asked = (layer, face, it.origin, gap.at.1);
        problems.push(say::letters_near_edge(asked, it.says, by, spreads.print_reach(), spreads.print_misses(by)));
    }
}

/// Letters that something else takes: burnt into them, or printed or painted over them. One of each is told, that which loses
/// most.
fn letters_lost(layer: &Layer, face: Face, problems: &mut Problems) {
    let is_burnt = |work: &Work| matches!(work, Work::Engrave { .. } | Work::Pocket { depth: Depth::Down(_) });
    let mut burnt: Option<(f64, &Mark, Printed)> = None;
    let mut covered: Option<(f64, &Mark, Printed)> = None;
    let own = || layer.marks.iter().enumerate().filter(|(_, mark)| mark.face == face);
    for (slot, burns) in [(&mut burnt, true), (&mut covered, false)] {
        for it in letters(layer, face) {
            // Paint comes last of all, and of prints the later one; labels lie on every print.
            let over = own().filter(|(at, mark)| match (&mark.work, burns) {
                (work, true) => is_burnt(work),
                (Work::Paint { .. }, false) => true,
                (Work::Print { .. }, false) => it.mark.is_some_and(|own| own < *at) && mark.origin != it.origin,
                _ => false,
            });
            let lost = over.filter_map(|(_, mark)| Some((share_under(it.ink, region_of(mark)?), mark)));
            let Some((share, mark)) = lost.reduce(|one, other| if other.0 > one.0 { other } else { one }) else {
                continue;
            };
            if share > slot.as_ref().map_or(SLIVER, |known| known.0) {
                *slot = Some((share, mark, it));
            }
        }
    }
    problems.extend(burnt.map(|(share, mark, it)| say::burnt_away((layer, face), it.says, it.origin, mark, share)));
    problems.extend(covered.map(|(share, mark, it)| say::covered((layer, face), it.says, it.origin, mark, share)));
}

/// The share of letters that lies under something.
fn share_under(ink: &Region, over: &Region) -> f64 {
    let (Some(one), Some(other)) = (ink.bounds(), over.bounds()) else { return 0.0 };
    if one.intersect(other).is_zero_area() {
        return 0.0;
    }
    ink.intersection(over).area() / ink.area().max(1e-9)
}

fn region_of(mark: &Mark) -> Option<&Region> {
    match &mark.shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    }
}
