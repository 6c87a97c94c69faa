//! Style sheets of a drawing: which declarations each element has, and in what order they win (W3C CSS Cascading and
//! Inheritance Level 4). What is not understood is listed, so that it can be named.

mod properties;
mod scan;
mod selector;
mod transform;
mod variables;

use std::cell::Cell;
use std::rc::Rc;

use usvg::roxmltree::{Document, Node};

use scan::{identifier, listed, pieces, uncommented};
use selector::{Selector, Specificity, selectors};

pub(super) use properties::{Reading, Written, is_about_text, is_property, read};
pub(super) use variables::{Variables, substituted, with_variables};

/// How often an element may be held against a part of a selector, and a variable be looked up, over the whole drawing: a few
/// seconds of work.
const MOST_TESTS: u64 = 10_000_000;

/// A property and its value, as written.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Declaration {
    /// In lower case, but for those that begin with two dashes.
    pub(super) name: String,
    pub(super) value: String,
    is_important: bool,
}

#[derive(Debug)]
struct Rule {
    selector: Selector,
    specificity: Specificity,
    declarations: Rc<Vec<Declaration>>,
}

/// All rules of a drawing.
#[derive(Debug)]
pub(super) struct Sheets {
    rules: Vec<Rule>,
    /// What of them is not understood, each with its element.
    pub(super) unread: Vec<(u32, String)>,
    /// Counts down the work that may still be done.
    pub(super) left: Cell<u64>,
}

/// Rules are read this deep in one another.
const DEEPEST: usize = 8;

/// Which element of its document this is.
pub(super) fn number(node: Node) -> u32 {
    node.id().get()
}

/// Rules that change nothing of what a page shows at rest by themselves.
const IDLE_RULES: [&str; 5] = ["@charset", "@counter-style", "@keyframes", "@-webkit-keyframes", "@page"];

impl Sheets {
    /// The sheets inside a drawing.
    pub(super) fn of(document: &Document) -> Self {
        let mut sheets = Self { rules: Vec::new(), unread: Vec::new(), left: Cell::new(MOST_TESTS) };
        let has_text = document.descendants().any(|node| node.tag_name().name() == "text");
        for node in document.descendants().filter(|node| node.tag_name().name() == "style") {
            let is_css = node.attribute("type").is_none_or(|kind| kind.is_empty() || kind == "text/css");
            let media = node.attribute("media").unwrap_or_default();
            match on_screen(media) {
                _ if !is_css => {}
                Some(true) => {
                    let text: String = node.children().filter(Node::is_text).filter_map(|text| text.text()).collect();
                    let mut reader = Reader { sheets: &mut sheets, of: number(node), has_text };
                    // Marks that hid styles from browsers of old, and are passed over since.
                    reader.rules(&uncommented(&text).replace("<!--", "").replace("-->", ""), 0);
                }
                Some(false) => {}
                None => sheets.unread.push((number(node), format!("media {media}"))),
            }
        }
        sheets
    }

    /// What is declared for an element, the weakest first.
    pub(super) fn declared(&self, node: Node) -> Declared {
        let is_about = |rule: &&Rule| rule.selector.is_about(node, &self.left);
        let mut about: Vec<&Rule> =
            if self.is_done() { self.rules.iter().filter(is_about).collect() } else { Vec::new() };
        // Of equals the later wins: the sort keeps their order.
        about.sort_by_key(|rule| rule.specificity);
        let mut declared = Declared::default();
        let own = node.attribute("style").map(|text| declarations(&uncommented(text)));
        let (own, nested) = own.unwrap_or_default();
        declared.unread = nested;
        let all = || about.iter().flat_map(|rule| rule.declarations.iter()).chain(&own);
        let of = |is_important| all().filter(move |one| one.is_important == is_important).cloned();
        declared.list = of(false).chain(of(true)).collect();
        declared
    }

