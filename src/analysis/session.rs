//! A design that was read, with what is asked of it.

use super::Request;
use super::accepted::marked;
use super::checked::CheckedSession;
use super::unread::{Unread, independent};
use super::variants::chosen;
use crate::check::{Checked, LoadError, Loaded, SettingText, load};
use crate::diagnostics::Problems;
use crate::project::Project;
use crate::revision::{Files, Recorder, of_sources};
use crate::source::Sources;
use crate::syntax::parse_expression;
use crate::syntax::tree::{Expr, Item};

/// A design that was read, with what is asked of it.
#[derive(Debug)]
pub struct Session {
    pub(super) loaded: Loaded,
    pub(super) request: Request,
    /// The texts of the files, without those of settings.
    texts_read: Files,
    /// Text that could not be read.
    pub(super) unread: Unread,
    settings: Vec<SettingText>,
    problems: Problems,
}

impl Session {
    /// Reads the design `name` and what it shares. `shown_in` is its folder as messages show it.
    ///
    /// # Errors
    /// Only where the design itself cannot be read; all else is a finding.
    pub fn open(project: &dyn Project, name: &str, shown_in: &str, request: &Request) -> Result<Self, LoadError> {
        let mut loaded = load(project, name, shown_in)?;
        let problems = std::mem::take(&mut loaded.problems);
        let mut session = Self {
            texts_read: of_sources(&loaded.sources),
            unread: Unread::of(&problems, &loaded),
            loaded,
            request: request.clone(),
            settings: Vec::new(),
            problems,
        };
        for (name, text) in &request.settings {
            let value = session.ask(&format!("--set {name}"), text);
            session.settings.extend(value.map(|value| SettingText { name: name.clone(), value }));
        }
        Ok(session)
    }

    /// Reads an expression of the language that came with the flag `from`, such as `--where`. What is wrong with it is
    /// among the problems of the [`CheckedSession`].
    pub fn ask(&mut self, from: &str, text: &str) -> Option<Expr> {
        let id = self.loaded.sources.add(format!("({from})"), text);
        let (value, found) = parse_expression(&self.loaded.sources, id);
        self.problems.extend(found);
        value
    }

    /// Every text that was read.
    pub fn sources(&self) -> &Sources {
        &self.loaded.sources
    }

    /// Whether this is no dial by itself but something that dials share, such as a shop.
    pub fn is_shared(&self) -> bool {
        let own = self.loaded.files.first().map(|loaded| loaded.file.items.as_slice()).unwrap_or_default();
        let of_dial = |item: &Item| matches!(item, Item::Dial(_) | Item::Layer(_) | Item::Stack(_));
        // With a fault in it nobody can tell what it was meant to be, so it is checked like any design.
        self.problems.iter().next().is_none() && !own.is_empty() && !own.iter().any(of_dial)
    }

    /// Whether the design has a family.
    pub fn has_family(&self) -> bool {
        let mut items = self.loaded.files.iter().flat_map(|loaded| &loaded.file.items);
        items.any(|item| matches!(item, Item::Family(_)))
    }

    /// Checks names and kinds, and finds the variants.
    pub fn check<'s>(&'s self, project: &'s dyn Project) -> CheckedSession<'s> {
        // What is read here belongs to every variant: typefaces and artwork that the family itself asks for.
        let recorder = Recorder::new(project);
        let mut problems = self.problems.clone();
        let (checked, found) = Checked::new(&self.loaded, &recorder);
        problems.extend(independent(found, &self.unread, &self.loaded.sources));
        let (settings, found) = checked.settings(&self.settings, &recorder);
        problems.extend(found);
        let (all, mut found) = checked.variants(&settings, &recorder);
        let variants = chosen(all, self.request.variant.as_deref(), &mut found);
        problems.extend(independent(found, &self.unread, &self.loaded.sources));
        let problems = marked(problems, &checked.accepted());
        let shared = self.texts_read.clone().into_iter().chain(recorder.files()).collect();
        CheckedSession { session: self, project, checked, settings, shared, variants, problems }
    }
}
