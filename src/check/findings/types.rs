//! Findings about kinds and units.

use crate::diagnostics::{Diagnostic, Finding, listed};
use crate::source::Span;
use crate::syntax::tree::{Arithmetic, Name, TailKind, Work};
use crate::units::{Dimension, Unit, plain};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::types::{ThingKind, Type};

/// A value of the wrong kind.
pub fn wrong_kind(found: &Type, wanted: &Type, span: Span) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Finding::WrongKind,
        format!("this must be {}, not {}", wanted.described(), found.described()),
    )
    .label(span, format!("this is {}", found.described()));
    match (found.dimension(), wanted.dimension()) {
        (Some(found), Some(wanted)) if found != wanted => match (missing_factor(found, wanted), example(wanted)) {
            (Some(factor), _) => diagnostic.help(factor),
            (None, Some(example)) => {
                diagnostic.help(format!("write {}, as in `{example}`", wanted.described()))
            }
            (None, None) => diagnostic,
        },
        _ => match wanted {
            Type::Region if *found == Type::Thing(ThingKind::Ring) => diagnostic.help(
                "a ring is an area only where it is left standing (`bare ring`), and only in work that is burnt or painted on its own face of its own layer: `engrave circle(diameter: 58mm) less heat`",
            ),
            Type::List(_) if *found == Type::Text => diagnostic
                .help("a list stands in square brackets, as in `[\"Fog\", \"Calm\"]`; a range stands without quotes: `0 to 9`"),
            Type::List(_) if *found == Type::NUMBER => {
                diagnostic.help("to count up write `1 to 6`; a list of one is written `[6]`")
            }
            Type::List(_) if !matches!(found, Type::List(_)) => {
                diagnostic.help("put brackets round it to make a list of one: `[…]`")
            }
            Type::Quantity(dimension) if matches!(found, Type::List(_)) => match example(*dimension) {
                Some(example) => diagnostic.help(format!("write a single value, as in `{example}`")),
                None => diagnostic.help("write a single number"),
            },
            Type::Quantity(dimension) => match example(*dimension) {
                Some(example) => diagnostic.help(format!("write {}, as in `{example}`", wanted.described())),
                None if *found == Type::Text => diagnostic.help("write a number, without quotes"),
                None => diagnostic.help("write a number"),
            },
            Type::Text => diagnostic.help("a text stands in quotes, as in `\"Fog\"`"),
            Type::Colour => diagnostic.help("a colour is written `#c8a06e`: two digits each for red, green and blue"),
            Type::Region if *found == Type::Trace => {
                diagnostic.help("a line has no inside; use `score` for it, or a closed `path(…)`")
            }
            Type::Region if *found == Type::Text => {
                diagnostic.help("to make a shape of words write `text(\"…\", height: 6mm)`")
            }
            Type::Pivot => {
                diagnostic.help("write `magnets(disc)`, `rivet(eyelet)` or `pin(m4)`, with a name from the shop in the brackets")
            }
            Type::Truth => diagnostic.help("compare it with something, as in `across < 60mm`"),
            Type::Point => diagnostic.help("write a point as `(3mm, 4mm)` or `polar(20mm, 0deg)`"),
            _ => diagnostic,
        },
    }
}

/// Rows for a single param, which takes the cells of a column; `certain` where one column alone is named.
pub fn column_wanted(params: &[Name], function: &Name, certain: bool) -> Diagnostic {
    let param = params.first().map_or("", |name| name.text.as_str());
    let message = format!("`{param}` walks alone, so it takes a column and no rows");
    let found = Diagnostic::error(Finding::RowsWanted, message)
        .label(function.span, "rows of several cells")
        .help(format!("write `column(\"crew.csv\", \"name\")`, or name a param for each cell behind `{param}`"));
    if certain { found.mend(function.span, "column") } else { found }
}

/// Columns of a table for params that walk together, of another number.
pub fn columns_wanted(names: usize, columns: usize, span: Span) -> Diagnostic {
    let message = format!("{names} params walk together, and {columns} of the table's columns are taken");
    Diagnostic::error(Finding::RowsWanted, message).label(span, "a column for each is wanted").help(
        "name a column for each param, in their order: `each who, number in rows(\"crew.csv\", \"name\", \"number\")`",
    )
}

