//! Bad items, read again one by one.
//!
//! The tolerant entry of the grammar leaves a slice of text for every item that it could not read. Each slice is
//! read again by the strict entry of its place: where that fails is where the fault is.

mod expected;
mod order;
mod signs;
mod slips;
mod words;

use super::lower::{Lower, Parts};
use super::parse::{Rule, with_rule};
use super::tree::{Expr, ExprKind, FamilyItem, Field, Item, LayerItem, Name, StackItem, Wheel};
use crate::diagnostics::Diagnostic;
use crate::syntax::findings::{signs as signs_say, syntax as findings};
use pest::error::{Error, InputLocation};

/// So many items without a line end between them are told apart on one line.
const MOST_ON_A_LINE: usize = 16;

/// Where an item stands, which says what it may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// In the file itself.
    Top,
    /// In a layer's block.
    Layer,
    /// In the stack.
    Stack,
    /// In a layer of the stack.
    Wheels,
    /// In a family.
    Family,
    /// In any other block.
    Fields,
    /// In a variant.
    Bindings,
    /// Nowhere: a lone expression.
    Expression,
}

impl Place {
    /// The entry of the grammar that reads one item of this place and nothing else.
    fn entry(self) -> Rule {
        match self {
            Place::Top => Rule::only_top,
            Place::Layer => Rule::only_layer_item,
            Place::Stack => Rule::only_stack_item,
            Place::Wheels => Rule::only_wheel,
            Place::Family => Rule::only_family_item,
            Place::Fields => Rule::only_field,
            Place::Bindings => Rule::only_binding,
            Place::Expression => Rule::only_expression,
        }
    }
}

/// One item that was read, of whatever place.
pub(super) enum Recovered {
    /// Of a file.
    Item(Item),
    /// Of a layer.
    Layer(LayerItem),
    /// Of the stack.
    Stack(StackItem),
    /// Of a layer of the stack.
    Wheel(Wheel),
    /// Of a family.
    Family(FamilyItem),
    /// Of a block of fields.
    Field(Field),
    /// Of a variant.
    Binding(Name, Expr),
    /// A lone expression.
    Expr(Expr),
}

macro_rules! into {
    ($($function:ident, $variant:ident, $kind:ty;)+) => {
        impl Recovered {
            $(pub(super) fn $function(self) -> Option<$kind> {
                match self { Recovered::$variant(value) => Some(value), _ => None }
            })+
        }
    };
}

into! {
    into_item, Item, Item;
    into_layer_item, Layer, LayerItem;
    into_stack_item, Stack, StackItem;
    into_wheel, Wheel, Wheel;
    into_family_item, Family, FamilyItem;
    into_field, Field, Field;
    into_expr, Expr, Expr;
}

impl Recovered {
    pub(super) fn into_binding(self) -> Option<(Name, Expr)> {
        match self {
            Recovered::Binding(name, value) => Some((name, value)),
            _ => None,
        }
    }
}

/// Where a parse gave up, in bytes.
pub(super) fn place(error: &Error<Rule>) -> usize {
    match error.location {
        InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
    }
}

/// Reads `slice`, which begins at byte `base` of the file, as items of a place, and reports what is wrong.
pub(super) fn bad_slice(lower: &mut Lower<'_>, place_of: Place, slice: &str, base: usize) -> Vec<Recovered> {
    if base < lower.said_until {
        return Vec::new();
    }
    lower.base = base;
    // Remarks of other languages are blanked before anything else is asked, or every word in them would be a fault.
    let cleaned = signs::without_remarks(lower, place_of, slice);
    let slice = cleaned.as_deref().unwrap_or(slice);
    let (mut found, mut start) = (Vec::new(), 0);
    for _ in 0..MOST_ON_A_LINE {
        let rest = slice.get(start..).unwrap_or("");
        lower.base = base + start;
        // Nothing was left behind the last item, or the slice was nothing but a remark.
        if start > 0 && rest.trim().is_empty() || cleaned.is_some() && rest.trim().is_empty() {
            return found;
        }
        if let Some(line) = next_line(place_of, rest) {
            found.extend(one_item(lower, place_of, rest.get(..line).unwrap_or("").trim_end()));
            start += line;
            continue;
        }
        let error = match read(lower, place_of, rest) {
            Ok(items) => {
                found.extend(items);
                return found;
            }
            Err(error) => error,
        };
        let parted = || comma_between(place_of, rest, place(&error));
        let Some((first, at)) = second_item(place_of, rest, place(&error)).or_else(parted) else {
            found.extend(broken(lower, place_of, rest, &error));
            return found;
        };
        found.extend(read(lower, place_of, rest.get(..first).unwrap_or("")).unwrap_or_default());
        lower.report(between(lower, rest, first, at));
        start += at;
    }
    found
}

/// What is wrong between an item that ends at byte `first` and the one that begins at byte `at`; at the end of the
/// text where a comma follows and nothing more.
fn between(lower: &Lower<'_>, text: &str, first: usize, at: usize) -> Diagnostic {
    let after = text.get(at..).unwrap_or("");
    let word = lower.place(at..at + first_word(after).1.len());
    match text.get(first..at).and_then(|gap| gap.find(',')) {
        Some(comma) => {
            let comma = lower.place(first + comma..first + comma + 1);
            signs_say::comma_between_items(comma, (!after.trim().is_empty()).then_some(word))
        }
        None => findings::two_items(lower.place(first..first), word),
    }
}

/// Reads one item, or says what is wrong with it.
fn one_item(lower: &mut Lower<'_>, place_of: Place, text: &str) -> Vec<Recovered> {
    read(lower, place_of, text).unwrap_or_else(|error| broken(lower, place_of, text, &error).into_iter().collect())
}

