//! How far it is from each pixel to the nearest one that is not covered, and the thinnest wall by that.
//!
//! The distances are exact: Felzenszwalb and Huttenlocher, "Distance transforms of sampled functions", Theory of Computing 8
//! (2012). A wall is where two pixels side by side have their nearest void on opposite sides of them.

use kurbo::Point;

use super::raster::{HALF, Patch, middle};

/// Cosine of the least angle, 160 degrees, between the ways to the two sides of a wall.
const OPPOSITE: f64 = -0.94;
/// What is void on both sides and joined within so many widths of a place is what goes round a corner or a tip, and not a wall.
const AROUND: f64 = 3.0;
/// And within so many pixels: where an opening just grazes a rim, its mouth is that far from the first wall that pixels show.
const GRAZING: f64 = 40.0;
/// Never farther, in pixels, whatever thickness a list asks for.
const FARTHEST: f64 = 400.0;
/// What is thinner by this factor near a place makes it part of a tip, where that ends: its flanks meet at two degrees or more.
const THINNER: f64 = 0.9;
/// A wall of fewer pixels is what two rasters leave between them, and no wall.
const LEAST_PIXELS: f64 = 2.0;
/// Farther than any picture is wide, in pixels.
const FAR: i32 = 1 << 20;

/// The thinnest wall of a picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wall {
    /// How thick it is, in mm, to within two pixels.
    pub(super) width: f64,
    /// Its middle, in mm.
    pub(super) at: Point,
}

/// What is thin in a picture.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Thin {
    /// Its thinnest wall.
    pub(super) wall: Option<Wall>,
    /// How thick it is, in mm, wherever that is less and pixels cannot tell that it is a wall: beside pockets that come as near to an
    /// edge as a pixel, and where both sides meet near by, as at tips and in strips that end freely.
    pub(super) unsure: Vec<f64>,
}

/// For each pixel of a picture, row by row, how many columns and rows it is to the nearest one that is not covered.
pub(super) struct Nearest {
    to: Vec<[i32; 2]>,
}

impl Nearest {
    /// Whether what lies outside the picture counts as not covered.
    pub(super) fn of(patch: &Patch, void_around: bool) -> Self {
        let columns = usize::try_from(patch.width).unwrap_or(0).max(1);
        let up = vertical(patch, columns, void_around);
        let mut to = Vec::with_capacity(up.len());
        let mut envelope = Envelope::default();
        for row in up.chunks_exact(columns) {
            envelope.lay(row, void_around);
            envelope.read(row, &mut to);
        }
        Self { to }
    }

    /// How far it is at a pixel, counted from the first, in pixels; zero outside.
    pub(super) fn pixels(&self, at: usize) -> f64 {
        self.to.get(at).map_or(0.0, |way| length(*way))
    }
}

fn length([x, y]: [i32; 2]) -> f64 {
    // Not `hypot`, which guards against overflows that whole pixels cannot make and takes ten times as long.
    (f64::from(x).powi(2) + f64::from(y).powi(2)).sqrt()
}

/// Rows to the nearest pixel of the same column that is not covered.
fn vertical(patch: &Patch, columns: usize, void_around: bool) -> Vec<i32> {
    // The rows just outside, or ones that are farther than any other.
    let below = if void_around { (-1, patch.height) } else { (-FAR, FAR) };
    let mut rows: Vec<i32> = vec![0; patch.data.len()];
    let mut last = vec![below.0; columns];
    for ((row, y), found) in patch.data.chunks_exact(columns).zip(0..).zip(rows.chunks_exact_mut(columns)) {
        for ((value, last), found) in row.iter().zip(&mut last).zip(found) {
            if *value < HALF {
                *last = y;
            }
            *found = *last - y;
        }
    }
    let mut next = vec![below.1; columns];
    let from_last = patch.data.chunks_exact(columns).rev().zip((0..patch.height).rev());
    for ((row, y), found) in from_last.zip(rows.chunks_exact_mut(columns).rev()) {
        for ((value, next), found) in row.iter().zip(&mut next).zip(found) {
            if *value < HALF {
                *next = y;
            }
            if *next - y < -*found {
                *found = *next - y;
            }
        }
    }
    rows
}

/// The lower envelope of one parabola a column, each standing as high as its nearest void is far up or down.
#[derive(Default)]
struct Envelope {
    /// The columns whose parabolas are lowest somewhere, each with where that begins.
    lowest: Vec<(i32, f64)>,
}

