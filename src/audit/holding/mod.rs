//! What holds a turn: pull of its magnets, friction, click stops, and how that feels in the hand.
//!
//! Forces are those of [`crate::physics`]: magnets of uniform magnetisation, friction from tilt tests where the shop made
//! any and from printed ranges of wood on wood where not. Magnets on the axis give no torque about it.

mod bodies;
mod describe;
mod findings;
mod judge;
mod measures;
mod proud;
mod pulls;
mod rests;
mod rings;
mod settle;
mod sureness;

pub use bodies::{Body, layer_mass};
pub use describe::{Description, TOY_TEST};
pub(super) use judge::costs_pull;
pub(crate) use pulls::meeting;
pub use pulls::{pull_turned_over, rings_turned_over};
pub use rests::{LEVELS, OffAxis, StopRest};
pub use rings::Rings;
pub(in crate::audit) use settle::settled;

use self::rests::Sideways;
use self::sureness::{Pairs, uncertain};
use crate::design::axis::{self, AxisMagnet, magnets};
use crate::design::standing::{self, What, standing};
use crate::design::{Depth, Design, Half, Magnet, Pivot, Seat, Stock, Turn};
use crate::diagnostics::Problems;
use crate::geometry::{Region, shapes::circle};
use crate::physics::friction::{
    self, Coefficient, Contact, Holding as Friction, Surface, gravity_torque, holds_over, shock_to_part, shock_to_turn,
};
use crate::physics::{Facing, Uncertainty};
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
    /// Whether it turns about an axis of its own on what is held, so that nothing moves but the upper half.
    pub is_hand: bool,
    /// What its magnets do; none where a rivet holds it.
    pub magnets: Option<Held>,
}

/// What the magnets of a turn do.
#[derive(Clone, Debug)]
pub struct Held {
    /// The pair on the axis, at the gap between what of them is magnetised.
    pub pair: Facing,
    /// Half the interval that the gap lies in for 95 of 100 dials: what pockets and films vary by, twice over.
    pub gap_within: Length,
    /// What the same pair would pull with nothing but its plating between.
    pub flush: Force,
    /// The pull of all magnets on the axis below the turn on all above it.
    pub axis: Force,
    /// The pull that lifts the upper half off at a stop, clicks included, and how sure it is.
    pub lift_off: Uncertainty,
    /// How far what stands proud keeps the halves apart; zero where their faces meet.
    pub apart: Length,
    /// Coefficient of friction of the faces that meet, or of what keeps them apart.
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
    /// The least and the greatest friction to be expected where the rings pull like this.
    pub fn felt(&self, clicks: Force) -> (Torque, Torque) {
        under(&self.contact, self.axis + clicks, self.coefficient)
    }

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
        let torques = self.moving().iter().map(|half| gravity_torque(half.mass, half.offset(), upright));
        torques.fold(Torque::ZERO, |most, torque| if most < torque { torque } else { most })
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

    /// How far [`TurnHolding::shock_to_part`] may be off either way: as far as the pull.
    pub fn part_range(&self) -> Option<(f64, f64)> {
        let (least, most) = self.magnets.as_ref()?.lift_off.range();
        Some((self.least(|half| shock_to_part(least, half.mass))?, self.least(|half| shock_to_part(most, half.mass))?))
    }

    /// From the least to the most that [`TurnHolding::shock_to_turn`] may be: the pull, and with it the clicks, at its least
    /// under the least friction, and at its most under the greatest.
    pub fn turn_range(&self) -> Option<(f64, f64)> {
        let held = self.magnets.as_ref()?;
        let pull = held.lift_off.pull.as_newtons();
        let (least, most) = held.lift_off.range();
        let friction = held.friction.expected();
        let at = |friction: Torque, force: Force| {
            let torque = (friction + held.click_hold()) * (force.as_newtons() / pull);
            self.least(|half| shock_to_turn(torque, half.mass, half.offset()))
        };
        if pull > 0.0 { Some((at(friction.least, least)?, at(friction.most, most)?)) } else { None }
    }

    fn least(&self, of: impl Fn(&Body) -> Option<f64>) -> Option<f64> {
        self.moving().iter().filter_map(of).reduce(f64::min)
    }

    /// What gravity and shocks move: either half, or a hand alone.
    fn moving(&self) -> &[Body] {
        let [_, upper] = &self.halves;
        if self.is_hand { std::slice::from_ref(upper) } else { &self.halves }
    }
}

impl Holding {
    /// The turn right below the half that this layer is glued to; for the bottom half, the turn right above it.
    pub fn of_layer(&self, design: &Design, layer: &str) -> Option<&TurnHolding> {
        let (at, _) = design.layer(layer)?;
        if design.has_wheels() {
            return self.turns.iter().find(|turn| turn.below + 1 == at).or(self.turns.first());
        }
        let below = self.turns.iter().rfind(|turn| turn.below < at);
        below.or_else(|| self.turns.iter().find(|turn| turn.below >= at))
    }
}

