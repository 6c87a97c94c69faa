//! Text to tree.

pub mod tree;