impl Envelope {
    fn lay(&mut self, row: &[i32], void_around: bool) {
        self.lowest.clear();
        let width = i32::try_from(row.len()).unwrap_or(0);
        let outside = i32::from(void_around);
        let height = |column: i32| {
            let at = usize::try_from(column).ok().and_then(|column| row.get(column));
            f64::from(at.copied().unwrap_or(0)).powi(2)
        };
        for column in -outside..width + outside {
            let own = height(column) + f64::from(column).powi(2);
            let meets = |other: i32| {
                let theirs = height(other) + f64::from(other).powi(2);
                (own - theirs) / (2.0 * f64::from(column - other))
            };
            while let Some((other, from)) = self.lowest.last()
                && meets(*other) <= *from
            {
                self.lowest.pop();
            }
            let from = self.lowest.last().map_or(f64::NEG_INFINITY, |(other, _)| meets(*other));
            self.lowest.push((column, from));
        }
    }

    fn read(&self, row: &[i32], to: &mut Vec<[i32; 2]>) {
        let mut lowest = self.lowest.iter().peekable();
        let mut now = lowest.peek().map_or(0, |(column, _)| *column);
        for (column, _) in (0..).zip(row) {
            while let Some((next, _)) = lowest.next_if(|(_, from)| *from <= f64::from(column)) {
                now = *next;
            }
            let rows = usize::try_from(now).ok().and_then(|at| row.get(at)).copied().unwrap_or(0);
            to.push([now - column, rows]);
        }
    }
}

