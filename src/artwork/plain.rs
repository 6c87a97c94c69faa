//! A drawing written anew in the plainest way: every style is worked out and stands as attributes, and what no browser
//! draws is gone. What is not understood on the way is listed for each element.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use svgtypes::{Length, LengthUnit};
use usvg::roxmltree::{Document, Node};

use super::css::{self, Reading, Sheets, Variables, Written, number};
use super::dashes::DashState;
use super::{ArtError, Untaken};

const SVG: &str = "http://www.w3.org/2000/svg";
const XLINK: &str = "http://www.w3.org/1999/xlink";
const XML: &str = "http://www.w3.org/XML/1998/namespace";

/// Begins the id of an element that has none: what follows is its line. From the private letters of Unicode, which no
/// drawing program writes.
const LINE: char = '\u{f8ff}';

/// A drawing in plain attributes.
#[derive(Default)]
pub(super) struct Plain {
    /// The file.
    pub(super) text: String,
    /// What was not understood, by element.
    pub(super) unread: BTreeMap<u32, BTreeSet<Untaken>>,
    /// Elements of which nothing is drawn.
    pub(super) hidden: BTreeSet<u32>,
    /// The ids that each element names.
    pub(super) links: BTreeMap<u32, Vec<String>>,
    /// Where the lines of the file end.
    line_ends: Vec<usize>,
}

/// The line that an id stands for, where it is one of ours.
pub(super) fn line_of(id: &str) -> Option<u32> {
    id.strip_prefix(LINE)?.parse().ok()
}

/// Elements may lie this deep in one another.
const DEEPEST: usize = 1000;

/// Writes a drawing anew.
///
/// # Errors
/// [`ArtError::TooMuch`] where its styles are beyond all measure, [`ArtError::Unreadable`] where its elements lie too deep.
pub(super) fn plain(document: &Document) -> Result<Plain, ArtError> {
    let sheets = Sheets::of(document);
    let root = document.root_element();
    let has = |names: &[&str]| document.descendants().any(|node| names.contains(&node.tag_name().name()));
    let (has_text, is_reused, has_markers) = (has(&["text"]), has(&["use", "textPath"]), has(&["marker"]));
    let mut kinds = BTreeMap::new();
    for node in document.descendants() {
        if let Some(id) = node.attribute("id") {
            kinds.entry(id).or_insert(node.tag_name().name());
        }
    }
    let is_own = |node: &Node| node.attribute("style").is_some_and(|style| style.contains("--"));
    let has_own = || document.descendants().any(|node| node != root && is_own(&node));
    let is_scoped = has(&["use"]) && (sheets.has_variables_below(root) || has_own());
    let line_ends = document.input_text().match_indices('\n').map(|(at, _)| at).collect();
    let out = Plain { line_ends, ..Plain::default() };
    // Some programs leave the namespace out, and mean it.
    let namespace = root.tag_name().namespace();
    if namespace.is_some_and(|namespace| namespace != SVG) {
        return Err(ArtError::Unreadable { why: "it is no SVG file".to_owned() });
    }
    let mut writer =
        Writer { sheets: &sheets, has_text, is_reused, has_markers, is_scoped, kinds, namespace, is_deep: false, out };
    for (node, text) in &sheets.unread {
        writer.note(*node, Untaken::Rule(text.clone()));
    }
    writer.element(root, &Inherited::default(), 0);
    match (writer.is_deep, sheets.is_done()) {
        (true, _) => {
            Err(ArtError::Unreadable { why: format!("its elements lie one in another more than {DEEPEST} deep") })
        }
        (_, false) => Err(ArtError::TooMuch),
        _ => Ok(writer.out),
    }
}

/// What an element has of those round it.
#[derive(Clone, Default)]
struct Inherited {
    variables: Rc<Variables>,
    dashes: DashState,
    /// Which markers lines have.
    markers: BTreeMap<String, bool>,
    is_in_hidden_defs: bool,
}

struct Writer<'s> {
    sheets: &'s Sheets,
    has_text: bool,
    /// Whether anything in it is drawn, or written along, where something else says so.
    is_reused: bool,
    has_markers: bool,
    /// Whether variables may stand for something else where an element is used.
    is_scoped: bool,
    /// The name of the element that has an id.
    kinds: BTreeMap<&'s str, &'s str>,
    namespace: Option<&'s str>,
    is_deep: bool,
    out: Plain,
}

