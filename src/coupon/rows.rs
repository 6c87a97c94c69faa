//! The table of readings, as it is given out: one row a reading, most of them to be filled in.

use super::{Card, Subject, fits, strips, tones};
use crate::design::{Magnet, hex};
use crate::units::plain;

/// The columns, in order.
pub const COLUMNS: [&str; 6] = ["thing", "which", "at", "reading", "unit", "how"];

/// Places of a board where its thickness is read.
const PLACES: [&str; 5] = ["left front", "right front", "right back", "left back", "middle edge"];
/// Readings of a magnet's diameter and of its height, each of another magnet.
const MAGNETS: usize = 3;

/// What a row is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    /// The stock's name.
    Stock,
    /// What it is made of.
    Material,
    /// Width or height of a board.
    Board,
    /// Thickness of the board at one place.
    Thickness,
    /// Length of a kerf card's opening; `at` says how many cuts cross it.
    Opening,
    /// All strips of a kerf card laid together.
    Strips,
    /// Depth of a pocket on the card of pass depths; `at` says after how many passes.
    Depth,
    /// Finest stroke that burnt whole.
    Stroke,
    /// Finest gap that stayed open.
    Gap,
    /// Colour of the bare face.
    Colour,
    /// Colour of the darkest engraving.
    Engraved,
    /// Diameter of a magnet.
    Diameter,
    /// Height of a magnet.
    Height,
    /// Remanence of a magnet, as its maker states it.
    Remanence,
    /// The narrowest pocket that a magnet goes into.
    Fit,
}

/// What the reading of a row is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reads {
    /// A name or a few words.
    Words,
    /// A colour, as `#rrggbb`.
    Colour,
    /// A length above zero.
    Length,
    /// A flux density.
    FluxDensity,
}

impl Thing {
    /// All of them, in the order of the table.
    pub const ALL: [Thing; 15] = [
        Thing::Stock,
        Thing::Material,
        Thing::Board,
        Thing::Thickness,
        Thing::Opening,
        Thing::Strips,
        Thing::Depth,
        Thing::Stroke,
        Thing::Gap,
        Thing::Colour,
        Thing::Engraved,
        Thing::Diameter,
        Thing::Height,
        Thing::Remanence,
        Thing::Fit,
    ];

    /// Its word in the table.
    pub const fn word(self) -> &'static str {
        match self {
            Thing::Stock => "stock",
            Thing::Material => "material",
            Thing::Board => "board",
            Thing::Thickness => "thickness",
            Thing::Opening => "opening",
            Thing::Strips => "strips",
            Thing::Depth => "depth",
            Thing::Stroke => "stroke",
            Thing::Gap => "gap",
            Thing::Colour => "colour",
            Thing::Engraved => "engraved",
            Thing::Diameter => "diameter",
            Thing::Height => "height",
            Thing::Remanence => "remanence",
            Thing::Fit => "fit",
        }
    }

    /// What its reading is.
    pub const fn reads(self) -> Reads {
        match self {
            Thing::Stock | Thing::Material => Reads::Words,
            Thing::Colour | Thing::Engraved => Reads::Colour,
            Thing::Remanence => Reads::FluxDensity,
            _ => Reads::Length,
        }
    }
}

/// One row.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is about.
    pub thing: Thing,
    /// Which of several.
    pub which: String,
    /// Passes of a depth, cuts of an opening.
    pub at: Option<usize>,
    /// What is known beforehand; empty where it is to be read.
    pub reading: String,
    /// Unit of the reading.
    pub unit: &'static str,
    /// How it is read.
    pub how: String,
}

fn row(thing: Thing, which: &str, at: Option<usize>, how: &str) -> Row {
    let unit = match thing.reads() {
        Reads::Length => "mm",
        Reads::FluxDensity => "T",
        Reads::Words | Reads::Colour => "",
    };
    Row { thing, which: which.to_owned(), at, reading: String::new(), unit, how: how.to_owned() }
}

