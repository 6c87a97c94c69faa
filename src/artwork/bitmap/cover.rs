//! How much of each pixel is mark, and the outlines on which that is a half.
//!
//! An outline runs between a pixel that is mark and a neighbour that is not, and crosses the line between their
//! centres. Where the two next to them are wholly mark and wholly bare, the pair's covers add up to where a straight
//! edge stands, exactly; elsewhere the crossing is interpolated.

use kurbo::{Point, Vec2};

/// Bare pixels kept round the picture, so that every outline closes and has neighbours to look at.
const MARGIN: usize = 2;
/// From this cover on a pixel counts as wholly mark.
const WHOLE: u8 = 250;
/// Up to this cover a pixel counts as wholly bare.
const BARE: u8 = 5;
/// Most points of all outlines together: 96 MB.
const LONGEST: usize = 6_000_000;
/// The cover of a half.
pub(super) const HALF: f64 = 127.5;

/// The cover of each pixel, 0 (bare) to 255 (mark).
#[derive(Clone)]
pub(super) struct Cover {
    width: usize,
    cells: Vec<u8>,
}

/// A closed outline, mark on its left as the picture is seen; in pixels from the upper left corner, y down.
pub(super) type Ring = Vec<Point>;

impl Cover {
    /// The cover of a picture, row by row from the top.
    pub(super) fn new(width: usize, height: usize, values: impl IntoIterator<Item = u8>) -> Self {
        let stride = width + 2 * MARGIN;
        let mut cells = Vec::with_capacity(stride * (height + 2 * MARGIN));
        let mut values = values.into_iter();
        cells.resize(MARGIN * stride, 0);
        for _ in 0..height {
            cells.resize(cells.len() + MARGIN, 0);
            cells.extend(values.by_ref().take(width));
            cells.resize(cells.len().div_ceil(stride) * stride, 0);
        }
        cells.resize(stride * (height + 2 * MARGIN), 0);
        Self { width, cells }
    }

    /// From one row of [`Self::cells_mut`] to the next.
    pub(super) fn stride(&self) -> usize {
        self.width + 2 * MARGIN
    }

    /// All cells with their margin of two bare ones, row by row.
    pub(super) fn cells_mut(&mut self) -> &mut [u8] {
        &mut self.cells
    }

    /// The outlines at a level of cover, above which a pixel is mark; those round less than `least` px² are only
    /// counted. Marks that touch at a corner are joined where the four pixels that meet there are more mark than bare.
    /// None where the outlines are longer than [`LONGEST`] points.
    pub(super) fn outlines(&self, level: f64, least: f64) -> Option<Outlines> {
        // A walk of our own: a crate for contours interpolates, which is 0.08 px off at a straight edge, and wants
        // all values as numbers of 8 bytes.
        let walk = Walk { cells: &self.cells, stride: self.stride(), level };
        let mut seen = vec![0u64; self.cells.len().div_ceil(64)];
        let mut found = Outlines::default();
        let mut points = 0;
        for (at, pair) in self.cells.windows(2).enumerate() {
            let enters = matches!(pair, [bare, mark] if !walk.is_mark(*bare) && walk.is_mark(*mark));
            if !enters || !note(&mut seen, at) {
                continue;
            }
            let ring = walk.round(at, &mut seen);
            match area(&ring) {
                // The sign tells a spot of mark from a hole in it.
                small if small.abs() < least && small > 0.0 => found.specks += 1,
                small if small.abs() < least => found.pinholes += 1,
                _ => {
                    points += ring.len();
                    found.rings.push(ring);
                }
            }
            if points > LONGEST {
                return None;
            }
        }
        Some(found)
    }
}

/// The outlines of a picture.
#[derive(Default)]
pub(super) struct Outlines {
    /// Those that are kept.
    pub(super) rings: Vec<Ring>,
    /// How many spots of mark were too small.
    pub(super) specks: usize,
    /// How many bare spots were too small.
    pub(super) pinholes: usize,
}

/// The area in a closed ring of points, in px²; above zero where the mark is inside.
pub(super) fn area(ring: &[Point]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    // Mark on the left, y down: outer rings run against the sense of the sum.
    ring.iter().zip(next).map(|(a, b)| b.to_vec2().cross(a.to_vec2())).sum::<f64>() / 2.0
}

/// Notes a place; whether it is new.
fn note(seen: &mut [u64], at: usize) -> bool {
    let bit = 1u64 << (at % 64);
    seen.get_mut(at / 64).is_some_and(|word| std::mem::replace(word, *word | bit) & bit == 0)
}