/// A value within a text that letters cannot tell.
pub fn not_told_in_letters(found: &Type, span: Span) -> Diagnostic {
    let message = format!("a text takes a number, a quantity or another text into it, not {}", found.described());
    Diagnostic::error(Finding::WrongKind, message)
        .label(span, format!("this is {}", found.described()))
        .help("write the words themselves, or choose them with `if … then \"…\" else \"…\"` under a name")
}

/// A value of this dimension, as one might write it; none for a bare number.
fn example(dimension: Dimension) -> Option<&'static str> {
    Some(match dimension {
        Dimension::LENGTH => "3mm",
        Dimension::ANGLE => "90deg",
        Dimension::FORCE => "4N",
        Dimension::TORQUE => "12mNm",
        Dimension::FLUX_DENSITY => "1.32T",
        Dimension::MASS => "12g",
        Dimension::TIME => "24h",
        Dimension::SPEED => "9mm / 1s",
        Dimension::PRESSURE => "5MPa",
        _ => return None,
    })
}

/// Where one of the two is a bare number, how the other one's kind is written.
fn unit_for_bare(one: &Type, other: &Type) -> Option<&'static str> {
    let other = if *one == Type::NUMBER { other } else { (*other == Type::NUMBER).then_some(one)? };
    example(other.dimension()?)
}

/// Stops that are neither a count nor bearings.
pub fn not_stops(found: &Type, span: Span) -> Diagnostic {
    let message = format!("stops are how many there are, or a list of bearings, not {}", found.described());
    Diagnostic::error(Finding::WrongKind, message)
        .label(span, format!("this is {}", found.described()))
        .help("write `stops 6`, or `stops [0deg, 40deg, 130deg]`")
}

/// What to multiply or divide by to get the wanted dimension, in words.
fn missing_factor(found: Dimension, wanted: Dimension) -> Option<String> {
    let (excess, lack) = (found.over(wanted), wanted.over(found));
    let simple = |dimension: Dimension| {
        [Dimension::LENGTH, Dimension::ANGLE, Dimension::TIME, Dimension::AREA].contains(&dimension)
    };
    if simple(lack) {
        Some(format!("multiply it by {} to get {}", lack.described(), wanted.described()))
    } else if simple(excess) {
        Some(format!("divide it by {} to get {}", excess.described(), wanted.described()))
    } else {
        None
    }
}

/// A bare number where a unit is needed.
pub fn missing_unit(number: f64, wanted: Dimension, span: Span) -> Diagnostic {
    let unit = match wanted {
        Dimension::LENGTH => "mm",
        Dimension::ANGLE => "deg",
        Dimension::FORCE => "N",
        Dimension::TORQUE => "mNm",
        Dimension::FLUX_DENSITY => "T",
        Dimension::MASS => "g",
        Dimension::TIME => "s",
        _ => "",
    };
    let number = plain(number, 6);
    let diagnostic = Diagnostic::error(
        Finding::MissingUnit,
        format!("`{number}` has no unit, and {} is wanted here", wanted.described()),
    )
    .label(span, "which unit?");
    let spoken = match unit {
        "mm" => "millimetres",
        "deg" => "degrees",
        "N" => "newtons",
        "mNm" => "millinewton metres",
        "T" => "tesla",
        "g" => "grams",
        "s" => "seconds",
        _ => return diagnostic.help(format!("write its unit right behind it, in {}", wanted.described())),
    };
    diagnostic.help(format!("write `{number}{unit}` if you mean {spoken}"))
}

/// `1 / 8in`, meant as a fraction.
pub fn division_not_fraction(numerator: f64, denominator: f64, unit: Unit, span: Span) -> Diagnostic {
    let (top, bottom) = (plain(numerator, 6), plain(denominator, 6));
    let fraction = format!("{top}/{bottom}{}", unit.name);
    Diagnostic::error(
        Finding::DivisionNotFraction,
        format!(
            "`{top} / {bottom}{}` divides {top} by {}, which is no longer {}",
            unit.name,
            unit.dimension.described(),
            unit.dimension.described()
        ),
    )
    .label(span, "a division, because of the spaces round the slash")
    .help(format!("write the fraction without spaces: `{fraction}`"))
    .mend(span, fraction)
}

