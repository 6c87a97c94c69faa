//! What makes a dial stray: figures of each of its turns.

use kurbo::Point;

use super::bound::Straying;
use crate::audit::holding::{Holding, LEVELS, StopRest, TurnHolding};
use crate::design::{Design, Joint, Layer, Ring, Spreads, Turn};
use crate::geometry::FlattenedShape;

/// The causes of one turn. Lengths in mm, angles in radians.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct TurnCauses {
    /// The layer below it.
    pub below: usize,
    /// Standard deviation of a placing by hand.
    pub placing: f64,
    /// Standard deviation of where a click leaves it, beside its dead band.
    pub clicked: f64,
    /// Where its clicks let each stop rest, in order of the stops; none without clicks, or where they are not known.
    rests: Vec<StopRest>,
    /// Whether it clicks at all.
    clicks: bool,
    /// Standard deviation of each of its two pockets along each axis.
    pub pocket: f64,
    /// How far the pivot may lie off the middle of either pocket.
    pub play: f64,
    /// Whether it is at play anew each time the dial is turned, as a rivet is. Magnets are glued where they lie.
    pub loose: bool,
    /// How far off the axis a hand may leave it, with friction at its least and at its greatest.
    off_axis: (f64, f64),
    /// The widest of all its placings: how far it is drawn off a stop, either way, and the standard deviation about that.
    widest: (f64, f64),
}

/// Where a turn is left at one of its stops.
#[derive(Clone, Copy, Debug)]
pub(super) struct Placing {
    /// How far off the stop it is drawn to, in radians either way.
    pub ends: (f64, f64),
    /// Standard deviation about that.
    pub placing: f64,
}

impl Placing {
    fn drawn(&self) -> f64 {
        (-self.ends.0).max(self.ends.1).max(0.0)
    }
}

impl TurnCauses {
    fn of(below: usize, turn: &Turn, spreads: &Spreads, held: Option<&TurnHolding>) -> Self {
        // A wheel is looked at as a dial of its own, and turns on a shank.
        let (play, loose) = (turn.pivot.clearance().as_mm() / 2.0, turn.pivot.seats().is_none());
        let rings = held.and_then(|held| held.magnets.as_ref()?.clicks.as_ref());
        let off_axis = held.map(|held| held.off_axis.range()).unwrap_or_default();
        let mut causes = Self {
            below,
            placing: spreads.placing.as_radians(),
            clicked: spreads.clicked.as_radians(),
            rests: rings.map(|rings| rings.rests.clone()).unwrap_or_default(),
            clicks: turn.clicks.is_some(),
            pocket: spreads.centring().as_mm(),
            play,
            loose,
            off_axis: (off_axis.0.as_mm(), off_axis.1.as_mm()),
            widest: (0.0, 0.0),
        };
        let all = (0..causes.rests.len().max(1)).flat_map(|stop| causes.levels(stop));
        causes.widest = all.fold((0.0, 0.0), |most, it| (most.0.max(it.drawn()), most.1.max(it.placing)));
        causes
    }

    /// Where it is left at a stop, with friction so far between its least (0) and its greatest (1).
    pub(super) fn placed(&self, stop: usize, friction: f64) -> Placing {
        let by_hand = Placing { ends: (0.0, 0.0), placing: self.placing };
        let clicked = Placing { ends: (0.0, 0.0), placing: self.clicked };
        if !self.clicks {
            return by_hand;
        }
        let Some(rest) = self.rests.get(stop) else { return clicked };
        rest.band(friction)
            .map_or(by_hand, |band| Placing { ends: (band.stays.0.as_radians(), band.stays.1.as_radians()), ..clicked })
    }

    /// How far off the axis a hand leaves it at the most, with friction so far between its least and its greatest.
    pub(super) fn pushed(&self, friction: f64) -> f64 {
        self.off_axis.0 + (self.off_axis.1 - self.off_axis.0) * friction
    }

    /// Where it is left at a stop, at even steps of the friction: what rests are known at.
    fn levels(&self, stop: usize) -> impl Iterator<Item = Placing> {
        (0..LEVELS).map(move |level| self.placed(stop, f64::from(level) / f64::from(LEVELS - 1)))
    }

    /// How far off a stop it is left, in radians either way, with so many standard deviations and friction at its worst.
    pub(super) fn farthest(&self, stop: usize, deviations: f64) -> f64 {
        self.levels(stop).map(|it| deviations * it.placing + it.drawn()).fold(0.0, f64::max)
    }
}

/// How far a glued joint strays, which is laid once for a dial.
///
/// Its layers are lined up by hand at their rims. Where that is done at two opposite places, each by itself, the middle strays by
/// some spread along each axis, and the angle by that spread over half the distance of the places. So it is taken here, with the
/// rim of the smaller layer for their distance (common practice, no source). A round rim says nothing of the angle, and it is
/// taken to be set by marks as finely. A magnet or rivet through both layers centres them no better than its pockets are, so it
/// is not counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::audit::turning) struct GlueCauses {
    /// The layer below it; of a print, the one that it is on.
    pub below: usize,
    /// Whether it is no joint, but the print of a ring on its layer, which is laid once for a dial as well.
    pub printed: bool,
    /// Standard deviation of how far the layer above lies off along each axis, in mm.
    pub shifted: f64,
    /// Standard deviation of how far it is turned, in radians.
    pub turned: f64,
}

