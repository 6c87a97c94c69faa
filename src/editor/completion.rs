//! What may be written next: items and fields of the block at hand, names of the kind that fits, functions with their
//! arguments, units after a number.

use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionTextEdit, Documentation, InsertTextFormat, MarkupContent, MarkupKind,
    Position, TextEdit,
};

use super::context::{Block, Context, Slot, context};
use super::view::View;
use crate::check::names::{Definition, Meaning, Names};
use crate::check::type_of;
use crate::diagnostics::Finding;
use crate::reference::{self, Entry, Role};
use crate::source::SourceId;
use crate::syntax::tree::Let;
use crate::units::UNITS;
use crate::vocabulary::blocks::{BlockName, FieldSpec, Holds};
use crate::vocabulary::functions::{FUNCTIONS, Function, Rest, function_named};
use crate::vocabulary::placings::Leading;
use crate::vocabulary::types::{ThingKind, Type, TypeWord};
use crate::vocabulary::{Keyword, Place, keywords};

/// Whether the editor fills in places of a text that are left open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Snippets {
    /// It does.
    Filled,
    /// It would show them as they are written.
    Plain,
}

/// What may be written at a position, what fits best first.
pub fn completion(view: &View, file: SourceId, position: Position, snippets: Snippets) -> Vec<CompletionItem> {
    let offset = view.offset(file, position);
    let context = context(view.text(file), offset);
    let (names, _) = Names::gather(&view.files());
    let offer = Offer { view, file, names: &names, context: &context, snippets };
    let mut items = offer.items();
    for (at, item) in items.iter_mut().enumerate() {
        // Editors sort by the alphabet unless they are told otherwise.
        item.sort_text = Some(format!("{at:04}"));
    }
    items
}

struct Offer<'o, 't> {
    view: &'o View,
    file: SourceId,
    names: &'o Names<'t>,
    context: &'o Context,
    snippets: Snippets,
}

/// One thing to offer.
struct Choice {
    label: String,
    kind: CompletionItemKind,
    detail: String,
    says: Option<String>,
    /// What the reference tells of it, where it is a word of ours.
    entry: Option<&'static Entry>,
    snippet: Option<String>,
}

fn choice(label: &str, kind: CompletionItemKind, detail: impl Into<String>) -> Choice {
    Choice { label: label.to_owned(), kind, detail: detail.into(), says: None, entry: None, snippet: None }
}

