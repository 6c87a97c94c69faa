//! All edges of a scan at once: where each part lies, what of it is off its place, and how the scanner strained the whole.

mod look;
mod told;

use kurbo::{Affine, Point, Shape as _, Vec2};

use super::edge::Found;
use super::identify::Pose;
use super::picture::Picture;
use super::solve::Normal;
use super::stations::{self, Station};
use crate::rehearsal::{MeantKind as Kind, MeantLayer as Layer};

/// A lid that gives back less light than this is dark.
pub(super) const DARK: f64 = 0.3;
/// Between knots of the carriage's unevenness, mm.
const KNOTS: f64 = 8.0;
/// What is known beforehand, as standard deviations: a scanner's scale by its stated resolution, its shear, its scale that changes
/// across (a mm), its carriage (mm), and how a laser cuts wider one way (mm). Common practice, no source.
const SCALE: f64 = 3e-3;
const BOW: f64 = 3e-5;
const CARRIAGE: f64 = 0.005;
const ONE_WAY: f64 = 0.02;
/// How far a part lies off where it seemed to (mm, rad), how far its rim and an opening may be off (mm), pockets and marks (mm, rad).
const PLACE: f64 = 1.0;
const TURN: f64 = 0.05;
const RIM: f64 = 0.5;
const OPENING: f64 = 0.2;
const WORK: f64 = 0.4;
const WORK_TURN: f64 = 0.01;
/// Tukey's constant for 95 % efficiency (Beaton and Tukey, "The fitting of power series", Technometrics 16, 1974).
const TUKEY: f64 = 4.685;
/// How far from its place an edge is looked for at last, mm.
const LAST: f64 = 0.45;
/// Fixed unknowns: scale across and down, shear, bow, two for a laser that cuts wider one way.
const FIXED: usize = 6;

/// A part on the glass.
#[derive(Clone, Debug)]
pub(super) struct Lying {
    pub(super) layer: usize,
    pub(super) back: bool,
    pub(super) pose: Pose,
}

/// How far something is from its place in the front frame.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Off {
    /// Along either of its axes, mm.
    pub(super) shift: (f64, f64),
    /// Whether those are out from the axis of the dial and clockwise about it; else right and up.
    pub(super) polar: bool,
    /// rad, counter-clockwise seen from the front.
    pub(super) turn: f64,
    /// How far its edge stands beyond what was meant, mm.
    pub(super) growth: f64,
    /// Standard uncertainties of the fit alone: mm along either axis, rad, mm.
    pub(super) within: ((f64, f64), f64, f64),
    /// Stretches of its edge that were found, of how many.
    pub(super) found: (usize, usize),
    /// Luminance where it is burnt of that beside it, and the contrast of both (WCAG 2.2), each with its standard uncertainty; of marks.
    pub(super) tone: Option<[(f64, f64); 2]>,
}

/// A part that was measured.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) lying: Lying,
    /// How far the rim stands beyond what was meant, mm, and the fit's own uncertainty.
    pub(super) offset: f64,
    pub(super) within: f64,
    /// How sure its turn is, rad.
    pub(super) turn_within: f64,
    /// Of the works that show, by their places in the layer.
    pub(super) works: Vec<(usize, Off)>,
    /// Every stretch of an edge: the work it is of (none: the rim), its middle, where it is crossed and what is left unexplained.
    pub(super) edges: Vec<Edge>,
    /// Stretches of the rim (no work) and of openings that are not where they were meant, or not there at all: their middles, and how
    /// far they lie within, where that can be told, mm.
    pub(super) lost: Vec<Lost>,
    /// How soft the rim looks: the median standard deviation of its step, mm.
    pub(super) soft: f64,
}

/// A stretch of the rim or of an opening that is not where it was meant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lost {
    /// The opening; none for the rim.
    pub(super) work: Option<usize>,
    pub(super) at: Point,
    /// How far material lacks there, mm; none where no edge was found.
    pub(super) deep: Option<f64>,
}

/// A stretch of an edge as it was found.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) at: Point,
    pub(super) normal: Vec2,
    /// Whether it is cut, and not burnt.
    pub(super) cut: bool,
    /// Beyond what was meant, as cut: the fitted error of its kind and what is left of this stretch, mm.
    pub(super) beyond: f64,
}

