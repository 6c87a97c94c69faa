//! The reading check: every stop of every turn is turned, and what shows is compared with what is due.

mod against;
mod alike;
mod aslant;
mod beneath;
mod elsewhere;
mod findings;
mod ink;
mod judge;
mod looked;
mod mends;
mod remembered;
mod scene;
mod seen_alike;
mod slack;
pub mod spares;
mod steps;
pub mod tolerance;
mod twins;
mod upright;
mod wheels;
pub mod yields;

use std::collections::BTreeMap;
use std::sync::Arc;

use kurbo::Point;

use crate::design::pose::{Pose, combination_count, combinations, wrapped};
use crate::design::{Design, Laid, Reading, ReadsHow};
use crate::diagnostics::Problems;
use crate::geometry::{Gap, TOUCH_MM};
use crate::limits::{COMBINATIONS, SIZE_MM};
use crate::memory::{FEW, recalled};
use crate::source::Span;
use crate::units::{Angle, Length};
use aslant::Depths;
pub use aslant::{ASIDE, Amiss};
use elsewhere::Elsewhere;
pub use elsewhere::SeenElsewhere;
use ink::Ink;
pub(super) use ink::leaves_open;
use looked::Looked;
use remembered::turned_by;
use scene::{Scene, Unseen};
use slack::Unwanted;

/// What was found by turning a design through its stops.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ReadingCheck {
    /// One for each reading of the design that could be looked at, in the order written.
    pub readings: Vec<CheckedReading>,
    looked: Looked,
}

/// One reading at all its stops.
#[derive(Clone, Debug, PartialEq)]
pub struct CheckedReading {
    /// The ring read.
    pub ring: String,
    /// Through openings or beside a pointer.
    pub how: ReadsHow,
    /// The openings or pointer.
    pub by: Vec<String>,
    /// The turns that the reading depends on, counted from 0 at the bottom of the stack.
    pub turns: Vec<usize>,
    /// Every combination of the stops of those turns, the last turn running fastest.
    pub stops: Vec<CheckedStop>,
    /// What asked for it.
    pub origin: Span,
}

/// A mark in the opening that is no label: the reading is right, but more is seen than was drawn for it.
#[derive(Clone, Debug, PartialEq)]
pub struct SeenMark {
    /// Its name; empty where it has none.
    pub says: String,
    /// How far it reaches into the opening.
    pub depth: Length,
    /// How much of its ink is seen, in mm²; 0 for a scored line.
    pub area: f64,
    /// What asked for it.
    pub origin: Span,
}

/// One reading at one combination of stops.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CheckedStop {
    /// Which stop of each of the reading's turns, counted from 0.
    pub stops: Vec<usize>,
    /// Bearings of those stops.
    pub bearings: Vec<Angle>,
    /// The label that must show: its place in the ring, counted from 0.
    pub due: usize,
    /// What that label says.
    pub due_says: String,
    /// The label that shows most of its ink; none where no label shows.
    pub shown: Option<usize>,
    /// What that label says.
    pub shown_says: Option<String>,
    /// How much of the due label's ink is seen, in mm².
    pub visible_area: f64,
    /// Ink of the due label, in mm².
    pub due_area: f64,
    /// Ink of other labels seen in the opening, in mm².
    pub foreign_area: f64,
    /// The mark that is seen in the opening and reaches farthest in; none where there is none.
    pub mark: Option<SeenMark>,
    /// The label of the ring, not the due one, that shows most outside of what the ring is read through.
    pub elsewhere: Option<SeenElsewhere>,
    /// Least distance from the due label's ink to an edge that would cover it; negative where it is covered, by how
    /// deep. At most [`SIZE_MM`].
    pub margin: Length,
    /// Where that is: a point of the ink and the nearest of the edge, on the ring's layer.
    pub margin_at: (Point, Point),
    /// Least distance from the opening to ink that is not due, marks that are in view at this stop left out; negative where
    /// such ink is seen, by how far it reaches in. None where no other ink is near the opening's band.
    pub foreign_gap: Option<Length>,
    /// What that ink says, or what the mark is called.
    pub foreign_says: Option<String>,
    /// How far the upper half may be turned off the stop, anticlockwise and clockwise, before the label is
    /// clipped or other ink shows (or, beside a pointer, before another label is nearer). Zero for a misread.
    pub slack: (Angle, Angle),
    /// How far the halves may be shifted against each other in any direction before that happens.
    pub centring_slack: Length,
    /// How far off straight on, from whichever side, one may look before an edge that stands over the label covers some of it,
    /// other ink shows (or, beside a pointer, another label is nearer): at most a right angle. Zero for a misread.
    pub aside: Angle,
    /// What is amiss where one looks from [`ASIDE`] off; none where it is read from there too, or not even straight on.
    pub amiss_aside: Option<Amiss>,
    /// How far the due label's letters are turned clockwise from upright for whoever holds the dial with 0deg at the top of
    /// the layer that is looked through (beside a pointer, of the lowest layer); none for what is no lettering.
    pub stands: Option<Angle>,
    /// Whether the due label shows whole, and no other label with it.
    pub reads: bool,
}

