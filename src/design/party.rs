//! Who is named on what is printed.

use crate::geometry::Region;

/// Somebody for whom dials are made, or who makes them.
#[derive(Clone, Debug, PartialEq)]
pub struct Party {
    /// The name, as one line.
    pub name: String,
    /// A drawing beside the name, in one ink and of any size; none where the name stands alone.
    pub logo: Option<Region>,
}
