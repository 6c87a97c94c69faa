//! How many dials of a hundred read right at every stop, when they are made within the shop's spreads.

mod bound;
mod causes;
mod draw;
mod look;
#[cfg(test)]
pub(crate) mod oracle;
mod share;

pub use share::Share;

use super::ReadingCheck;
use super::scene::Scene;
use super::tolerance::{Spread, Spreads};
use crate::design::Design;
use causes::Causes;
use draw::{Setting, drawn};
use look::{Looks, looks};

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

/// Works out how sure the readings of a design are that were checked.
pub fn yields(design: &Design, check: &ReadingCheck, spreads: &Spreads) -> Yields {
    let causes = Causes::of(design, spreads);
    let looked = check.readings.iter().map(|reading| {
        let asked = design.readings.iter().find(|asked| asked.origin == reading.origin && asked.by == reading.by);
        let scene = asked.and_then(|asked| Scene::of(design, asked).ok());
        scene.map(|scene| looks(design, &scene, reading, &causes))
    });
    let looked: Vec<Option<Looks>> = looked.collect();
    let settings = settings(check, &looked, &causes);
    let found = drawn(&settings, &causes);
    let sure = Share { of_dials: 1.0, plus_minus: 0.0 };
    let mut readings: Vec<Vec<Share>> = Vec::new();
    let mut misreads = false;
    for (reading, looks) in check.readings.iter().zip(&looked) {
        let all = looks.iter().flat_map(|looks| looks.all.iter().map(|look| looks.cases.get(look.case)));
        let wrong = all.map(|case| case.is_none_or(Option::is_none));
        let shares: Vec<Share> =
            wrong.map(|wrong| if wrong { Share { of_dials: 0.0, ..sure } } else { sure }).collect();
        misreads |= shares.iter().any(|share| share.of_dials <= 0.0) || shares.len() < reading.stops.len();
        readings.push(shares);
    }
    for ((reading, stop), share) in found.parts {
        if let Some(place) = readings.get_mut(reading).and_then(|stops| stops.get_mut(stop)) {
            *place = share;
        }
    }
    let worst = worst(&readings);
    let share = if misreads { Share { of_dials: 0.0, ..sure } } else { found.dial };
    Yields { dial: worst.map(|worst| DialYield { share, worst, matters_most: None }), readings }
}

fn worst(readings: &[Vec<Share>]) -> Option<WorstStop> {
    let all = readings.iter().enumerate().flat_map(|(reading, stops)| {
        stops.iter().enumerate().map(move |(stop, share)| WorstStop { reading, stop, share: *share })
    });
    all.min_by(|a, b| a.share.of_dials.total_cmp(&b.share.of_dials))
}

/// Every way to set the dial, with all readings that cross the same turns in it.
fn settings<'a>(check: &'a ReadingCheck, looked: &'a [Option<Looks>], causes: &Causes) -> Vec<Setting<'a>> {
    let mut all = Vec::new();
    let mut known: Vec<&[usize]> = Vec::new();
    for reading in &check.readings {
        if known.contains(&reading.turns.as_slice()) {
            continue;
        }
        known.push(&reading.turns);
        all.extend((0..reading.stops.len()).filter_map(|stop| {
            let readings = check.readings.iter().zip(looked).enumerate();
            let same = readings.filter(|(_, (other, _))| other.turns == reading.turns);
            let looks = same.filter_map(|(at, (_, looks))| {
                let looks = looks.as_ref()?;
                Some(((at, stop), looks, looks.all.get(stop)?))
            });
            Setting::of(&reading.turns, looks, causes)
        }));
    }
    all
}
