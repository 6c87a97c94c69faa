//! Words that nobody can read: mirrored where they are seen, over each other, or burnt into what is burnt already.

use kurbo::Affine;

use super::findings as say;
use crate::audit::turning::leaves_open;
use crate::design::pose::{Pose, combination_count, combinations};
use crate::design::{Design, Face, Joint, Layer, Lettering, Mark, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::{FlattenedShape, Region};
use crate::limits::COMBINATIONS;
use crate::physics::contrast::{Contrast, LEAST_FOR_LARGE};
use crate::units::Length;

/// The share of words that may vanish in what is burnt around them (common practice, no source).
const LOST: f64 = 0.1;

/// What is left in sight of words that are covered but for a sliver, as a share of their area.
const SLIVER: f64 = 1e-3;

/// Words on a face of a layer.
pub(super) struct Words<'d> {
    /// Place of the layer in the stack.
    pub(super) at: usize,
    pub(super) layer: &'d Layer,
    pub(super) mark: &'d Mark,
    pub(super) lettering: &'d Lettering,
    flat: FlattenedShape,
}

/// Looks at all words that are no labels of a ring.
pub(super) fn check(design: &Design, problems: &mut Problems) {
    let words = words(design);
    for one in &words {
        if reads_mirrored(design, one) {
            problems.push(say::reads_mirrored(one));
        }
        lost(one, problems);
    }
    for (at, one) in words.iter().enumerate() {
        for other in words.iter().skip(at + 1).filter(|other| are_seen_together(design, one, other)) {
            if let Some(by) = overlap(design, one, other) {
                problems.push(say::letters_overlap(one, other, by));
            }
        }
    }
}

/// What is burnt, painted or left bare; letters that are cut through are seen from either side.
fn words(design: &Design) -> Vec<Words<'_>> {
    let marks =
        design.layers.iter().enumerate().flat_map(|(at, layer)| layer.marks.iter().map(move |it| (at, layer, it)));
    let words = marks.filter_map(|(at, layer, mark)| {
        let is_on_a_face = !matches!(mark.work, Work::Window | Work::Hole | Work::Pocket { .. });
        let lettering = mark.lettering.as_ref().filter(|_| is_on_a_face)?;
        let flat = match &mark.shape {
            Shape::Region(region) => FlattenedShape::of(region),
            Shape::Trace(trace) => FlattenedShape::of_trace(trace),
        };
        Some(Words { at, layer, mark, lettering, flat })
    });
    words.collect()
}

/// Whether words can be seen only from where they are mirrored: through the clear stock that they are on, unless they were
/// mirrored by hand.
fn reads_mirrored(design: &Design, words: &Words) -> bool {
    if !words.layer.stock.clear && !words.lettering.mirrored {
        return false;
    }
    let face = words.mark.face;
    let before = is_in_sight(design, words, face);
    let through = words.layer.stock.clear && !is_painted_over(words, face.other());
    let behind = through && is_in_sight(design, words, face.other());
    if words.lettering.mirrored { before && !behind } else { behind && !before }
}

/// Whether paint on a face of their own layer hides all of them.
fn is_painted_over(words: &Words, face: Face) -> bool {
    let Shape::Region(region) = &words.mark.shape else { return false };
    let of = |wanted: fn(&Work) -> bool| {
        let marks = words.layer.marks.iter().filter(|mark| mark.face == face && wanted(&mark.work));
        marks.fold(Region::empty(), |all, mark| match &mark.shape {
            Shape::Region(one) => all.union(one),
            Shape::Trace(_) => all,
        })
    };
    let paint = of(|work| work.coat().is_some()).difference(&of(|work| matches!(work, Work::Bare)));
    region.difference(&paint).area() <= SLIVER * region.area()
}

