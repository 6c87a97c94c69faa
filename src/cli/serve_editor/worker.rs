//! A thread that looks at whole designs while the editor goes on.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender};

use super::Event;
use super::files::Files;
use crate::analysis::{Request, analyse};
use crate::editor::{Encoding, Insight, View};
use crate::plan::Effort;

/// A design to be looked at.
pub(super) struct Job {
    /// The design, as the server calls it.
    pub(super) design: String,
    /// Its files as they are now.
    pub(super) files: Files,
    /// What columns count.
    pub(super) encoding: Encoding,
    /// Set once nobody wants to know any more.
    pub(super) stop: Arc<AtomicBool>,
}

/// What came of a job.
pub(super) struct Done {
    /// The design.
    pub(super) design: String,
    /// What is known now; none where it was stopped or could not be told.
    pub(super) insight: Option<Insight>,
}

/// Does jobs one after the other until nobody sends any more.
pub(super) fn work(jobs: &Receiver<Job>, events: &Sender<Event>) {
    while let Ok(job) = jobs.recv() {
        let insight = catch_unwind(AssertUnwindSafe(|| insight(&job))).ok().flatten();
        // A job that was stopped after its last variant has an answer, but to a text that is gone.
        let insight = insight.filter(|_| !job.stop.load(Ordering::Relaxed));
        if events.send(Event::Done(Box::new(Done { design: job.design, insight }))).is_err() {
            return;
        }
    }
}

fn insight(job: &Job) -> Option<Insight> {
    let places = |name: &str| job.files.uri(name);
    let view = View::read(&job.files, &job.files.name, &places, job.encoding).ok()?;
    // No layout is shown, so none is searched for.
    let request = Request { effort: Effort(0), stop: Some(Arc::clone(&job.stop)), ..Request::default() };
    let analysis = analyse(&job.files, &job.files.name, "", &request).ok()?;
    Some(Insight::of(&analysis, view.findings(), &places, job.encoding))
}
