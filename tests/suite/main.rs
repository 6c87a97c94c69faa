//! Everything that is tested from outside the crate, in one binary.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_precision_loss
)]

mod designs;
mod geometry;
mod geometry_measures;
mod geometry_random;
mod output;
mod plan;
mod stage;
