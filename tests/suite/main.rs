//! The integration tests: one binary, one module a theme.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "helpers of tests may fail as tests do"
)]

mod artwork;
mod lettering;
