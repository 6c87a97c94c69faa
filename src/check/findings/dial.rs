//! Findings about how the dial is put together: items, layers, stack, rings, readings, family.

use std::collections::BTreeSet;

use crate::check::assemble::Likely;
use crate::design::{Magnet, Tone, Wait, hex};
use crate::diagnostics::{Diagnostic, Finding, listed, suggest};
use crate::source::Span;
use crate::syntax::tree::Name;
use crate::units::{Angle, Length, Quantity, plain};

/// When a stain goes on that is not there.
pub fn stained_without_stain(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::MissingField, "`stained` says when the stain goes on, but there is none")
        .label(span, "of no use alone")
        .help("say its colour with `stain #6b4423`, or take this out")
}

/// A figure that hardly anything has.
pub(crate) fn unlikely_figure(likely: &Likely, of: &str, value: f64, span: Span) -> Diagnostic {
    let Likely { what, range: (least, most), unit, source } = likely;
    let [value, least, most] = [value, *least, *most].map(|figure| plain(figure, if figure < 100.0 { 3 } else { 0 }));
    Diagnostic::warning(
        Finding::UnlikelyFigure,
        format!("{what} of `{of}` is {value}{unit}, and {least}{unit} to {most}{unit} is likely"),
    )
    .label(span, format!("{what} is {value}{unit}"))
    .about(of)
    .help(format!("look for a slip of the point or of the unit: {source}; where it is so, accept it with a reason"))
}

/// Readings of one thing that lie too far apart for one thing.
pub(crate) fn readings_differ(word: &str, (least, most): (Length, Length), span: Span) -> Diagnostic {
    let times = plain(most.as_mm() / least.as_mm(), 1);
    Diagnostic::warning(
        Finding::UnlikelyFigure,
        format!("the readings of `{word}` run from {least} to {most}, {times} times as much"),
    )
    .label(span, "these are to be of one thing")
    .about(word)
    .help("look for a slip of the point or of the unit, or for two digits that changed places; where it is so, accept it with a reason")
}

/// An item that may stand only once.
pub fn item_twice(word: &str, again: Span, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::ItemTwice, format!("there are two `{word}` items"))
        .label(again, "the second one")
        .label(first, "the first one")
        .help("keep one of them")
}

/// Two works that a machine which goes by colour cannot tell apart.
pub fn drawn_alike(one: &str, other: &str, colour: Tone, place: Span) -> Diagnostic {
    Diagnostic::warning(Finding::DrawnAlike, format!("`{one}` and `{other}` are both drawn in {}", hex(colour)))
        .label(place, "the same colour")
        .help("a machine that goes by colour does both alike; give each work a colour of its own")
}

/// A file without `dial "…"`.
pub fn no_title(shop: Option<Span>, start: Option<Span>) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::NoTitle, "this file does not say what dial it is");
    match (shop, start) {
        (Some(span), _) => {
            diagnostic.label(span, "this is a shop file").help("check or build a dial that shares it with `with \"…\"`")
        }
        (None, Some(start)) => diagnostic.label(start, "here").help("begin it with `dial \"Its name\"`"),
        (None, None) => diagnostic.help("begin it with `dial \"Its name\"`"),
    }
}

/// A file without layers.
pub fn no_layers(title: Option<Span>) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::NoLayers, "this dial has no layers");
    let diagnostic = match title {
        Some(span) => diagnostic.label(span, "nothing to cut"),
        None => diagnostic,
    };
    diagnostic.help("add one with `layer base of birch { … }`")
}

/// Several layers and no stack.
pub fn no_stack(last: &Name) -> Diagnostic {
    Diagnostic::error(Finding::NoStack, "this dial has several layers but no `stack` that says how they lie")
        .label(last.span, "on what does this lie?")
        .help("add `stack { base; turn on magnets(disc); cover }`, bottom layer first")
}

/// A stack with nothing in it.
pub fn empty_stack(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EmptyStack, "this stack names no layers").label(span, "empty").help(
        "name the layers from the bottom up, with what joins them: `stack { base; turn on magnets(disc); cover }`",
    )
}

