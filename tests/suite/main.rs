//! All tests that use the library from outside, in one binary.

mod geometry;
