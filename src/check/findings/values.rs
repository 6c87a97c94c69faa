//! Findings about values: numbers, shapes, files, lettering, artwork.

use super::artwork;
use crate::artwork::{ArtError, Dropped};
use crate::diagnostics::{Diagnostic, Finding, counted, listed, suggest};
use crate::geometry::GeometryError;
use crate::limits;
use crate::project::ReadProblem;
use crate::source::Span;
use crate::syntax::tree::{Combining, Placing};
use crate::units::{Length, Quantity, mm, plain};

/// A whole number wanted.
pub fn not_whole(what: &str, found: Quantity, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotWhole, format!("{what} must be a whole number, not {found}"))
        .label(span, format!("this is {found}"))
        .help("use `round(…)` or `floor(…)` if it comes from a calculation")
}

/// A count below or above what is allowed.
pub fn count_out_of_bounds(what: &str, found: Quantity, least: u32, most: u32, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::CountOutOfBounds, format!("{what} must be from {least} to {most}, not {found}"))
        .label(span, format!("this is {found}"))
        .help(format!("write a whole number from {least} to {most}"))
}

/// A size that must be above zero.
pub fn not_positive(what: &str, found: Quantity, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotPositive, format!("{what} must be more than zero, not {found}"))
        .label(span, format!("this is {found}"))
        .help("write a value above zero")
}

/// A distance that must not be below zero.
pub fn negative(what: &str, found: Quantity, span: Span) -> Diagnostic {
    let is_offset = what == "the distance";
    Diagnostic::error(Finding::NotPositive, format!("{what} must not be below zero, and is {found}"))
        .label(span, format!("this is {found}"))
        .help(if is_offset {
            "write zero or more; to shrink use `inset`, to grow use `outset`"
        } else {
            "write zero or more"
        })
}

/// A calculation that gives no number.
pub fn not_a_number(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotANumber, "this calculation gives no finite number")
        .label(span, "too large, or no number at all")
        .help("look at the values that go into it; one of them is far too large or too small")
}

/// A text that is no date with a time.
pub fn bad_moment(written: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BadMoment, format!("`{written}` is no date with a time of day"))
        .label(span, "this says when the dials are wanted")
        .help("write year, month, day, hour and minute, as in `wanted \"2026-12-04 18:00\"`")
}

/// A division by zero.
pub fn division_by_zero(at: Span) -> Diagnostic {
    Diagnostic::error(Finding::DivisionByZero, "this divides by zero")
        .label(at, "what stands to the right of it is zero")
        .help("make sure it cannot be zero, for instance with `if n > 0 then … else …`")
}

/// A root of a negative number.
pub fn root_of_negative(found: Quantity, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotANumber, format!("{found} is below zero and has no square root"))
        .label(span, "no root")
        .help("use `abs(…)` if only the size of it matters")
}

/// A tangent of a right angle.
pub fn no_tangent(found: Quantity, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotANumber, format!("the tangent of {found} is infinite"))
        .label(span, "no tangent")
        .help("keep the angle away from 90deg")
}

/// A range whose step is zero.
pub fn no_step(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NoStep, "a range with a step of zero never ends")
        .label(span, "the step after `by` is zero")
        .help("write a step above zero; a range that runs down finds its direction by itself")
}

/// A list beyond the limit.
pub fn list_too_long(found: usize, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::TooMany, format!("this list has {found} items, and {} are allowed", limits::LIST_LENGTH))
        .label(span, "too many items")
        .help(format!("keep lists and ranges to {} items", limits::LIST_LENGTH))
}

/// A region beyond the limit.
pub fn too_many_segments(found: usize, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::TooMany,
        format!("this region has {found} curve pieces, and {} are allowed", limits::SEGMENTS),
    )
    .label(span, "too detailed")
    .help("simplify the artwork, or make fewer copies")
}

