//! Printing: every write is looked at, so that nobody takes half a text for the whole.

use std::io::{self, ErrorKind, Write};
use std::sync::atomic::{AtomicU8, Ordering};

use super::terminal;
use crate::diagnostics::harmless;

/// Where something is printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stream {
    /// Standard output.
    Output,
    /// Standard error.
    Error,
}

/// Nothing went wrong.
const WHOLE: u8 = 0;
/// Nobody reads any more, who therefore knows that something is missing.
const CLOSED: u8 = 1;
/// It could not be written, as on a full disc.
const FAILED: u8 = 2;

/// What became of each stream so far.
static BECAME: [AtomicU8; 2] = [const { AtomicU8::new(WHOLE) }; 2];

/// Prints a line for people.
pub(super) fn line(to: Stream, words: &str) {
    let words = harmless(words);
    let shown = terminal::of(to).map_or_else(|| words.to_string(), |terminal| terminal.dressed(&words));
    text(to, format!("{shown}\n").as_bytes());
}

/// Prints a text as it is. Nothing more is printed where something could not be: what comes after a gap would mislead.
pub(super) fn text(to: Stream, bytes: &[u8]) {
    if became(to).load(Ordering::Relaxed) != WHOLE {
        return;
    }
    terminal::printed();
    let written = match to {
        Stream::Output => whole(io::stdout().lock(), bytes),
        Stream::Error => whole(io::stderr().lock(), bytes),
    };
    looked_at(to, written);
}

/// Flushed at once, since what is left for the end of the process is written without being looked at.
fn whole(mut to: impl Write, bytes: &[u8]) -> io::Result<()> {
    to.write_all(bytes)?;
    to.flush()
}

/// Keeps in mind what became of something printed.
pub(super) fn looked_at(to: Stream, written: io::Result<()>) {
    let Err(error) = written else { return };
    let closed = error.kind() == ErrorKind::BrokenPipe;
    became(to).store(if closed { CLOSED } else { FAILED }, Ordering::Relaxed);
    // Told while it is known why. A closed pipe is told nothing: whoever closed it knows.
    if !closed && to == Stream::Output {
        line(Stream::Error, &format!("dialwright: standard output cannot be written: {error}"));
    }
}

/// Whether all that was to be printed has been.
pub(super) fn ended() -> bool {
    BECAME.iter().all(|stream| stream.load(Ordering::Relaxed) == WHOLE)
}

fn became(stream: Stream) -> &'static AtomicU8 {
    let [output, error] = &BECAME;
    match stream {
        Stream::Output => output,
        Stream::Error => error,
    }
}
