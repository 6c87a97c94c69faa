//! The board as it lies on the machine: its parts numbered beside their work, zero and stops; and how parts are turned over.

use kurbo::{Affine, BezPath, ParamCurve as _, Point, Shape as _, Vec2};
use svg::node::element::{Circle, Group, Path, Rectangle};

use super::super::drawing::{INK, moved};
use super::super::page::text::{SMALL, Style, Voice, line, width};
use super::super::page::{THICK, THIN, rule};
use super::content::Picture;
use super::steps::numbered;
use crate::design::{Palette, Tone, hex};
use crate::output::svg::{downward, outline_of, picture};
use crate::plan::{Board, CutEdge, OperationKind, PlacedPart, Plan, Turned};
use crate::units::plain;

/// How wide and how high a board is drawn at most, in mm of paper.
const ROOM: (f64, f64) = (116.0, 122.0);
/// Room at the left and below for the machine's zero, and the words there.
const LEFT: f64 = 3.0;
const BELOW: f64 = 9.0;
/// Radius of a number's disc, at most and at least, in mm of paper.
const DISC: (f64, f64) = (2.6, 1.2);
/// Between a number's disc and work, at least, in mm of paper.
const CLEAR: f64 = 0.4;
/// Places across a part that a number may have.
const PLACES: u32 = 17;
/// How large the picture of a part that is turned over is.
const OVER: (f64, f64) = (46.0, 40.0);

/// The board in one setup, every part shaded.
pub(super) fn board(plan: &Plan, (at, setup): (usize, usize), shade: &dyn Fn(&PlacedPart) -> Tone) -> Picture {
    let Some(on) = plan.boards.get(at) else {
        return Picture { drawn: Group::new(), size: (0.0, 0.0), says: String::new() };
    };
    let (wide, high) = (on.size.0.as_mm(), on.size.1.as_mm());
    let scale = (ROOM.0 / wide).min(ROOM.1 / high);
    let (wide, high) = (wide * scale, high * scale);
    let edge = Rectangle::new()
        .set("width", plain(wide, 3))
        .set("height", plain(high, 3))
        .set("fill", "none")
        .set("stroke", hex(INK))
        .set("stroke-width", THICK);
    let mut drawn = Group::new().add(picture(plan, (at, setup), &Palette::print(), scale, shade)).add(edge);
    drawn = numbers(on, setup, scale).into_iter().fold(drawn, Group::add);
    drawn =
        drawn.add(zero(high)).add(line("0,0 machine's zero", Style::of(SMALL * 1.2).strong(), (0.0, high + 6.0), wide));
    let says = format!("Board {} as it lies in setup {}, its parts numbered", at + 1, setup + 1);
    Picture { drawn: Group::new().add(moved(drawn, LEFT, 1.0)), size: (LEFT + wide + 1.0, high + 1.0 + BELOW), says }
}

/// The corner at the machine's zero, with the beginning of both stops.
fn zero(high: f64) -> Group {
    let dot = Circle::new().set("cx", 0.0).set("cy", plain(high, 3)).set("r", 1.7).set("fill", hex(INK));
    let [up, along] = [(0.0, high - 11.0), (11.0, high)].map(|end| rule((0.0, high), end, 1.1, INK));
    Group::new().add(up).add(along).add(dot)
}

/// The number of every part, where it hides nothing.
fn numbers(board: &Board, setup: usize, scale: f64) -> Vec<Group> {
    let parts = numbered(board);
    // Parts of one layer are alike, so the place is looked for once.
    let mut known: Vec<(&str, Place)> = Vec::new();
    let mut drawn = Vec::new();
    for (at, part) in parts.into_iter().enumerate() {
        let Some(lie) = part.lies.get(setup) else { continue };
        let found = match known.iter().find(|(layer, _)| *layer == part.layer) {
            Some((_, place)) => Some(*place),
            None => place(board, part, setup, scale),
        };
        let Some(place) = found else { continue };
        known.push((&part.layer, place));
        let at_paper = Affine::scale(scale) * downward(board) * lie.at * place.at;
        drawn.push(number(at + 1, at_paper, place.radius));
    }
    drawn
}

