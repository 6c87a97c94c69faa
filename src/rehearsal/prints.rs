//! What is printed on the boards before they are cut: the drawings for the printer, held against the list and against what was meant
//! of every part.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use resvg::usvg::{self, Node, Tree};

use super::Folder;
use super::list::{Board, Face, Layer, List, MarkWork, Part, PrintedFace, RingWork};
use super::part::Made;
use super::raster::{Patch, SLACK, filled};
use super::remark::{Kind, Remarks, mm2};

/// CSS: 96 pixels are an inch.
const PX_MM: f64 = 25.4 / 96.0;
/// How far what is drawn may lie off what is listed, in mm.
const OFF_MM: f64 = 0.05;

/// An area of one colour.
type Area = (String, BezPath);

/// What is drawn for a printed face of a board, in mm on the sheet, y up.
pub(super) struct Sheet {
    board: usize,
    is_up: bool,
    areas: Vec<Area>,
}

/// What a face's drawing is called.
fn called(board: usize, face: &PrintedFace) -> String {
    format!("board-{}-print{}.svg", board + 1, if face.is_up() { "" } else { "-under" })
}

/// Whether a file is one of those of the print.
pub(super) fn is_listed(list: &List, name: &str) -> bool {
    let name = name.strip_suffix(".pdf").map_or_else(|| name.to_owned(), |stem| format!("{stem}.svg"));
    let faces = list.boards.iter().enumerate().flat_map(|(at, board)| board.print.iter().map(move |it| (at, it)));
    faces.into_iter().any(|(at, print)| print.faces.iter().any(|face| called(at, face) == name))
}

/// Reads the drawings of all printed faces, and holds them against the list.
pub(super) fn sheets(list: &List, folder: &Folder, remarks: &mut Remarks) -> Vec<Sheet> {
    let mut all = Vec::new();
    for (at, board) in list.boards.iter().enumerate() {
        let Some(print) = &board.print else { continue };
        for face in &print.faces {
            let name = called(at, face);
            let Some(svg) = folder.drawings.get(&name) else {
                remarks.push(Kind::Drawing, &format!("board {}", at + 1), format!("there is no drawing `{name}`"));
                continue;
            };
            let tree = match Tree::from_data(svg, &usvg::Options::default()) {
                Ok(tree) => tree,
                Err(error) => {
                    remarks.push(Kind::Drawing, &name, format!("the drawing cannot be read: {error}"));
                    continue;
                }
            };
            let (areas, crosses) = read(&tree, board.height);
            let width = f64::from(tree.size().width()) * PX_MM;
            let height = f64::from(tree.size().height()) * PX_MM;
            if (width - board.width).abs() > OFF_MM || (height - board.height).abs() > OFF_MM {
                let says = format!(
                    "it is {width:.2}mm by {height:.2}mm, and the sheet {}mm by {}mm",
                    board.width, board.height
                );
                remarks.push(Kind::Drawing, &name, says);
            }
            crossed(board, (&print.crosses, face.is_up()), crosses, &name, remarks);
            agree(face, &areas, &name, remarks);
            all.push(Sheet { board: at, is_up: face.is_up(), areas });
        }
    }
    all
}

/// The areas of a drawing, and the box of its crosses.
fn read(tree: &Tree, height: f64) -> (Vec<Area>, Option<Rect>) {
    let up = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, height]) * Affine::scale(PX_MM);
    let (mut areas, mut crosses) = (Vec::new(), None);
    gather(tree.root(), "", &mut |group, path| {
        let place = path.abs_transform();
        let place = [place.sx, place.ky, place.kx, place.sy, place.tx, place.ty].map(f64::from);
        let drawn = up * Affine::new(place) * outline(path.data());
        if group == "print" {
            let colour = match path.fill().map(usvg::Fill::paint) {
                Some(usvg::Paint::Color(it)) => format!("#{:02x}{:02x}{:02x}", it.red, it.green, it.blue),
                _ => "nothing".to_owned(),
            };
            areas.push((colour, drawn));
        } else if path.id() == "crosses" {
            crosses = Some(drawn.bounding_box());
        }
    });
    (areas, crosses)
}

fn gather<'t>(group: &'t usvg::Group, of: &'t str, each: &mut impl FnMut(&str, &usvg::Path)) {
    for node in group.children() {
        match node {
            Node::Group(below) => gather(below, if below.id().is_empty() { of } else { below.id() }, each),
            Node::Path(path) => each(of, path),
            _ => {}
        }
    }
}

fn outline(path: &usvg::tiny_skia_path::Path) -> BezPath {
    use usvg::tiny_skia_path::PathSegment as Segment;
    let point = |at: usvg::tiny_skia_path::Point| Point::new(f64::from(at.x), f64::from(at.y));
    let mut drawn = BezPath::new();
    for segment in path.segments() {
        match segment {
            Segment::MoveTo(to) => drawn.move_to(point(to)),
            Segment::LineTo(to) => drawn.line_to(point(to)),
            Segment::QuadTo(handle, to) => drawn.quad_to(point(handle), point(to)),
            Segment::CubicTo(one, two, to) => drawn.curve_to(point(one), point(two), point(to)),
            Segment::Close => drawn.close_path(),
        }
    }
    drawn
}

