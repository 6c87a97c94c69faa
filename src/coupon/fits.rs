//! Pockets in steps: deeper by one pass each, or wider by a step each round a magnet's diameter.

use super::pen::{HEAD, NUMBER, Pen, RIM};
use super::{Card, Job};
use crate::design::{Magnet, Stock};
use crate::units::plain;

/// Side of a pocket of the card of pass depths, in mm: wide enough for the rod of a calliper.
const POCKET: f64 = 9.0;
/// From one pocket to the next, in mm.
const PITCH: f64 = 12.0;
/// Pockets sunk with the same passes.
pub(super) const REPEATS: [&str; 2] = ["a", "b"];
/// Passes where the stock's are not yet measured.
const USUAL_PASSES: usize = 6;
/// Fewest and most passes.
const PASSES: (usize, usize) = (4, 8);
/// Passes of a magnet's pocket where the stock's are not yet measured.
const MAGNET_PASSES: usize = 3;
/// Steps of a magnet's pocket: narrowest below the magnet, widest above it, and from one to the next, in mm.
const STEPS: (f64, f64, f64) = (-0.10, 0.40, 0.05);
/// Widest that a row of pockets gets, in mm.
const ROW: f64 = 130.0;

/// The most passes on the card of pass depths: those that the known depths need to leave the least floor, else six.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a handful")]
pub(super) fn passes(stock: &Stock) -> usize {
    // As many passes as designs can use, since nothing is ever taken for deeper than what was measured.
    let room = (stock.thickness.mean - stock.least_floor).as_mm();
    let known = stock.passes.line().map(|line| ((room - line.intercept) / line.slope).floor().max(0.0) as usize);
    known.unwrap_or(USUAL_PASSES).clamp(PASSES.0, PASSES.1)
}

/// Pockets sunk with 1, 2, 3 … passes, two of each.
pub(super) fn pass_depths(stock: &Stock) -> Card {
    let count = passes(stock);
    let mut pen = Pen::new();
    let left = RIM + 6.0;
    let top = RIM + NUMBER + 2.0 + 2.0 * PITCH;
    for (row, repeat) in (0_u8..).zip(REPEATS) {
        let y = top - f64::from(row + 1) * PITCH;
        pen.words(repeat, (RIM, y + POCKET / 2.0), 4.0);
        for (column, passes) in (0_u8..).zip(1..=count) {
            let x = left + f64::from(column) * PITCH;
            pen.rectangle(Job::Pocket { passes }, &format!("{passes}{repeat}"), (x, y), (POCKET, POCKET));
            if row == 0 {
                pen.number(&passes.to_string(), (x + POCKET / 2.0, RIM + NUMBER / 2.0), POCKET);
            }
        }
    }
    #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
    let width = left + count as f64 * PITCH - (PITCH - POCKET) + RIM;
    pen.card("depth", stock, (width, top + HEAD + RIM - (PITCH - POCKET)))
}

/// The diameters of a magnet's pockets, in mm, rising.
pub(super) fn diameters(magnet: &Magnet) -> Vec<f64> {
    let (least, most, step) = STEPS;
    let all = (0_u8..).map(|at| least + f64::from(at) * step).take_while(|more| *more <= most + step / 2.0);
    all.map(|more| magnet.diameter.as_mm() + more).filter(|diameter| *diameter > 0.0).collect()
}

/// From one diameter to the next, in mm.
pub(super) const STEP: f64 = STEPS.2;

/// Pockets whose diameters step round a magnet's.
pub(super) fn magnet(stock: &Stock, magnet: &Magnet) -> Card {
    let passes = stock.passes.reaching(magnet.height + magnet.sink).map_or(MAGNET_PASSES, |passes| passes.count);
    let diameters = diameters(magnet);
    let pitch = (magnet.diameter.as_mm() + 3.0).max(9.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a handful")]
    let columns = ((ROW / pitch).floor().max(1.0) as usize).min(diameters.len().max(1));
    let rows = diameters.len().div_ceil(columns);
    let drop = magnet.diameter.as_mm() + NUMBER + 4.0;
    let mut pen = Pen::new();
    #[allow(clippy::cast_precision_loss, reason = "a handful")]
    let (wide, high) = (columns as f64 * pitch, rows as f64 * drop - 2.0);
    for (at, diameter) in diameters.iter().enumerate() {
        #[allow(clippy::cast_precision_loss, reason = "a handful")]
        let (column, row) = ((at % columns) as f64, (at / columns) as f64);
        let centre = (RIM + (column + 0.5) * pitch, RIM + high - row * drop - magnet.diameter.as_mm() / 2.0 - 0.5);
        let text = plain(*diameter, 3);
        pen.disc(Job::Pocket { passes }, &format!("{text}mm across"), centre, *diameter);
        let below = centre.1 - magnet.diameter.as_mm() / 2.0 - 1.0 - NUMBER / 2.0;
        pen.number(&format!("{diameter:.2}"), (centre.0, below), pitch - 1.0);
    }
    let name = format!("magnet {}", magnet.name);
    pen.card(&name, stock, ((wide + 2.0 * RIM).max(60.0), high + HEAD + 2.0 * RIM - 1.0))
}
