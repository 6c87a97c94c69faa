//! What is broken or burnt where it should not be: rims and openings that are not where they were cut elsewhere, webs that are gone, spots
//! on bare stock.

use kurbo::{Point, Vec2};
use resvg::tiny_skia::FillRule;

use super::canvas::{CELL, Canvas};
use super::picture::Picture;
use super::sum::{median, to};
use super::survey::{DARK, Lost, Part};
use super::told::{Damage, DamageKind};
use crate::rehearsal::{MeantKind, MeantLayer};

/// Places of a broken edge no farther apart than this are one, mm.
const ONE_PIECE: f64 = 4.0;
/// Stock is looked at this far from any edge, where no soot and no wall of a pocket darkens it, mm.
const CLEAR: f64 = 1.1;
/// Stretches of an edge shorter than this are dust that lies on it, mm.
const SHORTEST: f64 = 2.8;
/// Spots below this are dust or grain, mm².
const SPOT: f64 = 1.5;
/// Stock that gives back less of its usual light than this is burnt, dirty or a knot: grain strays by a fifth at most (common practice, no
/// source).
const BURNT: f64 = 0.5;
/// A lid must be so much lighter than stock for holes to be told.
const LIGHTER: f64 = 1.3;
/// Lost places of two edges no farther apart than this, with nothing but lid between them, had a web there, mm.
const WEB: f64 = 4.0;

/// The cells of a face that should be bare.
pub(super) struct Bare {
    across: usize,
    cells: Vec<(Point, bool)>,
}

impl Bare {
    pub(super) fn of(layer: &MeantLayer, back: bool) -> Self {
        let mut solid = Canvas::round(kurbo::Shape::bounding_box(&layer.outline));
        let mut hidden = solid.clone();
        solid.fill(&layer.outline, FillRule::EvenOdd);
        hidden.stroke(&layer.outline, 2.0 * CLEAR);
        for work in layer.works.iter().filter(|work| work.shows(back)) {
            if work.kind != MeantKind::Line {
                hidden.fill(&work.path, FillRule::EvenOdd);
            }
            hidden.stroke(&work.path, 2.0 * CLEAR + work.width.unwrap_or(0.0));
        }
        for other in layer.others.iter().filter(|other| other.back == back) {
            hidden.fill(&other.path, FillRule::EvenOdd);
            hidden.stroke(&other.path, 2.0 * CLEAR);
        }
        solid.take(&hidden);
        let (across, cells) = solid.cells();
        Self { across, cells }
    }
}

/// All that is amiss with a part.
pub(super) fn of(picture: &Picture, layer: &MeantLayer, bare: &Bare, part: &Part, lid: f64) -> Vec<Damage> {
    let pose = part.lying.pose.affine();
    let light = |p: Point| picture.at(pose * p);
    let lights: Vec<Option<f64>> =
        bare.cells.iter().map(|(p, is_bare)| if *is_bare { light(*p) } else { None }).collect();
    let usual = median(lights.iter().flatten().copied().collect());
    let gone = usual.filter(|usual| lid > DARK && lid > LIGHTER * usual).map(|usual| (usual + lid) / 2.0);
    let mut told = edges(layer, part, |p| gone.is_some_and(|gone| light(p).is_some_and(|it| it > gone)));
    if let Some(usual) = usual.filter(|_| !layer.clear) {
        let is_dark = |light: &f64| *light < BURNT * usual;
        told.extend(spots(bare, &lights, is_dark, DamageKind::Spot));
        if let Some(gone) = gone {
            told.extend(spots(bare, &lights, |light| *light > gone, DamageKind::Hole));
        }
    }
    told
}

fn damage(kind: DamageKind, of: &str, at: Point, long: f64) -> Damage {
    Damage {
        kind,
        of: of.to_owned(),
        bearing_deg: to(at.x.atan2(at.y).to_degrees().rem_euclid(360.0), 0),
        out_mm: to(at.to_vec2().hypot(), 1),
        long_mm: to(long, 1),
        deep_mm: None,
        area_mm2: None,
    }
}

