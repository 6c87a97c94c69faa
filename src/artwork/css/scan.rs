//! Text of style sheets cut into pieces, as CSS Syntax Level 3 (W3C) cuts it.

/// The text with a space for each comment.
pub(super) fn uncommented(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = top(rest, &["/*"]) {
        kept.push_str(rest.get(..at).unwrap_or_default());
        kept.push(' ');
        let after = rest.get(at + 2..).unwrap_or_default();
        rest = after.find("*/").and_then(|end| after.get(end + 2..)).unwrap_or_default();
    }
    kept.push_str(rest);
    kept
}

/// What stands before a `;` or a block, and the block if it is one.
#[derive(Debug, PartialEq)]
pub(super) struct Piece<'t> {
    pub(super) before: &'t str,
    pub(super) block: Option<&'t str>,
}

/// The statements of a sheet, or of a block.
pub(super) fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut pieces = Vec::new();
    let mut rest = text;
    while !rest.is_empty() {
        let at = top(rest, &[";", "{"]).unwrap_or(rest.len());
        let before = rest.get(..at).unwrap_or_default().trim();
        let after = rest.get(at + 1..).unwrap_or_default();
        let block = rest.get(at..).is_some_and(|rest| rest.starts_with('{')).then(|| {
            let end = closing(after);
            (after.get(..end).unwrap_or_default(), after.get(end + 1..).unwrap_or_default())
        });
        rest = block.map_or(after, |(_, after)| after);
        if !before.is_empty() || block.is_some() {
            pieces.push(Piece { before, block: block.map(|(inner, _)| inner) });
        }
    }
    pieces
}

/// The parts of a text between commas that stand in no bracket and no string.
pub(super) fn listed(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut rest = text;
    while let Some(at) = top(rest, &[","]) {
        parts.push(rest.get(..at).unwrap_or_default().trim());
        rest = rest.get(at + 1..).unwrap_or_default();
    }
    parts.push(rest.trim());
    parts
}

/// Where the block that was opened before this text ends.
fn closing(text: &str) -> usize {
    let (mut rest, mut depth, mut at) = (text, 0_usize, 0);
    while let Some(next) = top(rest, &["{", "}"]) {
        let opens = rest.get(next..).is_some_and(|rest| rest.starts_with('{'));
        match (opens, depth) {
            (true, _) => depth += 1,
            (false, 0) => return at + next,
            (false, _) => depth -= 1,
        }
        at += next + 1;
        rest = rest.get(next + 1..).unwrap_or_default();
    }
    text.len()
}

/// Where the bracket that was opened before this text closes.
pub(super) fn bracket_end(text: &str) -> Option<usize> {
    top(text, &[")"])
}

/// Where one of these first stands outside strings and brackets.
fn top(text: &str, wanted: &[&str]) -> Option<usize> {
    let (mut quote, mut depth, mut is_escaped) = (None, 0_usize, false);
    for (at, letter) in text.char_indices() {
        match (letter, quote) {
            _ if is_escaped => is_escaped = false,
            ('\\', _) => is_escaped = true,
            (_, Some(open)) if open == letter => quote = None,
            // A string ends with its line, closed or not.
            ('\n', Some(_)) => quote = None,
            (_, Some(_)) => {}
            _ if depth == 0 && wanted.iter().any(|word| text.get(at..).is_some_and(|rest| rest.starts_with(word))) => {
                return Some(at);
            }
            ('"' | '\'', None) => quote = Some(letter),
            ('(' | '[', None) => depth += 1,
            (')' | ']', None) => depth = depth.saturating_sub(1),
            _ => {}
        }
    }
    None
}

/// A name at the beginning of a text, its escapes resolved, and what follows it.
pub(super) fn identifier(text: &str) -> Option<(String, &str)> {
    let mut name = String::new();
    let mut rest = text;
    while let Some(letter) = rest.chars().next() {
        let after = rest.get(letter.len_utf8()..).unwrap_or_default();
        match letter {
            'a'..='z' | 'A'..='Z' | '_' | '-' | '\u{80}'.. => name.push(letter),
            '0'..='9' if !name.is_empty() => name.push(letter),
            '\\' => {
                let (escaped, after) = escape(after)?;
                name.push(escaped);
                rest = after;
                continue;
            }
            _ => break,
        }
        rest = after;
    }
    (!name.is_empty()).then_some((name, rest))
}

/// The letter that an escape stands for: up to six hex digits with a space after them, or any other letter itself.
fn escape(text: &str) -> Option<(char, &str)> {
    let digits = text.chars().take(6).take_while(char::is_ascii_hexdigit).count();
    let Some((code, rest)) = text.split_at_checked(digits).filter(|(code, _)| !code.is_empty()) else {
        let letter = text.chars().next().filter(|letter| *letter != '\n')?;
        return Some((letter, text.get(letter.len_utf8()..)?));
    };
    let letter = u32::from_str_radix(code, 16).ok().and_then(char::from_u32).unwrap_or('\u{fffd}');
    Some((letter, rest.strip_prefix(|space: char| space.is_ascii_whitespace()).unwrap_or(rest)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pieces_end_at_the_top_only() {
        let text = "a[x=';']{b:url(a;b);c:'}'} @import 'x;y'; d{e{f:g}}h{i:j";
        let found: Vec<_> = pieces(text).into_iter().map(|piece| (piece.before, piece.block)).collect();
        let wanted = [
            ("a[x=';']", Some("b:url(a;b);c:'}'")),
            ("@import 'x;y'", None),
            ("d", Some("e{f:g}")),
            ("h", Some("i:j")),
        ];
        assert_eq!(found, wanted);
    }

    #[test]
    fn comments_in_strings_are_none() {
        assert_eq!(uncommented("a/* b */c '/*' d/* e"), "a c '/*' d ");
    }

    #[test]
    fn escapes_are_resolved() {
        assert_eq!(identifier("th\\72 ee.x"), Some(("three".to_owned(), ".x")));
        assert_eq!(identifier("\\31 a"), Some(("1a".to_owned(), "")));
        assert_eq!(identifier("9a"), None);
    }
}
