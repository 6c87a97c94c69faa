//! A design as an editor sees it while it is typed: its files, their trees, and where each lies.

use std::collections::BTreeMap;
use std::sync::Arc;

use lsp_types::{Location, Position, Uri};

use super::text::{Encoding, Lines};
use crate::analysis::{QuickCheck, quick_check};
use crate::check::LoadError;
use crate::check::load::NOMINAL_SHOP_NAME;
use crate::diagnostics::Diagnostic;
use crate::project::Project;
use crate::source::{SourceId, Sources, Span};
use crate::syntax::tree::{File, Item};

/// Where the file of a name lies; none for one that no editor can open.
pub type Places<'p> = &'p dyn Fn(&str) -> Option<Uri>;

/// One file.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its name in the folder of the design.
    pub name: String,
    /// Where an editor finds it; none for the built-in shop.
    pub uri: Option<Uri>,
    /// Its text.
    pub lines: Lines,
}

/// The files of a run, as sheets.
pub(super) fn sheets(sources: &Sources, places: Places<'_>, encoding: Encoding) -> BTreeMap<SourceId, Sheet> {
    let sheet = |(id, file): (SourceId, &crate::source::SourceFile)| {
        let uri = if file.name == NOMINAL_SHOP_NAME { None } else { places(&file.name) };
        let lines = Lines::new(Arc::clone(&file.text), encoding);
        (id, Sheet { name: file.name.clone(), uri, lines })
    };
    sources.iter().map(sheet).collect()
}

/// A design and all that it shares, as typed.
#[derive(Clone, Debug)]
pub struct View {
    checked: QuickCheck,
    sheets: BTreeMap<SourceId, Sheet>,
}

impl View {
    /// Reads the design `name`. Open texts stand in `project` in the place of those on disk.
    ///
    /// # Errors
    /// Only where the design itself cannot be read.
    pub fn read(project: &dyn Project, name: &str, places: Places<'_>, encoding: Encoding) -> Result<Self, LoadError> {
        let checked = quick_check(project, name, "")?;
        let sheets = sheets(&checked.loaded.sources, places, encoding);
        Ok(Self { checked, sheets })
    }

    /// Whether the file that was asked for is a dial by itself, and not something that dials share.
    pub fn is_dial(&self) -> bool {
        let items = self.checked.loaded.files.first().map(|loaded| loaded.file.items.as_slice()).unwrap_or_default();
        items.iter().any(|item| matches!(item, Item::Dial(_)))
    }

    /// Whether all of its texts could be read.
    pub fn is_whole(&self) -> bool {
        self.checked.whole
    }

    /// What was found in its texts, in order of place.
    pub fn findings(&self) -> &[Diagnostic] {
        &self.checked.findings
    }

    /// All files with their numbers.
    pub fn sheets(&self) -> &BTreeMap<SourceId, Sheet> {
        &self.sheets
    }

    /// What was read.
    pub fn loaded(&self) -> &crate::check::Loaded {
        &self.checked.loaded
    }

    /// The trees of all files, the design first.
    pub fn files(&self) -> Vec<&File> {
        self.checked.loaded.files.iter().map(|loaded| &loaded.file).collect()
    }

    /// The number of the file of a name.
    pub fn file_named(&self, name: &str) -> Option<SourceId> {
        self.sheets.iter().find(|(_, sheet)| sheet.name == name).map(|(id, _)| *id)
    }

    /// The sheet of a file.
    pub fn sheet(&self, file: SourceId) -> Option<&Sheet> {
        self.sheets.get(&file)
    }

    /// The tree of a file.
    pub fn tree(&self, file: SourceId) -> Option<&File> {
        self.checked.loaded.files.iter().map(|loaded| &loaded.file).find(|tree| tree.source == file)
    }

    /// The text of a file.
    pub fn text(&self, file: SourceId) -> &str {
        self.sheets.get(&file).map_or("", |sheet| sheet.lines.text())
    }

    /// The byte at a position of a file.
    pub fn offset(&self, file: SourceId, position: Position) -> usize {
        self.sheets.get(&file).map_or(0, |sheet| sheet.lines.offset(position))
    }

    /// Where an editor finds a span; none in the built-in shop.
    pub fn location(&self, span: Span) -> Option<Location> {
        let sheet = self.sheets.get(&span.source)?;
        Some(Location::new(sheet.uri.clone()?, sheet.lines.range(span.range())))
    }

    /// The range of a span in its file.
    pub fn range(&self, span: Span) -> lsp_types::Range {
        self.sheets.get(&span.source).map(|sheet| sheet.lines.range(span.range())).unwrap_or_default()
    }
}