/// A layer that lies in the stack twice, one of them without a name of its own.
pub fn layer_twice(name: &Name, first: Span) -> Diagnostic {
    let layer = &name.text;
    Diagnostic::error(Finding::LayerTwice, format!("layer `{layer}` lies in the stack twice"))
        .label(name.span, "again here")
        .label(first, "first here")
        .help(format!("give each copy a name of its own, as in `low = {layer}` and `high = {layer}`"))
}

/// A ring, an opening or a layer of which there are several copies, these: which is meant is not said, or is none of them.
/// `through` where it is an opening, of which one may look through all.
pub fn which_copy(name: &Name, layer: &str, of: Option<&Name>, copies: &[&str], through: bool) -> Diagnostic {
    let text = &name.text;
    let message = match of {
        Some(of) => format!("`{}` is no copy of the layer `{layer}`, which has `{text}`", of.text),
        None => {
            let known = listed(copies.iter().copied(), "and");
            format!("the layer `{layer}` lies in the stack as {known}, and it is not said which is meant")
        }
    };
    let of_each: Vec<String> = copies.iter().map(|copy| format!("{text} of {copy}")).collect();
    let first = of_each.first().map_or("", String::as_str);
    let help = match (copies.first(), of_each.as_slice()) {
        (Some(copy), _) if text == layer => format!("name the copy: `{copy}`"),
        (_, [_, _, ..]) if through => {
            format!("say of which, as in `{first}`, or of each that is looked through: `{}`", of_each.join(", "))
        }
        _ => format!("say of which, as in `{first}`"),
    };
    Diagnostic::error(Finding::WhichCopy, message).label(of.map_or(name.span, |of| of.span), "which one?").help(help)
}

/// Two layers with nothing between them.
pub fn layers_not_joined(below: &Name, above: &Name) -> Diagnostic {
    Diagnostic::error(
        Finding::LayersNotJoined,
        format!("nothing joins `{}` to `{}` on top of it", below.text, above.text),
    )
    .label(above.span, "lies loose")
    .label(below.span, "on this one")
    .help("write `glue` or `turn on magnets(…)` between them")
}

/// Two joints with no layer between them.
pub fn two_joints(again: Span, first: Span) -> Diagnostic {
    Diagnostic::error(Finding::TwoJoints, "two joints follow each other with no layer between them")
        .label(again, "the second one")
        .label(first, "the first one")
        .help("put the layer between them, or keep one of the joints")
}

/// A joint at the end of the stack.
pub fn joint_without_layer(side: &str, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::JointWithoutLayer, format!("this joint has no layer {side} it"))
        .label(span, format!("joins to nothing {side}"))
        .help(format!("name the layer that lies {side} it, or take the joint out"))
}

/// A layer that is not in the stack.
pub fn layer_not_in_stack(name: &Name, stack: Span) -> Diagnostic {
    Diagnostic::warning(
        Finding::LayerNotInStack,
        format!("layer `{}` is not in the stack, so it is not made", name.text),
    )
    .label(name.span, "unused")
    .label(stack, "the stack")
    .help("put its name into the stack, or take the layer out")
    .about(&name.text)
}

/// A layer without an outline.
pub fn no_outline(name: &Name) -> Diagnostic {
    Diagnostic::error(Finding::NoOutline, format!("layer `{}` has no outline", name.text))
        .label(name.span, "what shape is it?")
        .help("write `outline circle(diameter: 60mm)` in the layer, or once for all layers outside of them")
}

/// An outline of several pieces.
pub fn outline_in_pieces(layer: &str, pieces: usize, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::OutlineInPieces, format!("the outline of `{layer}` is {pieces} separate pieces"))
        .label(span, "falls apart")
        .help("make the pieces overlap, or give each a layer of its own")
}

/// A mark made of an empty list.
pub fn nothing_to_mark(span: Span) -> Diagnostic {
    Diagnostic::warning(Finding::NothingToMark, "this list is empty, so nothing is marked")
        .label(span, "empty")
        .help("take the mark out, or check the condition after `where`")
}

/// Paint, or print, without a colour.
pub fn no_colour(work: crate::vocabulary::works::Work, span: Span) -> Diagnostic {
    let word = work.word();
    Diagnostic::error(Finding::PaintWithoutColour, format!("this {word} has no colour"))
        .label(span, "which colour?")
        .help(format!(
            "write `colour`, as in `{word} circle(diameter: 60mm) colour #1d3b5a` or among the fields of a ring"
        ))
}

