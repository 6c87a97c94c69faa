//! What is said about names, types and values, and about how a dial is put together from them.

pub mod artwork;
pub mod dial;
pub mod frames;
pub mod lettering;
pub mod magnets;
pub mod names;
pub mod pins;
pub mod rings;
pub mod seeks;
pub mod tables;
pub mod types;
pub mod values;
