//! Stands in for the offset and the axes of symmetry until the geometry that has them is merged.

use super::{Angle, Region, Rule, mirror};

impl Region {
    /// Grown by `mm` on every side, corners rounded; shrunk where it is below zero.
    #[must_use]
    pub fn offset(&self, mm: f64) -> Region {
        if mm == 0.0 {
            return self.clone();
        }
        let style = kurbo::Stroke::new(mm.abs() * 2.0).with_join(kurbo::Join::Round);
        let band = kurbo::stroke(self.path().iter(), &style, &kurbo::StrokeOpts::default(), 1e-4);
        let band = Region::from_path(&band, Rule::NonZero).unwrap_or_default();
        if mm > 0.0 { self.union(&band) } else { self.difference(&band) }
    }

    /// The multiples of 5 degrees that it is symmetric about.
    pub fn symmetry_axes(&self) -> Vec<Angle> {
        let room = self.offset(0.01);
        let axes = (0..36).map(|step| Angle::degrees(f64::from(step) * 5.0));
        axes.filter(|axis| self.transformed(mirror(*axis)).difference(&room).area() < 1e-3).collect()
    }
}
