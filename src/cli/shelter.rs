//! Work that may fail by a fault of ours. A panic leaves the program by one door alone: exit code 2, and a sentence that names the
//! design and asks for it.

use std::panic::{AssertUnwindSafe, PanicHookInfo, catch_unwind};
use std::sync::{Mutex, PoisonError};

use crate::parallel::STACK_BYTES;

/// What the first panic said that nobody was told of yet, and where it was.
static SAID: Mutex<Option<String>> = Mutex::new(None);

/// From here on a panic prints nothing by itself; [`sheltered`] tells of it.
///
/// The boolean engine is known to panic on some inputs. `geometry` catches that and asks its second engine, so nobody need
/// read of it.
pub(super) fn quiet() {
    std::panic::set_hook(Box::new(note));
}

fn note(panic: &PanicHookInfo<'_>) {
    let Some(place) = panic.location() else { return };
    // By the file that panicked: a panic of ours inside a boolean must be told. What a thread that waits for another says of
    // its end, which is raised inside the standard library, adds nothing.
    if place.file().contains("linesweeper") || place.file().contains("/std/src/thread") {
        return;
    }
    let words = panic.payload_as_str().unwrap_or("no words");
    let file = place.file().rsplit_once("/src/").map_or(place.file(), |(_, file)| file);
    SAID.lock().unwrap_or_else(PoisonError::into_inner).get_or_insert(format!("{words}, at {file}:{}", place.line()));
}

/// What the work gives; where it fails by a fault of ours, a sentence that names `what` was worked on and asks for it.
pub(super) fn sheltered<T>(what: &str, work: impl FnOnce() -> T) -> Result<T, String> {
    let said = || SAID.lock().unwrap_or_else(PoisonError::into_inner).take();
    // What is left of a panic that somebody else caught.
    drop(said());
    catch_unwind(AssertUnwindSafe(work)).map_err(|_| {
        let words = said().map(|words| format!(" ({words})")).unwrap_or_default();
        format!("{what} could not be worked out, by a fault of this program{words}; please report this, with the file")
    })
}

/// Runs the work on a thread whose stack is large enough for any text within the limits, whatever the system gives to the first
/// thread of a process. Where no thread is to be had, here.
pub(super) fn on_a_large_stack<T: Send>(work: impl FnOnce() -> T + Send) -> T {
    let work = Mutex::new(Some(work));
    let done = || work.lock().unwrap_or_else(PoisonError::into_inner).take().map(|work| work());
    let made = std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(STACK_BYTES).spawn_scoped(scope, done).ok()?;
        thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
    });
    // The lock is never held while it is worked, so what was not begun is still there.
    made.or_else(done).unwrap_or_else(|| std::panic::resume_unwind(Box::new("a thread lost its work")))
}
