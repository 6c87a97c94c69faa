//! What differs in all that is not on a layer: params, joints, the brief, and what follows from everything.

use std::collections::BTreeMap;

use super::figures::{bearings, details, drawing, fittings, length, printer, spreads, stocks};
use super::layers::layers;
use super::pairs::{Pair, paired};
use super::shapes::{different, region, size};
use super::{Changes, Detail, How, Topic};
use crate::analysis::{Analysis, Dial};
use crate::check::Expectation;
use crate::check::value::Value;
use crate::design::{Depth, Design, Half, Joint, Party, Pivot, Reading, ReadsHow, Seat, Slot, Turn};
use crate::diagnostics::{Diagnostic, Finding};
use crate::geometry::Region;
use crate::plan::{Plan, face_name};
use crate::units::plain;

/// Everything about one dial, its findings apart.
pub(super) fn dial(all: &mut Changes, old: &Dial, new: &Dial) {
    let (before, after) = (&old.design, &new.design);
    all.changed(
        Topic::Title,
        "",
        different("title", before.title.as_str(), after.title.as_str()).into_iter().collect(),
    );
    let shop = |design: &Design| design.shop.clone().unwrap_or_else(|| "the built-in shop".to_owned());
    all.changed(Topic::Shop, "", different("name", shop(before), shop(after)).into_iter().collect());
    // Names first, and the layers before the joints between them: what was renamed above is known by its new name in
    // all that follows.
    params(all, before, after);
    stocks(all, before, after);
    fittings(all, before, after);
    all.changed(Topic::Spreads, "", details(&spreads(&before.spreads), &spreads(&after.spreads)));
    all.changed(Topic::Printer, "", details(&printer(&before.printer), &printer(&after.printer)));
    all.changed(Topic::Drawing, "", details(&drawing(&before.palette), &drawing(&after.palette)));
    all.changed(Topic::Client, "", party(before.client.as_ref(), after.client.as_ref()));
    all.changed(Topic::Maker, "", party(before.maker.as_ref(), after.maker.as_ref()));
    layers(all, (before, &old.centring), (after, &new.centring));
    joints(all, before, after);
    readings(all, before, after);
    slot(all, before.slot.as_ref(), after.slot.as_ref());
    run(all, before, after);
    accepted(all, before, after);
    expectations(all, &old.expectations, &new.expectations);
    work(all, old.plan.as_ref(), new.plan.as_ref());
}

/// Who is named on what is printed, on either side.
fn party(old: Option<&Party>, new: Option<&Party>) -> Vec<Detail> {
    let name = |party: Option<&Party>| party.map_or_else(String::new, |party| party.name.clone());
    let [before, after] = [old, new].map(|party| party.and_then(|party| party.logo.as_ref()));
    let large = |logo: Option<&Region>| size(logo.and_then(Region::bounds));
    let drawn = match (before, after) {
        (Some(one), Some(other)) if !one.is_as(other) => {
            Some(Detail::new("logo", large(before), large(after)).described_as("drawn anew"))
        }
        _ => different("logo", large(before), large(after)),
    };
    different("name", name(old), name(new)).into_iter().chain(drawn).collect()
}

fn params(all: &mut Changes, old: &Design, new: &Design) {
    let same = |old: &(String, String), new: &(String, String)| old.1 == new.1;
    for pair in paired(&old.params, &new.params, |(name, _)| name.clone(), same) {
        match pair {
            Pair::Both((name, old), (_, new)) => {
                all.changed(Topic::Param, format!("`{name}`"), different("value", old, new).into_iter().collect());
            }
            Pair::Renamed((old, _), (new, _)) => all.rename(Topic::Param, old, new),
            Pair::Gone((name, value)) => {
                let detail = Detail::new("value", value, "").described_as(format!("was {value}"));
                all.push(Topic::Param, How::Removed, format!("`{name}`"), vec![detail]);
            }
            Pair::Come((name, value)) => {
                all.push(Topic::Param, How::Added, format!("`{name}`"), vec![Detail::new("value", "", value)]);
            }
        }
    }
}

