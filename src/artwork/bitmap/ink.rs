//! What was drawn on paper in ink or pencil, under whatever light: each blot of it with its holes and its colour.

use kurbo::{BezPath, Point, Rect, Vec2};

use super::corners::Grain;
use super::cover::{Cover, Outlines, area};
use super::decode::{self, Picture};
use super::tones::{luma, otsu};
use super::{SPECK_PX2, noise, outline};
use crate::artwork::ArtError;
use crate::work::spend_on;

/// Squares that the paper's light is told by, to the shorter side.
const SQUARES: usize = 40;
/// Of the pixels of a square, this share is darker than what counts as its paper.
const PAPER: f64 = 0.8;
/// What lies this far below the light is no paper, as a share of it.
const BELOW: f64 = 0.06;
/// Rounds in which squares that hold no paper are left out.
const ROUNDS: usize = 8;
/// Pixels to the side of a block that holds an edge or not.
const BLOCK: usize = 8;
/// Lines that differ from their paper by less than this share of its light are not told from its grain.
const FAINT: f64 = 0.1;
/// Most blots of a drawing; a photograph has more.
const BLOTS: usize = 5000;
/// Pixels that a blot's colour is told by, and how far inside of its rim, in px.
const SAMPLES: usize = 200;
const INSIDE: f64 = 1.6;

/// A drawing on paper.
#[derive(Clone, Debug)]
pub struct Inked {
    /// All that is darker than the paper and larger than a speck, the largest rim first.
    pub blots: Vec<Blot>,
    /// Pixels across and down.
    pub size: (usize, usize),
    /// A pixel's size across and down as the file states it, mm.
    pub pixel: Option<Vec2>,
    /// By what share of the paper's light ink is darker than paper.
    pub contrast: f64,
    /// By what share the light on the darkest part of the paper is less than on the brightest.
    pub shade: f64,
    /// How many specks were passed over.
    pub specks: usize,
}

/// Ink that hangs together. In pixels from the upper left corner of the picture, y down.
#[derive(Clone, Debug)]
pub struct Blot {
    /// Its outer edge.
    pub rim: Vec<Point>,
    /// The edges of its holes.
    pub holes: Vec<Vec<Point>>,
    /// All its edges as lines and curves.
    pub path: BezPath,
    /// Its ink as it would look on white paper.
    pub colour: [u8; 3],
    /// The box round it.
    pub bounds: Rect,
}

/// What is drawn in a PNG, JPEG, BMP or WebP file. Paper may be of any light tone, under a light that falls off evenly: its light is
/// fitted as a surface of second order. Ink is what lies beyond the threshold of Otsu (1979) over all pixels near an edge: over all
/// pixels a few thin lines would count for nothing.
///
/// # Errors
/// [`ArtError`] where it cannot be read, or holds too much.
pub fn inked(bytes: &[u8]) -> Result<Inked, ArtError> {
    let picture = decode::decoded(bytes)?;
    let grain = noise::spread(&picture);
    let light = Light::of(&picture);
    let darkness = light.darkness(&picture);
    let mut inked = Inked {
        blots: Vec::new(),
        size: (picture.width, picture.height),
        pixel: picture.resolution,
        contrast: 0.0,
        shade: light.shade(&picture),
        specks: 0,
    };
    let Some((level, contrast)) = parted(&picture, &darkness) else { return Ok(inked) };
    inked.contrast = contrast;
    if contrast < FAINT.max(6.0 * grain / 255.0) {
        return Ok(inked);
    }
    let mut cover = Cover::new(picture.width, picture.height, darkness.iter().copied());
    let softened = noise::mend(&mut cover, grain);
    let Outlines { rings, specks, .. } = cover.outlines(level, SPECK_PX2).ok_or(ArtError::TooMuch)?;
    inked.specks = specks;
    let (mut rims, holes): (Vec<_>, Vec<_>) = rings.into_iter().partition(|ring| area(ring) > 0.0);
    if rims.len() > BLOTS {
        return Err(ArtError::TooMuch);
    }
    rims.sort_by(|a, b| area(b).total_cmp(&area(a)));
    let mut grouped: Vec<(Vec<Point>, Rect, Vec<Vec<Point>>)> =
        rims.into_iter().map(|rim| (boxed(&rim), rim)).map(|(bounds, rim)| (rim, bounds, Vec::new())).collect();
    for hole in holes {
        let Some(at) = hole.first().copied() else { continue };
        spend_on(grouped.len(), 4);
        // Of all that go round it the least, which is the last.
        let holds = |(rim, bounds, _): &(Vec<Point>, Rect, _)| bounds.contains(at) && goes_round(rim, at);
        if let Some((_, _, own)) = grouped.iter_mut().rev().find(|one| holds(one)) {
            own.push(hole);
        }
    }
    let fineness = if softened { Grain::COARSE } else { Grain::FINE };
    inked.blots = grouped
        .into_iter()
        .map(|(rim, bounds, holes)| {
            let mut path = BezPath::new();
            for ring in std::iter::once(&rim).chain(&holes) {
                path.extend(outline::drawn(ring, fineness));
            }
            let colour = colour(&picture, &light, &darkness, level, &rim);
            Blot { rim, holes, path, colour, bounds }
        })
        .collect();
    Ok(inked)
}

