//! A build rehearsed before anything is burnt: what its files make, read back from the files alone.
//!
//! This is translation validation (Pnueli, Siegel and Singerman, "Translation validation", TACAS 1998): a second path from what was
//! written to what it comes to, which shares nothing with the plan, the outputs or the exact geometry. It reads `operations.json`
//! and the drawings, whoever wrote or edited them, burns every board in pixels, takes out the parts, puts the dials together and
//! turns them. Drawing and list must agree with each other, and what comes of them with what the list says was meant.

mod board;
mod dial;
mod drawing;
mod ends;
mod laid;
mod list;
mod meant;
mod part;
mod picture;
mod play;
mod prints;
mod raster;
mod remark;
mod slot;
mod sums;
mod walls;
mod webs;

use std::collections::BTreeMap;
use std::num::NonZeroUsize;

pub use dial::{Reads, Stop};
pub use meant::{Meant, MeantKind, MeantLayer, MeantOther, MeantReading, MeantWork, meant};
pub use remark::{Kind, Remark};
pub use slot::InSlot;
pub use walls::Left;

use crate::parallel;
use dial::Stack;
use list::{Board, Design, Face, List, Part};
use part::Made;
use remark::Remarks;

/// Stops of a reading that are drawn.
const STOPS_DRAWN: usize = 120;

/// What a folder of outputs will make.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rehearsal {
    /// The dial's title.
    pub dial: String,
    /// Parts that were burnt.
    pub parts: usize,
    /// Dials that could be put together.
    pub dials: usize,
    /// Everything that is amiss, in order of boards, parts and dials.
    pub remarks: Vec<Remark>,
    /// Every stop of every reading of each dial that was looked at.
    pub stops: Vec<Stop>,
    /// What is left of the parts of each layer, its weakest places.
    pub left: Vec<Left>,
    /// The room in their slots of the dials that were looked at.
    pub slots: Vec<InSlot>,
    /// Whether the list says what was meant; lists of version 1 do not.
    pub says_what_was_meant: bool,
    /// Both faces of the parts of the first dial and of every part that is amiss, and that dial at every stop: a PNG, where one was
    /// asked for.
    pub picture: Option<Vec<u8>>,
}

/// The files of a build, as they were read.
#[derive(Clone, Debug, Default)]
pub struct Folder {
    /// `operations.json`.
    pub list: String,
    /// The other files by name.
    pub drawings: BTreeMap<String, Vec<u8>>,
}

/// Rehearses a folder on so many threads; with a picture of what is made where one is wanted.
///
/// # Errors
/// Why its list cannot be read, or the picture not be drawn, in words.
pub fn rehearse(folder: &Folder, threads: NonZeroUsize, with_picture: bool) -> Result<Rehearsal, String> {
    let list = list::read(&folder.list)?;
    let mut remarks = Remarks::default();
    for (number, board) in (1..).zip(&list.boards) {
        board::look_over(board, number, &list.designs, &mut remarks);
    }
    drawings(&list, folder, threads, &mut remarks);
    play::look_over(&list, threads, &mut remarks);
    let sheets = prints::sheets(&list, folder, &mut remarks);
    let (made, left) = burnt(&list, &sheets, threads, &mut remarks);
    counts(&list, &mut remarks);
    sums::look_over(&list, &mut remarks);
    let (dials, stops, slots) = turned(&list, &made, &mut remarks);
    let picture = if with_picture { Some(pictured(&list, &made, &remarks)?) } else { None };
    Ok(Rehearsal {
        picture,
        dial: list.dial,
        parts: made.len(),
        dials,
        remarks: remarks.0,
        stops,
        left,
        slots,
        says_what_was_meant: !list.designs.is_empty(),
    })
}

/// Holds every drawing against the list.
fn drawings(list: &List, folder: &Folder, threads: NonZeroUsize, remarks: &mut Remarks) {
    let setups = list.boards.iter().enumerate().flat_map(|(board, it)| (0..it.setups.len()).map(move |at| (board, at)));
    let setups: Vec<(usize, usize)> = setups.collect();
    let with_works =
        folder.drawings.keys().any(|name| drawing::GROUPS.iter().any(|it| name.ends_with(&format!("-{it}.svg"))));
    let look = |(board, setup): &(usize, usize)| {
        let mut found = Remarks::default();
        let place = format!("board {}, setup {}", board + 1, setup + 1);
        let name = format!("board-{}-setup-{}.svg", board + 1, setup + 1);
        let on = list.boards.get(*board);
        match (folder.drawings.get(&name), on.and_then(|board| Some((board, board.setups.get(*setup)?)))) {
            (Some(svg), Some((board, setup))) => drawing::compare(board, &setup.operations, svg, &place, &mut found),
            _ => found.push(Kind::Drawing, &place, format!("there is no drawing `{name}`")),
        }
        if let Some((board, setup)) = on.and_then(|board| Some((board, board.setups.get(*setup)?))) {
            by_work(board, &setup.operations, (folder, &name), (&place, with_works), &mut found);
        }
        found.0
    };
    remarks.0.extend(in_order(&setups, threads, look).into_iter().flatten());
    let wanted = |name: &str| {
        setups.iter().any(|(board, setup)| {
            let whole = format!("board-{}-setup-{}.svg", board + 1, setup + 1);
            name == whole || drawing::GROUPS.iter().any(|group| name == of_work(&whole, group))
        })
    };
    for name in folder
        .drawings
        .keys()
        .filter(|name| name.starts_with("board-") && !wanted(name) && !prints::is_listed(list, name))
    {
        remarks.push(Kind::Drawing, name, "the list knows of no such setup");
    }
}