/// What params may be, for those that both designs have.
pub(super) fn bounds(all: &mut Changes, old: &[(String, String)], new: &[(String, String)]) {
    let came_or_went = |all: &Changes, name: &str| {
        let subject = format!("`{name}`");
        all.list.iter().any(|change| {
            change.topic == Topic::Param && change.subject == subject && matches!(change.how, How::Added | How::Removed)
        })
    };
    let before: Vec<(String, String)> =
        old.iter().map(|(name, bounds)| (all.now(name).to_owned(), renamed_words(all, bounds))).collect();
    for pair in paired(&before, new, |(name, _)| name.clone(), |_, _| false) {
        let (name, old, new) = match pair {
            Pair::Both((name, old), (_, new)) | Pair::Renamed((name, old), (_, new)) => {
                (name, old.as_str(), new.as_str())
            }
            Pair::Gone((name, old)) => (name, old.as_str(), ""),
            Pair::Come((name, new)) => (name, "", new.as_str()),
        };
        // A param that came or went is told with its value already.
        if !came_or_went(all, name) {
            all.changed(Topic::Param, format!("`{name}`"), different("bounds", old, new).into_iter().collect());
        }
    }
}

/// Joints by the layers between which they lie.
fn joints(all: &mut Changes, old: &Design, new: &Design) {
    let named = |design: &Design, now: &dyn Fn(&str) -> String| -> Vec<(String, Joint)> {
        // A wheel lies in its frame, and what is glued above is glued to the frame.
        let lower = |joint: usize| design.layers.get(design.stacked(joint));
        let joints = design.joints.iter().enumerate().zip(design.layers.iter().skip(1));
        let named = joints.filter_map(|((joint, it), upper)| {
            let lower = lower(joint)?;
            Some((format!("between `{}` and `{}`", now(&lower.name), now(&upper.name)), it.clone()))
        });
        named.collect()
    };
    let before = named(old, &|name| all.now(name).to_owned());
    let after = named(new, &str::to_owned);
    for pair in paired(&before, &after, |(place, _)| place.clone(), |_, _| false) {
        match pair {
            Pair::Both((place, one), (_, other)) | Pair::Renamed((place, one), (_, other)) => {
                let found = joint(all, (one, old), (other, new));
                all.changed(Topic::Joint, place.as_str(), found);
            }
            Pair::Gone((place, joint)) => {
                all.push(Topic::Joint, How::Removed, place.as_str(), describe_joint(joint, true))
            }
            Pair::Come((place, joint)) => {
                all.push(Topic::Joint, How::Added, place.as_str(), describe_joint(joint, false))
            }
        }
    }
}

fn holds(joint: &Joint, now: &dyn Fn(&str) -> String) -> String {
    match joint {
        Joint::Glue(glue) => format!("glue {}", now(&glue.adhesive.name)),
        Joint::Turn(Turn { pivot: Pivot::Magnets { magnet, above, .. }, .. }) => match above {
            None => format!("turns on magnets({})", now(&magnet.name)),
            Some(above) => format!("turns on magnets(lower: {}, upper: {})", now(&magnet.name), now(&above.name)),
        },
        Joint::Turn(Turn { pivot: Pivot::Rivet(rivet), .. }) => {
            format!("turns on {}({})", rivet.kind.word(), now(&rivet.name))
        }
        Joint::Turn(Turn { pivot: Pivot::Wall, axle, .. }) => {
            let wall = axle.as_ref().and_then(|axle| axle.wall.as_ref());
            format!("turns in `{}`", wall.map_or_else(String::new, |wall| now(&wall.opening)))
        }
    }
}

fn describe_joint(joint: &Joint, gone: bool) -> Vec<Detail> {
    let words = holds(joint, &str::to_owned);
    let (old, new) = if gone { (words.as_str(), "") } else { ("", words.as_str()) };
    vec![Detail::new("joint", old, new).described_as(words.clone())]
}