fn boxed(ring: &[Point]) -> Rect {
    let points = ring.iter().map(|point| Rect::from_points(*point, *point));
    points.reduce(|a, b| a.union(b)).unwrap_or_default()
}

/// Whether a ring of points goes round a place, by how often a ray to the right crosses it.
pub fn goes_round(ring: &[Point], at: Point) -> bool {
    spend_on(ring.len(), 1);
    let next = ring.iter().skip(1).chain(ring.first());
    let crosses =
        |a: &Point, b: &Point| (a.y > at.y) != (b.y > at.y) && at.x < a.x + (b.x - a.x) * (at.y - a.y) / (b.y - a.y);
    ring.iter().zip(next).filter(|(a, b)| crosses(a, b)).count() % 2 == 1
}

/// The light on the paper: a surface of second order over the picture, in codes, and the paper's colour.
struct Light {
    terms: [f64; 6],
    paper: [f64; 3],
}

/// One, x, y and their products; x and y from -1 to 1.
fn terms(x: f64, y: f64) -> [f64; 6] {
    [1.0, x, y, x * x, x * y, y * y]
}

#[allow(clippy::cast_precision_loss, reason = "columns and rows of a picture")]
fn place(picture: &Picture, x: usize, y: usize) -> (f64, f64) {
    (2.0 * x as f64 / picture.width as f64 - 1.0, 2.0 * y as f64 / picture.height as f64 - 1.0)
}