/// Unlike things added or subtracted.
pub fn unit_mismatch(operator: Arithmetic, left: (&Type, Span), right: (&Type, Span), at: Span) -> Diagnostic {
    let verb = if operator == Arithmetic::Add { "added" } else { "subtracted" };
    let (one, other) = (left.0.described(), right.0.described());
    let diagnostic = Diagnostic::error(Finding::UnitMismatch, format!("{one} and {other} cannot be {verb}"))
        .label(at, format!("{verb} here"))
        .label(left.1, format!("this is {one}"))
        .label(right.1, format!("this is {other}"));
    match unit_for_bare(left.0, right.0) {
        Some(example) => diagnostic.help(format!("give the bare number a unit, as in `{example}`")),
        None => diagnostic.help("both sides must measure the same thing"),
    }
}

/// Arithmetic on something that is no quantity.
pub fn no_arithmetic(operator: Arithmetic, found: &Type, span: Span) -> Diagnostic {
    let sign = match operator {
        Arithmetic::Add => "+",
        Arithmetic::Subtract => "-",
        Arithmetic::Multiply => "*",
        Arithmetic::Divide => "/",
    };
    let diagnostic = Diagnostic::error(
        Finding::NoArithmetic,
        format!("`{sign}` works on numbers and measurements, not on {}", found.described()),
    )
    .label(span, format!("this is {}", found.described()));
    match (found, operator) {
        (Type::Region, Arithmetic::Add) => diagnostic.help("to join two regions write `a plus b`"),
        (Type::Region, Arithmetic::Subtract) => diagnostic.help("to take one region out of another write `a less b`"),
        (Type::Region, Arithmetic::Multiply | Arithmetic::Divide) => {
            diagnostic.help("to change its size write `a scaled 2`")
        }
        (Type::Text, Arithmetic::Add) => {
            diagnostic.help("texts cannot be joined: write it as one text, or as two marks side by side")
        }
        (Type::Trace, _) => diagnostic.help("a line is placed with words, as in `a scaled 2` or `a at (3mm, 0mm)`"),
        _ => diagnostic.help(format!("take the `{sign}` away: a name, text, colour or list is used as it is")),
    }
}

/// A list (or a choice) whose parts have nothing in common.
pub fn mixed_list(one: &Type, one_span: Span, other: &Type, other_span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::MixedKinds,
        format!("{} and {} cannot stand side by side", one.described(), other.described()),
    )
    .label(other_span, format!("this is {}", other.described()))
    .label(one_span, format!("this is {}", one.described()))
    .help("all of them must be of one kind; labels may mix numbers, texts and art")
}

/// Things that cannot be compared.
pub fn not_comparable(left: (&Type, Span), right: (&Type, Span)) -> Diagnostic {
    let (one, other) = (left.0.described(), right.0.described());
    let diagnostic = Diagnostic::error(Finding::NotComparable, format!("{one} and {other} cannot be compared"))
        .label(right.1, format!("this is {other}"))
        .label(left.1, format!("this is {one}"));
    match unit_for_bare(left.0, right.0) {
        Some(example) => diagnostic.help(format!("give the bare number a unit, as in `{example}`")),
        None => diagnostic.help("both sides must be of one kind"),
    }
}

/// `<` on things without an order.
pub fn no_order(found: &Type, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::NotComparable,
        format!("{} has no order, so it cannot be less or more", found.described()),
    )
    .label(span, format!("this is {}", found.described()))
    .help("use `is` or `is not` for it")
}

/// A square root that leaves half a dimension.
pub fn no_root(found: &Type, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NoRoot, format!("{} has no square root", found.described()))
        .label(span, "the root would be half a unit")
        .help("the root of an area is a length, the root of a number a number")
}

/// Something placed that has no place.
pub fn not_placeable(found: &Type, filled_only: bool, span: Span) -> Diagnostic {
    let wanted = if filled_only { "a region" } else { "a region, a trace or a point" };
    Diagnostic::error(Finding::WrongKind, format!("only {wanted} can be placed so, not {}", found.described()))
        .label(span, format!("this is {}", found.described()))
        .help(match found {
            Type::Text => "to make a shape of words write `text(\"…\", height: 6mm)`",
            Type::Trace => "a line has no inside to grow, shrink or round: close it with `path(…)`, or leave this out",
            _ => "placing words act on what stands left of them, as in `circle(diameter: 9mm) at polar(20mm, 0deg)`",
        })
}

/// A mark that is no region (or trace).
pub fn not_markable(found: &Type, work: Work, span: Span) -> Diagnostic {
    let verb = work.word();
    let diagnostic =
        Diagnostic::error(Finding::WrongKind, format!("`{verb}` works on a region, not on {}", found.described()))
            .label(span, format!("this is {}", found.described()));
    match found {
        Type::Trace => diagnostic.help("a line has no inside; write `score` to trace it"),
        Type::Text => diagnostic.help(format!("write `{verb} text(\"…\", height: 6mm)`")),
        _ => diagnostic.help(format!("write it like `{verb} circle(diameter: 9mm) at polar(20mm, 0deg)`")),
    }
}