impl CheckedStop {
    /// The smaller of the two sides of [`CheckedStop::slack`].
    pub fn angular_slack(&self) -> Angle {
        if self.slack.0 < self.slack.1 { self.slack.0 } else { self.slack.1 }
    }

    /// What shows, in words: the due label where it reads right, with a mark that is seen beside it, else what is amiss.
    pub fn shows(&self) -> String {
        match &self.mark {
            Some(mark) if self.reads && mark.says.is_empty() => format!("{} and a mark", self.due_says),
            Some(mark) if self.reads => format!("{} and mark {}", self.due_says, mark.says),
            _ => self.label_shows(),
        }
    }

    fn label_shows(&self) -> String {
        let shown = self.shown_says.as_deref().unwrap_or_default();
        let intruder = self.foreign_says.as_deref().unwrap_or_default();
        match self.shown {
            _ if self.reads => self.due_says.clone(),
            None => "nothing".to_owned(),
            Some(label) if label != self.due => shown.to_owned(),
            Some(_) if !is_contact(self.margin.as_mm()) => format!("{shown}, clipped"),
            Some(_) => format!("{shown} and {intruder}"),
        }
    }

    /// Stops of a reading for which this is the same were found to look the same.
    fn look(&self) -> (usize, [u64; 3]) {
        let figures = [self.margin.as_mm(), self.slack.0.as_degrees(), self.slack.1.as_degrees()];
        (self.due, figures.map(f64::to_bits))
    }

    /// [`CheckedStop::margin`]; none where nothing near could cover the label.
    pub fn near_margin(&self) -> Option<Length> {
        near(self.margin)
    }

    /// [`CheckedStop::centring_slack`]; none where nothing near bounds it.
    pub fn near_centring_slack(&self) -> Option<Length> {
        near(self.centring_slack)
    }
}

fn near(length: Length) -> Option<Length> {
    (length.as_mm() < SIZE_MM).then_some(length)
}

impl ReadingCheck {
    /// What shows through an opening (or beside a pointer), stop by stop; an empty text where nothing shows.
    /// None where no reading names it.
    pub fn shows(&self, opening: &str) -> Option<Vec<String>> {
        let reading = self.readings.iter().find(|reading| reading.by.iter().any(|name| name == opening))?;
        Some(reading.stops.iter().map(|stop| stop.shown_says.clone().unwrap_or_default()).collect())
    }

    /// Whether every stop of every reading reads right.
    pub fn reads(&self) -> bool {
        self.readings.iter().all(|reading| reading.stops.iter().all(|stop| stop.reads))
    }

    /// The reading of this ring; none where nothing reads it.
    pub fn of_ring(&self, ring: &str) -> impl Iterator<Item = &CheckedStop> {
        let ring = ring.to_owned();
        self.readings.iter().filter(move |reading| reading.ring == ring).flat_map(|reading| &reading.stops)
    }
}

/// Turns the design through all its stops.
pub fn check_readings(design: &Design) -> (ReadingCheck, Problems) {
    if design.has_wheels() {
        return wheels::check(design);
    }
    let (check, mut problems) = check_all(design);
    twins::report_unread(design, &mut problems);
    beneath::report(design, &mut problems);
    (check, problems)
}

/// The same of what is read alone.
fn check_all(design: &Design) -> (ReadingCheck, Problems) {
    let mut problems = Problems::default();
    let mut looked = Looked::default();
    let checked = design.readings.iter().filter_map(|reading| {
        let (checked, scene) = check_reading(design, reading, &mut problems)?;
        looked.keep(&checked, scene);
        Some(checked)
    });
    let readings: Vec<CheckedReading> = checked.collect();
    upright::report(design, &readings, &mut problems);
    alike::report(design, &readings, &mut problems);
    against::report(design, &readings, &mut problems);
    (ReadingCheck { readings, looked }, problems)
}

