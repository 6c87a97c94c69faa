//! Stains and inks: what goes on before the machine and what after it, and why. Common practice, no source.

use super::super::page::text::{TextRun, marked};
use super::content::Item;
use crate::design::{Design, Finish, Layer, Work, hex};

/// A line for each finish that stains or fills, and for each ink; those before cutting first.
pub(super) fn finishing(design: &Design) -> Vec<Item> {
    let stained = |after: bool| {
        finishes(design).into_iter().filter(move |(finish, _)| finish.stain.is_some() && finish.after == after)
    };
    let before = stained(false).map(|(finish, layers)| stain(finish, &layers));
    let after = stained(true).map(|(finish, layers)| stain(finish, &layers));
    let filled = finishes(design).into_iter().filter_map(|(finish, layers)| fill(finish, &layers));
    let inks = design.layers.iter().flat_map(inks);
    before.chain(after).chain(filled).chain(inks).map(|text| Item::tick(marked(&text))).collect()
}

/// Every finish of the dial with the names of its layers.
fn finishes(design: &Design) -> Vec<(&Finish, Vec<&str>)> {
    let mut all: Vec<(&Finish, Vec<&str>)> = Vec::new();
    for layer in &design.layers {
        let Some(finish) = &layer.finish else { continue };
        match all.iter_mut().find(|(known, _)| known.name == finish.name) {
            Some((_, layers)) => layers.push(&layer.name),
            None => all.push((finish, vec![&layer.name])),
        }
    }
    all
}

fn named(layers: &[&str]) -> String {
    layers.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
}

fn stain(finish: &Finish, layers: &[&str]) -> String {
    let colour = finish.stain.map(hex).unwrap_or_default();
    let layers = named(layers);
    if finish.after {
        format!(
            "After cutting, before gluing: stain {layers} with `{}` ({colour}), engravings and edges too. Glue does not hold on wet stain: let it dry, and keep it out of pockets and off faces to be glued.",
            finish.name
        )
    } else {
        format!(
            "Before cutting: stain the boards for {layers} with `{}` ({colour}) and let them dry, so that the engraving goes through the stain and shows the bare wood's own burnt tone, and no stain runs into it.",
            finish.name
        )
    }
}

fn fill(finish: &Finish, layers: &[&str]) -> Option<String> {
    let colour = hex(finish.fill?);
    Some(format!(
        "After cutting, before gluing: fill the engravings of {} with `{}` ({colour}); wipe across the grain while it is wet, and once more when it has dried. The face is sealed first where it is bare, or the colour creeps along the grain.",
        named(layers),
        finish.name
    ))
}

/// The inks that marks and rings of a layer ask for by themselves.
fn inks(layer: &Layer) -> Vec<String> {
    let of_marks = layer.marks.iter().filter_map(|mark| match &mark.work {
        Work::Engrave { ink: Some(ink), .. } => Some((ink, mark.name.as_ref().map(|name| format!("`{name}`")))),
        _ => None,
    });
    let of_rings = layer
        .rings
        .iter()
        .filter(|ring| !ring.is_printed())
        .flat_map(|ring| ring.inks().into_iter().map(|(ink, labels)| (ink, Some(ring.called(&labels)))));
    let said = of_marks.chain(of_rings).map(|(ink, what)| {
        let what = what.unwrap_or_else(|| "an engraving".to_owned());
        format!(
            "After cutting, before gluing: fill {what} on `{}` with ink `{}`, and wipe the face clean.",
            layer.name, ink.name
        )
    });
    let mut all: Vec<String> = said.collect();
    all.dedup();
    all
}

/// What a finishing section says first.
pub(super) fn order() -> Vec<TextRun> {
    marked("Try every stain and ink on an offcut of the same board, engraved by the same machine.")
}
