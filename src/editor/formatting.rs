//! The one layout, as the smallest edit that gives it.

use lsp_types::TextEdit;

use super::text::{Lines, difference};
use crate::format::{Untidied, tidied};

/// What makes a text tidy: no edit or one, so that cursors and folds elsewhere stay where they are.
///
/// # Errors
/// Why the text is left as it is: it has faults of syntax, or, short of a fault of ours never, it would not mean the same.
pub fn formatting(name: &str, lines: &Lines) -> Result<Vec<TextEdit>, Untidied> {
    let text = lines.text();
    let new = tidied(name, text)?;
    // One edit from the first difference to the last is enough, since a text that is tidied often is nearly tidy.
    let (old_range, new_range) = difference(text, &new);
    if old_range.is_empty() && new_range.is_empty() {
        return Ok(Vec::new());
    }
    let new_text = new.get(new_range).unwrap_or("").to_owned();
    Ok(vec![TextEdit { range: lines.range(old_range), new_text }])
}