/// Elements that hold text.
const TEXTS: [&str; 4] = ["a", "text", "textPath", "tspan"];

/// Elements that are drawn only where something names them.
pub(super) const NAMED_ONLY: [&str; 9] =
    ["clipPath", "defs", "filter", "linearGradient", "marker", "mask", "pattern", "radialGradient", "symbol"];

/// Attributes by name, in the order of their names.
pub(super) type Attributes = BTreeMap<String, String>;

impl Writer<'_> {
    fn note(&mut self, node: u32, what: Untaken) {
        self.out.unread.entry(node).or_default().insert(what);
    }

    fn element(&mut self, node: Node, inherited: &Inherited, depth: usize) {
        if depth > DEEPEST {
            self.is_deep = true;
            return;
        }
        let name = node.tag_name().name();
        let mut inherited = inherited.clone();
        let mut attributes = self.attributes(node, &mut inherited);
        self.mend(node, &mut attributes, &mut inherited);
        self.remember(node, &attributes);
        self.dashes(node, &mut attributes, &mut inherited);
        self.fix_width(node, &mut attributes, &mut inherited);
        self.out.text.push('<');
        self.out.text.push_str(name);
        if node.parent_element().is_none() {
            self.out.text.push_str(&format!(" xmlns=\"{SVG}\" xmlns:xlink=\"{XLINK}\""));
        }
        for (name, value) in &attributes {
            self.out.text.push_str(&format!(" {name}=\""));
            escaped(value.trim(), &mut self.out.text);
            self.out.text.push('"');
        }
        self.out.text.push('>');
        let is_text = TEXTS.contains(&name);
        for child in node.children() {
            match child.text().filter(|_| child.is_text() && is_text) {
                Some(text) => escaped(text, &mut self.out.text),
                None if self.is_drawn(child) => self.element(child, &inherited, depth + 1),
                None => {}
            }
        }
        self.out.text.push_str(&format!("</{name}>"));
    }

    /// Whether browsers draw elements of this name.
    fn is_drawn(&self, node: Node) -> bool {
        let name = node.tag_name();
        let is_known = ELEMENTS.contains(&name.name()) || name.name().starts_with("fe");
        node.is_element() && name.namespace() == self.namespace && is_known
    }

    /// All attributes that an element has once its styles are worked out.
    fn attributes(&mut self, node: Node, inherited: &mut Inherited) -> Attributes {
        let mut attributes = Attributes::new();
        let mut found = Vec::new();
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            match attribute.namespace() {
                None if css::is_property(name) => found.push((name.to_owned(), value.to_owned(), Written::Attribute)),
                None if !matches!(name, "style" | "class" | "requiredFeatures") => {
                    attributes.insert(name.to_owned(), value.to_owned());
                }
                Some(XLINK) if name == "href" => {
                    attributes.insert("xlink:href".to_owned(), value.to_owned());
                }
                Some(XML) => {
                    attributes.insert(format!("xml:{name}"), value.to_owned());
                }
                _ => {}
            }
        }
        if !attributes.contains_key("id") {
            attributes.insert("id".to_owned(), format!("{LINE}{}", self.out.line(node)));
        }
        let declared = self.sheets.declared(node);
        for nested in declared.unread {
            self.note(number(node), Untaken::Rule(nested));
        }
        if let Some(own) = css::with_variables(&inherited.variables, &declared.list, &self.sheets.left) {
            inherited.variables = Rc::new(own);
        }
        let list = declared.list.into_iter().filter(|one| !one.name.starts_with("--"));
        found.extend(list.map(|one| (one.name, one.value, Written::Style)));
        self.declare(node, found, &inherited.variables, &mut attributes);
        attributes
    }

    /// Declarations as attributes, the weakest first. What is not understood leaves what stands before it.
    fn declare(
        &mut self,
        node: Node,
        declared: Vec<(String, String, Written)>,
        variables: &Variables,
        attributes: &mut Attributes,
    ) {
        let mut unread: BTreeMap<String, String> = BTreeMap::new();
        let on = match node.tag_name().name() {
            "svg" if node.parent_element().is_some() => "nested svg",
            name => name,
        };
        for (name, value, written) in declared {
            if self.is_scoped && value.contains("var(") {
                // Where it is used, it may stand for something else.
                self.note(number(node), Untaken::Style(format!("{name}: {value}")));
            }
            let filled = css::substituted(&value, variables, &self.sheets.left).unwrap_or_else(|| "unset".to_owned());
            match css::read(&name, &filled, on, written) {
                Reading::Set(set) => {
                    for (name, value) in set {
                        unread.remove(name);
                        attributes.insert(name.to_owned(), value);
                    }
                }
                Reading::Unset(names) => names.into_iter().for_each(|name| {
                    attributes.remove(name);
                }),
                Reading::Nothing => {}
                Reading::Unread if !self.has_text && css::is_about_text(&name) => {}
                Reading::Unread => {
                    unread.insert(name, value);
                }
            }
        }
        for (name, value) in unread {
            self.note(number(node), Untaken::Style(format!("{name}: {value}")));
        }
    }

    /// What the survey of the drawing wants to know of an element.
    fn remember(&mut self, node: Node, attributes: &Attributes) {
        if attributes.get("display").is_some_and(|display| display == "none") {
            self.out.hidden.insert(number(node));
        }
        let links = attributes.iter().filter_map(|(name, value)| match name.as_str() {
            "href" | "xlink:href" => value.trim().strip_prefix('#'),
            _ => link(value),
        });
        let links: Vec<String> = links.map(str::to_owned).collect();
        if !links.is_empty() {
            self.out.links.insert(number(node), links);
        }
        for (name, value) in attributes {
            if is_odd_length(node.tag_name().name(), name, value) {
                self.note(number(node), Untaken::Attribute(format!("{name}=\"{value}\"")));
            }
        }
    }

    /// What the reader of drawings takes otherwise than browsers do.
    fn mend(&mut self, node: Node, attributes: &mut Attributes, inherited: &mut Inherited) {
        let name = node.tag_name().name();
        // Only lines have markers.
        if self.has_markers && matches!(name, "rect" | "circle" | "ellipse" | "text") {
            for marker in ["marker-start", "marker-mid", "marker-end"] {
                attributes.insert(marker.to_owned(), "none".to_owned());
            }
        }
        // A window of no width or height shows nothing.
        let is_zero = |side: &str| {
            attributes
                .get(side)
                .and_then(|value| value.trim().parse::<Length>().ok())
                .is_some_and(|side| side.number == 0.0)
        };
        let used =
            attributes.get("href").or_else(|| attributes.get("xlink:href")).and_then(|href| href.strip_prefix('#'));
        let used = used.and_then(|id| self.kinds.get(id).copied()).filter(|_| name == "use").unwrap_or(name);
        if matches!(used, "svg" | "symbol")
            && node.parent_element().is_some()
            && (is_zero("width") || is_zero("height"))
        {
            attributes.insert("display".to_owned(), "none".to_owned());
        }
        // They are never drawn where they stand. Where they are named, browsers heed this of some.
        if NAMED_ONLY.contains(&name) {
            let is_hidden = attributes.remove("display").is_some_and(|display| display == "none");
            inherited.is_in_hidden_defs |= is_hidden && name == "defs";
            if (is_hidden || inherited.is_in_hidden_defs) && matches!(name, "clipPath" | "mask" | "symbol") {
                self.note(number(node), Untaken::Style("display: none".to_owned()));
            }
        }
        // What names nothing is as if it were not there.
        for (effect, kind) in [("filter", "filter"), ("mask", "mask"), ("clip-path", "clipPath")] {
            let is_there = |link: &str| self.kinds.get(link).is_some_and(|found| *found == kind);
            if attributes.get(effect).and_then(|value| link(value)).is_some_and(|link| !is_there(link)) {
                attributes.remove(effect);
            }
        }
        let odd: &[&str] = match name {
            "symbol" => &["refX", "refY", "width", "height"],
            "use" if has_share(attributes) => &["width", "height"],
            _ => &[],
        };
        let is_set_apart = attributes.contains_key("x") && attributes.keys().any(|name| name == "y" || name == "dy");
        let has_font = ["font-family", "font-size", "font-stretch", "font-weight"];
        let has_font = has_font.iter().any(|font| attributes.contains_key(*font));
        match name {
            "textPath" => self.note(number(node), Untaken::TextOnPath),
            "tspan" if has_font && !is_set_apart => self.note(number(node), Untaken::MixedText),
            _ => {}
        }
        for odd in odd {
            if let Some(value) = attributes.get(*odd) {
                self.note(number(node), Untaken::Attribute(format!("{odd}=\"{value}\"")));
            }
        }
    }

    /// Strokes of fixed width are marked, and markers that browsers place or size otherwise are named.
    fn fix_width(&mut self, node: Node, attributes: &mut Attributes, inherited: &mut Inherited) {
        let name = node.tag_name().name();
        for (marker, value) in attributes.iter().filter(|(name, _)| name.starts_with("marker-")) {
            inherited.markers.insert(marker.clone(), value != "none");
        }
        let is_fixed = attributes.remove("vector-effect").is_some_and(|effect| effect == "non-scaling-stroke");
        let is_marked = self.has_markers && inherited.markers.values().any(|is_there| *is_there);
        let is_closed = name == "polygon" || attributes.get("d").is_some_and(|data| data.contains(['z', 'Z']));
        if is_marked && (is_closed || is_fixed) && matches!(name, "path" | "polygon" | "line" | "polyline") {
            self.note(number(node), Untaken::OddMarker);
        }
        if is_fixed && TEXTS.contains(&name) {
            self.note(number(node), Untaken::Style("vector-effect: non-scaling-stroke".to_owned()));
        } else if is_fixed {
            // The one attribute that survives to the outline and is otherwise of no use to it.
            attributes.insert("shape-rendering".to_owned(), "crispEdges".to_owned());
        }
    }

    fn dashes(&mut self, node: Node, attributes: &mut Attributes, inherited: &mut Inherited) {
        inherited.dashes.take(attributes);
        if let Some(given) = attributes.remove("pathLength")
            && !inherited.dashes.scale(node.tag_name().name(), &given, self.is_reused, attributes)
        {
            self.note(number(node), Untaken::Attribute(format!("pathLength=\"{given}\"")));
        }
    }
}

