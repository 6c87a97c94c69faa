//! Everything that can be said of a design before it is cut: what reads, what fits, what breaks. Pure.

pub mod fit;
mod flat;
mod pose;
pub mod true_turning;
pub mod turning;

pub use fit::{Fit, StopFit};
pub use true_turning::TrueTurning;
pub use turning::{Proof, ReadingProof, StopProof, prove};
