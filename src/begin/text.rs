//! The file, with a comment where a newcomer would ask.

use super::layout::Opening;
use super::{Answers, Readings};
use crate::check::Shop;
use crate::syntax::{Word, quoted, word};
use crate::units::{Length, plain};

/// The whole text; its comments are not aligned yet.
pub(super) fn text(
    answers: &Answers,
    opening: Opening,
    height: Option<Length>,
    (ring, pivot): (&str, &str),
    with: Option<&str>,
    file: &str,
) -> String {
    let Answers { shows, readings, across, stock, .. } = answers;
    let title = quoted(shows);
    let with = with.map_or_else(String::new, |file| {
        format!("with {}  // the shop: its stocks, magnets and speeds\n", quoted(file))
    });
    let labels = match readings {
        Readings::Numbers(first, last) => format!("labels {first} to {last}"),
        Readings::Words(words) => {
            let words: Vec<String> = words.iter().map(|word| quoted(word)).collect();
            format!("labels [{}]", words.join(", "))
        }
    };
    let peep = match opening {
        Opening::Round { across, out } => format!("circle(diameter: {}) at polar({}, 0deg)", mm(across), mm(out)),
        Opening::Long { inner, outer, half } => {
            format!("sector(radius: {}, inner: {}, from: -{half}deg, to: {half}deg)", mm(outer), mm(inner))
        }
        Opening::Spoke { across, long, out } => {
            format!("obround(width: {}, height: {}) at polar({}, 0deg)", mm(across), mm(long), mm(out))
        }
    };
    let spokes = match opening {
        Opening::Spoke { .. } => "; facing clockwise",
        _ => "",
    };
    let height = height.map_or_else(String::new, |height| format!("; height {}", mm(height.as_mm())));
    let file = file.trim_end_matches(".dial");
    format!(
        "\
// A first dial. Change a figure and save; `dialwright view {file}.dial` shows it at once, and
// `dialwright explain ring` (or any other word below) says what the word can do.
dial {title}
{with}outline circle(diameter: {across})  // of every layer that has no outline of its own

// Below: the readings, on a ring about the axis. How far out they are follows from the opening, and how
// large they are unless their height is stated.
layer base of {stock} {{
  engrave ring {ring} {{ {labels}{spokes}{height} }}
}}

// Above: the cover that turns, with an opening at the top. A bearing of 0deg is the top, then clockwise.
layer cover of {stock} {{
  window peep = {peep}
}}

// From the bottom up, with what holds the layers together and lets them turn: one stop for each reading.
stack {{
  base
  turn on {pivot}
  cover
}}
reads {ring} through peep
",
        across = mm(across.as_mm()),
    )
}

fn mm(value: f64) -> String {
    format!("{}mm", plain(value, 3))
}

/// What the ring is called: the first word of the title where that can be a name and nothing else has it.
pub(super) fn ring_name(shows: &str, shop: &Shop) -> String {
    let lower = shows.to_lowercase();
    let first = lower.split(|letter: char| !letter.is_alphanumeric()).find(|word| !word.is_empty());
    let is_free =
        |name: &&str| matches!(word(name), Word::Name) && !["base", "cover", "peep"].contains(name) && !shop.has(name);
    first.filter(is_free).unwrap_or("readings").to_owned()
}
