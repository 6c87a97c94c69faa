//! Where the layers stand at a choice of stops.

use kurbo::{Affine, Vec2};

use crate::design::{Design, Face, ReadsHow};
use crate::geometry::turn;
use crate::units::Angle;

/// How far each layer is turned from the lowest one, in degrees clockwise, layer by layer, and where the axes of wheels are.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Pose {
    turned: Vec<f64>,
    /// By layer; empty where there are no wheels.
    axes: Vec<Vec2>,
}

impl Pose {
    /// Every turn at the stop chosen for it; a turn past the end of `stops` stands at its first stop.
    pub(crate) fn at(design: &Design, stops: &[usize]) -> Self {
        let bearings = design.turns().enumerate().map(|(at, (below, turn))| {
            let stop = turn.stops.get(stops.get(at).copied().unwrap_or(0));
            (below, stop.map_or(0.0, |stop| stop.as_degrees()))
        });
        let bearings: Vec<(usize, f64)> = bearings.collect();
        let of_stack = |below: usize| !design.is_wheel(below + 1);
        let turned = |layer: usize| {
            // What is read on a wheel turns under what stands still: backwards, as stops go up.
            let own = bearings.iter().find(|(below, _)| below + 1 == layer && !of_stack(*below));
            let below =
                || bearings.iter().filter(|(below, _)| *below < layer && of_stack(*below)).map(|(_, by)| by).sum();
            // A hand turns on what stands still: forwards.
            own.map_or_else(below, |(_, by)| if design.is_hand(layer) { *by } else { -by })
        };
        let axis = |layer: usize| design.axis(layer).to_vec2();
        let layers = 0..design.layers.len();
        let axes = if design.has_wheels() { layers.clone().map(axis).collect() } else { Vec::new() };
        Self { turned: layers.map(turned).collect(), axes }
    }

    /// Some of the turns (by order in the stack) each at the stop chosen for it, the others at their first stop.
    pub(crate) fn of_turns(design: &Design, turns: &[usize], stops: &[usize]) -> Self {
        let all = (0..design.turns().count())
            .map(|turn| turns.iter().zip(stops).find(|(at, _)| **at == turn).map_or(0, |(_, stop)| *stop));
        Self::at(design, &all.collect::<Vec<_>>())
    }

    /// The same with everything above layer `below` turned on by `degrees`.
    pub(crate) fn nudged(&self, below: usize, degrees: f64) -> Self {
        let turned = self.turned.iter().enumerate().map(|(at, by)| if at > below { by + degrees } else { *by });
        Self { turned: turned.collect(), ..self.clone() }
    }

    /// How far `layer` is turned from `other`, in degrees clockwise.
    pub(crate) fn between(&self, other: usize, layer: usize) -> f64 {
        let of = |at: usize| self.turned.get(at).copied().unwrap_or(0.0);
        of(layer) - of(other)
    }

    /// Takes the frame of `layer` to the frame of `other`.
    pub(crate) fn map(&self, layer: usize, other: usize) -> Affine {
        let turned = match self.between(other, layer) {
            0.0 => Affine::IDENTITY,
            by => turn(Angle::degrees(by)),
        };
        let axis = |at: usize| self.axes.get(at).copied().unwrap_or_default();
        if axis(layer) == axis(other) {
            return turned;
        }
        let place = |at: usize| Affine::translate(axis(at)) * turn(Angle::degrees(self.between(0, at)));
        place(other).inverse() * place(layer)
    }
}

/// The layer that stands upright as a person holds a dial: its cover, under which all else turns; the card, where a pointer goes
/// over one.
pub(crate) fn upright(design: &Design, face: Face) -> usize {
    let pointed = design.readings.iter().any(|reading| reading.how == ReadsHow::Beside);
    let still = |at: &usize| !design.is_wheel(*at);
    let upright = match (face, pointed) {
        (Face::Front, false) | (Face::Back, true) => (0..design.layers.len()).rev().find(still),
        (Face::Front, true) | (Face::Back, false) => (0..design.layers.len()).find(still),
    };
    upright.unwrap_or(0)
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
        let pose = Pose { turned: vec![0.0, 30.0, 75.0], axes: Vec::new() };
        assert_eq!(
            (pose.between(0, 2), pose.between(2, 0), pose.between(1, 2), pose.between(0, 9)),
            (75.0, -75.0, 45.0, 0.0)
        );
        let top = pose.map(2, 0) * Point::new(0.0, 10.0);
        let wanted = Point::new(10.0 * 75.0_f64.to_radians().sin(), 10.0 * 75.0_f64.to_radians().cos());
        assert!(top.distance(wanted) < 1e-12);
        assert!((pose.map(0, 2) * top).distance(Point::new(0.0, 10.0)) < 1e-12);
        assert_eq!(pose.map(1, 1), Affine::IDENTITY);
        assert_eq!(pose.nudged(0, 5.0).turned, [0.0, 35.0, 80.0]);
        assert_eq!(pose.nudged(1, -5.0).turned, [0.0, 30.0, 70.0]);
    }

    /// A wheel at (40, 0), turned a quarter anticlockwise: its top looks to the left, and the board's axis is 40 above its own
    /// middle as the wheel sees it.
    #[test]
    fn a_wheel_turns_about_its_own_axis() {
        let pose = Pose { turned: vec![0.0, -90.0, 0.0], axes: vec![Vec2::ZERO, Vec2::new(40.0, 0.0), Vec2::ZERO] };
        let near = |found: Point, wanted: (f64, f64)| assert!(found.distance(wanted.into()) < 1e-9, "{found}");
        near(pose.map(1, 2) * Point::new(0.0, 10.0), (30.0, 0.0));
        near(pose.map(2, 1) * Point::ORIGIN, (0.0, 40.0));
        assert_eq!(pose.map(0, 2), Affine::IDENTITY);
    }
}
