//! What stands under the pointer: kind, value, what it measures, and for a shape a picture.

use std::collections::BTreeMap;

use lsp_types::{Hover, HoverContents, MarkupContent, MarkupKind, Position};

use super::insight::Insight;
use super::mentions::{Local, Mention, What, at, mentions};
use super::picture;
use super::view::View;
use crate::check::names::{Definition, Meaning};
use crate::check::{Checked, Value, type_of};
use crate::diagnostics::Finding;
use crate::format;
use crate::project::Project;
use crate::reference::{self, Entry, Role};
use crate::source::{SourceId, Span};
use crate::syntax::tree::{Bounds, Expr, FieldValue};
use crate::syntax::{Lexeme, LexemeKind, lexemes_in_strings};
use crate::units::{Quantity, unit_named};
use crate::vocabulary::functions::{Function, Gives};
use crate::vocabulary::types::Type;

/// Whether pictures are shown where the answer is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pictures {
    /// They are: Markdown is rendered.
    Shown,
    /// They would appear as a long address.
    Hidden,
}

/// What is at a position; nothing where nothing is to be said.
pub fn hover(
    view: &View,
    insight: Option<&Insight>,
    project: &dyn Project,
    file: SourceId,
    position: Position,
    pictures: Pictures,
) -> Option<Hover> {
    let offset = view.offset(file, position);
    let (checked, _) = Checked::new(view.loaded(), project);
    let all = mentions(&view.files(), checked.names());
    let about = About { view, project, checked: &checked, pictures };
    let piece = piece_at(view.text(file), offset)?;
    let (span, text) = match at(&all, file, offset) {
        Some(mention) => (mention.span, about.mention(mention)),
        None => (Span::new(file, piece.range()), lexical(piece, view.text(file))),
    };
    let parts: Vec<String> = text.into_iter().chain(explained(view, insight, file, offset)).collect();
    let contents = MarkupContent { kind: MarkupKind::Markdown, value: parts.join("\n\n---\n\n") };
    (!parts.is_empty()).then(|| Hover { contents: HoverContents::Markup(contents), range: Some(view.range(span)) })
}

/// The pages that explain the findings whose main place this is, each once.
fn explained(view: &View, insight: Option<&Insight>, file: SourceId, offset: usize) -> Vec<String> {
    let of_view = view.findings().iter().map(|finding| (finding, view.sheets()));
    let of_insight =
        insight.into_iter().flat_map(|known| known.findings.iter().map(move |finding| (finding, &known.sheets)));
    let name = view.sheet(file).map(|sheet| sheet.name.as_str());
    let mut pages: Vec<String> = Vec::new();
    for (finding, sheets) in of_view.chain(of_insight) {
        let Some(span) = finding.span() else { continue };
        let range = span.range();
        let here = sheets.get(&span.source).map(|sheet| sheet.name.as_str()) == name;
        let page = finding.finding.page().trim_end().to_owned();
        if here && range.start <= offset && offset <= range.end && !pages.contains(&page) {
            pages.push(page);
        }
    }
    pages
}

fn piece_at(text: &str, offset: usize) -> Option<Lexeme> {
    lexemes_in_strings(text).into_iter().rfind(|piece| piece.start <= offset && offset <= piece.end)
}

/// What can be said of a word or number by itself.
fn lexical(piece: Lexeme, text: &str) -> Option<String> {
    match piece.kind {
        LexemeKind::Word => reference::keyword(piece.of(text)).map(Entry::brief),
        LexemeKind::Number => {
            let unit = unit_named(text.get(piece.unit..piece.end)?)?;
            let digits = text.get(piece.start..piece.unit)?.trim();
            let quantity = Quantity::of(number(digits)?, unit);
            Some(format!("{} = {quantity}", code(piece.of(text))))
        }
        _ => None,
    }
}

/// The value of digits as written: `1.5`, `1/8` or `1 1/8`.
fn number(digits: &str) -> Option<f64> {
    let fraction = |part: &str| match part.split_once('/') {
        Some((top, bottom)) => Some(top.parse::<f64>().ok()? / bottom.parse::<f64>().ok()?),
        None => part.parse().ok(),
    };
    digits.split_whitespace().map(fraction).sum()
}

/// A block of the language, on its own lines.
fn block(text: &str) -> String {
    format!("```dial\n{text}\n```")
}

fn code(text: &str) -> String {
    format!("`{}`", text.replace('`', "'"))
}

struct About<'v, 't> {
    view: &'v View,
    project: &'v dyn Project,
    checked: &'v Checked<'t>,
    pictures: Pictures,
}

