//! Findings about rings, their labels, and what they are read by.

use crate::design::ReadsHow;
use crate::diagnostics::{Diagnostic, Finding, counted, suggest};
use crate::source::Span;
use crate::syntax::tree::Name;
use crate::units::{Angle, Length, plain};
use crate::vocabulary::choices::FacingWord;

/// A list of another length than the labels it is for.
pub fn values_and_labels(ring: &str, values: usize, labels: usize, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::BearingsAndLabels,
        format!("ring `{ring}` has {} here and {}", counted(values, "value"), counted(labels, "label")),
    )
    .label(span, "one for each label is wanted")
    .help("write one value for all labels, or a list with one for each")
}

/// A text in a list of facings that is none.
pub fn unknown_facing(word: &str, span: Span) -> Diagnostic {
    let words: Vec<String> = FacingWord::ALL.iter().map(|known| format!("`\"{}\"`", known.word())).collect();
    Diagnostic::error(Finding::UnknownWord, format!("`facing` cannot be `{word}`"))
        .label(span, "holds it")
        .help(format!("texts in such a list are {}", words.join(", ")))
}

/// What a tick looks like, where there are none.
pub fn tick_without_ticks(field: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::MissingField, format!("`{field}` says how ticks look, but the ring has none"))
        .label(span, "of no use alone")
        .help("say how many stand between two labels with `ticks 4`, or take this out")
}

/// A ring that is worked as no ring is.
pub fn ring_not_engraved(ring: &str, work: &str, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::RingNotEngraved,
        format!("`{work}` makes no ring of labels: `engrave`, `score`, `print` and `bare` do"),
    )
    .label(span, "a ring is read, and cannot be read worked like this")
    .help(format!("write `engrave ring {ring} {{ … }}`; a shape that goes round is `repeated`"))
}

/// A ring with an empty list of labels.
pub fn ring_without_labels(ring: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::RingWithoutLabels, format!("ring `{ring}` has no labels"))
        .label(span, "empty")
        .help("write at least one: `labels 0 to 9` or `labels [\"Fog\", \"Calm\"]`")
}

/// A ring whose radius cannot be told.
pub fn ring_without_radius(ring: &str, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::RingWithoutRadius,
        format!("it cannot be told how far from the axis ring `{ring}` stands"),
    )
    .label(span, "at which radius?")
    .help("write `radius 20mm` in it, or read it through an opening away from the axis")
}

/// As many bearings as labels wanted.
pub fn bearings_and_labels(ring: &str, bearings: usize, labels: usize, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::BearingsAndLabels,
        format!("ring `{ring}` has {} and {}", counted(labels, "label"), counted(bearings, "bearing")),
    )
    .label(span, "one for each label is wanted")
    .help("give every label its bearing, in the same order")
}

/// Bearings that say where each label stands, and a word that says which way round they go.
pub fn runs_and_bearings(runs: Span, bearings: Span) -> Diagnostic {
    Diagnostic::error(Finding::ChooseOne, "a ring takes one of `bearings` and `runs`, not both")
        .label(runs, "`runs` says which way round")
        .label(bearings, "`bearings` says where each label stands")
        .help("keep one: bearings of your own go whichever way round you write them")
}

/// A label with nothing to see.
pub fn blank_label(ring: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BlankLabel, format!("a label of `{ring}` would leave no mark on the wood"))
        .label(span, "nothing to see")
        .help("write at least one visible character; a dash shows that a stop means nothing")
}

/// Numbers among labels that are written with leading zeros: the first as written and as shown, how many there are of how many,
/// and all labels as they would keep their zeros, directly in the ring or not.
pub fn leading_zero(
    ring: &str,
    (written, shown): (&str, &str),
    (lost, of): (usize, usize),
    (instead, direct): (&str, bool),
    span: Span,
) -> Diagnostic {
    let field = if direct { "labels " } else { "" };
    let message = format!(
        "ring `{ring}` shows `{shown}` where `{written}` is written: the leading zeros of {lost} of its {} are lost",
        counted(of, "label")
    );
    Diagnostic::warning(Finding::LeadingZero, message)
        .label(span, "numbers keep no leading zeros")
        .help(format!("write the labels as texts: `{field}{instead}`"))
        .about(ring)
}

/// A line under a label that the ring has not.
pub fn underlines_nothing(ring: &str, label: &str, known: &[&str], span: Span) -> Diagnostic {
    let found =
        Diagnostic::error(Finding::UnderlinesNothing, format!("ring `{ring}` has no label `{label}` to underline"))
            .label(span, "no lettering of this ring")
            .about(ring);
    match suggest::nearest(label, known.iter().copied()) {
        Some(nearest) => found.help(format!("name a label as it stands in `labels`, such as `{nearest}`")),
        None => {
            found.help("name labels as they stand in `labels`: numbers as numbers, texts in quotes; art takes no line")
        }
    }
}