/// A measure used outside `expect`.
pub fn measure_outside_expect(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::MeasureOutsideExpect,
        format!("`{name}(…)` measures the finished dial, so only `expect` can use it"),
    )
    .label(span, "the dial is not finished yet here")
    .help(format!("write the condition as an item of its own: `expect {name}(…) < …`"))
}

/// A tail on work that has no use for it.
pub fn tail_out_of_place(tail: TailKind, work: Work, span: Span, work_span: Span) -> Diagnostic {
    let (word, fits) = match tail {
        TailKind::Depth => ("depth", "`pocket` and `engrave`"),
        TailKind::Tone => ("tone", "`engrave`"),
        TailKind::Ink => ("ink", "`engrave`"),
        TailKind::Colour => ("colour", "`paint` and `print`, and to `engrave` behind its `ink`"),
        TailKind::After => ("after", "`engrave`, `score` and `pocket`"),
    };
    Diagnostic::error(Finding::TailOutOfPlace, format!("`{}` has no `{word}`", work.word()))
        .label(span, "no use for this")
        .label(work_span, "the work it stands behind")
        .help(format!("`{word}` belongs to {fits}"))
}

/// A field of a ring that is worked so that it has no use for it; `lines` where its letters are single lines.
pub fn field_out_of_place(field: fields::Ring, work: Work, lines: bool, span: Span, work_span: Span) -> Diagnostic {
    use fields::Ring as R;
    let word = field.spec().word;
    let why = match (work, field) {
        (Work::Print, R::SingleStroke) => "what is printed is an area",
        (Work::Print, _) => "it is printed in its `colour`",
        (Work::Engrave, _) | (Work::Bare, R::SingleStroke) => "a line has no inside to be burnt or left",
        (Work::Bare, R::Ticks | R::Tick | R::TicksAt) => "ticks between them would be burnt",
        (Work::Bare, _) => "nothing of its labels is burnt",
        (_, R::Typeface) if lines => "single lines have letters of their own",
        _ => "a scored line is as dark and as wide as the beam burns it",
    };
    let help = match field {
        R::SingleStroke => "write `score ring` for letters that are single lines".to_owned(),
        R::Typeface if lines => format!("leave `{word}` out, or leave `single_stroke` out"),
        R::Ticks | R::Tick | R::TicksAt => {
            "leave it out, or put the ticks on a ring that is engraved or scored".to_owned()
        }
        _ => format!("leave `{word}` out, or write `engrave ring`"),
    };
    Diagnostic::error(Finding::FieldOutOfPlace, format!("a ring that is {} has no `{word}`: {why}", worked(work)))
        .label(span, "no use for this")
        .label(work_span, "how it is worked")
        .help(help)
}

/// A work as what is said of a ring.
fn worked(work: Work) -> &'static str {
    match work {
        Work::Score => "scored",
        Work::Bare => "bare",
        Work::Print => "printed",
        _ => "engraved",
    }
}

/// Work that waits for what is no work on the other face.
pub fn nothing_to_wait_for(name: &str, at: Span, layer: &str, known: &[&str], other: Option<Span>) -> Diagnostic {
    let found = Diagnostic::error(
        Finding::WorkOutOfOrder,
        format!("`after {name}` names nothing that the machine burns on the other face of layer `{layer}`"),
    )
    .label(at, "work on the other face is wanted here");
    let found = match other {
        Some(other) => found.label(other, format!("`{name}` is this")),
        None => found,
    };
    found.help(match known {
        [] => "give the work on the other face a name first: `back engrave lining = …`".to_owned(),
        known => format!("that face has {}", listed(known.iter().copied(), "and")),
    })
}

/// Rows of values wanted.
pub fn rows_wanted(names: usize, span: Span) -> Diagnostic {
    let row = ["a", "b", "c", "d", "e", "f"].get(..names.min(6)).unwrap_or_default().join(", ");
    Diagnostic::error(Finding::RowsWanted, format!("{names} params that walk together need rows of {names} values"))
        .label(span, "not such a row")
        .help(format!("write a list of rows: `[[{row}], [{row}]]`"))
}
