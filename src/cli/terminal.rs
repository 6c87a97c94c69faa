//! What a terminal shows differently from a file or a pipe: lines wrapped where they are wider, what they begin with set off, tables
//! that keep within, and a word while something takes longer. Text that goes anywhere else stays as it is.

use std::io::IsTerminal as _;
use std::sync::{Mutex, OnceLock, PoisonError, mpsc};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use comfy_table::Table;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use terminal_size::{Width, terminal_size, terminal_size_of};

use super::print::Stream;
use crate::diagnostics::wrapped;

/// Lines are made no longer than this, which is as far as an eye goes along one with ease.
const MOST: usize = 100;
/// Nothing wraps to fewer columns.
const LEAST: usize = 30;
/// Nothing is said of what is done sooner.
const MOMENT: Duration = Duration::from_secs(1);

/// A terminal that is written to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Terminal {
    columns: usize,
    coloured: bool,
}

/// Whether colours are asked away (no-color.org).
pub(super) fn colourless() -> bool {
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// The terminal of a stream; none where it goes elsewhere. It is asked once: nobody reads on while it is drawn wider.
pub(super) fn of(stream: Stream) -> Option<Terminal> {
    static KNOWN: [OnceLock<Option<Terminal>>; 2] = [const { OnceLock::new() }; 2];
    let [output, error] = &KNOWN;
    let ask = |there: bool, wide: Option<(Width, terminal_size::Height)>| {
        let columns = wide.map_or(80, |(Width(columns), _)| usize::from(columns)).max(LEAST);
        there.then_some(Terminal { columns, coloured: !colourless() })
    };
    match stream {
        Stream::Output => *output.get_or_init(|| ask(std::io::stdout().is_terminal(), terminal_size())),
        Stream::Error => *error.get_or_init(|| {
            let stderr = std::io::stderr();
            ask(stderr.is_terminal(), terminal_size_of(&stderr))
        }),
    }
}

/// Columns that findings keep within.
pub(super) fn columns() -> usize {
    of(Stream::Error).map_or(MOST, |terminal| terminal.columns.min(MOST))
}

/// The same for what is printed to be read, tables of two columns among it.
pub(super) fn print_columns() -> u16 {
    let columns = of(Stream::Output).map_or(MOST, |terminal| terminal.columns.min(MOST));
    u16::try_from(columns).unwrap_or(u16::MAX)
}

/// A table as lines: as it is where it fits, else each row as a paragraph of its own, so that no line breaks.
pub(super) fn table(table: &Table) -> Vec<String> {
    let lines: Vec<String> = table.lines().map(|line| line.trim_end().to_owned()).collect();
    match of(Stream::Output) {
        Some(terminal) if lines.iter().any(|line| wide(line) > terminal.columns) => stacked(table),
        _ => lines,
    }
}

fn stacked(table: &Table) -> Vec<String> {
    let heads: Vec<String> =
        table.header().into_iter().flat_map(|head| head.cell_iter().map(comfy_table::Cell::content)).collect();
    let heads: Vec<String> = heads.iter().map(|head| head.replace('\n', " ")).collect();
    let label = heads.iter().map(|head| wide(head)).max().unwrap_or(0);
    let mut lines = Vec::new();
    for row in table.row_iter() {
        let cells = row.cell_iter().map(|cell| cell.content().replace('\n', " "));
        for (at, cell) in cells.enumerate().filter(|(_, cell)| !cell.is_empty()) {
            let head = heads.get(at).map_or("", String::as_str);
            let indent = if at == 0 { "" } else { "  " };
            lines.push(format!("{indent}{head:<label$}  {cell}").trim_end().to_owned());
        }
        lines.push(String::new());
    }
    lines
}

fn wide(text: &str) -> usize {
    text.chars().count()
}

impl Terminal {
    /// A text for people, as this terminal shows it.
    pub(super) fn dressed(self, text: &str) -> String {
        text.split('\n').map(|line| self.line(line)).collect::<Vec<_>>().join("\n")
    }

    fn line(self, line: &str) -> String {
        let label = label(line);
        let hang = label.map_or_else(|| wide(line) - wide(line.trim_start()) + 2, |(_, from)| from);
        let lines = wrapped(line, self.columns, hang.min(self.columns / 2));
        match label {
            Some((name, _)) if self.coloured => {
                let (name, rest) = lines.split_at(name);
                format!("\u{1b}[36m{name}\u{1b}[0m{}", judged(rest))
            }
            _ => lines,
        }
    }
}

/// Where what a line begins with ends, and where what is said of it begins, both in bytes: a few small letters, then room.
fn label(line: &str) -> Option<(usize, usize)> {
    let gap = line.find("  ").filter(|gap| (2..=12).contains(gap))?;
    let named = line.get(..gap)?.bytes().all(|byte| byte.is_ascii_lowercase() || byte == b' ');
    let from = gap + line.get(gap..)?.find(|letter| letter != ' ')?;
    (named && from <= 14).then_some((gap, from))
}

/// Counts of errors and warnings in their colours.
fn judged(text: &str) -> String {
    let mut shown = String::new();
    for (at, word) in text.split(' ').enumerate() {
        let colour = match word.trim_end_matches([',', ';', '.']) {
            "error" | "errors" | "misreads" => "31",
            "warning" | "warnings" => "33",
            _ => "",
        };
        let space = if at == 0 { "" } else { " " };
        let part = if colour.is_empty() { word.to_owned() } else { format!("\u{1b}[{colour}m{word}\u{1b}[0m") };
        shown.push_str(space);
        shown.push_str(&part);
    }
    shown
}

/// Says that something is still worked on, once it takes longer than a moment, until it is dropped or something is printed.
pub(super) struct Waiting {
    done: Option<mpsc::Sender<()>>,
    watch: Option<JoinHandle<()>>,
}

static SHOWN: Mutex<Option<ProgressBar>> = Mutex::new(None);

impl Waiting {
    /// Nothing is said where standard error is no terminal.
    pub(super) fn on(what: &'static str) -> Self {
        if of(Stream::Error).is_none() {
            return Self { done: None, watch: None };
        }
        let (done, ended) = mpsc::channel::<()>();
        let watch = thread::spawn(move || {
            if ended.recv_timeout(MOMENT) != Err(mpsc::RecvTimeoutError::Timeout) {
                return;
            }
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr()).with_message(what);
            let style = ProgressStyle::with_template("{spinner} {msg}, {elapsed}");
            let bar = style.map_or(bar.clone(), |style| bar.with_style(style));
            bar.enable_steady_tick(Duration::from_millis(120));
            *SHOWN.lock().unwrap_or_else(PoisonError::into_inner) = Some(bar);
            // It ends where the other end is dropped.
            let _ = ended.recv();
            printed();
        });
        Self { done: Some(done), watch: Some(watch) }
    }
}

