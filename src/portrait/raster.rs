//! Paths to grids of coverage.

use kurbo::{Affine, BezPath, PathEl};
use resvg::tiny_skia::{FillRule, Mask, Path, PathBuilder, Rect, Stroke, Transform};

use super::noise::between;

/// Most samples along a side of a grid, so that no board takes more memory than a few hundred megabytes.
const LONGEST: f32 = 4800.0;

/// A grid of samples over a piece of the plane, in mm.
#[derive(Clone)]
pub(super) struct Grid<T> {
    pub(super) wide: usize,
    pub(super) high: usize,
    /// Where the middle of the first sample lies.
    pub(super) left: f32,
    pub(super) top: f32,
    /// Samples to the mm.
    pub(super) res: f32,
    pub(super) cells: Vec<T>,
}

impl<T: Copy + Default> Grid<T> {
    /// The same grid with other values.
    pub(super) fn with<U>(&self, cells: Vec<U>) -> Grid<U> {
        Grid { wide: self.wide, high: self.high, left: self.left, top: self.top, res: self.res, cells }
    }

    /// The four samples round a place, and how far it is between them.
    #[inline(always)]
    fn round(&self, x: f32, y: f32) -> ([T; 4], (f32, f32)) {
        let (ix, iy) = (x as usize, y as usize);
        let at = iy * self.wide + ix;
        let get = |at: usize| self.cells.get(at).copied().unwrap_or_default();
        ([get(at), get(at + 1), get(at + self.wide), get(at + self.wide + 1)], (x - ix as f32, y - iy as f32))
    }
}

impl Grid<u8> {
    /// Coverage from 0 to 1; nothing outside.
    #[inline(always)]
    pub(super) fn at(&self, x: f32, y: f32) -> f32 {
        let (x, y) = ((x - self.left) * self.res, (y - self.top) * self.res);
        let within = x >= 0.0 && y >= 0.0 && x < (self.wide - 1) as f32 && y < (self.high - 1) as f32;
        if !within {
            return 0.0;
        }
        let (four, (across, down)) = self.round(x, y);
        let [a, b, c, d] = four.map(f32::from);
        between(between(a, b, across), between(c, d, across), down) * (1.0 / 255.0)
    }
}

impl Grid<f32> {
    /// The value; outside, the one at the border less the way there.
    #[inline(always)]
    pub(super) fn at(&self, x: f32, y: f32) -> f32 {
        let (x, y) = ((x - self.left) * self.res, (y - self.top) * self.res);
        let (most_x, most_y) = ((self.wide - 1) as f32 - 0.001, (self.high - 1) as f32 - 0.001);
        let (near_x, near_y) = (x.clamp(0.0, most_x), y.clamp(0.0, most_y));
        let ([a, b, c, d], (across, down)) = self.round(near_x, near_y);
        let value = between(between(a, b, across), between(c, d, across), down);
        let (off_x, off_y) = (x - near_x, y - near_y);
        if off_x == 0.0 && off_y == 0.0 { value } else { value - (off_x * off_x + off_y * off_y).sqrt() / self.res }
    }
}

impl Grid<f32> {
    /// Of each row of signed distances, where the first and the last sample within lie, in mm.
    pub(super) fn border(&self) -> Vec<(f32, f32)> {
        let rows = self.cells.chunks(self.wide.max(1)).enumerate();
        let ends = rows.filter_map(|(y, row)| {
            let first = row.iter().position(|far| *far > 0.0)?;
            Some([(first, y), (row.iter().rposition(|far| *far > 0.0)?, y)])
        });
        let place = |(x, y): (usize, usize)| (self.left + x as f32 / self.res, self.top + y as f32 / self.res);
        ends.flatten().map(place).collect()
    }
}

/// A path to be filled, or stroked where it has a width in mm.
pub(super) struct Stroked {
    pub(super) path: Path,
    pub(super) width: f32,
}