/// What a scan came to.
#[derive(Clone, Debug, Default)]
pub(super) struct Survey {
    pub(super) parts: Vec<Part>,
    /// How much larger the scan shows things across and down, and by how much its corner is off square.
    pub(super) scale: (f64, f64),
    pub(super) shear: f64,
    /// Half the range of the carriage's unevenness, mm.
    pub(super) carriage: f64,
    /// How much wider the laser cuts one way than across it, mm.
    pub(super) one_way: f64,
}

struct Row {
    part: usize,
    work: Option<usize>,
    at: Point,
    normal: Vec2,
    glass: Point,
    across: Vec2,
    value: f64,
    kind: usize,
    station: usize,
    /// Of a mark its luminance, and that of what it stands on; only where it is asked for.
    tone: Option<(f64, f64)>,
}

/// The directions that a work is off its place by: out from the axis of the dial and clockwise about it, or right and up where it lies on the
/// axis.
#[derive(Clone, Copy)]
struct Axes {
    work: usize,
    polar: bool,
    first: Vec2,
    second: Vec2,
}

/// The state of the scan: all unknowns, and where each one's stand.
struct Fit<'a> {
    layers: &'a [Layer],
    lying: Vec<Lying>,
    starts: Vec<usize>,
    /// Of each part the works that are looked for.
    axes: Vec<Vec<Axes>>,
    middle: Vec2,
    knots: usize,
    values: Vec<f64>,
}

