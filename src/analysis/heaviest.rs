//! What a dial has most of, told where looking through it takes too much work.

use std::collections::BTreeMap;

use crate::check::findings::values::too_much_to_look_at;
use crate::design::{Design, Shape};
use crate::diagnostics::{Diagnostic, counted};
use crate::source::Span;

/// The finding, at the item with the most outline; the first of those that have as much.
pub(super) fn told(design: &Design) -> Option<Diagnostic> {
    let mut items: BTreeMap<Span, (String, &str, usize)> = BTreeMap::new();
    let mut add =
        |origin: Span, what: String, layer, pieces| items.entry(origin).or_insert((what, layer, 0)).2 += pieces;
    for layer in &design.layers {
        let name = layer.name.as_str();
        add(layer.outline_origin, "this outline".to_owned(), name, layer.outline.path().elements().len());
        for mark in &layer.marks {
            let path = match &mark.shape {
                Shape::Region(region) => region.path(),
                Shape::Trace(trace) => trace.path(),
            };
            add(mark.origin, "this mark".to_owned(), name, path.elements().len());
        }
        for ring in &layer.rings {
            let pieces = ring.labels.iter().map(|label| label.ink.path().elements().len()).sum();
            add(ring.origin, counted(ring.labels.len(), "label"), name, pieces);
        }
    }
    let most = items.into_iter().max_by(|(at, a), (other, b)| a.2.cmp(&b.2).then(other.cmp(at)));
    most.map(|(origin, (what, layer, pieces))| too_much_to_look_at(&what, pieces, layer, origin))
}
