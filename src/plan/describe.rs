//! What the person is told, in plain words.

use super::layer_plan::LayerPlan;
use super::model::{LaidInto, PlacedPart, Print, Turned, TurnedPart};
use crate::design::{Face, Ink, Layer, Mark, Stock, Work, hex};
use crate::units::plain;

type Parts<'a> = [(PlacedPart, &'a LayerPlan<'a>)];

/// How the board is laid on the machine.
pub(super) fn registers((turned, setup): (&Turned, usize), stock: &Stock, print: Option<&Print>) -> String {
    if let Some(print) = print {
        match turned {
            Turned::AsLaid => {
                return format!("{} {}", printed_first(print, stock), by_crosses(print.crosses, "print", "left"));
            }
            Turned::BoardOver if setup.is_multiple_of(2) => return by_crosses(print.crosses, "print", "left"),
            Turned::BoardOver => {
                let seen = print.crosses.map(|at| kurbo::Point::new(stock.board.0.as_mm() - at.x, at.y));
                return by_crosses(seen, "print-under", "right");
            }
            Turned::PartsOver(_) => {}
        }
    }
    match turned {
        Turned::AsLaid => {
            let (width, height) = (stock.board.0, stock.board.1);
            let grain = stock.grain.map_or_else(String::new, |grain| format!(", its grain running at bearing {grain}"));
            format!(
                "Lay the board of `{}`, {width} by {height}, flat and square with its lower left corner at the \
                 machine's zero, and fix a stop along its left edge and one along its lower edge{grain}.",
                stock.name
            )
        }
        Turned::PartsOver(_) => "The board has not been moved since the setup before.".to_owned(),
        Turned::BoardOver => "The turned board lies against the same two stops.".to_owned(),
    }
}

/// How a printed sheet is laid, and what the machine is lined up with.
fn by_crosses(crosses: [kurbo::Point; 4], file: &str, ringed: &str) -> String {
    let middles = crosses.map(|at| format!("({}mm, {}mm)", plain(at.x, 2), plain(at.y, 2))).join(", ");
    format!(
        "Lay the sheet flat with the face of `{file}` up, its ringed cross at the lower {ringed}, and line the machine up with the \
         middles of the crosses, not with the edges of the sheet: they are at {middles} from the machine's zero."
    )
}

/// What is printed before anything is cut, and how.
fn printed_first(print: &Print, stock: &Stock) -> String {
    let (width, height) = stock.board;
    let [lower_left, lower_right, _, upper_left] = print.crosses;
    let [across, along] = [lower_left.distance(lower_right), lower_left.distance(upper_left)].map(|it| plain(it, 2));
    let under = if print.is_two_sided() {
        " Turn it over as one turns a page and print `print-under` on its other face: there the ringed cross stands at the lower right, \
         behind the one that is ringed on the first face."
    } else {
        ""
    };
    format!(
        "First print the sheet of `{}`, {width} by {height}, from `print` of this board at its true size, at 100 % and not fitted to the \
         page; from cross to cross it must measure {across}mm across and {along}mm along.{under}",
        stock.name
    )
}