impl Drop for Waiting {
    fn drop(&mut self) {
        self.done.take();
        let _ = self.watch.take().map(JoinHandle::join);
    }
}

/// Something is about to be printed: what was said of waiting goes.
pub(super) fn printed() {
    let bar = SHOWN.lock().unwrap_or_else(PoisonError::into_inner).take();
    bar.iter().for_each(ProgressBar::finish_and_clear);
}

#[cfg(test)]
mod tests {
    use super::*;

    const NARROW: Terminal = Terminal { columns: 40, coloured: false };

    #[test]
    fn lines_are_wrapped_beneath_what_they_say() {
        let shown = NARROW.dressed("verdict    8 dials: 99.8 % ± 0.2 read right at every stop; hold");
        assert_eq!(shown, "verdict    8 dials: 99.8 % ± 0.2 read\n           right at every stop; hold");
        assert!(shown.lines().all(|line| wide(line) <= 40));
        assert_eq!(NARROW.dressed("short\n\n  two"), "short\n\n  two");
        let long = format!("a {}", "x".repeat(60));
        assert_eq!(NARROW.dressed(&long), long);
    }

    #[test]
    fn what_a_line_begins_with_is_set_off_in_colour() {
        let coloured = Terminal { columns: 80, coloured: true };
        let shown = coloured.dressed("verdict    cannot be built: 1 error");
        assert_eq!(shown, "\u{1b}[36mverdict\u{1b}[0m    cannot be built: 1 \u{1b}[31merror\u{1b}[0m");
        // Columns of a table, and sentences, begin with nothing of the kind.
        for plain in ["   1      0  0    0", "Points: points through peep"] {
            assert_eq!(coloured.dressed(plain), plain);
        }
    }

    #[test]
    fn a_table_that_is_too_wide_is_told_row_by_row() {
        let mut rows = Table::new();
        rows.set_header(["stop", "margin\nmm"]).add_row(["1", "1.81"]).add_row(["2", ""]);
        assert_eq!(stacked(&rows), ["stop       1", "  margin mm  1.81", "", "stop       2", ""]);
    }
}