/// What the drawing of one kind of work is called, beside that of the whole setup.
fn of_work(whole: &str, group: &str) -> String {
    format!("{}-{group}.svg", whole.trim_end_matches(".svg"))
}

/// Holds the drawings of single kinds of work against the list; one that lacks is told where there are any.
fn by_work(
    board: &Board,
    operations: &[list::Operation],
    (folder, whole): (&Folder, &str),
    (place, with_works): (&str, bool),
    remarks: &mut Remarks,
) {
    for group in drawing::GROUPS {
        let name = of_work(whole, group);
        let there = drawing::has_work(operations, group);
        match folder.drawings.get(&name) {
            Some(svg) if there => drawing::compare_work(board, (operations, group), svg, &name, remarks),
            Some(_) => remarks.push(Kind::Drawing, &name, "the list has no such work in this setup"),
            None if there && with_works => {
                remarks.push(Kind::Drawing, place, format!("there is no drawing `{name}`, and other works have one"));
            }
            None => {}
        }
    }
}

/// Burns every part, and compares it with what was meant.
fn burnt(
    list: &List,
    sheets: &[prints::Sheet],
    threads: NonZeroUsize,
    remarks: &mut Remarks,
) -> (Vec<Made>, Vec<Left>) {
    let boards = list.boards.iter().enumerate();
    let parts: Vec<(usize, &Board, &Part)> =
        boards.flat_map(|(at, board)| board.parts.iter().map(move |part| (at, board, part))).collect();
    let layers: Vec<&list::Layer> = list.designs.iter().flat_map(|design| &design.layers).collect();
    let meant = in_order(&layers, threads, |layer| part::meant(layer));
    layers.iter().for_each(|layer| part::rims(layer, remarks));
    // The layer of a part, its place in the stack, and the layer as it was meant.
    let of = |part: &Part| {
        let design = list.designs.get(part.design)?;
        let at = design.layers.iter().position(|layer| layer.layer == part.layer)?;
        let before: usize = list.designs.iter().take(part.design).map(|design| design.layers.len()).sum();
        Some((design, design.layers.get(at)?, at, meant.get(before + at)?.as_ref()?))
    };
    let work = |(at, board, part): &(usize, &Board, &Part)| {
        let mut found = Remarks::default();
        let known = of(part);
        let made = part::burn(board, part, known.map_or(0, |it| it.2), known.map(|it| it.3));
        let mut left = None;
        if let Some(made) = &made {
            part::overlaps(board, made, part, &mut found);
            if let Some((design, layer, _, meant)) = known {
                left = Some(part::compare(made, meant, layer, &design.magnets, &mut found));
                prints::compare(sheets, (*at, board, part), made, layer, &mut found);
            }
        }
        (made, left, found.0)
    };
    let (mut all, mut weakest) = (Vec::new(), BTreeMap::new());
    for (made, left, found) in in_order(&parts, threads, work) {
        if let Some((made, left)) = made.as_ref().zip(left) {
            weakest.entry((made.design, made.layer)).and_modify(|known: &mut Left| known.and(&left)).or_insert(left);
        }
        all.extend(made);
        remarks.0.extend(found);
    }
    (all, weakest.into_values().collect())
}

/// Whether every dial of the run has each of its parts once.
fn counts(list: &List, remarks: &mut Remarks) {
    for (at, design) in list.designs.iter().enumerate() {
        for (layer, dial) in
            design.layers.iter().flat_map(|it| (1..=design.dials + design.spares).map(move |dial| (it, dial)))
        {
            let parts = list.boards.iter().flat_map(|board| &board.parts);
            let count = parts.filter(|it| it.design == at && it.layer == layer.layer && it.dial == dial).count();
            if count != 1 {
                let place = format!("dial {dial}");
                remarks.push(Kind::Count, &place, format!("it has {count} parts of layer `{}`", layer.layer));
            }
        }
    }
    if list.designs.is_empty() && list.dials + list.spares == 0 {
        remarks.push(Kind::Count, "the run", "no dial is made");
    }
}