impl<'t> About<'_, 't> {
    fn mention(&self, mention: &Mention<'t>) -> Option<String> {
        Some(match &mention.what {
            What::Named { name, definition, .. } => self.named(name, *definition),
            What::Local { name, kind: Local::Formal(formal), .. } => {
                format!("{}\n\nwhat the function takes", block(&format!("{name}: {}", formal.kind.text)))
            }
            What::Local { name, kind: Local::Variable, .. } => {
                format!("{}\n\neach value of the list in turn", code(name))
            }
            What::Local { name, kind: Local::Variant, .. } => format!("{}\n\na member of the family", code(name)),
            What::Unknown => return None,
            What::Function(function, call) => self.function(function, call, mention.layer),
            What::Argument(function, parameter) => {
                let (function, parameter) = (*function, (*parameter)?);
                let is_it = |role: &Role| matches!(role, Role::Argument(of, _) if of.word == function.word);
                reference::with_role(parameter.word, is_it)?.brief()
            }
            What::Field(known, spec) => {
                let (known, spec) = (*known, (*spec)?);
                let is_it = |role: &Role| matches!(role, Role::Field(block, _) if block.name == known.name);
                reference::with_role(spec.word, is_it)?.brief()
            }
            What::Choice(spec) => {
                let word = self.view.text(mention.span.source).get(mention.span.range())?;
                let is_it = |role: &Role| matches!(role, Role::FieldChoice(_, field, _) if field.word == spec.word);
                reference::with_role(word, is_it)?.brief()
            }
            What::KindWord => {
                let word = self.view.text(mention.span.source).get(mention.span.range())?;
                reference::with_role(word, |role| matches!(role, Role::Type))?.brief()
            }
            What::Finding => {
                Finding::named(self.view.text(mention.span.source).get(mention.span.range())?)?.page().to_owned()
            }
            What::Block(kind) => reference::keyword(kind.word())?.brief(),
        })
    }

    fn named(&self, name: &str, definition: Definition<'t>) -> String {
        let kind = type_of(definition, self.checked.names());
        let mut parts = vec![block(&self.written(definition))];
        match definition.meaning {
            Meaning::Param(param) => {
                parts.extend(param.note.as_ref().map(|note| note.value.clone()));
                parts.push(format!("{}{}", kind.described(), self.bounds(param.bounds.as_ref(), definition.span)));
                parts.extend(self.valued(name, definition));
            }
            Meaning::Let(binding) if binding.formals.is_some() => {
                parts.push(format!("a function that gives {}", kind.described()));
            }
            Meaning::Let(_) => {
                parts.push(kind.described());
                parts.extend(self.valued(name, definition));
            }
            Meaning::Layer(layer) => parts.push(format!("a layer cut from {}", code(&layer.stock.text))),
            Meaning::Copy(copy) => parts.push(format!("a copy of the layer {}", code(&copy.layer.text))),
            Meaning::Wheel(wheel) => parts.push(format!("turns a copy of the layer {}", code(&wheel.layer.text))),
            Meaning::Ring(_) => parts.push("a ring of labels".to_owned()),
            Meaning::Mark(mark) => {
                parts.push(format!("what {} names", code(mark.work.word())));
                if let crate::syntax::tree::Marked::Shape { value, .. } = &mark.what {
                    parts.extend(self.shown(value, self.layer_of(name)));
                }
            }
            Meaning::Thing(kind, thing) => {
                let readings = thing.fields.iter().filter(|field| !matches!(field.value, FieldValue::None)).count();
                parts.push(format!("{}, {readings} fields", with_article(kind.word())));
            }
        }
        if let Some(sheet) = self.view.sheet(definition.span.source)
            && self.view.sheets().keys().next() != Some(&definition.span.source)
        {
            parts.push(format!("from {}", code(&sheet.name)));
        }
        parts.join("\n\n")
    }

    /// The layer that a named mark is on.
    fn layer_of(&self, name: &str) -> Option<&'t str> {
        let layers = self.checked.names().iter().filter_map(|(_, definition)| match definition.meaning {
            Meaning::Layer(layer) => Some(layer),
            _ => None,
        });
        let holds = |layer: &&crate::syntax::tree::Layer| {
            layer.items.iter().any(|item| match item {
                crate::syntax::tree::LayerItem::Mark(mark) => matches!(
                    &mark.what,
                    crate::syntax::tree::Marked::Shape { name: Some(known), .. } if known.text == name
                ),
                _ => false,
            })
        };
        layers.into_iter().find(holds).map(|layer| layer.name.text.as_str())
    }

    /// The definition as written: a line, or the head of a block.
    fn written(&self, definition: Definition<'t>) -> String {
        let text = self.view.text(definition.span.source);
        let whole = match definition.meaning {
            Meaning::Param(param) => param.span,
            Meaning::Let(binding) => binding.span,
            Meaning::Layer(layer) => layer.span,
            Meaning::Copy(copy) => copy.span,
            Meaning::Wheel(wheel) => wheel.span,
            Meaning::Ring(mark) | Meaning::Mark(mark) => mark.span,
            Meaning::Thing(_, thing) => thing.span,
        };
        let written = text.get(whole.range()).unwrap_or("");
        const MOST_LINES: usize = 12;
        let lines: Vec<&str> = written.lines().collect();
        match lines.get(..MOST_LINES) {
            Some(first) if lines.len() > MOST_LINES => format!("{}\n  …", first.join("\n")),
            _ => written.trim_end().to_owned(),
        }
    }

    fn bounds(&self, bounds: Option<&Bounds>, at: Span) -> String {
        let text = self.view.text(at.source);
        let line = |value: &Expr| code(&format::one_line(value, text));
        match bounds {
            Some(Bounds::Between(least, most)) => format!(", from {} to {}", line(least), line(most)),
            Some(Bounds::OneOf(choices)) => {
                format!(", one of {}", choices.iter().map(line).collect::<Vec<_>>().join(", "))
            }
            None => String::new(),
        }
    }

    /// What a name comes to, with nothing set from outside.
    fn valued(&self, name: &str, definition: Definition<'t>) -> Vec<String> {
        let none = BTreeMap::new();
        let mut evaluator = self.checked.evaluator(&none, self.project);
        let (value, layer) = match definition.meaning {
            Meaning::Let(binding) => (&binding.value, definition.within),
            Meaning::Param(param) => (&param.value, None),
            _ => return Vec::new(),
        };
        evaluator.enter(layer);
        evaluator.value(value).map_or(Vec::new(), |value| self.described(&value, Some(name)))
    }

    /// What an expression comes to, where it needs nothing but the names of the dial.
    fn shown(&self, expr: &Expr, layer: Option<&str>) -> Vec<String> {
        let none = BTreeMap::new();
        let mut evaluator = self.checked.evaluator(&none, self.project);
        evaluator.enter(layer);
        evaluator.value(expr).map_or(Vec::new(), |value| self.described(&value, None))
    }

    fn described(&self, value: &Value, name: Option<&str>) -> Vec<String> {
        let shown = value.to_string();
        let shown = match shown.char_indices().nth(200) {
            Some((end, _)) => format!("{}…", shown.get(..end).unwrap_or("")),
            None => shown,
        };
        let size = match value {
            Value::Region(figure) => figure.region.bounds().map(|bounds| {
                let size = |side: f64| crate::units::plain(side, 2);
                format!(
                    "{}mm wide, {}mm high, {}mm² in all",
                    size(bounds.width()),
                    size(bounds.height()),
                    size(figure.region.area())
                )
            }),
            _ => None,
        };
        let head = match (name, size) {
            (_, Some(size)) => size,
            (Some(name), None) => format!("{} = {}", code(name), code(&shown)),
            (None, None) => code(&shown),
        };
        let picture = match value {
            _ if self.pictures == Pictures::Hidden => None,
            Value::Region(figure) => picture::markdown(figure.region.path(), true),
            Value::Trace(line) => picture::markdown(line.trace.path(), false),
            _ => None,
        };
        [Some(head), picture].into_iter().flatten().collect()
    }

    fn function(&self, function: &Function, call: &Expr, layer: Option<&str>) -> String {
        let mut parts: Vec<String> = reference::function(function.word).map(Entry::brief).into_iter().collect();
        parts.push(match &function.gives {
            Gives::Type(kind) => format!("gives {}", kind.described()),
            Gives::Labels => format!("gives {}", Type::list(Type::Label).described()),
            Gives::SameAsFirst => "gives what its first argument is".to_owned(),
            Gives::EachOf(kind) => {
                format!("gives {}; of a list, {}", kind.described(), Type::list(kind.clone()).described())
            }
            Gives::OfTable => "gives a list".to_owned(),
            Gives::Root => "gives the square root".to_owned(),
        });
        if !function.is_measure() {
            parts.extend(self.shown(call, layer));
        }
        parts.join("\n\n")
    }
}

fn with_article(word: &str) -> String {
    if matches!(word, "spreads" | "rates" | "drawing") { word.to_owned() } else { format!("a {word}") }
        .replace("a adhesive", "an adhesive")
}
