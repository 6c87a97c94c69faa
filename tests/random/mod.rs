//! Dials drawn by seed: what `check` says of each must be what a second reader finds in its files, in both directions.
//!
//! `draw` writes whole designs as text of the language, about half of them sound and the others with a fault planted in them. `agree`
//! checks one, writes its files and reads them back: each stop must read by pixels as it was said to, what is made must be what was
//! meant, and what is amiss with floors, seats and slot must be told by both. What is nearer to its bound than a pixel counts as
//! neither. `shrink` makes a dial small on which they differ; such dials are kept in `kept`.
//!
//! A long run: `cargo bench --bench random_dials -- COUNT FROM`. What came of those so far stands in `README.md`.

mod agree;
mod dice;
mod draw;
mod faults;
mod rings;
mod run;
mod shapes;
mod shrink;

#[allow(unused_imports, reason = "each of those that share this module needs some of them")]
pub use {
    agree::{Outcome, analysed, written},
    draw::dial,
    run::{Counts, guarded, run},
    shrink::shrunk,
};
