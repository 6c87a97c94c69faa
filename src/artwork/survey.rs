//! What a vector file holds that is gone once it has been parsed: bitmaps, references elsewhere.

use std::collections::BTreeSet;

use usvg::roxmltree::{Document, Node};

use super::{Dropped, Untaken};

const XLINK: &str = "http://www.w3.org/1999/xlink";

/// Everything below the element of this id (the whole file where none is given) that the parser passes over.
pub(super) fn passed_over(document: &Document, part: Option<&str>) -> BTreeSet<Dropped> {
    let mut found = BTreeSet::new();
    let mut seen = BTreeSet::new();
    let mut to_see: Vec<Node> = match part {
        None => vec![document.root_element()],
        Some(id) => named(document, id).into_iter().collect(),
    };
    while let Some(top) = to_see.pop() {
        for node in top.descendants().filter(Node::is_element) {
            if let Some(what) = untaken(&node) {
                found.insert(Dropped { what, on: node.attribute("id").unwrap_or_default().to_owned() });
            }
            if let Some(id) = href(&node).and_then(|href| href.strip_prefix('#'))
                // Elements may use one another in a circle.
                && seen.insert(id.to_owned())
            {
                to_see.extend(named(document, id));
            }
        }
    }
    found
}

fn named<'a, 'input>(document: &'a Document<'input>, id: &str) -> Option<Node<'a, 'input>> {
    document.descendants().find(|node| node.attribute("id") == Some(id))
}

fn href<'a>(node: &Node<'a, '_>) -> Option<&'a str> {
    node.attribute("href").or_else(|| node.attribute((XLINK, "href")))
}

fn untaken(node: &Node) -> Option<Untaken> {
    let is_elsewhere = || href(node).is_some_and(|href| !href.starts_with('#') && !href.starts_with("data:"));
    match node.tag_name().name() {
        "image" | "use" | "feImage" if is_elsewhere() => Some(Untaken::ExternalReference),
        "image" => Some(Untaken::Bitmap),
        "foreignObject" => Some(Untaken::ForeignContent),
        _ => None,
    }
}
