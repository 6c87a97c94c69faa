//! What differs on the layers: outlines, marks, rings.

use super::figures::{bearings, optional};
use super::pairs::{Pair, paired};
use super::shapes::{centre, different, place, region, same_shape, shape, size};
use super::{Changes, Detail, How, Topic};
use crate::design::{Centring, Depth, Design, Face, FlipChoice, Ink, Layer, Mark, Ring, Shape, Work, hex};
use crate::geometry::Region;
use crate::plan::face_name;
use crate::units::{mm, plain, typed_percent};

/// The layers of both designs: which there are, in what order, and what is on each.
pub(super) fn layers(
    all: &mut Changes,
    (old, old_centring): (&Design, &Centring),
    (new, new_centring): (&Design, &Centring),
) {
    // A layer without its former name is the same layer where all that is on it is the same. Else one is gone and
    // another came: any nearer likeness would be a guess.
    let same = |old: &Layer, new: &Layer| {
        old.stock.name == new.stock.name && old.outline.is_as(&new.outline) && same_content(old, new)
    };
    let mut both: Vec<(&Layer, &Layer)> = Vec::new();
    let (mut gone, mut come): (Vec<&Layer>, Vec<&Layer>) = (Vec::new(), Vec::new());
    for pair in paired(&old.layers, &new.layers, |layer| layer.name.clone(), same) {
        match pair {
            Pair::Both(old, new) => both.push((old, new)),
            Pair::Renamed(old, new) => {
                all.rename(Topic::Layer, &old.name, &new.name);
                both.push((old, new));
            }
            Pair::Gone(layer) => gone.push(layer),
            Pair::Come(layer) => come.push(layer),
        }
    }
    gone.iter().for_each(|layer| all.push(Topic::Layer, How::Removed, named(layer), describe_layer(layer, true)));
    come.iter().for_each(|layer| all.push(Topic::Layer, How::Added, named(layer), describe_layer(layer, false)));
    order(all, old, new);
    for (old, new) in both {
        let flips = (flip(old, old_centring), flip(new, new_centring));
        layer(all, old, new, flips);
    }
}

fn named(layer: &Layer) -> String {
    format!("`{}`", layer.name)
}

fn describe_layer(layer: &Layer, gone: bool) -> Vec<Detail> {
    let words = format!("of {}, {}", layer.stock.name, size(layer.outline.bounds()));
    let (old, new) = if gone { (words.as_str(), "") } else { ("", words.as_str()) };
    vec![Detail::new("layer", old, new).described_as(words.clone())]
}

/// The order of the layers that both have.
fn order(all: &mut Changes, old: &Design, new: &Design) {
    let before: Vec<&str> = old.layers.iter().map(|layer| all.now(&layer.name)).collect();
    let after: Vec<&str> = new.layers.iter().map(|layer| layer.name.as_str()).collect();
    let kept = |names: &[&str], others: &[&str]| -> Vec<String> {
        names.iter().filter(|name| others.contains(name)).map(ToString::to_string).collect()
    };
    let (kept_before, kept_after) = (kept(&before, &after), kept(&after, &before));
    let detail = different("order", kept_before.join(", "), kept_after.join(", "));
    all.changed(Topic::Stack, "", detail.into_iter().collect());
}

/// Whether two layers have the same marks and rings, whatever they are called.
fn same_content(old: &Layer, new: &Layer) -> bool {
    let same_ring = |(old, new): (&Ring, &Ring)| ring_details(old, new).is_empty();
    old.marks.len() == new.marks.len()
        && old.rings.len() == new.rings.len()
        && old.marks.iter().all(|mark| new.marks.iter().any(|other| same_mark(mark, other)))
        && old.rings.iter().zip(&new.rings).all(same_ring)
}

