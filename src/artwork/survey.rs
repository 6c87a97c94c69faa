//! What a vector file holds that is not taken: named before it is parsed, since afterwards it is gone.

use std::collections::{BTreeMap, BTreeSet};

use usvg::roxmltree::{Document, Node, PI};

use super::css::number;
use super::plain::{NAMED_ONLY, Plain};
use super::{Dropped, Untaken};

const XLINK: &str = "http://www.w3.org/1999/xlink";

/// Everything below the element of this id (the whole file where none is given) that is not taken.
pub(super) fn passed_over(document: &Document, plain: &Plain, part: Option<&str>) -> BTreeSet<Dropped> {
    let drawn = drawn(document, plain, part);
    let mut found = BTreeSet::new();
    for node in document.descendants() {
        let is_seen = drawn.contains(&number(node));
        if is_seen || node.tag_name().name() == "style" {
            let unread = plain.unread.get(&number(node)).into_iter().flatten().cloned();
            found.extend(unread.map(|what| dropped(&node, what, plain)));
        }
        if is_seen {
            found.extend(node.attributes().filter_map(odd_attribute).map(|what| dropped(&node, what, plain)));
        }
        let stands_in = node.parent_element().is_some_and(|parent| drawn.contains(&number(parent)));
        if let Some(what) = untaken(&node, document).filter(|_| is_seen || (stands_in && is_chosen(&node))) {
            found.insert(dropped(&node, what, plain));
        }
        if let Some(PI { target: "xml-stylesheet", .. }) = node.pi() {
            found.insert(Dropped { what: Untaken::ExternalReference, on: String::new(), line: plain.line(node) });
        }
    }
    found
}

fn dropped(node: &Node, what: Untaken, plain: &Plain) -> Dropped {
    match node.attribute("id") {
        Some(id) => Dropped { what, on: id.to_owned(), line: 0 },
        None => Dropped { what, on: String::new(), line: plain.line(*node) },
    }
}

/// The elements that are drawn, or tell how others are.
fn drawn(document: &Document, plain: &Plain, part: Option<&str>) -> BTreeSet<u32> {
    let mut named: BTreeMap<&str, Node> = BTreeMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            named.entry(id).or_insert(node);
        }
    }
    let mut seen = BTreeSet::new();
    let mut to_see: Vec<Node> = match part {
        None => vec![document.root_element()],
        Some(id) => named.get(id).copied().into_iter().collect(),
    };
    while let Some(node) = to_see.pop() {
        if plain.hidden.contains(&number(node)) || !seen.insert(number(node)) {
            continue;
        }
        let links = plain.links.get(&number(node)).into_iter().flatten();
        to_see.extend(links.filter_map(|id| named.get(id.as_str()).copied()));
        let children = node.children().filter(|child| child.is_element() && is_chosen(child));
        to_see.extend(children.filter(|child| !NAMED_ONLY.contains(&child.tag_name().name())));
    }
    seen
}

/// Whether a switch lets an element through: it draws the first that asks for nothing that is not there.
fn is_chosen(node: &Node) -> bool {
    let asks = |node: &Node| node.attribute("requiredExtensions").is_some();
    let is_in_switch = node.parent_element().is_some_and(|parent| parent.tag_name().name() == "switch");
    let is_first = || {
        let mut before = node.prev_siblings().skip(1).filter(Node::is_element);
        !before.any(|other| !asks(&other) && !other.has_attribute("systemLanguage"))
    };
    !asks(node) && (!is_in_switch || is_first())
}

fn href<'a>(node: &Node<'a, '_>) -> Option<&'a str> {
    node.attribute("href").or_else(|| node.attribute((XLINK, "href")))
}

/// Attributes that make a drawing another one as it is opened, or for another reader.
fn odd_attribute(attribute: usvg::roxmltree::Attribute) -> Option<Untaken> {
    match attribute.name() {
        "systemLanguage" => Some(Untaken::Language),
        "onload" | "onbegin" | "onend" => Some(Untaken::Script),
        _ => None,
    }
}

fn untaken(node: &Node, document: &Document) -> Option<Untaken> {
    let is_elsewhere = || href(node).is_some_and(|href| !href.starts_with('#') && !href.starts_with("data:"));
    match node.tag_name().name() {
        "image" | "use" | "feImage" | "link" if is_elsewhere() => Some(Untaken::ExternalReference),
        "image" => Some(Untaken::Bitmap),
        "foreignObject" => Some(Untaken::ForeignContent),
        "script" => Some(Untaken::Script),
        "animate" | "animateTransform" | "animateMotion" | "animateColor" | "set" => Some(Untaken::Animation),
        _ if document.root_element() == *node && node.tag_name().name() != "svg" => Some(Untaken::ForeignContent),
        _ => None,
    }
}
