//! The layers of a drawing: groups that each have an outline of their own, or outlines that lie beside each other, with all that
//! lies in each, and the axis of each.

use kurbo::{Affine, BezPath, Point, Shape as _};

use super::Work;
use super::contour::{Contour, Joined, STEPS, joined, pieces};
use super::kerf::moved;
use super::letters;
use super::recognise::{Found, recognised};
use super::shape::Kind;
use crate::artwork::{DrawnLine, DrawnPath, Elements};
use crate::work::spend_on;

/// Middles this near to each other are one, in mm.
const SAME_AXIS: f64 = 0.25;

/// Groups in each other are looked at to this depth.
const DEEPEST: usize = 4;

/// A closed contour, and the shape that it was found to be.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub(super) work: Work,
    pub(super) contour: Contour,
    pub(super) found: Option<Found>,
}

/// What a layer was drawn as.
#[derive(Clone, Debug)]
pub(super) struct Part {
    /// That of its group; empty where it has none.
    pub(super) name: String,
    pub(super) outline: Item,
    pub(super) items: Vec<Item>,
    /// Open lines that are scored.
    pub(super) traces: Vec<BezPath>,
    pub(super) lines: Vec<DrawnLine>,
    /// Filled areas that are no shape.
    pub(super) art: Vec<DrawnPath>,
    pub(super) axis: Axis,
    /// That of the drawing, in mm.
    pub(super) noise: f64,
    /// How many such parts were drawn.
    pub(super) count: usize,
}

/// The axis of a part, and what says so.
#[derive(Clone, Debug, Default)]
pub(super) struct Axis {
    pub(super) at: Point,
    /// Middles that agree on it.
    pub(super) votes: usize,
    /// How far those lie off it at the most, in mm.
    pub(super) spread: f64,
    /// How far the outline lies from itself once it is turned about it, with by how many degrees.
    pub(super) turned: Option<(f64, f64)>,
}

/// All parts, the noise of the drawing in mm, and what became of its lines.
pub(super) struct Split {
    pub(super) parts: Vec<Part>,
    pub(super) noise: f64,
    pub(super) by_groups: bool,
    pub(super) doubled: usize,
    pub(super) widest: f64,
    /// Where lines that are cut end, and how far apart their ends are.
    pub(super) open: Vec<(Point, f64)>,
    /// How many things lie within no outline.
    pub(super) outside: usize,
    /// How many texts were read of what was drawn as outlines, and of how many nothing tells which way up they stand.
    pub(super) read: usize,
    pub(super) unsure: usize,
}

/// The paths and lines of one group, or of all.
struct Share<'e> {
    name: String,
    paths: Vec<(&'e DrawnPath, Work)>,
    lines: Vec<&'e DrawnLine>,
}

/// What a share holds once its lines are joined.
struct Sorted {
    outlines: Vec<Contour>,
    items: Vec<Item>,
    traces: Vec<BezPath>,
    art: Vec<DrawnPath>,
    joined: Joined,
    open: Vec<(Point, f64)>,
}

/// How a drawing was made, in mm.
#[derive(Clone, Copy, Debug)]
pub(super) struct Drawn {
    /// By how much a hand's lines stray at least, one standard deviation.
    pub(super) hand: f64,
    /// The kerf that is drawn in.
    pub(super) kerf: f64,
}

/// Splits a drawing into its parts.
pub(super) fn split(elements: &Elements, work: &dyn Fn(&DrawnPath) -> Work, drawn: Drawn) -> Split {
    let Drawn { hand, kerf } = drawn;
    let by_group = (0..DEEPEST).find_map(|depth| by_groups(elements, work, (depth, kerf)));
    let is_grouped = by_group.is_some();
    let shares = by_group.unwrap_or_else(|| {
        let all = share(elements, work, String::new(), &|_| true);
        let sorted = sorted(&all, kerf);
        vec![(all, sorted)]
    });
    let mut noises: Vec<f64> = shares
        .iter()
        .flat_map(|(_, sorted)| sorted.outlines.iter().chain(sorted.items.iter().map(|item| &item.contour)))
        .filter_map(|contour| contour.noise)
        .collect();
    noises.sort_by(f64::total_cmp);
    let noise = noises.get(noises.len() / 2).copied().unwrap_or(0.0);
    let mut split = Split {
        parts: Vec::new(),
        noise,
        by_groups: is_grouped,
        doubled: 0,
        widest: 0.0,
        open: Vec::new(),
        outside: 0,
        read: 0,
        unsure: 0,
    };
    for (share, sorted) in shares {
        split.doubled += sorted.joined.doubled;
        split.widest = split.widest.max(sorted.joined.widest);
        split.open.extend(sorted.open.iter().copied());
        let (parts, outside) = parts_of(&share, sorted, noise, noise.max(hand));
        split.outside += outside;
        split.parts.extend(parts);
    }
    lend_axes(&mut split);
    for part in &mut split.parts {
        about_the_axis(part, noise.max(hand));
        let before = part.lines.len();
        split.unsure += letters::read(part);
        split.read += part.lines.len() - before;
    }
    split.parts = unlike(split.parts);
    split
}

