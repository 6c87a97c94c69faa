//! All tests that use the library from outside, in one binary: one module a theme.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "a test that fails may say so")]

mod by_hand;
mod designs;
mod dials;
mod geometry;
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "helpers of tests may fail as tests do"
)]

mod artwork;
mod lettering;
mod output;
mod physics;
mod plan;
mod stage;
mod syntax;
mod turning;