/// Whether the size of what is used is a share of the page.
fn has_share(attributes: &Attributes) -> bool {
    ["width", "height"].iter().any(|side| attributes.get(*side).is_some_and(|value| value.trim().ends_with('%')))
}

/// The id that a value names.
fn link(value: &str) -> Option<&str> {
    let inner = value.split_once("url(")?.1.split_once(')')?.0;
    inner.trim().trim_matches(['"', '\'']).strip_prefix('#')
}

impl Plain {
    /// The line of the file that an element begins in, from 1.
    pub(super) fn line(&self, node: Node) -> u32 {
        let before = self.line_ends.partition_point(|end| *end < node.range().start);
        u32::try_from(before + 1).unwrap_or(u32::MAX)
    }
}

fn escaped(text: &str, out: &mut String) {
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // Kept from being read as spaces.
            '\t' | '\n' | '\r' => out.push_str(&format!("&#{};", u32::from(letter))),
            letter => out.push(letter),
        }
    }
}

/// Whether a size or place is written with a unit that only browsers know.
fn is_odd_length(element: &str, name: &str, value: &str) -> bool {
    let is_length = matches!(
        name,
        "x" | "y" | "width" | "height" | "cx" | "cy" | "r" | "rx" | "ry" | "x1" | "y1" | "x2" | "y2" | "dx" | "dy"
    );
    let is_shape = matches!(
        element,
        "svg" | "rect" | "circle" | "ellipse" | "line" | "use" | "image" | "text" | "tspan" | "symbol"
    );
    let value = value.trim();
    let is_odd = |length: Result<Length, _>| length.is_ok_and(|length| length.unit == LengthUnit::Ex);
    let mut lengths = svgtypes::LengthListParser::from(value);
    is_length
        && is_shape
        && !value.is_empty()
        && (value.ends_with('.') || lengths.any(|one| one.is_err() || is_odd(one)))
}

/// The elements of a drawing that are drawn, or tell how others are.
const ELEMENTS: [&str; 26] = [
    "a",
    "circle",
    "clipPath",
    "defs",
    "ellipse",
    "filter",
    "g",
    "image",
    "line",
    "linearGradient",
    "marker",
    "mask",
    "path",
    "pattern",
    "polygon",
    "polyline",
    "radialGradient",
    "rect",
    "stop",
    "svg",
    "switch",
    "symbol",
    "text",
    "textPath",
    "tspan",
    "use",
];
