//! What the magnets on the axis do to each other.

use crate::design::axis::AxisMagnet;
use crate::design::heights::floors;
use crate::design::{Design, Magnet, Pole};
use crate::physics::clicks::ClickRing;
use crate::physics::{Clicks, Disc, Facing, Polarity, Washer};
use crate::units::{Angle, Force, Length};

use super::TurnHolding;

// Here and not where the magnets are placed: a design knows where they stand, physics what they do.
impl AxisMagnet<'_> {
    /// What of it is magnetised: the magnet less its plating; none where nothing is left of it.
    fn disc(&self) -> Option<Disc> {
        disc(self.magnet)
    }

    /// How it acts on a magnet that stands wholly above it, `raised` further up than the stack has it: positive
    /// where they attract; at steel, the most that it may.
    fn pull_on(&self, other: &AxisMagnet, raised: Length) -> Option<Force> {
        let pull = self.facing(other, raised)?.most();
        Some(if self.attracts(other) { pull } else { -pull })
    }

    fn attracts(&self, other: &AxisMagnet) -> bool {
        self.north == other.north || self.is_steel() || other.is_steel()
    }

    fn is_steel(&self) -> bool {
        self.magnet.steel.is_some()
    }

    fn facing(&self, other: &AxisMagnet, raised: Length) -> Option<Facing> {
        let free = other.bottom + raised - self.top();
        let gap = Length::mm(free.as_mm().max(0.0)) + self.magnet.plating + other.magnet.plating;
        match (washer(self.magnet), washer(other.magnet)) {
            (None, None) => Facing::new(self.disc()?, other.disc()?, gap).ok(),
            (Some(steel), None) => Facing::on_steel(other.disc()?, steel, gap).ok(),
            (None, Some(steel)) => Facing::on_steel(self.disc()?, steel, gap).ok(),
            (Some(_), Some(_)) => None,
        }
    }
}

/// What of a magnet is magnetised.
pub(super) fn disc(magnet: &Magnet) -> Option<Disc> {
    // Plating is not magnetic: the magnet is smaller by it all round, and the gap wider by both platings.
    let bare = |size: Length| size - magnet.plating * 2.0;
    Disc::new(bare(magnet.diameter), bare(magnet.height), magnet.remanence).ok()
}

/// A magnet as the washer that it is; none where it is none.
fn washer(magnet: &Magnet) -> Option<Washer> {
    let steel = magnet.steel?;
    Washer::new(magnet.diameter, steel.hole, magnet.height, steel.saturation).ok()
}

/// The two magnets that meet across the turn above layer `below`.
pub(crate) fn meeting<'a, 'd>(
    magnets: &'a [AxisMagnet<'d>],
    below: usize,
) -> Option<(&'a AxisMagnet<'d>, &'a AxisMagnet<'d>)> {
    let lower = magnets.iter().find(|magnet| magnet.layer <= below && magnet.turns.contains(&below))?;
    let upper = magnets.iter().find(|magnet| magnet.layer > below && magnet.turns.contains(&below))?;
    Some((lower, upper))
}

/// The pair that meets across a turn, as the model has it.
pub(super) fn pair(magnets: &[AxisMagnet], below: usize) -> Option<Facing> {
    let (lower, upper) = meeting(magnets, below)?;
    lower.facing(upper, Length::ZERO)
}

/// Each magnet below a turn with each above it, and whether they attract.
pub(super) fn across(magnets: &[AxisMagnet], below: usize) -> Vec<(Facing, bool)> {
    // Every magnet below the turn pulls at every one above it, not the two alone that meet: in a stack of three
    // or more the far ones count as well.
    let (lower, upper): (Vec<&AxisMagnet>, Vec<&AxisMagnet>) = magnets.iter().partition(|magnet| magnet.layer <= below);
    let pairs = lower.iter().flat_map(|one| upper.iter().map(move |other| (one, other)));
    // Steel takes the field of its own partner; what it does with that of others, and lets through of it, is left out.
    let steel = magnets.iter().any(AxisMagnet::is_steel);
    let meet = meeting(magnets, below);
    let counts = |(one, other): &(&&AxisMagnet, &&AxisMagnet)| {
        !steel || meet.is_some_and(|(low, high)| std::ptr::eq(low, **one) && std::ptr::eq(high, **other))
    };
    pairs
        .filter(counts)
        .filter_map(|(one, other)| Some((one.facing(other, Length::ZERO)?, one.attracts(other))))
        .collect()
}

/// What all of these pull together.
pub(super) fn pull_of(pairs: &[(Facing, bool)]) -> Force {
    let pulls = pairs.iter().map(|(pair, attract)| if *attract { pair.pull() } else { -pair.pull() });
    pulls.fold(Force::ZERO, |all, pull| all + pull)
}

