//! What each finding says. All prose of the messages is here, by kind; none is in the checkers.
//!
//! How we write: one sentence with the figures in it, no full stop; backticks round the user's text; the
//! language's words and never Rust's; advice goes into the help, as what to write instead.

pub mod plan;
