//! What a draughtsman draws: dimension lines with ticks, centre lines, leaders, scales. Sizes in mm of the paper, y down.
//!
//! Dimension lines end in oblique strokes, figures stand above their line or to the left of it, read from below or from
//! the right (ISO 129-1). Scales are those of ISO 5455.

use kurbo::{Point, Vec2};
use svg::node::element::{Group, Path};

use super::super::drawing::INK;
use super::super::page::text::{SMALL, Style, Voice, line, width};
use super::super::page::{THIN, rule};
use crate::design::hex;
use crate::units::{Length, plain};

/// Half the length of the oblique stroke at the end of a dimension line, across.
const TICK: f64 = 0.8;
/// What a line is longer than figures that stand beyond its end, in mm.
const PAST_FIGURES: f64 = 2.5;
/// Extension lines reach past the dimension line by this.
const PAST: f64 = 1.2;
/// Figures stand off their line by this.
const OFF: f64 = 0.7;
/// The scales of ISO 5455, largest first.
const SCALES: [(f64, f64); 11] = [
    (10.0, 1.0),
    (5.0, 1.0),
    (2.0, 1.0),
    (1.0, 1.0),
    (1.0, 2.0),
    (1.0, 5.0),
    (1.0, 10.0),
    (1.0, 20.0),
    (1.0, 50.0),
    (1.0, 100.0),
    (1.0, 200.0),
];

/// A scale of a drawing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale(f64, f64);

impl Scale {
    /// The largest scale, at most `most` to 1, at which something of this size fits into this room; the smallest there is
    /// where none does.
    pub fn fitting(size: (f64, f64), room: (f64, f64), most: f64) -> Self {
        let fits = |(paper, real): &&(f64, f64)| {
            let scale = paper / real;
            scale <= most && size.0 * scale <= room.0 && size.1 * scale <= room.1
        };
        let (paper, real) = SCALES.iter().find(fits).copied().unwrap_or((1.0, 200.0));
        Self(paper, real)
    }

    /// Millimetres of paper for one of the dial.
    pub fn factor(self) -> f64 {
        self.0 / self.1
    }

    /// "1:1, true size", "2:1".
    pub fn words(self) -> String {
        let truth = if self.0 == self.1 { ", true size" } else { "" };
        format!("{}:{}{truth}", plain(self.0, 0), plain(self.1, 0))
    }
}

/// A length as a dimension states it: in mm, to a hundredth.
pub fn figure(length: Length) -> String {
    plain(length.as_mm(), 2)
}

/// A dimension between two points, along the line through them, moved off it by `off` to the left as one goes from the
/// first to the second. `text` is set above it.
pub fn dimension(from: Point, to: Point, off: f64, text: &str) -> Group {
    let along = (to - from).normalize();
    let aside = Vec2::new(along.y, -along.x);
    let past = aside * (off.signum() * PAST);
    let (a, b) = (from + aside * off, to + aside * off);
    let mut drawn = Group::new();
    for (start, end) in [(from, a), (to, b)] {
        drawn = drawn.add(stroke(start + aside * off.signum() * 0.6, end + past, THIN));
    }
    // Figures that do not fit between the ends go beyond the second one, on the line made longer.
    let beyond = overrun((b - a).hypot(), text);
    let (outside, reach) = (beyond > 0.0, along * beyond);
    let tick = (along + aside) * TICK;
    drawn = drawn.add(stroke(a - along * if outside { 2.0 } else { 0.0 }, b + reach, THIN));
    for end in [a, b] {
        drawn = drawn.add(stroke(end - tick, end + tick, 2.0 * THIN));
    }
    let middle = if outside { b + along * (1.5 + (beyond - PAST_FIGURES) / 2.0) } else { a.midpoint(b) };
    drawn.add(figures(middle, along, text))
}

/// How far the figures of a dimension of this length on paper reach past its second end, in mm; 0 where they fit between the ends.
pub fn overrun(long: f64, text: &str) -> f64 {
    let wide = width(text, SMALL, Voice::Plain);
    if wide + 2.0 * TICK > long { wide + PAST_FIGURES } else { 0.0 }
}

/// Figures above a line of this direction, read from below or from the right.
fn figures(middle: Point, along: Vec2, text: &str) -> Group {
    let steep = along.x.abs() < 1e-9;
    let upright = if along.x < -1e-9 || (steep && along.y > 0.0) { -along } else { along };
    let turn = upright.atan2().to_degrees();
    let words = line(text, Style::of(SMALL).middle(), (0.0, -OFF), f64::INFINITY);
    let transform = format!("translate({} {}) rotate({})", plain(middle.x, 3), plain(middle.y, 3), plain(turn, 3));
    Group::new().set("transform", transform).add(words)
}

/// A straight line.
pub fn stroke(from: Point, to: Point, wide: f64) -> svg::node::element::Line {
    rule((from.x, from.y), (to.x, to.y), wide, INK)
}

/// A centre line: long dash, dot (ISO 128-2, type 04.1).
pub fn centre_line(from: Point, to: Point) -> svg::node::element::Line {
    stroke(from, to, THIN).set("stroke-dasharray", "4 0.8 0.4 0.8")
}

