//! dialwright: a small language and compiler for laser-cut rotating game dials.

pub mod artwork;
pub mod design;
pub mod diagnostics;
pub mod geometry;
pub mod lettering;
pub mod limits;
pub mod plan;
pub mod source;
pub mod syntax;
pub mod units;
