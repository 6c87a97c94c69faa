//! What stands proud: of the faces that meet, which it keeps apart, and of the outer ones, which it makes thicker.

use kurbo::{Affine, Point};

use super::{Depth, Design, Face, Fastener, Head, Joint, Layer, Magnet, Pivot, Rivet, Seat, Turn};
use crate::geometry::Region;
use crate::geometry::shapes::circle;
use crate::units::Length;

/// Something that is higher than its room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proud<'d> {
    /// By how much.
    pub by: Length,
    /// What it is.
    pub what: What<'d>,
}

/// What can stand proud.
#[derive(Clone, Copy, Debug)]
pub enum What<'d> {
    /// The two magnets on the axis of a turn, together higher than their seats.
    Pair(&'d Turn),
    /// Its click magnets.
    Clicks(&'d Turn),
    /// A magnet in a hole through a layer, which it is higher than.
    Through(&'d Magnet, &'d Layer),
    /// A head or nut of what clamps.
    Head(&'d Rivet, Head),
}

/// A thing is the same where it is the same kind of thing: a design holds each once.
impl PartialEq for What<'_> {
    fn eq(&self, other: &Self) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
    }
}

/// What stands proud in a stack.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Standing<'d> {
    /// What keeps the layers of each joint apart; one for each joint.
    pub joints: Vec<Option<Proud<'d>>>,
    /// What stands out of the lowest face.
    pub bottom: Option<Proud<'d>>,
    /// What stands out of the uppermost face.
    pub top: Option<Proud<'d>>,
    /// What stands out of the front of a hand, by its place in the stack.
    hands: Vec<(usize, Proud<'d>)>,
}

impl Standing<'_> {
    /// How far the layers of a joint are kept apart.
    pub fn apart(&self, joint: usize) -> Length {
        by(self.joints.get(joint).copied().flatten())
    }

    /// How far something stands out of the lowest and of the uppermost face.
    pub fn beyond(&self) -> [Length; 2] {
        [by(self.bottom), by(self.top)]
    }

    /// How far something stands out of the front of a hand.
    pub(super) fn over(&self, hand: usize) -> Length {
        by(self.hands.iter().find(|(at, _)| *at == hand).map(|(_, proud)| *proud))
    }
}

fn by(proud: Option<Proud>) -> Length {
    proud.map_or(Length::ZERO, |proud| proud.by)
}

/// A head or nut on the face that it lies on.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Seated<'d> {
    pub(crate) rivet: &'d Rivet,
    pub(crate) head: Head,
    /// Place of the layer in the stack.
    pub(crate) layer: usize,
    pub(crate) face: Face,
    /// Where its axis stands in the frame of the layer.
    pub(crate) about: Point,
}

impl Seated<'_> {
    /// What it lies on; none where it is next to nothing.
    pub(crate) fn disc(&self) -> Option<Region> {
        disc(self.head.diameter, self.about).filter(|_| self.head.height > Length::ZERO)
    }

    /// What it is called.
    pub(crate) fn word(&self) -> &'static str {
        if self.rivet.kind == Fastener::Pin && self.face == Face::Back { "nut" } else { "head" }
    }
}

/// Every head and nut of what clamps.
pub(crate) fn heads(design: &Design) -> impl Iterator<Item = Seated<'_>> {
    design.turns().flat_map(|(below, turn)| match &turn.pivot {
        Pivot::Rivet(rivet) => seated(design, (below, turn), rivet),
        Pivot::Magnets { .. } | Pivot::Wall => Vec::new(),
    })
}

fn seated<'d>(design: &Design, (below, turn): (usize, &Turn), rivet: &'d Rivet) -> Vec<Seated<'d>> {
    let joined = design.joined(below);
    let ends = [(joined.first(), Face::Back), (joined.last(), Face::Front)];
    let seat = |((at, face), head): ((Option<&usize>, Face), Head)| {
        let layer = *at?;
        Some(Seated { rivet, head, layer, face, about: design.axis_on(turn, layer) })
    };
    ends.into_iter().zip(rivet.heads).filter_map(seat).collect()
}

/// What stands proud in this stack; of several in one place the highest.
pub fn standing(design: &Design) -> Standing<'_> {
    let mut found = Standing { joints: vec![None; design.joints.len()], ..Standing::default() };
    for (below, turn) in design.turns() {
        match &turn.pivot {
            Pivot::Magnets { .. } => {
                found.put(below, -room_of_pair(design, turn).unwrap_or_default(), What::Pair(turn));
                let outward = [Face::Back, Face::Front];
                for ((magnet, seat), outward) in turn.pivot.seats().into_iter().flatten().zip(outward) {
                    if let (Depth::Through, Some(layer)) = (seat.depth, design.layers.get(seat.layer)) {
                        let more = magnet.height - layer.stock.thickness.mean;
                        let more = if is_shared(design, seat) { more / 2.0 } else { more };
                        let about = design.axis_on(turn, seat.layer);
                        let stands = Stands { wide: magnet.diameter, by: more, about };
                        found.put_beside(design, (seat.layer, outward), stands, What::Through(magnet, layer));
                    }
                }
            }
            Pivot::Rivet(rivet) => {
                for Seated { head, layer, face, about, .. } in seated(design, (below, turn), rivet) {
                    let wide = head.diameter;
                    let sunk = design.layers.get(layer).map_or(Length::ZERO, |layer| recess(layer, face, wide, about));
                    let stands = Stands { wide, by: head.height - sunk, about };
                    found.put_beside(design, (layer, face), stands, What::Head(rivet, head));
                }
            }
            Pivot::Wall => {}
        }
        if let Some(clicks) = &turn.clicks {
            let high = (clicks.magnet.height + clicks.magnet.film()) * 2.0;
            found.put(below, high - clicks.depths[0].made() - clicks.depths[1].made(), What::Clicks(turn));
        }
    }
    found
}