/// Says what is wrong with an item and keeps the name that it would have defined.
fn broken(lower: &mut Lower<'_>, place_of: Place, text: &str, error: &Error<Rule>) -> Option<Recovered> {
    say_what_is_wrong_at(lower, place_of.entry(), place_of, text, error);
    let kept = salvage(lower, place_of, text);
    if kept.is_none() {
        // What stood here is not known, so that later stages do not call it missing.
        lower.lost.push(lower.place(0..text.len()));
    }
    kept
}

/// Where the next item begins on a line of its own, though the line before it asks to go on: `let across =` and
/// then nothing.
fn next_line(place_of: Place, text: &str) -> Option<usize> {
    let mut starts = text.match_indices('\n').map(|(at, _)| at + 1).take(MOST_ON_A_LINE);
    starts.find_map(|start| {
        let (before, after) = text.split_at_checked(start)?;
        let (lead, word) = first_word(after);
        // After these signs any word may follow on the next line; only `=` and an operator leave an item that could
        // not go on with an item's word.
        let goes_on = before.trim_end().ends_with(['(', '[', ',', ':', ')', ']', '{', ';']);
        let after = after.get(lead..)?;
        (!goes_on && words::item_words(place_of).contains(&word) && begins_item(place_of, after, word))
            .then_some(start + lead)
    })
}

/// Whether a text that begins with an item's word can be read at least past that word.
fn begins_item(place_of: Place, text: &str, word: &str) -> bool {
    with_rule(place_of.entry(), text).map_or_else(|error| place(&error) > word.len(), |_| true)
}

/// Reports what is wrong with a text that an entry should read.
pub(super) fn say_what_is_wrong(lower: &mut Lower<'_>, entry: Rule, text: &str) {
    if let Err(error) = with_rule(entry, text) {
        say_what_is_wrong_at(lower, entry, Place::Top, text, &error);
    }
}

fn say_what_is_wrong_at(lower: &mut Lower<'_>, entry: Rule, place_of: Place, text: &str, error: &Error<Rule>) {
    slips::Slice { entry, place: place_of, text, at: place(error), error }.report(lower);
}

/// Reads a text as exactly one item.
fn read(lower: &mut Lower<'_>, place_of: Place, text: &str) -> Result<Vec<Recovered>, Box<Error<Rule>>> {
    let parsed = with_rule(place_of.entry(), text)?;
    let items = parsed.flat_map(Parts::of);
    Ok(items.filter_map(|item| lower.entry(place_of, item)).collect())
}

/// Where the first item ends and where a second one begins on its line, where the first one is whole and the parser
/// stopped at a word that begins an item.
fn second_item(place_of: Place, text: &str, at: usize) -> Option<(usize, usize)> {
    let (before, after) = text.split_at_checked(at)?;
    let (lead, word) = first_word(after);
    let begins = words::item_words(place_of).contains(&word) && lead == 0;
    let whole = || with_rule(place_of.entry(), before.trim_end()).is_ok();
    (begins && !before.trim().is_empty() && whole() && begins_item(place_of, after, word))
        .then_some((before.trim_end().len(), at))
}

/// The same where a comma parts the two, or follows the last one of a block.
fn comma_between(place_of: Place, text: &str, at: usize) -> Option<(usize, usize)> {
    let before = text.get(..at)?.trim_end_matches([' ', '\t', '\r', '\n']);
    let before = before.strip_suffix(',').unwrap_or(before).trim_end();
    let gap = text.get(before.len()..)?;
    let after = gap.trim_start().strip_prefix(',')?;
    let next = text.len() - after.trim_start().len();
    let (_, word) = first_word(after.trim_start());
    let is_first = || words::item_words(place_of).contains(&word) || (place_of == Place::Stack && !word.is_empty());
    let begins = || is_first() && begins_item(place_of, after.trim_start(), word);
    let whole = !before.is_empty() && with_rule(place_of.entry(), before).is_ok();
    (whole && (after.trim().is_empty() || begins())).then_some((before.len(), next))
}

/// The first word of a text, with the bytes before it; empty where the text begins with no word.
pub(super) fn first_word(text: &str) -> (usize, &str) {
    let trimmed = text.trim_start_matches([' ', '\t']);
    let end = trimmed.find(|letter: char| !(letter.is_alphanumeric() || letter == '_')).unwrap_or(trimmed.len());
    (text.len() - trimmed.len(), trimmed.get(..end).unwrap_or(""))
}

/// What a bad item would have defined, with a broken value, so that its uses are not reported too.
fn salvage(lower: &mut Lower<'_>, place_of: Place, text: &str) -> Option<Recovered> {
    let pair = with_rule(Rule::salvage, text).ok()?.flat_map(Parts::of).next()?;
    let span = lower.place(0..text.len());
    let value = Expr { kind: ExprKind::Broken, span };
    match (pair.as_rule(), place_of) {
        (Rule::salvage_let, Place::Top) => lower.broken_let(pair, value).map(|item| Recovered::Item(Item::Let(item))),
        (Rule::salvage_let, Place::Layer) => {
            lower.broken_let(pair, value).map(|item| Recovered::Layer(LayerItem::Let(item)))
        }
        (Rule::salvage_param, Place::Top) => {
            lower.broken_param(pair, value).map(|item| Recovered::Item(Item::Param(item)))
        }
        (Rule::salvage_mark, Place::Layer) => {
            lower.broken_mark(pair, value).map(|mark| Recovered::Layer(LayerItem::Mark(mark)))
        }
        _ => None,
    }
}
