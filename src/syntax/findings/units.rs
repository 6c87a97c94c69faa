//! Units that are none of the language's.

use super::syntax::quoted;
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::units::UNITS;
use crate::vocabulary::foreign::our_unit;

/// Letters after a number that are no unit.
pub fn unknown_unit(span: Span, unit: &str, written: &str) -> Diagnostic {
    let found = Diagnostic::error(Finding::UnknownUnit, format!("{} in {} is no unit", quoted(unit), quoted(written)));
    if let Some(sides) = sides(written) {
        return found.label(span, "not a unit").help(format!("write the two sides with `by` between them: `{sides}`"));
    }
    match (our_unit(unit), unit_like(unit)) {
        (Some(ours), _) => found
            .label(span, format!("did you mean `{ours}`?"))
            .help(format!("write `{ours}`"))
            .mend(span, ours),
        (None, Some(ours)) => found.label(span, format!("did you mean `{ours}`?")).help(format!("write `{ours}`")),
        (None, None) if matches!(unit, "px" | "pt" | "em" | "rem") => found
            .label(span, "a unit of screens and type")
            .help("wood is measured in `mm`, `cm` or `in`"),
        (None, None) => found.label(span, "not a unit").help(
            "lengths take `mm`, `cm`, `m`, `in` or `thou`, angles `deg`, `rad` or `turn`; put a blank before a word that is no unit",
        ),
    }
}

/// A unit as a word of its own.
pub fn unit_apart((word, gap): (Span, Span), written: &str, unit: &str, ours: &str) -> Diagnostic {
    Diagnostic::error(Finding::UnknownUnit, format!("{} in {} is no unit", quoted(unit), quoted(written)))
        .label(word, format!("did you mean `{ours}`?"))
        .help(format!("write `{ours}`, right behind the number"))
        .mend(gap, ours)
}

/// `60mmx40mm` as it should be written.
pub fn sides(written: &str) -> Option<String> {
    let (width, height) = written.split_once(['x', 'X'])?;
    let is_number = |text: &str| text.starts_with(|letter: char| letter.is_ascii_digit());
    let height = if height.ends_with(char::is_alphabetic) { height.to_owned() } else { format!("{height}mm") };
    (is_number(width) && is_number(&height)).then(|| {
        let width = if width.ends_with(char::is_alphabetic) { width.to_owned() } else { format!("{width}mm") };
        format!("{width} by {height}")
    })
}

/// The unit that this one was most likely meant to be: one letter away, the more common ones first.
fn unit_like(unit: &str) -> Option<&'static str> {
    let names = UNITS.iter().map(|known| known.name).filter(|known| known.len() > 1 && unit.chars().count() > 1);
    names.into_iter().find(|known| strsim::damerau_levenshtein(unit, known) == 1)
}
