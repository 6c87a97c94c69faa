//! Text to tree.
//!
//! `grammar/dial.pest` alone says what the language is. [`parse`] reads a whole file with its tolerant entry
//! and lowers what it finds into the [`tree`]; whatever could not be read is read again, item by item, to say
//! what is wrong with it. Nothing outside this module knows how text is parsed.

mod depth;
mod findings;
mod lexemes;
mod lower;
mod parse;
mod places;
mod recover;
pub mod tree;
mod trivia;

pub use lexemes::{Lexeme, LexemeKind, lexemes, lexemes_at, lexemes_in_strings, value_begun};
pub use parse::{Parsed, Word, parse, parse_expression, quoted, word};
pub use trivia::{Comment, blank_line_before};
