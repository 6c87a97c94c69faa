//! dialwright: a small language and compiler for laser-cut rotating game dials.

pub mod cli;
pub mod design;
pub mod diagnostics;
pub mod geometry;
pub mod limits;
pub mod output;
pub mod plan;
pub mod source;
pub mod syntax;
pub mod units;