fn share<'e>(
    elements: &'e Elements,
    work: &dyn Fn(&DrawnPath) -> Work,
    name: String,
    is_in: &dyn Fn(&[usize]) -> bool,
) -> Share<'e> {
    let paths = elements.paths.iter().filter(|path| is_in(&path.within)).map(|path| (path, work(path)));
    let paths = paths.filter(|(_, work)| *work != Work::Nothing).collect();
    Share { name, paths, lines: elements.lines.iter().filter(|line| is_in(&line.within)).collect() }
}

/// The groups at one depth, where each that has anything in it has an outline round all of it.
fn by_groups<'e>(
    elements: &'e Elements,
    work: &dyn Fn(&DrawnPath) -> Work,
    (depth, kerf): (usize, f64),
) -> Option<Vec<(Share<'e>, Sorted)>> {
    let chains = elements.paths.iter().map(|path| &path.within).chain(elements.lines.iter().map(|line| &line.within));
    let mut groups: Vec<Option<usize>> = chains.map(|chain| chain.get(depth).copied()).collect();
    groups.sort_unstable();
    groups.dedup();
    let shares = groups.into_iter().map(|group| {
        let name = group.and_then(|at| elements.groups.get(at)).cloned().unwrap_or_default();
        share(elements, work, name, &|within| within.get(depth).copied() == group)
    });
    let shares: Vec<(Share, Sorted)> = shares
        .filter(|share| !share.paths.is_empty() || !share.lines.is_empty())
        .map(|share| {
            let sorted = sorted(&share, kerf);
            (share, sorted)
        })
        .collect();
    let is_whole = |(share, sorted): &(Share, Sorted)| {
        let held = |at: Point| sorted.outlines.iter().any(|outline| outline.holds(at));
        !sorted.outlines.is_empty()
            && share.lines.iter().all(|line| held(line.at))
            && sorted.items.iter().all(|item| held(item.contour.middle()))
            && sorted.art.iter().all(|art| held(art.path.bounding_box().center()))
    };
    (shares.len() > 1 && shares.iter().all(is_whole)).then_some(shares)
}

/// Joins lines, and tells outlines, which lie in no other, from what lies in them. Of what is cut the kerf is taken out.
fn sorted(share: &Share, kerf: f64) -> Sorted {
    let mut all = Sorted {
        outlines: Vec::new(),
        items: Vec::new(),
        traces: Vec::new(),
        art: Vec::new(),
        joined: Joined::default(),
        open: Vec::new(),
    };
    for kind in [Work::Cut, Work::Opening, Work::Score, Work::Pocket, Work::Engrave] {
        let mut lines = Vec::new();
        for (path, _) in share.paths.iter().filter(|(_, work)| *work == kind) {
            if kind == Work::Engrave && path.is_filled {
                all.area(path);
            } else {
                lines.extend(pieces(&path.path));
            }
        }
        all.lines(kind, joined(lines), kerf);
    }
    all
}

impl Sorted {
    /// A filled area: a shape, or artwork. Several contours at once are a letter or a picture.
    fn area(&mut self, path: &DrawnPath) {
        let parts = pieces(&path.path);
        let only = if parts.len() == 1 { parts.into_iter().next() } else { None };
        let found = only.and_then(Contour::of).and_then(|contour| {
            let found = recognised(&contour, contour.noise.unwrap_or(0.0), &[])?;
            Some(Item { work: Work::Engrave, contour, found: Some(found) })
        });
        match found {
            Some(item) => self.items.push(item),
            None => self.art.push(path.clone()),
        }
    }