/// More work than allowed.
pub fn too_much_work(span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::TooMany,
        format!("this design needs more than {} steps to work out", limits::EVALUATIONS),
    )
    .label(span, "stopped here")
    .help("a function or `for` inside another one multiplies quickly; make the lists shorter")
}

/// A text that grew beyond the limit.
pub fn text_too_long(span: Span) -> Diagnostic {
    let most = limits::TEXT_BYTES;
    Diagnostic::error(Finding::TooMany, format!("the values in this text make it longer than {most} bytes"))
        .label(span, "too long")
        .help("put fewer or shorter values into it")
}

/// Work that was given up while a value was worked out.
pub fn given_up(at: Option<Span>) -> Diagnostic {
    let told = Diagnostic::error(
        Finding::TooMuchWork,
        format!(
            "working this out takes more than the {} million steps that one dial may take",
            limits::WORK / 1_000_000
        ),
    )
    .help("make fewer copies or simpler shapes; what crosses itself or lies over much else takes the most work");
    at.into_iter().fold(told, |told, at| told.label(at, "given up here"))
}

/// Work that was given up on a dial whose values are all known, and which of its parts has most to it.
pub fn too_much_to_look_at(part: &str, pieces: usize, on: &str, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::TooMuchWork,
        format!(
            "looking through this dial takes more than the {} million steps that one may take",
            limits::WORK / 1_000_000
        ),
    )
    .label(span, format!("{part}: {pieces} pieces of outline, more than anything else has"))
    .help(
        "give it fewer layers, labels, copies or details, or simpler ones; then the run fewer dials, and the turns fewer stops",
    )
    .about(on)
}

/// A placing that leads out of bounds.
pub fn out_of_bounds(span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::OutOfBounds,
        format!("this puts something more than {}mm from the axis", limits::SIZE_MM),
    )
    .label(span, "far off any board")
    .help("check the unit: `3m` is three metres")
}

/// A length that nothing within bounds can have.
pub fn too_long(found: Length, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::OutOfBounds,
        format!("{found} is longer than anything that lies within {}mm of the axis", limits::SIZE_MM),
    )
    .label(span, format!("{}mm is the most", limits::LENGTH_MM))
    .help("check the unit: `3m` is three metres")
}

/// A shape that cannot be made.
pub fn bad_shape(error: GeometryError, span: Span) -> Diagnostic {
    match error {
        GeometryError::NotPositive { what, value } => {
            let message = format!("the {} must be more than zero, not {}", spoken(what), sized(what, value));
            let label = match what {
                "sweep" => "from here to there again".to_owned(),
                _ => format!("this is {}", sized(what, value)),
            };
            Diagnostic::error(Finding::NotPositive, message).label(span, label).help("write a value above zero")
        }
        GeometryError::CornerTooLarge { corner, largest } => Diagnostic::error(
            Finding::CornerTooLarge,
            format!("a corner radius of {} does not fit: {} is the most", mm(corner), mm(largest)),
        )
        .label(span, "the rounded corners would meet")
        .help(format!("write `corner: {}` or less, or make the shape larger", mm(floor3(largest)))),
        GeometryError::TooFew { what, value, least } => {
            let message = format!(
                "the number of {} is {}, and at least {} are needed",
                spoken(what),
                plain(value, 0),
                plain(least, 0)
            );
            Diagnostic::error(Finding::TooFew, message).label(span, "no such shape").help(match what {
                "points" => "let the line run between two different places".to_owned(),
                _ => format!("write {} or more", plain(least, 0)),
            })
        }
        GeometryError::TooLarge { what, value, below } => {
            let (value, below) = (sized(what, value), sized(what, below));
            Diagnostic::error(Finding::TooLarge, format!("the {} is {value} and must stay below {below}", spoken(what)))
                .label(span, "does not fit")
                .help(format!("keep it below {below}"))
        }
        GeometryError::CrossesItself { at } => {
            let place = format!("({}, {})", mm(at.x), mm(at.y));
            Diagnostic::error(Finding::CrossesItself, format!("this path crosses itself at {place}"))
                .label(span, "which side is inside cannot be told")
                .help("draw the pieces as paths of their own and join them with `plus` or `less`")
        }
        GeometryError::BadPathData { offset } => Diagnostic::error(
            Finding::BadPathData,
            format!("this path data cannot be read from its character {} on", offset + 1),
        )
        .label(span, "not SVG path data")
        .help("write it like `\"M 0 0 L 10 0 L 0 10 Z\"`: letters M L H V C S Q T A Z, numbers in mm, y up"),
        GeometryError::NotClosed => Diagnostic::error(Finding::NotClosed, "this path is open, so it has no inside")
            .label(span, "does not come back to its start")
            .help("end it with `Z`, or use `score trace(…)` for an open line"),
        GeometryError::Empty => {
            Diagnostic::error(Finding::EmptyRegion, "this shape has no inside, so nothing is left of it")
                .label(span, "empty")
                .help("look at what it is made from: sizes above zero, and a path that goes round something")
        }
        GeometryError::TooDetailed => too_many_segments(limits::SEGMENTS + 1, span),
        GeometryError::OutOfRange => out_of_bounds(span),
    }
}

