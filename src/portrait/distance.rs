//! How far each place is from the edge of a part: positive in the material, negative outside.
//!
//! Squared distances to covered samples are exact (Felzenszwalb and Huttenlocher, "Distance Transforms of Sampled Functions",
//! Theory of Computing 8, 2012). Near the edge the distance is that to the lines of the path itself, or rims would look serrated.

use resvg::tiny_skia::{Path, PathSegment, Point};

use super::raster::Grid;

/// Within so many samples of the edge distances are those to the path.
const NEAR: f32 = 2.5;
/// Straight pieces of a curve.
const PIECES: u8 = 12;
/// Farther than anything, in squared samples.
const FAR: f32 = 1.0e12;

/// Signed distances in mm over a grid of coverage of this path.
pub(super) fn distance(cover: &Grid<u8>, path: &Path) -> Grid<f32> {
    let to = |inside: bool| {
        let mut field: Vec<f32> = cover.cells.iter().map(|cell| start(*cell, inside)).collect();
        squared(&mut field, cover.wide, cover.high);
        field
    };
    let (to_cover, to_bare) = (to(false), to(true));
    let far = to_bare.iter().zip(&to_cover).map(|(within, out)| (within.sqrt() - out.sqrt()) / cover.res);
    let mut grid = cover.with(far.collect());
    refine(&mut grid, cover, path);
    grid
}

/// Squared distance in samples from a sample to what is covered, or to what is bare, as far as its own coverage tells.
fn start(cell: u8, inside: bool) -> f32 {
    let part = f32::from(cell) / 255.0;
    let part = if inside { 1.0 - part } else { part };
    match part {
        part if part >= 0.999 => 0.0,
        part if part <= 0.001 => FAR,
        part => (0.5 - part).max(0.0) * (0.5 - part).max(0.0),
    }
}

fn squared(field: &mut [f32], wide: usize, high: usize) {
    let mut line = Line::default();
    for x in 0..wide {
        line.swept(field, (0..high).map(|y| y * wide + x));
    }
    for y in 0..high {
        line.swept(field, (0..wide).map(|x| y * wide + x));
    }
}

/// The lower envelope of parabolas over one line of the field.
#[derive(Default)]
struct Line {
    /// Each parabola of the envelope: where it stands, how high, and from where on it is the lowest.
    envelope: Vec<(f32, f32, f32)>,
}

impl Line {
    fn swept(&mut self, field: &mut [f32], places: impl Iterator<Item = usize> + Clone) {
        self.envelope.clear();
        for (at, place) in places.clone().enumerate() {
            let (at, height) = (at as f32, field.get(place).copied().unwrap_or(FAR));
            let mut from = f32::MIN;
            while let Some((other, low, begins)) = self.envelope.last().copied() {
                from = ((height + at * at) - (low + other * other)) / (2.0 * (at - other));
                if from > begins {
                    break;
                }
                self.envelope.pop();
                from = f32::MIN;
            }
            self.envelope.push((at, height, from));
        }
        let mut current = 0;
        for (at, place) in places.enumerate() {
            let at = at as f32;
            while self.envelope.get(current + 1).is_some_and(|(_, _, begins)| *begins < at) {
                current += 1;
            }
            if let (Some(cell), Some((stands, height, _))) = (field.get_mut(place), self.envelope.get(current)) {
                *cell = (at - stands) * (at - stands) + height;
            }
        }
    }
}