fn layer(all: &mut Changes, old: &Layer, new: &Layer, flips: (String, String)) {
    let mut details: Vec<Detail> = Vec::new();
    details.extend(different("stock", all.now(&old.stock.name), new.stock.name.as_str()));
    details.extend(different("flip", flips.0, flips.1));
    details.extend(different("order of work", waits(old), waits(new)));
    details.extend(different("grain", optional(old.grain), optional(new.grain)));
    let witness = |layer: &Layer| optional(layer.witness.map(|(at, _)| at));
    details.extend(different("witness", witness(old), witness(new)));
    details.extend(different("finish", finish(old), finish(new)));
    all.changed(Topic::Layer, named(new), details);
    all.changed(Topic::Outline, format!("of `{}`", new.name), region(&old.outline, &new.outline));
    marks(all, old, new);
    rings(all, old, new);
}

fn flip(layer: &Layer, centring: &Centring) -> String {
    match layer.flip {
        _ if centring.turns_board_of(layer).is_some() => "with the board".to_owned(),
        FlipChoice::Chosen => "as the plan chooses".to_owned(),
        FlipChoice::About(bearing, _) => format!("about {}deg", plain(bearing.as_degrees(), 3)),
        FlipChoice::Board(_) => "with the board".to_owned(),
        FlipChoice::Holder(_) => "into a holder".to_owned(),
    }
}

fn waits(layer: &Layer) -> String {
    let words = layer.waits.iter().map(|wait| match &wait.name {
        Some(name) => format!("`{name}` after `{}`", wait.after),
        None => format!("something after `{}`", wait.after),
    });
    words.collect::<Vec<String>>().join(", ")
}

/// How a layer is finished, by what comes of it.
fn finish(layer: &Layer) -> String {
    layer.finish.as_ref().map_or_else(String::new, |finish| {
        let stain = finish.stain.map(|stain| format!("stained {}", hex(stain)));
        let when = if finish.after { "after cutting" } else { "before cutting" };
        let fill = finish.fill.map(|fill| format!("filled {}", hex(fill)));
        let cost = finish.cost.map(|cost| format!("{} a layer", plain(cost, 4)));
        let stain = stain.map(|stain| format!("{stain} {when}"));
        let words: Vec<String> = [stain, fill, cost].into_iter().flatten().collect();
        words.join(", ")
    })
}

/// The marks of a layer: those of one name, then those with the same content, then the unnamed ones of one kind that
/// lie nearest to each other.
fn marks(all: &mut Changes, old: &Layer, new: &Layer) {
    let mut gone: Vec<&Mark> = old.marks.iter().collect();
    let mut come: Vec<&Mark> = new.marks.iter().collect();
    let now = all.renamed.clone();
    let same_name = |old: &Mark, new: &Mark| {
        let name = old.name.as_ref().map(|name| now.get(name).unwrap_or(name));
        name.is_some() && name == new.name.as_ref()
    };
    let unnamed = |old: &Mark, new: &Mark| old.name.is_none() && new.name.is_none();
    // From the surest to the most doubtful: each step only sees what those before it left over.
    let mut both = take(&mut gone, &mut come, same_name);
    // The same mark may still lie over a floor of another thickness.
    both.extend(take(&mut gone, &mut come, |old, new| unnamed(old, new) && same_mark(old, new)));
    for (one, other) in take(&mut gone, &mut come, same_mark) {
        renamed(all, (one, old), (other, new));
    }
    both.extend(take(&mut gone, &mut come, |old, new| {
        unnamed(old, new) && topic(old) == topic(new) && same_shape(&old.shape, &new.shape)
    }));
    both.extend(take_nearest(&mut gone, &mut come, |old, new| {
        unnamed(old, new) && kind(old) == kind(new) && old.face == new.face
    }));
    let changed = both.into_iter().map(|(one, other)| (How::Changed, other, mark_details(one, other, (old, new))));
    let removed = gone.into_iter().map(|mark| (How::Removed, mark, describe_mark(mark, old, true)));
    let added = come.into_iter().map(|mark| (How::Added, mark, describe_mark(mark, new, false)));
    let told = changed.chain(removed).chain(added).filter(|(_, _, details)| !details.is_empty());
    alike(all, told.collect(), &new.name);
}

