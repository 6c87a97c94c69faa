//! What makes a dial stray: figures of each of its turns.

use crate::design::{Design, Pivot, Spreads, Turn};

use super::bound::Straying;

/// The causes of one turn. Lengths in mm, angles in radians.
#[derive(Clone, Copy, Debug)]
pub(super) struct TurnCauses {
    /// The layer below it.
    pub below: usize,
    /// Standard deviation of a placing.
    pub placing: f64,
    /// Standard deviation of each of its two pockets along each axis.
    pub pocket: f64,
    /// How far the pivot may lie off the middle of either pocket.
    pub play: f64,
    /// Whether it is at play anew each time the dial is turned, as a rivet is. Magnets are glued where they lie.
    pub loose: bool,
}

impl TurnCauses {
    pub(super) fn of(below: usize, turn: &Turn, spreads: &Spreads) -> Self {
        let placing = if turn.clicks.is_some() { spreads.clicked } else { spreads.placing };
        let (play, loose) = match &turn.pivot {
            Pivot::Magnets { magnet, .. } => (magnet.clearance.as_mm() / 2.0, false),
            Pivot::Rivet(rivet) => (rivet.clearance.as_mm() / 2.0, true),
        };
        let (placing, pocket) = (placing.as_radians(), spreads.centring().as_mm());
        Self { below, placing, pocket, play, loose }
    }
}

/// All causes of a dial.
pub(super) struct Causes {
    pub turns: Vec<TurnCauses>,
    /// Standard deviation of how far each edge is cut back, in mm.
    pub wider: f64,
}

impl Causes {
    pub(super) fn of(design: &Design, spreads: &Spreads) -> Self {
        let turns = design.turns().map(|(below, turn)| TurnCauses::of(below, turn, spreads));
        Self { turns: turns.collect(), wider: spreads.kerf.as_mm() / 2.0 }
    }

    /// How far the layers on either side of some turns, by order in the stack, stray from each other.
    pub(super) fn straying(&self, turns: &[usize]) -> Straying {
        let over =
            |of: fn(&TurnCauses) -> f64| turns.iter().filter_map(|at| self.turns.get(*at)).map(of).sum::<f64>().sqrt();
        Straying {
            turned: over(|turn| turn.placing.powi(2)),
            // Two pockets; a point drawn evenly from a disc strays by half its radius along each axis.
            shifted: over(|turn| 2.0 * (turn.pocket.powi(2) + turn.play.powi(2) / 4.0)),
            wider: self.wider,
        }
    }
}
