//! How a dial looks from one side: its layers in the stock's own tones, the nearer over the farther.
//!
//! Every layer is drawn once, as a definition; a picture is a pile of references, each turned to its place.

use std::collections::BTreeSet;

use kurbo::{Affine, BezPath, Point, Vec2};
use svg::node::element::{Circle, ClipPath, Definitions, Group, Path, Use};

use crate::design::pose::{Pose, upright};
use crate::design::{
    Depth, Design, Ends, Face, Finished, Head, Ink, Joint, Label, Layer, Mark, Pivot, Ring, RingWork, Rivet, Shape,
    Tone, Turn, Work, hex,
};
use crate::geometry::contours;
use crate::geometry::{Region, turn};
use crate::units::Angle;

/// Width of the edge of a layer and of a scored line, in mm.
const LINE_MM: f64 = 0.3;
/// How wide wood is scorched on both sides of a cut together, in mm, and how much of the scorched colour is seen; one lies over the
/// other, so that it fades.
const SCORCHED: [(f64, f64); 3] = [(1.3, 0.05), (0.9, 0.09), (0.6, 0.14)];
/// How much of clear stock's own colour is seen.
const CLEAR: &str = "0.15";
/// How dark a pocket's floor is drawn, as a share of the engraved tone: only to show that something is there.
const POCKET_TONE: f64 = 0.25;
/// A head, nut or pin, and its edge.
const METAL: (Tone, Tone) = ([0xb8, 0xb8, 0xbc], [0x60, 0x60, 0x66]);

/// A dial seen from one side.
pub(super) struct Look<'a> {
    design: &'a Design,
    /// The side that looks at the reader.
    face: Face,
    /// Goes before the ids of its definitions.
    prefix: String,
    /// How far the dial reaches from its axis, in mm.
    reach: f64,
    /// Colours that a page may switch; none where every colour is fixed.
    tones: Vec<[Tone; 3]>,
    /// What lies beneath the marks of each layer; empty where layers are of one even colour.
    beneath: Vec<Vec<Use>>,
}

/// How far the finishing has come in each of the colours of [`Look::tones`].
pub(super) const STAGES: [Finished; 3] = [Finished::Bare, Finished::Stained, Finished::Filled];

impl<'a> Look<'a> {
    /// `prefix` must be its own in the drawing.
    pub(super) fn new(design: &'a Design, face: Face, prefix: String) -> Self {
        let reaches = |at: usize, layer: &Layer| {
            design.axis(at).to_vec2().hypot() + crate::audit::fit::swept(&layer.outline).as_mm() / 2.0
        };
        let swept = design.layers.iter().enumerate().map(|(at, layer)| reaches(at, layer));
        Self { design, face, prefix, reach: swept.fold(1.0, f64::max), tones: Vec::new(), beneath: Vec::new() }
    }

    /// The same, its colours named `--tone-1`, `--tone-2` …, so that a page can show the dial bare or stained. Each
    /// falls back on the finished colour.
    pub(super) fn switchable(self) -> Self {
        let tones = self.design.layers.iter().flat_map(|layer| {
            let marks = layer.marks.iter().filter_map(|mark| match &mark.work {
                Work::Engrave { tone, ink, .. } => Some((*tone, ink.as_ref())),
                _ => None,
            });
            let labels = layer.rings.iter().flat_map(|ring| ring.labels.iter().map(|label| (ring.tone, &label.filled)));
            let rings = labels.map(|(tone, ink)| (tone, ink.as_ref()));
            let bare = [0.0, POCKET_TONE, 1.0].map(|tone| (tone, None));
            marks.chain(rings).chain(bare).map(|(tone, ink)| stages(layer, tone, ink)).collect::<Vec<_>>()
        });
        // Marks that look alike at every stage share a number, and a set in order gives the same numbers every time.
        let tones: BTreeSet<[Tone; 3]> = tones.collect();
        Self { tones: tones.into_iter().collect(), ..self }
    }

    /// The same, each layer on pictures of its stock, with soot along its cuts and an outline that can be referred to.
    pub(super) fn on_boards(self, beneath: Vec<Vec<Use>>) -> Self {
        Self { beneath, ..self }
    }