/// An inner diameter that is not the smaller one.
pub fn inner_too_large(inner: Length, outer: Length, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::TooLarge, format!("the inner diameter is {inner} and must stay below {outer}"))
        .label(span, "does not fit")
        .help(format!("keep it below the diameter, {outer}"))
}

/// Rounded down to three decimals, so that what help offers is accepted.
fn floor3(value: f64) -> f64 {
    (value * 1000.0).floor() / 1000.0
}

/// A size of a shape as people call it.
fn spoken(what: &str) -> String {
    match what {
        "across_corners" => "width across the corners".to_owned(),
        "across_flats" => "width across the flats".to_owned(),
        "side" => "length of a side".to_owned(),
        "inner" => "inner radius".to_owned(),
        "outer" => "outer radius".to_owned(),
        other => other.replace('_', " "),
    }
}

/// A size of a shape with the unit that it is shown in.
fn sized(what: &str, value: f64) -> String {
    let unit = match what {
        "sweep" => "deg",
        "sides" | "points" | "lobes" => "",
        _ => "mm",
    };
    format!("{}{unit}", plain(value, 3))
}

/// A combination that leaves nothing.
pub fn nothing_left(combining: Combining, left: Span, right: Span) -> Diagnostic {
    let (message, help) = match combining {
        Combining::Less => {
            ("nothing is left of this region: all of it is taken out", "make the second region smaller, or move it")
        }
        _ => ("these two regions have nothing in common", "move one of them so that they overlap"),
    };
    Diagnostic::error(Finding::EmptyRegion, message)
        .label(left, "the first region")
        .label(right, "the second region")
        .help(help)
}

/// An offset that leaves nothing.
pub fn vanished(placing: Placing, by: f64, subject: Span, argument: Span) -> Diagnostic {
    let verb = match placing {
        Placing::Rounded => "rounding by",
        Placing::Outset => "an outset of",
        _ => "an inset of",
    };
    Diagnostic::error(Finding::EmptyRegion, format!("{verb} {}mm leaves nothing of this region", plain(by, 3)))
        .label(argument, "too much")
        .label(subject, "the region")
        .help("write a smaller distance")
}

/// A param outside its bounds.
pub fn param_out_of_range(name: &str, found: &str, bounds: &str, span: Span, declared: Span) -> Diagnostic {
    Diagnostic::error(Finding::ParamOutOfRange, format!("`{name}` may be {bounds}, not {found}"))
        .label(span, format!("this is {found}"))
        .label(declared, "its bounds are declared here")
        .help("choose a value within its bounds, or widen them after `from`")
}

