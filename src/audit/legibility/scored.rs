//! Scored lines that run so near to each other that they burn into one, or lie on each other and burn twice.

use std::collections::BTreeMap;

use kurbo::{Line, ParamCurveNearest as _, Point, Rect, Vec2};

use super::findings as say;
use crate::audit::strength::finest_of;
use crate::design::{Face, Layer, RingWork, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region, Rule, TOUCH_MM};
use crate::lettering::single_stroke;
use crate::source::Span;
use crate::units::Length;

/// Cosine of the largest angle at which two lines run along each other: 8 degrees. What meets at more parts soon.
const PARALLEL: f64 = 0.99;
/// Places of one line that are nearer along it than this many times their distance belong to one bend.
const BEND: f64 = 4.0;
/// Lines that come so near to each other, in mm, meet there, or lie on each other: nobody draws them apart (common practice, no
/// source).
const MEET_MM: f64 = 0.02;
/// Lines that lie on each other for less than this many times their width, burn no deeper than anybody sees (common practice, no
/// source).
const SEEN: f64 = 10.0;

/// Looks at the strokes and gaps of all that is scored along its edge, and at all lines of a face together. A scored line is taken
/// to be as wide as a cut.
pub(super) fn check(layer: &Layer, problems: &mut Problems) {
    let mut told: Vec<Span> = Vec::new();
    for mark in layer.marks.iter().filter(|mark| mark.work == Work::Score) {
        let Shape::Region(region) = &mark.shape else { continue };
        if told.contains(&mark.origin) {
            continue;
        }
        if let Some(apart) = too_near(layer, region) {
            told.push(mark.origin);
            problems.push(say::lines_burn_into_one(layer, mark.origin, apart));
        }
    }
    for ring in layer.rings.iter().filter(|ring| ring.work == RingWork::Scored) {
        // Single lines go round nothing: what they close is a letter's own.
        if ring.typeface == single_stroke::NAME {
            continue;
        }
        let lines = ring.labels.iter().filter_map(|label| label.lines.as_ref());
        let areas = lines.filter_map(|lines| Region::from_path(lines.path(), Rule::EvenOdd).ok());
        let near = areas.filter_map(|area| too_near(layer, &area));
        if let Some(apart) = near.reduce(|one, other| if other < one { other } else { one }) {
            told.push(ring.origin);
            problems.push(say::lines_burn_into_one(layer, ring.origin, apart));
        }
    }
    for face in [Face::Front, Face::Back] {
        together(layer, face, &told, problems);
    }
}

fn too_near(layer: &Layer, region: &Region) -> Option<Length> {
    let (stroke, gap) = finest_of(region, layer.stock.kerf);
    let nearest = stroke.into_iter().chain(gap).reduce(|one, other| if other < one { other } else { one });
    nearest.filter(|apart| *apart < layer.stock.kerf - Length::mm(TOUCH_MM))
}

/// One line that is scored, run along.
struct Run {
    origin: Span,
    /// Whether it goes round an area, whose own strokes and gaps are looked at by themselves.
    around: bool,
    line: Vec<Line>,
}

impl Run {
    fn flat(&self) -> FlattenedShape {
        FlattenedShape::of_segments(self.line.clone())
    }

    /// Whether it comes back to where it was, other than by its ends.
    fn meets_itself(&self) -> bool {
        let (flat, places) = (self.flat(), places(std::slice::from_ref(self)));
        self.line.iter().zip(&places).any(|(line, (_, along))| {
            let spot = Rect::from_center_size(line.p1, (2.0 * MEET_MM, 2.0 * MEET_MM));
            let back = |other: usize| {
                let (theirs, (_, its)) = (self.line.get(other)?, places.get(other)?);
                let apart = theirs.nearest(line.p1, MEET_MM).distance_sq.sqrt();
                let between = self.along(along + length(line) / 2.0, *its) - length(theirs) / 2.0;
                Some(apart <= MEET_MM && between > BEND * MEET_MM)
            };
            flat.segments_in(spot).any(|other| back(other) == Some(true))
        })
    }

    /// How far it is from one of its places to another, along it.
    fn along(&self, one: f64, other: f64) -> f64 {
        let straight = (one - other).abs();
        let ends = self.line.first().zip(self.line.last());
        if ends.is_some_and(|(first, last)| first.p0 == last.p1) {
            straight.min(self.line.iter().map(length).sum::<f64>() - straight)
        } else {
            straight
        }
    }
}