/// A leader from a thing to its words: a line with a dot at the thing.
pub fn leader(from: Point, to: Point) -> Group {
    let dot =
        svg::node::element::Circle::new().set("cx", plain(from.x, 3)).set("cy", plain(from.y, 3)).set("r", "0.45");
    Group::new().add(stroke(from, to, THIN)).add(dot.set("fill", hex(INK)))
}

/// A closed or open run of straight lines.
pub fn polyline(points: &[Point]) -> Path {
    let at = |(at, point): (usize, &Point)| {
        format!("{}{},{}", if at == 0 { 'M' } else { 'L' }, plain(point.x, 3), plain(point.y, 3))
    };
    let data: Vec<String> = points.iter().enumerate().map(at).collect();
    Path::new().set("d", data.join(" ")).set("fill", "none").set("stroke", hex(INK)).set("stroke-width", plain(THIN, 3))
}

/// A bar of 100 mm, each ten of it marked: whoever measures it knows whether the print is true.
pub fn scale_bar(x: f64, y: f64) -> Group {
    let mut bar =
        Group::new().set("id", "scale-bar").add(stroke(Point::new(x, y), Point::new(x + 100.0, y), 2.0 * THIN));
    for ten in 0..=10_u8 {
        let at = x + 10.0 * f64::from(ten);
        let high = if ten % 5 == 0 { 2.4 } else { 1.4 };
        bar = bar.add(stroke(Point::new(at, y), Point::new(at, y - high), THIN));
    }
    let words = "100 mm: where this bar measures otherwise, the print is not true to size";
    bar.add(line("0", Style::of(SMALL).middle(), (x, y + SMALL + 0.6), 9.0)).add(line(
        words,
        Style::of(SMALL),
        (x + 4.0, y + SMALL + 0.6),
        110.0,
    ))
}

/// Places as near as can be to those wanted, ascending, no two nearer than `apart`.
pub fn spread(wanted: &[f64], apart: f64) -> Vec<f64> {
    spread_blocks(wanted, &vec![apart; wanted.len()], 0.0)
}

/// Tops of blocks of these heights as near as can be to those wanted, ascending, `gap` between any two: neighbours that
/// would overlap move apart about their common middle.
pub fn spread_blocks(wanted: &[f64], heights: &[f64], gap: f64) -> Vec<f64> {
    // Clusters of blocks that touch: the first one's place, and how many they are.
    let mut clusters: Vec<(f64, Vec<usize>)> = Vec::new();
    let height = |at: usize| heights.get(at).copied().unwrap_or(0.0) + gap;
    let length = |all: &[usize]| all.iter().map(|at| height(*at)).sum::<f64>();
    for (at, top) in wanted.iter().enumerate() {
        // Neighbours that would overlap become one cluster, and a cluster may then reach the one before it: pooled
        // backwards in this way, the squares of all moves add up to least (isotonic regression).
        clusters.push((*top, vec![at]));
        while let [.., before, last] = clusters.as_mut_slice() {
            if before.0 + length(&before.1) <= last.0 {
                break;
            }
            before.1.append(&mut last.1);
            // The mean of where each block would have the cluster begin.
            let mut into = 0.0;
            let starts: Vec<f64> = before
                .1
                .iter()
                .map(|at| {
                    let start = wanted.get(*at).copied().unwrap_or(0.0) - into;
                    into += height(*at);
                    start
                })
                .collect();
            #[allow(clippy::cast_precision_loss, reason = "a handful of blocks")]
            let count = starts.len() as f64;
            before.0 = starts.iter().sum::<f64>() / count;
            clusters.pop();
        }
    }
    let mut tops = Vec::new();
    for (start, all) in clusters {
        let mut down = start;
        for at in all {
            tops.push(down);
            down += height(at);
        }
    }
    tops
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_the_preferred_ones_of_iso_5455() {
        assert_eq!(Scale::fitting((60.0, 60.0), (80.0, 80.0), 1.0).words(), "1:1, true size");
        assert_eq!(Scale::fitting((60.0, 6.0), (130.0, 40.0), 10.0).words(), "2:1");
        assert_eq!(Scale::fitting((150.0, 150.0), (80.0, 80.0), 1.0).words(), "1:2");
        assert_eq!(Scale::fitting((9_000.0, 1.0), (80.0, 80.0), 1.0).words(), "1:200");
        assert!((Scale::fitting((150.0, 150.0), (31.0, 31.0), 1.0).factor() - 0.2).abs() < 1e-12);
    }

    #[test]
    fn words_move_apart_about_their_middle_and_keep_their_order() {
        assert_eq!(spread(&[0.0, 10.0], 3.0), [0.0, 10.0]);
        assert_eq!(spread(&[5.0, 5.0], 2.0), [4.0, 6.0]);
        let set = spread(&[0.0, 0.5, 1.0, 20.0], 3.0);
        assert!(set.windows(2).all(|pair| pair[1] - pair[0] >= 3.0 - 1e-9), "{set:?}");
        assert!((set[3] - 20.0).abs() < 1e-9);
    }
}
