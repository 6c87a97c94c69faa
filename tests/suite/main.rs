//! All tests that use the library from outside, in one binary.
#![cfg(test)]

mod by_hand;
mod geometry;
mod planted;
mod strength;
mod turning;