impl<'t> Offer<'_, 't> {
    fn items(&self) -> Vec<CompletionItem> {
        let choices = match &self.context.slot {
            Slot::Item(block, given) => self.block(*block, given),
            Slot::Unit(start) => return self.units(*start),
            Slot::Value => self.values(),
            Slot::After(mark) => {
                let tails = if *mark { words(Place::Tail) } else { Vec::new() };
                tails.into_iter().chain(words(Place::After)).collect()
            }
            Slot::Argument(function, given) => self.arguments(function, given),
            Slot::Words(known) => known.iter().map(|word| choice(word, CompletionItemKind::KEYWORD, "")).collect(),
            Slot::Thing(kind) => self.things(*kind),
            Slot::AnyThing => self.named(|definition| definition.meaning.thing().is_some()),
            Slot::Param => self.named(|definition| matches!(definition.meaning, Meaning::Param(_))),
            Slot::KindWord => type_words(),
            Slot::Finding => {
                Finding::ALL.iter().map(|finding| choice(finding.name(), CompletionItemKind::EVENT, "")).collect()
            }
            Slot::Nothing => Vec::new(),
        };
        choices.into_iter().map(|choice| self.item(choice)).collect()
    }

    fn item(&self, choice: Choice) -> CompletionItem {
        let filled = choice.snippet.filter(|_| self.snippets == Snippets::Filled);
        let format = if filled.is_some() { InsertTextFormat::SNIPPET } else { InsertTextFormat::PLAIN_TEXT };
        let new_text = filled.unwrap_or_else(|| choice.label.clone());
        let edit = TextEdit::new(self.range(self.context.typed.clone()), new_text);
        CompletionItem {
            label: choice.label,
            kind: Some(choice.kind),
            detail: (!choice.detail.is_empty()).then_some(choice.detail),
            documentation: documentation(choice.entry, choice.says),
            insert_text_format: Some(format),
            text_edit: Some(CompletionTextEdit::Edit(edit)),
            ..CompletionItem::default()
        }
    }

    fn range(&self, bytes: std::ops::Range<usize>) -> lsp_types::Range {
        self.view.sheet(self.file).map(|sheet| sheet.lines.range(bytes)).unwrap_or_default()
    }

    /// Units of the kind that is wanted, glued to the number.
    fn units(&self, start: usize) -> Vec<CompletionItem> {
        let end = self.context.typed.end;
        let written = self.view.text(self.file).get(start..end).unwrap_or("");
        let digits = written.trim_end_matches(|letter: char| letter.is_alphabetic() || letter == '%').trim_end();
        let wanted = self.context.wanted.as_ref().and_then(Type::dimension);
        let fits = UNITS.iter().filter(|unit| wanted.is_none_or(|wanted| wanted == unit.dimension));
        let item = |unit: &crate::units::Unit| CompletionItem {
            label: unit.name.to_owned(),
            kind: Some(CompletionItemKind::UNIT),
            detail: Some(unit.dimension.described()),
            filter_text: Some(format!("{digits}{}", unit.name)),
            text_edit: Some(CompletionTextEdit::Edit(TextEdit::new(
                self.range(start..end),
                format!("{digits}{}", unit.name),
            ))),
            ..CompletionItem::default()
        };
        fits.map(item).collect()
    }

    fn block(&self, block: Block, given: &[String]) -> Vec<Choice> {
        match block {
            Block::File => words(Place::Item),
            Block::Layer => words(Place::Layer).into_iter().chain(self.fields(Some(BlockName::Layer), given)).collect(),
            Block::Stack => {
                let layers = self.things(ThingKind::Layer);
                layers.into_iter().filter(|one| !given.contains(&one.label)).chain(words(Place::Stack)).collect()
            }
            // A layer may lie in several openings.
            Block::Wheels => self.things(ThingKind::Layer),
            Block::Family => words(Place::Family),
            Block::Variant => {
                let params = self.named(|definition| matches!(definition.meaning, Meaning::Param(_)));
                let unset = params.into_iter().filter(|one| !given.contains(&one.label));
                unset.map(|one| Choice { snippet: Some(format!("{} = $0", one.label)), ..one }).collect()
            }
            Block::Fields(block) => self.fields(block, given),
        }
    }

    /// Fields that are not given yet, those that must be first.
    fn fields(&self, block: Option<BlockName>, given: &[String]) -> Vec<Choice> {
        let known = block.map(|block| block.spec().fields).unwrap_or_default();
        let mut open: Vec<&FieldSpec> =
            known.iter().copied().filter(|spec| !given.iter().any(|word| word == spec.word)).collect();
        open.sort_by_key(|spec| !spec.is_required());
        let field = |spec: &&FieldSpec| {
            let snippet = match spec.holds {
                Holds::Flag => spec.word.to_owned(),
                _ => format!("{} $0", spec.word),
            };
            let is_it = |role: &Role| matches!(role, Role::Field(of, _) if Some(of.name) == block);
            let entry = reference::with_role(spec.word, is_it);
            Choice { snippet: Some(snippet), entry, ..choice(spec.word, CompletionItemKind::FIELD, spec.usage) }
        };
        open.iter().map(field).collect()
    }

    /// Argument words that are not given yet, then values for the next place.
    fn arguments(&self, function: &str, given: &[String]) -> Vec<Choice> {
        let formals = match self.names.get(function, self.context.layer.as_deref()).map(|found| found.meaning) {
            Some(Meaning::Let(Let { formals: Some(formals), .. })) => formals.as_slice(),
            _ => &[],
        };
        let mut all: Vec<Choice> = formals
            .iter()
            .filter(|formal| !given.contains(&formal.name.text))
            .map(|formal| argument(&formal.name.text, &formal.kind.text))
            .collect();
        let Some(ours) = function_named(function).filter(|_| formals.is_empty()) else {
            all.extend(self.values());
            return all;
        };
        // Of words that exclude one another none is offered once one is given.
        let excluded = |name: &str| {
            ours.one_of.contains(&name) && ours.one_of.iter().any(|other| given.iter().any(|word| word == other))
        };
        let open = ours.parameters.iter().filter(|one| !given.iter().any(|word| word == one.word));
        let open = open.filter(|one| !excluded(one.word) && !one.positional);
        all.extend(open.map(|one| {
            let takes = one.takes.wanted().map_or_else(String::new, |takes| takes.described());
            let detail = if one.is_required() { format!("{takes}, must be given") } else { takes };
            let is_it = |role: &Role| matches!(role, Role::Argument(of, _) if of.word == ours.word);
            Choice { entry: reference::with_role(one.word, is_it), ..argument(one.word, &detail) }
        }));
        let places = ours.parameters.iter().filter(|one| one.positional).count();
        if given.len() < places || ours.rest != Rest::None {
            let values = self.values();
            all.splice(0..0, values);
        }
        all
    }

    fn things(&self, kind: ThingKind) -> Vec<Choice> {
        self.named(|definition| definition.meaning.thing() == Some(kind))
    }

    /// Names that can be seen from here, for which `wanted` holds.
    fn named(&self, wanted: impl Fn(&Definition<'t>) -> bool) -> Vec<Choice> {
        let layer = self.context.layer.as_deref();
        let seen = self.names.iter().filter(|(_, found)| found.within.is_none() || found.within == layer);
        seen.filter(|(_, found)| wanted(found)).map(|(name, found)| self.name(name, found)).collect()
    }

    fn name(&self, name: &str, definition: Definition<'t>) -> Choice {
        let (kind, detail) = match definition.meaning {
            Meaning::Param(param) => (CompletionItemKind::CONSTANT, param.kind.text.clone()),
            Meaning::Let(Let { formals: Some(formals), .. }) => {
                let takes: Vec<&str> = formals.iter().map(|formal| formal.name.text.as_str()).collect();
                (CompletionItemKind::FUNCTION, format!("{name}({})", takes.join(", ")))
            }
            Meaning::Let(_) => (CompletionItemKind::VARIABLE, type_of(definition, self.names).described()),
            Meaning::Layer(_) | Meaning::Copy(_) | Meaning::Wheel(_) => {
                (CompletionItemKind::CLASS, ThingKind::Layer.word().to_owned())
            }
            Meaning::Ring(_) => (CompletionItemKind::ENUM, ThingKind::Ring.word().to_owned()),
            Meaning::Mark(mark) => (CompletionItemKind::FIELD, mark.work.word().to_owned()),
            Meaning::Thing(kind, _) => (CompletionItemKind::STRUCT, kind.word().to_owned()),
        };
        let says = match definition.meaning {
            Meaning::Param(param) => param.note.as_ref().map(|note| note.value.clone()),
            _ => None,
        };
        let snippet = (kind == CompletionItemKind::FUNCTION).then(|| format!("{name}($0)"));
        Choice { says, snippet, ..choice(name, kind, detail) }
    }

    /// Names and functions that give what is wanted; of quantities all, since arithmetic makes one of another.
    fn values(&self) -> Vec<Choice> {
        let wanted = self.context.wanted.clone();
        let rank = |kind: &Type| match &wanted {
            None => Some(1),
            Some(wanted) if kind.fits(wanted) => Some(0),
            Some(wanted) if matches!(kind, Type::List(of) if of.fits(wanted)) => Some(2),
            Some(Type::Quantity(_) | Type::Truth) if matches!(kind, Type::Quantity(_)) => Some(2),
            Some(Type::Truth) if matches!(kind, Type::Text | Type::List(_)) => Some(3),
            Some(Type::List(of)) if kind.fits(of) => Some(2),
            Some(_) => None,
        };
        let mut ranked: Vec<(u8, Choice)> = Vec::new();
        let locals = self.context.locals.iter();
        ranked.extend(locals.map(|name| (0, choice(name, CompletionItemKind::VARIABLE, "known here alone"))));
        for one in self.named(|_| true) {
            let Some(definition) = self.names.get(&one.label, self.context.layer.as_deref()) else { continue };
            let kind = type_of(definition, self.names);
            ranked.extend(rank(&kind).map(|rank| (rank, one)));
        }
        for function in FUNCTIONS.iter().copied().filter(|function| !function.is_measure() || self.context.measures) {
            let kind = function.gives.always().unwrap_or(Type::NUMBER);
            // A measure is what `expect` is for.
            let rank = if function.is_measure() { rank(&kind).map(|_| 1) } else { rank(&kind).map(|rank| rank + 1) };
            ranked.extend(rank.map(|rank| (rank, called(function))));
        }
        ranked.sort_by_key(|(rank, _)| *rank);
        let mut all: Vec<Choice> = ranked.into_iter().map(|(_, one)| one).collect();
        let truths = matches!(wanted, None | Some(Type::Truth));
        let own = words(Place::Value).into_iter().filter(|word| truths || word.label == Leading::If.word());
        all.extend(own.filter(|_| !matches!(wanted, Some(Type::Thing(_) | Type::Pivot))));
        all
    }
}

