//! How a dial looks from one side: its layers in the stock's own tones, the nearer over the farther.
//!
//! Every layer is drawn once, as a definition; a picture is a pile of references, each turned to its place.

use kurbo::{Affine, BezPath};
use svg::node::element::{Circle, ClipPath, Definitions, Group, Path, Use};

use super::path::contours;
use crate::audit::pose::Pose;
use crate::design::{Depth, Design, Face, Half, Joint, Layer, Mark, Pivot, Rivet, Shape, Tone, Turn, Work, hex};
use crate::geometry::Region;

/// Width of the edge of a layer and of a scored line, in mm.
const LINE_MM: f64 = 0.3;
/// How much of clear stock's own colour is seen.
const CLEAR: &str = "0.15";
/// How dark a pocket's floor is drawn, as a share of the engraved tone: only to show that something is there.
const POCKET_TONE: f64 = 0.25;
/// The head of a rivet, and its edge.
const METAL: (Tone, Tone) = ([0xb8, 0xb8, 0xbc], [0x60, 0x60, 0x66]);

/// A dial seen from one side.
pub(super) struct Look<'a> {
    design: &'a Design,
    /// The side that looks at the reader.
    face: Face,
    /// Goes before the ids of its definitions.
    prefix: String,
}

impl<'a> Look<'a> {
    /// `prefix` must be its own in the drawing.
    pub(super) fn new(design: &'a Design, face: Face, prefix: String) -> Self {
        Self { design, face, prefix }
    }

    /// How far the dial reaches from its axis, in mm.
    pub(super) fn reach(&self) -> f64 {
        let swept = self.design.layers.iter().map(|layer| crate::audit::fit::swept(&layer.outline).as_mm() / 2.0);
        swept.fold(1.0, f64::max)
    }

    /// One group for each layer, for [`Look::at`] to refer to.
    pub(super) fn definitions(&self) -> Definitions {
        let layers = self.design.layers.iter().enumerate();
        layers.fold(Definitions::new(), |all, (at, layer)| {
            let material = layer.material();
            let clip = ClipPath::new()
                .set("id", format!("{}-edge", self.id(at)))
                .add(self.path(material.path()).set("clip-rule", "evenodd"));
            all.add(clip).add(self.layer(at, layer, &material))
        })
    }

    /// The dial at a pose, its axis at the origin; of every turn, the half that the player turns is turned.
    pub(super) fn at(&self, pose: &Pose) -> Group {
        let still: f64 = self
            .design
            .turns()
            .filter(|(_, turn)| turn.turning == Half::Lower)
            .map(|(below, _)| pose.between(below, below + 1))
            .sum();
        let mut order: Vec<usize> = (0..self.design.layers.len()).collect();
        if self.face == Face::Back {
            order.reverse();
        }
        order.into_iter().fold(Group::new(), |picture, at| {
            let turned = pose.between(0, at) - still;
            let turned = if self.face == Face::Front { turned } else { -turned };
            let layer = Use::new()
                .set("xlink:href", format!("#{}", self.id(at)))
                .set("transform", format!("rotate({})", crate::units::plain(turned, 4)));
            self.rivets_on(at).map(head).fold(picture.add(layer), Group::add)
        })
    }

    fn id(&self, layer: usize) -> String {
        format!("{}-layer-{}", self.prefix, layer + 1)
    }

    fn path(&self, path: &BezPath) -> Path {
        // A back is seen mirrored, and drawings count y downwards.
        let to_drawing = match self.face {
            Face::Front => Affine::FLIP_Y,
            Face::Back => Affine::FLIP_X * Affine::FLIP_Y,
        };
        Path::new().set("d", contours(path, to_drawing).join(" "))
    }

