//! Faces drawn in cells by tiny-skia.

use kurbo::{BezPath, PathEl, Point, Rect};
use resvg::tiny_skia::{FillRule, Mask, PathBuilder, Transform};

/// A cell, mm.
pub(super) const CELL: f64 = 0.25;

/// How much of each cell is covered.
#[derive(Clone)]
pub(super) struct Canvas {
    mask: Option<Mask>,
    corner: Point,
}

impl Canvas {
    /// An empty one of these bounds and a little more.
    pub(super) fn round(bounds: Rect) -> Self {
        let bounds = bounds.inflate(1.0, 1.0);
        let size = |length: f64| ((length / CELL).ceil().clamp(1.0, 8000.0)) as u32;
        Self { mask: Mask::new(size(bounds.width()), size(bounds.height())), corner: bounds.origin() }
    }

    pub(super) fn fill(&mut self, path: &BezPath, rule: FillRule) {
        let at = |p: Point| ((p.x - self.corner.x) / CELL, (p.y - self.corner.y) / CELL);
        let mut builder = PathBuilder::new();
        kurbo::flatten(path, 0.02, |element| match element {
            PathEl::MoveTo(p) => builder.move_to(at(p).0 as f32, at(p).1 as f32),
            PathEl::LineTo(p) => builder.line_to(at(p).0 as f32, at(p).1 as f32),
            _ => builder.close(),
        });
        if let (Some(path), Some(mask)) = (builder.finish(), self.mask.as_mut()) {
            mask.fill_path(&path, rule, true, Transform::identity());
        }
    }

    /// A line of this width, a cell at least.
    pub(super) fn stroke(&mut self, path: &BezPath, width: f64) {
        let style = kurbo::Stroke::new(width.max(CELL));
        let outline = kurbo::stroke(path.elements().iter().copied(), &style, &kurbo::StrokeOpts::default(), 0.02);
        let mut own = Self { mask: self.mask.clone(), corner: self.corner };
        own.mask.iter_mut().for_each(|mask| mask.data_mut().fill(0));
        own.fill(&outline, FillRule::Winding);
        if let (Some(own), Some(mask)) = (own.mask, self.mask.as_mut()) {
            mask.data_mut().iter_mut().zip(own.data()).for_each(|(to, from)| *to = (*to).max(*from));
        }
    }

    /// The mean of some cells round a place.
    pub(super) fn at(&self, place: Point) -> f64 {
        let p = (place - self.corner) / CELL;
        let Some(mask) = &self.mask else { return 0.0 };
        let cell = |dx: f64, dy: f64| {
            let (x, y) = (p.x + dx, p.y + dy);
            let within = x >= 0.0 && y >= 0.0 && x < f64::from(mask.width()) && y < f64::from(mask.height());
            let at = if within { y as usize * mask.width() as usize + x as usize } else { usize::MAX };
            f64::from(mask.data().get(at).copied().unwrap_or(0)) / 255.0
        };
        [(-0.8, -0.8), (0.8, -0.8), (-0.8, 0.8), (0.8, 0.8), (0.0, 0.0)].iter().map(|(x, y)| cell(*x, *y)).sum::<f64>()
            / 5.0
    }

    /// Cells across and down, their middles, and whether each is covered whole.
    pub(super) fn cells(&self) -> (usize, Vec<(Point, bool)>) {
        let Some(mask) = &self.mask else { return (1, Vec::new()) };
        let across = mask.width() as usize;
        let middle = |at: usize| {
            let (x, y) = ((at % across) as f64 + 0.5, (at / across) as f64 + 0.5);
            Point::new(self.corner.x + x * CELL, self.corner.y + y * CELL)
        };
        (across, mask.data().iter().enumerate().map(|(at, covered)| (middle(at), *covered == 255)).collect())
    }

    /// What is covered here is covered no longer, as far as the other one is.
    pub(super) fn take(&mut self, other: &Self) {
        if let (Some(mask), Some(other)) = (self.mask.as_mut(), &other.mask) {
            mask.data_mut().iter_mut().zip(other.data()).for_each(|(to, from)| *to = (*to).min(255 - *from));
        }
    }
}
