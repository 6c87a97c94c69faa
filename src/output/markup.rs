//! What all pages write alike.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use maud::{Markup, PreEscaped, html};
use sha2::{Digest as _, Sha256};

/// Bytes as an address that holds them.
pub(crate) fn data_address(kind: &str, bytes: &[u8]) -> String {
    format!("data:{kind};base64,{}", STANDARD.encode(bytes))
}

/// The hash of a style or script as a policy names it (W3C Content Security Policy 3).
pub(crate) fn hash(text: &str) -> String {
    format!("sha256-{}", STANDARD.encode(Sha256::digest(text)))
}

/// Where the pictures of a page are.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Pictures {
    /// In the page itself.
    Within,
    /// In files beside it.
    Beside,
}

/// The head of a page for paper, with its own style, which is allowed by its hash alone; it may show the drawings beside it if it has
/// any, and nothing in it may run (W3C Content Security Policy 3).
pub(crate) fn head(title: &str, style: &str, pictures: Pictures) -> Markup {
    // A page that is opened from a disc has no origin of its own, so its neighbours are allowed by their kind of address.
    let images = if pictures == Pictures::Beside { "img-src 'self' file:; " } else { "" };
    let policy =
        format!("default-src 'none'; style-src '{}'; {images}base-uri 'none'; form-action 'none'", hash(style));
    html! {
        head {
            meta charset="utf-8";
            meta http-equiv="Content-Security-Policy" content=(policy);
            meta name="viewport" content="width=device-width, initial-scale=1";
            title { (title) }
            style { (PreEscaped(style)) }
        }
    }
}

/// Angles as people write them: `72°` for the language's `72deg`.
pub(crate) fn degrees(text: &str) -> String {
    let mut pieces = text.split("deg");
    let mut said = pieces.next().unwrap_or_default().to_owned();
    for piece in pieces {
        let angle = said.ends_with(|last: char| last.is_ascii_digit()) && !piece.starts_with(char::is_alphanumeric);
        said.push_str(if angle { "°" } else { "deg" });
        said.push_str(piece);
    }
    said
}

/// What stands between backticks as code.
pub(crate) fn marked(text: &str) -> Markup {
    html! { @for (at, part) in text.split('`').enumerate() { @if at % 2 == 1 { code { (part) } } @else { (part) } } }
}
