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

    /// Some of the turns (by order in the stack) each at the stop chosen for it, the others at their first stop.
    pub(crate) fn of_turns(design: &Design, turns: &[usize], stops: &[usize]) -> Self {
        let all = (0..design.turns().count())
            .map(|turn| turns.iter().zip(stops).find(|(at, _)| **at == turn).map_or(0, |(_, stop)| *stop));
        Self::at(design, &all.collect::<Vec<_>>())
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

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;

    #[test]
    fn angles_are_brought_below_half_a_turn() {
        for (degrees, wanted) in [
            (0.0, 0.0),
            (180.0, 180.0),
            (-180.0, 180.0),
            (181.0, -179.0),
            (360.0, 0.0),
            (-90.0, -90.0),
            (541.0, -179.0),
        ] {
            assert_eq!(wrapped(degrees), wanted, "{degrees}");
        }
    }

    /// Three layers, the upper ones 30 and 75 degrees on from the lowest: the top of the uppermost lies 75 degrees clockwise.
    #[test]
    fn layers_stand_as_they_are_turned() {
        let pose = Pose(vec![0.0, 30.0, 75.0]);
        assert_eq!(
            (pose.between(0, 2), pose.between(2, 0), pose.between(1, 2), pose.between(0, 9)),
            (75.0, -75.0, 45.0, 0.0)
        );
        let top = pose.map(2, 0) * Point::new(0.0, 10.0);
        let wanted = Point::new(10.0 * 75.0_f64.to_radians().sin(), 10.0 * 75.0_f64.to_radians().cos());
        assert!(top.distance(wanted) < 1e-12);
        assert!((pose.map(0, 2) * top).distance(Point::new(0.0, 10.0)) < 1e-12);
        assert_eq!(pose.map(1, 1), Affine::IDENTITY);
        assert_eq!(pose.nudged(0, 5.0), Pose(vec![0.0, 35.0, 80.0]));
        assert_eq!(pose.nudged(1, -5.0), Pose(vec![0.0, 30.0, 70.0]));
    }
}
