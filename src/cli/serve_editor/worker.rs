//! A thread that looks at whole designs while the editor goes on.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender};

use super::Event;
use super::files::Files;
use crate::analysis::{Request, Session, Threads, analyse_session};
use crate::cli::shelter::sheltered;
use crate::editor::{Encoding, Insight, View};
use crate::plan::Effort;
use crate::seek;

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
    /// Why it could not be told, where that is a fault of ours.
    pub(super) failed: Option<String>,
}

/// Does jobs one after the other until nobody sends any more.
pub(super) fn work(jobs: &Receiver<Job>, events: &Sender<Event>) {
    work_with(jobs, events, insight);
}

fn work_with(jobs: &Receiver<Job>, events: &Sender<Event>, look: impl Fn(&Job) -> Option<Insight>) {
    while let Ok(job) = jobs.recv() {
        let (insight, failed) = match sheltered(&format!("`{}`", job.files.name), || look(&job)) {
            Ok(insight) => (insight, None),
            Err(sentence) => (None, Some(sentence)),
        };
        // A job that was stopped after its last variant has an answer, but to a text that is gone.
        let insight = insight.filter(|_| !job.stop.load(Ordering::Relaxed));
        if events.send(Event::Done(Box::new(Done { design: job.design, insight, failed }))).is_err() {
            return;
        }
    }
}

fn insight(job: &Job) -> Option<Insight> {
    let places = |name: &str| job.files.uri(name);
    let view = View::read(&job.files, &job.files.name, &places, job.encoding).ok()?;
    // No layout is shown, so none is searched for.
    let request = Request { effort: Effort(0), stop: Some(Arc::clone(&job.stop)), ..Request::default() };
    let session = Session::open(&job.files, &job.files.name, "", &request).ok()?;
    let mut analysis = analyse_session(&session, &job.files);
    let checked = session.check(&job.files);
    if !checked.seeks().is_empty() {
        analysis.findings.extend(seek::remarks(&checked, Threads::InTurn));
    }
    Some(Insight::of(&analysis, view.findings(), &places, job.encoding))
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;

    use super::*;

    /// The design that it failed on is named, and the next one is looked at.
    #[test]
    fn a_design_that_cannot_be_looked_at_takes_no_other_with_it() {
        let (jobs, work) = channel();
        let (events, inbox) = channel();
        for name in ["one.dial", "two.dial"] {
            let files = Files::on_disk(std::path::Path::new(name));
            let stop = Arc::new(AtomicBool::new(false));
            jobs.send(Job { design: name.to_owned(), files, encoding: Encoding::Utf8, stop }).unwrap();
        }
        drop(jobs);
        work_with(&work, &events, |job| {
            assert_ne!(job.design, "one.dial", "planted");
            None
        });
        drop(events);
        let failed: Vec<Option<String>> = inbox
            .iter()
            .filter_map(|event| match event {
                Event::Done(done) => Some(done.failed),
                _ => None,
            })
            .collect();
        assert!(
            failed[0].as_ref().is_some_and(|words| words.contains("`one.dial`") && words.contains("please report"))
        );
        assert_eq!(failed[1..], [None]);
    }
}
