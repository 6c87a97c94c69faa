//! What chance decides, and how figures are written.

use fastrand::Rng;

/// A run of chances that a seed stands for.
pub(super) struct Dice(Rng);

impl Dice {
    pub(super) fn of(seed: u64) -> Self {
        let mut dice = Self(Rng::with_seed(seed));
        // Seeds that follow each other begin alike; what comes later does not.
        (0..8).for_each(|_| {
            dice.0.u64(..);
        });
        dice
    }

    /// Whether so many of a hundred come out.
    pub(super) fn chance(&mut self, percent: u32) -> bool {
        self.0.u32(0..100) < percent
    }

    pub(super) fn count(&mut self, from: u32, to: u32) -> u32 {
        self.0.u32(from..=to.max(from))
    }

    pub(super) fn pick<'a, T: ?Sized>(&mut self, of: &[&'a T]) -> &'a T {
        of[self.0.usize(0..of.len())]
    }

    /// A figure in tenths, now and then in hundredths or in thousandths.
    pub(super) fn figure(&mut self, from: f64, to: f64) -> f64 {
        let steps = [10.0, 10.0, 10.0, 2.0, 100.0, 1000.0][self.0.usize(0..6)];
        let drawn = from + (to - from).max(0.0) * self.0.f64();
        ((drawn * steps).round() / steps).max(from)
    }
}

/// A length as it is written, mostly in mm.
pub(super) fn mm(length: f64) -> String {
    format!("{}mm", plain(length))
}

pub(super) fn degrees(angle: f64) -> String {
    format!("{}deg", plain(angle))
}

/// At most three decimals, none that says nothing.
pub(super) fn plain(figure: f64) -> String {
    let text = format!("{figure:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}