impl Light {
    fn of(picture: &Picture) -> Self {
        let side = (picture.width.min(picture.height) / SQUARES).max(BLOCK);
        let mut squares: Vec<([f64; 6], f64)> = Vec::new();
        let mut colours: Vec<[u8; 3]> = Vec::new();
        let mut own: Vec<(u8, [u8; 3])> = Vec::with_capacity(side * side);
        for top in (0..picture.height).step_by(side) {
            for left in (0..picture.width).step_by(side) {
                own.clear();
                for y in top..(top + side).min(picture.height) {
                    let from = y * picture.width;
                    let row = picture.pixels.get(from + left..from + (left + side).min(picture.width));
                    own.extend(row.unwrap_or_default().iter().map(|pixel| (luma(*pixel), *pixel)));
                }
                #[allow(
                    clippy::cast_precision_loss,
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a count"
                )]
                let paper = ((own.len() as f64 * PAPER) as usize).min(own.len().saturating_sub(1));
                let (x, y) = place(picture, left + side / 2, top + side / 2);
                if !own.is_empty() {
                    let (_, (code, colour), _) = own.select_nth_unstable(paper);
                    squares.push((terms(x, y), f64::from(*code)));
                    colours.push(*colour);
                }
            }
        }
        let mut codes: Vec<f64> = squares.iter().map(|(_, code)| *code).collect();
        codes.sort_by(f64::total_cmp);
        // What is far darker than most is no paper, whatever the light.
        let bright = codes.get(codes.len() * 9 / 10).copied().unwrap_or(255.0).max(1.0);
        let mut light = Self { terms: [0.75 * bright, 0.0, 0.0, 0.0, 0.0, 0.0], paper: [255.0; 3] };
        for round in 0..ROUNDS {
            let below = if round == 0 { 0.0 } else { BELOW * bright };
            let kept = |(terms, code): &&([f64; 6], f64)| *code >= light.value(*terms) - below;
            let kept: Vec<&([f64; 6], f64)> = squares.iter().filter(kept).collect();
            match surface(&kept) {
                Some(terms) => light.terms = terms,
                None => {
                    light.terms = [bright, 0.0, 0.0, 0.0, 0.0, 0.0];
                    break;
                }
            }
        }
        let near = squares
            .iter()
            .zip(&colours)
            .filter(|((terms, code), _)| (code - light.value(*terms)).abs() <= BELOW * bright);
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        for ((terms, _), colour) in near {
            // As it would look where the light is brightest.
            let share = bright / light.value(*terms).max(1.0);
            sum.iter_mut().zip(colour).for_each(|(sum, code)| *sum += f64::from(*code) * share);
            count += 1.0;
        }
        if count > 0.0 {
            light.paper = sum.map(|sum| (sum / count).max(1.0));
        }
        light
    }

    fn value(&self, terms: [f64; 6]) -> f64 {
        self.terms.iter().zip(terms).map(|(a, b)| a * b).sum()
    }

    /// By what share the code of each pixel is less than that of its paper, 255 for all of it.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "from 0 to 255")]
    fn darkness(&self, picture: &Picture) -> Vec<u8> {
        let mut darkness = Vec::with_capacity(picture.pixels.len());
        for (y, row) in picture.pixels.chunks(picture.width).enumerate() {
            for (x, pixel) in row.iter().enumerate() {
                let (across, down) = place(picture, x, y);
                let paper = self.value(terms(across, down)).clamp(1.0, 255.0);
                darkness.push((255.0 * (1.0 - f64::from(luma(*pixel)) / paper)).clamp(0.0, 255.0).round() as u8);
            }
        }
        darkness
    }

    fn shade(&self, picture: &Picture) -> f64 {
        let places = (0..=10).flat_map(|x| (0..=10).map(move |y| (x, y)));
        let values = places.map(|(x, y)| {
            let (x, y) = place(picture, x * picture.width / 10, y * picture.height / 10);
            self.value(terms(x, y)).clamp(1.0, 255.0)
        });
        let (least, most) = values.fold((f64::MAX, 1.0_f64), |(least, most), it| (least.min(it), most.max(it)));
        1.0 - least / most
    }
}

/// The surface of second order nearest to squares.
fn surface(squares: &[&([f64; 6], f64)]) -> Option<[f64; 6]> {
    if squares.len() < 12 {
        return None;
    }
    let mut rows = [[0.0; 7]; 6];
    for (terms, code) in squares {
        for (row, a) in rows.iter_mut().zip(terms) {
            row.iter_mut().zip(terms.iter().chain([code])).for_each(|(sum, b)| *sum += a * b);
        }
    }
    // Gauss, the largest of each column first.
    for column in 0..6 {
        let best = (column..6).max_by(|a, b| at(&rows, *a, column).abs().total_cmp(&at(&rows, *b, column).abs()))?;
        rows.swap(column, best);
        let pivot = *rows.get(column)?;
        let lead = *pivot.get(column)?;
        if lead.abs() < 1e-9 {
            return None;
        }
        for (_, row) in rows.iter_mut().enumerate().filter(|(number, _)| *number != column) {
            let share = row.get(column)? / lead;
            row.iter_mut().zip(pivot).for_each(|(value, other)| *value -= share * other);
        }
    }
    let mut found = [0.0; 6];
    for (number, value) in found.iter_mut().enumerate() {
        *value = at(&rows, number, 6) / at(&rows, number, number);
    }
    found.iter().all(|value| value.is_finite()).then_some(found)
}

