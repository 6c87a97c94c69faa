//! What stock looks like before light: lightness and pores of wood, fibres of card. Lengths in mm. All figures were chosen by
//! eye, beside boards of these woods.

use super::noise::{between, cell, floor, noise, smooth};

/// How a species is figured. Shares are of the lightness: 0.03 is 3 % up and down.
#[derive(Debug, PartialEq)]
pub(super) struct Figure {
    /// Distance of the growth lines, how far they wander in lines, how dark the late wood is.
    ring: (f32, f32, f32),
    /// Slow drift of the colour.
    drift: f32,
    /// Bands across the grain that catch the light.
    curl: f32,
    /// Streaks along the grain: width, length, share; from coarse to fine.
    streaks: [(f32, f32, f32); 4],
    pores: Pores,
}

/// Open vessels, cut lengthwise.
#[derive(Debug, PartialEq)]
struct Pores {
    /// Size of the cells that hold one each, along and across.
    cell: (f32, f32),
    /// What share of the cells has one.
    share: f32,
    /// Least and greatest length.
    length: (f32, f32),
    width: f32,
    darkness: f32,
}

/// Fine and even, as birch, beech, maple, lime, poplar.
pub(super) const FINE: Figure = Figure {
    ring: (3.6, 2.1, 0.060),
    drift: 0.022,
    curl: 0.020,
    streaks: [(1.3, 120.0, 0.018), (0.42, 60.0, 0.024), (0.16, 18.0, 0.030), (0.07, 3.5, 0.034)],
    pores: Pores { cell: (2.6, 0.30), share: 0.50, length: (0.5, 2.0), width: 0.055, darkness: 0.20 },
};

/// Lively and with coarse pores, as walnut, oak, ash.
pub(super) const COARSE: Figure = Figure {
    ring: (3.4, 1.7, 0.15),
    drift: 0.065,
    curl: 0.030,
    streaks: [(2.2, 150.0, 0.085), (0.6, 80.0, 0.065), (0.20, 20.0, 0.060), (0.08, 4.0, 0.050)],
    pores: Pores { cell: (6.0, 0.40), share: 0.50, length: (1.5, 5.0), width: 0.085, darkness: 0.40 },
};

/// What changes slowly over a board, worked out once a millimetre: how the grain wanders, and the drift of the lightness.
pub(super) struct Slow {
    side: usize,
    half: f32,
    cells: Vec<(f32, f32)>,
}

impl Slow {
    /// Of a board that reaches so far from its axis.
    pub(super) fn new(figure: &Figure, reach: f32, seed: u32) -> Self {
        let half = reach + 2.0;
        let side = (2.0 * half) as usize + 2;
        let one = |at: usize| {
            let (u, v) = ((at % side) as f32 - half, (at / side) as f32 - half);
            let wander = noise(u / 55.0, v / 22.0, seed) + 0.24 * noise(u / 15.0, v / 7.0, seed.wrapping_add(1));
            let drift = figure.drift * noise(u / 60.0, v / 13.0, seed.wrapping_add(4));
            let curl = figure.curl * noise(u / 5.5 + 0.4 * wander, v / 26.0, seed.wrapping_add(5));
            (wander, drift + curl)
        };
        Self { side, half, cells: (0..side * side).map(one).collect() }
    }

    #[inline(always)]
    fn at(&self, u: f32, v: f32) -> (f32, f32) {
        let most = self.side as f32 - 1.001;
        let (x, y) = ((u + self.half).clamp(0.0, most), (v + self.half).clamp(0.0, most));
        let (ix, iy) = (x as usize, y as usize);
        let (across, down) = (x - ix as f32, y - iy as f32);
        let get = |at: usize| self.cells.get(at).copied().unwrap_or_default();
        let at = iy * self.side + ix;
        let (a, b, c, d) = (get(at), get(at + 1), get(at + self.side), get(at + self.side + 1));
        let one = |a, b, c, d| between(between(a, b, across), between(c, d, across), down);
        (one(a.0, b.0, c.0, d.0), one(a.1, b.1, c.1, d.1))
    }
}

/// How much of a detail of a size is left where a pixel is so wide: what is finer than a pixel would only flicker.
#[inline(always)]
pub(super) fn kept(size: f32, pixel: f32) -> f32 {
    smooth(0.35, 1.3, size / pixel)
}

/// Lightness about 0, and how much of the place is an open pore, at a place along and across the grain.
#[inline(always)]
pub(super) fn wood(figure: &Figure, slow: &Slow, (u, v): (f32, f32), seed: u32, pixel: f32) -> (f32, f32) {
    let (wander, drift) = slow.at(u, v);
    let (period, reach, dark) = figure.ring;
    // The rings of a peeled log, cut at a low angle: lines of one height in a gentle landscape.
    let ring = v / period + reach * wander;
    let ring = ring + 0.45 * noise(ring * 0.7, 3.7, seed.wrapping_add(2));
    let line = floor(ring);
    let part = ring - line as f32;
    let square = part * part;
    let late = square * square * (1.0 - smooth(0.86, 1.0, part)) * (0.2 + cell(line, 7, seed.wrapping_add(3)));
    // 0.11 is about the mean of `late`, so that lines do not darken the whole.
    let mut light = (0.11 - late) * dark * 2.0 + drift;
    let bent = v + 0.27 * period * reach * wander;
    for ((width, length, share), at) in figure.streaks.iter().zip(6..) {
        let left = kept(*width, pixel);
        if left > 0.0 {
            light += left * share * noise(u / length, bent / width, seed.wrapping_add(at));
        }
    }
    (light, pore(&figure.pores, (u, bent), part, seed, pixel))
}

