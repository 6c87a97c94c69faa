//! What is wrong with the question what values are sought for.

use crate::diagnostics::{Diagnostic, Finding, listed, suggest};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::Name;
use crate::units::Quantity;

/// No param is free.
pub(super) fn nothing_free(can: &[&str]) -> Diagnostic {
    let help = if can.is_empty() {
        "give a param the ends that it may have: `param across: length = 60mm from 44mm to 80mm`".to_owned()
    } else {
        format!("say which of {} may change, as in `--free {}`", listed(can.iter().copied(), "and"), can.join(","))
    };
    Diagnostic::error(Finding::CannotBeFree, "nothing is free, so that there is nothing to seek").help(help)
}

/// A name that is no param.
pub(super) fn unknown(name: &Name, params: &[(String, String)]) -> Diagnostic {
    let known = || params.iter().map(|(name, _)| name.as_str());
    let help = match suggest::nearest(&name.text, known()) {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None if params.is_empty() => {
            "this file has no params; add one with `param across: length = 60mm from 44mm to 80mm`".to_owned()
        }
        None => format!("its params are {}", listed(known(), "and")),
    };
    let message = format!("`{}` is no param, so that it cannot be free", name.text);
    Diagnostic::error(Finding::CannotBeFree, message).label(name.span, "no param").help(help)
}

/// A param whose bounds leave one value.
pub(super) fn no_range(name: &Name) -> Diagnostic {
    let message = format!("the bounds of `{}` leave nothing to choose from", name.text);
    Diagnostic::error(Finding::CannotBeFree, message)
        .label(name.span, "may be one value only")
        .help("widen its bounds, or leave it as it is and free another param")
}

/// A step that is none.
pub(super) fn no_step(step: Quantity, span: Span) -> Diagnostic {
    let message = format!("values cannot be rounded to steps of {step}");
    Diagnostic::error(Finding::BadStep, message)
        .label(span, "must be more than nothing")
        .help("state a step above zero, as in `0.1mm` or `1/16in`")
}

/// A step that measures what no free param does.
pub(super) fn step_of_nothing(step: Quantity, span: Span) -> Diagnostic {
    let message = format!("no free param is {}, so that nothing is rounded to {step}", step.dimension.described());
    Diagnostic::error(Finding::BadStep, message).label(span, "rounds nothing").help(
        "state a step of what the free params are, as in `0.1mm` for lengths or `1deg` for angles; counts need none",
    )
}

/// A step that the param's bounds or unit cannot keep.
pub(super) fn step_too_odd(name: &Name, step: Quantity, span: Span) -> Diagnostic {
    let message = format!("no value of `{}` within its bounds is a whole number of steps of {step}", name.text);
    Diagnostic::error(Finding::BadStep, message)
        .label(span, "too coarse, or no decimal fraction of the param's unit")
        .help("take a smaller step, or one that is a decimal fraction of the unit that the file writes")
}

/// More combinations of counts and choices than are gone through.
pub(super) fn too_many(count: u64, most: usize) -> Diagnostic {
    let message = format!("counts and choices that are free make {count} combinations, and {most} are gone through");
    Diagnostic::error(Finding::TooMuchFree, message)
        .help("free fewer of them, or narrow their bounds; every combination is a search of its own")
}

/// More smooth params than are sought at once.
pub(super) fn too_wide(count: usize) -> Diagnostic {
    let message = format!("{count} params are free, and {} are sought at once", limits::FREE_PARAMS);
    Diagnostic::error(Finding::TooMuchFree, message)
        .help("free those that matter most for what is asked, then the others")
}

/// What is to be traded is no comparison with a range.
pub(super) fn no_trade(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BadTrade, "what is traded must be compared with a range of values")
        .label(span, "no comparison with a range")
        .help("write it as `margin(crew) >= 0.5mm to 2mm by 0.5mm`, with `--least` or `--most` for what it costs")
}

/// What a seek of the file keeps does not hold with the values that stand there; by how much it is missed, where that can be told.
pub(super) fn not_kept(seek: &Name, limit: &str, by: Option<Quantity>, span: Span, file: &str) -> Diagnostic {
    let missed = by.map_or_else(|| "does not hold".to_owned(), |by| format!("is missed by {by}"));
    let message = format!("`{}` keeps {limit}, which {missed} with the values that stand in the file", seek.text);
    Diagnostic::warning(Finding::NotKept, message).about(&seek.text).label(span, "to be kept").help(format!(
        "`dialwright seek {file} {} --write` finds values that keep it, or tells why there are none",
        seek.text
    ))
}

/// A place beside the values that stand there is better. What is wanted, in words; its value there and as the file stands.
pub(super) fn not_the_best(
    seek: &Name,
    wanted: (&str, Span),
    there: (&str, &str, Quantity),
    here: Quantity,
    file: &str,
) -> Diagnostic {
    let (param, text, better) = there;
    let message = format!(
        "`{}` wants {}, which is {better} with `{param}` {text} and all limits kept, and {here} as the file stands",
        seek.text, wanted.0
    );
    Diagnostic::advice(Finding::NotTheBest, message)
        .about(&seek.text)
        .label(wanted.1, "wanted")
        .help(format!("`dialwright seek {file} {} --write` finds the best and writes it", seek.text))
}
