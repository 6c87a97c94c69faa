//! What the parts of one layer share: what is cut, how they are turned over, how they lie.

use kurbo::{Affine, BezPath, PathEl, Point};

use super::face_sequence::{FaceSequence, is_burnt};
use super::findings;
use super::flip::{self, FlipMethod};
use super::kerf::{self, Cuts};
use super::nest::{Item, Turns};
use super::outline_cache::OutlineCache;
use super::play::Play;
use super::prints;
use crate::design::{Face, Layer, Mark, Ring, RingWork, Shape, Work};
use crate::diagnostics::Problems;
use crate::geometry::{Region, Trace, mirror, polar, turn};
use crate::units::{Angle, Length};

/// How far a tick across the rim runs on in the waste, in mm, where there is so much between two parts.
const IN_WASTE_MM: f64 = 1.0;

/// A line that loses less over the edge is burnt as it is drawn: no beam is as narrow.
const LEAST_LOST_MM: f64 = 0.02;

/// Everything that the parts of one layer share.
pub(super) struct LayerPlan<'a> {
    /// Which of the designs it belongs to.
    pub(super) design: usize,
    pub(super) layer: &'a Layer,
    pub(super) cuts: Cuts,
    pub(super) method: FlipMethod,
    /// When each face comes up.
    pub(super) sequence: FaceSequence,
    /// How far a part may lie off its place once it was turned over.
    pub(super) play: Play,
    /// Each ring that is burnt with all its labels as one shape, as far as the part reaches.
    pub(super) rings: Vec<(&'a Ring, Shape)>,
    /// Each mark with what of it is burnt: what runs over the part's edge would be burnt into its neighbours.
    pub(super) marks: Vec<(&'a Mark, Shape)>,
    /// What is printed on it before anything is cut.
    pub(super) printed: Vec<prints::OnLayer<'a>>,
    /// Whether anything is printed on the boards that it is cut from.
    pub(super) on_print: bool,
    /// What of a tick across the rim is scored into the waste: where it is now, and where the turned part brings it.
    pub(super) witness: Vec<Trace>,
    /// From the front frame to the piece as it lies unturned while it is cut.
    pub(super) base: Affine,
}

/// Plans the parts of a layer. `board_over` where its boards are turned over whole, `mirrored` where they then show the other
/// side while they are cut, `on_print` where something is printed on them; `gap` in mm parts a holder from its part.
pub(super) fn layer_plan<'a>(
    design: usize,
    layer: &'a Layer,
    (board_over, mirrored, on_print): (bool, bool, bool),
    gap: f64,
    cache: &OutlineCache,
    problems: &mut Problems,
) -> LayerPlan<'a> {
    let cuts = kerf::cuts(layer, cache, problems);
    let method = flip::method(layer, &cuts, board_over, gap, problems);
    let sequence = FaceSequence::of(layer);
    let up = method.up_when_cut(&sequence);
    let faced = match up {
        Face::Front => Affine::IDENTITY,
        Face::Back => mirror(Angle::ZERO),
    };
    let grain = layer.stock.grain.map(|grain| if mirrored { -grain } else { grain });
    let along = grain.zip(layer.grain).map_or(Affine::IDENTITY, |(board, part)| {
        let part = if up == Face::Back { -part } else { part };
        turn(board - part)
    });
    let edge = Edge::of(&cuts);
    let rings = layer.rings.iter().filter(|ring| ring.work.is_burnt()).map(|ring| (ring, edge.keep_of_ring(ring)));
    let rings = rings.collect();
    let marks = layer.marks.iter().filter(|mark| is_burnt(&mark.work)).map(|mark| (mark, edge.keep_of(mark)));
    let marks = marks.collect();
    let lifted = matches!(method, FlipMethod::OwnOpening(_) | FlipMethod::Holder(_));
    // What is never lifted out stays where it was cut, to within nothing that the plan knows of.
    let still = Play { shift: Length::ZERO, turn: Some(Angle::ZERO) };
    let play = if lifted { cuts.outline.play() } else { still };
    let witness = in_waste(layer, method, &cuts, gap, problems);
    let (printed, base) = (prints::on_layer(layer, gap), along * faced);
    LayerPlan { design, layer, cuts, method, sequence, play, rings, marks, printed, on_print, witness, base }
}