/// A pocket without a depth.
pub fn pocket_without_depth(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::PocketWithoutDepth, "this pocket does not say how deep it is")
        .label(span, "how deep?")
        .help("write it behind the region: `pocket circle(diameter: 9mm) depth 1mm`, or `depth through`")
}

/// A tone outside 0 to 100 %.
pub fn bad_tone(found: Quantity, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::BadTone,
        format!("a tone is more than 0 % and at most 100 %, not {} %", crate::units::plain(found.value * 100.0, 1)),
    )
    .label(span, "no such tone")
    .help(percent_meant(found.value, "write `tone 60%`; `100%` is as dark as the stock goes"))
}

/// What to write where a percentage was given without its sign; otherwise `otherwise`.
pub(super) fn percent_meant(value: f64, otherwise: &str) -> String {
    if value > 1.0 && value <= 100.0 && value.fract() == 0.0 {
        let value = crate::units::plain(value, 0);
        format!("write `{value}%`: without its sign, `{value}` means {value} times the whole")
    } else {
        otherwise.to_owned()
    }
}

/// A reading that cannot be.
pub fn bad_reading(name: &str, value: Option<Length>, span: Span) -> Diagnostic {
    let message = match value {
        Some(value) => format!("`{name}` cannot be {value}"),
        None => format!("`{name}` has no readings"),
    };
    Diagnostic::error(Finding::BadReading, message)
        .label(span, "not a measurement")
        .help("write what was measured, above zero: one value or a list of readings")
}

/// A tilt test that cannot be.
pub fn bad_tilt(angle: Angle, span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BadReading, format!("a piece cannot begin to slide at a tilt of {angle}"))
        .label(span, "not a measurement")
        .help("lay one piece on another, tilt them until the upper one slides, and write the angles from level, above 0deg and at most 85deg")
}

/// A stock that holds chlorine.
pub fn chlorine_in_stock(stock: &str, material: &str, span: Span) -> Diagnostic {
    let message = format!(
        "stock `{stock}` must not be cut: `{material}` holds chlorine, or may, and gives off hydrogen chloride under a laser"
    );
    Diagnostic::error(Finding::ChlorineInStock, message).label(span, "never under a laser").about(stock).help(
        "take another material, and where you are not sure of one, ask its maker and whoever looks after safety in \
             your shop (MIT EHS, Laser Cutter Safety; UW-Madison EHS); local rules come first",
    )
}

/// A material that the language does not know.
pub fn unknown_material(stock: &str, material: &str, nearest: Option<&str>, span: Span) -> Diagnostic {
    let found = Diagnostic::warning(
        Finding::UnknownMaterial,
        format!("it is not known what `{material}`, of stock `{stock}`, gives off under a laser"),
    )
    .label(span, "not among the materials known")
    .about(stock);
    match nearest {
        Some(nearest) => found.help(format!("did you mean `{nearest}`? Else ask its maker for the safety data sheet")),
        None => found.help(
            "read the machine's manual and ask the material's maker for the safety data sheet; when you know, \
             `accept unknown-material` with your reason",
        ),
    }
}

/// Pass depths that do not rise.
pub fn passes_not_rising(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::BadReading, "every pass must go deeper than the one before")
        .label(span, "does not rise")
        .help("list the depth after 1, 2, 3 … passes, as measured from the face")
}

/// Glue without an adhesive to use.
pub fn no_adhesive(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::NoAdhesive, "the shop has no adhesive to glue with")
        .label(span, "with what?")
        .help("add one to the shop: `adhesive pva { cure 24h }`")
}

/// Magnets of a turn given a radius.
pub fn magnets_off_axis(span: Span) -> Diagnostic {
    Diagnostic::warning(Finding::MagnetsOffAxis, "the magnets of a turn sit on the axis, so their radius is not used")
        .label(span, "a radius is given")
        .help("for magnets away from the axis write `clicks magnets(tiny, radius: 15mm)` among the turn's fields")
}

/// An empty list of stops.
pub fn no_stops(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::StopsUnknown, "this list of stops is empty")
        .label(span, "no stops")
        .help("write how many stops there are, or their bearings: `stops [0deg, 40deg, 130deg]`")
}

