//! Which elements a rule is about, as Selectors Level 4 (W3C) says.

use std::cell::Cell;

use usvg::roxmltree::Node;

use super::scan::{bracket_end, identifier, listed};

/// Ids, then classes and their like, then types.
pub(super) type Specificity = (u32, u32, u32);

/// Compounds from right to left, each with how it is joined to the one on its right.
#[derive(Debug)]
pub(super) struct Selector(Vec<(Joined, Vec<Test>)>);

#[derive(Clone, Copy, Debug, PartialEq)]
enum Joined {
    Same,
    Within,
    Child,
    After,
    RightAfter,
}

#[derive(Debug)]
enum Test {
    Type(String),
    Id(String),
    Class(String),
    Attribute {
        name: String,
        is: Is,
        value: String,
        any_case: bool,
    },
    Root,
    Empty,
    Link,
    /// What nothing is until somebody touches the drawing, and parts that a drawing has not.
    Never,
    Nth {
        every: i64,
        from: i64,
        from_end: bool,
        of_type: bool,
    },
    Not(Vec<Selector>),
    Any(Vec<Selector>, Counts),
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Is {
    There,
    Same,
    Word,
    Language,
    Start,
    End,
    Part,
}

/// Whether what stands in brackets makes the selector more specific.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Counts {
    Yes,
    No,
}

/// What nothing is in a drawing at rest.
const NEVER: [&str; 12] = [
    "hover",
    "active",
    "focus",
    "focus-visible",
    "focus-within",
    "target",
    "visited",
    "checked",
    "disabled",
    "fullscreen",
    "invalid",
    "popover-open",
];

/// A selector longer than this was not written by hand, and might lead too deep.
const LONGEST: usize = 1000;

/// A list of selectors; none where one of them is not understood.
pub(super) fn selectors(text: &str) -> Option<Vec<Selector>> {
    listed(text).into_iter().map(selector).collect()
}

fn selector(text: &str) -> Option<Selector> {
    if text.len() > LONGEST {
        return None;
    }
    let mut parts = Vec::new();
    let mut rest = text.trim();
    let mut joined = Joined::Same;
    loop {
        let (tests, after) = compound(rest)?;
        parts.push((joined, tests));
        rest = after.trim_start();
        let Some(sign) = rest.chars().next() else { break };
        joined = match sign {
            '>' => Joined::Child,
            '+' => Joined::RightAfter,
            '~' => Joined::After,
            _ if after.len() > rest.len() => Joined::Within,
            _ => return None,
        };
        if joined != Joined::Within {
            rest = rest.get(1..)?.trim_start();
        }
    }
    // From right to left each is joined as the one on its right was.
    let signs: Vec<Joined> = parts.iter().map(|(joined, _)| *joined).collect();
    let mut signs = std::iter::once(Joined::Same).chain(signs.into_iter().rev());
    Some(Selector(parts.into_iter().rev().map(|(_, tests)| (signs.next().unwrap_or(Joined::Same), tests)).collect()))
}

fn compound(text: &str) -> Option<(Vec<Test>, &str)> {
    let mut tests = Vec::new();
    let mut rest = text;
    if let Some(after) = rest.strip_prefix('*') {
        rest = after;
    } else if let Some((name, after)) = identifier(rest) {
        tests.push(Test::Type(name));
        rest = after;
    } else if !rest.starts_with(['#', '.', '[', ':']) {
        return None;
    }
    while let Some(sign) = rest.chars().next().filter(|sign| ['#', '.', '[', ':'].contains(sign)) {
        let after = rest.get(1..)?;
        let (test, after) = match sign {
            '#' => identifier(after).map(|(name, rest)| (Test::Id(name), rest))?,
            '.' => identifier(after).map(|(name, rest)| (Test::Class(name), rest))?,
            '[' => {
                let end = after.find(']')?;
                (attribute(after.get(..end)?)?, after.get(end + 1..)?)
            }
            _ => pseudo(after)?,
        };
        tests.push(test);
        rest = after;
    }
    Some((tests, rest))
}

fn attribute(text: &str) -> Option<Test> {
    let (name, rest) = identifier(text.trim())?;
    let rest = rest.trim();
    if rest.is_empty() {
        return Some(Test::Attribute { name, is: Is::There, value: String::new(), any_case: false });
    }
    let signs = [("~=", Is::Word), ("|=", Is::Language), ("^=", Is::Start), ("$=", Is::End), ("*=", Is::Part)];
    let (is, rest) = signs
        .iter()
        .find_map(|(sign, is)| rest.strip_prefix(sign).map(|rest| (*is, rest)))
        .or_else(|| rest.strip_prefix('=').map(|rest| (Is::Same, rest)))?;
    let rest = rest.trim();
    let (value, flag) = match rest.chars().next().filter(|quote| ['"', '\''].contains(quote)) {
        Some(quote) => {
            let (value, flag) = rest.get(1..)?.split_once(quote)?;
            // Escapes in strings are rare enough to be told.
            (!value.contains('\\')).then(|| (value.to_owned(), flag))?
        }
        None => identifier(rest)?,
    };
    match flag.trim() {
        "" | "s" | "S" => Some(Test::Attribute { name, is, value, any_case: false }),
        "i" | "I" => Some(Test::Attribute { name, is, value, any_case: true }),
        _ => None,
    }
}

