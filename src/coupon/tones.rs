//! How the stock burns: patches from light to dark, bare and under each finish; strokes and gaps from fine to broad.

use kurbo::{BezPath, Rect, Shape as _};

use super::pen::{DARK, HEAD, NUMBER, Pen, RIM};
use super::{Card, Job};
use crate::design::{Finish, Stock};
use crate::units::plain;

/// Side of a patch, in mm, and from one to the next.
const PATCH: (f64, f64) = (9.0, 11.0);
/// Tones under a finish.
const UNDER: [u8; 3] = [20, 60, 100];
/// Finest and broadest stroke, and the step between, in hundredths of a mm.
const STROKES: (u8, u8, u8) = (10, 60, 5);
/// Length of a stroke, in mm.
const STROKE: f64 = 7.0;
/// From one stroke to the next, in mm.
const PITCH: f64 = 9.0;
/// Room for the name of a row, in mm.
const NAMES: f64 = 24.0;

/// The rows of the card of fine things: what is on them, and how it lies.
pub(super) const FINE: [(&str, &str); 4] =
    [("stroke", "upright"), ("stroke", "level"), ("gap", "upright"), ("gap", "level")];

/// Widths of strokes and gaps, in mm, rising.
pub(super) fn widths() -> Vec<f64> {
    let (finest, broadest, step) = STROKES;
    (finest..=broadest).step_by(usize::from(step)).map(|width| f64::from(width) / 100.0).collect()
}

/// From one width to the next, in mm.
pub(super) const STEP: f64 = STROKES.2 as f64 / 100.0;

/// Patches of every tenth tone, then three for each finish in a scored box to be stained.
pub(super) fn tones(stock: &Stock, finishes: &[&Finish]) -> Card {
    let mut pen = Pen::new();
    let boxed = finishes.len();
    let row = PATCH.1 + NUMBER + 3.0;
    #[allow(clippy::cast_precision_loss, reason = "a handful of finishes")]
    let top = RIM + boxed as f64 * row + PATCH.0 + 1.0 + NUMBER;
    for (at, tone) in (0_u8..).zip((10_u8..=100).step_by(10)) {
        patch(&mut pen, tone, (RIM + f64::from(at) * PATCH.1, top - PATCH.0));
    }
    for (at, finish) in (1_u8..).zip(finishes) {
        let y = top - f64::from(at) * row - PATCH.0;
        for (column, tone) in (0_u8..).zip(UNDER) {
            patch(&mut pen, tone, (RIM + NAMES + f64::from(column) * PATCH.1, y));
        }
        pen.words(&finish.name, (RIM, y + PATCH.0 / 2.0), NAMES - 2.0);
        let size = (f64::from(UNDER.len() as u8) * PATCH.1 + 1.0, PATCH.0 + NUMBER + 3.4);
        let corner = (RIM + NAMES - 1.5, y - NUMBER - 2.0);
        pen.rectangle(Job::Score, &format!("finish {} inside this line", finish.name), corner, size);
    }
    let width = 2.0 * RIM + 10.0 * PATCH.1 - (PATCH.1 - PATCH.0);
    pen.card("tone", stock, (width, top + HEAD + RIM - 1.0))
}

fn patch(pen: &mut Pen, tone: u8, corner: (f64, f64)) {
    let job = Job::Engrave { tone: f64::from(tone) / 100.0 };
    pen.rectangle(job, &format!("tone {tone} %"), corner, (PATCH.0, PATCH.0));
    pen.number(&tone.to_string(), (corner.0 + PATCH.0 / 2.0, corner.1 - 1.0 - NUMBER / 2.0), PATCH.0);
}

/// Strokes, and gaps in a burnt patch, upright and level.
pub(super) fn features(stock: &Stock) -> Card {
    let widths = widths();
    let mut pen = Pen::new();
    let row = STROKE + 2.5;
    let top = RIM + 4.0 * row + NUMBER + 2.0;
    let left = RIM + NAMES;
    for (at, width) in (0_u8..).zip(&widths) {
        let x = left + (f64::from(at) + 0.5) * PITCH;
        pen.number(&format!("{width:.2}"), (x, top - NUMBER / 2.0), PITCH - 1.0);
        for (down, (thing, lies)) in (0_u8..).zip(FINE) {
            let y = top - NUMBER - 2.0 - (f64::from(down) + 0.5) * row;
            let caption = format!("{thing} {}mm, {lies}", plain(*width, 2));
            let (half, side) = (width / 2.0, STROKE / 2.0);
            // Along the row's direction: a stroke is one bar, a gap stays bare between two.
            let bars = if thing == "stroke" { vec![(-half, half)] } else { vec![(-side, -half), (half, side)] };
            let mut path = BezPath::new();
            for (from, to) in bars {
                let upright = Rect::new(x + from, y - side, x + to, y + side);
                let level = Rect::new(x - side, y + from, x + side, y + to);
                path.extend(if lies == "upright" { upright } else { level }.path_elements(1e-3));
            }
            pen.path(DARK, &caption, path);
        }
    }
    for (down, (thing, lies)) in (0_u8..).zip(FINE) {
        let y = top - NUMBER - 2.0 - (f64::from(down) + 0.5) * row;
        pen.words(&format!("{thing}, {lies}"), (RIM, y), NAMES - 2.0);
    }
    #[allow(clippy::cast_precision_loss, reason = "a handful")]
    let width = left + widths.len() as f64 * PITCH + RIM - 1.0;
    pen.card("fine", stock, (width, top + HEAD + RIM - 1.0))
}
