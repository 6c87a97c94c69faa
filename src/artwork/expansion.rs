//! How much a drawing comes to once everything that it refers to stands in its place: a few lines can ask for one thing a thousand
//! million times.

use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

use usvg::roxmltree::{Document, Node};

/// Attributes that put what they name in the element's place or round it; and those that do so with every shape below it.
const OF_ITSELF: [&str; 4] = ["href", "clip-path", "mask", "filter"];
const INHERITED: [&str; 5] = ["fill", "stroke", "marker-start", "marker-mid", "marker-end"];

/// About how many elements a drawing in plain attributes has then; the largest number for all beyond. What refers to itself is
/// counted once, since its reader leaves that out.
pub(super) fn expanded(document: &Document) -> u64 {
    let named = document.descendants().filter_map(|node| Some((node.attribute("id")?, node)));
    let mut walk = Walk { named: named.collect(), known: BTreeMap::new() };
    walk.size(document.root_element())
}

struct Walk<'d> {
    named: BTreeMap<&'d str, Node<'d, 'd>>,
    /// What was counted; nothing yet for an element that is being counted.
    known: BTreeMap<u32, u64>,
}

impl<'d> Walk<'d> {
    /// Elements in the order in which each comes after all that it refers to or holds, without calls inside calls: drawings may
    /// be as deep as they like.
    fn size(&mut self, root: Node<'d, 'd>) -> u64 {
        let mut open = vec![(root, false)];
        while let Some((node, is_counted)) = open.pop() {
            let key = node.id().get();
            let needs = self.needs(node);
            if is_counted {
                let sum = needs
                    .iter()
                    .map(|(need, times)| self.known.get(&need.id().get()).copied().unwrap_or(0).saturating_mul(*times));
                let whole = sum.fold(1_u64, u64::saturating_add);
                self.known.insert(key, whole);
            } else if let Entry::Vacant(entry) = self.known.entry(key) {
                entry.insert(0);
                open.push((node, true));
                open.extend(needs.into_iter().map(|(need, _)| (need, false)));
            }
        }
        self.known.get(&root.id().get()).copied().unwrap_or(0)
    }

    /// What an element holds or refers to, and how often it is put in place.
    fn needs(&self, node: Node<'d, 'd>) -> Vec<(Node<'d, 'd>, u64)> {
        let inner = node.children().filter(Node::is_element).map(|child| (child, 1));
        let named = &self.named;
        let outer = node.attributes().flat_map(move |attribute| {
            let shapes = || node.descendants().filter(Node::is_element);
            let times = match attribute.name() {
                own if OF_ITSELF.contains(&own) => 1,
                paint if !INHERITED.contains(&paint) || !attribute.value().contains('#') => 0,
                "fill" | "stroke" => shapes().count() as u64,
                _ => shapes().map(corners).sum(),
            };
            let found = name_in(attribute.value()).and_then(|name| named.get(name));
            found.filter(|_| times > 0).map(|found| (*found, times))
        });
        inner.chain(outer).collect()
    }
}

/// The id in a value, as a whole reference or in `url(…)`.
fn name_in(value: &str) -> Option<&str> {
    let inner = value.split_once("url(").and_then(|(_, rest)| rest.split(')').next()).unwrap_or(value);
    inner.trim().trim_matches(['"', '\'']).strip_prefix('#')
}

/// No fewer corners than a shape has, at which markers may stand.
fn corners(node: Node) -> u64 {
    let numbers = |text: &str| text.split(|sign: char| !sign.is_ascii_digit()).filter(|run| !run.is_empty()).count();
    let data = node.attribute("d").or(node.attribute("points"));
    data.map_or(2, |data| numbers(data) as u64 + 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(content: &str) -> u64 {
        let text = format!(r##"<svg xmlns="http://www.w3.org/2000/svg">{content}</svg>"##);
        expanded(&Document::parse(&text).unwrap())
    }

    /// Counted by hand: the drawing itself, its elements, and what each refers to once more.
    #[test]
    fn what_is_referred_to_counts_where_it_is_used() {
        assert_eq!(count(""), 1);
        assert_eq!(count("<g><path/><path/></g>"), 4);
        assert_eq!(count(r##"<g id="a"><path/></g><use href="#a"/><use href="#a"/>"##), 1 + 2 + 2 * 3);
        assert_eq!(count(r##"<path id="a"/><path fill="url(#a)" mask="url('#a')"/>"##), 1 + 1 + (1 + 1 + 1));
        assert_eq!(count(r##"<path id="a"/><g fill="url(#a)"><path/></g>"##), 1 + 1 + (1 + 1 + 2), "inherited");
        let marked = r##"<marker id="m"><path/></marker><path d="M0 0L1 1L2 2" marker-mid="url(#m)"/>"##;
        assert_eq!(count(marked), 1 + 2 + (1 + 8 * 2), "six numbers and two more corners at the most");
    }

    #[test]
    fn what_doubles_is_told_and_circles_end() {
        let doubled: String = (1..80)
            .map(|at| format!(r##"<g id="u{at}"><use href="#u{0}"/><use href="#u{0}"/></g>"##, at - 1))
            .collect();
        assert_eq!(count(&format!(r##"<g id="u0"/>{doubled}"##)), u64::MAX);
        assert!(count(r##"<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>"##) < 20);
        let deep = "<g>".repeat(900) + &"</g>".repeat(900);
        assert_eq!(count(&deep), 901);
    }
}
