//! What all pages write alike.

use maud::{Markup, html};

/// What stands between backticks as code.
pub(crate) fn marked(text: &str) -> Markup {
    html! { @for (at, part) in text.split('`').enumerate() { @if at % 2 == 1 { code { (part) } } @else { (part) } } }
}
