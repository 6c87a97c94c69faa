//! Many dials in a row, and what came of them.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};

use super::agree::{Disagreement, Outcome, outcome};
use super::draw::dial;

/// What came of a run.
#[derive(Clone, Debug, Default)]
pub struct Counts {
    /// Dials drawn.
    pub run: usize,
    /// Without an error.
    pub sound: usize,
    /// Refused, and read back all the same.
    pub refused: usize,
    /// Refused before there was anything to read back.
    pub not_comparable: usize,
    /// Stops looked at, those that read wrong, and those too near to tell.
    pub stops: [usize; 3],
    /// Errors by name.
    pub errors: BTreeMap<&'static str, usize>,
    /// Seeds of the dials on which the two do not agree, each with what differs.
    pub disagreements: Vec<(u64, Vec<Disagreement>)>,
}

impl Counts {
    fn add(&mut self, seed: u64, outcome: Outcome) {
        self.run += 1;
        match (outcome.errors.is_empty(), outcome.read_back) {
            (true, _) => self.sound += 1,
            (false, 0) => self.not_comparable += 1,
            (false, _) => self.refused += 1,
        }
        for (sum, more) in self.stops.iter_mut().zip([outcome.stops, outcome.wrong, outcome.close]) {
            *sum += more;
        }
        for error in outcome.errors {
            *self.errors.entry(error).or_default() += 1;
        }
        if !outcome.disagreements.is_empty() {
            self.disagreements.push((seed, outcome.disagreements));
        }
    }
}

/// What came of one text; a panic is a disagreement like any other.
pub fn guarded(text: &str) -> Outcome {
    catch_unwind(AssertUnwindSafe(|| outcome(text))).unwrap_or_else(|panic| {
        let said =
            panic.downcast_ref::<String>().cloned().or_else(|| panic.downcast_ref::<&str>().map(|it| (*it).to_owned()));
        let panic = Disagreement { kind: "panic".to_owned(), says: said.unwrap_or_default() };
        Outcome { disagreements: vec![panic], ..Outcome::default() }
    })
}

/// So many dials from a seed on. Whoever looks on is told of each.
pub fn run(from: u64, count: u64, mut told: impl FnMut(u64, &Outcome)) -> Counts {
    let mut counts = Counts::default();
    for seed in from..from + count {
        let outcome = guarded(&dial(seed));
        told(seed, &outcome);
        counts.add(seed, outcome);
    }
    counts
}
