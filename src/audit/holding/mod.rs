//! What holds a turn: pull of its magnets, friction, click stops, and how that feels in the hand.
//!
//! Forces are those of [`crate::physics`]: magnets of uniform magnetisation, friction from tilt tests where the shop made
//! any and from printed ranges of wood on wood where not. Magnets on the axis give no torque about it.

mod bodies;
mod describe;
mod findings;
mod judge;
mod measures;
mod pulls;
mod rests;
mod rings;

pub use bodies::{Body, layer_mass};
pub use describe::{Description, TOY_TEST};
pub(crate) use pulls::meeting;
pub use pulls::pull_turned_over;
pub use rests::{LEVELS, OffAxis, StopRest};
pub use rings::Rings;

use self::rests::Sideways;
use crate::design::axis::{AxisMagnet, apart, magnets};
use crate::design::{Depth, Design, Half, Magnet, Pivot, Seat, Stock, Turn};
use crate::diagnostics::Problems;
use crate::geometry::{Region, shapes::circle};
use crate::physics::friction::{
    self, Coefficient, Contact, Holding as Friction, gravity_torque, holds_over, shock_to_part, shock_to_turn,
};
use crate::physics::{Facing, Spreads, Uncertainty};
use crate::units::{Angle, Force, Length, Torque};
use kurbo::Point;
use std::f64::consts::PI;

/// What holds each turn of a dial, bottom first, and what holds dials that lie on each other.
#[derive(Clone, Debug, Default)]
pub struct Holding {
    /// One for each turn.
    pub turns: Vec<TurnHolding>,
    /// The pull between two dials stored one right on the other; none without magnets on the axis.
    pub stored: Option<Force>,
}

/// What holds one turn.
#[derive(Clone, Debug)]
pub struct TurnHolding {
    /// Place in the stack of the layer right below it.
    pub below: usize,
    /// All below the turn, and all above it.
    pub halves: [Body; 2],
    /// How far from the axis the thumb pushes: the largest circle within the turned half's widest layer.
    pub rim: Length,
    /// How far the halves may be shifted against each other, either way: the play of the pivot.
    pub play: Length,
    /// How far off the axis it may rest beside that play; nothing where a rivet or a magnet reaches from one half into the other.
    pub off_axis: OffAxis,
    /// Whether a magnet of one half reaches into the other.
    pub reaches: bool,
    /// The shock that it must bear, in multiples of standard gravity; `knock` in the language.
    pub shock: f64,
    /// What its magnets do; none where a rivet holds it.
    pub magnets: Option<Held>,
}

/// What the magnets of a turn do.
#[derive(Clone, Debug)]
pub struct Held {
    /// The pair on the axis, at the gap between what of them is magnetised.
    pub pair: Facing,
    /// What the same pair would pull with nothing but its plating between.
    pub flush: Force,
    /// The pull of all magnets on the axis below the turn on all above it.
    pub axis: Force,
    /// The pull that lifts the upper half off at a stop, clicks included, and how sure it is.
    pub lift_off: Uncertainty,
    /// Coefficient of friction of the faces that meet.
    pub coefficient: Coefficient,
    /// The ring on which they touch.
    pub contact: Contact,
    /// Torque of friction under the pull.
    pub friction: Friction,
    /// Its click stops.
    pub clicks: Option<Rings>,
    /// The glue of each kind of magnet.
    pub glue: Vec<Glued>,
}

/// How firmly glue holds a magnet in its pocket.
#[derive(Clone, Debug, PartialEq)]
pub struct Glued {
    /// The magnet's name.
    pub magnet: String,
    /// What it is glued with; none where the shop has no adhesive.
    pub adhesive: Option<String>,
    /// The area glued, mm²: the pocket's floor, or the wall of a hole.
    pub area_mm2: f64,
    /// What pulls it out: the adhesive's strength over that area; none where the shop does not state it.
    pub pull_out: Option<Force>,
    /// The hardest that a magnet like it can pull at it.
    pub pulled: Force,
}

impl Glued {
    /// How many times over the glue holds.
    pub fn times(&self) -> Option<f64> {
        let pulled = self.pulled.as_newtons();
        self.pull_out.filter(|_| pulled > 0.0).map(|out| out.as_newtons() / pulled)
    }
}

impl Held {
    /// The torque that its clicks hold at the weakest stop; nothing without clicks.
    pub fn click_hold(&self) -> Torque {
        self.clicks.as_ref().map_or(Torque::ZERO, |clicks| clicks.pattern.verdict.weakest)
    }

    /// From the least to the greatest torque that turns it all the way round: friction, and the push of its clicks.
    pub fn turning(&self) -> (Torque, Torque) {
        let friction = self.friction.expected();
        self.clicks.as_ref().map_or((friction.least, friction.most), |clicks| clicks.hardest)
    }

    /// The least torque that holds it at a stop: friction at its least, and the clicks.
    pub fn holding(&self) -> Torque {
        self.friction.expected().least + self.click_hold()
    }
}