fn known(thing: Thing, which: &str, reading: String, how: &str) -> Row {
    Row { reading, ..row(thing, which, None, how) }
}

/// All rows for these cards.
pub fn rows(subject: &Subject<'_>, cards: &[Card]) -> Vec<Row> {
    let stock = subject.stock;
    let mut rows = vec![known(Thing::Stock, "", stock.name.clone(), "as the shop file calls it")];
    let material = stock.material.clone().map(|it| known(Thing::Material, "", it, "what it is made of"));
    rows.extend(material);
    let side = |which: &str, length: crate::units::Length| {
        known(Thing::Board, which, plain(length.as_mm(), 3), "as bought; correct it where yours differs")
    };
    rows.extend([side("width", stock.board.0), side("height", stock.board.1)]);
    rows.extend(
        PLACES.map(|place| row(Thing::Thickness, place, None, "of the board, calliper or micrometer square on it")),
    );
    for (letter, _) in strips::FRAMES.iter().filter(|(letter, _)| has(cards, &format!("kerf {letter}"))) {
        let cuts = strips::count(stock) + 1;
        let opening = "from end to end of the opening, across all cuts, with the inner jaws";
        rows.push(row(Thing::Opening, letter, Some(cuts), opening));
        rows.push(row(
            Thing::Strips,
            letter,
            None,
            "all its strips in their order, pushed together, with the outer jaws",
        ));
    }
    for passes in 1..=fits::passes(stock) {
        let how = "from the face to the floor, with the depth rod; take the row out where it burnt through";
        rows.extend(fits::REPEATS.map(|repeat| row(Thing::Depth, repeat, Some(passes), how)));
    }
    rows.extend(tones::FINE.map(|(thing, lies)| match thing {
        "stroke" => row(Thing::Stroke, lies, None, "number of the finest stroke that is whole from end to end"),
        _ => row(Thing::Gap, lies, None, "number of the finest gap that is open from end to end"),
    }));
    rows.push(known(Thing::Colour, "", hex(stock.colour), "of the bare face, from a photograph in daylight"));
    rows.push(known(
        Thing::Engraved,
        "",
        hex(stock.engraved),
        "of the patch 100 on the card tone, from the same photograph",
    ));
    rows.extend(subject.magnets.iter().flat_map(|magnet| of_magnet(magnet)));
    rows
}

fn has(cards: &[Card], name: &str) -> bool {
    cards.iter().any(|card| card.name == name)
}

fn of_magnet(magnet: &Magnet) -> Vec<Row> {
    let name = magnet.name.as_str();
    let each = |thing, how| (0..MAGNETS).map(move |_| row(thing, name, None, how));
    let stated = known(
        Thing::Remanence,
        name,
        plain(magnet.remanence.as_tesla(), 4),
        "as its maker states it; correct it where yours differs",
    );
    let fit = row(Thing::Fit, name, None, "number of the narrowest pocket that it drops into without force");
    let diameters = each(Thing::Diameter, "another one each time, with a calliper of plastic: iron pulls");
    let heights = each(Thing::Height, "another one each time, with a calliper of plastic: iron pulls");
    diameters.chain(heights).chain([stated, fit]).collect()
}

/// The rows as CSV (RFC 4180), with a line of column names.
pub(super) fn table(rows: &[Row]) -> Vec<u8> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let header: Vec<String> = COLUMNS.map(str::to_owned).to_vec();
    let lines = rows.iter().map(|row| {
        let at = row.at.map(|at| at.to_string()).unwrap_or_default();
        [row.thing.word(), &row.which, &at, &row.reading, row.unit, &row.how].map(str::to_owned).to_vec()
    });
    for line in std::iter::once(header).chain(lines) {
        // Writing into memory cannot fail.
        let _ = writer.write_record(&line);
    }
    writer.into_inner().unwrap_or_default()
}