/// How far a magnet must reach into the pocket of the other half where depths stray by this standard deviation, up to the next
/// tenth of a millimetre beyond twice that: some 98 of 100 dials then have it kept there.
pub(super) fn surely(deviation: Length) -> Length {
    Length::mm(((20.0 * deviation.as_mm() + 1e-9).floor() + 1.0) / 10.0)
}

/// Whether a magnet of one half reaches into the other across the turn above layer `below`, so far that pockets that stray
/// in depth by `deviation` still let it: its pocket there then keeps it within its play, whatever friction does.
pub(super) fn reaches_across(design: &Design, magnets: &[AxisMagnet], below: usize, deviation: Length) -> bool {
    let floors = floors(design);
    let thick = design.layers.get(below).map_or(Length::ZERO, |layer| layer.stock.thickness.mean);
    let lower_face = floors.get(below).copied().unwrap_or_default() + thick;
    let upper_face = floors.get(below + 1).copied().unwrap_or_default();
    let enough = |reach: Length| reach.as_mm() > surely(deviation).as_mm() - 1e-6;
    meeting(magnets, below)
        .is_some_and(|(lower, upper)| enough(lower.top() - upper_face) || enough(lower_face - upper.bottom))
}

/// What the repel test of a turn feels at the glue bench, before any layers are glued together: the pull of the layer with the
/// lower of the two magnets that meet on that with the upper one, laid on it front down as it lies there; below zero where they
/// repel. Nothing where no magnets meet.
pub fn pull_turned_over(design: &Design, magnets: &[AxisMagnet], below: usize) -> Force {
    let Some((lower, upper)) = meeting(magnets, below) else { return Force::ZERO };
    let floors = floors(design);
    let face = |at: usize| {
        let thick = design.layers.get(at).map_or(Length::ZERO, |layer| layer.stock.thickness.mean);
        floors.get(at).copied().unwrap_or_default() + thick
    };
    let on = |at: &AxisMagnet, layer: usize| at.layer == layer && at.axis == upper.axis;
    let over = magnets.iter().filter(|magnet| on(magnet, upper.layer)).map(|magnet| AxisMagnet {
        bottom: face(lower.layer) + (face(upper.layer) - magnet.top()),
        north: if magnet.north == Pole::Up { Pole::Down } else { Pole::Up },
        ..magnet.clone()
    });
    let resting = || magnets.iter().filter(|magnet| on(magnet, lower.layer));
    let pulls =
        over.flat_map(|upper| resting().filter_map(move |one| one.pull_on(&upper, Length::ZERO)).collect::<Vec<_>>());
    pulls.fold(Force::ZERO, |all, pull| all + pull)
}

/// What the click magnets of a turn add to its repel test, from the least to the greatest pull as the layer is turned about where it
/// is held; none without clicks.
pub fn rings_turned_over(design: &Design, found: &TurnHolding) -> Option<(Force, Force)> {
    const STEPS: u16 = 360;
    let rings = found.magnets.as_ref()?.clicks.as_ref()?;
    let (_, turn) = design.turns().find(|(below, _)| *below == found.below)?;
    let clicks = turn.clicks.as_ref()?;
    let upper = design.layers.get(found.below + 1)?;
    // The upper layer lies front down, so the board under its pockets is between.
    let [below, above] = clicks.depths.map(|depth| depth.made());
    let sink = below - clicks.magnet.height - clicks.magnet.film();
    let between = upper.stock.thickness.mean - above + clicks.magnet.film();
    let pair = rings.pair.at_gap(sink + between + clicks.magnet.plating * 2.0).ok()?;
    let ring = |bearings: &[Angle], poles: &[Polarity], over: bool| {
        let seats = bearings.iter().zip(poles).map(|(at, pole)| match (over, pole) {
            (false, pole) => (*at, *pole),
            (true, Polarity::Up) => (-*at, Polarity::Down),
            (true, Polarity::Down) => (-*at, Polarity::Up),
        });
        ClickRing { radius: clicks.radius, seats: seats.collect() }
    };
    let lower = ring(&rings.bearings.0, &rings.pattern.lower, false);
    let upper = ring(&rings.bearings.1, &rings.pattern.upper, true);
    let pulls = Clicks::new(&pair, &lower, &upper).ok()?.curve(STEPS);
    let pulls = pulls.iter().map(|at| at.pull.as_newtons());
    let (least, most) = pulls.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), pull| (a.min(pull), b.max(pull)));
    Some((Force::newtons(least), Force::newtons(most)))
}

/// The pull between two dials of which one lies right on the other.
pub(super) fn pull_stored(magnets: &[AxisMagnet], thickness: Length) -> Force {
    let coaxial =
        |one: &AxisMagnet, other: &AxisMagnet| (one.axis == other.axis).then(|| one.pull_on(other, thickness));
    let pairs = magnets.iter().flat_map(|one| magnets.iter().filter_map(move |other| coaxial(one, other).flatten()));
    pairs.fold(Force::ZERO, |all, pull| all + pull)
}
