//! Bridges across counters, so that nothing falls out where lettering is cut right through.

use kurbo::{Rect, Shape};

use crate::geometry::{Region, Rule, turn};
use crate::units::Angle;

/// The region with bridges of material left across every hole in it: bars `bridge_mm` wide at this bearing, right
/// through each piece that has a hole, above and below the hole's middle.
///
/// Holes that one bar passes through share it. Bars never reach into a neighbouring piece.
pub fn bridged(region: &Region, bridge_mm: f64, bearing: Angle) -> Region {
    let upright = region.transformed(turn(-bearing));
    let pieces: Vec<Region> = upright.pieces().iter().map(|piece| with_bars(piece, bridge_mm)).collect();
    Region::union_of(&pieces).transformed(turn(bearing))
}

fn with_bars(piece: &Region, bridge_mm: f64) -> Region {
    let Some(room) = piece.bounds() else { return Region::empty() };
    let mut bars: Vec<f64> = Vec::new();
    for hole in piece.holes().iter().filter_map(Region::bounds) {
        let middle = hole.center().x;
        let reach = (hole.width() - bridge_mm) / 2.0;
        if !bars.iter().any(|bar| (bar - middle).abs() <= reach.max(0.0)) {
            bars.push(middle);
        }
    }
    bars.iter().fold(piece.clone(), |left, bar| left.difference(&upright_bar(*bar, bridge_mm, room)))
}

/// A bar that stands out of the box above and below, so that no edges coincide.
fn upright_bar(middle: f64, width: f64, room: Rect) -> Region {
    let beyond = room.height();
    let bar = Rect::new(middle - width / 2.0, room.y0 - beyond, middle + width / 2.0, room.y1 + beyond);
    Region::from_path(&bar.to_path(1e-3), Rule::NonZero).unwrap_or_default()
}
