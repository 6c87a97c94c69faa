//! What is said of lettering: typefaces, missing characters, stencils, single strokes.

use super::values::{bad_shape, too_many_segments};
use crate::diagnostics::{Diagnostic, Finding, listed, suggest};
use crate::lettering::{LetteringError, Typeface, single_stroke};
use crate::limits;
use crate::project::ReadProblem;
use crate::source::Span;
use crate::units::{Length, plain};

/// Letters that are joined by strokes and spaced out.
pub fn letters_parted(words: &str, apart: Length, span: Span) -> Diagnostic {
    let words = words.replace('\n', " ");
    let message = format!("the letters of `{words}` are joined by strokes, and {apart} between them cuts these");
    Diagnostic::warning(Finding::LettersParted, message)
        .label(span, "parts letters that belong together")
        .help("take `tracking` out of this text")
}

/// Lettering that cannot be set.
///
/// `other` names a typeface that has what is missing.
pub fn bad_lettering(error: LetteringError, words: &str, other: Option<&str>, span: Span) -> Diagnostic {
    let words = words.replace('\n', " ");
    match error {
        LetteringError::MissingCharacters { characters, typeface } => {
            let shown: Vec<String> = characters.iter().map(char::to_string).collect();
            let missing = listed(shown.iter().map(String::as_str), "and");
            let message = if typeface == single_stroke::NAME {
                format!("`single_stroke` cannot draw {missing}")
            } else {
                format!("the typeface `{typeface}` has no {missing}")
            };
            Diagnostic::error(Finding::MissingCharacter, message).label(span, format!("needed for `{words}`")).help(
                match other {
                    Some(other) if typeface == single_stroke::NAME => {
                        format!(
                            "use other characters, or write filled `text(…)` in `{other}`, which has what is missing"
                        )
                    }
                    Some(other) => format!("the typeface `{other}` has what is missing: write `typeface \"{other}\"`"),
                    None => {
                        "use other characters, or name a typeface that has them with `typeface \"file.ttf\"`".to_owned()
                    }
                },
            )
        }
        LetteringError::Blank => Diagnostic::error(Finding::BlankLabel, "this text leaves no mark")
            .label(span, "nothing to see")
            .help("write at least one visible character"),
        LetteringError::Geometry(error) => bad_shape(error, span),
        LetteringError::LongerThanCircle { length_mm, circumference_mm } => Diagnostic::error(
            Finding::TooLarge,
            format!(
                "this text is {}mm long and its circle only {}mm round",
                plain(length_mm, 1),
                plain(circumference_mm, 1)
            ),
        )
        .label(span, format!("`{words}`"))
        .help("write a smaller height or a larger radius"),
        LetteringError::BentUnderline => {
            Diagnostic::error(Finding::UnderlineBent, format!("`{words}` runs along a circle and cannot be underlined"))
                .label(span, "no line under this")
                .help("let it stand straight, without `curved` or `around`, or write a full stop: `\"6.\"`")
        }
        LetteringError::TooMuch => too_many_segments(limits::SEGMENTS + 1, span),
        LetteringError::BrokenFont { typeface } => Diagnostic::error(
            Finding::BadTypeface,
            format!("the typeface `{typeface}` is damaged and cannot set `{words}`"),
        )
        .label(span, "this text")
        .help("name another typeface with `typeface \"file.ttf\"`"),
    }
}

/// A list of typefaces with none in it.
pub fn no_typeface(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BadTypeface, "this list of typefaces is empty")
        .label(span, "set in what?")
        .help("name one, as in `typeface \"DejaVu Serif\"`, or take this out")
}

/// A quoted word of ours that is none.
pub fn unknown_quoted_word(parameter: &str, word: &str, words: &[&str], span: Span) -> Diagnostic {
    let quoted: Vec<String> = words.iter().map(|word| format!("\"{word}\"")).collect();
    let diagnostic = Diagnostic::error(Finding::UnknownWord, format!("`{parameter}` cannot be `{word}`"))
        .label(span, "not one of its words");
    match suggest::nearest(word, words.iter().copied()) {
        Some(nearest) => diagnostic.help(format!("did you mean `\"{nearest}\"`?")).mend(span, format!("\"{nearest}\"")),
        None => diagnostic.help(format!("it may be {}", listed(quoted.iter().map(String::as_str), "or"))),
    }
}

/// Straight text that is told which way to face.
pub fn facing_without_around(span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::MissingArgument,
        "`facing` needs `around`, the radius of the circle that the text runs along",
    )
    .label(span, "faces which way, round what?")
    .help("write `around: 24mm` too, or turn straight text with `turned`")
}

/// Bridges that leave nothing of what they cross.
pub fn all_bridge(bridge: Length, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EmptyRegion, format!("bridges of {bridge} leave nothing of this shape"))
        .label(span, "nothing is left to cut")
        .help("write narrower bridges, or larger lettering")
}

/// A typeface that is not there: the embedded one serves.
pub fn typeface_missing(name: &str, problem: &ReadProblem, span: Span) -> Diagnostic {
    let why = match problem {
        ReadProblem::Missing => "is not beside this file".to_owned(),
        ReadProblem::TooLarge { .. } => "is too large".to_owned(),
        ReadProblem::Outside => "lies outside the folder of the design".to_owned(),
        ReadProblem::Other(words) => format!("cannot be read: {words}"),
    };
    Diagnostic::warning(Finding::TypefaceMissing, format!("the typeface `{name}` {why}, so the built-in one is used"))
        .label(span, "not used")
        .help("put the font file there, or name a typeface without an ending, such as `\"DejaVu Serif\"`")
}

/// A file that is no font; what it is, where that is known.
pub fn not_a_typeface(name: &str, instead: Option<&str>, span: Span) -> Diagnostic {
    let (message, help) = match instead {
        None => (
            format!("`{name}` is not a font file that can be read"),
            "use a TrueType or OpenType file (.ttf, .otf)".to_owned(),
        ),
        Some(what) => (
            format!("`{name}` is {what}, and a font must be a TrueType or OpenType file (.ttf, .otf)"),
            "`dialwright explain bad-typeface` shows how to convert or unpack it; whoever made it mostly offers the .ttf or .otf too"
                .to_owned(),
        ),
    };
    Diagnostic::error(Finding::BadTypeface, message).label(span, "this file").help(help)
}

/// A typeface that neither the program nor the machine has: the embedded one serves.
pub fn typeface_not_installed(name: &str, nearest: Option<&str>, span: Span) -> Diagnostic {
    let message =
        format!("no typeface `{name}` comes with dialwright or is installed here, so the built-in one is used");
    let found = Diagnostic::warning(Finding::TypefaceMissing, message).label(span, "not used");
    match nearest {
        Some(nearest) => found.help(format!("did you mean `{nearest}`?")).mend(span, format!("\"{nearest}\"")),
        None => found.help(format!(
            "put its font file beside this file and name that, or use one of {}",
            listed(Typeface::built_in_names(), "and")
        )),
    }
}

/// Lettering that rests on the fonts of the machine.
pub fn system_typeface(name: &str, span: Span) -> Diagnostic {
    Diagnostic::advice(
        Finding::SystemTypeface,
        format!(
            "all lettering in `{name}` rests on the font that is installed here, which another machine may not have"
        ),
    )
    .label(span, "a font of this machine")
    .help("copy its font file beside this file and name that, and the same file gives the same dial everywhere")
}