/// A setting for something that is no param.
pub fn unknown_setting(name: &str, nearest: Option<&str>, known: &[&str]) -> Diagnostic {
    let help = match nearest {
        Some(nearest) => format!("did you mean `{nearest}`?"),
        None if known.is_empty() => "this file has no params; add one with `param NAME: length = 58mm`".to_owned(),
        None => format!("its params are {}", listed(known.iter().copied(), "and")),
    };
    Diagnostic::error(Finding::UnknownSetting, format!("there is no param called `{name}` to set")).help(help)
}

/// What a dial must have so that a measure of it can be taken.
fn needed_by(measure: &str) -> &'static str {
    match measure {
        "web" => "a window, hole or pocket in the layer",
        "floor_left" => "a pocket in the layer that does not go through",
        "shows" => "a `reads` that names the opening",
        "margin" | "angular_slack" | "centring_slack" | "sure" => "a `reads` that names the ring",
        "reading_angle" | "reads_from" => {
            "a `reads` that names the ring, with its distance: `reads crew through peep from 60cm`"
        }
        "overhang" => "a turn",
        "clearance" | "largest_scale" => "a `slot`",
        "gravity_torque" | "mass" | "play" => "a layer that turns",
        "stays" | "knock_to_turn" => "a layer that turns on magnets and is out of balance",
        "pull_out" | "glue_holds" => "the `strength` of the adhesive",
        "click_torque" | "false_clicks" => "`clicks` in the turn",
        "stack_pull" => "magnets on the axis",
        "engraving_depth" => "an engraving in the layer",
        "turning_torque" | "lift_off" | "friction_torque" | "thumb_force" | "knock_to_part" | "magnet_gap"
        | "centring_stiffness" | "flux_index" => "a layer that turns on magnets",
        _ => "the layer, ring or opening in the stack",
    }
}

/// A measure that cannot be told.
pub fn cannot_measure(measure: &str, subject: Option<&str>, span: Span) -> Diagnostic {
    let call = format!("{measure}({})", subject.unwrap_or_default());
    Diagnostic::warning(
        Finding::CannotMeasure,
        format!("`{call}` cannot be measured on this dial, so this expectation is not tested"),
    )
    .label(span, "no value")
    .help(format!("it needs {}: add that, or take the expectation out", needed_by(measure)))
}

/// A file that cannot be had.
pub fn cannot_read(name: &str, problem: &ReadProblem, span: Span) -> Diagnostic {
    let mib = |bytes: u64| format!("{} MiB", bytes.div_ceil(1024 * 1024));
    match problem {
        ReadProblem::Missing => {
            Diagnostic::error(Finding::MissingFile, format!("there is no file `{name}` beside this one"))
                .label(span, "not found")
                .help("check the name, its capitals and the folder; names are relative to the file that they stand in")
        }
        ReadProblem::TooLarge { bytes, limit } => Diagnostic::error(
            Finding::FileTooLarge,
            format!("`{name}` has {}, and {} are allowed", mib(*bytes), mib(*limit as u64)),
        )
        .label(span, "too large")
        .help("check that it is the right file; a drawing can often be simplified before it is saved"),
        ReadProblem::Outside => outside_folder(name, span),
        ReadProblem::Other(words) => {
            Diagnostic::error(Finding::MissingFile, format!("`{name}` cannot be read: {words}"))
                .label(span, "this file")
                .help("check that it is a file and that you may read it")
        }
    }
}

/// A file outside the design's folder.
pub fn outside_folder(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::OutsideFolder, format!("`{name}` lies outside the folder of the design"))
        .label(span, "not allowed")
        .help("copy it beside the design, so that the folder holds all that the dial needs")
}

/// A shared file that is no text.
pub fn not_text(name: &str, line: usize, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NotText, format!("`{name}` is not UTF-8 text: line {line} holds other bytes"))
        .label(span, "this file")
        .help("save it as UTF-8 in your editor")
}