fn argument(name: &str, detail: &str) -> Choice {
    let label = format!("{name}:");
    Choice { snippet: Some(format!("{name}: $0")), ..choice(&label, CompletionItemKind::PROPERTY, detail) }
}

fn called(function: &Function) -> Choice {
    let entry = reference::function(function.word);
    let snippet = Some(format!("{}($0)", function.word));
    Choice { entry, snippet, ..choice(function.word, CompletionItemKind::FUNCTION, function.usage) }
}

/// Our own words that may stand in a place.
fn words(place: Place) -> Vec<Choice> {
    let offered = |word: Keyword| Choice {
        entry: reference::keyword_at(word.word, place),
        snippet: Some(word.snippet.to_owned()),
        ..choice(word.word, CompletionItemKind::KEYWORD, "")
    };
    keywords().filter(|word| word.place == place).map(offered).collect()
}

fn type_words() -> Vec<Choice> {
    let offered = |word: &TypeWord| Choice {
        entry: reference::with_role(word.word(), |role| matches!(role, Role::Type)),
        ..choice(word.word(), CompletionItemKind::TYPE_PARAMETER, word.stands_for().described())
    };
    TypeWord::ALL.iter().map(offered).collect()
}

/// What is shown beside what is offered: the reference's own text, else a note.
fn documentation(entry: Option<&'static Entry>, says: Option<String>) -> Option<Documentation> {
    let told = |entry: &Entry| MarkupContent { kind: MarkupKind::Markdown, value: entry.brief() };
    entry.map(told).map(Documentation::MarkupContent).or_else(|| says.map(Documentation::String))
}
