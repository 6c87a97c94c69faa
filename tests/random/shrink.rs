//! A dial made smaller for as long as the same thing is wrong with it.

/// The smallest text found of which this still holds.
pub fn shrunk(text: &str, mut holds: impl FnMut(&str) -> bool) -> String {
    let mut best = text.to_owned();
    // Each pass may open the way for another one; the bound is for those that never come to rest.
    for _ in 0..8 {
        let before = best.clone();
        for smaller in [without_items as fn(&str) -> Vec<String>, without_tails, without_entries, rounder] {
            let mut at = 0;
            // What was tried at a place and failed is not tried again before the next pass.
            while let Some(next) = smaller(&best).into_iter().nth(at) {
                if next != best && holds(&next) {
                    best = next;
                } else {
                    at += 1;
                }
            }
        }
        if best == before {
            break;
        }
    }
    best
}

/// The text without one of its items, the largest first: a line, or a block with all that is in it.
fn without_items(text: &str) -> Vec<String> {
    let lines: Vec<&str> = text.lines().collect();
    let mut spans: Vec<(usize, usize)> = Vec::new();
    for (at, line) in lines.iter().enumerate().filter(|(_, line)| line.trim() != "}") {
        let end = if line.trim_end().ends_with('{') { closing(&lines, at) } else { at };
        spans.push((at, end));
    }
    spans.sort_by_key(|(from, to)| std::cmp::Reverse(to - from));
    let without = |(from, to): (usize, usize)| {
        let left = lines.iter().enumerate().filter(|(at, _)| !(from..=to).contains(at));
        left.fold(String::new(), |text, (_, line)| text + line + "\n")
    };
    spans.into_iter().map(without).collect()
}

/// The line that ends the block begun at a line.
fn closing(lines: &[&str], at: usize) -> usize {
    let mut deep = 0_usize;
    for (place, line) in lines.iter().enumerate().skip(at) {
        deep = deep + line.matches('{').count() - line.matches('}').count().min(deep);
        if deep == 0 {
            return place;
        }
    }
    at
}

/// Words that something of an item's own follows.
const TAILS: [&str; 11] = [
    " plus ",
    " less ",
    " turned ",
    " rounded ",
    " outset ",
    " repeated ",
    " at ",
    " tone ",
    " from ",
    " on birch",
    " scaled ",
];

/// The text without what follows one of the words that may be left out, up to the end of the line or of the bracket.
fn without_tails(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for word in TAILS {
        for (at, _) in text.match_indices(word) {
            let end = ending(text, at + word.len(), &['\n', ')', ']', ',']);
            found.push(format!("{}{}", &text[..at], &text[end..]));
            // Only up to the next such word.
            let next = TAILS.iter().filter_map(|word| text[at + 1..end].find(word)).min();
            found.extend(next.map(|next| format!("{}{}", &text[..at], &text[at + 1 + next..])));
        }
    }
    found
}

/// Where something ends that began at a place: at one of these signs outside of its own brackets.
fn ending(text: &str, from: usize, ends: &[char]) -> usize {
    let mut deep = 0_i32;
    for (at, sign) in text[from..].char_indices() {
        if deep == 0 && ends.contains(&sign) {
            return from + at;
        }
        deep += i32::from(matches!(sign, '(' | '[')) - i32::from(matches!(sign, ')' | ']'));
    }
    text.len()
}

/// The text without one of the entries of a list or call.
fn without_entries(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in text.match_indices(", ") {
        let end = ending(text, at + 2, &['\n', ')', ']', ',']);
        found.push(format!("{}{}", &text[..at], &text[end..]));
    }
    found
}

/// The text with one of its figures rounder.
fn rounder(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let length = text[at..].find(|sign: char| !sign.is_ascii_digit() && sign != '.').unwrap_or(text.len() - at);
        let figure = &text[at..at + length];
        let inside = text[..at].chars().next_back().is_some_and(|sign| sign.is_alphabetic() || sign == '#');
        if let Some(value) = figure.parse::<f64>().ok().filter(|_| !inside) {
            let steps = [10.0, 5.0, 1.0, 0.5, 0.1, 0.01];
            let rounder =
                steps.iter().map(|step| (value / step).round() * step).filter(|new| (new - value).abs() > 1e-9);
            let write = |new: f64| format!("{}{}{}", &text[..at], super::dice::plain(new), &text[at + length..]);
            let less = if figure.len() < 3 && value > 3.0 { Some(value - 1.0) } else { None };
            // A figure is only ever written shorter, or as a smaller count: so shrinking comes to an end.
            let shorter = |new: &f64| super::dice::plain(*new).len() < figure.len();
            found.extend(rounder.filter(shorter).chain(less).map(write));
        }
        at += length.max(1);
        while !text.is_char_boundary(at) {
            at += 1;
        }
    }
    found
}
