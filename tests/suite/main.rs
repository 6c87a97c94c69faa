//! Tests of the whole crate against figures from outside it.

mod physics;