/// A path as the rasteriser takes it; none where nothing is in it.
pub(super) fn path(from: &BezPath, map: Affine) -> Option<Path> {
    let mut build = PathBuilder::new();
    let at = |point: kurbo::Point| {
        let point = map * point;
        (point.x as f32, point.y as f32)
    };
    for element in from.elements() {
        match *element {
            PathEl::MoveTo(to) => build.move_to(at(to).0, at(to).1),
            PathEl::LineTo(to) => build.line_to(at(to).0, at(to).1),
            PathEl::QuadTo(by, to) => build.quad_to(at(by).0, at(by).1, at(to).0, at(to).1),
            PathEl::CurveTo(one, other, to) => {
                build.cubic_to(at(one).0, at(one).1, at(other).0, at(other).1, at(to).0, at(to).1);
            }
            PathEl::ClosePath => build.close(),
        }
    }
    build.finish()
}

/// Coverage of paths over the box that they fill, `margin` mm wider; none where there is nothing to cover.
pub(super) fn cover(paths: &[Stroked], res: f32, margin: f32) -> Option<Grid<u8>> {
    let bounds = paths.iter().filter_map(|one| {
        let more = one.width / 2.0 + margin;
        let edge = one.path.bounds();
        Rect::from_ltrb(edge.left() - more, edge.top() - more, edge.right() + more, edge.bottom() + more)
    });
    let joined = |a: Rect, b: Rect| {
        let (left, top) = (a.left().min(b.left()), a.top().min(b.top()));
        Rect::from_ltrb(left, top, a.right().max(b.right()), a.bottom().max(b.bottom())).unwrap_or(a)
    };
    let edge = bounds.reduce(joined)?;
    let res = res.min(LONGEST / edge.width().max(edge.height()));
    let samples = |length: f32| ((length * res).ceil() as u32).max(4);
    let (wide, high) = (samples(edge.width()), samples(edge.height()));
    let mut mask = Mask::new(wide, high)?;
    let to = Transform::from_translate(-edge.left(), -edge.top()).post_scale(res, res);
    for one in paths {
        if one.width > 0.0 {
            if let Some(line) = one.path.stroke(&Stroke { width: one.width, ..Stroke::default() }, res) {
                mask.fill_path(&line, FillRule::Winding, true, to);
            }
        } else {
            mask.fill_path(&one.path, FillRule::EvenOdd, true, to);
        }
    }
    let (left, top) = (edge.left() + 0.5 / res, edge.top() + 0.5 / res);
    Some(Grid { wide: wide as usize, high: high as usize, left, top, res, cells: mask.data().to_vec() })
}

/// Coverage averaged: three box blurs make nearly a Gauss curve of this standard deviation in mm.
pub(super) fn blurred(cover: &Grid<u8>, deviation: f32) -> Grid<u8> {
    let radius = ((deviation * cover.res + 0.5) as usize).max(1);
    let mut cells: Vec<u16> = cover.cells.iter().map(|cell| u16::from(*cell) << 7).collect();
    let mut line = Vec::with_capacity(cover.wide.max(cover.high));
    for y in 0..cover.high {
        let row = (0..cover.wide).map(|x| y * cover.wide + x);
        averaged(&mut cells, row, radius, &mut line);
    }
    for x in 0..cover.wide {
        let column = (0..cover.high).map(|y| y * cover.wide + x);
        averaged(&mut cells, column, radius, &mut line);
    }
    cover.with(cells.iter().map(|cell| (cell >> 7) as u8).collect())
}

/// One line of cells averaged three times over twice the radius; beyond the ends there is nothing.
fn averaged(cells: &mut [u16], places: impl Iterator<Item = usize> + Clone, radius: usize, line: &mut Vec<u16>) {
    let span = (2 * radius + 1) as u32;
    for _ in 0..3 {
        line.clear();
        line.extend(places.clone().map(|at| cells.get(at).copied().unwrap_or_default()));
        let get = |at: usize| line.get(at).copied().map_or(0, u32::from);
        let mut sum: u32 = (0..radius).map(get).sum();
        for (at, place) in places.clone().enumerate() {
            sum += get(at + radius);
            if let Some(left) = at.checked_sub(radius + 1) {
                sum -= get(left);
            }
            if let Some(cell) = cells.get_mut(place) {
                *cell = (sum / span) as u16;
            }
        }
    }
}