/// Whether the crosses are drawn where the list has them, clear of every part.
fn crossed(board: &Board, (told, is_up): (&[[f64; 2]], bool), drawn: Option<Rect>, name: &str, remarks: &mut Remarks) {
    let seen = |at: &[f64; 2]| Point::new(if is_up { at[0] } else { board.width - at[0] }, at[1]);
    let middles = told
        .iter()
        .map(seen)
        .fold(None, |all: Option<Rect>, at| Some(all.map_or(Rect::from_points(at, at), |all| all.union_pt(at))));
    let (Some(drawn), Some(middles)) = (drawn, middles) else {
        return remarks.push(Kind::Drawing, name, "it has no crosses to line the cuts up with");
    };
    let (one, other) = (drawn.center(), middles.center());
    let arms = (drawn.width() - middles.width(), drawn.height() - middles.height());
    if one.distance(other) > OFF_MM || arms.0 < 1.0 || (arms.0 - arms.1).abs() > OFF_MM {
        remarks.push(Kind::Disagree, name, "its crosses do not stand where the list has them");
    }
    if drawn.x0 < 0.0 || drawn.y0 < 0.0 || drawn.x1 > board.width || drawn.y1 > board.height {
        remarks.push(Kind::OffBoard, name, "its crosses leave the sheet");
    }
}

/// Whether the drawing prints what the list prints, area by area.
fn agree(face: &PrintedFace, drawn: &[Area], name: &str, remarks: &mut Remarks) {
    if face.areas.len() != drawn.len() {
        let says = format!("{} areas are drawn, and the list has {}", drawn.len(), face.areas.len());
        return remarks.push(Kind::Disagree, name, says);
    }
    let is_off = |one: Rect, other: Rect| {
        [one.x0 - other.x0, one.y0 - other.y0, one.x1 - other.x1, one.y1 - other.y1].iter().any(|by| by.abs() > OFF_MM)
    };
    for (listed, (colour, path)) in face.areas.iter().zip(drawn) {
        let box_of = listed.path.bounds().unwrap_or_default();
        if listed.colour != *colour || is_off(box_of, path.bounding_box()) {
            let says = format!(
                "an area of `{}` in {colour} near {:.1}mm, {:.1}mm is listed in {} elsewhere",
                listed.part,
                path.bounding_box().center().x,
                path.bounding_box().center().y,
                listed.colour
            );
            return remarks.push(Kind::Disagree, name, says);
        }
    }
}

/// Holds what is printed on a part against what was meant, colour by colour as it is seen in the end.
pub(super) fn compare(
    sheets: &[Sheet],
    (number, board, part): (usize, &Board, &Part),
    made: &Made,
    layer: &Layer,
    remarks: &mut Remarks,
) {
    let Some(lie) = part.lies.first() else { return };
    let over = Affine::translate((board.width, 0.0)) * Affine::FLIP_X;
    for face in [Face::Front, Face::Back] {
        let meant = meant(layer, face);
        let is_up = lie.up == face;
        let drawn = sheets.iter().find(|it| it.board == number && it.is_up == is_up).map_or(&[][..], |it| &it.areas);
        if meant.is_empty() && drawn.is_empty() {
            continue;
        }
        let frame = if is_up { lie.at().inverse() } else { (over * lie.at()).inverse() };
        let near = made.material.reach(made.scale).unwrap_or_default().inflate(1.0, 1.0);
        let drawn: Vec<Area> = drawn
            .iter()
            .map(|(colour, path)| (colour.clone(), frame * path.clone()))
            .filter(|(_, path)| path.bounding_box().overlaps(near))
            .collect();
        let mut colours: Vec<&String> = meant.iter().chain(&drawn).map(|(colour, _)| colour).collect();
        colours.sort();
        colours.dedup();
        let place = format!("{}, {}", made.name, face.name());
        for colour in colours {
            let (is, wanted) = (seen(colour, &drawn, made), seen(colour, &meant, made));
            let Some(differ) = is.differs(&wanted, SLACK, made.scale).filter(|it| it.is_worth_telling()) else {
                continue;
            };
            let says = format!(
                "what is printed in {colour} is not what was meant: {} lack and {} are too much",
                mm2(differ.less),
                mm2(differ.more)
            );
            remarks.push(Kind::Print, &place, says);
        }
    }
}

/// What is printed on a face as it was meant, in the order in which it is printed.
fn meant(layer: &Layer, face: Face) -> Vec<Area> {
    let marks = layer.marks.iter().filter(|mark| mark.face == face);
    let marks = marks.filter_map(|mark| match &mark.work {
        MarkWork::Print { colour } => Some((colour.clone(), mark.path.path.clone())),
        _ => None,
    });
    let rings = layer.rings.iter().filter(|ring| ring.face == face && ring.work == RingWork::Print);
    let labels = rings.flat_map(|ring| {
        ring.labels
            .iter()
            .filter_map(|label| Some((label.colour.clone().or_else(|| ring.colour.clone())?, label.path.path.clone())))
    });
    marks.chain(labels).collect()
}

/// Where a colour is seen in the end, on what there is of a part.
fn seen(colour: &str, areas: &[Area], made: &Made) -> Patch {
    let mut all = Patch { data: vec![0; made.material.data.len()], ..made.material.clone() };
    for (of, path) in areas {
        let Some(patch) = filled(path, Affine::IDENTITY, made.scale) else { continue };
        if of == colour { all.add(&patch) } else { all.take(&patch) }
    }
    all.keep(&made.material);
    all
}