impl GlueCauses {
    fn of(below: usize, layers: &[Layer], spreads: &Spreads) -> Self {
        let reaches = layers.iter().map(|layer| FlattenedShape::of(&layer.outline).reach(Point::ZERO));
        let reach = reaches.fold(f64::INFINITY, f64::min);
        let shifted = spreads.glued.as_mm();
        Self { below, printed: false, shifted, turned: if reach > 0.0 { shifted / reach } else { 0.0 } }
    }

    /// The print of a layer's rings. Its crosses stand at the corners of a sheet, so that it is hardly turned.
    fn of_print(layer: usize, spreads: &Spreads) -> Self {
        Self { below: layer, printed: true, shifted: spreads.printing.as_mm(), turned: 0.0 }
    }

    /// Whether it lies between two layers, or on either.
    fn is_between(&self, one: usize, other: usize) -> bool {
        let (low, high) = (one.min(other), one.max(other));
        if self.printed { (low..=high).contains(&self.below) } else { (low..high).contains(&self.below) }
    }
}

/// All causes of a dial.
#[derive(Clone, PartialEq)]
pub(in crate::audit::turning) struct Causes {
    pub(super) turns: Vec<TurnCauses>,
    /// Its glued joints, from the lowest to the uppermost, then its printed layers.
    pub(super) glued: Vec<GlueCauses>,
    /// Standard deviation of how far each edge is cut back, in mm.
    pub(super) wider: f64,
}

impl Causes {
    pub(in crate::audit::turning) fn of(design: &Design, spreads: &Spreads, holding: Option<&Holding>) -> Self {
        let held = |below: usize| holding.and_then(|all| all.turns.iter().find(|turn| turn.below == below));
        let turns = design.turns().map(|(below, turn)| TurnCauses::of(below, turn, spreads, held(below)));
        let pairs = design.layers.windows(2).zip(&design.joints).enumerate();
        let glued = pairs.filter(|(_, (_, joint))| matches!(joint, Joint::Glue(_)));
        let glued = glued.map(|(below, (pair, _))| GlueCauses::of(below, pair, spreads));
        let is_printed = |layer: &Layer| layer.rings.iter().any(Ring::is_printed);
        let prints = design.layers.iter().enumerate().filter(|(_, layer)| is_printed(layer));
        let glued = glued.chain(prints.map(|(at, _)| GlueCauses::of_print(at, spreads)));
        Self { turns: turns.collect(), glued: glued.collect(), wider: spreads.kerf.as_mm() / 2.0 }
    }

    /// Whether another dial strays as far, but for rounding.
    pub(in crate::audit::turning) fn are_like(&self, other: &Self) -> bool {
        let near = |one: f64, other: f64| (one - other).abs() < 1e-9;
        let laid = |(one, other): (&GlueCauses, &GlueCauses)| {
            (one.below, one.printed) == (other.below, other.printed)
                && near(one.shifted, other.shifted)
                && near(one.turned, other.turned)
        };
        self.turns == other.turns
            && self.glued.len() == other.glued.len()
            && self.glued.iter().zip(&other.glued).all(laid)
            && near(self.wider, other.wider)
    }

    /// The glued joints and prints between two layers, by order in the stack.
    pub(super) fn glued_between(&self, one: usize, other: usize) -> Vec<usize> {
        let glued = self.glued.iter().enumerate().filter(|(_, glue)| glue.is_between(one, other));
        glued.map(|(at, _)| at).collect()
    }

    /// Standard deviations of how far some glued joints shift their outermost layers against each other along each axis, in mm,
    /// and of how far they turn them, in radians.
    pub(super) fn laid(&self, glued: &[usize]) -> (f64, f64) {
        let glued = || glued.iter().filter_map(|at| self.glued.get(*at));
        let sum = |of: fn(&GlueCauses) -> f64| glued().map(|glue| of(glue).powi(2)).sum::<f64>().sqrt();
        (sum(|glue| glue.shifted), sum(|glue| glue.turned))
    }

    /// How far the layers on either side of some turns and glued joints, by order in the stack, stray from each other at the most.
    pub(super) fn straying(&self, turns: &[usize], glued: &[usize]) -> Straying {
        let turns = || turns.iter().filter_map(|at| self.turns.get(*at));
        let sum = |of: fn(&TurnCauses) -> f64| turns().map(of).sum::<f64>();
        let (laid, askew) = self.laid(glued);
        Straying {
            turned: sum(|turn| (turn.widest.0 + turn.widest.1).powi(2)).sqrt().hypot(askew),
            // Two pockets; a point drawn evenly from a disc strays by half its radius along each axis. A push has an end, so
            // less of it is far.
            shifted: sum(|turn| {
                2.0 * (turn.pocket.powi(2) + turn.play.powi(2) / 4.0) + (turn.pushed(1.0) / 3.5).powi(2)
            })
            .sqrt()
            .hypot(laid),
            wider: self.wider,
            placing: sum(|turn| turn.widest.1.powi(2)).sqrt().hypot(askew),
            drawn: sum(|turn| turn.widest.0),
            pockets: sum(|turn| 2.0 * turn.pocket.powi(2)).sqrt().hypot(laid),
            pushed: sum(|turn| 2.0 * turn.play + turn.pushed(1.0)),
        }
    }
}
