//! Least squares by the normal equations.

/// Sums of squares and products of so many unknowns.
#[derive(Clone, Debug)]
pub(super) struct Normal {
    count: usize,
    /// Row by row, only up to the diagonal.
    squares: Vec<f64>,
    right: Vec<f64>,
}

impl Normal {
    pub(super) fn of(count: usize) -> Self {
        Self { count, squares: vec![0.0; count * count], right: vec![0.0; count] }
    }

    /// An observation: its slopes by unknown, its value, its weight.
    pub(super) fn add(&mut self, slopes: impl Iterator<Item = (usize, f64)> + Clone, value: f64, weight: f64) {
        for (row, a) in slopes.clone() {
            if let Some(right) = self.right.get_mut(row) {
                *right += weight * a * value;
            }
            for (column, b) in slopes.clone() {
                if column <= row
                    && let Some(sum) = self.squares.get_mut(row * self.count + column)
                {
                    *sum += weight * a * b;
                }
            }
        }
    }

    /// Marquardt's damping: the diagonal grows by this share.
    pub(super) fn damp(&mut self, share: f64) {
        for at in 0..self.count {
            if let Some(own) = self.squares.get_mut(at * self.count + at) {
                *own = *own * (1.0 + share) + 1e-12;
            }
        }
    }

    /// What is known of an unknown beforehand: about 0 with this standard deviation.
    pub(super) fn expect(&mut self, at: usize, deviation: f64) {
        if let Some(own) = self.squares.get_mut(at * self.count + at) {
            *own += deviation.powi(-2);
        }
    }

    fn lower(&self) -> Option<Vec<f64>> {
        let n = self.count;
        let mut lower = self.squares.clone();
        for row in 0..n {
            let (above, own) = lower.split_at_mut(row * n);
            let own = own.get_mut(..n)?;
            for column in 0..=row {
                let (before, rest) = own.split_at_mut(column);
                let value = rest.first_mut()?;
                if column == row {
                    *value -= before.iter().map(|it| it * it).sum::<f64>();
                    // Not a number is no more above zero than what is below it.
                    if value.is_nan() || *value <= 0.0 {
                        return None;
                    }
                    *value = value.sqrt();
                } else {
                    let other = above.get(column * n..column * n + column + 1)?;
                    let (other, diagonal) = other.split_at(column);
                    let sum: f64 = before.iter().zip(other).map(|(a, b)| a * b).sum();
                    *value = (*value - sum) / diagonal.first()?;
                }
            }
        }
        Some(lower)
    }

    /// The unknowns by Cholesky's method; none where they are not determined.
    pub(super) fn solved(&self) -> Option<Vec<f64>> {
        let lower = self.lower()?;
        Some(backward(&lower, forward(&lower, self.right.clone())))
    }

    /// The unknowns, and the square root of each one's place on the diagonal of the inverse.
    pub(super) fn solved_with_deviations(&self) -> Option<(Vec<f64>, Vec<f64>)> {
        let lower = self.lower()?;
        let solved = backward(&lower, forward(&lower, self.right.clone()));
        let deviations = (0..self.count).map(|at| {
            let mut unit = vec![0.0; self.count];
            unit.iter_mut().skip(at).take(1).for_each(|it| *it = 1.0);
            forward(&lower, unit).iter().map(|it| it * it).sum::<f64>().sqrt()
        });
        Some((solved, deviations.collect()))
    }
}

fn forward(lower: &[f64], mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for (at, row) in lower.chunks(n.max(1)).enumerate() {
        let (known, rest) = right.split_at_mut(at);
        let sum: f64 = row.iter().zip(known.iter()).map(|(a, b)| a * b).sum();
        if let (Some(value), Some(diagonal)) = (rest.first_mut(), row.get(at)) {
            *value = (*value - sum) / diagonal;
        }
    }
    right
}

fn backward(lower: &[f64], mut right: Vec<f64>) -> Vec<f64> {
    let n = right.len();
    for at in (0..n).rev() {
        let row = lower.get(at * n..at * n + at + 1).unwrap_or_default();
        let Some((diagonal, row)) = row.split_last() else { continue };
        let (rest, own) = right.split_at_mut(at);
        if let Some(value) = own.first_mut() {
            *value /= diagonal;
            rest.iter_mut().zip(row).for_each(|(to, a)| *to -= a * *value);
        }
    }
    right
}