/// Whether one who looks at this side of the dial may see something of them past the layers between.
fn is_in_sight(design: &Design, words: &Words, side: Face) -> bool {
    let over = match side {
        Face::Front => words.at + 1..design.layers.len(),
        Face::Back => 0..words.at,
    };
    over.into_iter().all(|at| design.layers.get(at).is_none_or(|layer| !hides(design, (at, layer), words)))
}

/// Whether a layer hides all of them at every stop.
fn hides(design: &Design, (at, layer): (usize, &Layer), words: &Words) -> bool {
    if layer.stock.clear {
        return false;
    }
    let (low, high) = (at.min(words.at), at.max(words.at));
    let turns = design.joints.get(low..high).unwrap_or_default().iter().any(|joint| matches!(joint, Joint::Turn(_)));
    match &words.mark.shape {
        Shape::Region(region) if !turns => {
            let left = region.difference(layer.material());
            left.area() <= SLIVER * region.area()
        }
        _ => words.flat.annulus().is_none_or(|band| !leaves_open(layer, band)),
    }
}

/// Whether words are on one face, or are seen through each other's stock.
fn are_seen_together(design: &Design, one: &Words, two: &Words) -> bool {
    let (low, high) = if one.at <= two.at { (one, two) } else { (two, one) };
    // A line round letters, or paint beneath them, is meant to lie where they do.
    let outlines = one.lettering.says == two.lettering.says
        && std::mem::discriminant(&one.mark.work) != std::mem::discriminant(&two.mark.work);
    if outlines {
        return false;
    }
    if low.at == high.at {
        return low.mark.face == high.mark.face || low.layer.stock.clear;
    }
    let clear =
        |from: usize, to: usize| design.layers.get(from..=to).is_some_and(|all| all.iter().all(|it| it.stock.clear));
    let from_front = clear(low.at + 1, high.at) && (low.mark.face == Face::Front || low.layer.stock.clear);
    let from_back = clear(low.at, high.at - 1) && (high.mark.face == Face::Back || high.layer.stock.clear);
    from_front || from_back
}

/// How deep two words lie over each other, at the stop where they do most; none where they never do.
fn overlap(design: &Design, one: &Words, two: &Words) -> Option<Length> {
    let (low, high) = (one.at.min(two.at), one.at.max(two.at));
    let turns = design.turns().enumerate().filter(|(_, (below, _))| (low..high).contains(below));
    let turns: Vec<usize> = turns.map(|(at, _)| at).collect();
    let depth = |map: Affine| {
        let gap = one.flat.moved(map).gap(&two.flat);
        gap.overlaps().then_some(-gap.mm)
    };
    if combination_count(design, &turns) > COMBINATIONS {
        return None;
    }
    let stops = combinations(design, &turns).into_iter();
    let depths = stops.filter_map(|stops| depth(Pose::of_turns(design, &turns, &stops).map(one.at, two.at)));
    depths.reduce(f64::max).map(Length::mm)
}

/// Words that are burnt into an area which is burnt as dark.
fn lost(words: &Words, problems: &mut Problems) {
    let (Work::Engrave { tone, ink, .. }, Shape::Region(region)) = (&words.mark.work, &words.mark.shape) else {
        return;
    };
    for mark in words.layer.marks.iter().filter(|mark| mark.face == words.mark.face && mark.lettering.is_none()) {
        let (Work::Engrave { tone: around, ink: filled, .. }, Shape::Region(area)) = (&mark.work, &mark.shape) else {
            continue;
        };
        // What is burnt twice is as dark as the darker of both.
        let own = words.layer.inked(tone.max(*around), ink.as_ref());
        if Contrast::between(own, words.layer.inked(*around, filled.as_ref())).reaches(LEAST_FOR_LARGE) {
            continue;
        }
        let share = share_within(region, area);
        if share > LOST {
            problems.push(say::letters_lost(words, mark, share));
        }
    }
}

fn share_within(region: &Region, area: &Region) -> f64 {
    region.intersection(area).area() / region.area().max(f64::MIN_POSITIVE)
}
