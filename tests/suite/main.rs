//! All integration tests in one binary.
#![cfg(test)]

mod by_hand;
mod planted;
mod turning;
