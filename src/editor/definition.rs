//! Where a name is defined, and everywhere it is used.

use std::ops::Range;

use lsp_types::{Location, Position, Uri};

use super::mentions::{Mention, What, at, mentions};
use super::view::View;
use crate::check::names::Names;
use crate::source::{SourceId, Span};
use crate::syntax::tree::Item;

/// A name that the maker has defined, by where that is. The same in every design that shares the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Target {
    /// The name.
    pub name: String,
    /// The file that defines it.
    pub uri: Uri,
    /// Its bytes there.
    pub(super) bytes: Range<usize>,
    /// Its bytes where it was asked for.
    pub(super) asked: Span,
    /// Whether it names a layer, which may not be called `glue`.
    pub(super) is_layer: bool,
}

/// Where the name at a position is defined; of a shared file's name, that file.
pub fn definition(view: &View, file: SourceId, position: Position) -> Option<Location> {
    let offset = view.offset(file, position);
    if let Some(shared) = shared_at(view, file, offset) {
        return shared;
    }
    let (names, _) = Names::gather(&view.files());
    let all = mentions(&view.files(), &names);
    let (span, _) = at(&all, file, offset)?.what.defined()?;
    view.location(span)
}

/// The file that a `with` at this place shares.
fn shared_at(view: &View, file: SourceId, offset: usize) -> Option<Option<Location>> {
    let text = view.tree(file)?.items.iter().find_map(|item| match item {
        Item::With(text) if text.span.range().contains(&offset) => Some(text),
        _ => None,
    })?;
    let from = view.sheet(file)?.name.as_str();
    let name = crate::project::beside(from, &text.value)?;
    let shared = view.file_named(&name)?;
    Some(view.location(Span::new(shared, 0..0)))
}

/// The maker's name at a position; none on words of ours and on what is defined where no editor can go.
pub fn target(view: &View, file: SourceId, position: Position) -> Option<Target> {
    let offset = view.offset(file, position);
    let (names, _) = Names::gather(&view.files());
    let all = mentions(&view.files(), &names);
    let mention = at(&all, file, offset)?;
    let (span, _) = mention.what.defined()?;
    let (name, is_layer) = match &mention.what {
        What::Named { name, definition, .. } => {
            (*name, matches!(definition.meaning, crate::check::names::Meaning::Layer(_)))
        }
        What::Local { name, .. } => (*name, false),
        _ => return None,
    };
    let uri = view.sheet(span.source)?.uri.clone()?;
    Some(Target { name: name.to_owned(), uri, bytes: span.range(), asked: mention.span, is_layer })
}

/// The spans of a design where the target is named, in order of place, and whether each defines it.
pub(super) fn uses(view: &View, target: &Target) -> Vec<(Span, bool)> {
    let (names, _) = Names::gather(&view.files());
    let all = mentions(&view.files(), &names);
    let meant = |mention: &Mention<'_>| {
        let (span, defines) = mention.what.defined()?;
        let here = view.sheet(span.source)?.uri.as_ref() == Some(&target.uri) && span.range() == target.bytes;
        here.then_some((mention.span, defines))
    };
    let mut spans: Vec<(Span, bool)> = all.iter().filter_map(meant).collect();
    spans.sort_unstable();
    spans.dedup();
    spans
}

/// Everywhere that a design names the target; `defined` says whether its definition counts.
pub fn references(view: &View, target: &Target, defined: bool) -> Vec<Location> {
    let spans = uses(view, target).into_iter().filter(|(_, defines)| defined || !defines);
    spans.filter_map(|(span, _)| view.location(span)).collect()
}
