//! What lies between two layers that are glued: whether the glue takes there, and what nobody will see again.

mod findings;

use findings as say;
pub(in crate::audit) use findings::{Hides, never_seen};

use crate::design::{Design, Face, Glue, Layer, Mark, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::Region;

/// How much of a joint may be painted before the joint is as weak as its paint, as a share (common practice, no source).
const PAINTED: f64 = 0.1;
/// What is left in sight of a mark that is covered but for a sliver, as a share of its area.
const SLIVER: f64 = 1e-3;
/// Parts of the names of glues that set by giving their water off into the pores of wood and paper.
const DRYING: [&str; 3] = ["pva", "wood glue", "white glue"];
/// Parts of the names of stocks without pores.
const SEALED: [&str; 4] = ["acrylic", "acetal", "polypropylene", "laser rubber"];

/// Two layers and the glue between them.
struct Bond<'a> {
    lower: &'a Layer,
    upper: &'a Layer,
    glue: &'a Glue,
}

/// Looks between all layers that are glued.
pub fn bonds(design: &Design) -> Problems {
    let mut problems = Problems::default();
    let layer = |at: usize| design.layers.get(at);
    let glued = design
        .bonds()
        .filter_map(|(lower, upper, glue)| Some(Bond { lower: layer(lower)?, upper: layer(upper)?, glue }));
    for bond in glued {
        if let Some(layer) = [bond.lower, bond.upper].into_iter().find(|layer| is_sealed(layer))
            && names(&bond.glue.adhesive.name, &DRYING)
        {
            problems.push(say::glue_does_not_take(bond.glue, layer));
        }
        for (layer, face, other) in [(bond.lower, Face::Front, bond.upper), (bond.upper, Face::Back, bond.lower)] {
            painted(&bond, layer, face, &mut problems);
            unseen(layer, face, other, &mut problems);
        }
    }
    problems
}

/// Whether a name has one of these words in it, its own words parted by blanks, `-` or `_`.
fn names(name: &str, words: &[&str]) -> bool {
    let plain = name.to_lowercase().replace(['-', '_'], " ");
    words.iter().any(|word| plain.contains(word))
}

fn is_sealed(layer: &Layer) -> bool {
    layer.stock.clear || names(layer.stock.material.as_ref().unwrap_or(&layer.stock.name), &SEALED)
}

fn region_of(mark: &Mark) -> Option<&Region> {
    match &mark.shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    }
}

/// Glue on paint holds as well as the paint does.
fn painted(bond: &Bond, layer: &Layer, face: Face, problems: &mut Problems) {
    let of = |is_it: fn(&Work) -> bool| {
        layer.marks.iter().filter(move |mark| mark.face == face && is_it(&mark.work)).filter_map(region_of)
    };
    let Some(mark) = layer.marks.iter().find(|mark| mark.face == face && matches!(mark.work, Work::Paint { .. }))
    else {
        return;
    };
    let union = |regions: &mut dyn Iterator<Item = &Region>| regions.fold(Region::empty(), |all, one| all.union(one));
    let paint = union(&mut of(|work| matches!(work, Work::Paint { .. })));
    let paint = paint.difference(&union(&mut of(|work| matches!(work, Work::Bare))));
    let joint = bond.lower.material().intersection(bond.upper.material());
    let share = joint.intersection(&paint).area() / joint.area().max(f64::MIN_POSITIVE);
    if share > PAINTED {
        problems.push(say::glued_on_paint(bond.glue, layer, mark, share));
    }
}

/// What is engraved or scored on a face that lies wholly under the other layer, neither being clear.
fn unseen(layer: &Layer, face: Face, other: &Layer, problems: &mut Problems) {
    if layer.stock.clear || other.stock.clear {
        return;
    }
    let is_burnt = |mark: &&Mark| mark.face == face && matches!(mark.work, Work::Engrave { .. } | Work::Score);
    for mark in layer.marks.iter().filter(is_burnt) {
        let Some(region) = region_of(mark) else { continue };
        if region.difference(other.material()).area() < SLIVER * region.area() {
            problems.push(never_seen(layer, mark, other, Hides::Glued));
        }
    }
}
