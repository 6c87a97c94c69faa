//! A shop that is measured: sheets to cut and measure for a stock, and the way from readings back into a shop file.
//! Pure.
//!
//! ```text
//! stock, magnets ──cards──▶ cards ──sheet──▶ coupon-K.svg
//!                               └──rows───▶ readings.csv (to be filled in), coupon.html
//! readings.csv ──table──▶ readings ──measure──▶ figures with intervals ──block──▶ text of a shop file
//! ```

mod block;
mod card;
mod describe;
mod findings;
mod fits;
mod measure;
mod page;
mod pen;
mod rows;
mod sheet;
mod strips;
mod table;
mod tones;
mod workshop;

use kurbo::Affine;

pub use block::block;
pub(crate) use block::written;
pub use card::{Card, Drawn, Job};
pub use describe::{as_json, describe};
pub use measure::{Bracket, Figure, MagnetMeasurement, Measurement, measure};
pub use rows::{COLUMNS, Row, Thing, rows};
pub use table::{Reading, length, readings};
pub use workshop::{Workshop, workshop};

use crate::design::{Finish, Magnet, Palette, Stock};
use crate::geometry::{Region, shapes};
use crate::output::OutputFile;
use crate::plan::{Effort, Item, Sheet, Turns, nest};
use crate::units::Length;

/// What is to be measured.
#[derive(Clone, Debug, PartialEq)]
pub struct Subject<'s> {
    /// The stock that the cards are cut from.
    pub stock: &'s Stock,
    /// Magnets that pockets are fitted to.
    pub magnets: Vec<&'s Magnet>,
    /// Finishes that tones are looked at under.
    pub finishes: Vec<&'s Finish>,
    /// How the shop wants its drawings.
    pub palette: Palette,
}

/// A card and where it lies: from its own frame to the board.
pub type Placed<'c> = (&'c Card, Affine);

/// The files for one stock: a drawing for each board, the readings to fill in, and how it is all done.
///
/// # Errors
/// Cards that are larger than the board is inside its margin.
pub fn files(subject: &Subject<'_>) -> Result<Vec<OutputFile>, Vec<Card>> {
    let cards = cards(subject);
    let boards = boards(&cards, subject.stock)?;
    let rows = rows(subject, &cards);
    let drawings = boards.iter().enumerate().map(|(at, placed)| OutputFile {
        name: drawing_name(at),
        bytes: sheet::drawing(subject, placed, (at, boards.len())).into_bytes(),
    });
    let texts = [
        ("readings.csv", rows::table(&rows)),
        ("coupon.html", page::page(subject, &cards, &rows, boards.len()).into_bytes()),
    ];
    let texts = texts.map(|(name, bytes)| OutputFile { name: name.to_owned(), bytes });
    Ok(drawings.chain(texts).collect())
}

fn drawing_name(at: usize) -> String {
    format!("coupon-{}.svg", at + 1)
}

/// All cards, each in its own frame.
pub fn cards(subject: &Subject<'_>) -> Vec<Card> {
    let stock = subject.stock;
    let mut cards = strips::cards(stock);
    cards.push(fits::pass_depths(stock));
    cards.extend(subject.magnets.iter().map(|magnet| fits::magnet(stock, magnet)));
    cards.push(tones::tones(stock, &subject.finishes));
    cards.push(tones::features(stock));
    cards
}

/// Where the cards lie, board by board.
fn boards<'c>(cards: &'c [Card], stock: &Stock) -> Result<Vec<Vec<Placed<'c>>>, Vec<Card>> {
    let outline = |card: &Card| {
        let (width, height) = card.size;
        let region = shapes::rectangle(width, height, 0.0).unwrap_or_else(|_| Region::empty());
        region.transformed(Affine::translate((width / 2.0, height / 2.0)))
    };
    // The strips' direction counts, so no card is turned by a quarter.
    let items: Vec<Item> = cards.iter().map(|card| Item::whole(outline(card), Turns::Half)).collect();
    let (width, height) = stock.board;
    let at_least_kerf = |length: Length| length.as_mm().max(stock.kerf.as_mm());
    let sheet = Sheet {
        width: width.as_mm(),
        height: height.as_mm(),
        margin: at_least_kerf(stock.margin),
        gap: at_least_kerf(stock.gap),
        keep_out: stock.keep_out.clone(),
    };
    let layout = nest(&items, &sheet, Effort(0));
    if !layout.too_large.is_empty() {
        return Err(layout.too_large.iter().filter_map(|at| cards.get(*at).cloned()).collect());
    }
    let board = |placements: &Vec<crate::plan::Placement>| {
        placements.iter().filter_map(|placed| Some((cards.get(placed.item)?, placed.at))).collect()
    };
    Ok(layout.boards.iter().map(board).collect())
}
