//! What every word of the language means: one entry for each word in each of its roles, made from the tables of
//! [`crate::vocabulary`], with the page of the word where it has one.
//!
//! `explain` prints entries, editors show them shorter, and [`crate::manual`] makes the illustrated page of all of them.

mod entry;
mod example;
mod gather;
mod text;
mod topics;

pub use entry::{Entry, Role, Row};
pub use example::{Example, Frame};
pub use gather::{ENTRIES, explained, function, keyword, keyword_at, of_word, with_role};
pub(crate) use text::capital;
pub use topics::Topic;
