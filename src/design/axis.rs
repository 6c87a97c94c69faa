//! The magnets on the axis: where each stands in the stack, and which pole it shows.

use kurbo::Point;

use super::heights::floors;
use super::{Depth, Design, Face, Magnet, Pole, Seat};
use crate::source::Span;
use crate::units::Length;

/// One magnet on the axis.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisMagnet<'d> {
    /// What it is.
    pub magnet: &'d Magnet,
    /// Place of its layer in the stack.
    pub layer: usize,
    /// Where its axis stands on the board.
    pub axis: Point,
    /// The face that its seat opens to; for one that serves two turns, the front.
    pub face: Face,
    /// Depth of its seat.
    pub depth: Depth,
    /// Height of its lower face above the bottom of the dial.
    pub bottom: Length,
    /// Where its north pole looks.
    pub north: Pole,
    /// Whether that matters: not of steel, nor of a magnet that meets nothing but steel.
    pub poled: bool,
    /// Whether it serves the turn below its layer and the one above.
    pub shared: bool,
    /// The turns that it serves, each by the layer below it.
    pub turns: Vec<usize>,
}

impl AxisMagnet<'_> {
    /// Where it stands in the front frame of its layer.
    pub fn at(&self, design: &Design) -> Point {
        (self.axis - design.axis(self.layer)).to_point()
    }

    /// Height of its upper face above the bottom of the dial.
    pub fn top(&self) -> Length {
        self.bottom + self.magnet.height
    }
}

/// Two turns that want unlike things of one magnet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Odds<'d> {
    /// Each turn names another magnet for the one hole.
    Magnets(&'d str, &'d str),
    /// Each turn wants the north pole on another side.
    Poles,
}

/// A contradiction: the layer, what asked for either turn, and what they want.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Contradiction<'d> {
    /// Place in the stack of the layer that the magnet sits in.
    pub layer: usize,
    /// What asked for either turn.
    pub origins: (Span, Span),
    /// What they want.
    pub odds: Odds<'d>,
}

/// Every magnet on the axis, bottom first, with the pole that it shows; and what cannot be.
///
/// Two magnets on one axis attract where both have the same pole up. So each turn passes its pole on to the next through
/// a magnet that both share, and a turn that the maker says nothing of takes that of the turn below it.
pub fn magnets(design: &Design) -> (Vec<AxisMagnet<'_>>, Vec<Contradiction<'_>>) {
    let floors = floors(design);
    let mut magnets: Vec<AxisMagnet> = Vec::new();
    let mut contradictions = Vec::new();
    let mut north = first_north(design);
    let mut before: Option<Span> = None;
    for (below, turn) in design.turns() {
        let Some([(magnet, lower), (over, upper)]) = turn.pivot.seats() else { continue };
        let poled = !turn.pivot.is_on_steel();
        let axis = turn.axle.as_ref().map_or(Point::ORIGIN, |axle| axle.centre);
        let is_here = |known: &AxisMagnet| known.layer == lower.layer && known.axis == axis;
        let shared = magnets.iter_mut().find(|known| is_here(known) && both_through(known, lower));
        let wanted = turn.north.unwrap_or(north);
        if let (Some(known), Some(origin)) = (&shared, before) {
            let odds = if known.magnet != magnet {
                Some(Odds::Magnets(&known.magnet.name, &magnet.name))
            } else {
                (known.poled && poled && known.north != wanted).then_some(Odds::Poles)
            };
            let layer = lower.layer;
            contradictions.extend(odds.map(|odds| Contradiction { layer, origins: (origin, turn.origin), odds }));
        }
        north = shared.as_ref().map_or(wanted, |known| known.north);
        let new = |magnet, seat: &Seat| AxisMagnet {
            magnet,
            layer: seat.layer,
            axis,
            face: seat.face,
            depth: seat.depth,
            bottom: bottom(design, &floors, magnet, seat),
            north,
            poled,
            shared: false,
            turns: vec![below],
        };
        match shared {
            Some(known) => {
                share(known, design, &floors, below);
                known.poled |= poled;
            }
            None => magnets.push(new(magnet, lower)),
        }
        magnets.push(new(over, upper));
        before = Some(turn.origin);
    }
    (magnets, contradictions)
}

/// What the first turn that says so wants: the dial's magnets all look that way unless told otherwise.
fn first_north(design: &Design) -> Pole {
    design.turns().find_map(|(_, turn)| turn.north).unwrap_or(Pole::Up)
}

fn both_through(known: &AxisMagnet, seat: &Seat) -> bool {
    known.depth == Depth::Through && seat.depth == Depth::Through
}

/// One magnet in a hole right through serves the turn above its layer too: it is glued midway.
fn share(known: &mut AxisMagnet, design: &Design, floors: &[Length], below: usize) {
    let thickness = design.layers.get(known.layer).map_or(Length::ZERO, |layer| layer.stock.thickness.mean);
    let floor = floors.get(known.layer).copied().unwrap_or_default();
    // Taken midway: which way it is pressed when the glue sets is not known, and midway it serves both turns alike.
    known.bottom = floor + (thickness - known.magnet.height) / 2.0;
    known.face = Face::Front;
    known.shared = true;
    known.turns.push(below);
}

/// Where a seated magnet's lower face stands. In a hole right through it is glued flush with the end that looks at its
/// partner.
fn bottom(design: &Design, floors: &[Length], magnet: &Magnet, seat: &Seat) -> Length {
    let floor = floors.get(seat.layer).copied().unwrap_or_default();
    let thickness = design.layers.get(seat.layer).map_or(Length::ZERO, |layer| layer.stock.thickness.mean);
    match (seat.face, seat.depth) {
        (Face::Front, Depth::Down(depth)) => floor + thickness - depth.made() + magnet.film(),
        (Face::Front, Depth::Through) => floor + thickness - magnet.height,
        (Face::Back, Depth::Down(depth)) => floor + depth.made() - magnet.film() - magnet.height,
        (Face::Back, Depth::Through) => floor,
    }
}