    /// The id of a layer's outline, where it lies on pictures.
    pub(super) fn outline(&self, layer: usize) -> String {
        format!("{}-outline", self.id(layer))
    }

    /// The colours that a page may switch, in order of their numbers: bare, stained, filled.
    pub(super) fn tones(&self) -> &[[Tone; 3]] {
        &self.tones
    }

    /// The colour of a mark of a tone from 0, the face itself, to 1, filled with this ink.
    fn inked(&self, layer: &Layer, tone: f64, ink: Option<&Ink>) -> String {
        let finished = hex(layer.inked(tone, ink));
        match self.tones.iter().position(|known| *known == stages(layer, tone, ink)) {
            // A variable that falls back on the finished colour: so the page needs no style of its own for each dial,
            // and looks right where its script does not run.
            Some(at) => format!("var(--tone-{}, {finished})", at + 1),
            None => finished,
        }
    }

    /// How far the dial reaches from its axis, in mm.
    pub(super) fn reach(&self) -> f64 {
        self.reach
    }

    /// One group for each layer, for [`Look::at`] to refer to.
    pub(super) fn definitions(&self) -> Definitions {
        let layers = self.design.layers.iter().enumerate();
        layers.fold(Definitions::new(), |all, (at, layer)| {
            let material = layer.material();
            let edge = self.path(material.path()).set("clip-rule", "evenodd");
            let named = || edge.clone().set("fill-rule", "evenodd").set("id", self.outline(at));
            let edge = if self.beneath.is_empty() { edge.clone() } else { named() };
            let clip = ClipPath::new().set("id", format!("{}-edge", self.id(at))).add(edge);
            all.add(clip).add(self.layer(at, layer, material))
        })
    }

    /// The dial at a pose as a person holds it, its axis at the origin.
    pub(super) fn at(&self, pose: &Pose) -> Group {
        // SVG paints what comes later over what came before, so the farthest layer goes first.
        let mut order: Vec<usize> = (0..self.design.layers.len()).collect();
        if self.face == Face::Back {
            order.reverse();
        }
        order.into_iter().fold(Group::new(), |picture, at| {
            let turned = turned(self.design, self.face, pose, at);
            let turned = if self.face == Face::Front { turned } else { -turned };
            let rotate = format!("rotate({})", crate::units::plain(turned, 4));
            let layer = self
                .used(at)
                .set("transform", self.shift(at).into_iter().chain([rotate]).collect::<Vec<_>>().join(" "));
            let on_board = (self.design.axis(at).to_vec2(), self.face);
            self.heads_on(at).into_iter().map(|it| head(it, on_board)).fold(picture.add(layer), Group::add)
        })
    }

    /// How a wheel is moved to its axis, in the frame of the picture.
    fn shift(&self, at: usize) -> Option<String> {
        let axis = self.design.axis(at);
        let right = if self.face == Face::Front { axis.x } else { -axis.x };
        let [right, down] = [right, -axis.y].map(|mm| crate::units::plain(mm, 4));
        self.design.is_wheel(at).then(|| format!("translate({right} {down})"))
    }

    /// One layer by itself, upright, with the heads and nuts that are seen on it.
    pub(super) fn alone(&self, at: usize) -> Group {
        let own = (Vec2::ZERO, self.face);
        self.heads_on(at).into_iter().map(|it| head(it, own)).fold(Group::new().add(self.used(at)), Group::add)
    }

    fn used(&self, at: usize) -> Use {
        Use::new().set("xlink:href", format!("#{}", self.id(at)))
    }

