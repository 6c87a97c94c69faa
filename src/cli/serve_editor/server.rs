//! What is open, what is known of it, and what is shown.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use lsp_server::Notification;
use lsp_types::{
    Diagnostic, DidChangeTextDocumentParams, DidCloseTextDocumentParams, DidOpenTextDocumentParams,
    DidSaveTextDocumentParams, InitializeParams, PublishDiagnosticsParams, Uri,
};
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::PAUSE;
use super::abilities::{Wishes, abilities, wishes};
use super::files::{Document, Files, Open, path_of, that_may_share};
use super::worker::{Done, Job};
use crate::editor::text::changed;
use crate::editor::{Insight, View, notices};
use crate::source::SourceId;

/// A design that is looked after.
pub(super) struct Design {
    files: Files,
    /// What its texts tell; none where it cannot be read.
    view: Option<View>,
    insight: Option<Insight>,
    /// Since when it waits to be looked at whole.
    waits_since: Option<Instant>,
}

/// Everything that a session knows.
pub(super) struct Server {
    pub(super) wishes: Wishes,
    documents: BTreeMap<String, Document>,
    designs: BTreeMap<String, Design>,
    /// Texts that changed since designs were last read.
    changed: BTreeSet<String>,
    /// Designs whose findings are not shown yet.
    unshown: BTreeSet<String>,
    /// Files whose findings are to be shown again.
    touched: BTreeSet<String>,
    /// What is shown of each design in each file.
    shown: BTreeMap<String, Vec<(Uri, Vec<Diagnostic>)>>,
    /// The files that have something shown in them.
    marked: BTreeMap<String, Uri>,
    /// The design being looked at, and how to stop that.
    underway: Option<(String, Arc<AtomicBool>)>,
}

impl Server {
    /// A server for an editor that wishes so, and what it is told.
    pub(super) fn new(parameters: InitializeParams) -> (Self, Value) {
        let wishes = wishes(&parameters);
        let told = abilities(&wishes);
        let server = Self {
            wishes,
            documents: BTreeMap::new(),
            designs: BTreeMap::new(),
            changed: BTreeSet::new(),
            unshown: BTreeSet::new(),
            touched: BTreeSet::new(),
            shown: BTreeMap::new(),
            marked: BTreeMap::new(),
            underway: None,
        };
        (server, told)
    }

    /// Takes note of something. What cannot be understood is passed over: the protocol knows no answer.
    pub(super) fn notification(&mut self, method: &str, parameters: Value) {
        match method {
            "textDocument/didOpen" => self.opened(parameters),
            "textDocument/didChange" => self.edited(parameters),
            "textDocument/didClose" => self.closed(parameters),
            "textDocument/didSave" => self.saved(parameters),
            "workspace/didChangeWatchedFiles" => self.elsewhere_changed(),
            _ => {}
        }
    }

    fn opened(&mut self, parameters: Value) {
        let Some(DidOpenTextDocumentParams { text_document: it }) = read(parameters) else { return };
        let key = it.uri.as_str().to_owned();
        let document = Document { uri: it.uri, version: it.version, text: Arc::from(it.text) };
        self.documents.insert(key.clone(), document);
        self.changed.insert(key);
    }

    fn edited(&mut self, parameters: Value) {
        let Some(DidChangeTextDocumentParams { text_document: it, content_changes }) = read(parameters) else { return };
        let Some(document) = self.documents.get_mut(it.uri.as_str()) else { return };
        document.text = changed(&document.text, content_changes, self.wishes.encoding);
        document.version = it.version;
        self.changed.insert(it.uri.as_str().to_owned());
    }

    fn closed(&mut self, parameters: Value) {
        let Some(DidCloseTextDocumentParams { text_document: it }) = read(parameters) else { return };
        self.documents.remove(it.uri.as_str());
        self.changed.insert(it.uri.as_str().to_owned());
    }

