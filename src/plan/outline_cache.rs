//! Outer edges as they are cut. The layers of a dial mostly share theirs, so what is worked out of one serves all of them.

use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::axis::flip_axis;
use super::play::{Play, play};
use crate::geometry::Region;
use crate::memory::{MANY, recalled};
use crate::units::{Angle, Length};

/// What is asked of outlines that variants share: how they are flipped, and how far they play in openings cut with this kerf.
#[derive(PartialEq)]
struct Flipped(Region);
#[derive(PartialEq)]
struct Played(Region, Length);

/// A finished outer edge, filled, and what is worked out of it, each when it is first asked for.
pub(super) struct CutOutline {
    pub(super) finished: Region,
    kerf: Length,
    tool_path: OnceLock<Region>,
    axis: OnceLock<Option<Angle>>,
    play: OnceLock<Play>,
}

impl CutOutline {
    fn new(finished: Region, kerf: Length) -> Self {
        Self { finished, kerf, tool_path: OnceLock::new(), axis: OnceLock::new(), play: OnceLock::new() }
    }

    /// The tool's path round it.
    pub(super) fn tool_path(&self) -> &Region {
        self.tool_path.get_or_init(|| self.finished.offset(self.kerf.as_mm() / 2.0))
    }

    /// The line about which a part is turned over into its own opening; none where its outline has no such line.
    pub(super) fn axis(&self) -> Option<Angle> {
        let find = || recalled(MANY, || Flipped(self.tool_path().clone()), || flip_axis(self.tool_path()));
        *self.axis.get_or_init(find)
    }

    /// How far a part may lie off its place in the opening that it left.
    pub(super) fn play(&self) -> Play {
        let asked = || Played(self.finished.clone(), self.kerf);
        *self.play.get_or_init(|| recalled(MANY, asked, || play(&self.finished, self.kerf)))
    }
}

/// No more are kept at once than this.
const MOST: usize = 64;

/// The edges met so far, so that no layer, and no second look at a design, works the same out again.
#[derive(Default)]
pub struct OutlineCache {
    outer: Mutex<Vec<Arc<CutOutline>>>,
    /// Openings, each with how far the tool's path stands off it, in mm, and that path.
    openings: Mutex<Vec<(Region, f64, Region)>>,
}

impl OutlineCache {
    /// What is known of this outline, cut with this kerf.
    pub(super) fn of(&self, finished: Region, kerf: Length) -> Arc<CutOutline> {
        // A handful of outlines, so a list searched by equality serves better than a hash of curves. A thread that
        // panicked while it held the lock left whole entries behind, so what it left is used.
        let mut cache = self.outer.lock().unwrap_or_else(PoisonError::into_inner);
        let known = cache.iter().find(|it| it.kerf == kerf && it.finished == finished).cloned();
        known.unwrap_or_else(|| {
            let outline = Arc::new(CutOutline::new(finished, kerf));
            keep(&mut cache, Arc::clone(&outline));
            outline
        })
    }

    /// The tool's path in an opening, so many mm off its edge.
    pub(super) fn in_opening(&self, opening: &Region, off: f64) -> Region {
        let known = || self.openings.lock().unwrap_or_else(PoisonError::into_inner);
        #[allow(clippy::float_cmp, reason = "worked out of the same kerf")]
        let find = |all: &[(Region, f64, Region)]| {
            all.iter().find(|(edge, by, _)| *by == off && edge == opening).map(|(.., path)| path.clone())
        };
        if let Some(path) = find(&known()) {
            return path;
        }
        let path = opening.offset(-off);
        keep(&mut known(), (opening.clone(), off, path.clone()));
        path
    }
}

fn keep<T>(all: &mut Vec<T>, one: T) {
    if all.len() >= MOST {
        all.clear();
    }
    all.push(one);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::shapes::rectangle;

    #[test]
    fn layers_share_what_is_known_where_outline_and_kerf_are_alike() {
        let plate = |wide: f64| rectangle(wide, 20.0, 0.0).unwrap();
        let cache = OutlineCache::default();
        let outline = |wide: f64, kerf: f64| cache.of(plate(wide), Length::mm(kerf));
        let first = outline(30.0, 0.2);
        assert!(Arc::ptr_eq(&first, &outline(30.0, 0.2)));
        let (wider, rougher) = (outline(31.0, 0.2), outline(30.0, 0.4));
        assert!(!Arc::ptr_eq(&first, &wider) && !Arc::ptr_eq(&first, &rougher) && !Arc::ptr_eq(&wider, &rougher));
        let width = |outline: &CutOutline| outline.tool_path().bounds().unwrap().width();
        for (outline, wanted) in [(&first, 30.2), (&wider, 31.2), (&rougher, 30.4)] {
            assert!((width(outline) - wanted).abs() < 1e-6, "half a kerf either side: {}", width(outline));
        }
        assert_eq!(first.axis(), Some(Angle::ZERO));
        assert!(first.play().shift < rougher.play().shift, "a wider opening leaves more play");
    }
}
