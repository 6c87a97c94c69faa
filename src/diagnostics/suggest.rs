//! Nearest names.

/// The candidate that the word was most likely meant to be; none where all are far off.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let allowed = (word.chars().count() / 3).clamp(1, 3);
    let scored = candidates.into_iter().filter(|candidate| *candidate != word).filter_map(|candidate| {
        let distance = strsim::damerau_levenshtein(&word.to_lowercase(), &candidate.to_lowercase());
        (distance <= allowed).then_some((distance, candidate))
    });
    scored.min().map(|(_, candidate)| candidate)
}