    /// A saved design is looked at whole at once.
    fn saved(&mut self, parameters: Value) {
        let Some(DidSaveTextDocumentParams { text_document: it, .. }) = read(parameters) else { return };
        // As if it had waited its time already. Some systems count from their start, where a moment before that is
        // none.
        let long_ago = Instant::now().checked_sub(PAUSE);
        for (_, design) in self.designs.iter_mut().filter(|(_, design)| design.holds(&it.uri)) {
            design.waits_since = long_ago.or(design.waits_since);
        }
    }

    /// Files that are not open changed on disk.
    fn elsewhere_changed(&mut self) {
        self.changed.extend(self.documents.keys().cloned());
    }

    /// All open texts that have a place on disk.
    fn open(&self) -> Open {
        let placed =
            |document: &Document| Some((path_of(&document.uri)?, (document.uri.clone(), Arc::clone(&document.text))));
        self.documents.values().filter_map(placed).collect()
    }

    /// Reads again what changed, so that what is asked next is answered from the texts as they are.
    pub(super) fn catch_up(&mut self) {
        if self.changed.is_empty() {
            return;
        }
        let changed = std::mem::take(&mut self.changed);
        let open = self.open();
        let stale = |key: &String, design: &Design| changed.iter().any(|text| text == key || design.holds_named(text));
        let stale: Vec<String> =
            self.designs.iter().filter(|(key, design)| stale(key, design)).map(|(key, _)| key.clone()).collect();
        stale.iter().for_each(|key| self.refresh(key, &open));
        self.choose_designs(&open);
        self.touched.extend(changed);
    }

    /// What is to be shown for all that changed.
    pub(super) fn settle(&mut self) -> Vec<Notification> {
        self.catch_up();
        let unshown = std::mem::take(&mut self.unshown);
        for key in &unshown {
            let touched = self.show(key);
            self.touched.extend(touched);
        }
        let gone: Vec<String> = self.shown.keys().filter(|key| !self.designs.contains_key(*key)).cloned().collect();
        for key in gone {
            let old = self.shown.remove(&key).unwrap_or_default();
            self.touched.extend(old.iter().map(|(uri, _)| uri.as_str().to_owned()));
        }
        let touched = std::mem::take(&mut self.touched);
        touched.into_iter().filter_map(|file| self.published(file)).collect()
    }

    /// Reads a design anew, if it is there already or not.
    fn refresh(&mut self, key: &str, open: &Open) {
        let Some(design) = self.designs.get_mut(key) else { return };
        design.files = design.files.with(&self.documents, open);
        let places = |name: &str| design.files.uri(name);
        design.view = View::read(&design.files, &design.files.name, &places, self.wishes.encoding).ok();
        if let (Some(insight), Some(view)) = (&mut design.insight, &design.view) {
            // What is known of the finished dial stays shown while a key is pressed, and moves along with the text;
            // what an edit touches is forgotten.
            view.sheets().values().for_each(|sheet| insight.follow(&sheet.name, sheet.lines.text()));
        }
        design.waits_since = Some(Instant::now());
        self.unshown.insert(key.to_owned());
        // What is outrun ends before its next variant, and its answer would be to a text that is gone.
        if let Some((underway, stop)) = &self.underway
            && underway == key
        {
            stop.store(true, Ordering::Relaxed);
        }
    }

    fn look_after(&mut self, key: &str, files: Files, open: &Open) {
        self.designs.insert(key.to_owned(), Design { files, view: None, insight: None, waits_since: None });
        self.refresh(key, open);
    }