fn pseudo(text: &str) -> Option<(Test, &str)> {
    if let Some(element) = text.strip_prefix(':') {
        let (_, rest) = identifier(element)?;
        return (!rest.starts_with('(')).then_some((Test::Never, rest));
    }
    let (name, rest) = identifier(text)?;
    let name = name.to_ascii_lowercase();
    let nth = |every, from, from_end, of_type| Test::Nth { every, from, from_end, of_type };
    let Some(inner) = rest.strip_prefix('(') else {
        let test = match name.as_str() {
            "root" => Test::Root,
            "empty" => Test::Empty,
            "link" | "any-link" => Test::Link,
            "first-child" => nth(0, 1, false, false),
            "last-child" => nth(0, 1, true, false),
            "first-of-type" => nth(0, 1, false, true),
            "last-of-type" => nth(0, 1, true, true),
            "only-child" => Test::Any(selectors(":first-child:last-child")?, Counts::Yes),
            "only-of-type" => Test::Any(selectors(":first-of-type:last-of-type")?, Counts::Yes),
            "before" | "after" | "first-line" | "first-letter" => Test::Never,
            never if NEVER.contains(&never) => Test::Never,
            _ => return None,
        };
        return Some((test, rest));
    };
    let end = bracket_end(inner)?;
    let (inner, rest) = (inner.get(..end)?, inner.get(end + 1..)?);
    let test = match name.as_str() {
        "not" => Test::Not(selectors(inner)?),
        "is" | "matches" => Test::Any(selectors(inner)?, Counts::Yes),
        "where" => Test::Any(selectors(inner)?, Counts::No),
        _ => {
            let (from_end, of_type) = match name.as_str() {
                "nth-child" => (false, false),
                "nth-last-child" => (true, false),
                "nth-of-type" => (false, true),
                "nth-last-of-type" => (true, true),
                _ => return None,
            };
            let (every, from) = every_and_from(inner)?;
            nth(every, from, from_end, of_type)
        }
    };
    Some((test, rest))
}

/// `An+B`, `odd` or `even`.
fn every_and_from(text: &str) -> Option<(i64, i64)> {
    let text: String = text.to_ascii_lowercase().split_whitespace().collect();
    let number = |digits: &str| match digits {
        "" | "+" => Some(1),
        "-" => Some(-1),
        digits => digits.parse::<i64>().ok().filter(|number| number.abs() < 1_000_000_000),
    };
    match (text.as_str(), text.split_once('n')) {
        ("odd", _) => Some((2, 1)),
        ("even", _) => Some((2, 0)),
        (_, Some((every, ""))) => Some((number(every)?, 0)),
        (_, Some((every, from))) => Some((number(every)?, number(from).filter(|_| from.len() > 1)?)),
        (plain, None) => Some((0, number(plain).filter(|_| plain.ends_with(|last: char| last.is_ascii_digit()))?)),
    }
}

impl Selector {
    /// How specific it is.
    pub(super) fn specificity(&self) -> Specificity {
        let most = |inner: &[Selector]| inner.iter().map(Selector::specificity).max().unwrap_or_default();
        self.0.iter().flat_map(|(_, tests)| tests).fold((0, 0, 0), |(ids, classes, types), test| match test {
            Test::Id(_) => (ids + 1, classes, types),
            Test::Type(_) => (ids, classes, types + 1),
            Test::Not(inner) | Test::Any(inner, Counts::Yes) => {
                let (more_ids, more_classes, more_types) = most(inner);
                (ids + more_ids, classes + more_classes, types + more_types)
            }
            Test::Any(_, Counts::No) => (ids, classes, types),
            _ => (ids, classes + 1, types),
        })
    }

    /// Whether it is about this element. `left` counts down the work that may still be done.
    pub(super) fn is_about(&self, node: Node, left: &Cell<u64>) -> bool {
        matches(&self.0, node, left)
    }
}

fn matches(parts: &[(Joined, Vec<Test>)], node: Node, left: &Cell<u64>) -> bool {
    let Some(((_, tests), outer)) = parts.split_first() else { return true };
    left.set(left.get().saturating_sub(1));
    if left.get() == 0 || !tests.iter().all(|test| test.holds(node, left)) {
        return false;
    }
    let before = || node.prev_siblings().skip(1).filter(Node::is_element);
    let about = |node: Node| matches(outer, node, left);
    match outer.first().map(|(joined, _)| *joined) {
        None | Some(Joined::Same) => true,
        Some(Joined::Child) => node.parent_element().is_some_and(about),
        Some(Joined::Within) => node.ancestors().skip(1).filter(Node::is_element).any(about),
        Some(Joined::RightAfter) => before().next().is_some_and(about),
        Some(Joined::After) => before().any(about),
    }
}

