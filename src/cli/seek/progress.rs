//! How many designs were looked at so far: on a terminal, once it takes longer than a moment.

use std::cell::OnceCell;
use std::io::IsTerminal as _;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::cli::MessageFormat;

/// Nothing is shown of what is done sooner.
const MOMENT: Duration = Duration::from_secs(1);

pub(super) struct Progress {
    begun: Instant,
    shows: bool,
    bar: OnceCell<ProgressBar>,
}

impl Progress {
    /// Nothing is drawn where standard error is no terminal or programs read along.
    pub(super) fn new(format: MessageFormat) -> Self {
        let shows = format == MessageFormat::Text && std::io::stderr().is_terminal();
        Self { begun: Instant::now(), shows, bar: OnceCell::new() }
    }

    pub(super) fn told(&self, count: usize) {
        if self.shows && self.begun.elapsed() > MOMENT {
            self.bar.get_or_init(bar).set_position(count as u64);
        }
    }

    pub(super) fn done(&self) {
        self.bar.get().into_iter().for_each(ProgressBar::finish_and_clear);
    }
}

fn bar() -> ProgressBar {
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
    let style = ProgressStyle::with_template("{spinner} looked at {pos} designs, {elapsed}");
    style.map_or(bar.clone(), |style| bar.with_style(style))
}