/// Exact distances to the lines of the path for all samples near one.
fn refine(grid: &mut Grid<f32>, cover: &Grid<u8>, path: &Path) {
    let mut least = vec![f32::MAX; grid.cells.len()];
    for (from, to) in lines(path) {
        let sample = |point: Point| ((point.x - cover.left) * cover.res, (point.y - cover.top) * cover.res);
        let ((ax, ay), (bx, by)) = (sample(from), sample(to));
        let (dx, dy) = (bx - ax, by - ay);
        let size = (dx * dx + dy * dy).max(1e-12);
        let range = |a: f32, b: f32, count: usize| {
            ((a.min(b) - NEAR).max(0.0) as usize)..(((a.max(b) + NEAR).max(0.0) as usize + 1).min(count))
        };
        for y in range(ay, by, cover.high) {
            for x in range(ax, bx, cover.wide) {
                let (px, py) = (x as f32 - ax, y as f32 - ay);
                let along = ((px * dx + py * dy) / size).clamp(0.0, 1.0);
                let (ex, ey) = (px - along * dx, py - along * dy);
                if let Some(cell) = least.get_mut(y * cover.wide + x) {
                    *cell = cell.min(ex * ex + ey * ey);
                }
            }
        }
    }
    for ((cell, least), covered) in grid.cells.iter_mut().zip(&least).zip(&cover.cells) {
        if *least < NEAR * NEAR {
            let near = least.sqrt() / cover.res;
            *cell = if *covered >= 128 { near } else { -near };
        }
    }
}

/// A path as straight lines, each curve in [`PIECES`].
fn lines(path: &Path) -> Vec<(Point, Point)> {
    let (mut all, mut start, mut at) = (Vec::new(), Point::zero(), Point::zero());
    let mut curve = |from: Point, of: &dyn Fn(f32, f32) -> Point| {
        let shares = (1..=PIECES).map(|piece| f32::from(piece) / f32::from(PIECES));
        shares.fold(from, |last, share| {
            let next = of(share, 1.0 - share);
            all.push((last, next));
            next
        })
    };
    for segment in path.segments() {
        let from = at;
        at = match segment {
            PathSegment::MoveTo(to) => {
                start = to;
                to
            }
            PathSegment::LineTo(to) => {
                curve(from, &|t, s| weighed(&[(s, from), (t, to)]));
                to
            }
            PathSegment::QuadTo(by, to) => {
                curve(from, &|t, s| weighed(&[(s * s, from), (2.0 * s * t, by), (t * t, to)]));
                to
            }
            PathSegment::CubicTo(by, on, to) => {
                curve(from, &|t, s| {
                    weighed(&[(s * s * s, from), (3.0 * s * s * t, by), (3.0 * s * t * t, on), (t * t * t, to)])
                });
                to
            }
            PathSegment::Close => {
                curve(from, &|t, s| weighed(&[(s, from), (t, start)]));
                start
            }
        };
    }
    all
}

fn weighed(points: &[(f32, Point)]) -> Point {
    points
        .iter()
        .fold(Point::zero(), |sum, (weight, point)| Point::from_xy(sum.x + weight * point.x, sum.y + weight * point.y))
}

#[cfg(test)]
mod tests {
    use kurbo::Affine;

    use super::*;
    use crate::geometry::shapes::{circle, rectangle};
    use crate::portrait::raster::{Stroked, cover, path};

    fn field(region: &crate::geometry::Region) -> Grid<f32> {
        let outline = path(region.path(), Affine::IDENTITY).unwrap();
        let covered = cover(&[Stroked { path: outline.clone(), width: 0.0 }], 12.0, 3.0).unwrap();
        distance(&covered, &outline)
    }

    /// Against the closed forms of a disc and a square: within a hundredth of a millimetre near the edge, the diagonal of a sample
    /// elsewhere.
    #[test]
    fn distances_are_those_of_the_closed_forms() {
        let disc = field(&circle(10.0).unwrap());
        let square = field(&rectangle(20.0, 20.0, 0.0).unwrap());
        for at in 0..240 {
            let far = at as f32 * 0.05;
            let (x, y) = (far * 0.6, far * 0.8);
            let most = if (10.0 - far).abs() < 0.12 { 0.01 } else { 0.12 };
            assert!((disc.at(x, y) - (10.0 - far)).abs() < most, "disc at {far}: {}", disc.at(x, y));
            let most = if (10.0 - far).abs() < 0.12 { 0.01 } else { 0.12 };
            let wall = (10.0 - far).min(9.0);
            assert!((square.at(far, 1.0) - wall).abs() < most, "square at {far}: {}", square.at(far, 1.0));
        }
        // Beyond the grid the way to it counts in.
        assert!((disc.at(30.0, 0.0) + 20.0).abs() < 0.1, "{}", disc.at(30.0, 0.0));
    }
}