/// How much of the place is an open pore; `part` is how far it is from the early to the late wood.
#[inline(always)]
fn pore(pores: &Pores, (u, bent): (f32, f32), part: f32, seed: u32, pixel: f32) -> f32 {
    let (long, wide) = pores.cell;
    let left = kept(pores.width * 2.5, pixel);
    let row = floor(bent / wide);
    let shifted = u / long + cell(row, 11, seed.wrapping_add(12));
    let column = floor(shifted);
    let pick = |at: u32| cell(column, row, seed.wrapping_add(at));
    // Pores crowd in the early wood.
    if left <= 0.0 || pick(13) >= pores.share * (1.25 - 0.7 * part) {
        return 0.0;
    }
    let length = between(pores.length.0, pores.length.1, pick(14));
    let room = (1.0 - length / long).max(0.0);
    let middle = 0.5 + room * (pick(15) - 0.5);
    let along = ((shifted - column as f32 - middle) * long).abs();
    let off = ((bent / wide - row as f32 - 0.5 - 0.5 * (pick(16) - 0.5)) * wide).abs();
    let half = (pores.width * 0.5).max(pixel * 0.45);
    let thin = (pores.width * 0.5 / half).min(1.0);
    let ends = 1.0 - smooth(0.45, 1.0, 2.0 * along / length);
    let deep = 0.35 + 0.65 * pick(17);
    ends * (1.0 - smooth(0.4, 1.2, off / half)) * thin * pores.darkness * deep * left
}

/// Lightness of card about 0: pulp, and a fibre here and there.
#[inline(always)]
pub(super) fn card(x: f32, y: f32, seed: u32, pixel: f32) -> f32 {
    let seeded = |at: u32| seed.wrapping_add(at);
    let pulp = 0.010 * noise(x / 7.0, y / 7.0, seed)
        + kept(0.7, pixel) * 0.014 * noise(x / 0.7, y / 0.7, seeded(1))
        + kept(0.22, pixel) * 0.026 * noise(x / 0.22, y / 0.22, seeded(2));
    let left = kept(0.15, pixel);
    if left <= 0.0 {
        return pulp;
    }
    let bent = |value: f32, at: u32| value + 0.25 * noise(x / 0.9, y / 0.9, seeded(at));
    let (bent_x, bent_y) = (bent(x, 3), bent(y, 4));
    let (column, row) = (floor(bent_x / 1.6), floor(bent_y / 1.6));
    let pick = |at: u32| cell(column, row, seeded(at));
    if pick(5) >= 0.30 {
        return pulp;
    }
    let (from_x, from_y) = (bent_x - (column as f32 + 0.5) * 1.6, bent_y - (row as f32 + 0.5) * 1.6);
    let (way_x, way_y) = (pick(8) - 0.5, pick(6) - 0.5);
    let size = (way_x * way_x + way_y * way_y).sqrt().max(0.05);
    let along = (from_x * way_x + from_y * way_y).abs() / size;
    let off = (from_x * way_y - from_y * way_x).abs() / size;
    let half = 0.035_f32.max(pixel * 0.5);
    let fibre = (1.0 - smooth(0.35, 0.7, along)) * (1.0 - smooth(0.4, 1.2, off / half)) * (0.035 / half);
    pulp + left * 0.075 * fibre * if pick(7) < 0.6 { -1.0 } else { 0.7 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stated colour must come out as stated, so figure and fibres may not make a board darker or lighter by more than 1.5 %
    /// (3 of 255 at birch, whose red is 217, are 3 % of the light).
    #[test]
    fn figure_and_fibres_leave_the_mean_alone() {
        for (figure, most) in [(&FINE, 0.015), (&COARSE, 0.03)] {
            let slow = Slow::new(figure, 60.0, 4);
            let side = 400;
            let at = |at: i32| ((at % side) as f32 * 0.3 - 60.0, (at / side) as f32 * 0.3 - 60.0);
            let all: f32 = (0..side * side).map(|it| wood(figure, &slow, at(it), 4, 0.05)).map(|(l, p)| l - p).sum();
            let mean = all / (side * side) as f32;
            assert!(mean.abs() < most, "{mean}");
            let all: f32 = (0..side * side).map(|it| card(at(it).0, at(it).1, 4, 0.05)).sum();
            assert!((all / (side * side) as f32).abs() < 0.005, "{all}");
        }
    }

    #[test]
    fn what_is_finer_than_a_pixel_is_left_out() {
        let slow = Slow::new(&COARSE, 10.0, 1);
        let pores = (0..400).map(|at| wood(&COARSE, &slow, (at as f32 * 0.05, 1.0), 1, 2.0).1);
        assert_eq!(pores.fold(0.0, f32::max), 0.0);
    }
}
