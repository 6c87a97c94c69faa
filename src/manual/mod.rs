//! The manual of the language: one page with an entry for every word, a picture for every shape, all topics and all
//! findings. It asks for nothing from anywhere, and has no script; it is searched by the browser's own find.

mod markdown;
mod page;
mod picture;

pub use page::page;
