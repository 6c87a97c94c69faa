//! How high the layers of a stack stand, and how deep one face lies below another.

use super::standing::{Standing, standing};
use super::{Design, Face, Joint, Layer};
use crate::units::Length;

/// Heights of the lower faces of all layers above the bottom of the dial, lowest first. Films of glue keep layers apart, and so
/// does what stands proud between them.
pub(crate) fn floors(design: &Design) -> Vec<Length> {
    let standing = standing(design);
    let mut height = Length::ZERO;
    let mut floors = Vec::new();
    for (at, layer) in design.layers.iter().enumerate() {
        // A wheel lies on its floor, whatever level it is listed at.
        if let Some((_, axle)) = design.wheel(at) {
            let floor = axle.floor.and_then(|floor| design.layers.get(floor).zip(floors.get(floor)));
            floors.push(floor.map_or(Length::ZERO, |(floor, height)| *height + floor.stock.thickness.mean));
            continue;
        }
        let joint = at.checked_sub(1);
        let film = match joint.and_then(|joint| design.joints.get(joint)) {
            Some(Joint::Glue(glue)) => glue.adhesive.film,
            _ => Length::ZERO,
        };
        height = height + film + joint.map_or(Length::ZERO, |joint| standing.apart(joint));
        floors.push(height);
        height = height + layer.stock.thickness.mean;
    }
    floors
}

impl Design {
    /// Standard deviation of the thickness of these layers and so many films of glue on each other, by the readings of each stock.
    /// What was read once alone strays by nothing that is known.
    pub fn height_strays<'l>(&self, layers: impl Iterator<Item = &'l Layer>, films: usize) -> Length {
        let boards = layers.filter_map(|layer| layer.stock.thickness.spread).map(|spread| spread.as_mm().powi(2));
        #[allow(clippy::cast_precision_loss, reason = "a handful of joints")]
        let films = films as f64 * self.spreads.film.as_mm().powi(2);
        Length::mm((boards.sum::<f64>() + films).sqrt())
    }

    /// The same of the finished stack, whose mean is [`Design::thickness`].
    pub fn thickness_strays(&self) -> Length {
        let stacked = self.layers.iter().enumerate().filter(|(at, _)| !self.is_wheel(*at)).map(|(_, layer)| layer);
        self.height_strays(stacked, self.joints.iter().filter(|joint| matches!(joint, Joint::Glue(_))).count())
    }
}

/// How high each hand stands above the bottom of the lowest layer, with the head of its rivet.
pub(super) fn hands<'d>(design: &'d Design, standing: &'d Standing) -> impl Iterator<Item = Length> {
    let hands = design.wheels().filter(|(_, _, _, axle)| axle.wall.is_none()).map(|(at, layer, ..)| (at, layer));
    let floors = if design.has_wheels() { floors(design) } else { Vec::new() };
    hands.map(move |(at, layer)| {
        let floor = floors.get(at).copied().unwrap_or_default() + standing.apart(at - 1);
        floor + layer.stock.thickness.mean + standing.over(at)
    })
}

/// How deep a mark on one face of layer `at` lies below the face that one looks at of layer `over`: boards, glue and gaps
/// between. A mark on a front is looked at from the front, one on a back from behind. How deep the mark itself is burnt is not
/// in it, nor is a film of paint.
pub fn depth_below(design: &Design, (at, face): (usize, Face), over: usize) -> Length {
    let floors = floors(design);
    let height = |layer: usize| {
        let floor = floors.get(layer).copied().unwrap_or_default();
        let thick = design.layers.get(layer).map_or(Length::ZERO, |layer| layer.stock.thickness.mean);
        match face {
            Face::Front => floor + thick,
            Face::Back => -floor,
        }
    };
    height(over) - height(at)
}
