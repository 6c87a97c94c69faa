//! A scan or photograph of a drawing on paper as what a drawing consists of: the outermost lines are outlines, closed lines in a
//! colour that is cut are openings, all other ink is artwork.

use std::f64::consts::{PI, TAU};

use kurbo::{Affine, BezPath, Point, Rect, Shape as _, Vec2};

use super::contour::{Contour, STEPS};
use super::recognise::recognised;
use super::shape::{Kind, Shape};
use super::works::usual_work;
use super::{Coloured, Drawing, Refused, Wanted, Work};
use crate::artwork::{Blot, DrawnPath, Elements, Inked, StatedSize, goes_round, inked};
use crate::diagnostics::counted;
use crate::units::{Length, plain};
use crate::vocabulary::usual;
use crate::work::spend_on;

/// How large what is in a picture is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// The longer side of the box round its largest outline.
    Across(Length),
    /// So many pixels an inch.
    Dpi(f64),
    /// As the file says.
    Stated,
}

/// What a hand strays by, as a share of the size of the outline: two and a half times as much is taken for the shape.
const HAND: f64 = 0.004;

/// A closed line has a hole of at least this share of all within its rim.
const HOLE: f64 = 0.5;

/// What fills its rim by more than this is an area and no line.
const SOLID: f64 = 0.7;

/// What is smaller than this share of the largest outline is none.
const LEAST: f64 = 0.25;

/// Points that tell a line.
const POINTS: usize = 400;

/// A drawing stands aslant by no more than this, in degrees, or it was meant so.
const ASLANT: f64 = 5.0;

/// An ellipse whose sides differ by less than this share may be a circle that was seen aslant.
const NEARLY_ROUND: f64 = 0.08;

/// Where no line is wider than so many pixels, its edges are not known well.
const THIN: f64 = 2.5;

/// Ink that goes once round: its middle line, in pixels, y up.
struct Line {
    /// Which blot.
    blot: usize,
    middle: Vec<Point>,
}

/// What is drawn in a picture.
pub(super) fn drawing(bytes: &[u8], scale: Scale, wanted: &Wanted) -> Result<Drawing, Refused> {
    let mut inked = inked(bytes).map_err(Refused::Unreadable)?;
    let mut told = Vec::new();
    if inked.blots.is_empty() {
        return Err(Refused::Faint { contrast: inked.contrast });
    }
    let (across, down) = (inked.size.0 as f64, inked.size.1 as f64);
    let page = Rect::new(1.5, 1.5, across - 1.5, down - 1.5);
    let is_whole =
        |blot: &Blot| page.contains(blot.bounds.origin()) && page.contains(Point::new(blot.bounds.x1, blot.bounds.y1));
    let (kept, cut_off): (Vec<Blot>, Vec<Blot>) = inked.blots.into_iter().partition(is_whole);
    inked.blots = kept;
    let largest = inked.blots.iter().map(|blot| size(blot.bounds)).fold(0.0, f64::max);
    // A dark border is broad or straight; lines that go further than all else are the outline.
    let is_line = |blot: &&Blot| {
        let narrow = blot.bounds.width().min(blot.bounds.height());
        narrow > 0.1 * across.min(down) && width(blot) < size(blot.bounds) / 25.0
    };
    let lines = cut_off.iter().filter(is_line).map(|blot| blot.bounds).reduce(|a, b| a.union(b));
    if lines.is_some_and(|bounds| size(bounds) > largest) {
        return Err(Refused::OffThePicture);
    }
    if !cut_off.is_empty() {
        told.push(format!("left out, since it runs off the picture: {}", counted(cut_off.len(), "blot of ink")));
    }
    let outlines = outlines(&inked)?;
    let Some(first) = outlines.first() else { return Err(Refused::OffThePicture) };
    let pixel = pixel_mm(scale, &inked, &first.middle, &mut told)?;
    let (map, hand) = placed(&first.middle, pixel, scale, &mut told);
    seen(&inked, &mut told);
    let mut drawing = Drawing { elements: empty(), works: Vec::new(), told, hand };
    for outline in &outlines {
        let Some(blot) = inked.blots.get(outline.blot) else { continue };
        let inner = inked.blots.iter().filter(|other| within(blot, other));
        // An outline has the colour of what is cut: one that means something else would make its lines that.
        let colour = named(blot.colour);
        let is_cut = line_work(colour, wanted).0 == Work::Cut || colour == [0; 3];
        drawing.add(ring(&outline.middle, map), if is_cut { colour } else { usual::CUT }, (false, Work::Cut, false));
        inner.for_each(|blot| drawing.ink(blot, map, wanted));
    }
    if drawing.elements.paths.len() == 1 {
        drawing.told.push("nothing is drawn within its outline".to_owned());
    }
    Ok(drawing)
}