/// Tells changes of marks; unnamed ones of one kind on one face to which the same happened together.
fn alike(all: &mut Changes, told: Vec<(How, &Mark, Vec<Detail>)>, layer: &str) {
    let mut groups: Vec<(How, &Mark, Vec<Detail>, usize)> = Vec::new();
    for (how, mark, details) in told {
        let same = |(known, first, other, _): &&mut (How, &Mark, Vec<Detail>, usize)| {
            let unnamed = mark.name.is_none() && first.name.is_none();
            unnamed && *known == how && kind(first) == kind(mark) && first.face == mark.face && *other == details
        };
        match groups.iter_mut().find(same) {
            Some((.., count)) => *count += 1,
            None => groups.push((how, mark, details, 1)),
        }
    }
    for (how, mark, details, count) in groups {
        all.push(topic(mark), how, subject(mark, layer, count), details);
    }
}

/// A mark with another name, with one for the first time, or without one now.
fn renamed(all: &mut Changes, (one, old): (&Mark, &Layer), (other, new): (&Mark, &Layer)) {
    if let (Some(one), Some(other)) = (&one.name, &other.name) {
        all.rename(topic_of_name(new, other), one, other);
        return;
    }
    let name = other.name.as_ref();
    let told = name.map_or("now without a name".to_owned(), |name| format!("now called `{name}`"));
    let detail = Detail::new("name", optional(one.name.clone()), optional(name)).described_as(told);
    all.push(topic(other), How::Renamed, subject(one, &old.name, 1), vec![detail]);
}

fn topic_of_name(layer: &Layer, name: &str) -> Topic {
    layer.marks.iter().find(|mark| mark.name.as_deref() == Some(name)).map_or(Topic::Mark, topic)
}

/// Takes the pairs that fit out of both lists.
fn take<'a>(
    old: &mut Vec<&'a Mark>,
    new: &mut Vec<&'a Mark>,
    fits: impl Fn(&Mark, &Mark) -> bool,
) -> Vec<(&'a Mark, &'a Mark)> {
    let mut pairs = Vec::new();
    old.retain(|one| {
        let found = new.iter().position(|other| fits(one, other));
        pairs.extend(found.map(|at| (*one, new.remove(at))));
        found.is_none()
    });
    pairs
}

/// Takes the pairs that fit, those first whose centres lie nearest.
fn take_nearest<'a>(
    old: &mut Vec<&'a Mark>,
    new: &mut Vec<&'a Mark>,
    fits: impl Fn(&Mark, &Mark) -> bool,
) -> Vec<(&'a Mark, &'a Mark)> {
    let mut pairs = Vec::new();
    loop {
        let apart = |one: &Mark, other: &Mark| centre(&one.shape).distance(centre(&other.shape));
        let all = old
            .iter()
            .enumerate()
            .flat_map(|(i, one)| new.iter().enumerate().map(move |(j, other)| (i, j, *one, *other)));
        let fitting = all.filter(|(_, _, one, other)| fits(one, other));
        let nearest = fitting.min_by(|a, b| apart(a.2, a.3).total_cmp(&apart(b.2, b.3)));
        let Some((i, j, one, other)) = nearest else { return pairs };
        pairs.push((one, other));
        old.remove(i);
        new.remove(j);
    }
}

fn topic(mark: &Mark) -> Topic {
    match mark.work {
        Work::Window | Work::Hole | Work::Bare | Work::Pocket { depth: Depth::Through } => Topic::Opening,
        Work::Pocket { .. } => Topic::Pocket,
        Work::Engrave { .. } | Work::Score | Work::Paint { .. } | Work::Print { .. } => Topic::Mark,
    }
}

/// What is done, in a word.
fn kind(mark: &Mark) -> &'static str {
    match mark.work {
        Work::Window => "window",
        Work::Hole => "hole",
        Work::Bare => "bare patch",
        Work::Pocket { depth: Depth::Through } => "pocket right through",
        Work::Pocket { .. } => "pocket",
        Work::Engrave { .. } => "engraving",
        Work::Score => "scoring",
        Work::Paint { .. } => "paint",
        Work::Print { .. } => "print",
    }
}