/// The lines that are scored on one face.
fn runs(layer: &Layer, face: Face) -> Vec<Run> {
    let marks = layer.marks.iter().filter(|mark| mark.face == face && mark.work == Work::Score);
    let marks = marks.map(|mark| match &mark.shape {
        Shape::Region(region) => (mark.origin, true, FlattenedShape::boundary_of(region)),
        Shape::Trace(trace) => (mark.origin, false, FlattenedShape::of_trace(trace)),
    });
    let rings = layer.rings.iter().filter(|ring| ring.face == face && ring.work == RingWork::Scored);
    let labels = rings.flat_map(|ring| {
        let around = ring.typeface != single_stroke::NAME;
        let lines = ring.labels.iter().filter_map(|label| label.lines.as_ref());
        lines.map(move |lines| (ring.origin, around, FlattenedShape::of_trace(lines)))
    });
    let each = marks.chain(labels);
    each.flat_map(|(origin, around, flat)| {
        let lines: Vec<Vec<Line>> = flat.contours().map(<[Line]>::to_vec).collect();
        lines.into_iter().map(move |line| Run { origin, around, line })
    })
    .collect()
}

/// Of each pair of marks the place where their lines are nearest, and how far they lie on each other.
#[derive(Default)]
struct Pair {
    nearest: Option<(f64, Point)>,
    twice: f64,
}

/// Looks at the lines of one face together. Lines that meet are meant to, so only those count that keep apart.
fn together(layer: &Layer, face: Face, told: &[Span], problems: &mut Problems) {
    let runs = runs(layer, face);
    let (width, own): (f64, Vec<(usize, f64)>) = (layer.stock.kerf.as_mm(), places(&runs));
    let all = FlattenedShape::of_segments(runs.iter().flat_map(|run| run.line.iter().copied()).collect());
    let mut meeting = Meeting { runs: &runs, known: BTreeMap::new() };
    let mut pairs: BTreeMap<(Span, Span), Pair> = BTreeMap::new();
    for (at, (line, (run, along))) in all.segments().iter().zip(&own).enumerate() {
        let middle = line.midpoint();
        for other in all.segments_in(Rect::from_center_size(middle, (2.0 * width, 2.0 * width))) {
            let (Some(theirs), Some((their_run, their_along))) = (all.segments().get(other), own.get(other)) else {
                continue;
            };
            let Some(apart) = beside(*line, *theirs).filter(|apart| at != other && *apart < width - TOUCH_MM) else {
                continue;
            };
            let one_line = run == their_run;
            let Some((mine, its)) = runs.get(*run).zip(runs.get(*their_run)) else { continue };
            let pair = (mine.origin.min(its.origin), mine.origin.max(its.origin));
            if apart > MEET_MM {
                let between = mine.along(*along, *their_along);
                let bend = one_line && (mine.around || between < BEND * apart);
                let pair = pairs.entry(pair).or_default();
                let nearer = pair.nearest.is_none_or(|(known, _)| apart < known);
                if nearer && !bend && !meeting.meet(*run, *their_run) {
                    pair.nearest = Some((apart, middle));
                }
            } else if run > their_run {
                pairs.entry(pair).or_default().twice += length(line);
            }
        }
    }
    for ((one, other), pair) in pairs {
        if let Some((apart, at)) = pair.nearest.filter(|_| ![one, other].iter().any(|origin| told.contains(origin))) {
            problems.push(say::lines_too_near(layer, (one, other), Length::mm(apart), at));
        }
        if pair.twice > SEEN * width {
            problems.push(say::scored_twice(layer, (one, other), Length::mm(pair.twice)));
        }
    }
}

/// Of each segment the line that it belongs to, and how far along that its middle is, in mm.
fn places(runs: &[Run]) -> Vec<(usize, f64)> {
    let each = runs.iter().enumerate().flat_map(|(run, of)| {
        of.line.iter().scan(0.0, move |along, line| {
            *along += length(line);
            Some((run, *along - length(line) / 2.0))
        })
    });
    each.collect()
}

fn length(line: &Line) -> f64 {
    (line.p1 - line.p0).hypot()
}

/// How far beside the middle of one segment another runs along it; none where it does not.
fn beside(line: Line, other: Line) -> Option<f64> {
    let (way, across) = (line.p1 - line.p0, other.p1 - other.p0);
    let parallel = way.dot(across).abs() > PARALLEL * way.hypot() * across.hypot();
    let normal = Vec2::new(-way.y, way.x) / way.hypot().max(f64::MIN_POSITIVE);
    let scale = normal.cross(across);
    if !parallel || scale == 0.0 {
        return None;
    }
    let from = other.p0 - line.midpoint();
    (0.0..=1.0).contains(&(from.cross(normal) / scale)).then(|| (from.cross(across) / scale).abs())
}

/// Which lines meet somewhere, each other or themselves.
struct Meeting<'r> {
    runs: &'r [Run],
    known: BTreeMap<(usize, usize), bool>,
}

impl Meeting<'_> {
    fn meet(&mut self, one: usize, other: usize) -> bool {
        let runs = self.runs;
        let pair = (one.min(other), one.max(other));
        *self.known.entry(pair).or_insert_with(|| match (runs.get(one), runs.get(other)) {
            (Some(run), Some(_)) if one == other => run.meets_itself(),
            (Some(run), Some(other)) => run.flat().edge_gap(&other.flat(), 2.0 * MEET_MM).mm <= MEET_MM,
            _ => false,
        })
    }
}