/// Where a walk crosses from one pixel pair to the next, heading so that the mark is on its left.
#[derive(Clone, Copy)]
struct Crossing {
    mark: usize,
    heading: Heading,
}

#[derive(Clone, Copy, PartialEq)]
enum Heading {
    East,
    North,
    West,
    South,
}

struct Walk<'a> {
    cells: &'a [u8],
    stride: usize,
    level: f64,
}

impl Walk<'_> {
    fn is_mark(&self, cover: u8) -> bool {
        f64::from(cover) > self.level
    }

    /// Offset from a cell to its neighbour in a direction.
    fn step(&self, heading: Heading) -> isize {
        let stride = self.stride.cast_signed();
        match heading {
            Heading::East => 1,
            Heading::North => -stride,
            Heading::West => -1,
            Heading::South => stride,
        }
    }

    fn cover(&self, at: usize) -> u8 {
        self.cells.get(at).copied().unwrap_or(0)
    }

    /// The outline that runs south between the bare cell `at` and the mark to its right.
    fn round(&self, at: usize, seen: &mut [u64]) -> Ring {
        let start = Crossing { mark: at + 1, heading: Heading::South };
        let mut ring = Ring::new();
        let mut here = start;
        loop {
            let point = self.point(here);
            if ring.last().is_none_or(|last: &Point| last.distance_squared(point) > 1e-12) {
                ring.push(point);
            }
            here = self.next(here);
            if here.heading == Heading::South {
                if here.mark == start.mark {
                    break;
                }
                note(seen, here.mark - 1);
            }
        }
        ring
    }

    fn next(&self, Crossing { mark, heading }: Crossing) -> Crossing {
        let ahead = self.step(heading);
        let bare = mark.wrapping_add_signed(self.step(heading.right()));
        let (mark_ahead, bare_ahead) = (mark.wrapping_add_signed(ahead), bare.wrapping_add_signed(ahead));
        let covers = [mark, bare, mark_ahead, bare_ahead].map(|at| self.cover(at));
        let [_, _, left, right] = covers.map(|cover| self.is_mark(cover));
        let joined = || covers.iter().map(|cover| f64::from(*cover)).sum::<f64>() > 4.0 * self.level;
        match (left, right) {
            (true, false) => Crossing { mark: mark_ahead, heading },
            // Marks that touch at a corner: the sum of all four pixels decides, the same from either side, or the
            // outline would cross itself.
            (false, true) if !joined() => Crossing { mark, heading: heading.left() },
            (_, true) => Crossing { mark: bare_ahead, heading: heading.right() },
            (false, false) => Crossing { mark, heading: heading.left() },
        }
    }

    /// Where the outline crosses between the mark and the bare pixel on its right.
    #[allow(clippy::cast_precision_loss, reason = "a column or row of a picture")]
    fn point(&self, Crossing { mark, heading }: Crossing) -> Point {
        let step = self.step(heading.right());
        let bare = mark.wrapping_add_signed(step);
        let (inner, outer) = (self.cover(mark.wrapping_add_signed(-step)), self.cover(bare.wrapping_add_signed(step)));
        let (full, part) = (f64::from(self.cover(mark)), f64::from(self.cover(bare)));
        // Between a whole and a bare neighbour the covers of the two add up to where a straight edge stands, exactly.
        // At another level, or beside other edges, only interpolation is left.
        let along = if self.level == HALF && inner >= WHOLE && outer <= BARE {
            (full + part) / 255.0 - 0.5
        } else {
            (full - self.level) / (full - part)
        };
        let centre = |at: usize| at as f64 + 0.5 - MARGIN as f64;
        let from = Point::new(centre(mark % self.stride), centre(mark / self.stride));
        from + heading.right().unit() * along
    }
}

impl Heading {
    fn left(self) -> Self {
        match self {
            Self::East => Self::North,
            Self::North => Self::West,
            Self::West => Self::South,
            Self::South => Self::East,
        }
    }

    fn right(self) -> Self {
        self.left().left().left()
    }

    /// As the picture is seen, y down.
    fn unit(self) -> Vec2 {
        match self {
            Self::East => Vec2::new(1.0, 0.0),
            Self::North => Vec2::new(0.0, -1.0),
            Self::West => Vec2::new(-1.0, 0.0),
            Self::South => Vec2::new(0.0, 1.0),
        }
    }
}
