//! The least of a linear objective within a box, each row kept or broken at a price: the step of a sequential linear programme.
//!
//! A dense tableau by Dantzig's rule, then by Bland's, under which none runs in a circle (Bland, Mathematics of Operations
//! Research 2, 1977). Programmes here have a handful of unknowns and at most a few hundred rows; what may be broken needs no
//! first phase, so that a crate for sparse programmes, with its ten others, would be longer to call than this is to read.

/// A linear programme about the place where one stands.
pub(super) struct Programme<'p> {
    /// How the objective grows along each unknown.
    pub(super) slopes: &'p [f64],
    /// Each row's room here, and how it grows along each unknown.
    pub(super) rows: &'p [(f64, Vec<f64>)],
    /// How far each unknown may go, back and on.
    pub(super) ends: &'p [(f64, f64)],
    /// What it costs to break a row by 1.
    pub(super) price: f64,
}

/// The best step.
pub(super) struct Step {
    /// Along each unknown.
    pub(super) along: Vec<f64>,
    /// What the objective and all that is broken come to there.
    pub(super) comes_to: f64,
}

/// Nearer to zero than this is zero.
const TINY: f64 = 1e-11;
/// Steps of the method, many times what programmes of this size take.
const PIVOTS: usize = 2000;
/// After so many of them Bland's rule takes over.
const GREEDY: usize = 400;

/// Rows of the tableau, the right side last; the columns that are basic in them; the reduced costs, the objective's negative last.
struct Tableau {
    rows: Vec<Vec<f64>>,
    basic: Vec<usize>,
    costs: Vec<f64>,
}

impl Programme<'_> {
    pub(super) fn step(&self) -> Step {
        let mut tableau = self.tableau();
        for at in 0..PIVOTS {
            if !tableau.pivot(at > GREEDY) {
                break;
            }
        }
        let value = |column: usize| {
            let row = tableau.basic.iter().position(|basic| *basic == column);
            row.and_then(|row| tableau.rows.get(row)?.last().copied()).unwrap_or(0.0)
        };
        let along: Vec<f64> = self.ends.iter().enumerate().map(|(at, (back, _))| back + value(at)).collect();
        Step { comes_to: self.comes_to(&along), along }
    }

    /// What the objective and all that is broken come to after these steps.
    pub(super) fn comes_to(&self, along: &[f64]) -> f64 {
        let broken = self.rows.iter().map(|(room, slopes)| (-(room + dot(slopes, along))).max(0.0));
        dot(self.slopes, along) + self.price * broken.sum::<f64>()
    }

    /// Unknowns counted from their back ends, then how far each row is broken, then the room in each row and each box.
    fn tableau(&self) -> Tableau {
        let (unknowns, rows) = (self.ends.len(), self.rows.len());
        let width = unknowns + 2 * rows + unknowns + 1;
        let mut tableau = Tableau { rows: Vec::new(), basic: Vec::new(), costs: vec![0.0; width] };
        let back: Vec<f64> = self.ends.iter().map(|(back, _)| *back).collect();
        set(&mut tableau.costs, self.slopes.iter().copied().enumerate());
        set(&mut tableau.costs, (0..rows).map(|at| (unknowns + at, self.price)));
        for (at, (room, slopes)) in self.rows.iter().enumerate() {
            let (broken, left) = (unknowns + at, unknowns + rows + at);
            let right = room + dot(slopes, &back);
            // As it stands where it is kept at the back ends, else the other way round, with how far it is broken as its basis.
            let sign = if right < 0.0 { -1.0 } else { 1.0 };
            let mut row = vec![0.0; width];
            set(&mut row, slopes.iter().map(|slope| -sign * slope).enumerate());
            set(&mut row, [(broken, -sign), (left, sign), (width - 1, sign * right)]);
            if right < 0.0 {
                tableau.costs.iter_mut().zip(&row).for_each(|(cost, cell)| *cost -= self.price * cell);
            }
            tableau.basic.push(if right < 0.0 { broken } else { left });
            tableau.rows.push(row);
        }
        for (at, (back, on)) in self.ends.iter().enumerate() {
            let (mut row, left) = (vec![0.0; width], unknowns + 2 * rows + at);
            set(&mut row, [(at, 1.0), (left, 1.0), (width - 1, on - back)]);
            tableau.basic.push(left);
            tableau.rows.push(row);
        }
        tableau
    }
}

