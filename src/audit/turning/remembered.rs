//! Answers that are asked for again: many stops hold two layers alike.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::design::pose::Pose;
use crate::work::{priced, spend};

/// No more answers are kept at once than this.
const MOST: usize = 1024;

/// What was found for each question that was asked, and the work of finding it. Threads may ask the same at once; each then finds
/// it.
#[derive(Debug)]
pub(super) struct Remembered<K, V>(Mutex<BTreeMap<K, (V, u64)>>);

// It follows from whatever it is remembered of.
impl<K, V> PartialEq for Remembered<K, V> {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl<K, V> Default for Remembered<K, V> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl<K: Ord, V: Clone> Remembered<K, V> {
    /// What was found for a question, or is found now. It counts as found anew each time, or what is counted would depend on which
    /// thread was first.
    pub(super) fn or_found(&self, question: K, find: impl FnOnce() -> V) -> V {
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let before = known().get(&question).cloned();
        if let Some((found, steps)) = before {
            spend(steps);
            return found;
        }
        let (found, steps) = priced(find);
        let mut known = known();
        if known.len() >= MOST {
            known.clear();
        }
        known.insert(question, (found.clone(), steps));
        found
    }
}

/// How far a layer stands turned from another, in millionths of a degree: what is nearer than that looks alike.
pub(super) fn turned_by(pose: &Pose, from: usize, to: usize) -> i64 {
    #[allow(clippy::cast_possible_truncation, reason = "at most 360e6")]
    let turned = (pose.between(from, to).rem_euclid(360.0) * 1e6).round() as i64;
    if turned == 360_000_000 { 0 } else { turned }
}
