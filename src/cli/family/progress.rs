//! How far the work has come, on a terminal only.

use std::io::IsTerminal as _;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::cli::MessageFormat;

/// A bar for so many variants; nothing is drawn where standard error is no terminal or programs read along.
pub(super) fn bar(variants: usize, format: MessageFormat) -> ProgressBar {
    if format == MessageFormat::Json || !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(variants as u64), ProgressDrawTarget::stderr());
    let style = ProgressStyle::with_template("{bar:30} {pos} of {len} variants, {eta} left");
    style.map_or(bar.clone(), |style| bar.with_style(style.progress_chars("=> ")))
}
