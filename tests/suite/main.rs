//! All tests that use the library from outside, in one binary.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_precision_loss
)]

mod geometry;
mod geometry_measures;
mod geometry_random;