/// How a mark is spoken of: by its name, or by its kind, face and place; so many together.
fn subject(mark: &Mark, layer: &str, count: usize) -> String {
    if let Some(name) = &mark.name {
        return format!("`{name}` of `{layer}`");
    }
    let what = match (topic(mark), count) {
        (Topic::Pocket, 1) => String::new(),
        (Topic::Pocket, count) => format!("({count} alike) "),
        (_, 1) => format!("({}) ", kind(mark)),
        (_, count) => format!("({}, {count} alike) ", kind(mark)),
    };
    let face = if topic(mark) == Topic::Opening { "of" } else { face_of(mark) };
    let at = if count == 1 { "at" } else { "the first at" };
    format!("{what}{face} `{layer}` {at} {}", place(centre(&mark.shape)))
}

fn face_of(mark: &Mark) -> &'static str {
    match mark.face {
        Face::Front => "on the front of",
        Face::Back => "on the back of",
    }
}

/// What is done, with its figures; an empty text for one that is not given.
fn work(mark: &Mark) -> Vec<(&'static str, String)> {
    let mut figures = vec![("work", kind(mark).to_owned())];
    if topic(mark) != Topic::Opening {
        figures.push(("face", face_name(mark.face).to_owned()));
    }
    let (depth, tone, ink, paint) = match &mark.work {
        Work::Engrave { tone, depth, ink } => {
            let named = optional(ink.as_ref().map(|ink| &ink.name));
            let colour = ink.as_ref().and_then(|ink| ink.colour).map(hex).unwrap_or_default();
            (optional(*depth), typed_percent(*tone, 2), named, colour)
        }
        Work::Pocket { depth: Depth::Down(depth) } => {
            (depth.asked().to_string(), String::new(), String::new(), String::new())
        }
        Work::Paint { colour: paint } | Work::Print { colour: paint } => {
            (String::new(), String::new(), String::new(), hex(*paint))
        }
        _ => Default::default(),
    };
    figures.extend([("depth", depth), ("tone", tone), ("ink", ink), ("colour", paint)]);
    figures
}

fn same_mark(old: &Mark, new: &Mark) -> bool {
    work(old) == work(new) && same_shape(&old.shape, &new.shape)
}

/// What is left under a pocket, in mm.
fn floor(mark: &Mark, layer: &Layer) -> String {
    match mark.work {
        Work::Pocket { depth: Depth::Down(depth) } => mm((layer.stock.thickness.mean - depth.made()).as_mm()),
        _ => String::new(),
    }
}

fn mark_details(old: &Mark, new: &Mark, (old_layer, new_layer): (&Layer, &Layer)) -> Vec<Detail> {
    let (before, after) = (work(old), work(new));
    let mut details: Vec<Detail> = Vec::new();
    for (what, value) in &before {
        let now = after.iter().find(|(other, _)| other == what).map(|(_, value)| value.as_str());
        // What goes right through has no face.
        if *what != "face" || now.is_some() {
            details.extend(different(what, value.as_str(), now.unwrap_or_default()));
        }
    }
    // It follows from the stock, and is told all the same: it is true of the new dial, and whoever cuts it must know.
    details.extend(different("floor", floor(old, old_layer), floor(new, new_layer)));
    details.extend(shape(&old.shape, &new.shape));
    details
}

