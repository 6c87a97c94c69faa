//! Wheels and hands: layers that turn about an axis of their own, in an opening of another layer or at a point on it.
//!
//! A wheel stands in the list of layers right above its carrier, whatever level it lies at, and its turn has an [`Axle`]. What is
//! above it is glued to its carrier and not to it. A layer is drawn about its own axis wherever it lies, so that a wheel's shapes are
//! about its own middle, and the carrier's about the board's. A hand, which lies at a point, is a wheel wherever nothing else is said.

use kurbo::{Affine, Point};

use super::{Design, Fastener, Glue, Half, Head, Joint, Kept, Layer, Mark, Pivot, Rivet, Seat, Turn};
use crate::geometry::{Bay, Region};
use crate::units::Length;

/// The axis of its own that a wheel turns about.
#[derive(Clone, Debug, PartialEq)]
pub struct Axle {
    /// Place in the stack of the layer that the wheel lies in or on.
    pub carrier: usize,
    /// Where its axis stands on the board.
    pub centre: Point,
    /// The opening of the carrier that it lies in; none for a hand, which lies on the carrier.
    pub wall: Option<Wall>,
    /// The nearest layers below and above that do not leave the wheel free, by place in the stack: what it lies on, and what keeps
    /// it in. Nothing lies over a hand.
    pub floor: Option<usize>,
    /// See [`Axle::floor`].
    pub lid: Option<usize>,
}

/// The wall that a wheel turns in.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    /// The opening, as the maker calls it.
    pub opening: String,
    /// The circle that its wall follows, and where it is missing.
    pub bay: Bay,
}

impl Axle {
    /// Takes what is drawn about the wheel's axis to the board.
    pub fn place(&self) -> Affine {
        Affine::translate(self.centre.to_vec2())
    }
}

impl Wall {
    /// How much wider the opening is than a wheel that sweeps a circle of this radius.
    pub fn clearance(&self, swept: f64) -> Length {
        Length::mm(2.0 * (self.bay.radius - swept))
    }
}

impl Design {
    /// The turn of a wheel and its axle; none for what is no wheel.
    pub fn wheel(&self, layer: usize) -> Option<(&Turn, &Axle)> {
        match self.joints.get(layer.checked_sub(1)?)? {
            Joint::Turn(turn) => Some((turn, turn.axle.as_ref()?)),
            Joint::Glue(_) => None,
        }
    }

    /// The same for one that lies in an opening, with its wall.
    pub fn walled(&self, layer: usize) -> Option<(&Turn, &Axle, &Wall)> {
        let (turn, axle) = self.wheel(layer)?;
        Some((turn, axle, axle.wall.as_ref()?))
    }

    /// Whether this layer turns about an axis of its own.
    pub fn is_wheel(&self, layer: usize) -> bool {
        self.wheel(layer).is_some()
    }

    /// Whether this layer lies at a point on another one, about which it turns.
    pub fn is_hand(&self, layer: usize) -> bool {
        self.wheel(layer).is_some_and(|(_, axle)| axle.wall.is_none())
    }

    /// Where a layer's own axis stands on the board.
    pub fn axis(&self, layer: usize) -> Point {
        self.wheel(layer).map_or(Point::ORIGIN, |(_, axle)| axle.centre)
    }

    /// Where the axis of a turn stands in the frame of a layer.
    pub fn axis_on(&self, turn: &Turn, layer: usize) -> Point {
        let centre = turn.axle.as_ref().map_or(Point::ORIGIN, |axle| axle.centre);
        (centre - self.axis(layer)).to_point()
    }

    /// The layers whose faces meet at the turn right below the layer above `below`: the lower one and the upper one.
    pub fn across(&self, below: usize) -> (usize, usize) {
        (self.wheel(below + 1).map_or(below, |(_, axle)| axle.carrier), below + 1)
    }

    /// Every wheel: its place in the stack, its layer, its turn and its axle.
    pub fn wheels(&self) -> impl Iterator<Item = (usize, &Layer, &Turn, &Axle)> {
        let all = self.layers.iter().enumerate();
        all.filter_map(|(at, layer)| self.wheel(at).map(|(turn, axle)| (at, layer, turn, axle)))
    }

