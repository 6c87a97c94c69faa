//! Watches the folders of all files that a design uses. Folders, since a file that is removed and put back, or swapped
//! for a new one as most editors do, is another file to the system.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use notify::event::{AccessKind, AccessMode};
use notify::{Event, EventKind, RecursiveMode, Watcher as _};

use super::live::Live;
use crate::parallel::STACK_BYTES;

/// An editor writes in several steps: it is waited until nothing happened for so long.
const QUIET: Duration = Duration::from_millis(8);
/// But no longer than this.
const LONGEST: Duration = Duration::from_millis(60);
/// How often it is looked without being told, since some drives tell nothing.
const LOOK: Duration = Duration::from_secs(2);

/// A thread that follows the files until it is stopped.
pub(super) struct Watch {
    stop: Arc<AtomicBool>,
    wake: Sender<()>,
    thread: JoinHandle<()>,
}

impl Watch {
    pub(super) fn start(live: Arc<Live>) -> Result<Self, String> {
        let (wake, woken) = channel();
        let told = wake.clone();
        let tell = move |event: notify::Result<Event>| {
            // Looking into a file is an event too, of our own making.
            let looked = event.is_ok_and(|event| event.kind.is_access() && !closed(&event));
            if !looked {
                // Nobody listens any more once the thread has ended.
                let _ = told.send(());
            }
        };
        let mut watcher =
            notify::recommended_watcher(tell).map_err(|error| format!("the file cannot be watched: {error}"))?;
        let stop = Arc::new(AtomicBool::new(false));
        let stopped = Arc::clone(&stop);
        let follow = move || {
            while !stopped.load(Ordering::Relaxed) {
                for folder in live.folders() {
                    // A folder that cannot be watched is still looked into from time to time.
                    let _ = watcher.watch(&folder, RecursiveMode::NonRecursive);
                }
                match woken.recv_timeout(LOOK) {
                    Ok(()) => {
                        let since = Instant::now();
                        while since.elapsed() < LONGEST && woken.recv_timeout(QUIET).is_ok() {}
                    }
                    Err(RecvTimeoutError::Timeout) => {}
                    Err(RecvTimeoutError::Disconnected) => break,
                }
                live.follow();
            }
        };
        let thread = std::thread::Builder::new().stack_size(STACK_BYTES).spawn(follow);
        let thread = thread.map_err(|error| format!("the file cannot be watched: {error}"))?;
        Ok(Self { stop, wake, thread })
    }

    /// Ends the thread and waits for it.
    pub(super) fn stop(self) {
        self.stop.store(true, Ordering::Relaxed);
        // Where it has ended already there is nothing to wake.
        let _ = self.wake.send(());
        let _ = self.thread.join();
    }
}

/// Whether a file was closed that had been written.
fn closed(event: &Event) -> bool {
    event.kind == EventKind::Access(AccessKind::Close(AccessMode::Write))
}