/// The thinnest wall of what is covered, and between pockets and what is not, where it is thinner than `limit` mm.
pub(super) fn thinnest<'p>(patch: &Patch, pockets: impl Iterator<Item = &'p Patch>, limit: f64, scale: f64) -> Thin {
    let nearest = Nearest::of(patch, true);
    let columns = usize::try_from(patch.width).unwrap_or(0).max(1);
    let most = limit * scale;
    // How thick it is, where, and the pixel there with the one beside it.
    let mut found: Vec<(f64, usize, usize)> = Vec::new();
    for (at, own) in nearest.to.iter().enumerate() {
        let reach = length(*own);
        // Not even twice as far is within the limit, or nothing is covered here.
        if reach == 0.0 || 2.0 * reach > most + 2.0 {
            continue;
        }
        for (step, other) in [([1, 0], at + 1), ([0, 1], at + columns)] {
            let beside = other;
            let Some(other) = nearest.to.get(beside).filter(|other| **other != [0, 0]) else { continue };
            // From one void to the other, edge to edge: half a pixel less at either end.
            let across = length([other[0] + step[0] - own[0], other[1] + step[1] - own[1]]) - 1.0;
            let cosine = f64::from(own[0] * other[0] + own[1] * other[1]) / (reach * length(*other));
            if cosine < OPPOSITE && across >= LEAST_PIXELS && across < most {
                found.push((across, at, beside));
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let mut tips: Vec<(f64, usize)> = Vec::new();
    let first = found.iter().position(|(across, at, beside)| {
        let ends = joined(patch, &nearest, *across, [*at, *beside]) || tapers(&tips, columns, (*across, *at));
        tips.extend(ends.then_some((*across, *at)));
        !ends
    });
    let mut unsure: Vec<f64> = tips.iter().map(|(across, _)| across / scale).collect();
    let mut best = first.and_then(|first| found.get(first)).map(|(across, at, _)| (*across, *at));
    for pocket in pockets {
        let places = pocket.pixels().filter(|(_, _, value)| *value >= HALF).map(|(x, y, _)| patch.place(x, y));
        let least = places.map(|at| (nearest.pixels(at) - 1.0, at)).min_by(|a, b| a.0.total_cmp(&b.0));
        // One that runs into what is cut away has no wall there.
        unsure.extend(least.filter(|it| (0.0..LEAST_PIXELS).contains(&it.0)).map(|it| it.0 / scale));
        best = best.into_iter().chain(least.filter(|it| it.0 >= LEAST_PIXELS)).min_by(|a, b| a.0.total_cmp(&b.0));
    }
    let place = |at: usize| i32::try_from(at).unwrap_or(0);
    let wall = best.filter(|best| best.0 < most).map(|(across, at)| {
        let at = middle(patch.x + place(at % columns), patch.y + place(at / columns), scale);
        Wall { width: across / scale, at }
    });
    Thin { wall, unsure }
}

/// How far round a place of this width is looked, in pixels.
fn reach(across: f64) -> f64 {
    (across * AROUND).clamp(GRAZING, FARTHEST)
}

/// Whether the place of this width is where a tip grows wider: near one that was found to end, and that is thinner.
fn tapers(tips: &[(f64, usize)], columns: usize, (across, at): (f64, usize)) -> bool {
    let reach = reach(across);
    let near = |other: usize| {
        let apart = |one: usize, other: usize| i32::try_from(one.abs_diff(other)).map_or(f64::INFINITY, f64::from);
        apart(at % columns, other % columns) <= reach && apart(at / columns, other / columns) <= reach
    };
    tips.iter().any(|(thinner, place)| *thinner < (THINNER * across).min(across - 0.75) && near(*place))
}

/// Whether the voids nearest to two pixels are joined near them.
#[allow(clippy::cast_possible_truncation, reason = "some pixels")]
fn joined(patch: &Patch, nearest: &Nearest, across: f64, at: [usize; 2]) -> bool {
    let columns = usize::try_from(patch.width).unwrap_or(0).max(1);
    let place = |at: usize| i32::try_from(at).unwrap_or(0);
    let void = |at: usize| {
        let [x, y] = nearest.to.get(at).copied().unwrap_or_default();
        (patch.x + place(at % columns) + x, patch.y + place(at / columns) + y)
    };
    let [from, to] = at.map(void);
    let reach = reach(across) as i32;
    let middle = (from.0.midpoint(to.0), from.1.midpoint(to.1));
    let side = 2 * reach + 1;
    let inside = |(x, y): (i32, i32)| {
        let (column, row) = (x - middle.0 + reach, y - middle.1 + reach);
        let within = (0..side).contains(&column) && (0..side).contains(&row);
        within.then(|| usize::try_from(row * side + column).ok()).flatten()
    };
    let mut seen = vec![false; usize::try_from(side * side).unwrap_or(0)];
    let mut open = vec![from];
    while let Some((x, y)) = open.pop() {
        if (x, y) == to {
            return true;
        }
        for (x, y) in [(x + 1, y), (x - 1, y), (x, y + 1), (x, y - 1)] {
            let new = inside((x, y)).and_then(|at| seen.get_mut(at)).filter(|seen| !**seen);
            if let Some(seen) = new.filter(|_| patch.get(x, y) < HALF) {
                *seen = true;
                open.push((x, y));
            }
        }
    }
    false
}

#[cfg(test)]
mod tests {
    use kurbo::{Affine, BezPath};

    use super::super::raster::filled;
    use super::*;

    fn picture(data: &str, degrees: f64) -> Patch {
        filled(&BezPath::from_svg(data).unwrap(), Affine::rotate(degrees.to_radians()), 20.0).unwrap()
    }

    /// Every distance is the least of all, by looking at all.
    #[test]
    fn distances_are_the_least_of_all() {
        let patch =
            filled(&BezPath::from_svg("M0,0 L2,0.3 L1.2,1.9 L0.9,0.9 Z").unwrap(), Affine::IDENTITY, 12.0).unwrap();
        let nearest = Nearest::of(&patch, true);
        let void: Vec<(i32, i32)> =
            patch.pixels().filter(|(_, _, value)| *value < HALF).map(|(x, y, _)| (x, y)).collect();
        for (at, (x, y, _)) in patch.pixels().enumerate() {
            let least =
                void.iter().map(|(a, b)| f64::from(a - x).hypot(f64::from(b - y))).fold(f64::INFINITY, f64::min);
            assert!((nearest.pixels(at) - least).abs() < 1e-9, "{x} {y}: {} {least}", nearest.pixels(at));
        }
    }

    /// A bar, a frame with a hole nearer to one side, and a neck, each turned: as thick as drawn to within two pixels.
    #[test]
    fn walls_are_as_thick_as_drawn() {
        let near = |data: &str, wanted: f64| {
            for degrees in [0.0, 17.0, 45.0, 80.0] {
                let found = thinnest(&picture(data, degrees), [].into_iter(), 2.0, 20.0).wall.unwrap();
                assert!((found.width - wanted).abs() < 0.1, "{data} at {degrees}: {found:?}");
            }
        };
        near("M0,0 L10,0 L10,0.8 L0,0.8 Z", 0.8);
        near("M0,0 L10,0 L10,10 L0,10 Z M0.6,3 L0.6,7 L7,7 L7,3 Z", 0.6);
        near("M0,0 L4,0 L4,2 L6,2 L6,0 L10,0 L10,6 L6,6 L6,3.2 L4,3.2 L4,6 L0,6 Z", 1.2);
        assert_eq!(
            thinnest(&picture("M0,0 L10,0 L10,10 L0,10 Z", 30.0), [].into_iter(), 2.0, 20.0).wall,
            None,
            "corners are no walls"
        );
        assert_eq!(thinnest(&picture("M0,0 L9,0 L4.5,7 Z", 10.0), [].into_iter(), 2.0, 20.0).wall, None);
        let tip = thinnest(&picture("M0,0 L9,1.4 L0,2.8 Z", 33.0), [].into_iter(), 1.0, 20.0);
        assert_eq!(tip.wall, None, "nor tips");
        let slender = picture("M0,0 L20,0.7 L0,1.4 Z", 33.0);
        assert_eq!(thinnest(&slender, [].into_iter(), 1.0, 20.0).wall, None, "however slender");
        // What grows thinner than half a millimetre is told to within two pixels, as something that is no wall for certain.
        assert!(tip.unsure.iter().any(|width| (width - 0.5).abs() < 0.1), "{:?}", tip.unsure);
    }
}
