//! Findings about pins.

use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;
use crate::syntax::tree::Name;

/// A pin of which it is not said how it holds.
pub fn pin_says_neither(name: &Name) -> Diagnostic {
    let message = format!("it is not said how `{}` holds: it has neither a head nor a length", name.text);
    Diagnostic::error(Finding::PinForm, message)
        .label(name.span, "how does it hold?")
        .help("for a screw write `head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm`, for a dowel that is glued in `length 5mm`")
}

/// A pin that clamps, with something left out.
pub fn pin_half_said(name: &Name, has: &str, lacks: &[&str]) -> Diagnostic {
    let lacks: Vec<String> = lacks.iter().map(|word| format!("`{word}`")).collect();
    let lacks = lacks.join(" and no ");
    Diagnostic::error(Finding::PinForm, format!("`{}` has a `{has}` and no {lacks}", name.text))
        .label(name.span, "clamps by half")
        .help("what clamps has all three: `head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm`")
}

/// A pin that is to clamp and to be glued in.
pub fn pin_says_both(name: &Name, clamps: &str, glued: &str, span: Span) -> Diagnostic {
    let message = format!("`{}` has a `{clamps}`, which clamps, and `{glued}`, which is for a pin that is glued in", name.text);
    Diagnostic::error(Finding::PinForm, message)
        .label(span, "for a pin without a head")
        .help(format!("take out `{glued}`; for a dowel take out `head`, `nut` and `grips` instead"))
}

/// A turn on a pin without a head.
pub fn pin_clamps_nothing(name: &str, span: Span) -> Diagnostic {
    let message = format!("`{name}` has no head, so nothing keeps the halves of this turn together");
    Diagnostic::error(Finding::PinClampsNothing, message)
        .label(span, "glued in, and clamps nothing")
        .about(name)
        .help("turn on a screw, `pin m4 { shank 3.9mm; head 7mm by 2.6mm; nut 7mm by 3.2mm; grips 5mm to 12mm }`, or on `magnets(…)`")
}
