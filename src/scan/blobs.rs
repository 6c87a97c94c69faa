//! What lies on the glass: the lid by the picture's rim, parts by Otsu's threshold.

use std::collections::VecDeque;

use kurbo::Point;

use super::picture::Picture;

/// Cells an inch that parts are looked for at.
const CELLS: f64 = 100.0;
/// From this far on a code counts as far from the lid, so that what is dark does not hide what is only wood.
const FAR: usize = 80;

/// The picture in cells of some 0.25 mm, each the mean of its pixels' codes.
#[derive(Clone, Debug)]
pub(super) struct Cells {
    pub(super) width: usize,
    pub(super) height: usize,
    /// A cell's size in mm, across and down.
    pub(super) size: (f64, f64),
    pub(super) codes: Vec<f32>,
}

impl Cells {
    pub(super) fn of(picture: &Picture) -> Self {
        let times = (25.4 / CELLS / picture.pixel.x).round().max(1.0) as usize;
        let (width, height) = (picture.width / times, picture.height / times);
        let mut codes = Vec::with_capacity(width * height);
        let mut sums = vec![0_u32; width];
        for rows in picture.plane.chunks_exact(picture.width.max(1) * times).take(height) {
            sums.fill(0);
            for row in rows.chunks_exact(picture.width) {
                for (sum, cell) in sums.iter_mut().zip(row.chunks_exact(times)) {
                    *sum += cell.iter().map(|code| u32::from(*code)).sum::<u32>();
                }
            }
            codes.extend(sums.iter().map(|sum| *sum as f32 / (times * times) as f32));
        }
        let size = (picture.pixel.x * times as f64, picture.pixel.y * times as f64);
        Self { width, height, size, codes }
    }

    pub(super) fn code(&self, x: usize, y: usize) -> f32 {
        if x < self.width { self.codes.get(y * self.width + x).copied().unwrap_or(0.0) } else { 0.0 }
    }

    /// The code at a place of the glass, between cells; at its rim that of the nearest.
    pub(super) fn at(&self, place: Point) -> f64 {
        let clamped = |value: f64, count: usize| value.clamp(0.0, (count.max(2) - 2) as f64);
        let x = clamped(place.x / self.size.0 - 0.5, self.width);
        let y = clamped(-place.y / self.size.1 - 0.5, self.height);
        let (column, row) = (x as usize, y as usize);
        let (across, down) = ((x - column as f64).min(1.0), (y - row as f64).min(1.0));
        let code = |dx, dy| f64::from(self.code(column + dx, row + dy));
        let of_row = |dy| code(0, dy) * (1.0 - across) + code(1, dy) * across;
        of_row(0) * (1.0 - down) + of_row(1) * down
    }

    /// The code of the lid: the median of the outermost cells.
    pub(super) fn lid(&self) -> f64 {
        let last = self.height.saturating_sub(1);
        let rows = (0..self.width).flat_map(|x| [(x, 0), (x, last)]);
        let columns = (0..self.height).flat_map(|y| [(0, y), (self.width.saturating_sub(1), y)]);
        median(rows.chain(columns).map(|(x, y)| self.code(x, y)).collect())
    }
}

fn median(mut values: Vec<f32>) -> f64 {
    values.sort_by(f32::total_cmp);
    f64::from(values.get(values.len() / 2).copied().unwrap_or(0.0))
}

/// Something that lies on the glass, its openings filled.
#[derive(Clone, Debug)]
pub(super) struct Blob {
    /// The middle of its area on the glass (mm, y up).
    pub(super) middle: Point,
    /// Its area and that of the least convex shape round it, mm².
    pub(super) area: f64,
    pub(super) hull: f64,
    /// Whether it runs off the picture.
    pub(super) cut_off: bool,
    /// The code that half of its cells are brighter than, and the darkest there are.
    pub(super) wood: f64,
    pub(super) dark: f64,
}

/// All that lies on the glass and is larger than this, in mm², from the top.
pub(super) fn found(cells: &Cells, lid: f64, least: f64) -> Vec<Blob> {
    let far: Vec<usize> = cells.codes.iter().map(|code| ((f64::from(*code) - lid).abs() as usize).min(FAR)).collect();
    let threshold = otsu(&far);
    let lies: Vec<bool> = far.iter().map(|far| *far > threshold).collect();
    let mut seen = outside(cells, &lies);
    let cell = cells.size.0 * cells.size.1;
    let mut blobs = Vec::new();
    for start in 0..seen.len() {
        if seen.get(start) != Some(&false) {
            continue;
        }
        let members = flood(cells, start, &mut seen);
        if members.len() as f64 * cell >= least {
            blobs.push(blob(cells, &members));
        }
    }
    blobs
}

