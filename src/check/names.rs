//! What every name stands for. One space of names for a dial and its shared files; a layer may add names of
//! its own, but none that is taken.

use std::collections::BTreeMap;

use crate::check::findings::names as say;
use crate::diagnostics::{Problems, suggest};
use crate::source::{SourceId, Span};
use crate::syntax::tree::{
    File, Item, Layer, LayerItem, Let, Mark, Marked, Name, Param, StackItem, StackLayer, Thing, Wheel,
};
use crate::vocabulary::blocks::BlockName;
use crate::vocabulary::types::ThingKind;

/// What a name stands for.
#[derive(Clone, Copy, Debug)]
pub enum Meaning<'t> {
    /// A parameter.
    Param(&'t Param),
    /// A binding or function.
    Let(&'t Let),
    /// A layer.
    Layer(&'t Layer),
    /// One copy of a layer, as it lies in the stack.
    Copy(&'t StackLayer),
    /// What turns in an opening of a layer, or about a point on it.
    Wheel(&'t Wheel),
    /// A ring of labels on a layer.
    Ring(&'t Mark),
    /// A named mark on a layer.
    Mark(&'t Mark),
    /// A block of the shop.
    Thing(ThingKind, &'t Thing),
}

impl Meaning<'_> {
    /// The kind of thing it is; none for params and bindings.
    pub fn thing(self) -> Option<ThingKind> {
        match self {
            Meaning::Param(_) | Meaning::Let(_) => None,
            Meaning::Layer(_) | Meaning::Copy(_) | Meaning::Wheel(_) => Some(ThingKind::Layer),
            Meaning::Ring(_) => Some(ThingKind::Ring),
            Meaning::Mark(_) => Some(ThingKind::Mark),
            Meaning::Thing(kind, _) => Some(kind),
        }
    }
}

/// A name and what it stands for.
#[derive(Clone, Copy, Debug)]
pub struct Definition<'t> {
    /// Where it is defined.
    pub span: Span,
    /// What it is.
    pub meaning: Meaning<'t>,
    /// The layer that alone knows it; none for a name of the whole dial.
    pub within: Option<&'t str>,
}

/// All names of a dial and its shared files.
#[derive(Clone, Debug, Default)]
pub struct Names<'t> {
    defined: BTreeMap<&'t str, Vec<Definition<'t>>>,
    /// The file of the built-in shop, where it is used.
    built_in: Option<SourceId>,
}

impl<'t> Names<'t> {
    /// Gathers the names of all files.
    pub fn gather(files: &[&'t File]) -> (Self, Problems) {
        Self::gather_beside(files, None)
    }

    /// The same where one of the files is the built-in shop.
    pub fn gather_beside(files: &[&'t File], built_in: Option<SourceId>) -> (Self, Problems) {
        let mut names = Self { built_in, ..Self::default() };
        let mut problems = Problems::default();
        for item in files.iter().flat_map(|file| &file.items) {
            names.item(item, &mut problems);
        }
        (names, problems)
    }

    /// What `name` stands for, seen from inside `layer` where one is given.
    pub fn get(&self, name: &str, layer: Option<&str>) -> Option<Definition<'t>> {
        let known = self.defined.get(name)?;
        known.iter().find(|definition| definition.within.is_none() || definition.within == layer).copied()
    }

    /// The definition that makes `name` unavailable outside its layer, where that is why it is not found.
    pub fn elsewhere(&self, name: &str) -> Option<Definition<'t>> {
        self.defined.get(name)?.first().copied()
    }

    /// The known name nearest to a misspelt one, among those for which `wanted` holds.
    pub fn nearest(&self, name: &str, wanted: impl Fn(Definition<'t>) -> bool) -> Option<&'t str> {
        let fits = |definitions: &Vec<Definition<'t>>| definitions.iter().any(|definition| wanted(*definition));
        let candidates = self.defined.iter().filter(|(_, definitions)| fits(definitions)).map(|(name, _)| *name);
        suggest::nearest(name, candidates)
    }

    /// Every name with its definitions, in order of name.
    pub fn iter(&self) -> impl Iterator<Item = (&'t str, Definition<'t>)> {
        self.defined.iter().flat_map(|(name, all)| all.iter().map(|definition| (*name, *definition)))
    }

    fn item(&mut self, item: &'t Item, problems: &mut Problems) {
        match item {
            Item::Param(param) => self.define(&param.name, Meaning::Param(param), None, problems),
            Item::Let(binding) => self.define(&binding.name, Meaning::Let(binding), None, problems),
            Item::Layer(layer) => self.layer(layer, problems),
            Item::Thing(thing) => {
                if let Some(kind) = BlockName::of_word(&thing.kind.text).and_then(BlockName::defines) {
                    self.define(&thing.name, Meaning::Thing(kind, thing), None, problems);
                }
            }
            Item::Stack(stack) => {
                let copies = stack.items.iter().filter_map(|item| match item {
                    StackItem::Layer(copy) => Some(copy),
                    _ => None,
                });
                for copy in copies {
                    if let Some(own) = &copy.own {
                        self.define(own, Meaning::Copy(copy), None, problems);
                    }
                    for (own, wheel) in copy.wheels.iter().filter_map(|wheel| Some((wheel.own.as_ref()?, wheel))) {
                        self.define(own, Meaning::Wheel(wheel), None, problems);
                    }
                }
            }
            _ => {}
        }
    }

    fn layer(&mut self, layer: &'t Layer, problems: &mut Problems) {
        self.define(&layer.name, Meaning::Layer(layer), None, problems);
        for item in &layer.items {
            match item {
                LayerItem::Let(binding) => {
                    self.define(&binding.name, Meaning::Let(binding), Some(&layer.name.text), problems);
                }
                LayerItem::Mark(mark) => match &mark.what {
                    Marked::Ring { name, .. } => self.define(name, Meaning::Ring(mark), None, problems),
                    Marked::Shape { name: Some(name), .. } => self.define(name, Meaning::Mark(mark), None, problems),
                    Marked::Shape { name: None, .. } => {}
                },
                _ => {}
            }
        }
    }

    fn define(&mut self, name: &'t Name, meaning: Meaning<'t>, within: Option<&'t str>, problems: &mut Problems) {
        let known = self.defined.entry(&name.text).or_default();
        // Two layers may each have a name of their own, but none that the whole dial knows: a name seen from
        // everywhere must mean one thing.
        let clash = known.iter().find(|other| within.is_none() || other.within.is_none() || other.within == within);
        if let Some(first) = clash {
            problems.push(if self.built_in == Some(name.span.source) {
                say::name_of_built_in(&name.text, first.span)
            } else {
                say::defined_twice(&name.text, name.span, first.span)
            });
            return;
        }
        let is_function = matches!(meaning, Meaning::Let(binding) if binding.formals.is_some());
        // Only functions: a `let circle = …` is no call and hides nothing.
        if is_function && crate::vocabulary::functions::function_named(&name.text).is_some() {
            problems.push(say::name_of_ours(&name.text, name.span));
            return;
        }
        known.push(Definition { span: name.span, meaning, within });
    }
}