fn empty() -> Elements {
    Elements {
        paths: Vec::new(),
        lines: Vec::new(),
        groups: Vec::new(),
        title: String::new(),
        about: String::new(),
        page: Rect::ZERO,
        size: StatedSize::Length,
        unit_mm: 1.0,
        clipped: 0,
        dropped: Vec::new(),
    }
}

impl Drawing {
    fn add(&mut self, path: BezPath, colour: [u8; 3], (is_filled, work, is_given): (bool, Work, bool)) {
        match self.works.iter_mut().find(|one| one.colour == colour && one.is_filled == is_filled) {
            Some(one) => one.count += 1,
            None => self.works.push(Coloured { colour, is_filled, count: 1, work, is_given }),
        }
        self.elements.paths.push(DrawnPath { path, colour, is_filled, even_odd: false, within: Vec::new() });
    }

    /// What is drawn within an outline.
    fn ink(&mut self, blot: &Blot, map: Affine, wanted: &Wanted) {
        let colour = named(blot.colour);
        let (work, is_given) = line_work(colour, wanted);
        let line = closed_line(blot);
        match (work, line) {
            (Work::Nothing, _) => {}
            (Work::Cut | Work::Opening | Work::Score | Work::Pocket, Some(middle)) => {
                // Within an outline a cut is an opening.
                let work = if work == Work::Opening { Work::Cut } else { work };
                self.add(ring(&middle, map), colour, (false, work, is_given));
            }
            (Work::Cut | Work::Opening | Work::Pocket, None) if is_solid(blot) => {
                self.add(ring(&up(&blot.rim), map), colour, (false, work, is_given));
            }
            _ => self.add(map * Affine::FLIP_Y * &blot.path, colour, (true, Work::Engrave, is_given)),
        }
    }
}

/// What lines of a colour are burnt as, and whether the maker says so.
fn line_work(colour: [u8; 3], wanted: &Wanted) -> (Work, bool) {
    let given = wanted.works.iter().find(|(known, _)| *known == colour);
    let usual = || {
        let one = Coloured { colour, is_filled: false, count: 1, work: Work::Nothing, is_given: false };
        if colour == [0; 3] { Work::Engrave } else { usual_work(&one, false) }
    };
    given.map_or_else(|| (usual(), false), |(_, work)| (*work, true))
}

/// The plain colour that ink is nearest to: of paper and pens hardly any two codes are one.
fn named(colour: [u8; 3]) -> [u8; 3] {
    let (least, most) = colour.iter().fold((255, 0), |(least, most), code| (least.min(*code), most.max(*code)));
    if most - least < 60 {
        return [0; 3];
    }
    let middle = least + (most - least) / 2;
    colour.map(|code| if code > middle { 255 } else { 0 })
}

/// Whether one lies within the rim of another.
fn within(outer: &Blot, inner: &Blot) -> bool {
    let is_other = outer.bounds != inner.bounds;
    is_other
        && outer.bounds.contains(inner.bounds.center())
        && inner.rim.first().is_some_and(|at| goes_round(&outer.rim, *at))
}

fn size(bounds: Rect) -> f64 {
    bounds.width().max(bounds.height())
}

fn area(ring: &[Point]) -> f64 {
    let next = ring.iter().skip(1).chain(ring.first());
    (ring.iter().zip(next).map(|(a, b)| a.to_vec2().cross(b.to_vec2())).sum::<f64>() / 2.0).abs()
}

fn length(ring: &[Point]) -> f64 {
    let next = ring.iter().skip(1).chain(ring.first());
    ring.iter().zip(next).map(|(a, b)| a.distance(*b)).sum()
}

/// How wide the lines of a blot are, in px.
fn width(blot: &Blot) -> f64 {
    let ink = area(&blot.rim) - blot.holes.iter().map(|hole| area(hole)).sum::<f64>();
    let edges = std::iter::once(&blot.rim).chain(&blot.holes);
    2.0 * ink / edges.map(|ring| length(ring)).sum::<f64>().max(1.0)
}

fn is_solid(blot: &Blot) -> bool {
    blot.holes.iter().map(|hole| area(hole)).sum::<f64>() < (1.0 - SOLID) * area(&blot.rim)
        && area(&blot.rim) > 0.05 * length(&blot.rim).powi(2) / PI
}