fn check_reading(design: &Design, reading: &Reading, problems: &mut Problems) -> Option<(CheckedReading, Arc<Scene>)> {
    let scene = match Scene::of(design, reading) {
        Ok(scene) => scene.shared(),
        Err(Unseen::Unknown) => return None,
        Err(Unseen::WrongSide(opening)) => {
            problems.push(findings::wrong_side(design, reading, &opening));
            return None;
        }
    };
    let turns: Vec<usize> = scene.turns.iter().map(|(at, _)| *at).collect();
    let count = combination_count(design, &turns);
    if count > COMBINATIONS {
        problems.push(findings::too_many_stops(reading, count, COMBINATIONS));
        return None;
    }
    let elsewhere = Elsewhere::of(design, reading, &scene);
    let depths = Arc::new(Depths::of(design, reading, &scene));
    let (mut known, mut cases) = (BTreeMap::new(), Vec::new());
    let all: Vec<(Vec<usize>, usize)> = combinations(design, &turns)
        .into_iter()
        .map(|stops| {
            let pose = Pose::of_turns(design, &turns, &stops);
            let due = due_label(&scene, design, &stops, &pose);
            let case = *known.entry(case_key(&scene, due, &pose)).or_insert_with(|| {
                cases.push((due, pose));
                cases.len() - 1
            });
            (stops, case)
        })
        .collect();
    let asked = || Stops { scene: Arc::clone(&scene), depths: Arc::clone(&depths), cases: cases.clone() };
    let mut found: Vec<CheckedStop> =
        recalled(FEW, asked, || cases.iter().map(|(due, pose)| check_stop(&scene, &depths, *due, pose)).collect());
    if let Some(elsewhere) = elsewhere {
        for ((due, pose), stop) in cases.iter().zip(&mut found) {
            stop.elsewhere = elsewhere.seen(&scene, *due, pose);
        }
    }
    let stops = all.into_iter().filter_map(|(stops, case)| {
        Some(CheckedStop { bearings: bearings_of(design, &turns, &stops), stops, ..found.get(case)?.clone() })
    });
    let checked = CheckedReading {
        ring: reading.ring.clone(),
        how: reading.how,
        by: reading.by.clone(),
        stops: stops.collect(),
        turns,
        origin: reading.origin,
    };
    judge::report(design, reading, &scene, &checked, problems);
    twins::report(design, reading, &scene, &checked, problems);
    Some((checked, scene))
}

/// The different cases that a reading is looked at in: which label is due, and how the layers stand.
struct Stops {
    scene: Arc<Scene>,
    depths: Arc<Depths>,
    cases: Vec<(usize, Pose)>,
}

impl PartialEq for Stops {
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.scene, &other.scene) && self.depths == other.depths && self.cases == other.cases
    }
}

/// What asked for a reading that was checked.
fn asked<'d>(design: &'d Design, reading: &CheckedReading) -> Option<&'d Reading> {
    design.readings.iter().find(|asked| asked.origin == reading.origin && asked.by == reading.by)
}

fn bearings_of(design: &Design, turns: &[usize], stops: &[usize]) -> Vec<Angle> {
    let bearing = |(turn, stop): (&usize, &usize)| {
        design.turns().nth(*turn).and_then(|(_, turn)| turn.stops.get(*stop).copied()).unwrap_or_default()
    };
    turns.iter().zip(stops).map(bearing).collect()
}

/// The label that must show. Labels stand in order of the stops of a single turn that has as many, unless the maker says which way
/// round they go; else the one nearest to the bearing that is looked at.
fn due_label(scene: &Scene, design: &Design, stops: &[usize], pose: &Pose) -> usize {
    if let ([(turn, _)], [stop]) = (scene.turns.as_slice(), stops)
        && scene.ring.laid != Laid::Round
        && design.turns().nth(*turn).is_some_and(|(_, turn)| turn.stops.len() == scene.labels.len())
    {
        return *stop;
    }
    nearest_label(scene, pose).unwrap_or(0)
}

/// The label whose bearing is nearest to the one looked at.
fn nearest_label(scene: &Scene, pose: &Pose) -> Option<usize> {
    let looks_at = scene.looks_at(pose)?;
    let away = scene.ring.labels.iter().map(|label| wrapped(label.bearing.as_degrees() - looks_at).abs());
    away.enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at)
}

/// Two combinations with the same key look the same.
fn case_key(scene: &Scene, due: usize, pose: &Pose) -> Vec<i64> {
    let turned = scene.layers_in_play().into_iter().map(|layer| turned_by(pose, scene.ring_at, layer));
    turned.chain(std::iter::once(i64::try_from(due).unwrap_or(i64::MAX))).collect()
}

