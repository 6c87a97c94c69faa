//! The last word on a layout: a second engine, which none of the searches use, must find the pieces apart.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use kurbo::{Affine, Point, Rect};

use super::{Piece, Placement, Sheet};
use crate::geometry::Region;

/// How finely outlines are flattened, in mm.
const FLAT_MM: f64 = 5e-4;
/// Gaps may fall short by this much, in mm: what flattening and offsets leave open.
const SHORT_MM: f64 = 2e-3;
/// A shared area smaller than this is none, in mm².
const NONE_MM2: f64 = 1e-6;

type Flat = Vec<Vec<[f64; 2]>>;

/// Whether every piece lies inside the margin, and no two, grown by half the gap each, share any area; nor a piece and
/// a place to be kept out of.
pub(super) fn is_sound(boards: &[Vec<Placement>], pieces: &[Piece], sheet: &Sheet) -> bool {
    let mut grown: Vec<(&Piece, Flat)> = Vec::new();
    let half = (sheet.gap - SHORT_MM).max(0.0) / 2.0;
    let kept_out = flat(&sheet.keep_out.offset(half));
    boards.iter().all(|board| {
        let mut lying: Vec<(Rect, Flat)> = Vec::new();
        board.iter().all(|placement| {
            let Some(piece) = pieces.get(placement.piece) else { return false };
            let bounds = piece.outline.transformed(placement.at).bounds().unwrap_or_default();
            if !sheet.inside().inflate(SHORT_MM, SHORT_MM).contains_rect(bounds) {
                return false;
            }
            if !grown.iter().any(|(known, _)| *known == piece) {
                let solid = if piece.holes.is_empty() { None } else { Some(piece.outline.difference(&piece.holes)) };
                grown.push((piece, flat(&solid.as_ref().unwrap_or(&piece.outline).offset(half))));
            }
            let shape = grown.iter().find(|(known, _)| *known == piece).map(|(_, shape)| moved(shape, placement.at));
            let (bounds, shape) = (bounds.inflate(half, half), shape.unwrap_or_default());
            let clear = lying.iter().all(|(other, it)| !other.overlaps(bounds) || shared(it, &shape) <= NONE_MM2);
            let clear = clear && (kept_out.is_empty() || shared(&kept_out, &shape) <= NONE_MM2);
            lying.push((bounds, shape));
            clear
        })
    })
}

fn flat(region: &Region) -> Flat {
    region.flattened(FLAT_MM)
}

fn moved(shape: &Flat, by: Affine) -> Flat {
    let place = |[x, y]: &[f64; 2]| {
        let at = by * Point::new(*x, *y);
        [at.x, at.y]
    };
    shape.iter().map(|ring| ring.iter().map(place).collect()).collect()
}

/// The area that two shapes share, in mm².
fn shared(a: &Flat, b: &Flat) -> f64 {
    let shapes = a.overlay_as::<i64>(b, OverlayRule::Intersect, FillRule::NonZero);
    let area = |ring: &Vec<[f64; 2]>| {
        let next = ring.iter().cycle().skip(1);
        ring.iter().zip(next).map(|([x, y], [u, v])| x * v - u * y).sum::<f64>() / 2.0
    };
    shapes.iter().flatten().map(area).sum::<f64>().abs()
}
