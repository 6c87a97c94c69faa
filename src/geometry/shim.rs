//! Stands in for the axes of symmetry until the geometry that has them is merged.

use super::{Angle, Region, mirror};

impl Region {
    /// The multiples of 5 degrees that it is symmetric about.
    pub fn symmetry_axes(&self) -> Vec<Angle> {
        let room = self.offset(0.01);
        let axes = (0..36).map(|step| Angle::degrees(f64::from(step) * 5.0));
        axes.filter(|axis| self.transformed(mirror(*axis)).difference(&room).area() < 1e-3).collect()
    }
}