    /// Joined lines of one kind.
    fn lines(&mut self, kind: Work, drawn: Joined, kerf: f64) {
        let contours: Vec<Contour> = drawn.closed.into_iter().filter_map(Contour::of).collect();
        for open in drawn.open {
            let (first, last) = (open.elements().first(), open.elements().last());
            let ends = first.and_then(|one| one.end_point()).zip(last.and_then(|one| one.end_point()));
            match (kind, ends) {
                (Work::Score | Work::Engrave, _) => self.traces.push(open),
                (_, Some((first, last))) => self.open.push((last, first.distance(last))),
                _ => {}
            }
        }
        self.joined.doubled += drawn.doubled;
        self.joined.widest = self.joined.widest.max(drawn.widest);
        for contour in &contours {
            spend_on(contours.len(), STEPS);
            let at = contour.points.first().copied().unwrap_or_default();
            let inside = contours.iter().any(|other| other.area > contour.area && other.holds(at));
            if kind == Work::Cut && !inside {
                self.outlines.push(moved(contour.clone(), -kerf / 2.0));
            } else {
                let work = match kind {
                    Work::Cut => Work::Opening,
                    // A closed line is traced, whatever it is to be burnt as.
                    Work::Engrave => Work::Score,
                    other => other,
                };
                let out = if work == Work::Opening { kerf / 2.0 } else { 0.0 };
                self.items.push(Item { work, contour: moved(contour.clone(), out), found: None });
            }
        }
    }
}

/// The parts of a share, each with what lies in it, and how many things lie in none. Lines are a shape where they stray from it by `loose`.
fn parts_of(share: &Share, sorted: Sorted, noise: f64, loose: f64) -> (Vec<Part>, usize) {
    let mut parts: Vec<Part> = sorted
        .outlines
        .into_iter()
        .map(|contour| Part {
            name: share.name.clone(),
            outline: Item { work: Work::Cut, found: recognised(&contour, loose, &[]), contour },
            items: Vec::new(),
            traces: Vec::new(),
            lines: Vec::new(),
            art: Vec::new(),
            axis: Axis::default(),
            noise,
            count: 1,
        })
        .collect();
    let mut outside = 0;
    let mut owner = |parts: &[Part], at: Point| {
        spend_on(parts.len(), STEPS);
        let found = parts.iter().position(|part| part.outline.contour.holds(at));
        outside += usize::from(found.is_none());
        found
    };
    for mut item in sorted.items {
        item.found = item.found.or_else(|| recognised(&item.contour, loose, &[]));
        let at = owner(&parts, item.contour.bounds.center());
        at.and_then(|at| parts.get_mut(at)).into_iter().for_each(|part| part.items.push(item.clone()));
    }
    for trace in sorted.traces {
        let at = owner(&parts, trace.bounding_box().center());
        at.and_then(|at| parts.get_mut(at)).into_iter().for_each(|part| part.traces.push(trace.clone()));
    }
    for art in sorted.art {
        let at = owner(&parts, art.path.bounding_box().center());
        at.and_then(|at| parts.get_mut(at)).into_iter().for_each(|part| part.art.push(art.clone()));
    }
    for line in &share.lines {
        let at = owner(&parts, line.at);
        at.and_then(|at| parts.get_mut(at)).into_iter().for_each(|part| part.lines.push((*line).clone()));
    }
    for part in &mut parts {
        part.axis = axis(part);
    }
    (parts, outside)
}

/// The point that most of what is round stands about.
fn axis(part: &Part) -> Axis {
    // Each with what it counts, and whether it is known as exactly as a shape is.
    let mut middles: Vec<(Point, f64, bool)> = Vec::new();
    if let Some(found) = part.outline.found.as_ref().filter(|found| found.fit.shape.kind != Kind::Sector) {
        middles.push((found.fit.shape.at, 2.0, true));
    }
    let circles = || part.items.iter().filter_map(|item| item.found.as_ref()).map(|found| found.fit.shape);
    let circles = || circles().filter(|shape| shape.kind == Kind::Circle);
    middles.extend(circles().map(|circle| (circle.at, 1.0, true)));
    // What is equal may stand on a ring about it.
    for first in circles() {
        spend_on(part.items.len(), STEPS);
        let equal: Vec<Point> =
            circles().filter(|other| (other.size[0] - first.size[0]).abs() <= 0.1).map(|other| other.at).collect();
        middles.extend(middle_of_ring(&equal).map(|middle| (middle, 2.0 / equal.len() as f64, true)));
    }
    let words: Vec<Point> = part.lines.iter().map(|line| line.at).collect();
    middles.extend(middle_of_ring(&words).map(|middle| (middle, 2.0, false)));
    let near = |at: Point| middles.iter().filter(move |(other, _, _)| other.distance(at) <= SAME_AXIS);
    spend_on(middles.len() * middles.len(), 2);
    let weight = |at: Point| near(at).map(|(_, weight, _)| weight).sum::<f64>();
    let best = middles.iter().max_by(|a, b| weight(a.0).total_cmp(&weight(b.0)));
    let Some((best, _, _)) = best else { return Axis { at: part.outline.contour.middle(), ..Axis::default() } };
    // The outline is the largest, and so says it best.
    let at = match part.outline.found.as_ref() {
        Some(found) if found.fit.shape.at.distance(*best) <= SAME_AXIS => found.fit.shape.at,
        _ => {
            let is_exact = near(*best).any(|(_, _, exact)| *exact);
            let counted = || near(*best).filter(|(_, _, exact)| *exact || !is_exact);
            let whole: f64 = counted().map(|(_, weight, _)| weight).sum();
            let sum = counted().fold(kurbo::Vec2::ZERO, |sum, (at, weight, _)| sum + at.to_vec2() * *weight);
            (sum / whole).to_point()
        }
    };
    let spread = near(*best).map(|(other, _, _)| other.distance(at)).fold(0.0, f64::max);
    Axis { at, votes: near(*best).count(), spread, turned: turned(part, at) }
}

