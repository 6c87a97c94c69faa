//! Pixels: what is burnt, cut and seen, laid out on one lattice.
//!
//! All pictures of a frame share a lattice, so that two of them are compared pixel by pixel and nothing is ever sampled anew. Paths
//! are filled and stroked by tiny-skia, which the compiler's geometry knows nothing of.

use kurbo::{Affine, BezPath, PathEl, Point, Rect};
use resvg::tiny_skia::{FillRule, LineCap, LineJoin, Mask, Path, PathBuilder, Stroke, Transform};

/// Pixels a millimetre, where parts are of a usual size.
pub(super) const FINE: f64 = 20.0;
/// No picture is wider or higher: a large part is looked at more coarsely.
const WIDEST: f64 = 6000.0;
/// From this value on a pixel counts as covered.
pub(super) const HALF: u8 = 128;
/// How far two pictures of the same thing may differ, in pixels: one for the raster, and what three decimals round is far below.
pub(super) const SLACK: i32 = 1;
/// What two edges facing each other may be off together, in pixels: both sides of a wall, or a part's and its slot's.
pub(super) const TWO_EDGES: f64 = 2.4;
/// What differs by no more in all is a speck of two rasters, in mm².
pub(super) const SPECK_MM2: f64 = 0.02;
/// Two pixels that differ by no more are alike: the rasters of two programs round differently.
const ALIKE: u8 = 72;

/// Pixels a millimetre for something of this size in mm.
pub(super) fn scale_for(size: f64) -> f64 {
    FINE.min(WIDEST / size.max(1.0))
}

/// A picture of one value a pixel, part of a lattice: pixel (x, y) covers from x to x + 1, in units of 1 / scale mm.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Patch {
    pub(super) x: i32,
    pub(super) y: i32,
    pub(super) width: i32,
    pub(super) height: i32,
    pub(super) data: Vec<u8>,
}

/// A part of the lattice.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Window {
    x: i32,
    y: i32,
    width: i32,
    height: i32,
}

impl Window {
    /// The least window round two.
    fn around(self, other: Self) -> Self {
        let (x, y) = (self.x.min(other.x), self.y.min(other.y));
        let right = (self.x + self.width).max(other.x + other.width);
        let top = (self.y + self.height).max(other.y + other.height);
        Self { x, y, width: right - x, height: top - y }
    }
}

/// Where two pictures differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Differ {
    /// How much of the first the second lacks, and of the second the first, in mm².
    pub(super) more: f64,
    pub(super) less: f64,
    /// The middle of what differs, in mm.
    pub(super) at: Point,
}

impl Differ {
    /// Whether it is more than a speck.
    pub(super) fn is_worth_telling(&self) -> bool {
        self.more + self.less > SPECK_MM2
    }
}

/// What so many pixels cover, in mm².
#[allow(clippy::cast_precision_loss, reason = "pixels of a part")]
pub(super) fn mm2_of(pixels: usize, scale: f64) -> f64 {
    pixels as f64 / (scale * scale)
}