/// Groups of such cells.
fn spots(bare: &Bare, lights: &[Option<f64>], is_one: impl Fn(&f64) -> bool, kind: DamageKind) -> Vec<Damage> {
    let mut left: Vec<bool> = lights.iter().map(|light| light.as_ref().is_some_and(&is_one)).collect();
    let mut told = Vec::new();
    for start in 0..left.len() {
        let mut group = Vec::new();
        let mut queue = vec![start];
        while let Some(at) = queue.pop() {
            if let Some(here @ true) = left.get_mut(at) {
                *here = false;
                group.extend(bare.cells.get(at).map(|(p, _)| *p));
                queue.extend([at + 1, at + bare.across]);
                queue.extend([at.checked_sub(1), at.checked_sub(bare.across)].into_iter().flatten());
            }
        }
        let area = group.len() as f64 * CELL * CELL;
        if area >= SPOT {
            let middle = group.iter().fold(Vec2::ZERO, |sum, p| sum + p.to_vec2()) / group.len() as f64;
            let reach = group.iter().map(|p| (p.to_vec2() - middle).hypot()).fold(0.0, f64::max);
            let spot = damage(kind, "", middle.to_point(), 2.0 * reach + CELL);
            told.push(Damage { area_mm2: Some(to(area, 1)), ..spot });
        }
    }
    told
}

/// Stretches of edges that are lost, neighbours as one; two that face each other across what is gone are a web.
fn edges(layer: &MeantLayer, part: &Part, is_gone: impl Fn(Point) -> bool) -> Vec<Damage> {
    let mut runs: Vec<Vec<&Lost>> = Vec::new();
    for lost in &part.lost {
        let goes_on = |last: &&Lost| last.work == lost.work && (last.at - lost.at).hypot() < ONE_PIECE;
        match runs.last_mut() {
            Some(run) if run.last().is_some_and(goes_on) => run.push(lost),
            _ => runs.push(vec![lost]),
        }
    }
    let name = |work: Option<usize>| work.and_then(|work| layer.works.get(work)).map_or("", |work| work.name.as_str());
    let mut told = Vec::new();
    let mut in_webs = vec![false; runs.len()];
    for (at, run) in runs.iter().enumerate() {
        for (to, other) in runs.iter().enumerate().skip(at + 1) {
            let Some((a, b)) = nearest(run, other).filter(|(a, b)| a.work != b.work) else { continue };
            let between = [0.25, 0.5, 0.75].map(|share| a.at.lerp(b.at, share));
            if (a.at - b.at).hypot() < WEB && between.into_iter().all(&is_gone) {
                let names: Vec<&str> = [a, b].into_iter().map(|it| name(it.work)).filter(|it| !it.is_empty()).collect();
                told.push(damage(DamageKind::Web, &names.join(", "), a.at.midpoint(b.at), (a.at - b.at).hypot()));
                in_webs.iter_mut().enumerate().filter(|(it, _)| [at, to].contains(it)).for_each(|(_, it)| *it = true);
            }
        }
    }
    for (run, _) in runs.iter().zip(in_webs).filter(|(_, in_web)| !in_web) {
        let (Some(first), Some(last), Some(middle)) = (run.first(), run.last(), run.get(run.len() / 2)) else {
            continue;
        };
        // What stands proud has no depth.
        let deep = run.iter().filter_map(|it| it.deep).reduce(f64::max).filter(|deep| *deep > 0.0);
        let (kind, station) = if middle.work.is_some() { (DamageKind::Opening, 1.0) } else { (DamageKind::Rim, 1.5) };
        // A station at either end is counted by its half; dust on an edge is shorter than what is told.
        let long = (last.at - first.at).hypot() + station;
        if run.len() < 2 || long < SHORTEST {
            continue;
        }
        let it = damage(kind, name(middle.work), middle.at, long);
        told.push(Damage { deep_mm: deep.map(|deep| to(deep, 2)), ..it });
    }
    told
}

fn nearest<'l>(run: &[&'l Lost], other: &[&'l Lost]) -> Option<(&'l Lost, &'l Lost)> {
    let pairs = run.iter().flat_map(|a| other.iter().map(move |b| (*a, *b)));
    pairs.min_by(|(a, b), (c, d)| (a.at - b.at).hypot2().total_cmp(&(c.at - d.at).hypot2()))
}
