//! Stops that nobody can tell apart, since every reading shows the same at both.

use std::collections::BTreeMap;

use super::CheckedReading;
use super::findings as say;
use crate::audit::fit::in_words;
use crate::design::Design;
use crate::design::pose::{combination_count, combinations};
use crate::diagnostics::Problems;
use crate::limits::COMBINATIONS;
use crate::units::Angle;

/// Pushes what is said of the first two combinations of stops that read alike.
pub(super) fn report(design: &Design, readings: &[CheckedReading], problems: &mut Problems) {
    // What a reading was refused for, or a label that is due at several stops for want of labels, is said already.
    let short = |checked: &CheckedReading| {
        let labels = design.ring(&checked.ring).map_or(0, |(_, ring)| ring.labels.len());
        checked.turns.len() == 1 && labels != checked.stops.len()
    };
    // Who states what every opening shows means it so.
    let stated = !design.readings.is_empty() && design.readings.iter().all(|reading| reading.stated);
    if stated || readings.len() != design.readings.len() || readings.iter().any(short) {
        return;
    }
    let mut turns: Vec<usize> = readings.iter().flat_map(|checked| checked.turns.iter().copied()).collect();
    turns.sort_unstable();
    turns.dedup();
    if turns.is_empty() || combination_count(design, &turns) > COMBINATIONS {
        return;
    }
    let mut known: BTreeMap<Vec<String>, Vec<usize>> = BTreeMap::new();
    for stops in combinations(design, &turns) {
        let Some(told) = readings.iter().map(|checked| told(design, checked, &turns, &stops)).collect() else { return };
        if let Some(before) = known.get(&told) {
            push(design, readings, &turns, (before, &stops), problems);
            return;
        }
        known.insert(told, stops);
    }
}

/// What a reading tells at a combination of stops: the words of a label, or which picture it is.
fn told(design: &Design, checked: &CheckedReading, turns: &[usize], stops: &[usize]) -> Option<String> {
    let at = |turn: &usize| turns.iter().position(|own| own == turn).and_then(|at| stops.get(at)).copied();
    // Combinations are in order, the last turn running fastest.
    let index = checked.turns.iter().try_fold(0, |index, turn| {
        let count = design.turns().nth(*turn)?.1.stops.len();
        Some(index * count + at(turn)?)
    })?;
    let stop = checked.stops.get(index)?;
    let (_, ring) = design.ring(&checked.ring)?;
    let is_lettering = ring.labels.get(stop.due)?.up.is_some();
    Some(if is_lettering { stop.due_says.clone() } else { format!("picture {}", stop.due) })
}

fn push(
    design: &Design,
    readings: &[CheckedReading],
    turns: &[usize],
    (one, other): (&[usize], &[usize]),
    problems: &mut Problems,
) {
    let words = |stops: &[usize]| {
        let bearing = |(turn, stop): (&usize, &usize)| design.turns().nth(*turn)?.1.stops.get(*stop).copied();
        let bearings: Vec<Angle> = turns.iter().zip(stops).filter_map(bearing).collect();
        in_words(stops, &bearings)
    };
    let says = readings.iter().filter_map(|checked| told(design, checked, turns, one));
    let says: Vec<String> = says.map(|says| format!("`{says}`")).collect();
    let first = readings.first().and_then(|checked| design.ring(&checked.ring));
    if let Some((_, ring)) = first {
        problems.push(say::stops_alike(ring, &says.join(" and "), &words(one), &words(other)));
    }
}
