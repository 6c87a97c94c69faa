//! Diagnostics as terminal text and as JSON.

use super::Diagnostic;
use crate::source::Sources;

/// How terminal text looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Style {
    /// With colours.
    Coloured,
    /// Without.
    Plain,
}

/// The diagnostics as people read them.
pub fn as_text(diagnostics: &[Diagnostic], sources: &Sources, style: Style) -> String {
    let _ = (sources, style);
    diagnostics.iter().map(|diagnostic| format!("{}: {}\n", diagnostic.finding.name(), diagnostic.message)).collect()
}

/// The diagnostics as a JSON array.
pub fn as_json(diagnostics: &[Diagnostic], sources: &Sources) -> serde_json::Value {
    let _ = sources;
    diagnostics.iter().map(|diagnostic| serde_json::json!({ "finding": diagnostic.finding.name() })).collect()
}
