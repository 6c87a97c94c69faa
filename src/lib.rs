//! dialwright: a small language and compiler for laser-cut rotating game dials.

pub mod analyse;
pub mod artwork;
pub mod audit;
pub mod check;
pub mod cli;
pub mod design;
pub mod diagnostics;
pub mod geometry;
pub mod lettering;
pub mod limits;
pub mod output;
pub mod physics;
pub mod plan;
pub mod project;
pub mod source;
pub mod syntax;
pub mod units;