impl Tableau {
    /// One exchange of the basis; false where nothing can be gained.
    fn pivot(&mut self, bland: bool) -> bool {
        let columns = self.costs.len().saturating_sub(1);
        let gains = self.costs.iter().take(columns).copied().enumerate().filter(|(_, cost)| *cost < -TINY);
        let column = if bland { gains.map(|(at, _)| at).next() } else { least(gains).map(|(at, _)| at) };
        let Some(column) = column else { return false };
        let ratios = self.rows.iter().zip(&self.basic).enumerate().filter_map(|(at, (row, basic))| {
            let by = row.get(column).copied().filter(|by| *by > TINY)?;
            Some((at, row.last()? / by, *basic))
        });
        let row = ratios.min_by(|a, b| a.1.total_cmp(&b.1).then(a.2.cmp(&b.2)));
        let Some((row, ..)) = row else { return false };
        self.exchange(row, column);
        true
    }

    fn exchange(&mut self, at: usize, column: usize) {
        let Some(mut pivot) = self.rows.get_mut(at).map(std::mem::take) else { return };
        let by = pivot.get(column).copied().unwrap_or(1.0);
        pivot.iter_mut().for_each(|cell| *cell /= by);
        let others = self.rows.iter_mut().filter(|row| !row.is_empty());
        for row in others.chain([&mut self.costs]) {
            let times = row.get(column).copied().unwrap_or(0.0);
            if times != 0.0 {
                row.iter_mut().zip(&pivot).for_each(|(cell, own)| *cell -= times * own);
            }
        }
        self.rows.get_mut(at).into_iter().for_each(|row| *row = std::mem::take(&mut pivot));
        self.basic.get_mut(at).into_iter().for_each(|basic| *basic = column);
    }
}

fn set(row: &mut [f64], cells: impl IntoIterator<Item = (usize, f64)>) {
    for (at, value) in cells {
        row.get_mut(at).into_iter().for_each(|cell| *cell = value);
    }
}

fn least(of: impl Iterator<Item = (usize, f64)>) -> Option<(usize, f64)> {
    of.min_by(|a, b| a.1.total_cmp(&b.1))
}

/// The sum of the products.
pub(super) fn dot(one: &[f64], other: &[f64]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(slopes: &[f64], rows: &[(f64, Vec<f64>)], ends: &[(f64, f64)]) -> Step {
        Programme { slopes, rows, ends, price: 100.0 }.step()
    }

    /// x + y least with x + 2y >= 2 and 3x + y >= 3 within 0 to 5: at the corner (0.8, 0.6), by elimination.
    #[test]
    fn the_least_is_at_the_corner() {
        let rows = [(-2.0, vec![1.0, 2.0]), (-3.0, vec![3.0, 1.0])];
        let found = step(&[1.0, 1.0], &rows, &[(0.0, 5.0), (0.0, 5.0)]);
        assert!((found.along[0] - 0.8).abs() < 1e-9 && (found.along[1] - 0.6).abs() < 1e-9);
        assert!((found.comes_to - 1.4).abs() < 1e-9);
    }

    /// What cannot be kept is broken as little as can be, and the rest is kept.
    #[test]
    fn what_cannot_be_kept_is_broken_least() {
        let rows = [(-3.0, vec![1.0]), (0.5, vec![-1.0])];
        let found = step(&[0.001], &rows, &[(-1.0, 1.0)]);
        assert!((found.comes_to - 250.0).abs() < 0.01, "{}", found.comes_to);
        assert_eq!(step(&[1.0, -1.0], &[], &[(-0.25, 1.0), (-1.0, 0.5)]).along, [-0.25, 0.5]);
    }

    /// Against every corner of small programmes, drawn by a fixed rule.
    #[test]
    fn no_grid_point_is_better() {
        let mut seed = 7_u32;
        let mut next = || {
            seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(seed >> 16) / 65_536.0 - 0.5
        };
        for _ in 0..60 {
            let slopes = [next(), next()];
            let rows: Vec<(f64, Vec<f64>)> = (0..5).map(|_| (next(), vec![next(), next()])).collect();
            let ends = [(-0.5, 0.5); 2];
            let programme = Programme { slopes: &slopes, rows: &rows, ends: &ends, price: 10.0 };
            let found = programme.step();
            assert!(found.along.iter().all(|by| by.abs() < 0.5 + 1e-9));
            let grid = (0..=40).flat_map(|x| (0..=40).map(move |y| [f64::from(x), f64::from(y)]));
            let least = grid.map(|at| programme.comes_to(&at.map(|it| it / 40.0 - 0.5))).fold(f64::INFINITY, f64::min);
            assert!(found.comes_to <= least + 1e-9, "{} {least}", found.comes_to);
        }
    }
}