/// Puts the dials together and turns them: the first of each design, and every other one that has a part amiss.
fn turned(list: &List, made: &[Made], remarks: &mut Remarks) -> (usize, Vec<Stop>, Vec<InSlot>) {
    let (mut count, mut stops, mut slots) = (0, Vec::new(), Vec::new());
    for (at, design) in list.designs.iter().enumerate() {
        let mut looked = false;
        for dial in 1..=design.dials + design.spares {
            let parts: Vec<&Made> = made.iter().filter(|it| it.design == at && it.dial == dial).collect();
            let amiss = parts.iter().any(|it| remarks.0.iter().any(|remark| remark.place.starts_with(&it.name)));
            let Some(stack) = Stack::of(design, parts) else { continue };
            count += 1;
            if looked && !amiss {
                continue;
            }
            looked = true;
            let (read, slot) = look_at(design, dial, &stack, remarks);
            stops.extend(read);
            slots.extend(slot);
        }
    }
    (count, stops, slots)
}

fn look_at(design: &Design, dial: u32, stack: &Stack, remarks: &mut Remarks) -> (Vec<Stop>, Option<InSlot>) {
    let named =
        design.variant.as_ref().map_or_else(|| design.dial.clone(), |variant| format!("{}, {variant}", design.dial));
    let place = format!("{named}, dial {dial}");
    stack.poles(&place, remarks);
    stack.rivets(&place, remarks);
    stack.wheels(&place, remarks);
    stack.ends(&place, remarks);
    let stops = stack.read();
    for stop in &stops {
        let told_wrong = stop.reads == Reads::Right && !stop.said;
        if told_wrong || stop.reads == Reads::Wrong {
            let numbers: Vec<String> = stop.at.iter().map(|at| (at + 1).to_string()).collect();
            let shows =
                if stop.others.is_empty() { String::new() } else { format!("; also seen: {}", stop.others.join(", ")) };
            let says = if told_wrong {
                format!(
                    "stop {} of ring `{}` reads `{}` right, and the list says that it does not",
                    numbers.join("/"),
                    stop.ring,
                    stop.due
                )
            } else {
                format!(
                    "stop {} of ring `{}` does not read `{}`: {:.0} % of it is covered{shows}",
                    numbers.join("/"),
                    stop.ring,
                    stop.due,
                    stop.covered * 100.0
                )
            };
            remarks.push(Kind::Reading, &place, says);
        }
    }
    (stops, slot::fit(stack, &place, remarks))
}

/// The picture of what was made.
fn pictured(list: &List, made: &[Made], remarks: &Remarks) -> Result<Vec<u8>, String> {
    let first = |it: &&Made| {
        let amiss = remarks.0.iter().any(|remark| remark.place.starts_with(&it.name));
        amiss || made.iter().find(|other| other.design == it.design).is_some_and(|other| other.dial == it.dial)
    };
    let stacks: Vec<(&Design, Stack)> = list
        .designs
        .iter()
        .enumerate()
        .filter_map(|(at, design)| {
            let dial = made.iter().find(|it| it.design == at)?.dial;
            let parts = made.iter().filter(|it| it.design == at && it.dial == dial).collect();
            Some((design, Stack::of(design, parts)?))
        })
        .collect();
    let mut tiles = Vec::new();
    for it in made.iter().filter(first) {
        let layer = list.designs.get(it.design).and_then(|design| design.layers.get(it.layer));
        tiles.extend(layer.into_iter().flat_map(|layer| picture::faces(it, layer)));
    }
    for (design, stack) in &stacks {
        // Of readings that look at the same turns from one side one picture a stop does for all.
        let mut seen: Vec<(&[usize], Face)> = Vec::new();
        for reading in &design.readings {
            let side = reading.side.unwrap_or(Face::Front);
            if seen.contains(&(reading.turns.as_slice(), side)) {
                continue;
            }
            seen.push((&reading.turns, side));
            for due in reading.stops.iter().take(STOPS_DRAWN) {
                let caption = format!("{} reads {}", reading.ring, due.says);
                tiles.push(picture::at_stop(stack, design, (&reading.turns, &due.at), side, caption));
            }
        }
    }
    picture::png(&tiles)
}

/// Results in the order of the items.
fn in_order<T: Sync, R: Send>(items: &[T], threads: NonZeroUsize, work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let mut found: Vec<Option<R>> = items.iter().map(|_| None).collect();
    parallel::each(items, threads, work, |at, result| {
        if let Some(place) = found.get_mut(at) {
            *place = Some(result);
        }
    });
    found.into_iter().flatten().collect()
}