fn joint(all: &Changes, (old, old_design): (&Joint, &Design), (new, new_design): (&Joint, &Design)) -> Vec<Detail> {
    let now = |name: &str| all.now(name).to_owned();
    let mut found: Vec<Detail> = Vec::new();
    found.extend(different("joint", holds(old, &now), holds(new, &str::to_owned)));
    let (Joint::Turn(old), Joint::Turn(new)) = (old, new) else { return found };
    let stops = |turn: &Turn| format!("{}: {}", turn.stops.len(), bearings(&turn.stops));
    found.extend(different("stops", stops(old), stops(new)));
    let axis = |turn: &Turn| turn.axle.as_ref().map_or_else(String::new, |axle| Value::Point(axle.centre).to_string());
    found.extend(different("axis", axis(old), axis(new)));
    let turning = |turn: &Turn| if turn.turning == Half::Lower { "the lower half" } else { "the upper half" };
    found.extend(different("turning", turning(old), turning(new)));
    let clicks = |turn: &Turn, now: &dyn Fn(&str) -> String| {
        turn.clicks.as_ref().map_or_else(String::new, |clicks| {
            let deep = clicks.depths[0].asked();
            format!("magnets({}) at radius {}, {deep} deep", now(&clicks.magnet.name), clicks.radius)
        })
    };
    found.extend(different("clicks", clicks(old, &now), clicks(new, &str::to_owned)));
    let ends = |turn: &Turn, now: &dyn Fn(&str) -> String| {
        turn.ends.as_ref().map_or_else(String::new, |ends| {
            format!("pin({}) at radius {}, {}, play {}", now(&ends.pin.name), ends.radius, ends.bearing, ends.play)
        })
    };
    found.extend(different("ends", ends(old, &now), ends(new, &str::to_owned)));
    if let (Pivot::Magnets { lower, upper, .. }, Pivot::Magnets { lower: new_lower, upper: new_upper, .. }) =
        (&old.pivot, &new.pivot)
    {
        let before = |seat: &Seat| seat_words(seat, old_design, &now);
        let after = |seat: &Seat| seat_words(seat, new_design, &str::to_owned);
        found.extend(different("lower magnet", before(lower), after(new_lower)));
        found.extend(different("upper magnet", before(upper), after(new_upper)));
    }
    found
}

/// Where a magnet sits. How deep stands with its pocket.
fn seat_words(seat: &Seat, design: &Design, now: &dyn Fn(&str) -> String) -> String {
    let layer = design.layers.get(seat.layer).map_or_else(String::new, |layer| now(&layer.name));
    match seat.depth {
        Depth::Down(_) => format!("in the {} of `{layer}`", face_name(seat.face)),
        Depth::Through => format!("in a hole through `{layer}`"),
    }
}

fn readings(all: &mut Changes, old: &Design, new: &Design) {
    let words = |reading: &Reading, now: &dyn Fn(&str) -> String| {
        let how = if reading.how == ReadsHow::Through { "through" } else { "beside" };
        let by: Vec<String> = reading.by.iter().map(|name| now(name)).collect();
        format!("`{}` {how} {}", now(&reading.ring), by.join(", "))
    };
    let before: Vec<(String, String)> = old
        .readings
        .iter()
        .map(|reading| (words(reading, &|name| all.now(name).to_owned()), length(reading.distance)))
        .collect();
    let after: Vec<(String, String)> =
        new.readings.iter().map(|reading| (words(reading, &str::to_owned), length(reading.distance))).collect();
    for pair in paired(&before, &after, |(words, _)| words.clone(), |_, _| false) {
        match pair {
            Pair::Both((words, old), (_, new)) | Pair::Renamed((words, old), (_, new)) => {
                let detail = different("distance", old.as_str(), new.as_str());
                all.changed(Topic::Reading, words.as_str(), detail.into_iter().collect());
            }
            Pair::Gone((words, _)) => all.push(Topic::Reading, How::Removed, words.as_str(), Vec::new()),
            Pair::Come((words, _)) => all.push(Topic::Reading, How::Added, words.as_str(), Vec::new()),
        }
    }
}

fn slot(all: &mut Changes, old: Option<&Slot>, new: Option<&Slot>) {
    match (old, new) {
        (Some(old), Some(new)) => {
            let mut found = region(&old.outline, &new.outline);
            found.extend(different("depth", length(old.depth), length(new.depth)));
            all.changed(Topic::Slot, "", found);
        }
        (Some(old), None) => {
            let detail = Detail::new("size", size(old.outline.bounds()), "").described_as(size(old.outline.bounds()));
            all.push(Topic::Slot, How::Removed, "", vec![detail]);
        }
        (None, Some(new)) => {
            all.push(Topic::Slot, How::Added, "", vec![Detail::new("size", "", size(new.outline.bounds()))]);
        }
        (None, None) => {}
    }
}