/// How far the outline lies from itself at the most once it is turned about a point by one of its sides.
fn turned(part: &Part, about: Point) -> Option<(f64, f64)> {
    let shape = part.outline.found.as_ref()?.fit.shape;
    let by = 360.0 / f64::from(shape.kind.fold().unwrap_or(4));
    let map = Affine::rotate_about(by.to_radians(), about);
    let away = part.outline.contour.points.iter().map(|point| shape.distance(map * *point).abs());
    Some((away.fold(0.0, f64::max), by))
}

/// The middle of the circle through points, by least squares (Kåsa 1976, from memory); none where they do not go round one.
fn middle_of_ring(points: &[Point]) -> Option<Point> {
    if points.len() < 4 {
        return None;
    }
    let count = points.len() as f64;
    let mean = (points.iter().fold(kurbo::Vec2::ZERO, |sum, point| sum + point.to_vec2()) / count).to_point();
    let (mut xx, mut xy, mut yy, mut xz, mut yz) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for point in points {
        let moved = *point - mean;
        let square = moved.hypot2();
        xx += moved.x * moved.x;
        xy += moved.x * moved.y;
        yy += moved.y * moved.y;
        xz += moved.x * square;
        yz += moved.y * square;
    }
    let whole = 2.0 * (xx * yy - xy * xy);
    if whole.abs() < 1e-9 * (xx + yy).powi(2) {
        return None;
    }
    let middle = mean + ((xz * yy - yz * xy) / whole, (yz * xx - xz * xy) / whole);
    let radius = points.iter().map(|point| point.distance(middle)).sum::<f64>() / count;
    points.iter().all(|point| (point.distance(middle) - radius).abs() <= SAME_AXIS).then_some(middle)
}

/// Layers that lie over each other have one axis: what does not know its own takes that of another.
fn lend_axes(split: &mut Split) {
    let known = split.parts.iter().map(|part| part.axis.clone()).max_by_key(|axis| axis.votes);
    let Some(known) = known.filter(|_| split.by_groups) else { return };
    for part in &mut split.parts {
        if part.axis.votes < 2 && part.outline.found.is_none() && part.outline.contour.holds(known.at) {
            part.axis = known.clone();
        }
    }
}

/// Looks again at what was no shape by itself: it may be a piece of a ring about the axis.
fn about_the_axis(part: &mut Part, noise: f64) {
    for item in part.items.iter_mut().chain([&mut part.outline]) {
        if item.found.is_none() {
            item.found = recognised(&item.contour, noise, &[part.axis.at]);
        }
    }
}

/// Equal parts once, with their number.
fn unlike(all: Vec<Part>) -> Vec<Part> {
    let mut kept: Vec<Part> = Vec::new();
    for part in all {
        spend_on(kept.len() * part.items.len(), STEPS);
        let same = kept.iter_mut().find(|other| other.name == part.name && is_equal(other, &part));
        match same {
            Some(other) => other.count += 1,
            None => kept.push(part),
        }
    }
    kept
}

fn is_equal(one: &Part, other: &Part) -> bool {
    let sizes = |part: &Part| {
        let mut sizes: Vec<f64> = part.items.iter().map(|item| item.contour.area).collect();
        sizes.sort_by(f64::total_cmp);
        sizes.push(part.outline.contour.area);
        sizes
    };
    let says = |part: &Part| {
        let mut says: Vec<String> = part.lines.iter().map(|line| line.says.clone()).collect();
        says.sort();
        says
    };
    let (these, those) = (sizes(one), sizes(other));
    let alike = these.iter().zip(&those).all(|(a, b)| (a - b).abs() <= 0.02 * a.max(*b) + 0.05);
    these.len() == those.len()
        && alike
        && says(one) == says(other)
        && one.art.len() == other.art.len()
        && one.traces.len() == other.traces.len()
}
