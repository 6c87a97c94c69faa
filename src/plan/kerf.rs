//! What is cut for one layer, and how far the tool's path stands off the finished edges.

use std::sync::Arc;

use super::findings;
use super::outline_cache::{CutOutline, OutlineCache};
use crate::design::Layer;
use crate::diagnostics::Problems;
use crate::geometry::{Region, SLIVER_MM2};
use crate::source::Span;
use crate::units::Length;

/// The cuts of a layer, in its front frame.
pub(super) struct Cuts {
    /// The outer edge: openings that cross it are taken off.
    pub(super) outline: Arc<CutOutline>,
    /// Everything cut inside it.
    pub(super) openings: Vec<Opening>,
}

/// An opening, or several that run into each other and so are cut as one.
#[derive(Clone)]
pub(super) struct Opening {
    /// The maker's name for the first of them.
    pub(super) name: Option<String>,
    /// What asked for the first of them.
    pub(super) origin: Span,
    /// The finished edge in a fresh value, the tool's path in [`Cuts::openings`].
    pub(super) region: Region,
}

/// The cuts of a layer. Cuts follow material: where openings overlap, or run over the outline, no line is
/// cut through the void.
pub(super) fn cuts(layer: &Layer, cache: &OutlineCache, problems: &mut Problems) -> Cuts {
    let outer = layer.outline.outer();
    let holes =
        layer.outline.holes().into_iter().map(|region| Opening { name: None, origin: layer.outline_origin, region });
    let marks = layer.openings().map(|(mark, region)| Opening {
        name: mark.name.clone(),
        origin: mark.origin,
        region: region.clone(),
    });
    let (crossing, mut inside): (Vec<_>, Vec<_>) =
        clusters(marks.chain(holes)).into_iter().partition(|it| !outer.covers(&it.region));
    let outline = if crossing.is_empty() {
        outer
    } else {
        let body = crossing.iter().fold(outer, |body, it| body.difference(&it.region));
        inside.extend(body.holes().into_iter().filter_map(|hole| {
            let cause = crossing.iter().find(|it| overlap(&it.region, &hole))?;
            Some(Opening { region: hole, ..cause.clone() })
        }));
        body.outer()
    };
    let outline = cache.of(outline, layer.stock.kerf);
    // An outline grown by half the kerf closes its narrow gaps: fewer contours mean that a slot of the finished edge
    // is never cut.
    if outline.tool_path().contours().len() != outline.finished.contours().len() {
        problems.push(findings::outline_gap_closes(layer));
    }
    let openings = inside.into_iter().map(|it| compensated(it, layer, cache, problems)).collect();
    Cuts { outline, openings }
}

/// How far the tool's path stands off each finished edge.
pub(super) fn offset(layer: &Layer) -> Length {
    Length::mm(layer.stock.kerf.as_mm() / 2.0)
}

fn compensated(opening: Opening, layer: &Layer, cache: &OutlineCache, problems: &mut Problems) -> Opening {
    let tool = cache.in_opening(&opening.region, offset(layer).as_mm());
    // Shrunk by half the kerf, a narrow opening vanishes or falls into several: its neck is narrower than the beam.
    if tool.pieces().len() != opening.region.pieces().len() {
        problems.push(findings::opening_narrower_than_kerf(layer, &opening.name, opening.origin, tool.is_empty()));
    }
    Opening { region: tool, ..opening }
}

/// Openings that overlap are made one.
fn clusters(openings: impl Iterator<Item = Opening>) -> Vec<Opening> {
    let mut apart: Vec<Opening> = Vec::new();
    for opening in openings.filter(|it| !it.region.is_empty()) {
        let (touching, rest): (Vec<_>, Vec<_>) = apart.into_iter().partition(|it| overlap(&it.region, &opening.region));
        apart = rest;
        let merged =
            touching.into_iter().chain([opening]).reduce(|a, b| Opening { region: a.region.union(&b.region), ..a });
        apart.extend(merged);
    }
    apart.sort_by_key(|it| it.origin);
    apart
}

fn overlap(a: &Region, b: &Region) -> bool {
    let boxes_meet = a.bounds().zip(b.bounds()).is_some_and(|(a, b)| a.overlaps(b));
    boxes_meet && a.overlap_area(b) > SLIVER_MM2
}