fn run(all: &mut Changes, old: &Design, new: &Design) {
    let figures = |design: &Design| {
        let run = &design.run;
        let own = |figure: Option<_>| {
            figure.map_or_else(|| "the stock's own".to_owned(), |figure: crate::units::Length| figure.to_string())
        };
        vec![
            ("dials", run.dials.to_string()),
            ("spares", run.spares.to_string()),
            ("wanted", run.wanted.map_or_else(|| "at no given time".to_owned(), |wanted| wanted.to_string())),
            ("margin", own(run.margin)),
            ("gap", own(run.gap)),
        ]
    };
    all.changed(Topic::Run, "", details(&figures(old), &figures(new)));
}

fn accepted(all: &mut Changes, old: &Design, new: &Design) {
    let words = |one: &crate::design::Accepted, now: &dyn Fn(&str) -> String| {
        let on = one.on.as_ref().map(|on| format!(" on `{}`", now(on))).unwrap_or_default();
        (format!("{}{on}", one.finding), one.reason.clone())
    };
    let before: Vec<(String, String)> =
        old.accepted.iter().map(|one| words(one, &|name| all.now(name).to_owned())).collect();
    let after: Vec<(String, String)> = new.accepted.iter().map(|one| words(one, &str::to_owned)).collect();
    for pair in paired(&before, &after, |(words, _)| words.clone(), |_, _| false) {
        match pair {
            Pair::Both((words, old), (_, new)) | Pair::Renamed((words, old), (_, new)) => {
                let detail = different("reason", old.as_str(), new.as_str());
                all.changed(Topic::Acceptance, format!("of {words}"), detail.into_iter().collect());
            }
            Pair::Gone((words, _)) => all.push(Topic::Acceptance, How::Removed, format!("of {words}"), Vec::new()),
            Pair::Come((words, _)) => all.push(Topic::Acceptance, How::Added, format!("of {words}"), Vec::new()),
        }
    }
}

/// A text with the names of what was renamed put in place of the old ones.
fn renamed_words(all: &Changes, text: &str) -> String {
    let mut words = String::new();
    let mut word = String::new();
    // One blank more, to end the last word, and taken off again below.
    for letter in text.chars().chain([' ']) {
        if letter.is_alphanumeric() || letter == '_' {
            word.push(letter);
        } else {
            words.push_str(all.now(&word));
            words.push(letter);
            word.clear();
        }
    }
    words.pop();
    words
}

/// Expectations by their conditions; of those that stand in both, the ones that crossed their limit.
fn expectations(all: &mut Changes, old: &[Expectation], new: &[Expectation]) {
    let before: Vec<Expectation> =
        old.iter().map(|one| Expectation { condition: renamed_words(all, &one.condition), ..one.clone() }).collect();
    for pair in paired(&before, new, |one| one.condition.clone(), |_, _| false) {
        match pair {
            Pair::Both(old, new) | Pair::Renamed(old, new) if old.holds != new.holds => {
                let mut found =
                    vec![Detail::new("holds", holds_word(old), holds_word(new)).described_as(match new.holds {
                        Some(true) => "now holds",
                        Some(false) => "no longer holds",
                        None => "can no longer be told",
                    })];
                for ((_, value), (what, now)) in old.measured.iter().zip(&new.measured) {
                    let words = format!("`{what}` was {value}, now {now}");
                    found.push(Detail::new("measure", value, now).described_as(words));
                }
                all.changed(Topic::Expectation, format!("`{}`", new.condition), found);
            }
            Pair::Both(..) | Pair::Renamed(..) => {}
            Pair::Gone(old) => all.push(Topic::Expectation, How::Removed, format!("`{}`", old.condition), Vec::new()),
            Pair::Come(new) => {
                let words = match new.holds {
                    Some(true) => "holds",
                    Some(false) => "does not hold",
                    None => "cannot be told",
                };
                let detail = Detail::new("holds", "", holds_word(new)).described_as(words);
                all.push(Topic::Expectation, How::Added, format!("`{}`", new.condition), vec![detail]);
            }
        }
    }
}

