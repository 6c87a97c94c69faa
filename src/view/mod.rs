//! The live page: what it shows and whom it answers. Pure; `src/cli/view` listens, watches and writes.
//!
//! A request is first looked at by [`route`], which refuses all that does not come from the page itself. What is shown
//! is worked out from an analysis: [`page::state`] for the picture, [`page::boards`] for the boards.

pub mod page;
pub mod params;
mod route;

pub use route::{Choice, Refusal, Route, cookie, route};

/// What the live page does beside the viewer.
pub const SCRIPT: &str = include_str!("live.js");
/// How it looks beside the viewer.
pub const STYLE: &str = include_str!("live.css");
/// The small picture of the tab: a dial with its opening.
pub const ICON: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 32 32\"><circle cx=\"16\" cy=\"16\" r=\"14\" \
                        fill=\"#d9b98a\" stroke=\"#5b3a1e\" stroke-width=\"2\"/><circle cx=\"16\" cy=\"9\" r=\"4\" fill=\"#5b3a1e\"/></svg>";
/// What a page of ours may load and do: its own files, and nothing from anywhere else.
pub const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; \
                          base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// Name of the secret in the address of the page, which is told to its user alone.
pub const KEY: &str = "key";
/// Name of the header that carries the session's token.
pub const TOKEN: &str = "x-dialwright-token";
