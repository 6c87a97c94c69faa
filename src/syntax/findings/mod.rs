//! What is said about a text that cannot be read as it stands: its items, its signs, their order, its units.

pub mod order;
pub mod signs;
pub mod syntax;
pub mod units;