    /// The id of a layer's group among the definitions.
    pub(super) fn id(&self, layer: usize) -> String {
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
        let body = self.path(material.path()).set("fill", self.inked(layer, 0.0, None)).set("fill-rule", "evenodd");
        let body = if stock.clear { body.set("fill-opacity", CLEAR) } else { body };
        let edge = self.path(material.path()).set("fill", "none").set("stroke", hex(stock.engraved));
        // Marks end where the material does: an engraving across a window is burnt into air there.
        let clipped = Group::new().set("clip-path", format!("url(#{}-edge)", self.id(at)));
        let pictures = self.beneath.get(at).map_or([].as_slice(), Vec::as_slice);
        let mut marks = pictures.iter().cloned().fold(clipped, Group::add);
        if !pictures.is_empty() {
            let scorched =
                SCORCHED.map(|(wide, seen)| edge.clone().set("stroke-width", wide).set("stroke-opacity", seen));
            marks = scorched.into_iter().fold(marks, Group::add);
        }
        // Through clear stock the work on its far face is seen as well, and lies farther away.
        let far = if self.face == Face::Front { Face::Back } else { Face::Front };
        let faces = if stock.clear { vec![far, self.face] } else { vec![self.face] };
        for face in faces {
            marks = self.marks_of(layer, face).into_iter().fold(marks, Group::add);
        }
        let drawn = Group::new()
            .set("id", self.id(at))
            .add(body)
            .add(marks)
            .add(edge.set("stroke-width", LINE_MM).set("stroke-linejoin", "round"));
        self.pins_of(at).into_iter().fold(drawn, Group::add)
    }

    fn marks_of(&self, layer: &Layer, face: Face) -> Vec<Path> {
        // What is kept bare is kept bare of every paint, wherever it stands in the text.
        let bare = layer.marks.iter().filter(|mark| mark.work == Work::Bare).filter_map(region_of);
        let bare = bare.fold(Region::empty(), |all, one| all.union(one));
        let marks = layer.marks.iter().filter(|mark| mark.face == face);
        let marks = marks.filter_map(|mark| self.mark(layer, mark, &bare));
        let rings = layer.rings.iter().filter(|ring| ring.face == face && ring.work != RingWork::Raised);
        let labels = rings.flat_map(|ring| ring.labels.iter().map(move |label| (ring, label)));
        let labels = labels.map(|(ring, label)| self.filled(&label.ink, self.label(layer, ring, label)));
        marks.chain(labels).collect()
    }

    /// The colour of a label; printed ones have theirs however far the finishing has come.
    fn label(&self, layer: &Layer, ring: &Ring, label: &Label) -> String {
        match label.filled.as_ref().and_then(|ink| ink.colour).filter(|_| ring.is_printed()) {
            Some(colour) => hex(colour),
            None => self.inked(layer, ring.tone, label.filled.as_ref()),
        }
    }

    fn mark(&self, layer: &Layer, mark: &Mark, bare: &Region) -> Option<Path> {
        let line = |path: &BezPath, colour: String| {
            let path = self.path(path).set("fill", "none").set("stroke", colour);
            path.set("stroke-width", LINE_MM)
        };
        Some(match (&mark.work, &mark.shape) {
            (Work::Paint { colour } | Work::Print { colour }, Shape::Region(region)) => {
                self.filled(&region.difference(bare), hex(*colour))
            }
            (Work::Engrave { tone, ink, .. }, Shape::Region(region)) => {
                self.filled(region, self.inked(layer, *tone, ink.as_ref()))
            }
            (Work::Engrave { tone, ink, .. }, Shape::Trace(trace)) => {
                line(trace.path(), self.inked(layer, *tone, ink.as_ref()))
            }
            (Work::Score, Shape::Region(region)) => line(region.path(), self.inked(layer, 1.0, None)),
            (Work::Score, Shape::Trace(trace)) => line(trace.path(), self.inked(layer, 1.0, None)),
            (Work::Pocket { depth: Depth::Down(_) }, Shape::Region(region)) => {
                self.filled(region, self.inked(layer, POCKET_TONE, None))
            }
            // Windows and holes are missing from the material already, and so are pockets right through.
            _ => return None,
        })
    }

    /// The pins that stand in this layer and end a turn, flush with its far face.
    fn pins_of(&self, layer: usize) -> Vec<Path> {
        let ends = self.design.turns().filter_map(|(below, turn)| Some((below, turn, turn.ends.as_ref()?)));
        let here = ends.filter(|(below, turn, _)| Ends::layers(self.design.across(*below), turn.turning).0 == layer);
        let (fill, edge) = METAL;
        let place = |turn: &Turn| Affine::translate(self.design.axis_on(turn, layer).to_vec2());
        let pins = here.filter_map(|(_, turn, ends)| Some(ends.hole().ok()?.transformed(place(turn))));
        let drawn = pins.map(|pin| self.filled(&pin, hex(fill)).set("stroke", hex(edge)).set("stroke-width", LINE_MM));
        drawn.collect()
    }

