//! Where the layers stand at a choice of stops.

use kurbo::Affine;

use crate::design::Design;
use crate::geometry::turn;
use crate::units::Angle;

/// How far each layer is turned from the lowest one, in degrees clockwise, layer by layer.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Pose(Vec<f64>);

impl Pose {
    /// Every turn at the stop chosen for it; a turn past the end of `stops` stands at its first stop.
    pub(crate) fn at(design: &Design, stops: &[usize]) -> Self {
        let bearings = design.turns().enumerate().map(|(at, (below, turn))| {
            let stop = turn.stops.get(stops.get(at).copied().unwrap_or(0));
            (below, stop.map_or(0.0, |stop| stop.as_degrees()))
        });
        let bearings: Vec<(usize, f64)> = bearings.collect();
        let turned = |layer: usize| bearings.iter().filter(|(below, _)| *below < layer).map(|(_, by)| by).sum();
        Self((0..design.layers.len()).map(turned).collect())
    }

    /// The same with everything above layer `below` turned on by `degrees`.
    pub(crate) fn nudged(&self, below: usize, degrees: f64) -> Self {
        let turned = self.0.iter().enumerate().map(|(at, by)| if at > below { by + degrees } else { *by });
        Self(turned.collect())
    }

    /// How far `layer` is turned from `other`, in degrees clockwise.
    pub(crate) fn between(&self, other: usize, layer: usize) -> f64 {
        let of = |at: usize| self.0.get(at).copied().unwrap_or(0.0);
        of(layer) - of(other)
    }

    /// Takes the frame of `layer` to the frame of `other`.
    pub(crate) fn map(&self, layer: usize, other: usize) -> Affine {
        match self.between(other, layer) {
            0.0 => Affine::IDENTITY,
            by => turn(Angle::degrees(by)),
        }
    }
}

/// Every choice of one stop for each of these turns (by order in the stack), the last one running fastest.
pub(crate) fn combinations(design: &Design, turns: &[usize]) -> Vec<Vec<usize>> {
    let counts = turns.iter().map(|at| design.turns().nth(*at).map_or(0, |(_, turn)| turn.stops.len()));
    counts.fold(vec![Vec::new()], |all, count| {
        all.iter().flat_map(|one| (0..count).map(move |stop| [one.as_slice(), &[stop]].concat())).collect()
    })
}

/// How many choices [`combinations`] would give.
pub(crate) fn combination_count(design: &Design, turns: &[usize]) -> usize {
    let counts = turns.iter().map(|at| design.turns().nth(*at).map_or(0, |(_, turn)| turn.stops.len()));
    counts.fold(1, usize::saturating_mul)
}

/// An angle brought to -180 (excluded) to 180 degrees.
pub(crate) fn wrapped(degrees: f64) -> f64 {
    let turned = degrees.rem_euclid(360.0);
    if turned > 180.0 { turned - 360.0 } else { turned }
}
