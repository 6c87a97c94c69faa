//! How the cards are cut and read, on paper: one HTML page without scripts.

use maud::{DOCTYPE, Markup, html};

use super::{Card, Row, Subject, drawing_name};
use crate::output::markup::{Pictures, head};
use crate::plan::{CAUTIONS, Caution, MAGNETS};

const STYLE: &str = include_str!("../output/run_sheet/style.css");

/// What each kind of card is for and how it is read; a card belongs to the first whose word its name begins with.
const KINDS: [(&str, &str); 5] = [
    (
        "kerf",
        "Cut with the power and speed that you cut this stock with. Lift the strips out and keep them in order. Measure the \
         opening from end to end across the cuts, then all strips pushed together: the kerf is what is missing between the \
         two, shared out among the cuts.",
    ),
    (
        "depth",
        "Each pocket is burnt as many times over as the number below its column says, always with the same settings. Brush the \
         char out, then measure from the face to the floor. Where a pocket burnt through, take its row out.",
    ),
    (
        "magnet",
        "Try a magnet in every pocket, from the widest down. Read the number of the narrowest one that it drops into without \
         force. A calliper of steel pulls at magnets: use one of plastic, or lay paper between.",
    ),
    (
        "tone",
        "Engrave each patch with the settings that you mean by its tone; 100 is as dark as you go. In a scored box, finish the \
         wood as its name says. Look at it in the light that the dial will be read in.",
    ),
    (
        "fine",
        "Read the number of the finest stroke that is whole from end to end, and of the finest gap that is open from end to \
         end, upright and level.",
    ),
];

/// The page; `boards` drawings are shown.
pub(super) fn page(subject: &Subject<'_>, cards: &[Card], rows: &[Row], boards: usize) -> String {
    let title = format!("Measuring {}", subject.stock.name);
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            (head(&title, STYLE, Pictures::Beside))
            body {
                header {
                    h1 { (title) }
                    p { "Cards to cut from one kind of stock and to measure, so that the shop file says what your machine does "
                        "and not what is usual." }
                }
                main {
                    (cautions(subject))
                    (to_cut(boards))
                    (to_read(cards))
                    (readings(rows))
                    (afterwards())
                }
            }
        }
    };
    format!("{}\n", page.into_string())
}

fn cautions(subject: &Subject<'_>) -> Markup {
    let magnets = (!subject.magnets.is_empty()).then_some(MAGNETS);
    let all: Vec<Caution> = CAUTIONS.into_iter().chain(magnets).collect();
    html! {
        section.cautions {
            h2 { "Before anything else" }
            ul { @for caution in all { li { (caution.text) " " small { "(" (caution.source) ")" } } } }
        }
    }
}

fn to_cut(boards: usize) -> Markup {
    html! {
        section {
            h2 { "Cut" }
            div.setup {
                @for board in 0..boards { img src=(drawing_name(board)) alt={ "Board " (board + 1) " with its cards" }; }
                ol {
                    li { span.box { } "Read the thickness of the board at five places first: afterwards it is in pieces." }
                    li { span.box { } "Open the drawing in your machine's program in true size. Switch off its own kerf "
                        "compensation: every line is to be cut where it is drawn." }
                    li { span.box { } "Give each group its own settings. A group " code { "pocket-3" } " is burnt three times over; "
                        "set that as its number of passes." }
                    li { span.box { } "Engrave, score, sink the pockets, cut strips and openings, and cut the cards out last." }
                    li { span.box { } "Let the board cool, and take the cards and strips out." }
                }
            }
        }
    }
}

fn to_read(cards: &[Card]) -> Markup {
    html! {
        section {
            h2 { "Measure" }
            ul {
                @for (kind, words) in KINDS {
                    @let names: Vec<&str> = cards.iter().map(|card| card.name.as_str()).filter(|name| name.starts_with(kind)).collect();
                    @if !names.is_empty() { li { strong { (names.join(", ")) } ". " (words) } }
                }
            }
        }
    }
}

fn readings(rows: &[Row]) -> Markup {
    html! {
        section {
            h2 { "Readings" }
            p { "Write them here or straight into " code { "readings.csv" } ", with a point before the decimals. A row that could "
                "not be read is taken out; a row may be copied where a thing is read again." }
            table {
                thead { tr { th { "Thing" } th { "Which" } th { "At" } th { "Reading" } th { "How" } } }
                tbody {
                    @for row in rows {
                        tr {
                            td { (row.thing.word()) } td { (row.which) } td.figure { @if let Some(at) = row.at { (at) } }
                            td.figure { @if row.reading.is_empty() { "________\u{a0}" } @else { (row.reading) "\u{a0}" } (row.unit) }
                            td { (row.how) }
                        }
                    }
                }
            }
        }
    }
}

fn afterwards() -> Markup {
    html! {
        section {
            h2 { "Then" }
            p { code { "dialwright coupon --read readings.csv" } " shows what the readings tell, each figure with its 95 % "
                "interval, as a block for the shop file. Readings that stand out are refused with the reason: measure them again." }
        }
    }
}