    fn layer(&self, at: usize, layer: &Layer, material: &Region) -> Group {
        let stock = &layer.stock;
        let body = self.path(material.path()).set("fill", hex(layer.surface())).set("fill-rule", "evenodd");
        let body = if stock.clear { body.set("fill-opacity", CLEAR) } else { body };
        let edge = self.path(material.path()).set("fill", "none").set("stroke", hex(stock.engraved));
        let mut marks = Group::new().set("clip-path", format!("url(#{}-edge)", self.id(at)));
        // Through clear stock the work on its far face is seen as well, and lies farther away.
        let far = if self.face == Face::Front { Face::Back } else { Face::Front };
        let faces = if stock.clear { vec![far, self.face] } else { vec![self.face] };
        for face in faces {
            marks = self.marks_of(layer, face).into_iter().fold(marks, Group::add);
        }
        Group::new()
            .set("id", self.id(at))
            .add(body)
            .add(marks)
            .add(edge.set("stroke-width", LINE_MM).set("stroke-linejoin", "round"))
    }

    fn marks_of(&self, layer: &Layer, face: Face) -> Vec<Path> {
        let bare = layer.marks.iter().filter(|mark| mark.work == Work::Bare).filter_map(region_of);
        let bare = bare.fold(Region::empty(), |all, one| all.union(one));
        let marks = layer.marks.iter().filter(|mark| mark.face == face);
        let marks = marks.filter_map(|mark| self.mark(layer, mark, &bare));
        let rings = layer.rings.iter().filter(|ring| ring.face == face);
        let labels = rings
            .flat_map(|ring| ring.labels.iter().map(move |label| (layer.inked(ring.tone, ring.ink.as_ref()), label)));
        marks.chain(labels.map(|(colour, label)| self.filled(&label.ink, colour))).collect()
    }

    fn mark(&self, layer: &Layer, mark: &Mark, bare: &Region) -> Option<Path> {
        let line = |path: &BezPath, colour: Tone| {
            let path = self.path(path).set("fill", "none").set("stroke", hex(colour));
            path.set("stroke-width", LINE_MM)
        };
        Some(match (&mark.work, &mark.shape) {
            (Work::Paint { colour }, Shape::Region(region)) => self.filled(&region.difference(bare), *colour),
            (Work::Engrave { tone, ink, .. }, Shape::Region(region)) => {
                self.filled(region, layer.inked(*tone, ink.as_ref()))
            }
            (Work::Engrave { tone, ink, .. }, Shape::Trace(trace)) => {
                line(trace.path(), layer.inked(*tone, ink.as_ref()))
            }
            (Work::Score, Shape::Region(region)) => line(region.path(), layer.marked(1.0)),
            (Work::Score, Shape::Trace(trace)) => line(trace.path(), layer.marked(1.0)),
            (Work::Pocket { depth: Depth::Down(_) }, Shape::Region(region)) => {
                self.filled(region, layer.marked(POCKET_TONE))
            }
            _ => return None,
        })
    }

    fn filled(&self, region: &Region, colour: Tone) -> Path {
        self.path(region.path()).set("fill", hex(colour)).set("fill-rule", "evenodd")
    }

    /// The rivets whose head is seen on this layer.
    fn rivets_on(&self, layer: usize) -> impl Iterator<Item = &'a Rivet> {
        let joints = &self.design.joints;
        let turns = |joint: &usize| matches!(joints.get(*joint), Some(Joint::Turn(_)));
        // A rivet goes through everything glued to either half of its turn.
        let ends = match self.face {
            Face::Front => (layer..joints.len()).next().is_none_or(|joint| turns(&joint)),
            Face::Back => layer.checked_sub(1).is_none_or(|joint| turns(&joint)),
        };
        let of = match self.face {
            Face::Front => (0..layer).rev().find(turns),
            Face::Back => (layer..joints.len()).find(turns),
        };
        let turn = of.filter(|_| ends).and_then(|joint| joints.get(joint));
        turn.into_iter().filter_map(|joint| match joint {
            Joint::Turn(Turn { pivot: Pivot::Rivet(rivet), .. }) => Some(rivet),
            _ => None,
        })
    }
}

fn head(rivet: &Rivet) -> Circle {
    let (fill, edge) = METAL;
    Circle::new()
        .set("r", crate::units::plain(rivet.head.as_mm() / 2.0, 3))
        .set("fill", hex(fill))
        .set("stroke", hex(edge))
        .set("stroke-width", LINE_MM)
}

fn region_of(mark: &Mark) -> Option<&Region> {
    match &mark.shape {
        Shape::Region(region) => Some(region),
        Shape::Trace(_) => None,
    }
}
