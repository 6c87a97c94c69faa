//! How sure the pull of a turn is: what moves together and what by itself.
//!
//! First-order propagation after the GUM (JCGM 100:2008): 5.2.2 for what varies together, 5.1.2 for what varies by itself.

use std::collections::BTreeMap;

use crate::design::Spreads;
use crate::physics::spread::Cause;
use crate::physics::{Facing, Uncertainty};
use crate::units::{Force, Length};

/// Like pairs of magnets that pull across a turn: the one on the axis, or all that click.
pub(super) struct Pairs<'a> {
    /// The magnet's name; those of one name come from one batch.
    pub(super) magnet: &'a str,
    /// One of the pairs.
    pub(super) pair: &'a Facing,
    /// What all of them pull.
    pub(super) pull: Force,
    /// How many there are, each with glue films of its own.
    pub(super) count: usize,
    /// The layers in which they stand on the floor of a pocket, with the standard deviation of its depth. In a hole right through
    /// neither depth nor glue counts.
    pub(super) sunk: Vec<(usize, Length)>,
}

/// The pull of all together and how far off it may be. Pockets of one layer are made by the same passes on the same board, so that
/// their depths stray together, whatever stands in them; those of two layers stray each by itself.
pub(super) fn uncertain(spreads: &Spreads, all: &[Pairs]) -> Uncertainty {
    let mut batches: BTreeMap<&str, f64> = BTreeMap::new();
    let mut layers: BTreeMap<usize, f64> = BTreeMap::new();
    let mut films = 0.0;
    for pairs in all {
        let (alone, newtons) = (pairs.pair.pull().as_newtons(), pairs.pull.as_newtons());
        let slope = if alone > 0.0 { pairs.pair.slope().as_newtons_per_mm() * newtons / alone } else { 0.0 };
        // Pull goes with the square of the remanence.
        *batches.entry(pairs.magnet).or_default() += 2.0 * newtons * spreads.remanence;
        #[allow(clippy::cast_precision_loss, reason = "a ring of magnets")]
        let count = pairs.count.max(1) as f64;
        for (layer, depth) in &pairs.sunk {
            *layers.entry(*layer).or_default() += slope * depth.as_mm();
            films += (slope * spreads.film.as_mm()).powi(2) / count;
        }
    }
    let root = |values: &mut dyn Iterator<Item = &f64>| values.map(|value| value * value).sum::<f64>().sqrt();
    let by_cause = [
        (Cause::Remanence, root(&mut batches.values())),
        (Cause::Pocket, root(&mut layers.values())),
        (Cause::Film, films.sqrt()),
    ];
    let pull = all.iter().fold(Force::ZERO, |sum, pairs| sum + pairs.pull);
    Uncertainty::of(pull, by_cause)
}