/// A mark that came or went, in figures.
fn describe_mark(mark: &Mark, layer: &Layer, gone: bool) -> Vec<Detail> {
    let mut told: Vec<(&'static str, String)> = work(mark);
    told.push(("floor", floor(mark, layer)));
    match &mark.shape {
        Shape::Region(region) => told.push(("size", size(region.bounds()))),
        Shape::Trace(trace) => told.push(("length", mm(trace.length()))),
    }
    let named = told.into_iter().filter(|(what, value)| !value.is_empty() && (mark.name.is_some() || *what != "work"));
    named
        .map(|(what, value)| {
            let words = format!("{what} {value}");
            let (old, new) = if gone { (value, String::new()) } else { (String::new(), value) };
            Detail::new(what, old, new).described_as(words)
        })
        .collect()
}

fn rings(all: &mut Changes, old: &Layer, new: &Layer) {
    let same = |old: &Ring, new: &Ring| ring_details(old, new).is_empty();
    let of = |ring: &Ring| format!("`{}` of `{}`", ring.name, new.name);
    for pair in paired(&old.rings, &new.rings, |ring| ring.name.clone(), same) {
        match pair {
            Pair::Both(old, new) => all.changed(Topic::Ring, of(new), ring_details(old, new)),
            Pair::Renamed(old, new) => all.rename(Topic::Ring, &old.name, &new.name),
            Pair::Gone(ring) => all.push(Topic::Ring, How::Removed, of(ring), describe_ring(ring, true)),
            Pair::Come(ring) => all.push(Topic::Ring, How::Added, of(ring), describe_ring(ring, false)),
        }
    }
}

/// The labels with a line under them.
fn underlined(ring: &Ring) -> String {
    let lined = ring.labels.iter().filter(|label| label.underlined).map(|label| label.says.as_str());
    lined.collect::<Vec<_>>().join(", ")
}

fn labels(ring: &Ring) -> String {
    let says: Vec<&str> = ring.labels.iter().map(|label| label.says.as_str()).collect();
    says.join(", ")
}

fn describe_ring(ring: &Ring, gone: bool) -> Vec<Detail> {
    let (old, new) = if gone { (labels(ring), String::new()) } else { (String::new(), labels(ring)) };
    vec![Detail::new("labels", old, new).described_as(format!("labels {}", labels(ring)))]
}

fn ring_details(old: &Ring, new: &Ring) -> Vec<Detail> {
    let along = |ring: &Ring| bearings(&ring.labels.iter().map(|label| label.bearing).collect::<Vec<_>>());
    let mut details: Vec<Detail> = Vec::new();
    details.extend(different("face", face_name(old.face), face_name(new.face)));
    details.extend(different("work", old.work.word(), new.work.word()));
    details.extend(different("labels", labels(old), labels(new)));
    details.extend(different("underlined", underlined(old), underlined(new)));
    details.extend(different("bearings", along(old), along(new)));
    details.extend(different("radius", old.radius.to_string(), new.radius.to_string()));
    details.extend(different("height", old.height.to_string(), new.height.to_string()));
    let placed_alike = details.is_empty();
    details.extend(different("tone", typed_percent(old.tone, 2), typed_percent(new.tone, 2)));
    details.extend(different(
        "ink",
        inked(old, |ink| Some(ink.name.clone())),
        inked(new, |ink| Some(ink.name.clone())),
    ));
    let colour = |ink: &Ink| ink.colour.map(hex);
    details.extend(different("colour", inked(old, colour), inked(new, colour)));
    // Elsewhere or of another height, letters are drawn otherwise anyway.
    if placed_alike {
        details.extend(ink(old, new));
    }
    details
}

/// A figure of the ink of a ring, or one for each label where they differ.
fn inked(ring: &Ring, of: impl Fn(&Ink) -> Option<String>) -> String {
    let each = ring.labels.iter().map(|label| label.filled.as_ref().and_then(&of).unwrap_or_default());
    let mut each: Vec<String> = each.collect();
    if each.windows(2).all(|pair| pair.first() == pair.last()) {
        each.truncate(1);
    }
    each.join(", ")
}

/// Labels that say the same at the same places, and are drawn otherwise.
fn ink(old: &Ring, new: &Ring) -> Option<Detail> {
    let pairs = || old.labels.iter().zip(&new.labels);
    let differ = pairs().filter(|(old, new)| !old.ink.is_as(&new.ink)).count();
    if differ == 0 {
        return None;
    }
    let apart = |(old, new): (&Region, &Region)| old.farthest_apart(new).map_or(0.0, |apart| apart.distance);
    let most = pairs().map(|(old, new)| apart((&old.ink, &new.ink))).fold(0.0, f64::max);
    let words = format!("{differ} of {} labels drawn otherwise, edges moved by up to {}", old.labels.len(), mm(most));
    Some(Detail::new("drawing", "", words.as_str()).described_as(words.clone()))
}
