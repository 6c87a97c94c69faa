//! What differs between texts of which one is no dial by itself: a shared file, or a design with errors. Its items are
//! compared one by one, each in its one layout.

use super::pairs::{Pair, paired};
use super::shapes::different;
use super::{Changes, Detail, How, Topic};
use crate::analysis::Analysis;
use crate::format;
use crate::source::Sources;
use crate::syntax::parse;
use crate::syntax::tree::{Field, Item, Name};

/// An item: what it is called, and its text without comments.
struct Written {
    called: String,
    text: String,
    /// The fields of a block of fields, each with its value.
    fields: Vec<(String, String)>,
}

/// The items of the main files.
pub(super) fn items(all: &mut Changes, old: &Analysis, new: &Analysis) {
    let same = |old: &Written, new: &Written| old.text == new.text;
    for pair in paired(&written(&old.sources), &written(&new.sources), |item| item.called.clone(), same) {
        match pair {
            Pair::Both(old, new) | Pair::Renamed(old, new) => {
                let mut details = fields(&old.fields, &new.fields);
                if details.is_empty() {
                    details.extend(different("text", old.text.as_str(), new.text.as_str()));
                }
                all.changed(Topic::Item, new.called.as_str(), details);
            }
            Pair::Gone(item) => {
                let detail = Detail::new("text", item.text.as_str(), "").described_as(item.text.as_str());
                all.push(Topic::Item, How::Removed, item.called.as_str(), vec![detail]);
            }
            Pair::Come(item) => {
                let detail = Detail::new("text", "", item.text.as_str()).described_as(item.text.as_str());
                all.push(Topic::Item, How::Added, item.called.as_str(), vec![detail]);
            }
        }
    }
}

/// The fields that differ.
fn fields(old: &[(String, String)], new: &[(String, String)]) -> Vec<Detail> {
    let pairs = paired(old, new, |(name, _)| name.clone(), |_, _| false).into_iter();
    let differ = pairs.filter_map(|pair| match pair {
        Pair::Both((name, old), (_, new)) | Pair::Renamed((name, old), (_, new)) => {
            different("field", old, new).map(|detail| detail.described_as(format!("{name} {old}, now {new}")))
        }
        Pair::Gone((name, old)) => Some(Detail::new("field", old, "").described_as(format!("{name} {old}, now none"))),
        Pair::Come((name, new)) => Some(Detail::new("field", "", new).described_as(format!("{name} {new}"))),
    });
    differ.collect()
}

fn written(sources: &Sources) -> Vec<Written> {
    // The file that was asked for; what it shares is compared by itself, where it is asked for.
    let Some((id, file)) = sources.iter().next() else { return Vec::new() };
    let parsed = parse(sources, id);
    let field = |field: &Field| match format::field_on_one_line(field, &file.text).split_once(' ') {
        Some((name, value)) => (name.to_owned(), value.to_owned()),
        None => (field.name.text.clone(), "stated".to_owned()),
    };
    let written = |item: &Item| Written {
        called: called(item),
        text: format::item_on_one_line(item, &file.text),
        fields: match item {
            Item::Thing(thing) => thing.fields.iter().map(field).collect(),
            _ => Vec::new(),
        },
    };
    parsed.file.items.iter().map(written).collect()
}

/// The kind and the name of an item.
fn called(item: &Item) -> String {
    let named = |word: &str, name: &Name| format!("{word} `{}`", name.text);
    match item {
        Item::Dial(_) => "dial".to_owned(),
        Item::Shop(_) => "shop".to_owned(),
        Item::With(text) => format!("with \"{}\"", text.value),
        Item::Typeface(_) => "typeface".to_owned(),
        Item::Param(param) => named("param", &param.name),
        Item::Let(item) => named("let", &item.name),
        Item::Outline(_) => "outline".to_owned(),
        Item::Layer(layer) => named("layer", &layer.name),
        Item::Stack(_) => "stack".to_owned(),
        Item::Reads(reads) => named("reads", &reads.ring.name),
        Item::Slot(_) => "slot".to_owned(),
        Item::Run(_) => "run".to_owned(),
        Item::Expect(_) => "expect".to_owned(),
        Item::Accept(accept) => named("accept", &accept.finding),
        Item::Family(_) => "family".to_owned(),
        Item::Thing(thing) => named(&thing.kind.text, &thing.name),
    }
}
