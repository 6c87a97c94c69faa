//! The language server, from a key to the findings that it brings.

use std::fmt::Write as _;
use std::io::BufReader;
use std::process::{Child, ChildStdin, ChildStdout};
use std::str::FromStr;

use dialwright::analysis::quick_check;
use dialwright::editor::{Encoding, Snippets, View, completion, notices, tokens};
use dialwright::project::MemoryProject;
use divan::{Bencher, black_box};
use lsp_types::{Position, Uri};
use serde_json::{Value, json};

use super::wire;

/// A sound dial of 2,000 lines: bindings, functions, and layers full of marks.
fn long() -> String {
    let mut text = "dial \"Long\"\nparam across: length = 60mm from 40mm to 90mm \"outline\"\n".to_owned();
    text.push_str("outline circle(diameter: across)\n");
    for at in 0..900 {
        let _ = match at % 3 {
            0 => writeln!(text, "let size_{at} = 0.01 * across + {}mm / 7  // by rule", at % 5 + 1),
            1 => writeln!(text, "let place_{at} = polar(across / 3, {}deg)", at % 360),
            _ => writeln!(text, "let shape_{at} = circle(diameter: size_{}) at place_{}", at - 2, at - 1),
        };
    }
    text.push_str("layer base of birch {\n  engrave ring points { labels 0 to 9 }\n");
    for at in 0..500 {
        let _ = writeln!(text, "  engrave shape_{} turned {}deg tone 50%", at / 5 * 3 + 2, at);
    }
    text.push_str("}\nlayer cover of birch {\n  window peep = circle(diameter: 12mm) at polar(20mm, 0deg)\n");
    for at in 0..580 {
        let _ = writeln!(text, "  score circle(diameter: size_{}) at (0mm, -{}mm)", at / 3 * 3, at % 20);
    }
    text.push_str("}\nstack { base; turn on magnets(disc); cover }\nreads points through peep\nrun 8\n");
    text
}

#[divan::bench]
fn quick_check_of_2000_lines(bencher: Bencher<'_, '_>) {
    let project = MemoryProject::default().with("long.dial", long());
    bencher.bench(|| quick_check(black_box(&project), "long.dial", "").unwrap());
}

fn view() -> View {
    let project = MemoryProject::default().with("long.dial", long());
    let places = |name: &str| Uri::from_str(&format!("file:///{name}")).ok();
    View::read(&project, "long.dial", &places, Encoding::Utf16).unwrap()
}

#[divan::bench]
fn notices_of_2000_lines(bencher: Bencher<'_, '_>) {
    let view = view();
    bencher.bench(|| notices(black_box(&view), None));
}

#[divan::bench]
fn tokens_of_2000_lines(bencher: Bencher<'_, '_>) {
    let view = view();
    let file = view.file_named("long.dial").unwrap();
    bencher.bench(|| tokens(black_box(&view), file, None));
}

#[divan::bench]
fn completion_in_2000_lines(bencher: Bencher<'_, '_>) {
    let view = view();
    let file = view.file_named("long.dial").unwrap();
    let position = Position::new(1500, 40);
    bencher.bench(|| completion(black_box(&view), file, position, Snippets::Filled));
}

/// A server with the long dial open.
struct Session {
    child: Child,
    input: ChildStdin,
    output: BufReader<ChildStdout>,
    version: i64,
}

impl Session {
    fn start() -> Self {
        let (child, input, output) = wire::started();
        let mut session = Self { child, input, output, version: 1 };
        session.send(&json!({ "id": 1, "method": "initialize", "params": { "capabilities": {} } }));
        let document = json!({ "uri": "untitled:long.dial", "languageId": "dial", "version": 1, "text": long() });
        session.send(&json!({ "method": "textDocument/didOpen", "params": { "textDocument": document } }));
        session.shown();
        session
    }

    fn send(&mut self, message: &Value) {
        let mut message = message.clone();
        message["jsonrpc"] = json!("2.0");
        wire::send(&mut self.input, &message);
    }

    /// Waits for the findings of the newest version.
    fn shown(&mut self) {
        loop {
            let message = wire::received(&mut self.output).expect("the server goes on");
            if message["method"] == "textDocument/publishDiagnostics" && message["params"]["version"] == self.version {
                return;
            }
        }
    }

    /// One letter typed at the end of line 1,000, and what is shown for it.
    fn key(&mut self) {
        self.version += 1;
        let at = json!({ "line": 1000, "character": 0 });
        let change =
            json!({ "range": { "start": at, "end": at }, "text": if self.version % 2 == 0 { "x" } else { "" } });
        let document = json!({ "uri": "untitled:long.dial", "version": self.version });
        let parameters = json!({ "textDocument": document, "contentChanges": [change] });
        self.send(&json!({ "method": "textDocument/didChange", "params": parameters }));
        self.shown();
    }
}

/// The real program over its standard input and output.
#[divan::bench(sample_count = 100, sample_size = 1)]
fn from_key_to_findings_in_2000_lines(bencher: Bencher<'_, '_>) {
    let mut session = Session::start();
    bencher.bench_local(|| session.key());
    session.child.kill().unwrap();
    session.child.wait().unwrap();
}
