//! Areas, centroids, distances and radii of regions.

use kurbo::Shape;

use super::Region;

impl Region {
    /// Area in mm².
    pub fn area(&self) -> f64 {
        self.path().area()
    }
}
