//! The energy of one pair of magnets against the distance of their axes, tabulated once for a ring of clicks.
//!
//! The energy is smooth in the square of that distance, so the table is kept in it: cubic Hermite between nodes,
//! whose slopes are exact, and the torque is the slope of the very same curve.

use super::magnet::Facing;
use super::pair::Terms;

/// Steps of the table.
const STEPS: u32 = 256;

/// A table of energy, its slope and the pull, from no offset to the farthest.
#[derive(Clone, Debug)]
pub(super) struct Profile {
    farthest: f64,
    nodes: Vec<(f64, Terms)>,
}

impl Profile {
    /// Tabulates a pair for offsets up to `farthest` metres. Nodes stand at the squares of even steps, close together
    /// where the magnets overlap and wide apart where the energy falls off smoothly.
    pub(super) fn new(pair: &Facing, farthest: f64) -> Self {
        let node = |step: u32| {
            // A curve of a turn asks for tens of thousands of offsets, and each pair costs some microseconds: 257
            // nodes serve them all.
            let offset = farthest * (f64::from(step) / f64::from(STEPS)).powi(2);
            (offset * offset, pair.terms(offset))
        };
        Self { farthest, nodes: (0..=STEPS).map(node).collect() }
    }

    /// The terms at an offset whose square is `square`; those of the nearest end beyond the table.
    pub(super) fn at(&self, square: f64) -> Terms {
        let share = (square.max(0.0).sqrt() / self.farthest).sqrt();
        let step = (share * f64::from(STEPS)).floor().clamp(0.0, f64::from(STEPS - 1));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped above")]
        let index = step as usize;
        match (self.nodes.get(index), self.nodes.get(index + 1)) {
            (Some(left), Some(right)) => between(left, right, square),
            _ => Terms::default(),
        }
    }
}

/// Cubic Hermite for the energy and its slope, straight for the pull.
fn between(left: &(f64, Terms), right: &(f64, Terms), square: f64) -> Terms {
    let width = right.0 - left.0;
    let t = ((square - left.0) / width).clamp(0.0, 1.0);
    let (from, to) = (left.1, right.1);
    let rise = (to.energy - from.energy) / width;
    // The slope is that of the very curve the energy follows, so that the work done over a turn adds up to nothing;
    // with a table of its own it would not, and a ring would seem to turn by itself.
    let (bend_from, bend_to) = (from.by_square - rise, to.by_square - rise);
    let inner = bend_from * (1.0 - t) - bend_to * t;
    Terms {
        energy: from.energy + width * t * (rise + (1.0 - t) * inner),
        by_square: rise + (1.0 - 2.0 * t) * inner - t * (1.0 - t) * (bend_from + bend_to),
        pull: from.pull + t * (to.pull - from.pull),
    }
}

#[cfg(test)]
mod tests {
    use super::super::Disc;
    use super::*;
    use crate::units::{FluxDensity, Length};

    #[test]
    fn the_table_follows_the_pair_it_was_made_from() {
        let disc = Disc::new(Length::mm(4.0), Length::mm(1.5), FluxDensity::tesla(1.32)).unwrap();
        let pair = Facing::new(disc, disc, Length::mm(0.1)).unwrap();
        let profile = Profile::new(&pair, 0.03);
        let (deepest, strongest) = (pair.terms(0.0), pair.terms(0.002));
        for step in 0..300 {
            let offset = 1e-4 * f64::from(step) + 3e-5;
            let (table, direct) = (profile.at(offset * offset), pair.terms(offset));
            assert!((table.energy - direct.energy).abs() < 1e-6 * deepest.energy.abs(), "energy at {offset}");
            assert!((table.pull - direct.pull).abs() < 2e-3 * deepest.pull, "pull at {offset}");
            let sideways = 2.0 * offset * (table.by_square - direct.by_square);
            assert!(sideways.abs() < 1e-3 * 0.004 * strongest.by_square.abs(), "force at {offset}");
        }
    }
}
