//! Words of other languages, of drawing, of programs and of people, and ours for the same thing.

use super::functions::FunctionName;
use super::types::TypeWord;
use crate::units::UNITS;

/// Words, and ours for the same thing.
const WORDS: &[(&str, &str)] = &[
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

/// Functions, and ours that does it.
const FUNCTIONS: &[(&str, FunctionName)] = &[
    ("oval", FunctionName::Ellipse),
    ("disk", FunctionName::Circle),
    ("cylinder", FunctionName::Circle),
    ("round_shape", FunctionName::Circle),
    ("kreis", FunctionName::Circle),
    ("cercle", FunctionName::Circle),
    ("rect", FunctionName::Rectangle),
    ("square", FunctionName::Rectangle),
    ("cube", FunctionName::Rectangle),
    ("box", FunctionName::Rectangle),
    ("rechteck", FunctionName::Rectangle),
    ("triangle", FunctionName::Polygon),
    ("pentagon", FunctionName::Polygon),
    ("hexagon", FunctionName::Polygon),
    ("octagon", FunctionName::Polygon),
    ("slot", FunctionName::Obround),
    ("stadium", FunctionName::Obround),
    ("capsule", FunctionName::Obround),
    ("arc", FunctionName::Sector),
    ("wedge", FunctionName::Sector),
    ("hull", FunctionName::Wrapped),
    ("image", FunctionName::Art),
    ("img", FunctionName::Art),
    ("svg", FunctionName::Art),
    ("picture", FunctionName::Art),
    ("label", FunctionName::Text),
    ("write", FunctionName::Text),
];

/// Types of value, and ours.
const TYPES: &[(&str, TypeWord)] = &[
    ("mm", TypeWord::Length),
    ("millimetres", TypeWord::Length),
    ("millimeters", TypeWord::Length),
    ("inches", TypeWord::Length),
    ("size", TypeWord::Length),
    ("distance", TypeWord::Length),
    ("width", TypeWord::Length),
    ("deg", TypeWord::Angle),
    ("degrees", TypeWord::Angle),
    ("bearing", TypeWord::Angle),
    ("int", TypeWord::Count),
    ("integer", TypeWord::Count),
    ("number", TypeWord::Count),
    ("float", TypeWord::Ratio),
    ("double", TypeWord::Ratio),
    ("real", TypeWord::Ratio),
    ("percent", TypeWord::Ratio),
    ("string", TypeWord::Text),
    ("str", TypeWord::Text),
    ("bool", TypeWord::Truth),
    ("boolean", TypeWord::Truth),
    ("color", TypeWord::Colour),
    ("shape", TypeWord::Region),
    ("list", TypeWord::Labels),
];

/// Units as they are written elsewhere, and ours.
const FOREIGN_UNITS: &[(&str, &str)] = &[
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

/// Words of languages in which things are done one after the other. Here nothing is.
const FLOW: &[&str] =
    &["for", "foreach", "while", "repeat", "loop", "do", "if", "else", "elif", "when", "switch", "case", "return"];

/// Whether a word orders what is done, in languages in which things are done one after the other.
pub fn is_flow(word: &str) -> bool {
    FLOW.contains(&word)
}

fn ours<T: Copy>(table: &[(&str, T)], word: &str) -> Option<T> {
    let word = word.to_lowercase();
    table.iter().find(|(theirs, _)| *theirs == word).map(|(_, ours)| *ours)
}

/// Our word for one from elsewhere.
pub fn our_word(word: &str) -> Option<&'static str> {
    ours(WORDS, word)
}

/// Our function for one from elsewhere.
pub fn our_function(word: &str) -> Option<FunctionName> {
    ours(FUNCTIONS, word)
}

/// Our type for one from elsewhere.
pub fn our_type(word: &str) -> Option<TypeWord> {
    ours(TYPES, word)
}

/// Our unit for one from elsewhere, or for ours in other capitals where only one can be meant.
pub fn our_unit(word: &str) -> Option<&'static str> {
    ours(FOREIGN_UNITS, word).or_else(|| {
        let mut alike = UNITS.iter().filter(|unit| unit.name.eq_ignore_ascii_case(word));
        alike.next().filter(|_| alike.next().is_none()).map(|unit| unit.name)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::unit_named;
    use crate::vocabulary::keywords;

    #[test]
    fn every_word_of_ours_that_is_offered_exists() {
        for (_, ours) in WORDS {
            let first = ours.split(' ').next().unwrap();
            assert!(keywords().any(|word| word.word == first), "{ours}");
        }
        for (_, ours) in FOREIGN_UNITS {
            assert!(unit_named(ours).is_some(), "{ours}");
        }
    }
}