impl Fit<'_> {
    fn works(&self, part: usize) -> &[Axes] {
        self.axes.get(part).map(Vec::as_slice).unwrap_or_default()
    }

    fn axes_of(&self, part: usize, work: usize) -> Option<Axes> {
        self.works(part).iter().find(|it| it.work == work).copied()
    }

    fn value(&self, at: usize) -> f64 {
        self.values.get(at).copied().unwrap_or(0.0)
    }

    fn start(&self, part: usize) -> usize {
        self.starts.get(part).copied().unwrap_or(0)
    }

    /// The two knots of a place on the glass, and their shares.
    fn knot(&self, y: f64) -> [(usize, f64); 2] {
        let along = ((-y) / KNOTS).clamp(0.0, (self.knots.max(2) - 1) as f64 - 1e-9);
        let (first, share) = (along as usize, along - along.floor());
        [(FIXED + first, 1.0 - share), (FIXED + first + 1, share)]
    }

    /// How the scan moves a place of the glass.
    fn strain(&self, place: Point) -> Vec2 {
        let from = place.to_vec2() - self.middle;
        let carriage: f64 = self.knot(place.y).iter().map(|(at, share)| self.value(*at) * share).sum();
        Vec2::new(
            self.value(0) * from.x + self.value(2) * from.y + self.value(3) * from.x * from.x,
            self.value(1) * from.y + carriage,
        )
    }

    fn work_kind(&self, part: usize, work: usize) -> Option<Kind> {
        let it = self.lying.get(part)?;
        Some(self.layers.get(it.layer)?.works.get(work)?.kind)
    }

    /// From the front frame to the glass, as far as is known.
    fn pose(&self, part: usize) -> Affine {
        let Some(it) = self.lying.get(part) else { return Affine::IDENTITY };
        let start = self.start(part);
        let moved = Vec2::new(self.value(start), self.value(start + 1));
        Pose { at: it.pose.at + moved, turn: it.pose.turn + self.value(start + 2), ..it.pose }.affine()
    }

    /// Where the unknowns of a work begin; those of the part are four, of each work four.
    fn work_start(&self, part: usize, work: usize) -> Option<usize> {
        let at = self.works(part).iter().position(|it| it.work == work)?;
        Some(self.start(part) + 4 + 4 * at)
    }

    /// How far a work is known to be off its place.
    fn off(&self, part: usize, work: Option<usize>) -> Affine {
        let own = work.and_then(|work| Some((self.work_start(part, work)?, self.axes_of(part, work)?)));
        own.map_or(Affine::IDENTITY, |(start, axes)| {
            let shift = axes.first * self.value(start) + axes.second * self.value(start + 1);
            Affine::translate(shift) * Affine::rotate(self.value(start + 2))
        })
    }

    /// The slopes of a row by unknown.
    fn slopes(&self, row: &Row) -> Vec<(usize, f64)> {
        let (start, from) = (self.start(row.part), row.glass.to_vec2() - self.middle);
        let (nx, ny) = (row.across.x, row.across.y);
        let about = row.glass - self.pose(row.part).translation().to_point();
        let mut slopes = vec![
            (0, nx * from.x),
            (1, ny * from.y),
            (2, nx * from.y),
            (3, nx * from.x * from.x),
            (start, nx),
            (start + 1, ny),
            (start + 2, row.across.dot(Vec2::new(-about.y, about.x))),
        ];
        slopes.extend(self.knot(row.glass.y).map(|(at, share)| (at, ny * share)));
        let kind = row.work.and_then(|work| self.work_kind(row.part, work));
        if matches!(kind, None | Some(Kind::Opening)) {
            let angle = 2.0 * row.normal.atan2();
            slopes.extend([(4, angle.cos()), (5, angle.sin()), (start + 3, 1.0)]);
        }
        let own = row.work.and_then(|work| Some((self.work_start(row.part, work)?, self.axes_of(row.part, work)?)));
        if let Some((own, axes)) = own {
            slopes.extend([(own, row.normal.dot(axes.first)), (own + 1, row.normal.dot(axes.second))]);
            if matches!(kind, Some(Kind::Mark | Kind::Line)) {
                slopes.push((own + 2, row.normal.dot(Vec2::new(-row.at.y, row.at.x))));
            }
            if matches!(kind, Some(Kind::Mark | Kind::Pocket)) {
                slopes.push((own + 3, 1.0));
            }
        }
        slopes
    }

    fn expect(&self, normal: &mut Normal) {
        for (at, deviation) in [SCALE, SCALE, SCALE, BOW, ONE_WAY, ONE_WAY].into_iter().enumerate() {
            normal.expect(at, deviation);
        }
        (FIXED..FIXED + self.knots).for_each(|at| normal.expect(at, CARRIAGE));
        for part in 0..self.lying.len() {
            let start = self.start(part);
            [PLACE, PLACE, TURN, RIM].into_iter().enumerate().for_each(|(at, it)| normal.expect(start + at, it));
            for axes in self.works(part) {
                let Some(own) = self.work_start(part, axes.work) else { continue };
                let place = if self.work_kind(part, axes.work) == Some(Kind::Opening) { OPENING } else { WORK };
                [place, place, WORK_TURN, WORK]
                    .into_iter()
                    .enumerate()
                    .for_each(|(at, it)| normal.expect(own + at, it));
            }
        }
    }
}

/// Measures a scan on which these parts lie.
pub(super) fn survey(picture: &Picture, layers: &[Layer], lying: Vec<Lying>, lid: f64) -> Option<Survey> {
    let mut fit = begin(picture, layers, lying);
    let all: Vec<Vec<(Option<usize>, Station)>> = fit.lying.iter().map(|it| stations_of(layers, it)).collect();
    let mut last = None;
    let mut char = None;
    for reach in [1.1, 0.6, LAST] {
        let (rows, founds) = look::look(picture, &fit, &all, reach, (lid, char));
        let (values, deviations, lefts) = solved(&fit, &rows)?;
        fit.values = values;
        char = look::char_of(&rows, &founds);
        last = Some((rows, founds, deviations, lefts));
    }
    let (rows, founds, deviations, lefts) = last?;
    let parts =
        (0..fit.lying.len()).map(|part| told::told(&fit, part, &all, (&rows, &founds, &lefts), &deviations)).collect();
    let knots = (FIXED..FIXED + fit.knots).map(|at| fit.value(at));
    let (low, high) = knots.fold((0.0_f64, 0.0_f64), |(low, high), it| (low.min(it), high.max(it)));
    Some(Survey {
        parts,
        scale: (fit.value(0), fit.value(1)),
        shear: fit.value(2),
        carriage: (high - low) / 2.0,
        one_way: 2.0 * fit.value(4).hypot(fit.value(5)),
    })
}