/// Works out what holds every turn, and what is wrong with it.
pub fn holding(design: &Design) -> (Holding, Problems) {
    let (magnets, contradictions) = magnets(design);
    let (mut turns, mut problems) = (Vec::new(), judge::of_magnets(design, &contradictions));
    for (below, turn) in design.turns() {
        if design.is_hand(below + 1) {
            let told = design.alike(below + 1).is_none();
            turns.extend(hand(design, &magnets, below, told.then_some(&mut problems)));
        } else {
            turns.extend(turn_holding(design, &magnets, below, turn));
        }
    }
    let stored = (!magnets.is_empty()).then(|| pulls::pull_stored(&magnets, design.thickness()));
    let holding = Holding { turns, stored };
    if !design.has_wheels() {
        problems.extend(judge::of_turns(design, &holding));
    }
    problems.extend(judge::stored(design, &holding));
    (holding, problems)
}

/// What holds a hand, as in a dial of its own, and what is wrong with it.
fn hand(design: &Design, magnets: &[AxisMagnet], below: usize, problems: Option<&mut Problems>) -> Option<TurnHolding> {
    let dial = design.held_about(below + 1)?;
    let (at, turn) = dial.turns().next()?;
    let own = turn_holding(&dial, &axis::magnets(&dial).0, at, turn)?;
    let own = TurnHolding { halves: bodies::halves(design, below, magnets), is_hand: true, ..own };
    if let Some(problems) = problems {
        problems.extend(judge::of_turns(&dial, &Holding { turns: vec![own.clone()], stored: None }));
    }
    Some(TurnHolding { below, ..own })
}

fn turn_holding(design: &Design, magnets: &[AxisMagnet], below: usize, turn: &Turn) -> Option<TurnHolding> {
    let (lower, upper) = (design.layers.get(below)?, design.layers.get(below + 1)?);
    let within = |layer: &crate::design::Layer| layer.outline.least_radius(Point::ZERO).unwrap_or_default();
    let contact = within(lower).min(within(upper));
    let halves = design.halves(below);
    let turned = if turn.turning == Half::Upper { below + 1..=*halves.end() } else { *halves.start()..=below };
    let rim = design.layers.get(turned).unwrap_or_default().iter().map(within).fold(0.0, f64::max);
    let play = match &turn.pivot {
        Pivot::Magnets { .. } | Pivot::Rivet(_) => turn.pivot.clearance(),
        Pivot::Wall => {
            let wall = turn.axle.as_ref().and_then(|axle| axle.wall.as_ref());
            wall.map_or(Length::ZERO, |wall| wall.clearance(upper.outline.swept_radius(Point::ZERO)) / 2.0)
        }
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
        is_hand: false,
        magnets: held,
    })
}

/// How far off the axis friction may hold a turn of sunk magnets.
fn off_axis(held: &Held, pairs: &[(Facing, bool)], rim: Length) -> OffAxis {
    if held.pair.is_on_steel() {
        // What draws a magnet back over a washer is not worked out: it may be much, and it may be nothing.
        let reach = held.pair.narrower() / 2.0;
        return OffAxis { held: (Some(Length::ZERO), None), turned: (Some(Length::ZERO), None), reach };
    }
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
    let seats = turn.pivot.seats()?;
    let pair = pulls::pair(magnets, below)?;
    let touching_pair = pair.at_gap(plating_between(seats.map(|(disc, _)| disc))).ok()?;
    let flush = touching_pair.pull();
    let axis = pulls::pull_of(pairs);
    let proud = standing(design).joints.get(below).copied().flatten();
    let (contact, coefficient) = touching(turn, seats.map(|(disc, _)| disc), proud, (stocks, rim))?;
    let apart = proud.map_or(Length::ZERO, |proud| proud.by);
    let felt = |clicks: Force| under(&contact, axis + clicks, coefficient);
    let clicks = turn.clicks.as_ref().and_then(|clicks| rings::rings(turn, clicks, apart, &felt));
    let pull = axis + clicks.as_ref().map_or(Force::ZERO, |clicks| clicks.pull);
    let usual = design.spreads.depth;
    let sunk = seats.into_iter().filter_map(|(_, seat)| match seat.depth {
        Depth::Down(depth) => Some((seat.layer, depth.deviation(usual))),
        Depth::Through => None,
    });
    let batch = seats.into_iter().find(|(disc, _)| disc.steel.is_none()).map_or("", |(disc, _)| disc.name.as_str());
    let on_axis = Pairs { magnet: batch, pair: &pair, pull: axis, count: 1, sunk: sunk.collect() };
    let gap_within = gap_within(design, &on_axis);
    let clicking = clicks.as_ref().zip(turn.clicks.as_ref()).map(|(rings, made)| Pairs {
        magnet: &made.magnet.name,
        pair: &rings.pair,
        pull: rings.pull,
        count: rings.bearings.1.len(),
        sunk: [below, below + 1].into_iter().zip(made.depths.map(|depth| depth.deviation(usual))).collect(),
    });
    let all: Vec<Pairs> = std::iter::once(on_axis).chain(clicking).collect();
    let lift_off = Uncertainty { above: pair.most() - pair.pull(), ..uncertain(&design.spreads, &all) };
    drop(all);
    let hardest = touching_pair.most();
    let mut glue: Vec<Glued> =
        seats.map(|(disc, seat)| glued(disc, seat.depth, pierced_mm2(design, disc, seat), hardest)).into();
    glue.dedup();
    if let (Some(rings), Some(clicks)) = (&clicks, &turn.clicks) {
        let flush = rings.pair.at_gap(clicks.magnet.plating * 2.0).ok()?.pull();
        glue.push(glued(&clicks.magnet, Depth::Down(clicks.depths[0]), 0.0, flush));
    }
    Some(Held {
        pair,
        gap_within,
        flush,
        axis,
        lift_off,
        apart,
        coefficient,
        contact,
        friction: contact.holding(pull, coefficient),
        clicks,
        glue,
    })
}