/// A list of stops with one bearing in it twice.
pub fn stop_twice(one: usize, other: usize, span: Span) -> Diagnostic {
    let message = format!("stops {} and {} of this list are one and the same place", one + 1, other + 1);
    Diagnostic::warning(Finding::StopTwice, message)
        .label(span, "one bearing twice")
        .help("take one of them out, or give it the bearing that it was meant to have")
}

/// A turn whose stops cannot be told, which is written so.
pub fn stops_unknown(span: Span, written: &str) -> Diagnostic {
    Diagnostic::error(
        Finding::StopsUnknown,
        "it cannot be told how many stops this turn has: nothing is read across it",
    )
    .label(span, "how many stops?")
    .help(format!("write `{written} {{ stops 6 }}`, or say what is read with `reads RING through OPENING`"))
}

/// A layer named by a turn that is not in the stack.
pub fn not_in_stack(name: &str, span: Option<Span>) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::NotInStack, format!("layer `{name}` is not in the stack"));
    let diagnostic = match span {
        Some(span) => diagnostic.label(span, "not in the stack"),
        None => diagnostic,
    };
    diagnostic.help("name a layer of the stack")
}

/// A magnet's seat on the wrong half.
pub fn seat_on_other_half(name: &str, upper: bool, span: Option<Span>) -> Diagnostic {
    let (half, place) = if upper { ("upper", "above") } else { ("lower", "below") };
    let diagnostic = Diagnostic::error(
        Finding::SeatOnOtherHalf,
        format!("layer `{name}` is not glued to the {half} half of this turn, so its magnet cannot sit there"),
    );
    let diagnostic = match span {
        Some(span) => diagnostic.label(span, format!("not part of the {half} half")),
        None => diagnostic,
    };
    diagnostic.help(format!("name a layer {place} the turn with nothing but glue between"))
}

/// Click stops of something else than magnets.
pub fn clicks_want_magnets(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ClicksForm, "click stops are made of magnets")
        .label(span, "not magnets")
        .help("write `clicks magnets(tiny, radius: 15mm)`")
}

/// Click magnets of two kinds.
pub fn clicks_of_two_kinds(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ClicksForm, "click stops are made of one kind of magnet on both sides")
        .label(span, "two kinds")
        .help("write `clicks magnets(tiny, radius: 15mm)`")
}

/// Click stops without a radius.
pub fn clicks_without_radius(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::ClicksForm, "these click magnets do not say how far from the axis they sit")
        .label(span, "at which radius?")
        .help("write `clicks magnets(tiny, radius: 15mm)`")
}

/// Click magnets that overlap.
pub fn clicks_overlap(magnet: &Magnet, apart: Length, stops: usize, span: Span) -> Diagnostic {
    Diagnostic::error(
        Finding::ClicksForm,
        format!(
            "{} click magnets stand only {apart} apart and their pockets are {} wide",
            stops,
            magnet.diameter + magnet.clearance
        ),
    )
    .label(span, "they overlap")
    .help("write a larger radius, fewer stops or a smaller magnet")
}

/// A name in `accept` that is no finding.
pub fn unknown_finding(name: &Name) -> Diagnostic {
    let diagnostic = Diagnostic::error(Finding::UnknownFinding, format!("there is no finding called `{}`", name.text))
        .label(name.span, "nothing to accept");
    match suggest::nearest(&name.text, Finding::ALL.iter().map(|finding| finding.name())) {
        Some(nearest) => diagnostic.help(format!("did you mean `{nearest}`?")).mend(name.span, nearest),
        None => diagnostic.help("copy the name from the finding's first line"),
    }
}

/// An `accept` that covers nothing.
pub fn accepts_nothing(finding: &str, on: Option<&str>, error: bool, span: Span) -> Diagnostic {
    let about = on.map(|name| format!(" on `{name}`")).unwrap_or_default();
    if error {
        let message = format!("`{finding}`{about} is an error here, and errors cannot be accepted");
        return Diagnostic::advice(Finding::AcceptsNothing, message)
            .label(span, "accepts nothing")
            .help("mend the error, then take this line out");
    }
    Diagnostic::advice(Finding::AcceptsNothing, format!("no finding `{finding}`{about} is left to accept"))
        .label(span, "not needed any more")
        .help("take this line out")
}

