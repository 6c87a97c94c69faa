//! An editor for tests: it starts the real program and speaks the protocol with it, as messages of `lsp_types`.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ExitStatus};
use std::str::FromStr;
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use lsp_types::notification::{self as notes, Notification};
use lsp_types::request::{self as asks, Request};
use lsp_types::{
    Diagnostic, DidChangeTextDocumentParams, DidOpenTextDocumentParams, InitializeResult, Position,
    PublishDiagnosticsParams, Range, TextDocumentContentChangeEvent, TextDocumentIdentifier, TextDocumentItem,
    TextDocumentPositionParams, Uri, VersionedTextDocumentIdentifier,
};
use serde_json::{Value, json};
use tempfile::TempDir;

use super::wire::{received, send, started};

/// Longer than anything takes on a machine that is busy with other tests.
const PATIENCE: Duration = Duration::from_secs(60);

/// An editor with one folder open.
pub struct Editor {
    child: Child,
    input: Option<ChildStdin>,
    inbox: Receiver<Value>,
    folder: TempDir,
    /// What the server said of itself.
    pub told: InitializeResult,
    requests: i64,
    versions: i32,
    /// Findings as last shown, by file, with the version they are for.
    shown: Vec<PublishDiagnosticsParams>,
}

impl Editor {
    /// With these files in a folder of its own, and abilities as the protocol gives them, such as
    /// `{"general": {"positionEncodings": ["utf-8"]}}`.
    pub fn with_abilities(files: &[(&str, &str)], abilities: Value) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in files {
            let path = folder.path().join(name);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        let (child, input, mut output) = started();
        let (sender, inbox) = channel();
        std::thread::spawn(move || {
            while let Some(message) = received(&mut output) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        let mut editor = Self {
            child,
            input: Some(input),
            inbox,
            folder,
            told: InitializeResult::default(),
            requests: 0,
            versions: 0,
            shown: Vec::new(),
        };
        let root = editor.uri("");
        let wishes = json!({ "processId": null, "rootUri": root, "capabilities": abilities });
        let told = editor.ask("initialize", wishes).unwrap();
        editor.told = serde_json::from_value(told).unwrap();
        editor.note("initialized", json!({}));
        editor
    }

    /// With these files in a folder of its own.
    pub fn with(files: &[(&str, &str)]) -> Self {
        Self::with_abilities(files, json!({}))
    }

    /// Where a file of the folder lies.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// How a file of the folder is called.
    pub fn uri(&self, name: &str) -> Uri {
        uri_of(&self.path(name))
    }

    /// Sends these bytes as they are.
    pub fn raw(&mut self, bytes: &[u8]) {
        let input = self.input.as_mut().unwrap();
        input.write_all(bytes).unwrap();
        input.flush().unwrap();
    }

    /// Sends a message.
    pub fn send(&mut self, message: &Value) {
        send(self.input.as_mut().unwrap(), message);
    }

    /// Tells something.
    pub fn note(&mut self, method: &str, parameters: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": parameters }));
    }

    /// The next message that answers something; findings on the way are kept.
    pub fn response(&mut self) -> Value {
        let until = Instant::now() + PATIENCE;
        loop {
            let message = self.inbox.recv_timeout(until - Instant::now()).expect("an answer in time");
            if message.get("method").is_none() {
                return message;
            }
            self.keep(message);
        }
    }

    fn keep(&mut self, message: Value) {
        assert_eq!(message["method"], notes::PublishDiagnostics::METHOD);
        let new: PublishDiagnosticsParams = serde_json::from_value(message["params"].clone()).unwrap();
        self.shown.retain(|old| old.uri != new.uri);
        self.shown.push(new);
    }

    /// Asks something by name; the code and words of the error where it is refused.
    pub fn ask(&mut self, method: &str, parameters: Value) -> Result<Value, (i64, String)> {
        self.requests += 1;
        let id = self.requests;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": parameters }));
        let answer = self.response();
        assert_eq!(answer["id"], id, "{answer}");
        match answer.get("error") {
            Some(error) => Err((error["code"].as_i64().unwrap(), error["message"].as_str().unwrap().to_owned())),
            None => Ok(answer["result"].clone()),
        }
    }

    /// Asks something.
    pub fn request<R: Request>(&mut self, parameters: R::Params) -> R::Result {
        let answer = self.ask(R::METHOD, serde_json::to_value(parameters).unwrap());
        serde_json::from_value(answer.unwrap_or_else(|error| panic!("{}: {error:?}", R::METHOD))).unwrap()
    }

    /// Opens a file of the folder, with its text on disk.
    pub fn open(&mut self, name: &str) {
        let text = std::fs::read_to_string(self.path(name)).unwrap();
        self.open_as(self.uri(name), &text);
    }

    /// Opens a text.
    pub fn open_as(&mut self, uri: Uri, text: &str) {
        self.versions += 1;
        let text_document = TextDocumentItem::new(uri, "dial".to_owned(), self.versions, text.to_owned());
        let parameters = DidOpenTextDocumentParams { text_document };
        self.note(notes::DidOpenTextDocument::METHOD, serde_json::to_value(parameters).unwrap());
    }

    /// Replaces a range of a file, or all of it.
    pub fn change(&mut self, name: &str, range: Option<Range>, text: &str) {
        self.versions += 1;
        let change = TextDocumentContentChangeEvent { range, range_length: None, text: text.to_owned() };
        let parameters = DidChangeTextDocumentParams {
            text_document: VersionedTextDocumentIdentifier::new(self.uri(name), self.versions),
            content_changes: vec![change],
        };
        self.note(notes::DidChangeTextDocument::METHOD, serde_json::to_value(parameters).unwrap());
    }

    /// The findings of a file for its newest version, waiting until `enough` says that it has seen what it waits for.
    pub fn findings(&mut self, name: &str, enough: impl Fn(&[Diagnostic]) -> bool) -> Vec<Diagnostic> {
        let uri = self.uri(name);
        let until = Instant::now() + PATIENCE;
        loop {
            let newest = |shown: &&PublishDiagnosticsParams| {
                shown.uri == uri && shown.version.is_none_or(|version| version == self.versions)
            };
            if let Some(shown) = self.shown.iter().find(newest)
                && enough(&shown.diagnostics)
            {
                return shown.diagnostics.clone();
            }
            let message = self.inbox.recv_timeout(until - Instant::now());
            let message = message.unwrap_or_else(|_| panic!("not in time; shown are {:#?}", self.shown));
            self.keep(message);
        }
    }

    /// The findings of a file as last shown.
    pub fn shown_now(&self, name: &str) -> Vec<Diagnostic> {
        let uri = self.uri(name);
        self.shown.iter().find(|shown| shown.uri == uri).map(|shown| shown.diagnostics.clone()).unwrap_or_default()
    }

    /// A place in a file: where `needle` begins, plus `past` bytes of its line (columns of plain text).
    pub fn spot(&self, name: &str, needle: &str, past: usize) -> TextDocumentPositionParams {
        let text = std::fs::read_to_string(self.path(name)).unwrap();
        TextDocumentPositionParams::new(TextDocumentIdentifier::new(self.uri(name)), spot(&text, needle, past))
    }

    /// Takes leave as the protocol wants it.
    pub fn leave(mut self) -> ExitStatus {
        self.request::<asks::Shutdown>(());
        self.note("exit", Value::Null);
        self.ended()
    }

    /// Is suddenly gone.
    pub fn vanish(mut self) -> ExitStatus {
        self.input = None;
        self.ended()
    }

    /// How the server ended.
    pub fn ended(mut self) -> ExitStatus {
        let until = Instant::now() + PATIENCE;
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status;
            }
            assert!(Instant::now() < until, "it goes on");
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}

impl Drop for Editor {
    fn drop(&mut self) {
        // A test that failed leaves nothing running; one that has ended is no error.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// The place of `needle` in a plain text, plus `past` columns.
pub fn spot(text: &str, needle: &str, past: usize) -> Position {
    let at = text.find(needle).unwrap_or_else(|| panic!("no {needle:?}")) + past;
    let line = text[..at].matches('\n').count();
    let start = text[..at].rfind('\n').map_or(0, |end| end + 1);
    Position::new(u32::try_from(line).unwrap(), u32::try_from(at - start).unwrap())
}

/// How a path is called.
pub fn uri_of(path: &Path) -> Uri {
    Uri::from_str(&format!("file://{}", path.to_str().unwrap())).unwrap()
}