/// The plating between two discs that touch; steel has none.
fn plating_between(discs: [&Magnet; 2]) -> Length {
    discs.into_iter().fold(Length::ZERO, |all, disc| all + disc.plating)
}

/// The pair that meets across the turn above a layer, and what it pulls with nothing but its plating between.
pub(super) fn facing(design: &Design, below: usize) -> Option<(Facing, Force)> {
    let (magnets, _) = magnets(design);
    let pair = pulls::pair(&magnets, below)?;
    let (lower, upper) = pulls::meeting(&magnets, below)?;
    let flush = pair.at_gap(lower.magnet.plating + upper.magnet.plating).ok()?.pull();
    Some((pair, flush))
}

/// Twice the standard deviation of the gap of two seated magnets. Only magnets on the floor of a pocket move with its depth and
/// their glue.
fn gap_within(design: &Design, pair: &Pairs) -> Length {
    let film = design.spreads.film.as_mm().powi(2);
    let squares: f64 = pair.sunk.iter().map(|(_, depth)| depth.as_mm().powi(2) + film).sum();
    Length::mm(2.0 * squares.sqrt())
}

fn under(contact: &Contact, pull: Force, coefficient: Coefficient) -> (Torque, Torque) {
    let friction = contact.holding(pull, coefficient).expected();
    (friction.least, friction.most)
}

/// Where the halves touch, and the friction there: the faces from the edge of the pocket to the rim, or what keeps them
/// apart.
fn touching(
    turn: &Turn,
    discs: [&Magnet; 2],
    proud: Option<standing::Proud>,
    (stocks, rim): ([&Stock; 2], Length),
) -> Option<(Contact, Coefficient)> {
    let [narrow, wide] = if discs[1].diameter < discs[0].diameter { [discs[1], discs[0]] } else { discs };
    let radius = narrow.diameter / 2.0;
    let (inner, outer) = match proud.map(|proud| proud.what) {
        None => {
            let pocket = (wide.diameter + wide.clearance) / 2.0;
            return Some((Contact::new(pocket, rim).ok()?, coefficient(stocks)));
        }
        Some(What::Clicks(_)) => {
            let clicks = turn.clicks.as_ref()?;
            let radius = clicks.magnet.diameter / 2.0;
            (clicks.radius - radius, clicks.radius + radius)
        }
        Some(What::Head(_, head)) => (Length::ZERO, head.diameter / 2.0),
        Some(What::Pair(_) | What::Through(..)) => (Length::ZERO, radius),
    };
    Some((
        Contact::new(if inner < Length::ZERO { Length::ZERO } else { inner }, outer).ok()?,
        Coefficient::between(Surface::Metal, Surface::Metal),
    ))
}

/// The friction of two stocks on each other: by the shop's tilt tests of this pair, or of both where they are of one kind;
/// else what is usual for such a pair.
fn coefficient([lower, upper]: [&Stock; 2]) -> Coefficient {
    let kinds = (lower.surface(), upper.surface());
    let each_alone = kinds.0 == kinds.1 && !lower.tilts.is_empty() && !upper.tilts.is_empty();
    let tilts: Vec<Angle> = match lower.tilts_on.get(&upper.name) {
        Some(tilts) => tilts.clone(),
        None if each_alone => lower.tilts.iter().chain(&upper.tilts).copied().collect(),
        None => Vec::new(),
    };
    let measured = Coefficient::from_tilts(&tilts).ok().flatten();
    measured.unwrap_or_else(|| Coefficient::between(kinds.0, kinds.1))
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
    let (across, hole) = (magnet.diameter.as_mm(), magnet.hole().as_mm());
    let area_mm2 = match depth {
        Depth::Down(_) => (PI * (across * across - hole * hole) / 4.0 - pierced_mm2).max(0.0),
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