/// The ticks in the waste by which a turned part is laid back; none where nothing needs them, which is told.
fn in_waste(layer: &Layer, method: FlipMethod, cuts: &Cuts, gap: f64, problems: &mut Problems) -> Vec<Trace> {
    let Some((bearing, origin)) = layer.witness else { return Vec::new() };
    let tick = layer.marks.iter().find(|mark| mark.origin == origin);
    let why = match method {
        FlipMethod::OneFace(_) => Some("are worked on one face alone and never lifted out to be turned"),
        FlipMethod::BoardOver => Some("are turned over with their board and never lifted out"),
        FlipMethod::Holder(_) => Some("are laid into a holder of their own shape, which leaves them one bearing"),
        FlipMethod::OwnOpening(_) if cuts.outline.play().turn.is_some() => {
            Some("fit into their openings at the bearing of their own outline alone")
        }
        FlipMethod::OwnOpening(_) => None,
    };
    if let Some(why) = why {
        problems.push(findings::witness_of_no_use(layer, why, origin));
        return Vec::new();
    }
    let FlipMethod::OwnOpening(axis) = method else { return Vec::new() };
    let Some(Shape::Trace(tick)) = tick.map(|mark| &mark.shape) else { return Vec::new() };
    let rim = tick
        .bounds()
        .map_or(0.0, |bounds| bounds.x0.abs().max(bounds.x1.abs()).hypot(bounds.y0.abs().max(bounds.y1.abs())));
    // Past the cut, and short of what the neighbour's cut takes.
    let kerf = layer.stock.kerf.as_mm();
    let from = rim + kerf;
    let to = from + (0.8 * (gap - 2.0 * kerf)).clamp(0.0, IN_WASTE_MM);
    let line = Trace::line(&[polar(from, bearing), polar(to, bearing)]).ok();
    let turned = line.as_ref().map(|line| line.transformed(mirror(axis)));
    // On the line that the part is turned about both are one.
    let apart = turned.filter(|turned| line.as_ref().is_none_or(|line| far_apart(line, turned)));
    line.into_iter().chain(apart).collect()
}

/// Whether two ticks are more than a hair from each other.
fn far_apart(one: &Trace, other: &Trace) -> bool {
    let middle = |line: &Trace| line.bounds().unwrap_or_default().center();
    middle(one).distance(middle(other)) > 1e-3
}

/// The tool's path round a part: what is burnt up to there leaves no blank along the finished edge.
struct Edge<'c> {
    cuts: &'c Cuts,
    /// What reaches no farther from the axis lies within, in mm.
    within: f64,
}

impl<'c> Edge<'c> {
    fn of(cuts: &'c Cuts) -> Self {
        Self { cuts, within: cuts.outline.finished.least_radius(Point::ZERO).unwrap_or(0.0) }
    }

    fn path(&self) -> &Region {
        self.cuts.outline.tool_path()
    }

    fn holds(&self, path: &BezPath) -> bool {
        // No curve leaves the hull of its handles.
        let near = |place: Point| place.to_vec2().hypot() <= self.within;
        path.elements().iter().all(|element| match *element {
            PathEl::MoveTo(to) | PathEl::LineTo(to) => near(to),
            PathEl::QuadTo(handle, to) => near(handle) && near(to),
            PathEl::CurveTo(first, second, to) => near(first) && near(second) && near(to),
            PathEl::ClosePath => true,
        })
    }

    fn keep(&self, region: Region) -> Region {
        if self.holds(region.path()) || self.path().covers(&region) {
            return region;
        }
        region.intersection(self.path())
    }

    fn keep_of(&self, mark: &Mark) -> Shape {
        let line = match (&mark.shape, &mark.work) {
            (Shape::Region(region), Work::Score) => Trace::from_path(region.path().clone()),
            (Shape::Region(region), _) => return Shape::Region(self.keep(region.clone())),
            (Shape::Trace(trace), _) => trace.clone(),
        };
        self.kept_line(&line).map_or_else(|| mark.shape.clone(), Shape::Trace)
    }

    fn keep_of_ring(&self, ring: &Ring) -> Shape {
        if ring.work != RingWork::Scored {
            return Shape::Region(self.keep(Region::union_of(ring.labels.iter().map(|label| &label.ink))));
        }
        let lines = ring.labels.iter().filter_map(|label| label.lines.as_ref());
        let line = Trace::from_path(lines.flat_map(|lines| lines.path().iter()).collect());
        Shape::Trace(self.kept_line(&line).unwrap_or(line))
    }

    /// What is left of a line; none of one that is whole, which keeps its curves.
    fn kept_line(&self, line: &Trace) -> Option<Trace> {
        if self.holds(line.path()) {
            return None;
        }
        let kept = line.within(self.path());
        (line.length() - kept.length() >= LEAST_LOST_MM).then_some(kept)
    }
}

/// What is laid for one part: its outline, with the holder's beside it where it needs one.
pub(super) fn item(it: &LayerPlan<'_>) -> Item {
    let outline = match it.method {
        FlipMethod::Holder(over) => it.cuts.outline.finished.union(&it.cuts.outline.finished.transformed(over)),
        _ => it.cuts.outline.finished.clone(),
    };
    let turns = if it.layer.grain.is_some() { Turns::Half } else { Turns::Free };
    // What is cut out of a hole falls out with the hole's waste, so it must have no place to come back to.
    // Nor where its host's print runs over the hole.
    let may_be_guest = matches!(it.method, FlipMethod::OneFace(_) | FlipMethod::BoardOver) && !it.on_print;
    let holes = Region::union_of(it.cuts.openings.iter().map(|opening| &opening.region)).transformed(it.base);
    Item { outline: outline.transformed(it.base), turns, holes, may_be_guest }
}