/// Where a number stands in the frame of its layer, and how large its disc is on paper.
#[derive(Clone, Copy)]
struct Place {
    at: Point,
    radius: f64,
}

/// The place within a part that is farthest from its work and its rim, the nearest to its middle of those that do.
fn place(board: &Board, part: &PlacedPart, setup: usize, scale: f64) -> Option<Place> {
    let lie = part.lies.get(setup)?;
    let (outline, to_board) = outline_of(board, part, setup)?;
    let outline = to_board * outline.clone();
    let work = board.setups.get(setup)?.operations.iter().filter(|it| it.part.as_ref() == Some(&part.name));
    let work: Vec<_> = work.filter_map(|it| Some((&it.kind, it.path()?))).collect();
    let areas: Vec<&BezPath> = work.iter().filter(|(kind, _)| is_area(kind)).map(|(_, path)| *path).collect();
    let lines = work.iter().map(|(_, path)| *path).chain([&outline]);
    let flat: Vec<Point> = lines.flat_map(|path| samples(path, 0.8 / scale)).collect();
    let bounds = outline.bounding_box();
    let middle = bounds.center();
    let step = |at: u32| (f64::from(at) + 0.5) / f64::from(PLACES);
    let mut best: Option<(f64, f64, Point)> = None;
    for (x, y) in (0..PLACES).flat_map(|x| (0..PLACES).map(move |y| (step(x), step(y)))) {
        let at = Point::new(bounds.x0 + x * bounds.width(), bounds.y0 + y * bounds.height());
        if outline.winding(at) == 0 {
            continue;
        }
        // Within an opening or a filled area the nearest line is its edge, so that what counts is being outside of all.
        let inside = areas.iter().any(|path| path.winding(at) != 0);
        let clear = flat.iter().map(|point| (*point - at).hypot2()).fold(f64::INFINITY, f64::min).sqrt() * scale;
        let clear = if inside { 0.0 } else { clear.min(DISC.0 + CLEAR) };
        let off = (at - middle).hypot();
        if best.is_none_or(|(most, least, _)| clear > most + 1e-9 || (clear > most - 1e-9 && off < least)) {
            best = Some((clear, off, at));
        }
    }
    let (clear, _, at) = best?;
    Some(Place { at: lie.at.inverse() * at, radius: (clear - CLEAR).clamp(DISC.1, DISC.0) })
}

/// Whether all within its lines is worked, or gone.
fn is_area(kind: &OperationKind) -> bool {
    match kind {
        OperationKind::Engrave { .. } | OperationKind::Pocket { .. } => true,
        OperationKind::Cut { edge, .. } => *edge == CutEdge::Opening,
        OperationKind::Score { .. } | OperationKind::Pause { .. } => false,
    }
}

/// Points along a path, no farther apart than this.
fn samples(path: &BezPath, apart: f64) -> Vec<Point> {
    let along = |segment: kurbo::PathSeg| {
        let bounds = segment.bounding_box();
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "at most some hundred")]
        let pieces = ((bounds.width() + bounds.height()) / apart).ceil().clamp(1.0, 400.0) as u32;
        (0..pieces).map(move |piece| segment.eval(f64::from(piece) / f64::from(pieces))).collect::<Vec<Point>>()
    };
    path.segments().flat_map(along).collect()
}

fn number(number: usize, at: Point, radius: f64) -> Group {
    let words = number.to_string();
    let size =
        (radius * 1.35).min(radius * 1.35 * 1.5 * radius / width(&words, radius * 1.35, Voice::Strong).max(1e-6));
    let disc = Circle::new()
        .set("cx", plain(at.x, 3))
        .set("cy", plain(at.y, 3))
        .set("r", plain(radius, 3))
        .set("fill", hex(INK));
    let words =
        line(&words, Style::of(size).strong().middle().ink([0xff; 3]), (at.x, at.y + 0.36 * size), f64::INFINITY);
    Group::new().add(disc).add(words)
}