fn begin<'a>(picture: &Picture, layers: &'a [Layer], lying: Vec<Lying>) -> Fit<'a> {
    let extent = picture.extent();
    let knots = (extent.y / KNOTS).ceil() as usize + 1;
    let middle = Vec2::new(extent.x / 2.0, -extent.y / 2.0);
    let axes = lying.iter().map(|it| axes(layers, it)).collect();
    let mut fit = Fit { layers, lying, starts: Vec::new(), axes, middle, knots, values: Vec::new() };
    let mut count = FIXED + knots;
    for part in 0..fit.lying.len() {
        fit.starts.push(count);
        count += 4 + 4 * fit.works(part).len();
    }
    fit.values = vec![0.0; count];
    fit
}

fn axes(layers: &[Layer], lying: &Lying) -> Vec<Axes> {
    let works = layers.get(lying.layer).map(|layer| layer.works.as_slice()).unwrap_or_default();
    let looked = works.iter().enumerate().filter(|(_, work)| work.shows(lying.back));
    let axes = looked.map(|(at, work)| {
        let middle = work.path.bounding_box().center().to_vec2();
        // What lies about the axis has no direction out from it.
        let polar = middle.hypot() > 2.0;
        let first = if polar { middle / middle.hypot() } else { Vec2::new(1.0, 0.0) };
        let second = if polar { Vec2::new(first.y, -first.x) } else { Vec2::new(0.0, 1.0) };
        Axes { work: at, polar, first, second }
    });
    axes.collect()
}

fn stations_of(layers: &[Layer], lying: &Lying) -> Vec<(Option<usize>, Station)> {
    let Some(layer) = layers.get(lying.layer) else { return Vec::new() };
    let rim = stations::of_outline(&layer.outline).into_iter().map(|it| (None, it));
    let works = layer.works.iter().enumerate().filter(|(_, work)| work.shows(lying.back));
    rim.chain(works.flat_map(|(at, work)| stations::of_work(work).into_iter().map(move |it| (Some(at), it)))).collect()
}

/// One robust solution: unknowns, their uncertainties, and what each row leaves.
fn solved(fit: &Fit<'_>, rows: &[Row]) -> Option<(Vec<f64>, Vec<f64>, Vec<f64>)> {
    let slopes: Vec<Vec<(usize, f64)>> = rows.iter().map(|row| fit.slopes(row)).collect();
    let mut spread = [0.04, 0.08, 0.06];
    let mut values = vec![0.0; fit.values.len()];
    let mut lefts: Vec<f64> = Vec::new();
    for round in 0..8 {
        let mut normal = Normal::of(fit.values.len());
        fit.expect(&mut normal);
        for (at, (row, slopes)) in rows.iter().zip(&slopes).enumerate() {
            let own = spread.get(row.kind).copied().unwrap_or(0.05);
            let away = lefts.get(at).copied().unwrap_or(0.0) / (TUKEY * own);
            let tukey = if away.abs() < 1.0 { (1.0 - away * away).powi(2) } else { 0.0 };
            if tukey > 0.0 {
                normal.add(slopes.iter().copied(), row.value, tukey / (own * own));
            }
        }
        let last = round == 7;
        let (found, deviations) = if last { normal.solved_with_deviations()? } else { (normal.solved()?, Vec::new()) };
        values = found;
        lefts = rows
            .iter()
            .zip(&slopes)
            .map(|(row, slopes)| {
                row.value - slopes.iter().map(|(at, slope)| slope * values.get(*at).unwrap_or(&0.0)).sum::<f64>()
            })
            .collect();
        if last {
            return Some((values, deviations, lefts));
        }
        for (kind, spread) in spread.iter_mut().enumerate() {
            let of_kind = rows.iter().zip(&lefts).filter(|(row, _)| row.kind == kind);
            let mut own: Vec<f64> = of_kind.map(|(_, left)| left.abs()).collect();
            own.sort_by(f64::total_cmp);
            // The median deviation of a normal distribution is 0.6745 of its standard deviation.
            let half = own.get(own.len() / 2).copied().unwrap_or(0.03) / 0.6745;
            *spread = half.clamp(0.002, 0.2);
        }
    }
    Some((values, Vec::new(), lefts))
}