/// Lift out, turn over, lay back.
pub(super) fn turn_parts(parts: &Parts<'_>, over: &[TurnedPart]) -> String {
    let up = |it: &TurnedPart| {
        let part = parts.iter().find(|(part, _)| part.name == it.part);
        face_name(part.and_then(|(part, _)| part.lies.last()).map_or(Face::Back, |lie| lie.up))
    };
    let mut ways: Vec<(i64, LaidInto, &str, Vec<&TurnedPart>)> = Vec::new();
    for it in over {
        #[allow(clippy::cast_possible_truncation, reason = "a bearing in thousandths of a degree")]
        let about = (it.about.as_degrees() * 1000.0).round() as i64;
        match ways.iter_mut().find(|way| way.0 == about && way.1 == it.into && way.2 == up(it)) {
            Some(way) => way.3.push(it),
            None => ways.push((about, it.into, up(it), vec![it])),
        }
    }
    let sentences = ways.iter().filter_map(|(_, into, up, over)| {
        let about = over.first()?.about.as_degrees();
        let named = |part: &&PlacedPart| over.iter().any(|it| it.part == part.name);
        let names = part_names(parts.iter().map(|(part, _)| part).filter(named));
        let each = if over.len() == 1 { "it" } else { "each" };
        let line = line(about);
        Some(match into {
            LaidInto::OwnOpening => format!(
                "Lift out {names}, turn {each} over about {line}, and lay {each} back into its own opening, {up} up."
            ),
            LaidInto::Holder => format!(
                "Lift out {names}, turn {each} over about {line} as one turns a page, and lay {each} into the \
                 mirrored opening beside its own, {up} up; the piece cut from there is waste."
            ),
        })
    });
    let mut sentences: Vec<String> = sentences.collect();
    let ticked = |part: &&PlacedPart| {
        let has_ticks = |(one, plan): &(PlacedPart, &LayerPlan<'_>)| one.name == part.name && !plan.witness.is_empty();
        over.iter().any(|it| it.part == part.name) && parts.iter().any(has_ticks)
    };
    let ticked: Vec<&PlacedPart> = parts.iter().map(|(part, _)| part).filter(ticked).collect();
    if !ticked.is_empty() {
        let names = part_names(ticked.iter().copied());
        sentences.push(format!(
            "Before lifting out {names}, carry the tick at the rim over the edge with a pencil; laid back, it points to a tick in the waste."
        ));
    }
    sentences.push("Leave the board and every other part where they are.".to_owned());
    // One sentence for all parts, with the loosest of them: what is to be reckoned with is the worst.
    let loosest = over.iter().map(|it| it.play).reduce(|a, b| if b.shift.as_mm() > a.shift.as_mm() { b } else { a });
    sentences.extend(loosest.map(|play| {
        let shift = plain(play.shift.as_mm(), 3);
        let turn = match play.turn {
            Some(turn) => format!("may lie up to {shift}mm off its place and {}deg askew", plain(turn.as_degrees(), 2)),
            None if !ticked.is_empty() => {
                format!("may lie up to {shift}mm off its place, and nothing but its tick keeps it from turning")
            }
            None => format!("may lie up to {shift}mm off its place, and nothing but a mark keeps it from turning"),
        };
        format!("In the opening, wider by the kerf, a turned part {turn}.")
    }));
    sentences.join(" ")
}

fn line(bearing: f64) -> String {
    let named = match plain(bearing, 3).as_str() {
        "0" => "upright ",
        "90" => "level ",
        _ => "",
    };
    format!("its {named}axis (bearing {}deg on the board)", plain(bearing, 3))
}

/// Turn the board over.
pub(super) fn turn_board(stock: &Stock) -> String {
    let width = stock.board.0;
    format!(
        "Turn the whole board over about its vertical middle line, left to right, as one turns a page: the lower \
         edge stays against its stop, and the edge that lay on the right now lies against the left stop. The back's \
         places reckon with a board exactly {width} wide; measure it, and where it differs move the work by the \
         difference."
    )
}

/// Paint and ink, done by hand when the machine has finished.
pub(super) fn by_hand(parts: &Parts<'_>) -> Vec<String> {
    let mut layers: Vec<(usize, &Layer)> = Vec::new();
    for (_, plan) in parts {
        if !layers.iter().any(|(design, layer)| *design == plan.design && layer.name == plan.layer.name) {
            layers.push((plan.design, plan.layer));
        }
    }
    layers.sort_by_key(|(design, layer)| (*design, layer.origin));
    let sentences = layers.into_iter().flat_map(|(design, layer)| {
        let is_of = |part: &&PlacedPart| part.design == design && part.layer == layer.name;
        let names = part_names(parts.iter().map(|(part, _)| part).filter(is_of));
        let finished = finished(layer, &names);
        let rings = layer.rings.iter().flat_map({
            let names = names.clone();
            // What is printed is there before anything is cut.
            move |ring| {
                if ring.is_printed() {
                    return Vec::new();
                }
                let filled = |(ink, labels): (&Ink, Vec<&str>)| filled(&ring.called(&labels), ring.face, &names, ink);
                ring.inks().into_iter().map(filled).collect::<Vec<_>>()
            }
        });
        let marks = layer.marks.iter().filter_map(move |mark| describe_mark(mark, layer, &names));
        finished.into_iter().chain(rings).chain(marks)
    });
    sentences.collect()
}

fn describe_mark(mark: &Mark, layer: &Layer, parts: &str) -> Option<String> {
    let face = face_name(mark.face);
    match &mark.work {
        Work::Paint { colour } => {
            let bare = bare(layer, mark.face);
            Some(format!("Paint the {face} of {parts} with {}{bare}.", hex(*colour)))
        }
        Work::Engrave { ink: Some(ink), .. } => {
            let what = mark.name.as_ref().map_or_else(|| "the engraving".to_owned(), |name| format!("`{name}`"));
            Some(filled(&what, mark.face, parts, ink))
        }
        _ => None,
    }
}

fn filled(what: &str, face: Face, parts: &str, ink: &Ink) -> String {
    let colour = ink.colour.map(|colour| format!(" ({})", hex(colour))).unwrap_or_default();
    format!("Fill {what} on the {} of {parts} with {}{colour}.", face_name(face), ink.name)
}

/// Stain that goes on after cutting, then the fill of engravings.
fn finished(layer: &Layer, parts: &str) -> Vec<String> {
    let Some(finish) = &layer.finish else { return Vec::new() };
    let stain = finish.stain.filter(|_| finish.after);
    let stain = stain.map(|stain| format!("Stain {parts} with {} and let it dry.", hex(stain)));
    let fill = finish.fill.map(|fill| format!("Fill the engravings of {parts} with {}.", hex(fill)));
    stain.into_iter().chain(fill).collect()
}

/// Stain that goes on before anything is cut.
pub(super) fn stained_before(parts: &Parts<'_>) -> Vec<String> {
    let mut sentences: Vec<String> = Vec::new();
    for (_, plan) in parts {
        let finish = plan.layer.finish.as_ref().filter(|finish| !finish.after);
        let Some(stain) = finish.and_then(|finish| finish.stain) else { continue };
        let layer = &plan.layer.name;
        let sentence = format!(
            "Before this setup, stain the board with {} where the parts of `{layer}` will lie, and let it dry.",
            hex(stain)
        );
        if !sentences.contains(&sentence) {
            sentences.push(sentence);
        }
    }
    sentences
}

fn bare(layer: &Layer, face: Face) -> String {
    let marks: Vec<&Mark> = layer.marks.iter().filter(|it| it.work == Work::Bare && it.face == face).collect();
    let names: Vec<String> = marks.iter().filter_map(|it| it.name.as_ref()).map(|name| format!("`{name}`")).collect();
    match (marks.len(), names.is_empty()) {
        (0, _) => String::new(),
        (1, true) => ", leaving the bare patch open".to_owned(),
        (_, true) => ", leaving the bare patches open".to_owned(),
        _ => format!(", leaving {} open", names.join(", ")),
    }
}

/// What a face is called in every output.
pub fn face_name(face: Face) -> &'static str {
    face.word()
}

