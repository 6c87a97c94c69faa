//! Everything that is tested from outside the crate, in one binary.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a test that fails may say so")]

mod designs;
mod geometry;
mod output;
mod plan;
mod stage;
