//! Stops that nobody can tell apart, since every reading shows the same at both.

use std::collections::BTreeMap;

use super::findings as say;
use super::twins::Upright;
use super::{CheckedReading, CheckedStop};
use crate::audit::fit::in_words;
use crate::design::pose::{combination_count, combinations};
use crate::design::{Design, Label, Ring};
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
    let looks: Vec<Vec<usize>> = readings
        .iter()
        .map(|checked| design.ring(&checked.ring).map_or_else(Vec::new, |(_, ring)| looks(ring)))
        .collect();
    let mut known: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
    for stops in combinations(design, &turns) {
        let told = readings.iter().zip(&looks).map(|(checked, looks)| {
            let due = due(design, checked, &turns, &stops)?.due;
            looks.get(due).copied()
        });
        let Some(told) = told.collect() else { return };
        if let Some(before) = known.get(&told) {
            push(design, readings, &turns, (before, &stops), problems);
            return;
        }
        known.insert(told, stops);
    }
}

/// Of each label of a ring the first that looks as it does: the same words, or the same outlines, filled alike.
fn looks(ring: &Ring) -> Vec<usize> {
    let areas: Vec<f64> = ring.labels.iter().map(|label| label.ink.area()).collect();
    let drawn_alike = |one: &Label, other: &Label| {
        Upright::of(one).zip(Upright::of(other)).is_some_and(|(one, other)| one.is_drawn_as(&other, ring, false))
    };
    let same = |(one, area): (&Label, &f64), (other, its): (&Label, &f64)| {
        let lettering = one.up.is_some() && other.up.is_some();
        // Pictures of two names are meant to differ, and are not looked at.
        let (words, named) = (lettering && one.says == other.says, lettering || one.says == other.says);
        let near = (area - its).abs() < 1e-3 * area;
        one.filled == other.filled && (words || named && near && drawn_alike(one, other))
    };
    let labels = || ring.labels.iter().zip(&areas);
    labels().enumerate().map(|(at, one)| labels().position(|other| same(one, other)).unwrap_or(at)).collect()
}

/// What is due at a combination of stops.
fn due<'c>(design: &Design, checked: &'c CheckedReading, turns: &[usize], stops: &[usize]) -> Option<&'c CheckedStop> {
    let at = |turn: &usize| turns.iter().position(|own| own == turn).and_then(|at| stops.get(at)).copied();
    // Combinations are in order, the last turn running fastest.
    let index = checked.turns.iter().try_fold(0, |index, turn| {
        let count = design.turns().nth(*turn)?.1.stops.len();
        Some(index * count + at(turn)?)
    })?;
    checked.stops.get(index)
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
    let says = |stops: &[usize]| {
        let due = readings.iter().filter_map(|checked| due(design, checked, turns, stops));
        due.map(|stop| format!("`{}`", stop.due_says)).collect::<Vec<_>>().join(" and ")
    };
    let first = readings.first().and_then(|checked| design.ring(&checked.ring));
    if let Some((_, ring)) = first {
        problems.push(say::stops_alike(ring, (&says(one), &words(one)), (&says(other), &words(other))));
    }
}
