//! What a word was most likely meant to be: the nearest name, and letters of other alphabets that look like ours.

use unicode_normalization::UnicodeNormalization;

use crate::work::spare;

/// Steps in which a name is held against a word: more than it takes, since this is what can be left out first.
const COMPARED: u64 = 5_000;

/// The candidate that the word was most likely meant to be; none where all are far off.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A third of the letters may be wrong. Of short words one: with two, every word of three letters would be near
    // every other.
    let allowed = (word.chars().count() / 3).clamp(1, 3);
    let plain = plain_letters(word).to_lowercase();
    // Of thousands of slips among thousands of names, the last get no suggestion.
    let candidates = candidates.into_iter().take_while(|_| spare(COMPARED));
    let scored = candidates.filter(|candidate| *candidate != word).filter_map(|candidate| {
        let distance = strsim::damerau_levenshtein(&plain, &plain_letters(candidate).to_lowercase());
        (distance <= allowed).then_some((distance, candidate))
    });
    // Of equals the first by the alphabet, so that the same slip is always answered alike.
    scored.min().map(|(_, candidate)| candidate).filter(|_| spare(0))
}

/// The only candidate that begins with the word: `d` for `diameter`.
pub fn cut_short<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let mut longer = candidates.into_iter().filter(|candidate| candidate.starts_with(word));
    longer.next().filter(|_| longer.next().is_none() && !word.is_empty())
}

/// The first letter of a word that only looks like a Latin one.
pub fn look_alike(word: &str) -> Option<char> {
    word.chars().find(|letter| latin_for(*letter) != *letter)
}

/// The word with every letter that only looks like a Latin one replaced by that.
fn plain_letters(word: &str) -> String {
    word.chars().map(latin_for).collect()
}

/// The Latin letter that this one looks like, and else itself. Cyrillic and Greek letters as in Unicode's table of
/// confusable characters (UTS #39, from memory), full-width ones by their compatibility form (UAX #15).
fn latin_for(letter: char) -> char {
    const ALIKE: [(&str, &str); 4] = [
        ("АВЕЅІЈКМНОРСТУХаеорсухіјѕԁһ", "ABESIJKMHOPCTYXaeopcyxijsdh"),
        ("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX"),
        ("ονρικυα", "ovpikua"),
        ("ıɡ", "ig"),
    ];
    if ('\u{ff01}'..='\u{ff5e}').contains(&letter) {
        return std::iter::once(letter).nfkc().next().unwrap_or(letter);
    }
    let pairs = ALIKE.iter().flat_map(|(theirs, ours)| theirs.chars().zip(ours.chars()));
    pairs.into_iter().find(|(theirs, _)| *theirs == letter).map_or(letter, |(_, ours)| ours)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_that_look_alike_are_taken_for_ours() {
        assert_eq!(nearest("сіrсlе", ["ellipse", "circle"]), Some("circle"), "five Cyrillic letters");
        assert_eq!(nearest("ｃｉｒｃｌｅ", ["circle"]), Some("circle"));
        assert_eq!((look_alike("сircle"), look_alike("circle"), look_alike("Fähre")), (Some('с'), None, None));
        assert_eq!(nearest("Reise", ["cover"]), None);
    }
}
