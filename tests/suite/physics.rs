//! Magnets, friction, hazard, contrast and lettering against published figures and other people's libraries.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "helpers of tests may panic as tests do")]

mod magnets;
mod reading;
mod turning;