/// The outermost lines and areas, the largest first.
fn outlines(inked: &Inked) -> Result<Vec<Line>, Refused> {
    let Some(most) = inked.blots.iter().map(|blot| size(blot.bounds)).reduce(f64::max) else { return Ok(Vec::new()) };
    let mut lines: Vec<Line> = Vec::new();
    for (at, blot) in inked.blots.iter().enumerate() {
        spend_on(lines.len(), STEPS);
        let is_inner = || inked.blots.iter().take(at).any(|other| within(other, blot));
        if size(blot.bounds) < LEAST * most || is_inner() {
            continue;
        }
        let middle = match closed_line(blot) {
            Some(middle) => middle,
            None if is_solid(blot) => up(&blot.rim),
            // Smaller ones are things that lie beside.
            None if size(blot.bounds) < 0.9 * most => continue,
            None if blot.holes.iter().map(|hole| area(hole)).sum::<f64>() > HOLE * area(&blot.rim) => {
                return Err(Refused::Touched);
            }
            None => return Err(Refused::OpenLine { at: opening(blot) }),
        };
        lines.push(Line { blot: at, middle });
    }
    Ok(lines)
}

/// The middle line of ink that goes once round: halfway from each point of its hole to the nearest of its rim, in pixels, y up.
fn closed_line(blot: &Blot) -> Option<Vec<Point>> {
    let hole = blot.holes.iter().max_by(|a, b| area(a).total_cmp(&area(b)))?;
    if area(hole) < HOLE * area(&blot.rim) {
        return None;
    }
    let every = (hole.len() / POINTS).max(1);
    let rim = up(&blot.rim);
    spend_on(hole.len() / every * rim.len(), 1);
    let middles = up(hole).into_iter().step_by(every).filter_map(|inner| {
        let nearest = rim.iter().min_by(|a, b| a.distance_squared(inner).total_cmp(&b.distance_squared(inner)))?;
        Some(inner.midpoint(*nearest))
    });
    Some(middles.collect())
}

/// From y down to y up.
fn up(ring: &[Point]) -> Vec<Point> {
    ring.iter().map(|point| Point::new(point.x, -point.y)).collect()
}

fn ring(points: &[Point], map: Affine) -> BezPath {
    let mut path = BezPath::new();
    for (at, point) in points.iter().enumerate() {
        if at == 0 { path.move_to(map * *point) } else { path.line_to(map * *point) }
    }
    path.close_path();
    path
}

/// Where a line that should close round everything is open, as seen from its middle.
fn opening(blot: &Blot) -> &'static str {
    const WAYS: [&str; 8] =
        ["right", "upper right", "top", "upper left", "left", "lower left", "bottom", "lower right"];
    let middle = blot.bounds.center();
    let mut met = [false; 360];
    for point in &blot.rim {
        let degrees = (middle.y - point.y).atan2(point.x - middle.x).to_degrees().rem_euclid(360.0);
        if let Some(one) = met.get_mut(degrees as usize % 360) {
            *one = true;
        }
    }
    // The longest run of directions without ink.
    let (mut best, mut run) = ((0, 0), 0);
    for at in 0..720_usize {
        run = if met.get(at % 360) == Some(&false) { run + 1 } else { 0 };
        if run > best.0 && run <= 360 {
            best = (run, at - run / 2);
        }
    }
    let eighth = ((best.1 % 360) as f64 / 45.0).round() as usize % 8;
    WAYS.get(eighth).copied().unwrap_or("top")
}

/// How many mm a pixel is.
fn pixel_mm(scale: Scale, inked: &Inked, outline: &[Point], told: &mut Vec<String>) -> Result<Vec2, Refused> {
    const INCH: f64 = 25.4;
    let stated = inked.pixel.unwrap_or(Vec2::new(1.0, 1.0));
    // Only how its sides compare is taken from the file where the maker says the size.
    let shape = stated / stated.x.max(1e-9);
    match scale {
        Scale::Dpi(dpi) => Ok(shape * (INCH / dpi)),
        Scale::Across(across) => {
            let bounds = boxed(outline);
            Ok(shape * (across.as_mm() / (bounds.width()).max(bounds.height() * shape.y)))
        }
        Scale::Stated => {
            // What cameras and screens write is no measure.
            let dpi = inked.pixel.map(|pixel| INCH / pixel.x).filter(|dpi| *dpi >= 100.0).ok_or(Refused::NoScale)?;
            told.push(format!(
                "its size is by the {} pixels an inch that the file states; `--dpi` or `--across` says otherwise",
                plain(dpi.round(), 0)
            ));
            Ok(stated)
        }
    }
}

