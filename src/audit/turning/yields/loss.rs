//! What each source of error takes of a reading's room when it is at its worst.

use kurbo::Point;

use super::causes::{Causes, TurnCauses};
use crate::audit::turning::scene::Scene;
use crate::audit::turning::{CheckedReading, CheckedStop};
use crate::design::Design;
use crate::design::pose::Pose;
use crate::units::Length;

/// How many standard deviations the worst case takes, for spreads that have no bound of their own.
const WORST: f64 = 3.0;

/// A source of error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spread {
    /// The width of the cut.
    Kerf,
    /// Pockets off the axis.
    Concentricity,
    /// Magnets or rivets at play in their pockets.
    Play,
    /// Layers that were glued off their place, or askew.
    Gluing,
    /// Prints that lie off what is cut.
    Printing,
    /// Halves that friction holds off their axis.
    OffAxis,
    /// Stops set off their bearing, by hand or by their clicks.
    Placing,
}

impl Spread {
    /// What it is called in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Kerf => "the spread of the kerf",
            Self::Concentricity => "the centring of the pockets",
            Self::Play => "the play of the magnet, rivet or opening",
            Self::Gluing => "the placing of glued layers",
            Self::Printing => "how far the print lies off what is cut",
            Self::OffAxis => "how far off its axis friction holds it",
            Self::Placing => "the placing of the stop",
        }
    }
}

/// What one takes.
pub type Loss = (Spread, Length);

/// What each takes by itself at one stop of a reading.
pub(in crate::audit::turning) fn losses(
    design: &Design,
    scene: &Scene,
    (reading, stop): (&CheckedReading, &CheckedStop),
    causes: &Causes,
) -> Vec<Loss> {
    let turns: Vec<(&TurnCauses, usize)> =
        reading.turns.iter().zip(&stop.stops).filter_map(|(at, stop)| Some((causes.turns.get(*at)?, *stop))).collect();
    let sum = |of: &dyn Fn(&TurnCauses) -> f64| turns.iter().map(|(turn, _)| of(turn)).sum::<f64>();
    let pose = Pose::of_turns(design, &reading.turns, &stop.stops);
    let room = room(stop);
    let turned = |sign: f64| {
        let pose = turns.iter().fold(pose.clone(), |pose, (turn, stop)| {
            pose.nudged(turn.below, sign * turn.farthest(*stop, WORST).to_degrees())
        });
        scene.room(stop.due, &pose)
    };
    let placing = room - turned(1.0).min(turned(-1.0)).min(room);
    // Turned about the axis, no point of the label comes off farther than its outermost one.
    let reach = scene.labels.get(stop.due).map_or(0.0, |ink| ink.reach(Point::ZERO));
    let laid = |printed: bool| {
        let each = scene.layers_in_play().into_iter().map(|layer| {
            let mut all = causes.glued_between(scene.ring_at, layer);
            all.retain(|at| causes.glued.get(*at).is_some_and(|glue| glue.printed == printed));
            let (shifted, turned) = causes.laid(&all);
            shifted.hypot(reach * turned)
        });
        WORST * each.fold(0.0, f64::max)
    };
    [
        (Spread::Kerf, WORST * causes.wider),
        (Spread::Concentricity, WORST * sum(&|turn| 2.0 * turn.pocket.powi(2)).sqrt()),
        (Spread::Play, sum(&|turn| 2.0 * turn.play)),
        (Spread::Gluing, laid(false)),
        (Spread::Printing, laid(true)),
        (Spread::OffAxis, sum(&|turn| turn.pushed(1.0))),
        (Spread::Placing, placing),
    ]
    .map(|(spread, mm)| (spread, Length::mm(mm)))
    .to_vec()
}

/// The one that takes most; none where none takes anything.
pub(in crate::audit::turning) fn matters_most(losses: &[Loss]) -> Option<Spread> {
    let most = losses.iter().max_by(|a, b| a.1.as_mm().total_cmp(&b.1.as_mm()));
    most.filter(|(_, loss)| *loss > Length::ZERO).map(|(spread, _)| *spread)
}

/// Least of margin and foreign gap, in mm.
pub(in crate::audit::turning) fn room(stop: &CheckedStop) -> f64 {
    stop.margin.as_mm().min(stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm))
}
