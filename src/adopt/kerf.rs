//! Kerf that is drawn in already: what is cut runs beside the edge that was meant, by half of what the beam takes away.

use std::f64::consts::PI;

use super::Work;
use super::contour::Contour;
use super::parts::{Item, Part};
use super::shape::Kind;
use crate::geometry::Region;

/// Kerf is looked for between these, in mm: less is told from no drawing, and more is no beam's.
const LIKELY: (f64, f64) = (0.04, 0.25);

/// Round figures, of which so many different sizes agree on one kerf within so much, all in mm. By chance, sizes do so in 2 of a hundred
/// drawings: each but the first lies within the second of the first.
const ROUND: [(f64, usize, f64); 2] = [(1.0, 2, 0.012), (0.5, 3, 0.02)];

/// In a drawing with more noise than this, in mm, none is told.
const NOISE: f64 = 0.02;

/// The kerf that a board of ours says it is drawn with, in mm.
pub(super) fn stated(about: &str) -> Option<f64> {
    let words = about.strip_prefix("Stock ")?.lines().next()?;
    words.split_once(" thick, kerf ")?.1.split_once("mm")?.0.parse().ok()
}

/// Which setup of how many a board of ours is, by its title.
pub(super) fn setup(title: &str) -> Option<(u32, u32)> {
    let (at, of) = title.rsplit_once(", setup ")?.1.split_once(" of ")?;
    at.parse().ok().zip(of.parse().ok())
}

/// An edge moved out by so much, in mm; as it was where nothing is left of it.
pub(super) fn moved(contour: Contour, by: f64) -> Contour {
    if by == 0.0 {
        return contour;
    }
    let pieces = Region::trusted(contour.path.clone()).offset(by).contours().into_iter().filter_map(Contour::of);
    pieces.max_by(|a, b| a.area.total_cmp(&b.area)).unwrap_or(contour)
}

/// The kerf in mm by which outlines are larger and openings smaller than round figures.
pub(super) fn suspected(parts: &[Part], noise: f64) -> Option<f64> {
    let mut sizes: Vec<(f64, f64)> = parts
        .iter()
        .flat_map(|part| {
            let openings = part.items.iter().filter(|item| item.work == Work::Opening);
            let openings = openings.flat_map(widths).map(|size| (size, -1.0));
            widths(&part.outline).into_iter().map(|size| (size, 1.0)).chain(openings)
        })
        .collect();
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
    sizes.dedup_by(|a, b| (a.0 - b.0).abs() < NOISE && a.1 == b.1);
    if noise > NOISE || [1.0, -1.0].iter().any(|side| !sizes.iter().any(|(_, own)| own == side)) {
        return None;
    }
    ROUND.iter().find_map(|(step, least, within)| {
        let mut all: Vec<f64> = sizes.iter().map(|(size, side)| side * (size - (size / step).round() * step)).collect();
        all.sort_by(f64::total_cmp);
        let kerf = *all.get(all.len() / 2)?;
        let agree = all.len() >= *least && all.iter().all(|one| (one - kerf).abs() <= *within);
        (agree && (LIKELY.0..=LIKELY.1).contains(&kerf)).then(|| (kerf * 100.0).round() / 100.0)
    })
}

/// How wide a shape is, in ways that grow by the kerf.
fn widths(item: &Item) -> Vec<f64> {
    let Some(shape) = item.found.as_ref().map(|found| found.fit.shape) else { return Vec::new() };
    let [a, b, _] = shape.size;
    match shape.kind {
        Kind::Circle => vec![2.0 * a],
        Kind::Ellipse | Kind::Rectangle | Kind::Obround => vec![2.0 * a, 2.0 * b],
        Kind::Polygon(sides) if sides % 2 == 0 => vec![2.0 * a * (PI / f64::from(sides)).cos()],
        _ => Vec::new(),
    }
}