fn boxed(points: &[Point]) -> Rect {
    let boxes = points.iter().map(|point| Rect::from_points(*point, *point));
    boxes.reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// The map to mm, upright, and what a hand strays by, in mm.
fn placed(outline: &[Point], pixel: Vec2, scale: Scale, told: &mut Vec<String>) -> (Affine, f64) {
    let plain_map = Affine::scale_non_uniform(pixel.x, pixel.y);
    let path = ring(outline, plain_map);
    let hand = HAND * size(path.bounding_box());
    let found = Contour::of(path).and_then(|contour| recognised(&contour, hand, &[]));
    let Some(shape) = found.map(|found| found.fit.shape) else { return (plain_map, hand) };
    // The box of a shaky line is wider than what was meant.
    let exact = match scale {
        Scale::Across(across) => across.as_mm() / extent(&shape).max(1e-9),
        _ => 1.0,
    };
    if let Some(longer) = nearly_round(&shape, &ring(outline, plain_map)) {
        let longer = plain((1000.0 * longer).round() / 10.0, 1);
        told.push(format!(
            "its outline is {longer} % longer one way than the other: if it was drawn round, the picture was taken aslant, and one from a \
             flatbed scanner shows it true"
        ));
    }
    let turn = aslant(&shape);
    if turn.to_degrees().abs() > 0.1 {
        told.push(format!(
            "stood {}deg aslant, and was set upright",
            plain((turn.to_degrees().abs() * 10.0).round() / 10.0, 1)
        ));
    }
    let upright = Affine::rotate_about(-turn, shape.at);
    (Affine::scale(exact) * upright * plain_map, hand)
}

/// By what share an outline that is all but round is longer one way than the other. A hand strays in all ways alike; what is seen
/// aslant swings twice a turn, and by more than it does three to six times.
fn nearly_round(shape: &Shape, path: &BezPath) -> Option<f64> {
    let points: Vec<Vec2> =
        path.elements().iter().filter_map(|one| one.end_point()).map(|point| point - shape.at).collect();
    let swing = |times: f64| {
        let next = points.iter().skip(1).chain(points.first());
        let sum = points.iter().zip(next).fold(Vec2::ZERO, |sum, (a, b)| {
            sum + Vec2::from_angle(times * a.atan2()) * (a.hypot() * a.cross(*b).atan2(a.dot(*b)))
        });
        sum.hypot() / PI
    };
    let [a, b, _] = shape.size;
    let longer = match shape.kind {
        Kind::Circle => 2.0 * swing(2.0) / a,
        Kind::Ellipse => (a / b).max(b / a) - 1.0,
        _ => return None,
    };
    let others = [3.0, 4.0, 5.0, 6.0].map(swing).into_iter().fold(0.0, f64::max);
    let is_told = longer < NEARLY_ROUND && longer > 0.01 && longer * a > 3.0 * 2.0 * others;
    is_told.then_some(longer)
}

/// By how much an outline is turned from the next way that it stands upright, in radians; nothing where that is too much for chance.
fn aslant(shape: &Shape) -> f64 {
    let Some(fold) = shape.kind.fold().filter(|fold| (2..=12).contains(fold)) else { return 0.0 };
    let step = PI / f64::from(fold.max(2));
    let turn = (shape.turn + step / 2.0).rem_euclid(step) - step / 2.0;
    if turn.abs() <= ASLANT.to_radians().min(step / 4.0) { turn } else { 0.0 }
}

/// The longer side of the box round a shape: its edge in each direction from its middle is found by halving.
fn extent(shape: &Shape) -> f64 {
    const RAYS: usize = 720;
    let reach = 4.0 * shape.size.iter().map(|size| size.abs()).fold(0.0, f64::max);
    let edge = (0..RAYS).map(|ray| {
        let way = Vec2::from_angle(TAU * ray as f64 / RAYS as f64);
        let (mut low, mut high) = (0.0, reach);
        for _ in 0..50 {
            let middle = (low + high) / 2.0;
            if shape.distance(shape.at + way * middle) < 0.0 { low = middle } else { high = middle }
        }
        shape.at + way * low
    });
    size(boxed(&edge.collect::<Vec<Point>>()))
}

/// What there is to say of the picture.
fn seen(inked: &Inked, told: &mut Vec<String>) {
    if inked.shade > 0.15 {
        told.push(format!(
            "its light falls off by {} %, which was evened out",
            plain((100.0 * inked.shade).round(), 0)
        ));
    }
    if inked.contrast < 0.25 {
        let contrast = plain((100.0 * inked.contrast).round(), 0);
        told.push(format!("its lines are only {contrast} % darker than the paper: some may be broken or missing"));
    }
    if inked.blots.iter().map(width).fold(0.0, f64::max) < THIN {
        told.push("its lines are hardly two pixels wide: scan it at a higher resolution".to_owned());
    }
    if inked.specks > 0 {
        told.push(format!("passed over as dirt: {}", counted(inked.specks, "speck")));
    }
}
