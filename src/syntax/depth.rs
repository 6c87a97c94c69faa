//! How deep brackets nest, counted before anything is parsed, because the parser's own stack would give out.

use std::iter::Peekable;
use std::str::CharIndices;

use super::parse::{Rule, with_rule};

/// Quotes other than `"`: a text that holds them is left to the grammar.
const ODD_QUOTES: &str = "“”„‟‘’‚«»‹›'";

/// How many brackets are open. Round and square ones never reach past a brace or a `;`, so one that is left open does not
/// count for the rest of the file.
#[derive(Default)]
struct Depth {
    braces: usize,
    brackets: usize,
}

impl Depth {
    fn after(&mut self, sign: char) -> usize {
        match sign {
            '(' | '[' => self.brackets += 1,
            ')' | ']' => self.brackets = self.brackets.saturating_sub(1),
            '{' => (self.braces, self.brackets) = (self.braces + 1, 0),
            '}' => (self.braces, self.brackets) = (self.braces.saturating_sub(1), 0),
            ';' => self.brackets = 0,
            _ => {}
        }
        self.braces + self.brackets
    }
}

/// Where brackets nest deeper than this.
pub(super) fn too_deep(text: &str, limit: usize) -> Option<usize> {
    // Nearly every file is settled by the quick look; the slow one is only asked where that gives up.
    if is_shallow(text, limit) { None } else { by_lexemes(text, limit) }
}

fn by_lexemes(text: &str, limit: usize) -> Option<usize> {
    let mut depth = Depth::default();
    let lexemes = with_rule(Rule::lexemes, text).ok()?.next()?.into_inner();
    for lexeme in lexemes.filter(|lexeme| matches!(lexeme.as_rule(), Rule::sign | Rule::unclosed_text)) {
        for (at, sign) in lexeme.as_str().char_indices() {
            if depth.after(sign) > limit {
                return Some(lexeme.as_span().start() + at);
            }
        }
    }
    None
}

/// Whether a single look at each character is enough to say that brackets nest no deeper than this. It gives up on
/// whatever could be read in two ways, and then says no.
fn is_shallow(text: &str, limit: usize) -> bool {
    let mut depth = Depth::default();
    let mut before = ' ';
    let mut characters = text.char_indices().peekable();
    while let Some((at, character)) = characters.next() {
        let next = characters.peek().map_or(' ', |(_, next)| *next);
        let clear = match character {
            // After a number a `"` means inches.
            '"' => !(before.is_alphanumeric() || before == '_') && skip_text(&mut characters),
            '/' if next == '/' => skip_line(text.get(at..).unwrap_or_default(), &mut characters),
            '/' => next != '*',
            '<' => next != '!',
            '#' => next.is_ascii_alphanumeric(),
            _ => !ODD_QUOTES.contains(character) && depth.after(character) <= limit,
        };
        if !clear {
            return false;
        }
        before = character;
    }
    true
}

/// Goes past the end of a text; false where it ends with its line.
fn skip_text(characters: &mut Peekable<CharIndices<'_>>) -> bool {
    while let Some((_, character)) = characters.next_if(|(_, next)| !matches!(next, '\n' | '\r')) {
        match character {
            '"' => return true,
            '\\' if characters.next_if(|(_, next)| !matches!(next, '\n' | '\r')).is_none() => return false,
            _ => {}
        }
    }
    false
}

/// Goes to the end of the line, of which this is left.
fn skip_line(left: &str, characters: &mut Peekable<CharIndices<'_>>) -> bool {
    let length = left.chars().take_while(|next| !matches!(next, '\n' | '\r')).count();
    // The first of them has been taken already.
    for _ in 1..length {
        characters.next();
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2_000))]

        /// Both ways of counting agree wherever the quick one decides, on texts made of all that could mislead it.
        #[test]
        fn the_quick_look_never_misses_a_bracket(
            pieces in prop::collection::vec(
                prop::sample::select(vec![
                    "(", "[", "{", "}", ")", "]", ";", "\"", "\\", "//", "/", "/*", "*/", "<!--", "-->", "#", "3", "x", "_",
                    "“", "'", "\n", "\r\n", " ", "\\\"", "\\u{", "1/8in", "#a0b0c0", "°", "é", "\u{FEFF}", "..",
                ]),
                0..40,
            ),
        ) {
            let text = pieces.concat();
            for limit in [0, 1, 2, 4] {
                prop_assert!(!is_shallow(&text, limit) || by_lexemes(&text, limit).is_none(), "{limit}: {text:?}");
            }
        }
    }

    #[test]
    fn plain_designs_need_no_second_look() {
        assert!(is_shallow("layer base of birch {\n  engrave text(\"A (\", height: 5mm) at (0mm, 3mm) // (((\n}", 2));
        assert!(!is_shallow("outline circle(diameter: 60mm)", 0));
        assert_eq!(too_deep("let a = ((1))", 1), Some(9));
    }
}