/// The value that parts the two classes best (Otsu, "A threshold selection method from gray-level histograms", IEEE Transactions on
/// Systems, Man, and Cybernetics 9, 1979).
fn otsu(values: &[usize]) -> usize {
    let mut counts = vec![0_f64; FAR + 1];
    for value in values {
        if let Some(count) = counts.get_mut(*value) {
            *count += 1.0;
        }
    }
    let total: f64 = counts.iter().sum();
    let all: f64 = counts.iter().enumerate().map(|(at, count)| at as f64 * count).sum();
    let (mut below, mut sum, mut best) = (0.0, 0.0, (0.0, 0));
    for (at, count) in counts.iter().enumerate() {
        below += count;
        sum += at as f64 * count;
        let above = total - below;
        if below > 0.0 && above > 0.0 {
            let apart = below * above * (sum / below - (all - sum) / above).powi(2);
            if apart > best.0 {
                best = (apart, at);
            }
        }
    }
    best.1
}

/// Which cells are lid that is reached from the picture's rim.
fn outside(cells: &Cells, lies: &[bool]) -> Vec<bool> {
    let mut seen = vec![false; lies.len()];
    let last = cells.height.saturating_sub(1);
    let rows = (0..cells.width).flat_map(|x| [x, last * cells.width + x]);
    let columns = (0..cells.height).flat_map(|y| [y * cells.width, y * cells.width + cells.width.saturating_sub(1)]);
    let mut queue: VecDeque<usize> = VecDeque::new();
    let take = |at: usize, queue: &mut VecDeque<usize>, seen: &mut Vec<bool>| {
        if lies.get(at) == Some(&false)
            && let Some(known @ false) = seen.get_mut(at)
        {
            *known = true;
            queue.push_back(at);
        }
    };
    for at in rows.chain(columns) {
        take(at, &mut queue, &mut seen);
    }
    while let Some(at) = queue.pop_front() {
        for next in neighbours(cells, at) {
            take(next, &mut queue, &mut seen);
        }
    }
    seen
}

fn neighbours(cells: &Cells, at: usize) -> impl Iterator<Item = usize> {
    let (x, y, width, height) = (at % cells.width.max(1), at / cells.width.max(1), cells.width, cells.height);
    let left = (x > 0).then(|| at - 1);
    let right = (x + 1 < width).then_some(at + 1);
    let above = (y > 0).then(|| at - width);
    let below = (y + 1 < height).then_some(at + width);
    [left, right, above, below].into_iter().flatten()
}

fn flood(cells: &Cells, start: usize, seen: &mut [bool]) -> Vec<usize> {
    let mut members = vec![start];
    if let Some(known) = seen.get_mut(start) {
        *known = true;
    }
    let mut next = 0;
    while let Some(at) = members.get(next).copied() {
        next += 1;
        for beside in neighbours(cells, at) {
            if let Some(known @ false) = seen.get_mut(beside) {
                *known = true;
                members.push(beside);
            }
        }
    }
    members
}

fn blob(cells: &Cells, members: &[usize]) -> Blob {
    let (wide, high) = cells.size;
    let place = |at: &usize| ((at % cells.width) as f64, (at / cells.width) as f64);
    let count = members.len() as f64;
    let sum = members.iter().map(place).fold((0.0, 0.0), |sum, it| (sum.0 + it.0 + 0.5, sum.1 + it.1 + 0.5));
    let mut own: Vec<usize> = members.to_vec();
    own.sort_unstable();
    let (mut cut_off, mut corners) = (false, Vec::new());
    for at in members {
        let mut open = 4;
        for beside in neighbours(cells, *at) {
            open -= usize::from(own.binary_search(&beside).is_ok());
        }
        let (x, y) = place(at);
        cut_off |= x < 0.5 || y < 0.5 || x + 1.5 > cells.width as f64 || y + 1.5 > cells.height as f64;
        if open > 0 {
            corners.extend([(x, y), (x + 1.0, y), (x, y + 1.0), (x + 1.0, y + 1.0)]);
        }
    }
    let mut codes: Vec<f32> = members.iter().map(|at| cells.codes.get(*at).copied().unwrap_or(0.0)).collect();
    codes.sort_by(f32::total_cmp);
    let share = |share: f64| f64::from(codes.get((share * (count - 1.0)) as usize).copied().unwrap_or(0.0));
    Blob {
        middle: Point::new(sum.0 / count * wide, -sum.1 / count * high),
        area: count * wide * high,
        hull: hull(corners) * wide * high,
        cut_off,
        wood: share(0.6),
        dark: share(0.005),
    }
}

/// The area of the convex hull (Andrew's monotone chain).
pub(super) fn hull(mut points: Vec<(f64, f64)>) -> f64 {
    let ring = chain(&mut points);
    let next = ring.iter().skip(1).chain(ring.first());
    (ring.iter().zip(next).map(|(a, b)| a.0 * b.1 - a.1 * b.0).sum::<f64>() / 2.0).abs()
}

pub(super) fn chain(points: &mut Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    points.dedup();
    let half = |points: &mut dyn Iterator<Item = (f64, f64)>| {
        let mut half: Vec<(f64, f64)> = Vec::new();
        for p in points {
            while let [.., a, b] = half.as_slice()
                && (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) <= 0.0
            {
                half.pop();
            }
            half.push(p);
        }
        half.pop();
        half
    };
    let mut ring = half(&mut points.iter().copied());
    ring.extend(half(&mut points.iter().rev().copied()));
    ring
}
