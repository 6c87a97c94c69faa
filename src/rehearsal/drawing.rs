//! The second witness: the drawing of a setup, as resvg draws it, held against the list.

use kurbo::{Affine, Rect};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{self, Node, Tree};

use super::list::{Board, Edge, Operation, Work};
use super::raster::{Differ, Patch, SLACK, filled, lined, scale_for};
use super::remark::{Kind, Remarks, mm2};

/// How wide lines are taken to be where drawing and list are compared, in mm.
const LINE_MM: f64 = 0.1;
/// CSS: 96 pixels are an inch.
const PX_MM: f64 = 25.4 / 96.0;

/// The group of a drawing that an operation stands in; none for a pause.
fn group_of(operation: &Operation) -> Option<&'static str> {
    match operation.work {
        Work::Engrave { .. } => Some("engrave"),
        Work::Score { .. } => Some("score"),
        Work::Pocket { .. } => Some("pocket"),
        Work::Cut { edge: Edge::Opening, .. } => Some("cut-opening"),
        Work::Cut { edge: Edge::Outline | Edge::Holder, .. } => Some("cut-outline"),
        Work::Pause {} => None,
    }
}

pub(super) const GROUPS: [&str; 5] = ["engrave", "score", "pocket", "cut-opening", "cut-outline"];

/// Whether some of the operations stand in a group.
pub(super) fn has_work(operations: &[Operation], group: &str) -> bool {
    operations.iter().any(|it| group_of(it) == Some(group))
}

/// Holds a setup's drawing against its operations.
pub(super) fn compare(board: &Board, operations: &[Operation], svg: &[u8], place: &str, remarks: &mut Remarks) {
    let works: Vec<&Operation> = operations.iter().collect();
    compare_all(board, &works, svg, place, remarks);
}

/// Holds the drawing of one kind of work against the operations of that kind: of others nothing may be drawn.
pub(super) fn compare_work(
    board: &Board,
    (operations, group): (&[Operation], &str),
    svg: &[u8],
    place: &str,
    remarks: &mut Remarks,
) {
    let works: Vec<&Operation> = operations.iter().filter(|it| group_of(it) == Some(group)).collect();
    compare_all(board, &works, svg, place, remarks);
}

fn compare_all(board: &Board, operations: &[&Operation], svg: &[u8], place: &str, remarks: &mut Remarks) {
    // A stroke is a line to be followed, however wide the shop likes it.
    let strokes = format!("* {{ stroke-width: {LINE_MM} }}");
    let options = usvg::Options { style_sheet: Some(strokes), ..usvg::Options::default() };
    let tree = match Tree::from_data(svg, &options) {
        Ok(tree) => tree,
        Err(error) => return remarks.push(Kind::Drawing, place, format!("the drawing cannot be read: {error}")),
    };
    let size = (f64::from(tree.size().width()) * PX_MM, f64::from(tree.size().height()) * PX_MM);
    if (size.0 - board.width).abs() > 0.01 || (size.1 - board.height).abs() > 0.01 {
        let says = format!(
            "the drawing is {:.2}mm by {:.2}mm, the board {:.2}mm by {:.2}mm",
            size.0, size.1, board.width, board.height
        );
        remarks.push(Kind::Drawing, place, says);
    }
    let mut shapes = Vec::new();
    gather(tree.root(), None, &mut shapes);
    for group in GROUPS {
        let works: Vec<&Operation> = operations.iter().copied().filter(|it| group_of(it) == Some(group)).collect();
        of_group(board, &tree, group, &works, &shapes, place, remarks);
    }
    let loose = shapes.iter().filter(|(group, _)| group.is_none()).count();
    if loose > 0 {
        let words = if loose == 1 { "a shape belongs".to_owned() } else { format!("{loose} shapes belong") };
        remarks.push(Kind::Drawing, place, format!("{words} to no kind of work"));
    }
}

/// Every shape of a drawing with its box in pixels, and the kind of work whose group it stands in.
fn gather(group: &usvg::Group, of: Option<&'static str>, shapes: &mut Vec<(Option<&'static str>, Rect)>) {
    for node in group.children() {
        let id = node.id();
        let of = of.or_else(|| GROUPS.into_iter().chain(["construction"]).find(|known| *known == id));
        match node {
            Node::Group(below) => gather(below, of, shapes),
            _ if of == Some("construction") => {}
            _ => {
                let bounds = node.abs_stroke_bounding_box();
                let side = |value: f32| f64::from(value);
                let bounds =
                    Rect::new(side(bounds.left()), side(bounds.top()), side(bounds.right()), side(bounds.bottom()));
                shapes.push((of, bounds));
            }
        }
    }
}