impl TurnHolding {
    /// From the least to the greatest force of a thumb at the rim.
    pub fn thumb(&self) -> Option<(Force, Force)> {
        let (least, most) = self.magnets.as_ref()?.turning();
        Some((friction::thumb_force(least, self.rim)?, friction::thumb_force(most, self.rim)?))
    }

    /// The largest torque of gravity on either half, the other held fast.
    pub fn gravity(&self) -> Torque {
        let upright = Angle::degrees(90.0);
        let [lower, upper] = self.halves.map(|half| gravity_torque(half.mass, half.offset(), upright));
        if lower < upper { upper } else { lower }
    }

    /// How many times over it stays where it is put, whichever half is held and however it lies; none where it is in
    /// balance, or held by a rivet.
    pub fn stays(&self) -> Option<f64> {
        let held = self.magnets.as_ref()?;
        let (torque, pull) = (held.friction.expected().least, held.lift_off.pull);
        self.least(|half| holds_over(torque, pull, held.click_hold(), half.mass, half.offset()))
    }

    /// The shock along the face that turns it, in multiples of standard gravity.
    pub fn shock_to_turn(&self) -> Option<f64> {
        let held = self.magnets.as_ref()?;
        self.least(|half| shock_to_turn(held.holding(), half.mass, half.offset()))
    }

    /// The shock along the axis that parts it, in multiples of standard gravity.
    pub fn shock_to_part(&self) -> Option<f64> {
        let held = self.magnets.as_ref()?;
        self.least(|half| shock_to_part(held.lift_off.pull, half.mass))
    }

    fn least(&self, of: impl Fn(&Body) -> Option<f64>) -> Option<f64> {
        self.halves.iter().filter_map(of).reduce(f64::min)
    }
}

impl Holding {
    /// The turn right below the half that this layer is glued to; for the bottom half, the turn right above it.
    pub fn of_layer(&self, design: &Design, layer: &str) -> Option<&TurnHolding> {
        let (at, _) = design.layer(layer)?;
        let below = self.turns.iter().rfind(|turn| turn.below < at);
        below.or_else(|| self.turns.iter().find(|turn| turn.below >= at))
    }
}

/// Works out what holds every turn, and what is wrong with it.
pub fn holding(design: &Design) -> (Holding, Problems) {
    let (magnets, contradictions) = magnets(design);
    let turns = design.turns().filter_map(|(below, turn)| turn_holding(design, &magnets, below, turn)).collect();
    let stored = (!magnets.is_empty()).then(|| pulls::pull_stored(&magnets, design.thickness()));
    let holding = Holding { turns, stored };
    let problems = judge::check(design, &holding, &contradictions);
    (holding, problems)
}

fn turn_holding(design: &Design, magnets: &[AxisMagnet], below: usize, turn: &Turn) -> Option<TurnHolding> {
    let (lower, upper) = (design.layers.get(below)?, design.layers.get(below + 1)?);
    let within = |layer: &crate::design::Layer| layer.outline.least_radius(Point::ZERO).unwrap_or_default();
    let contact = within(lower).min(within(upper));
    let halves = design.halves(below);
    let turned = if turn.turning == Half::Upper { below + 1..=*halves.end() } else { *halves.start()..=below };
    let rim = design.layers.get(turned).unwrap_or_default().iter().map(within).fold(0.0, f64::max);
    let play = match &turn.pivot {
        Pivot::Magnets { magnet, .. } => magnet.clearance,
        Pivot::Rivet(rivet) => rivet.clearance,
    };
    let rim = Length::mm(rim);
    let pairs = pulls::across(magnets, below);
    let held = held(design, magnets, (below, turn), [&lower.stock, &upper.stock], (Length::mm(contact), &pairs));
    let reaches = pulls::reaches_across(design, magnets, below, design.spreads.depth);
    let kept = held.as_ref().filter(|_| !reaches);
    Some(TurnHolding {
        below,
        halves: bodies::halves(design, below, magnets),
        rim,
        play,
        off_axis: kept.map(|held| off_axis(held, &pairs, rim)).unwrap_or_default(),
        reaches,
        shock: turn.shock,
        magnets: held,
    })
}

/// How far off the axis friction may hold a turn of sunk magnets.
fn off_axis(held: &Held, pairs: &[(Facing, bool)], rim: Length) -> OffAxis {
    let stop = |rings: &Rings| rings.rests.first().map_or(Angle::ZERO, |rest| rest.stop);
    let clicks = held.clicks.as_ref().map(|rings| (&rings.pattern.clicks, stop(rings)));
    let (sideways, reach) = (Sideways { axis: pairs, clicks }, held.pair.narrower() / 2.0);
    // A thumb pushes with what friction's torque takes at the rim, as much for each newton of pull at any shift.
    let one = held.contact.holding(Force::newtons(1.0), held.coefficient).expected();
    let thumb = |torque: Torque| torque.as_millinewton_metres() / rim.as_mm();
    let mu = held.coefficient;
    let shares = [mu.least, mu.most, thumb(one.least), thumb(one.most)];
    let [least, most, light, hard] = sideways.held(shares, reach);
    OffAxis { held: (least, most), turned: (light, hard), reach }
}

