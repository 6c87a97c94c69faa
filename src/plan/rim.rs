//! Outer edges as they are cut. The layers of a dial mostly share theirs, so what is worked out of one serves all of them.

use std::cell::OnceCell;
use std::rc::Rc;

use super::flip;
use super::play::{Play, play};
use crate::geometry::Region;
use crate::units::{Angle, Length};

/// A finished outer edge, filled, and the tool's path round it.
pub(super) struct Rim {
    pub(super) outline: Region,
    pub(super) tool: Region,
    kerf: Length,
    axis: OnceCell<Option<Angle>>,
    play: OnceCell<Play>,
}

impl Rim {
    fn new(outline: Region, kerf: Length) -> Self {
        let tool = outline.offset(kerf.as_mm() / 2.0);
        Self { outline, tool, kerf, axis: OnceCell::new(), play: OnceCell::new() }
    }

    /// The line about which a part is turned over into its own opening; none where its outline has no such line.
    pub(super) fn axis(&self) -> Option<Angle> {
        *self.axis.get_or_init(|| flip::axis(&self.tool))
    }

    /// How far a part may lie off its place in the opening that it left.
    pub(super) fn play(&self) -> Play {
        *self.play.get_or_init(|| play(&self.outline, self.kerf))
    }
}

/// The rims met so far.
#[derive(Default)]
pub(super) struct Rims(Vec<Rc<Rim>>);

impl Rims {
    /// The rim with this outline, cut with this kerf.
    pub(super) fn of(&mut self, outline: Region, kerf: Length) -> Rc<Rim> {
        let known = self.0.iter().find(|rim| rim.kerf == kerf && rim.outline == outline);
        known.cloned().unwrap_or_else(|| {
            let rim = Rc::new(Rim::new(outline, kerf));
            self.0.push(Rc::clone(&rim));
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
        let mut rims = Rims::default();
        let mut rim = |wide: f64, kerf: f64| rims.of(plate(wide), Length::mm(kerf));
        let first = rim(30.0, 0.2);
        assert!(Rc::ptr_eq(&first, &rim(30.0, 0.2)));
        let (wider, rougher) = (rim(31.0, 0.2), rim(30.0, 0.4));
        assert!(!Rc::ptr_eq(&first, &wider) && !Rc::ptr_eq(&first, &rougher) && !Rc::ptr_eq(&wider, &rougher));
        let width = |rim: &Rim| rim.tool.bounds().unwrap().width();
        for (rim, wanted) in [(&first, 30.2), (&wider, 31.2), (&rougher, 30.4)] {
            assert!((width(rim) - wanted).abs() < 1e-6, "half a kerf either side: {}", width(rim));
        }
        assert_eq!(first.axis(), Some(Angle::ZERO));
        assert!(first.play().shift < rougher.play().shift, "a wider opening leaves more play");
    }
}