    /// Whether anything turns about an axis of its own.
    pub fn has_wheels(&self) -> bool {
        self.wheels().next().is_some()
    }

    /// The first wheel that is like this one, face for face, and held alike, by place in the stack; none for the first.
    pub fn alike(&self, wheel: usize) -> Option<usize> {
        let own = self.layers.get(wheel)?;
        let (turn, _) = self.wheel(wheel)?;
        let mut before = self.wheels().take_while(|(at, ..)| *at < wheel);
        before.find(|(_, layer, other, _)| made_alike(layer, own) && held_alike(other, turn)).map(|(at, ..)| at)
    }

    /// The layer that is part of the stack itself, at this place or below: a wheel's carrier, any other layer itself.
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
        let (_, axle) = self.wheel(wheel)?;
        let between = axle.floor? + 1..axle.lid?;
        let boards = between.filter(|at| !self.is_wheel(*at)).filter_map(|at| self.layers.get(at));
        let boards = boards.fold(Length::ZERO, |sum, layer| sum + layer.stock.thickness.mean);
        let films = self.films_round(axle).fold(boards, |sum, glue| sum + glue.adhesive.film);
        Some(films - self.layers.get(wheel)?.stock.thickness.mean)
    }

    /// The glue between a wheel's floor and its lid.
    pub fn films_round<'d>(&'d self, axle: &Axle) -> impl Iterator<Item = &'d Glue> {
        let (floor, lid) = (axle.floor.unwrap_or(0), axle.lid.unwrap_or(self.layers.len()));
        self.bonds().filter(move |(below, above, _)| *below >= floor && *above <= lid).map(|(.., glue)| glue)
    }

    /// An ordinary dial of two halves, about a wheel's axis: the wheel, and all that stands still round it. What is proven of any
    /// dial is proven of this one. No other wheel is in it: none sweeps where this one does.
    pub fn about(&self, wheel: usize) -> Option<Self> {
        let (turn, axle, wall) = match self.walled(wheel) {
            Some(walled) => walled,
            None => return self.about_hand(wheel, self.layers.len()),
        };
        let own = self.layers.get(wheel)?;
        let lowest = axle.floor.map_or(0, |floor| floor + 1);
        let still = self.still(axle, lowest..self.layers.len());
        let mut layers = vec![own.clone()];
        layers.extend(still.layers);
        self.lower_beside(wheel, layers.get_mut(1..)?);
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
        let turn = Turn { pivot: Pivot::Rivet(shank), turning: Half::Lower, axle: None, ..turn.clone() };
        let joints = std::iter::once(Joint::Turn(turn)).chain(still.joints).collect();
        Some(self.alone(wheel, layers, joints))
    }

    /// The same for a hand, which lies on all that stands still up to a place in the stack: what is read with it is read past all of
    /// that, and it is held by what reaches up to its carrier.
    ///
    /// What is glued on beside the hand is as if it were pressed flat, so that the hand lies on its carrier.
    fn about_hand(&self, hand: usize, end: usize) -> Option<Self> {
        let (turn, axle) = self.wheel(hand).filter(|(_, axle)| axle.wall.is_none())?;
        let still = self.still(axle, 0..end);
        let (mut layers, mut joints) = (still.layers, still.joints);
        let own = still.places.iter().position(|at| *at == axle.carrier)?;
        for layer in layers.iter_mut().skip(own + 1) {
            layer.stock.thickness.mean = Length::ZERO;
        }
        for joint in joints.iter_mut().skip(own) {
            if let Joint::Glue(glue) = joint {
                glue.adhesive.film = Length::ZERO;
            }
        }
        layers.push(self.layers.get(hand)?.clone());
        let seat_below = |seat: &Seat| still.places.iter().position(|at| *at == seat.layer);
        let seated = |seat: &Seat, layer: usize| Seat { layer, ..*seat };
        let pivot = match &turn.pivot {
            Pivot::Magnets { magnet, above, lower, upper } => Pivot::Magnets {
                magnet: magnet.clone(),
                above: above.clone(),
                lower: seated(lower, seat_below(lower)?),
                upper: seated(upper, layers.len() - 1),
            },
            other => other.clone(),
        };
        joints.push(Joint::Turn(Turn { pivot, axle: None, ..turn.clone() }));
        Some(self.alone(hand, layers, joints))
    }

    /// What holds a hand: itself, and what its pivot reaches down through from its carrier.
    pub fn held_about(&self, hand: usize) -> Option<Self> {
        let (_, axle) = self.wheel(hand)?;
        self.about_hand(hand, axle.carrier + 1)
    }

    /// All of these layers that stand still, about a wheel's axis, with the glue between them.
    fn still(&self, axle: &Axle, places: std::ops::Range<usize>) -> Still {
        let places: Vec<usize> = places.filter(|at| !self.is_wheel(*at)).collect();
        let to_axis = axle.place().inverse();
        let layers = places.iter().filter_map(|at| self.layers.get(*at)).map(|layer| moved(layer, to_axis)).collect();
        let joints = places.iter().skip(1).filter_map(|at| self.joints.get(at.checked_sub(1)?).cloned()).collect();
        Still { places, layers, joints }
    }

    /// A dial of these layers, with the readings that this wheel takes part in.
    fn alone(&self, wheel: usize, layers: Vec<Layer>, joints: Vec<Joint>) -> Self {
        let readings = self.readings.iter().filter(|reading| {
            let by = reading.by.iter().filter_map(|name| self.mark(name)).map(|(at, _)| at);
            self.ring(&reading.ring).map(|(at, _)| at).into_iter().chain(by).any(|at| at == wheel)
        });
        Self { readings: readings.cloned().collect(), layers, joints, slot: None, ..self.clone() }
    }

    /// Standard deviation of how much wider an opening is than its wheel: one beam cuts both, the wheel smaller where it cuts the
    /// opening wider, by as much as the kerf strays each.
    pub fn clearance_strays(&self) -> Length {
        self.spreads.kerf * 2.0
    }

    /// What lies beside a wheel is as high above its front as its lid is, and not above it.
    fn lower_beside(&self, wheel: usize, still: &mut [Layer]) {
        let Some((_, axle)) = self.wheel(wheel) else { return };
        let from = axle.floor.map_or(0, |floor| floor + 1);
        let beside = (from..axle.lid.unwrap_or(self.layers.len())).filter(|at| !self.is_wheel(*at)).count();
        let films =
            self.bonds().filter(|(below, above, _)| *below >= from && axle.lid.is_some_and(|lid| *above <= lid));
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

/// Whether two copies are one part: they may differ in their rings, whose labels stand where each is read, and in what their pivots
/// and clicks need.
fn made_alike(one: &Layer, other: &Layer) -> bool {
    fn inks(layer: &Layer) -> impl Iterator<Item = &Region> {
        layer.rings.iter().flat_map(|ring| &ring.labels).map(|label| &label.ink)
    }
    let same = |(one, other): (&Mark, &Mark)| {
        (one.face, &one.work) == (other.face, &other.work) && one.shape.path() == other.shape.path()
    };
    one.of == other.of
        && inks(one).eq(inks(other))
        && one.marks.len() == other.marks.len()
        && one.marks.iter().zip(&other.marks).all(same)
}

fn held_alike(one: &Turn, other: &Turn) -> bool {
    match (&one.pivot, &other.pivot) {
        (Pivot::Magnets { .. }, Pivot::Magnets { .. }) => one.pivot.discs().eq(other.pivot.discs()),
        (Pivot::Rivet(one), Pivot::Rivet(other)) => one.name == other.name,
        (Pivot::Wall, Pivot::Wall) => true,
        _ => false,
    }
}

/// What stands still round a wheel.
struct Still {
    /// Where it stands in the stack.
    places: Vec<usize>,
    layers: Vec<Layer>,
    joints: Vec<Joint>,
}

/// A layer as it stands in another frame.
fn moved(layer: &Layer, map: Affine) -> Layer {
    let kept = Kept::of(layer.material().transformed(map));
    let mut moved = Layer { outline: layer.outline.transformed(map), kept, ..layer.clone() };
    for Mark { shape, .. } in &mut moved.marks {
        *shape = shape.transformed(map);
    }
    for ring in &mut moved.rings {
        ring.centre = map * ring.centre;
        for label in &mut ring.labels {
            label.ink = label.ink.transformed(map);
            label.lines = label.lines.as_ref().map(|lines| lines.transformed(map));
        }
    }
    moved
}