/// Files that share one another.
pub fn circular_with(path: &[String], name: &str, span: Span) -> Diagnostic {
    let steps: Vec<String> = path.iter().skip_while(|step| *step != name).map(|step| format!("`{step}`")).collect();
    let message = match steps.as_slice() {
        [first, between @ ..] if !between.is_empty() => {
            format!("{first} shares {}, which shares {first} again", between.join(", which shares "))
        }
        _ => format!("`{name}` shares itself"),
    };
    Diagnostic::error(Finding::CircularWith, message)
        .label(span, "back to the start")
        .help("take this line out; a name shared once is known everywhere")
}

/// Shared files nested too deep.
pub fn with_too_deep(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::WithTooDeep, format!("shared files are nested more than {} deep", limits::WITH_DEPTH))
        .label(span, "one too many")
        .help("name the files in the design itself")
}

/// Artwork that cannot be taken.
pub fn bad_artwork(name: &str, error: &ArtError, span: Span, part: Option<Span>) -> Diagnostic {
    let bad = |why: &str| {
        Diagnostic::error(Finding::BadArtwork, format!("`{name}` cannot be used as artwork: {why}"))
            .label(span, "this file")
            .help("save it as a plain SVG of filled shapes, or as a PNG picture")
    };
    match error {
        ArtError::NoSuchPart { part: wanted, parts } => {
            let diagnostic = Diagnostic::error(Finding::UnknownPart, format!("`{name}` has no part called `{wanted}`"))
                .label(part.unwrap_or(span), "no element has this id");
            match suggest::nearest(wanted, parts.iter().map(String::as_str)) {
                Some(nearest) => diagnostic.help(format!("did you mean `\"{nearest}\"`?")),
                None if parts.is_empty() => {
                    diagnostic.help("no element of the drawing has an id; give them one in your drawing program")
                }
                None => diagnostic
                    .help(format!("its parts are {}", listed(parts.iter().take(12).map(String::as_str), "and"))),
            }
        }
        ArtError::TooLarge { bytes } => {
            cannot_read(name, &ReadProblem::TooLarge { bytes: *bytes as u64, limit: limits::ART_BYTES }, span)
        }
        ArtError::Unreadable { why } => bad(why),
        ArtError::Nothing { dropped } => {
            let diagnostic = Diagnostic::error(
                Finding::EmptyRegion,
                format!("there is nothing dark to burn in this part of `{name}`"),
            )
            .label(span, "empty");
            match dropped.as_slice() {
                [] => diagnostic.help("fill the shapes with black; white and light fills count as bare wood"),
                some => {
                    let left = Dropped::told(some).join("; ");
                    diagnostic.help(format!("this was left out because it cannot be burnt: {left}"))
                }
            }
        }
        ArtError::TooManyPixels { width, height } => artwork::too_many_pixels(name, *width, *height, span),
        ArtError::OneTone { tone } => artwork::one_tone(name, *tone, span),
        ArtError::NoSuchTone { tone, tones } => artwork::no_such_tone(name, *tone, tones, span),
        ArtError::OtherKind { what } => artwork::other_kind(name, what, span),
        ArtError::TooMuch => too_many_segments(limits::SEGMENTS + 1, span),
        ArtError::Geometry(error) => bad_shape(*error, span),
    }
}

/// Artwork of which something was left out.
pub fn art_dropped(name: &str, dropped: &[Dropped], span: Span) -> Diagnostic {
    Diagnostic::warning(
        Finding::ArtDropped,
        format!(
            "{} in `{name}` {} not taken as drawn: {}",
            counted(dropped.len(), "thing"),
            if dropped.len() == 1 { "is" } else { "are" },
            Dropped::told(dropped).join("; ")
        ),
    )
    .label(span, "this artwork")
    .help(format!(
        "{} in your drawing program; `dialwright explain art-dropped` says what becomes of each",
        if dropped.iter().any(|one| one.what.is_style()) {
            "save it as plain SVG with its styles as attributes, or turn these into plain filled shapes"
        } else {
            "turn these into plain filled shapes"
        }
    ))
}
