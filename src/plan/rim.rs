//! Outer edges as they are cut. The layers of a dial mostly share theirs, so what is worked out of one serves all of them.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::flip;
use super::play::{Play, play};
use crate::geometry::Region;
use crate::units::{Angle, Length};

/// A finished outer edge, filled, and what is worked out of it, each when it is first asked for.
pub(super) struct Rim {
    pub(super) outline: Region,
    kerf: Length,
    tool: OnceLock<Region>,
    axis: OnceLock<Option<Angle>>,
    play: OnceLock<Play>,
}

impl Rim {
    fn new(outline: Region, kerf: Length) -> Self {
        Self { outline, kerf, tool: OnceLock::new(), axis: OnceLock::new(), play: OnceLock::new() }
    }

    /// The tool's path round it.
    pub(super) fn tool(&self) -> &Region {
        self.tool.get_or_init(|| self.outline.offset(self.kerf.as_mm() / 2.0))
    }

    /// The line about which a part is turned over into its own opening; none where its outline has no such line.
    pub(super) fn axis(&self) -> Option<Angle> {
        *self.axis.get_or_init(|| flip::axis(self.tool()))
    }

    /// How far a part may lie off its place in the opening that it left.
    pub(super) fn play(&self) -> Play {
        *self.play.get_or_init(|| play(&self.outline, self.kerf))
    }
}

/// The outer edges met so far, so that no layer, and no second look at a design, works the same out again.
#[derive(Default)]
pub struct Rims(Mutex<Vec<Arc<Rim>>>);

impl Rims {
    /// The rim with this outline, cut with this kerf.
    pub(super) fn of(&self, outline: Region, kerf: Length) -> Arc<Rim> {
        let mut rims = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let known = rims.iter().find(|rim| rim.kerf == kerf && rim.outline == outline).cloned();
        known.unwrap_or_else(|| {
            let rim = Arc::new(Rim::new(outline, kerf));
            rims.push(Arc::clone(&rim));
            rim
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::rectangle;

    #[test]
    fn layers_share_a_rim_where_outline_and_kerf_are_alike() {
        let plate = |wide: f64| rectangle(wide, 20.0, 0.0).unwrap();
        let rims = Rims::default();
        let rim = |wide: f64, kerf: f64| rims.of(plate(wide), Length::mm(kerf));
        let first = rim(30.0, 0.2);
        assert!(Arc::ptr_eq(&first, &rim(30.0, 0.2)));
        let (wider, rougher) = (rim(31.0, 0.2), rim(30.0, 0.4));
        assert!(!Arc::ptr_eq(&first, &wider) && !Arc::ptr_eq(&first, &rougher) && !Arc::ptr_eq(&wider, &rougher));
        let width = |rim: &Rim| rim.tool().bounds().unwrap().width();
        for (rim, wanted) in [(&first, 30.2), (&wider, 31.2), (&rougher, 30.4)] {
            assert!((width(rim) - wanted).abs() < 1e-6, "half a kerf either side: {}", width(rim));
        }
        assert_eq!(first.axis(), Some(Angle::ZERO));
        assert!(first.play().shift < rougher.play().shift, "a wider opening leaves more play");
    }
}