/// Too many variants.
pub fn too_many_variants(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::TooMany, format!("this family has more than {} variants", crate::limits::VARIANTS))
        .label(span, "multiplied up to here")
        .help("shorten the lists, or let params walk together: `each a, b in [[…], […]]`")
}

/// Two variants of one name.
pub fn variant_twice(name: &str, again: Span, first: Span) -> Diagnostic {
    let found = Diagnostic::error(Finding::VariantTwice, format!("two variants are called `{name}`"));
    if again == first {
        return found
            .label(again, "gives that name twice")
            .help("the lists after `each` give every combination once: take out the value that stands there twice");
    }
    found
        .label(again, "the second one")
        .label(first, "the first one")
        .help("give one of them another name, or other values")
}

/// A family with nothing in it.
pub fn empty_family(span: Span) -> Diagnostic {
    Diagnostic::error(Finding::EmptyFamily, "this family has no variants")
        .label(span, "empty")
        .help("add `variant small { across = 46mm }` or `each across in [46mm, 58mm]`, or leave less out")
}

/// A variant that the family does not have.
pub fn unknown_variant(name: &str, known: &[&str]) -> Diagnostic {
    let help = match (suggest::nearest(name, known.iter().copied()), known) {
        (Some(nearest), _) => format!("did you mean `{nearest}`?"),
        (None, []) => "this file has no family".to_owned(),
        (None, some) => format!("its variants are {}", listed(some.iter().copied(), "and")),
    };
    Diagnostic::error(Finding::UnknownVariant, format!("there is no variant called `{name}`")).help(help)
}

/// An expectation that does not hold.
pub fn not_as_expected(values: &str, note: Option<&str>, span: Span, parts: &[(Span, String)]) -> Diagnostic {
    let why = note.map(|note| format!(" ({note})")).unwrap_or_default();
    let diagnostic =
        Diagnostic::warning(Finding::NotAsExpected, format!("this expectation does not hold{why}: {values}"))
            .label(span, "expected here");
    parts
        .iter()
        .fold(diagnostic, |all, (span, value)| all.label(*span, format!("is {value}")))
        .help("change the design until it holds, or the expectation if it asks too much")
}

/// Figures that nobody measured.
pub fn nominal_figures<'a>(names: impl IntoIterator<Item = &'a str>) -> Diagnostic {
    Diagnostic::advice(
        Finding::NominalFigures,
        format!("the figures of {} are nominal, not measured, and all results rest on them", listed(names, "and")),
    )
    .help("measure your own boards and magnets, write them into a shop file, and share it: `with \"shop.dial\"`")
}

/// Pockets in stocks of which no pass was measured.
pub fn nominal_depths<'a>(stocks: impl IntoIterator<Item = &'a str>, at: impl IntoIterator<Item = Span>) -> Diagnostic {
    let message = format!(
        "the depths of pockets in {} are nominal, for no `passes` are stated, and so is what rests on them",
        listed(stocks, "and")
    );
    let found = Diagnostic::advice(Finding::NominalFigures, message)
        .help("measure how deep each pass goes with `dialwright coupon`, and write that into the stock as `passes`");
    let places: BTreeSet<Span> = at.into_iter().collect();
    places.into_iter().fold(found, |found, at| found.label(at, "has no `passes`"))
}

/// A tick across the rim where there is none.
pub fn witness_misses(layer: &str, bearing: Angle, span: Span) -> Diagnostic {
    let message =
        format!("nothing of layer `{layer}` lies at bearing {bearing}, so no tick can stand on its rim there");
    Diagnostic::error(Finding::WitnessOfNoUse, message)
        .about(layer)
        .label(span, "misses it")
        .help("choose a bearing at which the way out from the turning axis meets the outline")
}

/// Work that waits for itself, by way of what it waits for.
pub fn waits_in_a_circle(layer: &str, wait: &Wait) -> Diagnostic {
    let what = wait.name.as_ref().map_or_else(|| "this work".to_owned(), |name| format!("`{name}`"));
    Diagnostic::error(
        Finding::WorkOutOfOrder,
        format!("{what} of layer `{layer}` comes after `{}`, which in turn waits in a circle", wait.after),
    )
    .about(layer)
    .label(wait.origin, "never comes about")
    .help("take one `after` of the circle out")
}