/// `cover-1 to cover-8, base-2`: neighbours in a row of numbers are drawn together.
pub(crate) fn part_names<'a>(parts: impl Iterator<Item = &'a PlacedPart>) -> String {
    let mut parts: Vec<&PlacedPart> = parts.collect();
    parts.sort_by(|a, b| a.design.cmp(&b.design).then(a.layer.cmp(&b.layer)).then(a.dial.cmp(&b.dial)));
    let mut runs: Vec<(&PlacedPart, &PlacedPart)> = Vec::new();
    for part in parts {
        match runs.last_mut() {
            Some((_, last)) if last.design == part.design && last.layer == part.layer && last.dial + 1 == part.dial => {
                *last = part
            }
            _ => runs.push((part, part)),
        }
    }
    let names: Vec<String> = runs
        .iter()
        .map(|(first, last)| match last.dial - first.dial {
            0 => first.name.clone(),
            1 => format!("{}, {}", first.name, last.name),
            _ => format!("{} to {}", first.name, last.name),
        })
        .collect();
    names.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(design: usize, layer: &str, dial: u32) -> PlacedPart {
        let name = format!("{}{layer}-{dial}", ["", "other."][design]);
        PlacedPart { name, design, layer: layer.to_owned(), dial, inside: None, lies: Vec::new() }
    }

    fn named(parts: &[(usize, &str, u32)]) -> String {
        let parts: Vec<PlacedPart> = parts.iter().map(|(design, layer, dial)| part(*design, layer, *dial)).collect();
        part_names(parts.iter())
    }

    #[test]
    fn neighbours_in_a_row_are_drawn_together() {
        assert_eq!(named(&[]), "");
        assert_eq!(named(&[(0, "cover", 2)]), "cover-2");
        assert_eq!(named(&[(0, "cover", 3), (0, "cover", 2)]), "cover-2, cover-3");
        assert_eq!(named(&[(0, "cover", 3), (0, "cover", 1), (0, "cover", 2)]), "cover-1 to cover-3");
        let mixed = [(0, "cover", 1), (0, "base", 2), (0, "cover", 3), (0, "base", 1), (0, "base", 3), (0, "cover", 4)];
        assert_eq!(named(&mixed), "base-1 to base-3, cover-1, cover-3, cover-4");
        // Neither layers nor designs run into one another.
        assert_eq!(named(&[(0, "base", 1), (0, "cover", 2), (1, "base", 2), (1, "base", 3), (1, "base", 4)]), {
            "base-1, cover-2, other.base-2 to other.base-4"
        });
        assert_eq!(named(&[(0, "base", 1), (1, "base", 2)]), "base-1, other.base-2");
    }

    #[test]
    fn lines_that_run_with_the_board_are_named() {
        assert_eq!(line(0.0), "its upright axis (bearing 0deg on the board)");
        assert_eq!(line(90.0), "its level axis (bearing 90deg on the board)");
        assert_eq!(line(36.0), "its axis (bearing 36deg on the board)");
    }
}
