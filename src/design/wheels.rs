//! Wheels in a frame: layers that turn in openings of another layer, each about an axis of its own.
//!
//! A wheel stands among the layers right above its frame, though it lies at the same level, and its joint is a turn on
//! [`Pivot::Wall`]. What is above it is glued to its frame and not to it. A layer is drawn about its own axis wherever it lies, so
//! that a wheel's shapes are about its own middle, and the frame's about the board's.

use kurbo::{Affine, Point};

use super::{Design, Fastener, Glue, Half, Head, Joint, Kept, Layer, Mark, Pivot, Rivet, Shape, Turn};
use crate::geometry::{Bay, Region};
use crate::units::Length;

/// The wall that a wheel turns in.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// Place in the stack of the layer that the opening is in.
    pub frame: usize,
    /// The opening, as the maker calls it.
    pub opening: String,
    /// The circle that its wall follows, and where it is missing; its middle is the wheel's axis.
    pub bay: Bay,
    /// The nearest layers below and above that do not leave the wheel free, by place in the stack: what it lies on, and what keeps
    /// it in.
    pub floor: Option<usize>,
    /// See [`Wall::floor`].
    pub lid: Option<usize>,
}

impl Wall {
    /// Takes what is drawn about the wheel's axis to the board.
    pub fn place(&self) -> Affine {
        Affine::translate(self.bay.centre.to_vec2())
    }

    /// How much wider the opening is than a wheel that sweeps a circle of this radius.
    pub fn clearance(&self, swept: f64) -> Length {
        Length::mm(2.0 * (self.bay.radius - swept))
    }
}

impl Design {
    /// The turn of a wheel and the wall that it turns in; none for what is no wheel.
    pub fn wheel(&self, layer: usize) -> Option<(&Turn, &Wall)> {
        match self.joints.get(layer.checked_sub(1)?)? {
            Joint::Turn(turn) => match &turn.pivot {
                Pivot::Wall(wall) => Some((turn, wall)),
                Pivot::Magnets { .. } | Pivot::Rivet(_) => None,
            },
            Joint::Glue(_) => None,
        }
    }

    /// Whether this layer turns in an opening of another.
    pub fn is_wheel(&self, layer: usize) -> bool {
        self.wheel(layer).is_some()
    }

    /// Where a layer's own axis stands on the board.
    pub fn axis(&self, layer: usize) -> Point {
        self.wheel(layer).map_or(Point::ORIGIN, |(_, wall)| wall.bay.centre)
    }

    /// Every wheel: its place in the stack, its layer, its turn and its wall.
    pub fn wheels(&self) -> impl Iterator<Item = (usize, &Layer, &Turn, &Wall)> {
        let all = self.layers.iter().enumerate();
        all.filter_map(|(at, layer)| self.wheel(at).map(|(turn, wall)| (at, layer, turn, wall)))
    }

    /// Whether anything turns in a frame.
    pub fn has_wheels(&self) -> bool {
        self.wheels().next().is_some()
    }

    /// The first wheel that is like this one, face for face, by place in the stack; none for the first.
    pub fn alike(&self, wheel: usize) -> Option<usize> {
        let own = self.layers.get(wheel).filter(|_| self.is_wheel(wheel))?;
        fn inks(layer: &Layer) -> impl Iterator<Item = &Region> {
            layer.rings.iter().flat_map(|ring| &ring.labels).map(|label| &label.ink)
        }
        let mut before = self.wheels().take_while(|(at, ..)| *at < wheel);
        // Two copies of one layer differ in their rings alone, whose labels stand where each is read.
        before.find(|(_, other, ..)| other.of == own.of && inks(other).eq(inks(own))).map(|(at, ..)| at)
    }

    /// The layer that is part of the stack itself, at this place or below: a wheel's frame, any other layer itself.
    pub fn stacked(&self, layer: usize) -> usize {
        (0..=layer).rev().find(|at| !self.is_wheel(*at)).unwrap_or(0)
    }

    /// What is glued to what: the places of the lower and of the upper layer.
    pub fn bonds(&self) -> impl Iterator<Item = (usize, usize, &Glue)> {
        self.joints.iter().enumerate().filter_map(|(joint, it)| match it {
            Joint::Glue(glue) => Some((self.stacked(joint), joint + 1, glue)),
            Joint::Turn(_) => None,
        })
    }

    /// How much higher the room of a wheel is than the wheel, as drawn; none where it has no floor or no lid.
    pub fn axial_room(&self, wheel: usize) -> Option<Length> {
        let (_, wall) = self.wheel(wheel)?;
        let between = wall.floor? + 1..wall.lid?;
        let boards = between.filter(|at| !self.is_wheel(*at)).filter_map(|at| self.layers.get(at));
        let boards = boards.fold(Length::ZERO, |sum, layer| sum + layer.stock.thickness.mean);
        let films = self.films_round(wall).fold(boards, |sum, glue| sum + glue.adhesive.film);
        Some(films - self.layers.get(wheel)?.stock.thickness.mean)
    }

