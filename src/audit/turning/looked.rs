//! What was looked at while readings were checked, kept for what is asked of them later.

use std::fmt;
use std::sync::Arc;

use super::scene::Scene;
use super::wheels::Alone;
use super::{CheckedReading, ReadingCheck, asked};
use crate::design::Design;
use crate::source::Span;

/// The scene of each reading, and the dials of all wheels.
#[derive(Clone, Default)]
pub(super) struct Looked {
    scenes: Vec<(Span, Vec<String>, Arc<Scene>)>,
    wheels: Arc<Vec<Alone>>,
}

// It follows from the design, so that checks that found the same are the same.
impl PartialEq for Looked {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl fmt::Debug for Looked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("..")
    }
}

impl Looked {
    pub(super) fn of_wheels(wheels: Vec<Alone>) -> Self {
        Self { wheels: Arc::new(wheels), ..Self::default() }
    }

    pub(super) fn keep(&mut self, reading: &CheckedReading, scene: Arc<Scene>) {
        self.scenes.push((reading.origin, reading.by.clone(), scene));
    }
}

impl ReadingCheck {
    /// The scene of a reading that was checked. `design` is the one checked.
    pub(super) fn scene(&self, design: &Design, reading: &CheckedReading) -> Option<Arc<Scene>> {
        let is_its = |known: &&(Span, Vec<String>, _)| known.0 == reading.origin && known.1 == reading.by;
        let known = self.looked.scenes.iter().find(is_its).map(|(.., scene)| Arc::clone(scene));
        known.or_else(|| Scene::of(design, asked(design, reading)?).ok().map(Arc::new))
    }

    /// The dials of all wheels that are read. `design` is the one checked.
    pub(super) fn wheels(&self, design: &Design) -> Arc<Vec<Alone>> {
        if self.looked.wheels.is_empty() {
            return Arc::new(Alone::each(design).collect());
        }
        Arc::clone(&self.looked.wheels)
    }
}