impl Patch {
    /// An empty picture of a box in mm, with a pixel to spare all round.
    pub(super) fn of(bounds: Rect, scale: f64) -> Self {
        #[allow(
            clippy::cast_possible_truncation,
            reason = "parts are at most some metres wide, and scale follows their size"
        )]
        let (x, y, right, top) = (
            (bounds.x0 * scale).floor() as i32 - 2,
            (bounds.y0 * scale).floor() as i32 - 2,
            (bounds.x1 * scale).ceil() as i32 + 2,
            (bounds.y1 * scale).ceil() as i32 + 2,
        );
        let (width, height) = ((right - x).max(1), (top - y).max(1));
        Self { x, y, width, height, data: vec![0; pixels(width, height)] }
    }

    /// The value of a pixel; 0 outside.
    pub(super) fn get(&self, x: i32, y: i32) -> u8 {
        self.data.get(self.place(x, y)).copied().unwrap_or(0)
    }

    /// Where a pixel stands among all, row by row; after the last where it lies outside.
    pub(super) fn place(&self, x: i32, y: i32) -> usize {
        let (x, y) = (x - self.x, y - self.y);
        if x < 0 || y < 0 || x >= self.width || y >= self.height {
            return usize::MAX;
        }
        pixels(self.width, y) + pixels(x, 1)
    }

    /// The same in a window that holds a box in mm as well.
    pub(super) fn clone_within(&self, bounds: Rect, scale: f64) -> Self {
        self.framed(Self::of(bounds, scale).window().around(self.window()))
    }

    /// The same for a point in mm.
    #[allow(clippy::cast_possible_truncation, reason = "floor of a coordinate in pixels")]
    pub(super) fn at(&self, point: Point, scale: f64) -> u8 {
        self.get((point.x * scale).floor() as i32, (point.y * scale).floor() as i32)
    }

    /// Pixels with their places, row by row.
    pub(super) fn pixels(&self) -> impl Iterator<Item = (i32, i32, u8)> {
        let (x, y, width) = (self.x, self.y, self.width);
        let rows = self.data.chunks_exact(pixels(width, 1).max(1)).zip(y..);
        rows.flat_map(move |(row, y)| row.iter().zip(x..).map(move |(value, x)| (x, y, *value)))
    }

    /// Places of the pixels that are covered, in mm, at their middles.
    pub(super) fn covered(&self, scale: f64) -> impl Iterator<Item = Point> {
        self.pixels().filter(|(_, _, value)| *value >= HALF).map(move |(x, y, _)| middle(x, y, scale))
    }

    /// The box of the picture in mm; none where it holds nothing.
    pub(super) fn reach(&self, scale: f64) -> Option<Rect> {
        let side = |from: i32, size: i32| (f64::from(from) / scale, f64::from(from + size) / scale);
        let ((x0, x1), (y0, y1)) = (side(self.x, self.width), side(self.y, self.height));
        self.data.iter().any(|value| *value > 0).then(|| Rect::new(x0, y0, x1, y1))
    }

    /// What is covered, in mm².
    pub(super) fn area(&self, scale: f64) -> f64 {
        let sum: u64 = self.data.iter().map(|value| u64::from(*value)).sum();
        #[allow(clippy::cast_precision_loss, reason = "far below 2^53")]
        let sum = sum as f64;
        sum / 255.0 / (scale * scale)
    }

    /// Adds what is covered in another picture, where that lies inside this one.
    pub(super) fn add(&mut self, other: &Self) {
        self.combine(other, u8::max);
    }

    /// Takes off what is covered in another picture.
    pub(super) fn take(&mut self, other: &Self) {
        self.combine(other, |own, taken| own.min(255 - taken));
    }

    /// Keeps only what is covered in another picture as well, and only the part of it that lies in that one.
    pub(super) fn keep(&mut self, other: &Self) {
        let inside = other.framed(self.window());
        self.data.iter_mut().zip(&inside.data).for_each(|(own, other)| *own = (*own).min(*other));
    }

    /// Everything that is covered in some pictures, in a window that just holds them.
    pub(super) fn joined(patches: &[Self]) -> Self {
        let window = patches.iter().map(Self::window).reduce(Window::around).unwrap_or_default();
        let mut all = Self::empty(window);
        patches.iter().for_each(|patch| all.add(patch));
        all
    }

    fn empty(window: Window) -> Self {
        let Window { x, y, width, height } = window;
        Self { x, y, width, height, data: vec![0; pixels(width, height)] }
    }

    /// The same in another window: cut off, or with nothing round it.
    fn framed(&self, window: Window) -> Self {
        if window == self.window() {
            return self.clone();
        }
        let mut framed = Self::empty(window);
        framed.meeting(self, |own, other| own.copy_from_slice(other));
        framed
    }

    fn window(&self) -> Window {
        Window { x: self.x, y: self.y, width: self.width, height: self.height }
    }

    fn combine(&mut self, other: &Self, with: impl Fn(u8, u8) -> u8) {
        self.meeting(other, |own, other| own.iter_mut().zip(other).for_each(|(own, other)| *own = with(*own, *other)));
    }

    /// Goes through the rows of this picture and another one as far as both reach.
    fn meeting(&mut self, other: &Self, mut with: impl FnMut(&mut [u8], &[u8])) {
        let (left, right) = (self.x.max(other.x), (self.x + self.width).min(other.x + other.width));
        let (bottom, top) = (self.y.max(other.y), (self.y + self.height).min(other.y + other.height));
        if left >= right {
            return;
        }
        for y in bottom..top {
            let own = self.row(y, left, right);
            let theirs = other.row(y, left, right);
            if let (Some(own), Some(theirs)) = (self.data.get_mut(own), other.data.get(theirs)) {
                with(own, theirs);
            }
        }
    }

    fn row(&self, y: i32, left: i32, right: i32) -> std::ops::Range<usize> {
        let start = pixels(self.width, y - self.y);
        start + pixels(left - self.x, 1)..start + pixels(right - self.x, 1)
    }

    /// Where two pictures differ by more than `slack` pixels; none where they do not.
    pub(super) fn differs(&self, other: &Self, slack: i32, scale: f64) -> Option<Differ> {
        let window = self.window().around(other.window());
        let (own, other) = (self.framed(window), other.framed(window));
        let (mut more, mut less, mut sum, mut count) = (0.0, 0.0, kurbo::Vec2::ZERO, 0.0);
        let columns = pixels(window.width, 1).max(1);
        let rows = own.data.chunks_exact(columns).zip(other.data.chunks_exact(columns)).zip(window.y..);
        // Most rows are the same to the byte, and the quickest answer is given by comparing them as such.
        for ((own_row, other_row), y) in rows.filter(|((own, other), _)| own != other) {
            for ((mine, theirs), x) in own_row.iter().zip(other_row).zip(window.x..) {
                let lacks = mine.abs_diff(*theirs) > ALIKE
                    && (!other.is_near(x, y, *mine, slack) || !own.is_near(x, y, *theirs, slack));
                if lacks {
                    *(if mine > theirs { &mut more } else { &mut less }) += 1.0 / (scale * scale);
                    sum += middle(x, y, scale).to_vec2();
                    count += 1.0;
                }
            }
        }
        (count > 0.0).then(|| Differ { more, less, at: (sum / count).to_point() })
    }

    /// Whether some pixel near this place is about as much covered.
    fn is_near(&self, x: i32, y: i32, value: u8, slack: i32) -> bool {
        let (mut low, mut high) = (255u8, 0u8);
        for y in y - slack..=y + slack {
            for x in x - slack..=x + slack {
                let theirs = self.get(x, y);
                low = low.min(theirs);
                high = high.max(theirs);
            }
        }
        low.saturating_sub(ALIKE) <= value && value <= high.saturating_add(ALIKE)
    }
}

