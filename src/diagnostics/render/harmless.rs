//! Text of others as a terminal may show it. What a file, a name or a label holds must not move the cursor, set a title
//! or colours, or turn the words after it round: control characters (ECMA-48) and those that steer the direction of text
//! (Unicode Standard Annex 9, 2.4 and 2.5) are shown as signs that stand for them.

use std::borrow::Cow;

/// Stands for a character that has no picture of its own.
const UNSEEN: char = '\u{fffd}';

/// The text with a sign for every character that would do something; lines and tabs stay.
///
/// ```
/// use dialwright::diagnostics::harmless;
///
/// assert_eq!(harmless("gulls\u{1b}[2J"), "gulls␛[2J");
/// assert_eq!(harmless("two\nlines"), "two\nlines");
/// ```
pub fn harmless(text: &str) -> Cow<'_, str> {
    if !text.contains(acts) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|letter| if acts(letter) { picture(letter) } else { letter }).collect())
}

/// The same for words of our own that quote others': a tab in them is a space like any other.
pub(super) fn harmless_words(text: &str) -> String {
    harmless(text).replace('\t', " ")
}

/// The same for what stands in a line, such as the name of a file: nothing in it begins another line.
pub fn harmless_line(text: &str) -> String {
    harmless(text).replace('\n', "\u{240a}").replace(['\u{2028}', '\u{2029}'], "\u{fffd}")
}

/// The same for the text of JSON: escaped, so that programs read what was there.
pub fn harmless_json(text: &str) -> Cow<'_, str> {
    if !text.contains(acts) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len());
    for letter in text.chars() {
        // All of them lie in the first plane: one escape each (RFC 8259, 7).
        if acts(letter) { shown.push_str(&format!("\\u{:04x}", u32::from(letter))) } else { shown.push(letter) }
    }
    Cow::Owned(shown)
}

/// The same with signs of as many bytes, so that every place in the text stays where it was. Line ends stay, of either kind.
pub(super) fn harmless_in_place(text: &str) -> Cow<'_, str> {
    // A return before a line feed ends a line as Windows writes it; alone it would move the cursor back.
    let bare = |at: usize| text.get(at..).is_some_and(|rest| !rest.starts_with("\r\n"));
    if !text.char_indices().any(|(at, letter)| acts(letter) && bare(at)) {
        return Cow::Borrowed(text);
    }
    let sign = |(at, letter): (usize, char)| match letter.len_utf8() {
        _ if !acts(letter) || !bare(at) => letter,
        1 => '?',
        2 => '¿',
        _ => UNSEEN,
    };
    Cow::Owned(text.char_indices().map(sign).collect())
}

fn acts(letter: char) -> bool {
    let steers = matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    steers || (letter.is_control() && letter != '\n' && letter != '\t')
}

/// The picture of a control character (Unicode Standard, block Control Pictures), where it has one.
fn picture(letter: char) -> char {
    match letter {
        '\0'..='\u{1f}' => char::from_u32(0x2400 + u32::from(letter)).unwrap_or(UNSEEN),
        '\u{7f}' => '\u{2421}',
        _ => UNSEEN,
    }
}

/// The text without characters that XML 1.0 forbids.
pub fn printable(text: &str) -> String {
    let allowed =
        |c: &char| matches!(c, '\t' | '\n' | '\r' | ' '..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..);
    text.chars().filter(allowed).collect()
}
