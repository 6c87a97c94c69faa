//! What all pages write alike.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, PreEscaped, html};
use sha2::{Digest as _, Sha256};

/// The hash of a style or script as a policy names it (W3C Content Security Policy 3).
pub(crate) fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text)))
}

/// The head of a page for paper, with its own style.
pub(crate) fn head(title: &str, style: &str) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            title { (title) }
            style { (PreEscaped(style)) }
        }
    }
}

/// What stands between backticks as code.
pub(crate) fn marked(text: &str) -> Markup {
    html! { @for (at, part) in text.split('`').enumerate() { @if at % 2 == 1 { code { (part) } } @else { (part) } } }
}