    /// The glue between a wheel's floor and its lid.
    pub fn films_round<'d>(&'d self, wall: &Wall) -> impl Iterator<Item = &'d Glue> {
        let (floor, lid) = (wall.floor.unwrap_or(0), wall.lid.unwrap_or(self.layers.len()));
        self.bonds().filter(move |(below, above, _)| *below >= floor && *above <= lid).map(|(.., glue)| glue)
    }

    /// An ordinary dial of two halves, about a wheel's axis: the wheel below, and on it all that stands still beside and above it.
    /// What is proven of any dial is proven of this one. No other wheel is in it: none sweeps where this one does.
    pub fn about(&self, wheel: usize) -> Option<Self> {
        let (turn, wall) = self.wheel(wheel)?;
        let own = self.layers.get(wheel)?;
        let lowest = wall.floor.map_or(0, |floor| floor + 1);
        let still: Vec<usize> = (lowest..self.layers.len()).filter(|at| !self.is_wheel(*at)).collect();
        let to_axis = wall.place().inverse();
        let mut moved: Vec<Layer> =
            still.iter().filter_map(|at| self.layers.get(*at)).map(|layer| moved(layer, to_axis)).collect();
        self.lower_beside(wheel, &mut moved);
        let glue = still.iter().skip(1).filter_map(|at| self.joints.get(at.checked_sub(1)?).cloned());
        let swept = own.outline.swept_radius(Point::ZERO);
        let shank = Rivet {
            name: wall.opening.clone(),
            kind: Fastener::Rivet,
            shank: Length::mm(2.0 * swept),
            heads: [Head { diameter: Length::mm(2.0 * swept), height: Length::ZERO }; 2],
            grips: (Length::ZERO, self.thickness()),
            clearance: self.loosest(wall, swept),
            cost: None,
            origin: None,
        };
        let turn = Turn { pivot: Pivot::Rivet(shank), turning: Half::Lower, ..turn.clone() };
        let is_own = |ring: &str| own.rings.iter().any(|known| known.name == ring);
        Some(Self {
            layers: std::iter::once(own.clone()).chain(moved).collect(),
            joints: std::iter::once(Joint::Turn(turn)).chain(glue).collect(),
            readings: self.readings.iter().filter(|reading| is_own(&reading.ring)).cloned().collect(),
            slot: None,
            ..self.clone()
        })
    }

    /// Standard deviation of how much wider an opening is than its wheel: one beam cuts both, the wheel smaller where it cuts the
    /// opening wider, by as much as the kerf strays each.
    pub fn clearance_strays(&self) -> Length {
        self.spreads.kerf * 2.0
    }

    /// What lies beside a wheel is as high above its front as its lid is, and not above it.
    fn lower_beside(&self, wheel: usize, still: &mut [Layer]) {
        let Some((_, wall)) = self.wheel(wheel) else { return };
        let from = wall.floor.map_or(0, |floor| floor + 1);
        let beside = (from..wall.lid.unwrap_or(self.layers.len())).filter(|at| !self.is_wheel(*at)).count();
        let films =
            self.bonds().filter(|(below, above, _)| *below >= from && wall.lid.is_some_and(|lid| *above <= lid));
        let films = films.fold(Length::ZERO, |sum, (.., glue)| sum + glue.adhesive.film);
        let left = (self.axial_room(wheel).unwrap_or_default() - films).as_mm().max(0.0);
        for (at, layer) in still.iter_mut().take(beside).enumerate() {
            layer.stock.thickness.mean = if at == 0 { Length::mm(left) } else { Length::ZERO };
        }
    }

    /// How much wider an opening is than its wheel in 97 of 100 dials at the most.
    fn loosest(&self, wall: &Wall, swept: f64) -> Length {
        wall.clearance(swept) + self.clearance_strays() * 2.0
    }
}

/// A layer as it stands in another frame.
fn moved(layer: &Layer, map: Affine) -> Layer {
    let kept = Kept::of(layer.material().transformed(map));
    let mut moved = Layer { outline: layer.outline.transformed(map), kept, ..layer.clone() };
    for Mark { shape, .. } in &mut moved.marks {
        *shape = match shape {
            Shape::Region(region) => Shape::Region(region.transformed(map)),
            Shape::Trace(trace) => Shape::Trace(trace.transformed(map)),
        };
    }
    for label in moved.rings.iter_mut().flat_map(|ring| &mut ring.labels) {
        label.ink = label.ink.transformed(map);
    }
    moved
}