    /// Looks after every open dial, and for every other open text after a dial that shares it; the text alone where
    /// there is none. What nobody has open any more is let go.
    fn choose_designs(&mut self, open: &Open) {
        let texts: Vec<(String, Uri)> =
            self.documents.iter().map(|(key, document)| (key.clone(), document.uri.clone())).collect();
        for (key, uri) in &texts {
            if !self.designs.contains_key(key) {
                let files = path_of(uri).map_or_else(|| Files::unsaved(uri), |path| Files::on_disk(&path));
                self.look_after(key, files, open);
            }
        }
        let dials: BTreeSet<String> =
            self.designs.iter().filter(|(_, it)| it.is_dial()).map(|(k, _)| k.clone()).collect();
        let mut kept: BTreeSet<String> =
            dials.iter().filter(|key| self.documents.contains_key(*key)).cloned().collect();
        for (key, uri) in texts.iter().filter(|(key, _)| !dials.contains(key)) {
            let sharing = |keys: &BTreeSet<String>| {
                keys.iter().find(|known| self.designs.get(*known).is_some_and(|design| design.holds(uri))).cloned()
            };
            // A file that is no dial is read with a dial that shares it: an open one, else the first of its folder.
            // So a shop is never told that it lacks a stack.
            let user = sharing(&kept).or_else(|| sharing(&dials)).or_else(|| self.found_on_disk(uri, open));
            kept.insert(user.unwrap_or_else(|| key.clone()));
        }
        self.designs.retain(|key, _| kept.contains(key));
    }

    /// A dial on disk that shares a text, now looked after.
    fn found_on_disk(&mut self, uri: &Uri, open: &Open) -> Option<String> {
        let (key, files) = self.sharing(uri, open).into_iter().next().map(|(key, files, _)| (key, files))?;
        self.look_after(&key, files, open);
        Some(key)
    }

    /// Every design that a file belongs to, on disk or open: the dials that share it, and itself where none does.
    pub(super) fn designs_of(&self, uri: &Uri) -> Vec<(Files, View)> {
        let open = self.open();
        let found: Vec<(Files, View)> =
            self.sharing(uri, &open).into_iter().map(|(_, files, view)| (files, view)).collect();
        if !found.is_empty() {
            return found;
        }
        let own = self.place(uri).map(|(design, view, _)| (design.files.clone(), view.clone()));
        own.into_iter().collect()
    }

    /// Every dial, open or on disk, that a file belongs to.
    fn sharing(&self, uri: &Uri, open: &Open) -> Vec<(String, Files, View)> {
        let Some(path) = path_of(uri) else { return Vec::new() };
        let mut paths: Vec<PathBuf> = vec![path.clone()];
        paths.extend(that_may_share(&path, self.wishes.folder.as_deref().map(Path::new)));
        let view = |path: &PathBuf| {
            let files = Files::on_disk(path).with(&self.documents, open);
            let key = files.uri(&files.name)?.as_str().to_owned();
            let view = View::read(&files, &files.name, &|name| files.uri(name), self.wishes.encoding).ok()?;
            let shares = view.is_dial() && view.sheets().values().any(|sheet| sheet.uri.as_ref() == Some(uri));
            shares.then_some((key, files, view))
        };
        paths.iter().filter_map(view).collect()
    }

    /// Works out what is shown of a design; the files that this is about, old and new.
    fn show(&mut self, key: &str) -> BTreeSet<String> {
        let Some(design) = self.designs.get(key) else { return BTreeSet::new() };
        let new: Vec<(Uri, Vec<Diagnostic>)> = match &design.view {
            Some(view) => {
                let notices = notices(view, design.insight.as_ref());
                notices.into_iter().map(|notice| (notice.uri, notice.diagnostics)).collect()
            }
            None => Vec::new(),
        };
        let mut touched: BTreeSet<String> = new.iter().map(|(uri, _)| uri.as_str().to_owned()).collect();
        let old = self.shown.insert(key.to_owned(), new).unwrap_or_default();
        touched.extend(old.iter().map(|(uri, _)| uri.as_str().to_owned()));
        touched
    }