/// An opening too small for any label.
pub fn no_room_for_labels(ring: &str, clear: Length, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::NoRoomForLabels,
        format!("the labels of ring `{ring}` do not clear its opening by {clear}, however small they are"),
    )
    .label(span, "no room")
    .help("make the opening larger, or put the ring's radius and bearings where the opening is")
}

/// A label, of this ring and these words, that does not come under its opening at its stop: how far round and how far out it
/// stands from the opening's middle.
pub fn labels_beside_opening((ring, says): (&str, &str), (off, out): (Angle, Length), span: Span) -> Diagnostic {
    let round = plain(off.as_degrees().abs(), 2);
    let way = if off.as_degrees() > 0.0 { "clockwise" } else { "anticlockwise" };
    let (place, help) = if off.as_degrees().abs() < 0.05 {
        let side = if out.as_mm() > 0.0 { "farther out" } else { "farther in" };
        (
            format!("{} {side}", Length::mm(out.as_mm().abs())),
            "leave `radius` out, and the ring stands as far out as its opening",
        )
    } else {
        let help = "leave `first` and `bearings` out, and give the turn one stop for each label: then they agree";
        (format!("{round}deg {way} of it"), help)
    };
    Diagnostic::error(
        Finding::NoRoomForLabels,
        format!("label `{says}` of ring `{ring}` does not come under its opening at its stop, but stands {place}"),
    )
    .label(span, "no height would do")
    .help(help)
}

/// A ring that no line reads.
pub fn ring_not_read(ring: &str, span: Span) -> Diagnostic {
    Diagnostic::advice(
        Finding::RingNotRead,
        format!("nothing reads ring `{ring}`, so nothing is proven of what it shows"),
    )
    .label(span, "no `reads` for it")
    .about(ring)
    .help(format!("say how it is read: `reads {ring} through OPENING` or `reads {ring} beside POINTER`"))
}

/// A ring that is read but not in the stack.
pub fn ring_not_in_stack(name: &Name) -> Diagnostic {
    Diagnostic::error(Finding::NotInStack, format!("ring `{}` is on no layer of the stack", name.text))
        .label(name.span, "cannot be read")
        .help("put its layer into the stack")
}

/// An opening that is not in the stack.
pub fn mark_not_in_stack(name: &Name) -> Diagnostic {
    Diagnostic::error(Finding::NotInStack, format!("`{}` is on no layer of the stack", name.text))
        .label(name.span, "cannot be looked at")
        .help("put its layer into the stack")
}

/// Something that cannot be read through (or beside).
pub fn not_read_so(name: &Name, how: ReadsHow, definition: Span) -> Diagnostic {
    let (message, help) = match how {
        ReadsHow::Through => (
            "is not an opening",
            "read through a `window`, a `hole` or a `bare` patch; beside a pointer write `beside`",
        ),
        ReadsHow::Beside => {
            ("cannot point", "read beside something engraved, scored or cut; through an opening write `through`")
        }
    };
    Diagnostic::error(Finding::NotReadSo, format!("`{}` {message}", name.text))
        .label(name.span, "used here")
        .label(definition, "defined here")
        .help(help)
}

/// An opening that lies below what is to be read.
pub fn opening_below_ring(opening: &Name, ring: &Name, definition: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::OpeningBelowRing,
        format!("opening `{}` does not lie above ring `{}`", opening.text, ring.text),
    )
    .label(opening.span, "cannot be looked through")
    .label(definition, "this opening")
    .help("the stack is written from the bottom up: the ring's layer comes before the opening's")
}

/// A reading across which nothing turns.
pub fn nothing_turns_between(opening: &Name, ring: &Name) -> Diagnostic {
    Diagnostic::error(
        Finding::NothingTurns,
        format!("nothing turns between `{}` and `{}`, so it always reads the same", ring.text, opening.text),
    )
    .label(opening.span, "fixed to the ring")
    .help("put `turn on …` between their layers in the stack")
}

/// Labels and stops that do not match.
pub fn labels_and_stops(ring: &str, labels: usize, stops: usize, span: Span, turn: Span) -> Diagnostic {
    let what = if labels > stops { "some labels can never be read" } else { "some stops have no label" };
    Diagnostic::warning(
        Finding::LabelsAndStops,
        format!("ring `{ring}` has {} and its turn has {}: {what}", counted(labels, "label"), counted(stops, "stop")),
    )
    .label(span, counted(labels, "label"))
    .label(turn, counted(stops, "stop"))
    .help("make them as many, or leave `stops` out and there is one for each label")
    .about(ring)
}