impl<'d> Standing<'d> {
    fn put(&mut self, joint: usize, by: Length, what: What<'d>) {
        if let Some(place) = self.joints.get_mut(joint) {
            keep_higher(place, Proud { by, what });
        }
    }

    /// Something that stands out of a face of a layer. A layer that lies on that face is kept off it, unless it is open there.
    fn put_beside(&mut self, design: &Design, (at, face): (usize, Face), stands: Stands, what: What<'d>) {
        let Stands { wide, by, about } = stands;
        if design.is_hand(at) {
            if face == Face::Front && by.as_mm() > NOT_READ_MM {
                self.hands.push((at, Proud { by, what }));
            }
            return;
        }
        let (joint, next) = match face {
            Face::Front => (Some(at), (at + 1..design.layers.len()).find(|next| !design.is_wheel(*next))),
            Face::Back => (at.checked_sub(1), at.checked_sub(1)),
        };
        match next.and_then(|next| design.layers.get(next)) {
            Some(next) if is_open(next, wide, about) => {}
            Some(_) => {
                let joint = joint.unwrap_or(usize::MAX);
                // The glue between two layers leaves so much room.
                let film = match design.joints.get(joint) {
                    Some(Joint::Glue(glue)) => glue.adhesive.film,
                    _ => Length::ZERO,
                };
                self.put(joint, by - film, what);
            }
            None if face == Face::Front => keep_higher(&mut self.top, Proud { by, what }),
            None => keep_higher(&mut self.bottom, Proud { by, what }),
        }
    }
}

/// Something on an axis that stands out of a face.
struct Stands {
    wide: Length,
    by: Length,
    /// Where the axis stands in the frame of the layer.
    about: Point,
}

/// What no calliper reads, in mm, keeps nothing apart (common practice, no source).
const NOT_READ_MM: f64 = 0.01;

fn keep_higher<'d>(place: &mut Option<Proud<'d>>, proud: Proud<'d>) {
    if proud.by.as_mm() > NOT_READ_MM && place.is_none_or(|known| known.by < proud.by) {
        *place = Some(proud);
    }
}

/// How far apart the magnets on the axis of a turn stay when its faces meet, on the average; below zero where they stand out. None
/// where it turns on none.
pub fn room_of_pair(design: &Design, turn: &Turn) -> Option<Length> {
    let [lower, upper] = turn.pivot.seats()?;
    let inner = design.layers.get(lower.1.layer + 1..upper.1.layer).unwrap_or_default();
    let between = inner.iter().fold(Length::ZERO, |all, layer| all + layer.stock.thickness.mean);
    let rooms = [lower, upper].map(|(magnet, seat)| room(design, magnet, seat));
    let both = rooms[0] + rooms[1] + between;
    // What is wider than the pocket of the other half does not go into it.
    let (wide, narrow, own) =
        if lower.0.diameter < upper.0.diameter { (upper.0, lower.0, rooms[1]) } else { (lower.0, upper.0, rooms[0]) };
    let alone = own + between;
    Some(if wide.diameter > narrow.diameter + narrow.clearance && alone < both { alone } else { both })
}

/// How far a seated magnet stands below the face that looks at its partner; below zero where it stands out of it.
fn room(design: &Design, magnet: &Magnet, seat: &Seat) -> Length {
    match seat.depth {
        Depth::Down(_) => seat.sunk(magnet).unwrap_or_default(),
        // One that serves two turns is glued midway, any other flush with the face that looks at its partner.
        Depth::Through if is_shared(design, seat) => {
            let thick = design.layers.get(seat.layer).map_or(magnet.height, |layer| layer.stock.thickness.mean);
            (thick - magnet.height) / 2.0
        }
        Depth::Through => Length::ZERO,
    }
}

/// Whether the magnet in the hole through a layer serves the turn below it and the one above.
fn is_shared(design: &Design, shared: &Seat) -> bool {
    let seats = design.turns().filter(|(_, turn)| turn.axle.is_none()).flat_map(|(_, turn)| match &turn.pivot {
        Pivot::Magnets { lower, upper, .. } => vec![lower, upper],
        Pivot::Rivet(_) | Pivot::Wall => Vec::new(),
    });
    seats.filter(|seat| seat.layer == shared.layer && seat.depth == Depth::Through).count() > 1
}

/// How deep a face is sunk where a head of this diameter lies on the axis, which stands at a point of the layer.
pub(crate) fn recess(layer: &Layer, face: Face, head: Length, about: Point) -> Length {
    let Some(disc) = disc(head, about) else { return Length::ZERO };
    let holds =
        layer.pockets().filter(|(mark, region, _)| mark.face == face && region.contains(about) && region.covers(&disc));
    holds.map(|(_, _, depth)| depth.made()).fold(Length::ZERO, |deep, other| if deep < other { other } else { deep })
}

/// Whether a layer is cut through where something of this diameter stands on the axis.
fn is_open(layer: &Layer, wide: Length, about: Point) -> bool {
    let disc = disc(wide, about);
    let covers = |region: &Region| disc.as_ref().is_some_and(|disc| region.covers(disc));
    layer.openings().any(|(_, region)| region.contains(about) && covers(region))
}

fn disc(across: Length, about: Point) -> Option<Region> {
    Some(circle(across.as_mm() / 2.0).ok()?.transformed(Affine::translate(about.to_vec2())))
}