    /// What is to be sent for a file: the findings of all designs that it belongs to. A file that nobody has open is
    /// spoken of only where there is, or was, something to say.
    fn published(&mut self, file: String) -> Option<Notification> {
        let mut diagnostics: Vec<Diagnostic> = Vec::new();
        let document = self.documents.get(&file);
        let mut uri = document.map(|document| document.uri.clone());
        for (known, findings) in self.shown.values().flatten().filter(|(known, _)| known.as_str() == file) {
            uri = uri.or_else(|| Some(known.clone()));
            for finding in findings {
                if !diagnostics.contains(finding) {
                    diagnostics.push(finding.clone());
                }
            }
        }
        // An editor keeps showing what it was told until it is told otherwise, so a file that had findings is sent
        // its empty list once.
        let uri = uri.or_else(|| self.marked.get(&file).cloned())?;
        let was_marked = self.marked.remove(&file).is_some();
        if !diagnostics.is_empty() {
            self.marked.insert(file, uri.clone());
        } else if document.is_none() && !was_marked {
            return None;
        }
        let version = document.map(|document| document.version);
        let parameters = PublishDiagnosticsParams { uri, diagnostics, version };
        Some(Notification::new("textDocument/publishDiagnostics".to_owned(), parameters))
    }

    /// How long to wait for messages before a design is due; `idle` where none waits or one is being looked at.
    pub(super) fn wait(&self, idle: Duration) -> Duration {
        let first = self.designs.values().filter_map(|design| design.waits_since).min();
        match first {
            Some(since) if self.underway.is_none() => PAUSE.saturating_sub(since.elapsed()),
            _ => idle,
        }
    }

    /// The design that has waited long enough, as a job.
    pub(super) fn next_job(&mut self) -> Option<Job> {
        // One at a time: a whole design takes all processors anyway.
        if self.underway.is_some() {
            return None;
        }
        let due = |design: &Design| design.waits_since.is_some_and(|since| since.elapsed() >= PAUSE);
        let (key, design) = self.designs.iter_mut().find(|(_, design)| due(design))?;
        design.waits_since = None;
        let stop = Arc::new(AtomicBool::new(false));
        self.underway = Some((key.clone(), Arc::clone(&stop)));
        let files = design.files.clone();
        Some(Job { design: key.clone(), files, encoding: self.wishes.encoding, stop })
    }

    /// Takes in what the worker found, unless the design was changed meanwhile.
    pub(super) fn done(&mut self, done: Done) {
        self.underway = None;
        let Some(design) = self.designs.get_mut(&done.design) else { return };
        // None where it was outrun: the older insight stays shown until the next one is there.
        if done.insight.is_some() {
            design.insight = done.insight;
            self.unshown.insert(done.design);
        }
    }

    /// Stops whatever is underway.
    pub(super) fn stop(&self) {
        self.underway.iter().for_each(|(_, stop)| stop.store(true, Ordering::Relaxed));
    }

    /// An open text.
    pub(super) fn document(&self, uri: &Uri) -> Option<&Document> {
        self.documents.get(uri.as_str())
    }

    /// The design that a text belongs to, and the text's number in it: the text's own where it is a dial.
    pub(super) fn place(&self, uri: &Uri) -> Option<(&Design, &View, SourceId)> {
        let own = self.designs.get(uri.as_str()).into_iter();
        own.chain(self.designs.values()).find_map(|design| {
            let view = design.view.as_ref()?;
            let (file, _) = view.sheets().iter().find(|(_, sheet)| sheet.uri.as_ref() == Some(uri))?;
            Some((design, view, *file))
        })
    }
}

impl Design {
    /// Its files.
    pub(super) fn files(&self) -> &Files {
        &self.files
    }

    /// What is known of the finished dial.
    pub(super) fn insight(&self) -> Option<&Insight> {
        self.insight.as_ref()
    }

    fn is_dial(&self) -> bool {
        self.view.as_ref().is_some_and(View::is_dial)
    }

    fn holds(&self, uri: &Uri) -> bool {
        self.holds_named(uri.as_str())
    }

    fn holds_named(&self, uri: &str) -> bool {
        let sheets = self.view.iter().flat_map(|view| view.sheets().values());
        sheets.filter_map(|sheet| sheet.uri.as_ref()).any(|known| known.as_str() == uri)
    }
}

fn read<T: DeserializeOwned>(parameters: Value) -> Option<T> {
    serde_json::from_value(parameters).ok()
}