/// How many pixels a row, or so many rows, are.
fn pixels(a: i32, b: i32) -> usize {
    usize::try_from(a.max(0)).unwrap_or(0) * usize::try_from(b.max(0)).unwrap_or(0)
}

/// The middle of a pixel, in mm.
pub(super) fn middle(x: i32, y: i32, scale: f64) -> Point {
    Point::new((f64::from(x) + 0.5) / scale, (f64::from(y) + 0.5) / scale)
}

/// What a path fills (non-zero winding), moved by `map`, in mm.
pub(super) fn filled(path: &BezPath, map: Affine, scale: f64) -> Option<Patch> {
    let outline = built(path, map, scale)?;
    let mut patch = Patch::of(mm_box(&outline, 0.0, scale), scale);
    patch.paint(&outline);
    Some(patch)
}

/// What a beam of some width in mm burns along a path.
pub(super) fn traced(path: &BezPath, width: f64, map: Affine, scale: f64) -> Option<Patch> {
    stroked(path, (width, LineCap::Round, LineJoin::Round), map, scale)
}

/// What a drawing shows of a line of some width in mm that says no more of itself: with the ends and corners of SVG 1.1, 11.4.
pub(super) fn lined(path: &BezPath, width: f64, map: Affine, scale: f64) -> Option<Patch> {
    stroked(path, (width, LineCap::Butt, LineJoin::Miter), map, scale)
}

fn stroked(
    path: &BezPath,
    (width, line_cap, line_join): (f64, LineCap, LineJoin),
    map: Affine,
    scale: f64,
) -> Option<Patch> {
    let line = built(path, map, scale)?;
    #[allow(clippy::cast_possible_truncation, reason = "a width in pixels")]
    let stroke = Stroke { width: ((width * scale) as f32).max(1e-3), line_cap, line_join, ..Stroke::default() };
    let burnt = line.stroke(&stroke, 1.0)?;
    let mut patch = Patch::of(mm_box(&burnt, 0.0, scale), scale);
    patch.paint(&burnt);
    Some(patch)
}

impl Patch {
    fn paint(&mut self, outline: &Path) {
        let (Ok(width), Ok(height)) = (u32::try_from(self.width), u32::try_from(self.height)) else { return };
        let Some(mut mask) = Mask::new(width, height) else { return };
        #[allow(clippy::cast_precision_loss, reason = "some thousands of pixels")]
        let to_patch = Transform::from_translate(-self.x as f32, -self.y as f32);
        mask.fill_path(outline, FillRule::Winding, true, to_patch);
        self.data = mask.take();
    }
}

/// The path in pixels; none where it has no extent or leaves every bound.
fn built(path: &BezPath, map: Affine, scale: f64) -> Option<Path> {
    let to_pixels = Affine::scale(scale) * map;
    #[allow(clippy::cast_possible_truncation, reason = "pixels of a part: thousands")]
    let pair = |point: Point| {
        let point = to_pixels * point;
        (point.x as f32, point.y as f32)
    };
    let mut builder = PathBuilder::new();
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(to) => {
                let (x, y) = pair(to);
                builder.move_to(x, y);
            }
            PathEl::LineTo(to) => {
                let (x, y) = pair(to);
                builder.line_to(x, y);
            }
            PathEl::QuadTo(by, to) => {
                let ((x1, y1), (x, y)) = (pair(by), pair(to));
                builder.quad_to(x1, y1, x, y);
            }
            PathEl::CurveTo(a, b, to) => {
                let ((x1, y1), (x2, y2), (x, y)) = (pair(a), pair(b), pair(to));
                builder.cubic_to(x1, y1, x2, y2, x, y);
            }
            PathEl::ClosePath => builder.close(),
        }
    }
    let built = builder.finish()?;
    let box_ = built.bounds();
    let far = f64::from(box_.left().abs().max(box_.right().abs()).max(box_.top().abs()).max(box_.bottom().abs()));
    // A list that was written by hand may hold anything.
    (far < 1e6 && f64::from(box_.width().max(box_.height())) <= 2.0 * WIDEST).then_some(built)
}

fn mm_box(path: &Path, more: f64, scale: f64) -> Rect {
    let box_ = path.bounds();
    let side = |value: f32| f64::from(value) / scale;
    Rect::new(side(box_.left()), side(box_.top()), side(box_.right()), side(box_.bottom())).inflate(more, more)
}