fn holds_word(expectation: &Expectation) -> &'static str {
    match expectation.holds {
        Some(true) => "yes",
        Some(false) => "no",
        None => "unknown",
    }
}

/// What the shop has to do.
fn work(all: &mut Changes, old: Option<&Plan>, new: Option<&Plan>) {
    let (Some(old), Some(new)) = (old, new) else {
        let word = |plan: Option<&Plan>| if plan.is_some() { "planned" } else { "cannot be planned" };
        all.changed(Topic::Work, "", different("plan", word(old), word(new)).into_iter().collect());
        return;
    };
    all.changed(Topic::Work, "", details(&work_figures(all, old, false), &work_figures(all, new, true)));
}

fn work_figures(all: &Changes, plan: &Plan, is_new: bool) -> Vec<(&'static str, String)> {
    let mut boards: BTreeMap<&str, usize> = BTreeMap::new();
    for board in &plan.boards {
        let stock = if is_new { board.stock.as_str() } else { all.now(&board.stock) };
        *boards.entry(stock).or_default() += 1;
    }
    let boards: Vec<String> = boards.iter().map(|(stock, count)| format!("{count} of {stock}")).collect();
    let setups: usize = plan.boards.iter().map(|board| board.setups.len()).sum();
    // To a millimetre and to a square millimetre: what curves of equal shapes differ by never shows.
    vec![
        ("boards", boards.join(", ")),
        ("setups", setups.to_string()),
        ("cut", format!("{}m", plain(plan.cut_length().as_mm() / 1000.0, 3))),
        ("scored", format!("{}m", plain(plan.score_length().as_mm() / 1000.0, 3))),
        ("engraved", format!("{}cm2", plain(plan.engraved_area() / 100.0, 2))),
        ("pockets", format!("{}cm2", plain(plan.pocket_area() / 100.0, 2))),
    ]
}

/// Findings that came or went: so many more or fewer of one name about one thing. What an expectation finds stands
/// with the expectation.
pub(super) fn findings(all: &mut Changes, old: &Analysis, new: &Analysis) {
    let counted = |analysis: &Analysis, now: &dyn Fn(&str) -> String| {
        let mut found: BTreeMap<Key, Vec<Diagnostic>> = BTreeMap::new();
        for finding in analysis.findings.iter().filter(|one| one.finding != Finding::NotAsExpected) {
            let variants = finding.variants.iter().map(|variant| now(variant)).collect();
            let subject = finding.subject.as_deref().map(now);
            let key = (finding.finding.name(), subject, finding.accepted.is_some(), variants);
            found.entry(key).or_default().push(finding.clone());
        }
        found
    };
    let before = counted(old, &|name| all.now(name).to_owned());
    let after = counted(new, &str::to_owned);
    let nothing = Vec::new();
    for (key, found) in &after {
        let known = before.get(key).unwrap_or(&nothing).len();
        // Findings have no identity of their own: of the same name about the same thing only their number can be
        // compared.
        found.iter().skip(known).for_each(|finding| finding_change(all, How::Added, key, finding));
    }
    for (key, found) in &before {
        let left = after.get(key).unwrap_or(&nothing).len();
        found.iter().skip(left).for_each(|finding| finding_change(all, How::Removed, key, finding));
    }
}

/// A finding's name, what it is about, whether it is accepted, and the variants that have it.
type Key = (&'static str, Option<String>, bool, Vec<String>);

fn finding_change(all: &mut Changes, how: How, key: &Key, finding: &Diagnostic) {
    let (name, subject, accepted, variants) = key;
    let about = subject.as_ref().map(|subject| format!(" on `{subject}`")).unwrap_or_default();
    let accepted = if *accepted { ", accepted" } else { "" };
    let message = finding.message.as_str();
    let (old, new) = if how == How::Added { ("", message) } else { (message, "") };
    all.list.push(super::Change {
        topic: Topic::Finding,
        how,
        subject: format!("{name}{about}{accepted}"),
        details: vec![Detail::new("message", old, new).described_as(message)],
        variants: variants.clone(),
    });
}