fn at(rows: &[[f64; 7]; 6], row: usize, column: usize) -> f64 {
    rows.get(row).and_then(|row| row.get(column)).copied().unwrap_or(0.0)
}

/// The darkness beyond which a pixel is ink, and how far ink and paper lie apart, as a share; none where all is alike.
#[allow(clippy::cast_precision_loss, reason = "counts of pixels")]
fn parted(picture: &Picture, darkness: &[u8]) -> Option<(f64, f64)> {
    let width = picture.width;
    let blocks = |each: &mut dyn FnMut(&mut dyn Iterator<Item = u8>)| {
        for top in (0..picture.height).step_by(BLOCK) {
            for left in (0..width).step_by(BLOCK) {
                let rows = top..(top + BLOCK).min(picture.height);
                let own = rows.flat_map(|y| {
                    let row = darkness.get(y * width + left..y * width + (left + BLOCK).min(width));
                    row.unwrap_or_default().iter().copied()
                });
                each(&mut own.into_iter());
            }
        }
    };
    let range = |own: &mut dyn Iterator<Item = u8>| {
        let (least, most) = own.fold((255, 0), |(least, most), it: u8| (it.min(least), it.max(most)));
        most.saturating_sub(least)
    };
    let mut ranges: Vec<u8> = Vec::new();
    blocks(&mut |own| ranges.push(range(own)));
    ranges.sort_unstable();
    let strongest = *ranges.get(ranges.len().saturating_sub(1 + ranges.len() / 1000))?;
    let mut histogram = vec![0_u64; 256];
    blocks(&mut |own| {
        let own: Vec<u8> = own.collect();
        if range(&mut own.iter().copied()) >= strongest / 2 {
            for code in own {
                if let Some(count) = histogram.get_mut(usize::from(code)) {
                    *count += 1;
                }
            }
        }
    });
    let split = otsu(&histogram)?;
    let mean = |part: &[u64], from: usize| {
        let count: u64 = part.iter().sum();
        let sum: f64 = part.iter().enumerate().map(|(at, count)| (from + at) as f64 * *count as f64).sum();
        sum / (count.max(1)) as f64
    };
    let (paper, ink) = histogram.split_at((split + 1).min(histogram.len()));
    let apart = mean(ink, split + 1) - mean(paper, 0);
    Some((split as f64 + 0.5, apart / 255.0))
}

/// The mean colour just inside of a rim, as it would look on white paper.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixels and codes"
)]
fn colour(picture: &Picture, light: &Light, darkness: &[u8], level: f64, rim: &[Point]) -> [u8; 3] {
    let (mut sum, mut count) = ([0.0; 3], 0.0);
    let next = rim.iter().skip(1).chain(rim.first());
    for (a, b) in rim.iter().zip(next).step_by((rim.len() / SAMPLES).max(1)) {
        let along = *b - *a;
        // Ink lies on the left as the picture is seen.
        let inward = Vec2::new(along.y, -along.x) / along.hypot().max(1e-9);
        let at = *a + inward * INSIDE;
        let (x, y) = (at.x.max(0.0) as usize, at.y.max(0.0) as usize);
        let here = y * picture.width + x;
        let is_ink = x < picture.width && darkness.get(here).is_some_and(|code| f64::from(*code) > level);
        if let Some(pixel) = picture.pixels.get(here).filter(|_| is_ink) {
            let (across, down) = place(picture, x, y);
            let paper = light.value(terms(across, down)).clamp(1.0, 255.0);
            let bright = luma(light.paper.map(|code| code.min(255.0) as u8));
            let share = f64::from(bright) / paper;
            let white = pixel.iter().zip(light.paper).map(|(code, paper)| f64::from(*code) * share / paper);
            sum.iter_mut().zip(white).for_each(|(sum, code)| *sum += code);
            count += 1.0;
        }
    }
    sum.map(|sum| if count > 0.0 { (255.0 * sum / count).clamp(0.0, 255.0).round() as u8 } else { 0 })
}