/// One kind of work: what is drawn and what is listed must be the same pixels, and nothing is drawn beside what is listed.
fn of_group(
    board: &Board,
    tree: &Tree,
    group: &'static str,
    works: &[&Operation],
    shapes: &[(Option<&'static str>, Rect)],
    place: &str,
    remarks: &mut Remarks,
) {
    let boxes: Vec<(Rect, &Operation)> = works.iter().filter_map(|it| Some((it.path.bounds()?, *it))).collect();
    // Drawings have y down.
    let down = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, board.height]);
    for (_, shape) in shapes.iter().filter(|(of, _)| *of == Some(group)) {
        let shape = Rect::new(shape.x0 * PX_MM, shape.y0 * PX_MM, shape.x1 * PX_MM, shape.y1 * PX_MM);
        let listed = boxes.iter().any(|(bounds, _)| {
            let around = down.transform_rect_bbox(*bounds).inflate(0.2, 0.2);
            around.contains(shape.origin()) && around.contains(kurbo::Point::new(shape.x1, shape.y1))
        });
        if !listed {
            let says = format!(
                "a shape is drawn under `{group}` near {:.1}mm, {:.1}mm that the list does not know",
                shape.center().x,
                board.height - shape.center().y
            );
            remarks.push(Kind::Disagree, place, says);
        }
    }
    let Some((node, outer)) = find(tree.root(), group) else {
        if !works.is_empty() {
            remarks.push(
                Kind::Disagree,
                place,
                format!("nothing is drawn under `{group}`, and the list has work there"),
            );
        }
        return;
    };
    for (bounds, operation) in &boxes {
        let drawn_box = down.transform_rect_bbox(*bounds);
        let scale = scale_for(drawn_box.size().max_side());
        let mut listed = Patch::of(drawn_box.inflate(LINE_MM, LINE_MM), scale);
        for (_, other) in boxes.iter().filter(|(other, _)| other.inflate(0.5, 0.5).overlaps(*bounds)) {
            let burnt = match other.work {
                Work::Engrave { .. } | Work::Pocket { .. } => filled(&other.path.path, down, scale),
                _ => lined(&other.path.path, LINE_MM, down, scale),
            };
            burnt.iter().for_each(|burnt| listed.add(burnt));
        }
        let Some(drawn) = drawn(node, outer, &listed, scale) else { continue };
        if let Some(differ) = drawn.differs(&listed, SLACK, scale).filter(Differ::is_worth_telling) {
            let says = format!(
                "{} is drawn otherwise than it is listed: {} more and {} less near {:.1}mm, {:.1}mm",
                super::board::called(operation),
                mm2(differ.more),
                mm2(differ.less),
                differ.at.x,
                board.height - differ.at.y
            );
            remarks.push(Kind::Disagree, place, says);
        }
    }
}

/// The group of this id, with the transform that it stands under.
fn find<'t>(group: &'t usvg::Group, id: &str) -> Option<(&'t Node, Transform)> {
    group.children().iter().find_map(|node| match node {
        Node::Group(below) if below.id() == id => Some((node, group.abs_transform())),
        Node::Group(below) => find(below, id),
        _ => None,
    })
}

/// What resvg draws of a group, in the window of a picture.
#[allow(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "pixels of a part")]
fn drawn(node: &Node, outer: Transform, window: &Patch, scale: f64) -> Option<Patch> {
    let (width, height) = (u32::try_from(window.width).ok()?, u32::try_from(window.height).ok()?);
    let mut pixmap = Pixmap::new(width, height)?;
    let to_window = Transform::from_translate(-window.x as f32, -window.y as f32);
    let bounds = node.abs_layer_bounding_box()?;
    // `render_node` moves a node to the origin first, which is taken back here.
    let map = to_window
        .pre_scale((scale * PX_MM) as f32, (scale * PX_MM) as f32)
        .pre_concat(outer)
        .pre_translate(bounds.x(), bounds.y());
    resvg::render_node(node, map, &mut pixmap.as_mut())?;
    let data = pixmap.pixels().iter().map(|pixel| pixel.alpha()).collect();
    Some(Patch { data, ..window.clone() })
}
