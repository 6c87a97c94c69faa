//! What the language's own words do, for hover.

use crate::vocabulary::{Place, keywords};

/// What a word of ours does, where it is one: in its first role, where it has several.
pub(super) fn meaning(text: &str) -> Option<String> {
    let known = keywords().find(|known| known.word == text)?;
    // Those inside an item show by example what they belong to.
    let alone = known.place == Place::Inside;
    Some(if alone { known.doc.to_owned() } else { format!("`{text}`: {}", known.doc) })
}
