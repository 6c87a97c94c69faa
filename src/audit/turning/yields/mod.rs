//! How many dials of a hundred read right at every stop, when they are made within the shop's spreads.

mod bound;
mod causes;
mod corners;
mod draw;
mod look;
mod loss;
mod made;
#[cfg(test)]
pub(crate) mod oracle;
mod rays;
mod share;
mod sparser;

pub use loss::{Loss, Spread};
pub use share::Share;

use std::sync::Arc;

use serde_json::{Value, json};

use super::scene::Scene;
use super::{CheckedReading, ReadingCheck};
use crate::audit::fit::in_words;
use crate::audit::holding::Holding;
use crate::design::{Design, Spreads};
use crate::memory::{FEW, recalled};
use crate::units::{Angle, rounded};
pub(super) use causes::Causes;
use draw::{Setting, drawn};
use look::{Case, Looks, looks};
pub(super) use loss::{losses, matters_most, room};

/// How sure the readings of a dial are.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Yields {
    /// The dial as a whole; none where nothing is read.
    pub dial: Option<DialYield>,
    /// The share that reads right, for each stop of each reading in the order of the reading check.
    pub readings: Vec<Vec<Share>>,
}

/// How many dials read right at every stop.
#[derive(Clone, Debug, PartialEq)]
pub struct DialYield {
    /// Dials that read right at every stop: pockets and kerfs are those of the dial, each stop is placed anew.
    pub share: Share,
    /// The stop that fails oftenest.
    pub worst: WorstStop,
    /// What takes most of the room there; none where nothing does.
    pub matters_most: Option<Spread>,
}

impl DialYield {
    /// "99.2 % ± 0.2 of dials; least at stop 3 (72deg), due `20`: 99.8 % ± 0.1".
    pub fn in_words(&self, check: &ReadingCheck) -> String {
        let reading = check.readings.get(self.worst.reading);
        let stop = reading.and_then(|reading| reading.stops.get(self.worst.stop)).map(|stop| {
            format!(
                "; least at {}, due `{}`: {}",
                in_words(&stop.stops, &stop.bearings),
                stop.due_says,
                self.worst.share
            )
        });
        format!("{} of dials{}", self.share, stop.unwrap_or_default())
    }

    /// The same for programs.
    pub fn as_json(&self, check: &ReadingCheck) -> Value {
        let percent = |share: f64| rounded(100.0 * share, 4);
        let reading = check.readings.get(self.worst.reading);
        let stop = reading.and_then(|reading| reading.stops.get(self.worst.stop));
        json!({
            "percent": percent(self.share.share),
            "plus_minus_percent": percent(self.share.plus_minus),
            "worst_stop": {
                "ring": reading.map(|reading| &reading.ring),
                "stops": stop.map(|stop| stop.stops.iter().map(|at| at + 1).collect::<Vec<_>>()),
                "percent": percent(self.worst.share.share),
                "plus_minus_percent": percent(self.worst.share.plus_minus),
            },
            "matters_most": self.matters_most.map(Spread::name),
        })
    }
}

/// The stop of a dial that reads right least often.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstStop {
    /// Its reading, by place in the reading check.
    pub reading: usize,
    /// Which of the reading's stops, by place in it.
    pub stop: usize,
    /// Dials that read right there.
    pub share: Share,
}

/// What bounds that are straight are off by, by comparison with plain draws: at all, where a stop overlaps as drawn, and as parts
/// of the misreadings where edges cover the label, and where other labels come into view round the ends of edges.
const FLOOR: f64 = 2e-4;
const OVERLAPPING: f64 = 0.05;
const COVERED: f64 = 0.02;
const CROWDED: f64 = 0.1;

/// Works out how sure the readings of a design are that were checked. Without `holding` nothing is known of where clicks and
/// friction leave it.
pub fn yields(design: &Design, check: &ReadingCheck, spreads: &Spreads, holding: Option<&Holding>) -> Yields {
    if design.has_wheels() {
        return super::wheels::of_all(design, check, spreads, holding);
    }
    let causes = Causes::of(design, spreads, holding);
    let scenes: Vec<Option<Arc<Scene>>> = check.readings.iter().map(|reading| check.scene(design, reading)).collect();
    let asked = || Dials {
        scenes: scenes.clone(),
        readings: check.readings.clone(),
        stops: design.turns().map(|(below, turn)| (below, turn.stops.clone())).collect(),
        causes: causes.clone(),
    };
    recalled(FEW, asked, || of_scenes(design, check, &causes, &scenes))
}

/// Dials that show these scenes and stray so.
struct Dials {
    scenes: Vec<Option<Arc<Scene>>>,
    readings: Vec<CheckedReading>,
    stops: Vec<(usize, Vec<Angle>)>,
    causes: Causes,
}

