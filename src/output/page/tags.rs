//! What stands on pages, for those who have them read aloud: which of it is a heading, which is text, and what a picture shows.
//! Everything drawn is in a group whose id names its tag; what is in none is there for the eye alone.

use svg::node::element::Group;

/// What a piece of a page is.
#[derive(Clone, Debug, PartialEq)]
pub enum Tag {
    /// A heading: its level from 1, what it says, and where it stands: its page from 0, and how far down within the margins, in mm.
    Heading {
        /// From 1.
        level: u16,
        /// What it says.
        says: String,
        /// Its page from 0.
        page: usize,
        /// How far below the upper margin, in mm.
        down: f64,
    },
    /// Text as it stands.
    Words,
    /// A picture, and what it shows, in words.
    Figure(String),
}

/// The drawing as the piece of this number; several pieces of one tag are told apart by `piece`.
pub(super) fn tagged(drawn: Group, tag: usize, piece: usize) -> Group {
    Group::new().set("id", format!("tag-{tag}-{piece}")).add(drawn)
}

/// The tag that a group's id names.
pub(super) fn tag_of(id: &str) -> Option<usize> {
    id.strip_prefix("tag-")?.split('-').next()?.parse().ok()
}
