//! Pictures of examples, made by checking and evaluating them as any design is.

use std::collections::BTreeMap;

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};
use maud::{Markup, PreEscaped, html};

use crate::check::evaluate::Evaluator;
use crate::check::{Checked, Value, load};
use crate::design::Face;
use crate::geometry::contours;
use crate::limits::WORK;
use crate::output::seen_from;
use crate::project::MemoryProject;
use crate::reference::Example;
use crate::syntax::tree::{Expr, ExprKind, Item, LayerItem, Marked};
use crate::units::plain;
use crate::work::Meter;

/// Room round what is drawn, as a share of its longer side.
const ROOM: f64 = 0.08;
/// Lines of the grid stand so far apart, in mm: the first of these that leaves no more than [`MOST_LINES`] of them.
const STEPS: [f64; 6] = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
/// Most lines of the grid across a picture.
const MOST_LINES: f64 = 12.0;

/// What an expression came to.
#[derive(Default)]
struct Drawn {
    filled: Vec<BezPath>,
    open: Vec<BezPath>,
    points: Vec<Point>,
}

impl Drawn {
    fn add(&mut self, value: &Value) {
        match value {
            Value::Region(figure) => self.filled.push(figure.region.path().clone()),
            Value::Trace(line) => self.open.push(line.trace.path().clone()),
            Value::Point(point) => self.points.push(*point),
            Value::List(items) => items.iter().for_each(|item| self.add(item)),
            _ => {}
        }
    }

    fn bounds(&self) -> Option<Rect> {
        let paths = self.filled.iter().chain(&self.open).map(|path| path.bounding_box());
        paths.chain(self.points.iter().map(|point| Rect::from_points(*point, *point))).reduce(|all, one| all.union(one))
    }
}

/// What the example's first mark is made of, on a grid of millimetres with the turning axis: dashed what it is made from,
/// filled or traced what comes of it. None where the example marks nothing.
pub(super) fn shape(example: &Example) -> Option<Markup> {
    let project = example.project();
    let loaded = load(&project, Example::FILE, "").ok()?;
    let (checked, _) = Checked::new(&loaded, &project);
    let items = &loaded.files.first()?.file.items;
    let (layer, value) = items.iter().find_map(|item| match item {
        Item::Layer(layer) => layer.items.iter().find_map(|item| match item {
            LayerItem::Mark(mark) => match &mark.what {
                Marked::Shape { value, .. } => Some((layer.name.text.as_str(), value)),
                Marked::Ring { .. } => None,
            },
            _ => None,
        }),
        _ => None,
    })?;
    let settings = BTreeMap::new();
    let mut eval = checked.evaluator(&settings, &project);
    eval.enter(Some(layer));
    let (mut after, mut before) = (Drawn::default(), Drawn::default());
    after.add(&eval.value(value)?);
    from(&mut eval, value, &mut before);
    Some(on_grid(&before, &after))
}

/// What an expression is made from: the values right inside it that can be drawn.
fn from<'t>(eval: &mut Evaluator<'t>, expr: &'t Expr, into: &mut Drawn) {
    for part in expr.parts() {
        match (&part.kind, eval.value(part)) {
            // A scale or a count has nothing to show.
            (_, None) => {}
            (ExprKind::Group(inner), Some(_)) => from(eval, inner, into),
            (_, Some(value)) => into.add(&value),
        }
    }
}

