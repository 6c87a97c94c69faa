//! All tests that use the library from outside, in one binary: one module a theme.

mod by_hand;
mod geometry;
mod lettering;
mod physics;
mod turning;
//! All integration tests, in one binary so that they link once.

mod syntax;
