//! The Markdown that pages are written in, as HTML: headings, paragraphs, lists, tables, fences; code, bold and links
//! inside a line.

use maud::{Markup, html};

/// Where code inside a line leads, where it is a name with a place of its own.
pub(super) type Place<'a> = &'a dyn Fn(&str) -> Option<String>;

/// Blocks of a text, headings left out.
pub(super) fn blocks(text: &str, place: Place<'_>) -> Markup {
    let mut lines = text.lines().peekable();
    let mut made: Vec<Markup> = Vec::new();
    while let Some(line) = lines.next() {
        if line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        if line.starts_with("```") {
            let code: Vec<&str> = lines.by_ref().take_while(|line| !line.starts_with("```")).collect();
            made.push(code_block(&code.join("\n")));
            continue;
        }
        let mut block = vec![line];
        while let Some(next) = lines.next_if(|next| goes_on(next)) {
            block.push(next);
        }
        made.push(block_of(&block, place));
    }
    html! { @for block in &made { (block) } }
}

/// Whether a line belongs to the block before it.
fn goes_on(line: &str) -> bool {
    !line.trim().is_empty() && !line.starts_with("```") && !line.starts_with('#')
}

/// Code on lines of its own, that can be reached and scrolled by keys.
pub(super) fn code_block(text: &str) -> Markup {
    html! { pre tabindex="0" role="group" aria-label="Example" { code { (text) } } }
}

fn block_of(lines: &[&str], place: Place<'_>) -> Markup {
    let first = lines.first().copied().unwrap_or_default();
    let is_numbered = |line: &str| {
        line.split_once(". ")
            .is_some_and(|(number, _)| !number.is_empty() && number.bytes().all(|it| it.is_ascii_digit()))
    };
    if first.starts_with('|') {
        return table(lines, place);
    }
    if first.starts_with("- ") {
        return html! { ul { @for item in items(lines, &|line| line.starts_with("- ")) { li { (inline(&item, place)) } } } };
    }
    if is_numbered(first) {
        return html! { ol { @for item in items(lines, &is_numbered) { li { (inline(&item, place)) } } } };
    }
    html! { p { (inline(&lines.join(" "), place)) } }
}

/// The items of a list, each in one line and without its sign.
fn items(lines: &[&str], begins: &dyn Fn(&str) -> bool) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for line in lines {
        match all.last_mut() {
            Some(item) if !begins(line) => {
                item.push(' ');
                item.push_str(line.trim());
            }
            _ => all.push(line.split_once(' ').map_or("", |(_, text)| text).to_owned()),
        }
    }
    all
}

fn table(lines: &[&str], place: Place<'_>) -> Markup {
    let cells = |line: &str| -> Vec<String> {
        line.trim().trim_matches('|').split(" | ").map(|cell| cell.trim().to_owned()).collect()
    };
    let head = lines.first().map(|line| cells(line)).unwrap_or_default();
    html! {
        div.wide tabindex="0" role="group" aria-label="Table" {
            table {
                thead { tr { @for cell in &head { th scope="col" { (inline(cell, place)) } } } }
                tbody {
                    @for line in lines.iter().skip(2) {
                        tr { @for cell in cells(line) { td { (inline(&cell, place)) } } }
                    }
                }
            }
        }
    }
}

/// Text with code between backticks, what stands between `**` bold, and links as their words.
pub(super) fn inline(text: &str, place: Place<'_>) -> Markup {
    html! {
        @for (at, part) in text.split('`').enumerate() {
            @if at % 2 == 0 { (plain(part)) } @else if let Some(place) = place(part) { a href=(place) { code { (part) } } }
            @else { code { (part) } }
        }
    }
}

fn plain(text: &str) -> Markup {
    html! {
        @for (at, part) in text.split("**").enumerate() {
            @if at % 2 == 1 { strong { (unlinked(part)) } } @else { (unlinked(part)) }
        }
    }
}

/// The words of links alone: the page leads nowhere but to itself.
fn unlinked(text: &str) -> String {
    let mut rest = text;
    let mut made = String::new();
    while let Some((before, after)) = rest.split_once('[') {
        match after.split_once("](").and_then(|(words, after)| Some((words, after.split_once(')')?.1))) {
            Some((words, after)) => {
                made = made + before + words;
                rest = after;
            }
            None => {
                made = made + before + "[";
                rest = after;
            }
        }
    }
    made + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_block_becomes_what_it_is() {
        let text = "# title\n\nOne **bold** `code`\nline, [words](place.md).\n\n- a\n  b\n- c\n\n1. d\n\n| x | y |\n| --- | --- |\n\
                    | 1 | `<` |\n\n```dial\nlet a = 1 < 2\n```\n";
        let made = blocks(text, &|word| (word == "code").then(|| "#there".to_owned())).into_string();
        for part in [
            "<p>One <strong>bold</strong> <a href=\"#there\"><code>code</code></a> line, words.</p>",
            "<ul><li>a b</li><li>c</li></ul><ol><li>d</li></ol>",
            "<th scope=\"col\">x</th>",
            "<td><code>&lt;</code></td>",
            "<code>let a = 1 &lt; 2</code></pre>",
        ] {
            assert!(made.contains(part), "{part} is not in {made}");
        }
        assert!(!made.contains("title"));
    }
}
