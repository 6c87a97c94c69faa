//! One part as its board's operations make it, burnt pixel by pixel in the front frame of its layer.

use kurbo::{Affine, BezPath, PathEl, Point, Rect};

use super::board::{called, operations_of};
use super::list::{Board, Edge, Face, Label, Layer, Lines, Magnet, MarkWork, Part, Ring, RingWork, Work};
use super::raster::{Differ, HALF, Patch, SLACK, SPECK_MM2, filled, mm2_of, scale_for, traced};
use super::remark::{Kind, Remarks, mm, mm2};
use super::walls::{self, Left};
use super::webs::Thin;

/// Depths that differ by less are the same: half the step that a calliper reads (common practice, no source).
pub(super) const SAME_DEPTH_MM: f64 = 0.005;

/// A part as it was made.
pub(super) struct Made {
    pub(super) name: String,
    pub(super) design: usize,
    pub(super) dial: u32,
    /// Place of its layer in the stack.
    pub(super) layer: usize,
    /// Pixels a millimetre.
    pub(super) scale: f64,
    /// What is left of the board.
    pub(super) material: Patch,
    /// What is engraved or scored on front and back.
    pub(super) ink: [Patch; 2],
    /// How dark each engraving on front and back is, 1 being as dark as the stock goes; sorted.
    tones: [Vec<f64>; 2],
    pub(super) pockets: Vec<Sunk>,
}

impl Made {
    /// The farthest place from the axis, in mm.
    pub(super) fn reach(&self) -> Option<f64> {
        self.material.covered(self.scale).map(|at| at.to_vec2().hypot()).reduce(f64::max)
    }
}

/// A pocket as it was made.
pub(super) struct Sunk {
    pub(super) face: Face,
    pub(super) patch: Patch,
    pub(super) depth: f64,
}

/// A layer as it was meant: the same pictures of the design's shapes.
pub(super) struct Meant {
    /// Pixels a millimetre, for its parts too.
    scale: f64,
    material: Patch,
    ink: [Patch; 2],
    tones: [Vec<f64>; 2],
    pockets: Vec<Sunk>,
    /// What is about as thin in it as it may be, or thinner.
    pub(super) thin: Thin,
}

pub(super) const fn index(face: Face) -> usize {
    match face {
        Face::Front => 0,
        Face::Back => 1,
    }
}

/// Burns a part of the layer at this place in the stack; none where nothing of it is cut.
pub(super) fn burn(board: &Board, part: &Part, layer: usize, meant: Option<&Meant>) -> Option<Made> {
    let cut = |wanted: Edge| {
        operations_of(board, part).filter(move |(_, it)| matches!(it.work, Work::Cut { edge, .. } if edge == wanted))
    };
    let (setup, outline) = cut(Edge::Outline).next()?;
    let from_board = |setup: usize| part.lies.get(setup).map(|lie| lie.at().inverse());
    let bounds = outline.path.bounds()?;
    let scale = meant.map_or_else(|| scale_for(bounds.size().max_side()), |meant| meant.scale);
    let frame = from_board(setup)?;
    let mut material = filled(&outline.path.path, frame, scale)?;
    material.take(&traced(&outline.path.path, board.kerf, frame, scale)?);
    for (setup, opening) in cut(Edge::Opening) {
        let Some(frame) = from_board(setup) else { continue };
        let beam = traced(&opening.path.path, board.kerf, frame, scale);
        [filled(&opening.path.path, frame, scale), beam].iter().flatten().for_each(|void| material.take(void));
    }
    let mut burnt_on = [Vec::new(), Vec::new()];
    let mut pockets = Vec::new();
    let mut tones = [Vec::new(), Vec::new()];
    for (setup, operation) in operations_of(board, part) {
        let (Some(frame), Some(lie)) = (from_board(setup), part.lies.get(setup)) else { continue };
        let burnt = match &operation.work {
            Work::Engrave { .. } => filled(&operation.path.path, frame, scale),
            Work::Score { width } => traced(&operation.path.path, width.unwrap_or(board.kerf), frame, scale),
            Work::Pocket { depth, passes } => {
                let depth = passes.as_ref().map_or(*depth, |passes| passes.reach);
                let sunk = filled(&operation.path.path, frame, scale);
                pockets.extend(sunk.map(|patch| Sunk { face: lie.up, patch, depth }));
                None
            }
            Work::Cut { .. } | Work::Pause {} => None,
        };
        if let (Work::Engrave { tone }, Some(patch), Some(tones)) =
            (&operation.work, &burnt, tones.get_mut(index(lie.up)))
            && leaves(&material, patch, scale)
        {
            tones.push(*tone);
        }
        if let Some(ink) = burnt_on.get_mut(index(lie.up)) {
            ink.extend(burnt);
        }
    }
    let ink = burnt_on.map(|burnt| on(&material, &burnt));
    let (name, tones) = (part.name.clone(), tones.map(sorted));
    Some(Made { name, design: part.design, dial: part.dial, layer, scale, material, ink, tones, pockets })
}