fn check_stop(scene: &Scene, depths: &Depths, due: usize, pose: &Pose) -> CheckedStop {
    let gaps = scene.gaps(due, pose);
    let edge = gaps.iter().map(|(_, gap)| *gap).reduce(Gap::least).unwrap_or(Gap::NONE);
    let marks = scene.marks_in_view(pose);
    let shown_marks: Vec<usize> = marks.iter().map(|(at, _)| *at).collect();
    let (foreign, foreign_at) = scene.foreign(due, pose, &shown_marks);
    let in_view = scene.is_in_view(due, pose) || scene.labels.get(due).is_some_and(|ink| ink.is_empty());
    let whole = in_view && !edge.overlaps() && !scene.pointer_gap(pose).overlaps();
    let shown = shown_label(scene, due, whole && !foreign.overlaps(), pose);
    let due_area = scene.ring.labels.get(due).map_or(0.0, |label| label.ink.area());
    let reads = whole && !foreign.overlaps() && shown == Some(due);
    let is_free = edge.mm > 0.0 && foreign.mm > 0.0;
    let unwanted = Unwanted { due, shown: &shown_marks };
    let says = |label: usize| scene.ring.labels.get(label).map(|label| label.says.clone());
    let checked = CheckedStop {
        stops: Vec::new(),
        bearings: Vec::new(),
        due,
        due_says: says(due).unwrap_or_default(),
        shown,
        shown_says: shown.and_then(says),
        visible_area: if whole { due_area } else { visible_area(scene, due, pose) },
        due_area,
        foreign_area: if foreign.overlaps() { foreign_area(scene, due, pose) } else { 0.0 },
        mark: seen_mark(scene, &marks, pose),
        elsewhere: None,
        margin: Length::mm(edge.mm.min(SIZE_MM)),
        margin_at: edge.at,
        foreign_gap: foreign.mm.is_finite().then(|| Length::mm(foreign.mm)),
        foreign_says: foreign_at.and_then(|at| scene.inks.get(at)).map(|ink| ink.name.clone()),
        slack: if reads && is_free { slack::slacks(scene, &unwanted, pose) } else { (Angle::ZERO, Angle::ZERO) },
        centring_slack: Length::mm(edge.mm.min(foreign.mm).clamp(0.0, SIZE_MM)),
        aside: if reads { depths.until(scene, (due, pose), &gaps, (foreign, foreign_at)) } else { Angle::ZERO },
        amiss_aside: None,
        stands: upright::stands(scene, due, pose),
        reads,
    };
    CheckedStop { amiss_aside: depths.amiss(scene, &checked, pose, &gaps), ..checked }
}

fn seen_mark(scene: &Scene, marks: &[(usize, Gap)], pose: &Pose) -> Option<SeenMark> {
    let deepest = marks.iter().filter(|(_, gap)| gap.overlaps()).min_by(|a, b| a.1.mm.total_cmp(&b.1.mm));
    let (ink, gap) = deepest.and_then(|(at, gap)| Some((scene.inks.get(*at)?, gap)))?;
    let depth = Length::mm(-gap.mm);
    Some(SeenMark { says: ink.name.clone(), depth, area: seen_area(scene, ink, pose), origin: ink.origin })
}

/// The label with the largest part of its ink in view; the due one is preferred among equals.
fn shown_label(scene: &Scene, due: usize, sound: bool, pose: &Pose) -> Option<usize> {
    if scene.pointer.is_some() {
        return nearest_label(scene, pose);
    }
    if sound {
        return Some(due);
    }
    let view = scene.made_view(scene.ring_at, pose).transformed(pose.map(scene.view_frame(), scene.ring_at));
    let parts = scene.ring.labels.iter().enumerate().map(|(at, label)| {
        let area = label.ink.area();
        let part = if area > 0.0 { label.ink.intersection(&view).area() / area } else { 0.0 };
        (at, if at == due { part + 1e-6 } else { part })
    });
    parts.filter(|(_, part)| *part > 1e-3).max_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at)
}

fn visible_area(scene: &Scene, due: usize, pose: &Pose) -> f64 {
    let Some(label) = scene.ring.labels.get(due).filter(|_| scene.is_in_view(due, pose)) else { return 0.0 };
    let covers = scene.covers.iter().map(|cover| cover.region.transformed(pose.map(cover.layer, scene.ring_at)));
    covers.fold(label.ink.clone(), |ink, cover| ink.difference(&cover)).area()
}

fn foreign_area(scene: &Scene, due: usize, pose: &Pose) -> f64 {
    scene.inks.iter().filter(|ink| ink.is_other_label(due)).map(|ink| seen_area(scene, ink, pose)).sum()
}

/// How much of some ink is seen through the openings, in mm².
fn seen_area(scene: &Scene, ink: &Ink, pose: &Pose) -> f64 {
    let view = || scene.made_view(ink.layer, pose).transformed(pose.map(scene.view_frame(), ink.layer));
    ink.region.as_ref().map_or(0.0, |region| region.intersection(&view()).area().abs())
}

/// Whether overlaps of this depth are mere contact.
pub(super) fn is_contact(mm: f64) -> bool {
    mm >= -TOUCH_MM
}