fn on_grid(before: &Drawn, after: &Drawn) -> Markup {
    let inked = [before.bounds(), after.bounds()].into_iter().flatten().reduce(|all, one| all.union(one));
    let seen = inked.unwrap_or(Rect::ZERO).union(Rect::new(-4.0, -4.0, 4.0, 4.0));
    let side = seen.width().max(seen.height());
    let step = STEPS.into_iter().find(|step| side / step <= MOST_LINES).unwrap_or(100.0);
    let seen = seen.inflate(ROOM * side, ROOM * side);
    // Below what is drawn stands the scale.
    let foot = 0.13 * side;
    let number = |value: f64| plain(value, 3);
    let (left, top) = (seen.x0, -seen.y1);
    let view = [left, top, seen.width(), seen.height() + foot].map(number).join(" ");
    let thin = 0.004 * side;
    let wide = number(thin);
    let (scale_y, size) = (seen.height() + top + 0.45 * foot, 0.42 * foot);
    let scale_x = left + ROOM * side;
    let tick = 0.16 * foot;
    html! {
        svg.shape viewBox=(view) role="img" aria-label="The shape on a grid, the turning axis marked" {
            path.grid d=(grid(seen, step)) stroke-width=(wide) {}
            path.axis d=(format!("M{} 0H{}M0 {}V{}", number(seen.x0), number(seen.x1), number(-seen.y1), number(-seen.y0)))
                stroke-width=(number(1.4 * thin)) {}
            circle.axis cx="0" cy="0" r=(number(5.0 * thin)) stroke-width=(number(1.4 * thin)) {}
            @for path in &after.filled { path.filled d=(data(path)) fill-rule="evenodd" stroke-width=(number(1.6 * thin)) {} }
            @for path in &after.open { path.open d=(data(path)) stroke-width=(number(3.0 * thin)) {} }
            @for path in before.filled.iter().chain(&before.open) {
                path.before d=(data(path)) stroke-width=(number(1.8 * thin))
                    stroke-dasharray=(format!("{} {}", number(7.0 * thin), number(5.0 * thin))) {}
            }
            @for point in before.points.iter().chain(&after.points) {
                circle.point cx=(number(point.x)) cy=(number(-point.y)) r=(number(4.0 * thin)) {}
            }
            path.scale stroke-width=(number(1.8 * thin)) d=(format!(
                "M{x} {up}V{down}M{x} {y}H{end}M{end} {up}V{down}",
                x = number(scale_x), end = number(scale_x + step), y = number(scale_y),
                up = number(scale_y - tick), down = number(scale_y + tick)
            )) {}
            text.scale x=(number(scale_x + step + tick)) y=(number(scale_y + 0.35 * size)) font-size=(number(size)) {
                (plain(step, 0)) " mm"
            }
        }
    }
}

fn grid(seen: Rect, step: f64) -> String {
    let lines = |from: f64, to: f64| {
        #[allow(clippy::cast_possible_truncation, reason = "a dozen lines")]
        let (first, last) = ((from / step).ceil() as i32, (to / step).floor() as i32);
        (first..=last).map(move |at| f64::from(at) * step)
    };
    let number = |value: f64| plain(value, 3);
    let upright = lines(seen.x0, seen.x1).map(|x| format!("M{} {}V{}", number(x), number(-seen.y1), number(-seen.y0)));
    let level = lines(seen.y0, seen.y1).map(|y| format!("M{} {}H{}", number(seen.x0), number(-y), number(seen.x1)));
    upright.chain(level).collect()
}

fn data(path: &BezPath) -> String {
    contours(path, Affine::FLIP_Y).join(" ")
}

/// The dial of the example as it is seen, the back beside the front where it has work of its own. None where it gives no
/// design. `prefix` must be its own on the page.
pub(super) fn dial(example: &Example, prefix: &str) -> Option<Markup> {
    let design = designed(&example.project())?;
    let on_back = design.layers.len() == 1 && design.layers.iter().any(|layer| layer.has_work_on(Face::Back));
    let faces = if on_back { vec![Face::Front, Face::Back] } else { vec![Face::Front] };
    Some(html! {
        @for face in faces {
            @let (side, words) = if face == Face::Front { ("front", "From the front") } else { ("back", "From the back") };
            (PreEscaped(seen_from(&design, face, &format!("{prefix}-{side}"), words)))
        }
    })
}

/// The design, or the first variant of its family.
fn designed(project: &MemoryProject) -> Option<crate::design::Design> {
    let loaded = load(project, Example::FILE, "").ok()?;
    let (checked, _) = Checked::new(&loaded, project);
    checked.design(None, &BTreeMap::new(), project, &Meter::new(WORK)).0
}