fn held(
    design: &Design,
    magnets: &[AxisMagnet],
    (below, turn): (usize, &Turn),
    stocks: [&Stock; 2],
    (rim, pairs): (Length, &[(Facing, bool)]),
) -> Option<Held> {
    let Pivot::Magnets { magnet, lower, upper } = &turn.pivot else { return None };
    let pair = pulls::pair(magnets, below)?;
    let flush = pair.at_gap(magnet.plating * 2.0).ok()?.pull();
    let axis = pulls::pull_of(pairs);
    let coefficient = coefficient(stocks);
    let contact = Contact::new((magnet.diameter + magnet.clearance) / 2.0, rim).ok()?;
    let apart = apart(design, magnet, lower, upper);
    let felt = |clicks: Force| {
        let friction = contact.holding(axis + clicks, coefficient).expected();
        (friction.least, friction.most)
    };
    let clicks = turn.clicks.as_ref().and_then(|clicks| rings::rings(turn, clicks, apart, &felt));
    let pull = axis + clicks.as_ref().map_or(Force::ZERO, |clicks| clicks.pull);
    let sunk = [lower, upper].iter().filter(|seat| seat.depth != Depth::Through).count();
    let mut glue: Vec<Glued> =
        [lower, upper].map(|seat| glued(magnet, seat.depth, pierced_mm2(design, magnet, seat), flush)).into();
    glue.dedup();
    if let (Some(rings), Some(clicks)) = (&clicks, &turn.clicks) {
        let flush = rings.pair.at_gap(clicks.magnet.plating * 2.0).ok()?.pull();
        glue.push(glued(&clicks.magnet, Depth::Down(clicks.depth), 0.0, flush));
    }
    Some(Held {
        pair,
        flush,
        axis,
        lift_off: uncertain(design, &pair, pull, sunk)?,
        coefficient,
        contact,
        friction: contact.holding(pull, coefficient),
        clicks,
        glue,
    })
}

/// How sure a pull is that is mostly the pair's: the causes are the pair's own, in proportion. Only magnets on the floor
/// of a pocket move with its depth and their glue.
fn uncertain(design: &Design, pair: &Facing, pull: Force, sunk: usize) -> Option<Uncertainty> {
    let spreads = &design.spreads;
    // The pair's formula counts both pockets.
    #[allow(clippy::cast_precision_loss, reason = "at most two")]
    let share = (sunk as f64 / 2.0).sqrt();
    let spreads = Spreads { remanence: spreads.remanence, pocket: spreads.depth * share, film: spreads.film * share };
    let mut sure = pair.uncertainty(&spreads).ok()?;
    let alone = sure.pull.as_newtons();
    let factor = if alone > 0.0 { pull.as_newtons() / alone } else { 1.0 };
    sure.pull = pull;
    sure.deviation = sure.deviation * factor.abs();
    sure.model = sure.model * factor.abs();
    for part in &mut sure.parts {
        part.deviation = part.deviation * factor.abs();
    }
    Some(sure)
}

/// The friction of two stocks on each other: by the shop's tilt tests where it made some of both, else as printed.
fn coefficient(stocks: [&Stock; 2]) -> Coefficient {
    let tilts: Vec<Angle> = stocks.iter().flat_map(|stock| stock.tilts.iter().copied()).collect();
    let measured = stocks.iter().all(|stock| !stock.tilts.is_empty());
    let measured = if measured { Coefficient::from_tilts(&tilts).ok().flatten() } else { None };
    measured.unwrap_or(Coefficient::WOOD_ON_WOOD)
}

/// What openings take of the floor under a magnet, as a hole to push it out by does, in mm².
fn pierced_mm2(design: &Design, magnet: &Magnet, seat: &Seat) -> f64 {
    let (Some(layer), Depth::Down(_)) = (design.layers.get(seat.layer), seat.depth) else { return 0.0 };
    let Ok(disc) = circle(magnet.diameter.as_mm() / 2.0) else { return 0.0 };
    let near = |region: &&Region| region.bounds().zip(disc.bounds()).is_some_and(|(one, other)| one.overlaps(other));
    Region::union_of(layer.openings().map(|(_, region)| region).filter(near)).intersection(&disc).area()
}

/// A magnet in a hole right through is held by its wall alone, one in a pocket by the floor; glue that rises beside it is
/// not counted.
fn glued(magnet: &Magnet, depth: Depth, pierced_mm2: f64, pulled: Force) -> Glued {
    let across = magnet.diameter.as_mm();
    let area_mm2 = match depth {
        Depth::Down(_) => (PI * across * across / 4.0 - pierced_mm2).max(0.0),
        Depth::Through => PI * across * magnet.height.as_mm(),
    };
    let strength = magnet.adhesive.as_ref().and_then(|glue| glue.strength);
    Glued {
        magnet: magnet.name.clone(),
        adhesive: magnet.adhesive.as_ref().map(|glue| glue.name.clone()),
        area_mm2,
        pull_out: strength.map(|strength| Force::newtons(strength.as_megapascals() * area_mm2)),
        pulled,
    }
}
