//! What all pages write alike.

use maud::{Markup, PreEscaped, html};

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
