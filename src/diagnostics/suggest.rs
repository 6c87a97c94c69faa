//! What a word was most likely meant to be: the nearest name, our word for someone else's, and letters of other
//! alphabets that look like ours.

use crate::units;
use unicode_normalization::UnicodeNormalization;

/// The candidate that the word was most likely meant to be; none where all are far off.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    // A third of the letters may be wrong. Of short words one: with two, every word of three letters would be near
    // every other.
    let allowed = (word.chars().count() / 3).clamp(1, 3);
    let plain = plain_letters(word).to_lowercase();
    let scored = candidates.into_iter().filter(|candidate| *candidate != word).filter_map(|candidate| {
        let distance = strsim::damerau_levenshtein(&plain, &plain_letters(candidate).to_lowercase());
        (distance <= allowed).then_some((distance, candidate))
    });
    // Of equals the first by the alphabet, so that the same slip is always answered alike.
    scored.min().map(|(_, candidate)| candidate)
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

/// Words of other languages, of drawing, of programs and of people, and ours for the same thing.
const WORDS: [(&str, &str); 40] = [
    ("include", "with"),
    ("import", "with"),
    ("use", "with"),
    ("const", "let"),
    ("var", "let"),
    ("def", "let"),
    ("function", "let"),
    ("set", "let"),
    ("font", "typeface"),
    ("font_family", "typeface"),
    ("shape", "outline"),
    ("assert", "expect"),
    ("cut", "hole"),
    ("etch", "engrave"),
    ("engraved", "engrave"),
    ("opening", "window"),
    ("spin", "turn"),
    ("rotate", "turned"),
    ("rotated", "turned"),
    ("color", "colour"),
    ("couleur", "colour"),
    ("farbe", "colour"),
    ("union", "plus"),
    ("without", "less"),
    ("minus", "less"),
    ("difference", "less"),
    ("intersect", "within"),
    ("intersection", "within"),
    ("moved", "at"),
    ("translate", "at"),
    ("translated", "at"),
    ("times", "repeated"),
    ("mirror", "mirrored about"),
    ("mirrored", "mirrored about"),
    ("offset", "outset"),
    ("scale", "scaled"),
    ("thru", "through"),
    ("via", "through"),
    ("x", "by"),
    ("using", "through"),
];

/// Functions of other languages, and ours that does it.
const FUNCTIONS: [(&str, &str); 27] = [
    ("oval", "ellipse"),
    ("disk", "circle"),
    ("cylinder", "circle"),
    ("round_shape", "circle"),
    ("kreis", "circle"),
    ("cercle", "circle"),
    ("rect", "rectangle"),
    ("square", "rectangle"),
    ("cube", "rectangle"),
    ("box", "rectangle"),
    ("rechteck", "rectangle"),
    ("triangle", "polygon"),
    ("pentagon", "polygon"),
    ("hexagon", "polygon"),
    ("octagon", "polygon"),
    ("slot", "obround"),
    ("stadium", "obround"),
    ("capsule", "obround"),
    ("arc", "sector"),
    ("wedge", "sector"),
    ("hull", "wrapped"),
    ("image", "art"),
    ("img", "art"),
    ("svg", "art"),
    ("picture", "art"),
    ("label", "text"),
    ("write", "text"),
];

/// Kinds of value of other languages, and ours.
const KINDS: [(&str, &str); 24] = [
    ("mm", "length"),
    ("millimetres", "length"),
    ("millimeters", "length"),
    ("inches", "length"),
    ("size", "length"),
    ("distance", "length"),
    ("width", "length"),
    ("deg", "angle"),
    ("degrees", "angle"),
    ("bearing", "angle"),
    ("int", "count"),
    ("integer", "count"),
    ("number", "count"),
    ("float", "ratio"),
    ("double", "ratio"),
    ("real", "ratio"),
    ("percent", "ratio"),
    ("string", "text"),
    ("str", "text"),
    ("bool", "truth"),
    ("boolean", "truth"),
    ("color", "colour"),
    ("shape", "region"),
    ("list", "labels"),
];

/// Units as they are written elsewhere, and ours.
const UNITS: [(&str, &str); 52] = [
    ("\"", "in"),
    ("''", "in"),
    ("″", "in"),
    ("inch", "in"),
    ("inches", "in"),
    ("mil", "thou"),
    ("mils", "thou"),
    ("mms", "mm"),
    ("millimetre", "mm"),
    ("millimetres", "mm"),
    ("millimeter", "mm"),
    ("millimeters", "mm"),
    ("cms", "cm"),
    ("centimetre", "cm"),
    ("centimetres", "cm"),
    ("centimeter", "cm"),
    ("centimeters", "cm"),
    ("metre", "m"),
    ("metres", "m"),
    ("meter", "m"),
    ("meters", "m"),
    ("°", "deg"),
    ("º", "deg"),
    ("degs", "deg"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("grad", "deg"),
    ("radian", "rad"),
    ("radians", "rad"),
    ("turns", "turn"),
    ("rev", "turn"),
    ("revs", "turn"),
    ("newton", "N"),
    ("newtons", "N"),
    ("tesla", "T"),
    ("gauss", "G"),
    ("gram", "g"),
    ("grams", "g"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("mins", "min"),
    ("minute", "min"),
    ("minutes", "min"),
    ("hr", "h"),
    ("hrs", "h"),
    ("hour", "h"),
    ("hours", "h"),
    ("percent", "%"),
    ("pct", "%"),
    ("prozent", "%"),
];

fn ours(table: &[(&str, &'static str)], word: &str) -> Option<&'static str> {
    let word = word.to_lowercase();
    table.iter().find(|(theirs, _)| *theirs == word).map(|(_, ours)| *ours)
}

/// Our word for one from elsewhere.
pub fn our_word(word: &str) -> Option<&'static str> {
    ours(&WORDS, word)
}

/// Our function for one from elsewhere.
pub fn our_function(word: &str) -> Option<&'static str> {
    ours(&FUNCTIONS, word)
}

/// Our kind of value for one from elsewhere.
pub fn our_kind(word: &str) -> Option<&'static str> {
    ours(&KINDS, word)
}

/// Our unit for one from elsewhere, or for ours in other capitals where only one can be meant.
pub fn our_unit(word: &str) -> Option<&'static str> {
    ours(&UNITS, word).or_else(|| {
        let mut alike = units::UNITS.iter().filter(|unit| unit.name.eq_ignore_ascii_case(word));
        alike.next().filter(|_| alike.next().is_none()).map(|unit| unit.name)
    })
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

    #[test]
    fn every_word_of_ours_that_is_offered_exists() {
        for (_, ours) in FUNCTIONS {
            assert!(crate::check::functions::function_named(ours).is_some(), "{ours}");
        }
        for (_, ours) in KINDS {
            assert!(crate::check::kind::Kind::of_word(ours).is_some(), "{ours}");
        }
        for (_, ours) in UNITS {
            assert!(units::unit_named(ours).is_some(), "{ours}");
        }
    }
}
