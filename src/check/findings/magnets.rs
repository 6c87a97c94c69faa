//! Findings about what lies in the two halves of a turn.

use crate::design::Magnet;
use crate::diagnostics::{Diagnostic, Finding};
use crate::source::Span;

/// A magnet for both halves, and one for each as well.
pub fn of_three(span: Span) -> Diagnostic {
    let message = "a turn has two halves, and here stand three names for what lies in them";
    Diagnostic::error(Finding::MagnetsForm, message)
        .label(span, "stands for both halves, which have names of their own")
        .help("write `magnets(disc)` for a like magnet in each half, or `magnets(lower: disc, upper: keeper)`")
}

/// Only one half is said.
pub fn of_one_half(lower: bool, span: Span) -> Diagnostic {
    let (said, unsaid) = if lower { ("lower", "upper") } else { ("upper", "lower") };
    let message = format!("what lies in the `{said}` half alone holds nothing");
    Diagnostic::error(Finding::MagnetsForm, message)
        .label(span, format!("nothing in the `{unsaid}` half"))
        .help("write `magnets(lower: disc, upper: keeper)`, or `magnets(disc)` for a like magnet in each half")
}

/// A depth for both pockets, and one for a single pocket as well.
pub fn pocket_twice(word: &str, span: Span, both: Span) -> Diagnostic {
    let message = format!("`pocket` says how deep both pockets are, so `{word}` has nothing left to say");
    Diagnostic::error(Finding::MagnetsForm, message)
        .label(span, "said again for one of them")
        .label(both, "said for both")
        .help("take out `pocket`, and write `pocket_lower` and `pocket_upper` where the two differ")
}

/// A depth for the pocket of a turn that has none.
pub fn pocket_of_none(word: &str, span: Span) -> Diagnostic {
    let message = format!("nothing lies in a pocket here, so `{word}` is not used");
    Diagnostic::error(Finding::MagnetsForm, message)
        .label(span, "of which pocket?")
        .help("take it out, or turn on `magnets(…)`")
}

/// Steel in both halves.
pub fn steel_on_steel(lower: &Magnet, upper: &Magnet, span: Span) -> Diagnostic {
    let names = if lower.name == upper.name {
        format!("two washers `{}`", lower.name)
    } else {
        format!("the washers `{}` and `{}`", lower.name, upper.name)
    };
    Diagnostic::error(Finding::WasherForm, format!("{names} do not hold each other: steel has no pole"))
        .label(span, "no magnet in either half")
        .about(&lower.name)
        .help(format!("put a magnet of the shop into one half: `magnets(lower: disc, upper: {})`", upper.name))
}

/// A pole that is asked of a turn on steel.
pub fn north_on_steel(washer: &str, span: Span) -> Diagnostic {
    let message = format!("the magnet holds by the washer `{washer}` whichever pole looks at it: steel has no pole");
    Diagnostic::error(Finding::WasherForm, message)
        .label(span, "makes no difference here")
        .about(washer)
        .help("take out `north`; where a pole matters, put a magnet into each half, as `magnets(disc)` does")
}

/// Clicks of steel, or of two kinds.
pub fn clicks_of_steel(washer: &str, span: Span) -> Diagnostic {
    let message = format!("a ring of washers `{washer}` makes no clicks: steel has no pole");
    Diagnostic::error(Finding::WasherForm, message)
        .label(span, "draws nothing to a stop")
        .about(washer)
        .help("click with magnets on both sides, as `clicks magnets(tiny, radius: 15mm)` does")
}

/// One washer between two magnets.
pub fn steel_between(washer: &str, layer: &str, span: Span) -> Diagnostic {
    let message = format!(
        "the one washer `{washer}` in the hole through `{layer}` would hold two magnets, whose fields meet in it: what they pull \
        then is not known"
    );
    Diagnostic::error(Finding::WasherForm, message)
        .label(span, "a turn on either side of it")
        .about(washer)
        .help("put a magnet into the hole and a washer into each of the other halves, or sink a washer into either face: say `pocket_lower` and `pocket_upper`")
}

/// A washer whose hole leaves nothing of it.
pub fn hole_too_wide(washer: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::WasherForm, format!("the hole of `{washer}` is as wide as `{washer}` itself"))
        .label(span, "leaves no steel")
        .about(washer)
        .help("the `diameter` is measured across its rim, the `hole` through its middle: see whether the two were swapped")
}
