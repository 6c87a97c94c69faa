//! What is wrong with what is sought.

use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::syntax::tree::Name;

/// A param that may be anything.
pub fn without_bounds(name: &Name) -> Diagnostic {
    let message = format!("`{}` has no bounds within which a value could be sought", name.text);
    Diagnostic::error(Finding::CannotBeFree, message).label(name.span, "may be anything").help(format!(
        "state them behind its value: `param {}: length = 60mm from 44mm to 80mm`, or `from [40mm, 50mm]` for a choice",
        name.text
    ))
}

/// Something free that is no name.
pub fn not_free(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::CannotBeFree, "only a param can be free, by its name")
        .label(span, "no name")
        .help("write one name, or several in a list: `free [across, eye]`")
}

/// The least and the most at once.
pub fn both_ends(least: Span, most: Span) -> Diagnostic {
    Diagnostic::error(Finding::ChooseOne, "one search finds the least or the most of something, not both")
        .label(least, "the least of this")
        .label(most, "and the most of this")
        .help("keep one of them, and write another `seek` for the other")
}