/// What some burns leave on what there is.
fn on(material: &Patch, burnt: &[Patch]) -> Patch {
    let mut ink = Patch::joined(burnt);
    ink.keep(material);
    ink
}

/// Whether something of a burn lies on what there is, and not only beside it.
fn leaves(material: &Patch, burnt: &Patch, scale: f64) -> bool {
    mm2_of(on(material, std::slice::from_ref(burnt)).covered(scale).count(), scale) > SPECK_MM2
}

fn sorted(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

/// A layer's shapes as pictures.
pub(super) fn meant(layer: &Layer) -> Option<Meant> {
    let scale = scale_for(layer.outline.bounds()?.size().max_side());
    let fill = |lines: &Lines| filled(&lines.path, Affine::IDENTITY, scale);
    let mut material = fill(&layer.outline)?;
    for mark in layer.marks.iter().filter(|mark| matches!(mark.work, MarkWork::Opening { .. })) {
        fill(&mark.path).iter().for_each(|void| material.take(void));
    }
    let mut burnt_on = [Vec::new(), Vec::new()];
    let mut pockets = Vec::new();
    let mut tones = [Vec::new(), Vec::new()];
    for mark in &layer.marks {
        let burnt = match mark.work {
            MarkWork::Engrave { .. } => fill(&mark.path),
            MarkWork::Score { width } => traced(&mark.path.path, width, Affine::IDENTITY, scale),
            MarkWork::Pocket { depth } => {
                pockets.extend(fill(&mark.path).map(|patch| Sunk { face: mark.face, patch, depth }));
                None
            }
            MarkWork::Opening { .. } | MarkWork::Paint { .. } | MarkWork::Print { .. } | MarkWork::Bare => None,
        };
        if let (MarkWork::Engrave { tone, .. }, Some(patch), Some(tones)) =
            (&mark.work, &burnt, tones.get_mut(index(mark.face)))
            && leaves(&material, patch, scale)
        {
            tones.push(*tone);
        }
        if let Some(ink) = burnt_on.get_mut(index(mark.face)) {
            ink.extend(burnt);
        }
    }
    for ring in &layer.rings {
        if !ring.work.is_burnt() {
            continue;
        }
        let labels: Vec<Patch> = ring.labels.iter().filter_map(|label| drawn(ring, label, scale)).collect();
        if ring.work == RingWork::Engrave
            && let Some(tones) = tones.get_mut(index(ring.face))
            && labels.iter().any(|patch| leaves(&material, patch, scale))
        {
            tones.push(ring.tone);
        }
        if let Some(ink) = burnt_on.get_mut(index(ring.face)) {
            ink.extend(labels);
        }
    }
    let ink = burnt_on.map(|burnt| on(&material, &burnt));
    let tones = tones.map(sorted);
    let thin = walls::of_meant(layer, &material, &pockets, scale);
    Some(Meant { scale, material, ink, tones, pockets, thin })
}

/// Openings that are told to run over the outline, and do not, or the other way round.
pub(super) fn rims(layer: &Layer, remarks: &mut Remarks) {
    let openings = layer.marks.iter().filter_map(|mark| match mark.work {
        MarkWork::Opening { over_the_rim } => Some((mark, over_the_rim)),
        _ => None,
    });
    let mut openings = openings.peekable();
    let Some(bounds) = layer.outline.bounds().filter(|_| openings.peek().is_some()) else { return };
    let scale = scale_for(bounds.size().max_side());
    let fill = |path: &BezPath| filled(path, Affine::IDENTITY, scale);
    // Each contour by itself: its holes belong to the outline.
    let contours = layer.outline.path.elements().split(|it| matches!(it, PathEl::ClosePath));
    let contours = contours.filter_map(|contour| fill(&BezPath::from_vec(contour.to_vec())));
    let outer = Patch::joined(&contours.collect::<Vec<Patch>>());
    for (mark, told) in openings {
        let Some(opening) = fill(&mark.path.path) else { continue };
        let near = |x: i32, y: i32| (-1..=1).any(|dx| (-1..=1).any(|dy| outer.get(x + dx, y + dy) < HALF));
        let over = opening.pixels().any(|(x, y, value)| value >= 250 && outer.get(x, y) < HALF);
        let reaches = opening.pixels().any(|(x, y, value)| value >= HALF && near(x, y));
        if over != told && (over || !reaches) {
            let name = mark.name.as_deref().map_or_else(String::new, |name| format!(" `{name}`"));
            let (told, is) = if told { ("", "does not") } else { ("not ", "does") };
            let says = format!("the opening{name} is told {told}to run over the outline, and {is}");
            remarks.push(Kind::Edge, &layer.layer, says);
        }
    }
}

/// Compares a part as made with its layer as meant, and looks at what is left of it.
pub(super) fn compare(made: &Made, meant: &Meant, layer: &Layer, magnets: &[Magnet], remarks: &mut Remarks) -> Left {
    let before = remarks.0.len();
    edges(made, meant, remarks);
    pockets(made, meant, remarks);
    let altered = remarks.0.len() > before;
    for face in [Face::Front, Face::Back] {
        faces(made, meant, layer, face, remarks);
        standing(made, layer, face, remarks);
    }
    for magnet in magnets.iter().filter(|it| it.layer == layer.layer) {
        seat(made, magnet, remarks);
    }
    walls::look_at(made, meant, layer, altered, remarks)
}

fn told(differ: Differ) -> String {
    let at = format!("near {}, {}", mm(differ.at.x), mm(differ.at.y));
    match (differ.more > SPECK_MM2, differ.less > SPECK_MM2) {
        (true, false) => format!("{} too much {at}", mm2(differ.more)),
        (false, true) => format!("{} too little {at}", mm2(differ.less)),
        _ => format!("{} too much and {} too little {at}", mm2(differ.more), mm2(differ.less)),
    }
}

/// Outline and openings.
fn edges(made: &Made, meant: &Meant, remarks: &mut Remarks) {
    let Some(differ) = made.material.differs(&meant.material, SLACK, made.scale).filter(Differ::is_worth_telling)
    else {
        return;
    };
    // A beam as wide as the kerf cannot reach into a notch that is narrower: what it leaves there is told apart from a wrong edge.
    if differ.less <= SPECK_MM2
        && made.material.differs(&reached(made, meant), SLACK, made.scale).is_none_or(|it| !it.is_worth_telling())
    {
        return;
    }
    remarks.push(Kind::Edge, &made.name, format!("its edges are not where they were meant: {}", told(differ)));
}

/// What was meant, with all that a beam cannot reach filled up. The beam's width is told by how the part was made.
fn reached(made: &Made, meant: &Meant) -> Patch {
    let mut reached = meant.material.clone();
    let (x0, y0, width) = (reached.x, reached.y, reached.width.max(1));
    let Ok(columns) = usize::try_from(width) else { return reached };
    // Material that was left beside material that was meant, no wider than a kerf, stands in a notch.
    let beam = 4;
    for (row, y) in reached.data.chunks_exact_mut(columns).zip(y0..) {
        for (value, x) in row.iter_mut().zip(x0..) {
            let left = made.material.get(x, y);
            if left > *value && is_notch(meant, x, y, beam) {
                *value = left;
            }
        }
    }
    reached
}

/// Whether material lies on two opposite sides of a place, each within `reach` pixels.
fn is_notch(meant: &Meant, x: i32, y: i32, reach: i32) -> bool {
    let solid = |dx: i32, dy: i32| (1..=reach).any(|by| meant.material.get(x + dx * by, y + dy * by) >= HALF);
    let ways = [(1, 0), (0, 1), (1, 1), (1, -1)];
    ways.iter().any(|(dx, dy)| solid(*dx, *dy) && solid(-dx, -dy))
}

/// What is burnt on a face.
fn faces(made: &Made, meant: &Meant, layer: &Layer, face: Face, remarks: &mut Remarks) {
    let (Some(ink), Some(wanted)) = (made.ink.get(index(face)), meant.ink.get(index(face))) else { return };
    let place = format!("{}, {}", made.name, face.name());
    let Some(differ) = ink.differs(wanted, SLACK, made.scale).filter(Differ::is_worth_telling) else {
        if made.tones.get(index(face)) != meant.tones.get(index(face)) {
            remarks.push(Kind::Ink, &place, "something is engraved darker or paler than was meant");
        }
        return;
    };
    if ink.differs(&mirrored(wanted), SLACK + 1, made.scale).is_none_or(|it| !it.is_worth_telling()) {
        return remarks.push(Kind::Mirrored, &place, "the face is worked as its own mirror image");
    }
    let mut named = false;
    for (ring, label) in labels_on(layer, face).filter(|(ring, _)| ring.work.is_burnt()) {
        let Some(patch) = drawn(ring, label, made.scale) else { continue };
        let ring = &ring.ring;
        let missing = patch.pixels().filter(|(x, y, value)| *value >= 250 && ink.get(*x, *y) < HALF).count();
        let missing = mm2_of(missing, made.scale);
        if missing > SPECK_MM2 {
            named = true;
            let whole = patch.area(made.scale);
            let part = if missing > 0.9 * whole { "is missing".to_owned() } else { format!("lacks {}", mm2(missing)) };
            remarks.push(Kind::Ink, &place, format!("label `{}` of ring `{ring}` {part}", label.says));
        }
    }
    if !named || differ.more > SPECK_MM2 {
        remarks.push(Kind::Ink, &place, format!("what is burnt is not what was meant: {}", told(differ)));
    }
}

fn labels_on(layer: &Layer, face: Face) -> impl Iterator<Item = (&Ring, &Label)> {
    let rings = layer.rings.iter().filter(move |ring| ring.face == face);
    rings.flat_map(|ring| ring.labels.iter().map(move |label| (ring, label)))
}

/// A label as it is worked: filled, traced, or left standing.
pub(super) fn drawn(ring: &Ring, label: &Label, scale: f64) -> Option<Patch> {
    match ring.work {
        RingWork::Score => traced(&label.path.path, ring.width?, Affine::IDENTITY, scale),
        RingWork::Engrave | RingWork::Bare | RingWork::Print => filled(&label.path.path, Affine::IDENTITY, scale),
    }
}

/// Labels that are to be left standing, of which something is burnt or sunk, and such as hardly anything is burnt around.
fn standing(made: &Made, layer: &Layer, face: Face, remarks: &mut Remarks) {
    let place = format!("{}, {}", made.name, face.name());
    let sunk = made.pockets.iter().filter(|it| it.face == face).map(|it| it.patch.clone());
    let taken = Patch::joined(&sunk.chain(made.ink.get(index(face)).cloned()).collect::<Vec<Patch>>());
    for (ring, label) in labels_on(layer, face).filter(|(ring, _)| ring.work == RingWork::Bare) {
        let Some(patch) = drawn(ring, label, made.scale) else { continue };
        let lost = patch.pixels().filter(|(x, y, value)| *value >= 250 && taken.get(*x, *y) >= HALF).count();
        let lost = mm2_of(lost, made.scale);
        // Two pixels off its edge, past what the raster itself blurs.
        let (mut around, mut closed) = (0_usize, 0_usize);
        for (x, y, value) in patch.pixels() {
            if value < HALF {
                continue;
            }
            for (x, y) in [(x + 2, y), (x - 2, y), (x, y + 2), (x, y - 2)] {
                if patch.get(x, y) == 0 {
                    around += 1;
                    closed += usize::from(taken.get(x, y) < HALF && made.material.get(x, y) >= HALF);
                }
            }
        }
        let what = format!("label `{}` of ring `{}`", label.says, ring.ring);
        if lost > SPECK_MM2 {
            remarks.push(Kind::Ink, &place, format!("{what} is to be left standing and lacks {}", mm2(lost)));
        } else if 2 * closed > around {
            remarks.push(Kind::Ink, &place, format!("{what} is to be left standing, and nothing is burnt around it"));
        }
    }
}

/// The picture seen from the other side, about the line to 0deg.
fn mirrored(patch: &Patch) -> Patch {
    let columns = usize::try_from(patch.width.max(1)).unwrap_or(1);
    let data = patch.data.chunks_exact(columns).flat_map(|row| row.iter().rev().copied()).collect();
    Patch { x: -(patch.x + patch.width), data, ..patch.clone() }
}

/// Every pocket that was meant is there, as deep and of the same shape, and no other.
fn pockets(made: &Made, meant: &Meant, remarks: &mut Remarks) {
    for face in [Face::Front, Face::Back] {
        let place = format!("{}, {}", made.name, face.name());
        // What lies beyond the part is sunk nowhere.
        let depths = |sunk: &[Sunk], material: &Patch| {
            let there = |it: &&Sunk| it.face == face && leaves(material, &it.patch, made.scale);
            sorted(sunk.iter().filter(there).map(|it| it.depth).collect())
        };
        let all = |sunk: &[Sunk], material: &Patch| {
            on(material, &sunk.iter().filter(|it| it.face == face).map(|it| it.patch.clone()).collect::<Vec<Patch>>())
        };
        let (is, wanted) = (depths(&made.pockets, &made.material), depths(&meant.pockets, &meant.material));
        if let Some(differ) = all(&made.pockets, &made.material)
            .differs(&all(&meant.pockets, &meant.material), SLACK, made.scale)
            .filter(Differ::is_worth_telling)
        {
            remarks.push(Kind::Pocket, &place, format!("what is sunk is not what was meant: {}", told(differ)));
        } else if is.len() != wanted.len() {
            let says = format!("{} pockets are sunk where {} were meant", is.len(), wanted.len());
            remarks.push(Kind::Pocket, &place, says);
        } else if let Some((is, wanted)) =
            is.iter().zip(&wanted).find(|(is, wanted)| (*is - *wanted).abs() > SAME_DEPTH_MM)
        {
            remarks.push(
                Kind::Pocket,
                &place,
                format!("a pocket comes out {} deep, and {} was meant", mm(*is), mm(*wanted)),
            );
        }
    }
}

/// Whether a magnet has a seat that it goes into, as deep as was told.
fn seat(made: &Made, magnet: &Magnet, remarks: &mut Remarks) {
    let bearing = magnet.bearing.to_radians();
    let at = Point::new(magnet.radius * bearing.sin(), magnet.radius * bearing.cos());
    // A pixel less all round, so that the raster's own error refuses no seat.
    let disc = kurbo::Circle::new(at, magnet.diameter / 2.0 - 1.0 / made.scale);
    let Some(disc) = filled(&kurbo::Shape::to_path(&disc, 1e-3), Affine::IDENTITY, made.scale) else { return };
    let place = format!("{}, {}", made.name, magnet.face.name());
    let where_ = if magnet.radius > 0.0 { format!("at {}deg", magnet.bearing) } else { "on the axis".to_owned() };
    let fits = |open: &dyn Fn(i32, i32) -> bool| disc.pixels().all(|(x, y, value)| value < 250 || open(x, y));
    let Some(depth) = magnet.depth else {
        if !fits(&|x, y| made.material.get(x, y) < HALF) {
            remarks.push(Kind::Magnet, &place, format!("`{}` {where_} does not go through its hole", magnet.magnet));
        }
        return;
    };
    let of_face = made.pockets.iter().filter(|sunk| sunk.face == magnet.face);
    let Some(sunk) = of_face.into_iter().find(|sunk| fits(&|x, y| sunk.patch.get(x, y) >= HALF)) else {
        return remarks.push(
            Kind::Magnet,
            &place,
            format!("`{}` {where_} finds no pocket that it goes into", magnet.magnet),
        );
    };
    if (sunk.depth - depth).abs() > SAME_DEPTH_MM {
        let says = format!("the pocket of `{}` {where_} is {} deep, not {}", magnet.magnet, mm(sunk.depth), mm(depth));
        remarks.push(Kind::Magnet, &place, says);
    }
    if let Some(sink) = magnet.sink.filter(|sink| (sunk.depth - magnet.height - sink).abs() > 0.2) {
        let says = format!(
            "`{}` {where_} is told to lie {} below the face, in a pocket {} deep",
            magnet.magnet,
            mm(sink),
            mm(sunk.depth)
        );
        remarks.push(Kind::Magnet, &place, says);
    }
    // What is dug out beside a pocket takes the wall that holds the magnet. A hole in its floor leaves the wall as it is.
    let void = || sunk.patch.pixels().filter(|(x, y, value)| *value >= HALF && made.material.get(*x, *y) < HALF);
    let sides = [(1, 0), (-1, 0), (0, 1), (0, -1)];
    let is_wall = |x: i32, y: i32| sides.iter().any(|(dx, dy)| sunk.patch.get(x + dx, y + dy) < HALF);
    let wall = mm2_of(void().filter(|(x, y, _)| is_wall(*x, *y)).count(), made.scale);
    let void = mm2_of(void().count(), made.scale);
    if wall > SPECK_MM2 {
        let says = format!("the pocket of `{}` {where_} runs {} into what is cut away", magnet.magnet, mm2(void));
        remarks.push(Kind::Floor, &place, says);
    }
}

/// The box of a part on its board in a setup, its kerf included; none where nothing of it is cut there.
pub(super) fn swept(board: &Board, part: &Part) -> Option<(usize, Rect)> {
    let outline =
        operations_of(board, part).find(|(_, it)| matches!(it.work, Work::Cut { edge: Edge::Outline, .. }))?;
    Some((outline.0, outline.1.path.bounds()?.inflate(board.kerf / 2.0, board.kerf / 2.0)))
}

/// Work on other parts that runs into the material of this one.
pub(super) fn overlaps(board: &Board, made: &Made, part: &Part, remarks: &mut Remarks) {
    let cut_in = swept(board, part).map(|(setup, _)| setup);
    let Some(own) = made.material.reach(made.scale) else { return };
    for (at, (setup, lie)) in board.setups.iter().zip(&part.lies).enumerate() {
        let (here, frame) = (lie.at().transform_rect_bbox(own), lie.at().inverse());
        for other in setup.operations.iter().filter(|it| it.part.as_deref() != Some(part.name.as_str())) {
            let near = other.path.bounds().is_some_and(|bounds| bounds.inflate(board.kerf, board.kerf).overlaps(here));
            let burnt = match &other.work {
                _ if !near => None,
                Work::Engrave { .. } | Work::Pocket { .. } => filled(&other.path.path, frame, made.scale),
                Work::Cut { .. } if Some(at) != cut_in => None,
                Work::Cut { .. } | Work::Score { .. } => traced(&other.path.path, board.kerf, frame, made.scale),
                Work::Pause {} => None,
            };
            let Some(burnt) = burnt else { continue };
            let taken = burnt.pixels().filter(|(x, y, value)| *value >= HALF && made.material.get(*x, *y) >= HALF);
            let taken = mm2_of(taken.count(), made.scale);
            if taken > SPECK_MM2 {
                let does = if matches!(other.work, Work::Cut { .. }) { "takes" } else { "burns" };
                remarks.push(Kind::Overlap, &part.name, format!("{} {does} {} of it", called(other), mm2(taken)));
            }
        }
    }
}
