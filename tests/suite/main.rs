//! The integration tests: one binary, one module a theme.

mod artwork;
mod lettering;
