//! All tests that use the library from outside, in one binary.

mod geometry;
//! The integration tests: one binary, one module a theme.

mod lettering;
//! Tests of the whole crate against figures from outside it.

mod physics;
