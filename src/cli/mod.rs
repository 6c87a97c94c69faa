//! The command line: the only code that touches files and terminals.

pub mod stage;
