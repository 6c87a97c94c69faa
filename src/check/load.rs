//! Reads a design and every shared file that it names, and parses them.

use crate::check::findings::values as say;
use crate::diagnostics::{Diagnostic, Problems};
use crate::limits;
use crate::project::{Project, ReadProblem, beside};
use crate::source::{SourceId, Sources, Span};
use crate::syntax::tree::{File, Item, Text};
use crate::syntax::{Comment, parse};

/// The shop that is used where a dial names none: nominal figures, written in the language itself.
const NOMINAL_SHOP: &str = include_str!("nominal.dial");
/// How messages name it.
pub const NOMINAL_SHOP_NAME: &str = "(built-in shop)";

/// One file, parsed.
#[derive(Clone, Debug)]
pub struct LoadedFile {
    /// Its tree.
    pub file: File,
    /// Its comments.
    pub comments: Vec<Comment>,
    /// Where it was asked for; none for the design itself and the built-in shop.
    pub asked_at: Option<Span>,
}

/// A design with its shared files, parsed.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// Every text that was read.
    pub sources: Sources,
    /// The design first, then its shared files in the order met.
    pub files: Vec<LoadedFile>,
    /// Whether the built-in shop had to serve.
    pub nominal_shop: bool,
    /// What was found on the way.
    pub problems: Problems,
    /// Text of which nothing could be made out.
    pub lost: Vec<Span>,
}

/// Why the design itself could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum LoadError {
    /// The file cannot be had.
    Unreadable(ReadProblem),
    /// It is not UTF-8; the line of the first fault, from 1.
    NotText(usize),
}

/// Reads the design `name` and everything that it shares. `shown_in` is the folder as messages show it.
///
/// ```
/// use dialwright::check::load;
/// use dialwright::project::MemoryProject;
///
/// let project = MemoryProject::default()
///     .with("crew.dial", "dial \"Crew\"\nwith \"shop.dial\"\n")
///     .with("shop.dial", "shop \"Ours\"\nstock birch { thickness 2.95mm }\n");
/// let loaded = load(&project, "crew.dial", "").expect("the file is there");
/// let names: Vec<&str> = loaded.sources.iter().map(|(_, file)| file.name.as_str()).collect();
/// assert_eq!(names, ["crew.dial", "shop.dial"]);
/// assert!(!loaded.nominal_shop && loaded.problems.iter().next().is_none());
/// ```
///
/// # Errors
/// Only where the design itself cannot be read; a shared file that cannot is a finding.
pub fn load(project: &dyn Project, name: &str, shown_in: &str) -> Result<Loaded, LoadError> {
    let text = read_text(project, name)?;
    let mut loader = Loader {
        project,
        loaded: Loaded {
            sources: Sources::shown_in(shown_in),
            files: Vec::new(),
            nominal_shop: false,
            problems: Problems::default(),
            lost: Vec::new(),
        },
    };
    loader.file(name, text, None, &mut vec![name.to_owned()]);
    if !loader.loaded.files.iter().any(|loaded| loaded.file.items.iter().any(|item| matches!(item, Item::Shop(_)))) {
        // The built-in shop is a file of the language, used only where no shop is shared, so that nominal and
        // measured figures never mix.
        loader.loaded.nominal_shop = true;
        loader.file(NOMINAL_SHOP_NAME, NOMINAL_SHOP.to_owned(), None, &mut Vec::new());
    }
    Ok(loader.loaded)
}

/// The text of the file `name`.
///
/// # Errors
/// Where it cannot be had, is larger than a design may be, or is not UTF-8.
pub fn read_text(project: &dyn Project, name: &str) -> Result<String, LoadError> {
    let bytes = project.read(name, limits::FILE_BYTES).map_err(LoadError::Unreadable)?;
    String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let before = error.as_bytes().get(..valid).unwrap_or_default();
        LoadError::NotText(before.iter().filter(|byte| **byte == b'\n').count() + 1)
    })
}

struct Loader<'p> {
    project: &'p dyn Project,
    loaded: Loaded,
}

impl Loader<'_> {
    /// Parses one file, then what it shares. `path` holds the names from the design down to this file.
    fn file(&mut self, name: &str, text: String, asked_at: Option<Span>, path: &mut Vec<String>) {
        let id: SourceId = self.loaded.sources.add(name, text);
        let parsed = parse(&self.loaded.sources, id);
        self.loaded.problems.extend(parsed.problems);
        self.loaded.lost.extend(parsed.lost);
        let shared: Vec<Text> = parsed
            .file
            .items
            .iter()
            .filter_map(|item| match item {
                Item::With(text) => Some(text.clone()),
                _ => None,
            })
            .collect();
        self.loaded.files.push(LoadedFile { file: parsed.file, comments: parsed.comments, asked_at });
        for text in shared {
            self.shared(name, &text, path);
        }
    }

    fn shared(&mut self, from: &str, text: &Text, path: &mut Vec<String>) {
        match self.open(from, text, path) {
            Ok(Some((name, content))) => {
                path.push(name.clone());
                self.file(&name, content, Some(text.span), path);
                path.pop();
            }
            Ok(None) => {}
            Err(diagnostic) => self.loaded.problems.push(*diagnostic),
        }
    }

    /// Name and text of a shared file; none where it was read before.
    fn open(&self, from: &str, text: &Text, path: &[String]) -> Result<Option<(String, String)>, Box<Diagnostic>> {
        let name = beside(from, &text.value).ok_or_else(|| say::outside_folder(&text.value, text.span))?;
        if path.contains(&name) {
            return Err(Box::new(say::circular_with(path, &name, text.span)));
        }
        if path.len() > limits::WITH_DEPTH {
            return Err(Box::new(say::with_too_deep(text.span)));
        }
        // Shared twice on different ways it is one file; in a circle it would have been found above.
        if self.loaded.sources.iter().any(|(_, file)| file.name == name) {
            return Ok(None);
        }
        let content = read_text(self.project, &name).map_err(|error| match error {
            LoadError::Unreadable(problem) => say::cannot_read(&text.value, &problem, text.span),
            LoadError::NotText(line) => say::not_text(&text.value, line, text.span),
        })?;
        Ok(Some((name, content)))
    }
}