/// How a part is turned over, about the first line that one is turned about; or the whole board.
pub(super) fn over(turned: &Turned) -> Option<Picture> {
    let (about, says) = match turned {
        Turned::AsLaid => return None,
        Turned::PartsOver(over) => (over.first()?.about.as_degrees(), "each part"),
        Turned::BoardOver => (0.0, "the whole board"),
    };
    let (middle, reach) = (Point::new(OVER.0 / 2.0, OVER.1 / 2.0 + 4.0), 13.0);
    let shape = match turned {
        Turned::BoardOver => kurbo::Rect::from_center_size(middle, (2.0 * reach, 2.0 * reach)).to_path(0.1),
        _ => kurbo::Circle::new(middle, reach).to_path(0.01),
    };
    let turn = Affine::rotate_about(about.to_radians(), middle);
    let along = |x: f64, y: f64| turn * (middle + Vec2::new(x, y));
    let axis = rule(pair(along(0.0, -reach - 5.0)), pair(along(0.0, reach + 5.0)), THIN * 1.5, INK)
        .set("stroke-dasharray", "4 1 1 1");
    // Over the top from the left to the right of the line.
    let (from, to) = (along(-reach - 3.0, -4.0), along(reach + 3.0, -2.0));
    let (out, back) = (along(-reach - 2.0, -reach - 5.0), along(reach + 2.0, -reach - 5.0));
    let mut arc = BezPath::new();
    arc.move_to(from);
    arc.curve_to(out, back, to);
    let way = (to - back).normalize();
    let side = Vec2::new(-way.y, way.x);
    let mut head = BezPath::new();
    head.move_to(to + way * 2.6);
    head.line_to(to - way * 1.6 + side * 2.0);
    head.line_to(to - way * 1.6 - side * 2.0);
    head.close_path();
    let stroked = |path: &BezPath, wide: f64| {
        Path::new()
            .set("d", path.to_svg())
            .set("fill", "none")
            .set("stroke", hex(INK))
            .set("stroke-width", plain(wide, 3))
    };
    let drawn = Group::new()
        .add(stroked(&shape, THICK).set("fill", "#dddddd"))
        .add(axis)
        .add(stroked(&arc, 1.1))
        .add(Path::new().set("d", head.to_svg()).set("fill", hex(INK)));
    Some(Picture { drawn, size: OVER, says: format!("Then turn over {says}") })
}

fn pair(point: Point) -> (f64, f64) {
    (point.x, point.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::analysis::{Request, analyse};
    use crate::project::MemoryProject;

    /// In the middle stands a pocket, above it text, round all of it a scored circle: what is measured here is the distance to each line,
    /// by kurbo.
    #[test]
    fn a_number_hides_no_work() {
        use kurbo::ParamCurveNearest as _;
        let text = "dial \"Plate\"\noutline circle(diameter: 60mm)\nlayer base of birch {\n  pocket circle(diameter: 9mm) depth 1.5mm\n  \
            engrave text(\"PLATE\", height: 8mm) at (0mm, 12mm)\n  score circle(diameter: 56mm)\n}\nrun 4";
        let project = MemoryProject::default().with("plate.dial", text);
        let analysis = analyse(&project, "plate.dial", "", &Request::default()).unwrap();
        let dial = analysis.dials.first().unwrap_or_else(|| panic!("{:?}", analysis.findings));
        let board = &dial.made().unwrap().0.boards[0];
        let part = numbered(board)[0];
        let scale = ROOM.0 / board.size.0.as_mm();
        let place = place(board, part, 0, scale).unwrap();
        let at = part.lies[0].at * place.at;
        let work = board.setups[0].operations.iter().filter(|it| it.part.as_ref() == Some(&part.name));
        for operation in work {
            let Some(path) = operation.path() else { continue };
            let near =
                path.segments().map(|segment| segment.nearest(at, 1e-6).distance_sq).fold(f64::MAX, f64::min).sqrt();
            assert!(
                near * scale > place.radius && (!is_area(&operation.kind) || path.winding(at) == 0),
                "{operation:?}"
            );
        }
        assert!((place.radius - DISC.0).abs() < 1e-9, "there is room for a whole one: {}", place.radius);
    }
}