impl PartialEq for Dials {
    fn eq(&self, other: &Self) -> bool {
        let same = |(one, other): (&Option<Arc<Scene>>, &Option<Arc<Scene>>)| match (one, other) {
            (Some(one), Some(other)) => Arc::ptr_eq(one, other),
            (one, other) => one.is_none() && other.is_none(),
        };
        self.scenes.len() == other.scenes.len()
            && self.scenes.iter().zip(&other.scenes).all(same)
            && self.stops == other.stops
            && self.causes == other.causes
            && self.readings == other.readings
    }
}

fn of_scenes(design: &Design, check: &ReadingCheck, causes: &Causes, scenes: &[Option<Arc<Scene>>]) -> Yields {
    let looked = check.readings.iter().zip(scenes).map(|(reading, scene)| {
        let scene = Arc::clone(scene.as_ref()?);
        let looks = looks(design, &scene, reading, causes);
        Some((scene, looks))
    });
    let looked: Vec<Option<(Arc<Scene>, Looks)>> = looked.collect();
    let settings = settings(check, &looked);
    let found = drawn(&settings, causes);
    let mut readings: Vec<Vec<Share>> = check
        .readings
        .iter()
        .zip(&looked)
        .map(|(reading, looked)| {
            let case = |at: usize| looked.as_ref().and_then(|(_, looks)| looks.case(at));
            let drawn = |at: usize| if case(at).is_some() { 1.0 } else { 0.0 };
            (0..reading.stops.len()).map(|at| Share { share: drawn(at), plus_minus: 0.0 }).collect()
        })
        .collect();
    let wrong = readings.iter().flatten().any(|share| share.share <= 0.0);
    let mut all_crowded = false;
    for ((reading, stop), share) in found.parts {
        let as_drawn =
            check.readings.get(reading).and_then(|reading| reading.stops.get(stop)).is_some_and(|stop| stop.reads);
        if let Some(place) = readings.get_mut(reading).and_then(|stops| stops.get_mut(stop)) {
            let case = looked.get(reading).and_then(Option::as_ref).and_then(|(_, looks)| looks.case(stop));
            let crowded = case.is_some_and(Case::is_crowded);
            all_crowded |= crowded;
            *place = widened(share, as_drawn, crowded);
        }
    }
    let dial = worst(&readings).map(|worst| DialYield {
        share: if wrong { Share::default() } else { widened(found.dial, check.reads(), all_crowded) },
        matters_most: looked.get(worst.reading).and_then(Option::as_ref).and_then(|(scene, _)| {
            let reading = check.readings.get(worst.reading)?;
            let stop = reading.stops.get(worst.stop).filter(|stop| stop.reads)?;
            matters_most(&losses(design, scene, (reading, stop), causes))
        }),
        worst,
    });
    Yields { dial, readings }
}

/// With what the bounds themselves may be off by.
fn widened(share: Share, reads_as_drawn: bool, crowded: bool) -> Share {
    // Where each of many stops misreads by so much more, they all read right by this factor less.
    let misread = -share.share.max(f64::MIN_POSITIVE).ln();
    let bent = share.share * misread * if crowded { CROWDED } else { COVERED };
    let bounds = FLOOR + bent + if reads_as_drawn { 0.0 } else { OVERLAPPING };
    Share { plus_minus: share.plus_minus.hypot(bounds), ..share }
}

fn worst(readings: &[Vec<Share>]) -> Option<WorstStop> {
    let all = readings.iter().enumerate().flat_map(|(reading, stops)| {
        stops.iter().enumerate().map(move |(stop, share)| WorstStop { reading, stop, share: *share })
    });
    all.min_by(|a, b| a.share.share.total_cmp(&b.share.share))
}

/// Every way to set the dial, with all readings that cross the same turns in it.
fn settings<'a>(check: &'a ReadingCheck, looked: &'a [Option<(Arc<Scene>, Looks)>]) -> Vec<Setting<'a>> {
    let mut all = Vec::new();
    let mut known: Vec<&[usize]> = Vec::new();
    for reading in &check.readings {
        if known.contains(&reading.turns.as_slice()) {
            continue;
        }
        known.push(&reading.turns);
        all.extend(reading.stops.iter().enumerate().filter_map(|(at, stop)| {
            let readings = check.readings.iter().zip(looked).enumerate();
            let same = readings.filter(|(_, (other, _))| other.turns == reading.turns);
            let looks = same.filter_map(|(place, (_, looked))| {
                let (_, looks) = looked.as_ref()?;
                Some(((place, at), looks, looks.all.get(at)?))
            });
            Setting::of(&reading.turns, &stop.stops, looks)
        }));
    }
    all
}