    /// Whether rules give custom properties to others than this element, the outermost.
    pub(super) fn has_variables_below(&self, root: Node) -> bool {
        let with_variables = |rule: &&Rule| rule.declarations.iter().any(|one| one.name.starts_with("--"));
        self.rules.iter().filter(with_variables).any(|rule| !rule.selector.is_about(root, &self.left))
    }

    /// Whether all elements could be held against all rules.
    pub(super) fn is_done(&self) -> bool {
        self.left.get() > 0
    }
}

/// What is declared for an element.
#[derive(Debug, Default)]
pub(super) struct Declared {
    /// The weakest first.
    pub(super) list: Vec<Declaration>,
    /// What of its own style is no declaration.
    pub(super) unread: Vec<String>,
}

struct Reader<'s> {
    sheets: &'s mut Sheets,
    of: u32,
    has_text: bool,
}

impl Reader<'_> {
    fn rules(&mut self, text: &str, depth: usize) {
        for piece in pieces(text) {
            match (piece.before.starts_with('@'), piece.block) {
                (true, block) => self.at_rule(piece.before, block, depth),
                (false, Some(block)) => self.rule(piece.before, block),
                // A stray semicolon's leavings: no browser reads them either.
                (false, None) => {}
            }
        }
    }

    fn rule(&mut self, before: &str, block: &str) {
        let Some(selectors) = selectors(before) else { return self.unread(before) };
        let (list, nested) = declarations(block);
        nested.iter().for_each(|nested| self.unread(nested));
        let declarations = Rc::new(list);
        for selector in selectors {
            let specificity = selector.specificity();
            self.sheets.rules.push(Rule { selector, specificity, declarations: declarations.clone() });
        }
    }

    fn at_rule(&mut self, before: &str, block: Option<&str>, depth: usize) {
        let (name, rest) = before.split_once(|end: char| end.is_whitespace() || end == '(').unwrap_or((before, ""));
        let name = name.to_ascii_lowercase();
        match (name.as_str(), block) {
            (idle, _) if IDLE_RULES.contains(&idle) => {}
            // Text in a typeface that is not here is named where it stands.
            ("@font-face", _) if !self.has_text => {}
            ("@media", Some(block)) if depth < DEEPEST && on_screen(rest).is_some() => {
                if on_screen(rest) == Some(true) {
                    self.rules(block, depth + 1);
                }
            }
            _ => self.unread(before),
        }
    }

    fn unread(&mut self, text: &str) {
        let text: Vec<&str> = text.split_whitespace().collect();
        self.sheets.unread.push((self.of, text.join(" ")));
    }
}

/// Whether a screen is meant; none where it depends on which.
fn on_screen(media: &str) -> Option<bool> {
    let kinds = listed(media).into_iter().map(|kind| match kind.to_ascii_lowercase().as_str() {
        "" | "all" | "screen" | "only screen" | "only all" | "not print" => Some(true),
        "print" | "speech" | "only print" | "not all" | "not screen" => Some(false),
        _ => None,
    });
    let kinds: Option<Vec<bool>> = kinds.collect();
    kinds.map(|kinds| kinds.contains(&true))
}

/// The declarations of a block, and what in it is none.
fn declarations(block: &str) -> (Vec<Declaration>, Vec<String>) {
    let (mut list, mut unread) = (Vec::new(), Vec::new());
    for piece in pieces(block) {
        let Some((name, value)) = identifier(piece.before)
            .and_then(|(name, rest)| Some((name, rest.trim_start().strip_prefix(':')?.trim())))
            .filter(|_| piece.block.is_none())
        else {
            // Text without a colon is passed over by all; a block in a block is a rule.
            if piece.block.is_some() && !piece.before.starts_with("--") {
                unread.push(piece.before.to_owned());
            }
            continue;
        };
        let name = if name.starts_with("--") { name } else { name.to_ascii_lowercase() };
        let marked = value.rsplit_once('!').filter(|(_, mark)| mark.trim().eq_ignore_ascii_case("important"));
        let is_important = marked.is_some();
        let value = marked.map_or(value, |(value, _)| value.trim_end()).to_owned();
        list.push(Declaration { name, value, is_important });
    }
    (list, unread)
}