    fn filled(&self, region: &Region, colour: String) -> Path {
        self.path(region.path()).set("fill", colour).set("fill-rule", "evenodd")
    }

    /// The heads and nuts that are seen on this layer, and where in its frame.
    fn heads_on(&self, layer: usize) -> Vec<(Head, Point)> {
        if self.design.has_wheels() {
            return self.heads_of_hands(layer);
        }
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
        let front = self.face == Face::Front;
        let of_turn = turn.and_then(|joint| match joint {
            Joint::Turn(Turn { pivot: Pivot::Rivet(Rivet { heads: [nut, head], .. }), .. }) => {
                Some((if front { *head } else { *nut }, Point::ORIGIN))
            }
            _ => None,
        });
        of_turn.into_iter().collect()
    }

    /// A head lies on its hand, its nut under all that the hand lies on.
    fn heads_of_hands(&self, layer: usize) -> Vec<(Head, Point)> {
        let rivets = self.design.turns().filter_map(|(below, turn)| match &turn.pivot {
            Pivot::Rivet(Rivet { heads: [nut, head], .. }) => Some((below, turn, *nut, *head)),
            Pivot::Magnets { .. } | Pivot::Wall => None,
        });
        let here = rivets.filter_map(|(below, turn, nut, head)| {
            let joined = self.design.joined(below);
            let (end, head) = match self.face {
                Face::Front => (joined.last(), head),
                Face::Back => (joined.first(), nut),
            };
            (end == Some(&layer)).then(|| (head, self.design.axis_on(turn, layer)))
        });
        here.collect()
    }
}

/// A dial from one side at its first stop, as an SVG element within a page. `prefix` goes before its ids, `words` say what
/// it shows.
pub(crate) fn seen_from(design: &Design, face: Face, prefix: &str, words: &str) -> String {
    let look = Look::new(design, face, prefix.to_owned());
    let reach = 1.03 * look.reach();
    let (edge, across) = (crate::units::plain(reach, 3), crate::units::plain(2.0 * reach, 3));
    let picture = look.at(&Pose::at(design, &[]));
    format!(
        "<svg viewBox=\"-{edge} -{edge} {across} {across}\" role=\"img\" aria-label=\"{words}\">{}{picture}</svg>",
        look.definitions()
    )
}

/// The colours of a mark as the finishing goes on.
fn stages(layer: &Layer, tone: f64, ink: Option<&Ink>) -> [Tone; 3] {
    STAGES.map(|as_far| layer.inked_as(tone, ink, as_far))
}

/// How far a layer is turned in a picture from a side at this pose, in degrees clockwise as the front sees it: as a person holds
/// the dial, only what is seen in its openings changes.
pub(super) fn turned(design: &Design, face: Face, pose: &Pose, layer: usize) -> f64 {
    pose.between(upright(design, face), layer)
}

/// Takes a layer to where it stands in a picture from a side at this pose, in the frame of the front.
pub(super) fn placed(design: &Design, face: Face, pose: &Pose, layer: usize) -> Affine {
    Affine::translate(design.axis(layer).to_vec2()) * turn(Angle::degrees(turned(design, face, pose, layer)))
}

/// A head at a place of its layer, whose axis is drawn so far off.
fn head((head, at): (Head, Point), (axis, face): (Vec2, Face)) -> Circle {
    let (fill, edge) = METAL;
    let at = at + axis;
    let right = if face == Face::Front { at.x } else { -at.x };
    let drawn = Circle::new();
    // Most stand on the axis, which is where a circle stands unless told otherwise.
    let drawn = match [right, -at.y].map(|mm| crate::units::plain(mm, 3)) {
        _ if at == Point::ORIGIN => drawn,
        [right, down] => drawn.set("cx", right).set("cy", down),
    };
    drawn
        .set("r", crate::units::plain(head.diameter.as_mm() / 2.0, 3))
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