impl Test {
    fn holds(&self, node: Node, left: &Cell<u64>) -> bool {
        match self {
            Self::Type(name) => node.tag_name().name() == name,
            Self::Id(id) => node.attribute("id") == Some(id),
            Self::Class(class) => {
                node.attribute("class").is_some_and(|all| all.split_ascii_whitespace().any(|one| one == class))
            }
            Self::Attribute { name, is, value, any_case } => {
                let fold = |text: &str| if *any_case { text.to_ascii_lowercase() } else { text.to_owned() };
                node.attribute(name.as_str()).is_some_and(|given| is.holds(&fold(given), &fold(value)))
            }
            Self::Root => node.parent_element().is_none(),
            Self::Empty => !node.children().any(|child| child.is_element() || child.is_text()),
            Self::Link => node.tag_name().name() == "a" && node.attributes().any(|one| one.name() == "href"),
            Self::Never => false,
            Self::Nth { every, from, from_end, of_type } => {
                let place = place(node, *from_end, *of_type, left);
                let beyond = place - from;
                if *every == 0 { beyond == 0 } else { beyond % every == 0 && beyond / every >= 0 }
            }
            Self::Not(inner) => !inner.iter().any(|selector| selector.is_about(node, left)),
            Self::Any(inner, _) => inner.iter().any(|selector| selector.is_about(node, left)),
        }
    }
}

impl Is {
    fn holds(self, given: &str, value: &str) -> bool {
        match self {
            Self::There => true,
            Self::Same => given == value,
            Self::Word => given.split_ascii_whitespace().any(|word| word == value),
            Self::Language => given == value || given.strip_prefix(value).is_some_and(|rest| rest.starts_with('-')),
            Self::Start => !value.is_empty() && given.starts_with(value),
            Self::End => !value.is_empty() && given.ends_with(value),
            Self::Part => !value.is_empty() && given.contains(value),
        }
    }
}

/// The place of an element among those beside it, from 1.
fn place(node: Node, from_end: bool, of_type: bool, left: &Cell<u64>) -> i64 {
    let counts = |other: &Node| other.is_element() && (!of_type || other.tag_name() == node.tag_name());
    let place = if from_end {
        node.next_siblings().filter(counts).count()
    } else {
        node.prev_siblings().filter(counts).count()
    };
    left.set(left.get().saturating_sub(place as u64));
    i64::try_from(place).unwrap_or(i64::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The ids of the elements that a selector is about.
    fn chosen(selector: &str) -> String {
        let text = r#"<svg id="r"><g id="g" class="x y"><a id="a" href="h"/><b id="b" data-k="En-us"/><b id="c"/></g><b id="d"> </b></svg>"#;
        let document = usvg::roxmltree::Document::parse(text).unwrap();
        let selectors = selectors(selector).unwrap();
        let left = Cell::new(100_000);
        let nodes = document.descendants().filter(Node::is_element);
        let about = nodes.filter(|node| selectors.iter().any(|one| one.is_about(*node, &left)));
        about.filter_map(|node| node.attribute("id")).collect()
    }

    #[test]
    fn selectors_choose_as_the_standard_says() {
        // By the definitions of Selectors Level 4, sections 4 to 16.
        for (selector, wanted) in [
            ("*", "rgabcd"),
            ("b", "bcd"),
            ("g b", "bc"),
            ("svg > b", "d"),
            ("a+b", "b"),
            ("a ~ b", "bc"),
            (".x.y", "g"),
            ("g#g, #d", "gd"),
            ("b:nth-child(2n+1)", "c"),
            ("b:nth-of-type(1)", "bd"),
            (":nth-child(-n + 2)", "rgabd"),
            (":nth-last-child(1)", "rcd"),
            (":not(b):not(g)", "ra"),
            (":is(a, g > b)", "abc"),
            ("[data-k]", "b"),
            ("[data-k=en-us i]", "b"),
            ("[data-k|='En']", "b"),
            ("[data-k*=n-][data-k$=us]", "b"),
            (":root > :first-child", "g"),
            (":empty", "abc"),
            (":link", "a"),
            ("a:hover, b::before", ""),
            (":only-child", "r"),
        ] {
            assert_eq!(chosen(selector), wanted, "{selector}");
        }
    }

    #[test]
    fn what_is_not_understood_is_none() {
        for odd in ["", "b:has(a)", "b:frobnicate", "> b", "b,", "[x='a\\'b']", "s|b", "& b", ":nth-child(2 of b)"] {
            assert!(selectors(odd).is_none(), "{odd}");
        }
    }

    #[test]
    fn specificity_counts_ids_classes_and_types() {
        // The examples of Selectors Level 4, section 17.
        for (selector, wanted) in [
            ("*", (0, 0, 0)),
            ("ul ol+li", (0, 0, 3)),
            ("li.red.level", (0, 2, 1)),
            ("#x34y", (1, 0, 0)),
            ("#s12:not(foo)", (1, 0, 1)),
            (".foo :is(.bar, #baz)", (1, 1, 0)),
            (":where(#a)", (0, 0, 0)),
        ] {
            assert_eq!(selectors(selector).unwrap()[0].specificity(), wanted, "{selector}");
        }
    }
}
