//! The language server through its real standard input and output. What is asked and answered is as the Language Server
//! Protocol 3.17 (microsoft.github.io/language-server-protocol) has it.

mod asking;
mod driver;
mod half;
mod looks;
mod talk;
mod typing;
mod wire;

use lsp_types::TextEdit;

/// A plain text after edits that do not overlap; columns are bytes.
fn applied(text: &str, edits: &[TextEdit]) -> String {
    let mut starts = vec![0];
    starts.extend(text.match_indices('\n').map(|(at, _)| at + 1));
    let byte = |at: lsp_types::Position| {
        starts.get(at.line as usize).map_or(text.len(), |start| start + at.character as usize)
    };
    let mut edits: Vec<(usize, usize, &str)> =
        edits.iter().map(|edit| (byte(edit.range.start), byte(edit.range.end), edit.new_text.as_str())).collect();
    edits.sort_unstable();
    let mut text = text.to_owned();
    for (start, end, new) in edits.into_iter().rev() {
        text.replace_range(start..end, new);
    }
    text
}
