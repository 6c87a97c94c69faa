//! Findings of several variants as one list.

use std::collections::BTreeMap;

use crate::diagnostics::{Diagnostic, Finding, Problems};
use crate::source::Span;

/// All findings in order of place. One that several variants share is shown once; one that only some have
/// names them.
pub(crate) fn merged(problems: Problems, gathered: Vec<(Option<String>, Problems)>) -> Vec<Diagnostic> {
    let total = gathered.len();
    let mut seen: Vec<(Diagnostic, Vec<String>)> = Vec::new();
    // Where those of the same name and place stand among the seen: of a large family each needs few looks.
    let mut placed: BTreeMap<(Finding, Option<Span>), Vec<usize>> = BTreeMap::new();
    for (name, found) in gathered {
        for finding in found {
            let variant = name.clone().unwrap_or_default();
            let alike = placed.entry((finding.finding, finding.span())).or_default();
            let known = alike.iter().copied().find(|at| seen.get(*at).is_some_and(|(known, _)| *known == finding));
            match known.and_then(|at| seen.get_mut(at)) {
                Some((_, variants)) if variants.contains(&variant) => {}
                Some((_, variants)) => variants.push(variant),
                None => {
                    alike.push(seen.len());
                    seen.push((finding, vec![variant]));
                }
            }
        }
    }
    let mut all = problems;
    for (mut finding, variants) in seen {
        // What all of them have is a finding of the design, and names no variant.
        if variants.len() < total {
            finding.variants = variants;
        }
        all.push(finding);
    }
    all.into_sorted()
}
