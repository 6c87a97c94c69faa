//! What a declaration comes to: the properties that are understood, with the values they may have, as SVG 2 and the modules of
//! CSS (W3C) define them. Anything else is unread, so that it can be named.

use svgtypes::{Color, FontShorthand, FuncIRI, Length, LengthListParser, LengthUnit, Number, Paint};

use super::transform::transform;

/// What a declaration comes to.
#[derive(Debug, PartialEq)]
pub(crate) enum Reading {
    /// These attributes have these values now.
    Set(Vec<(&'static str, String)>),
    /// Nothing that shows.
    Nothing,
    /// As if it were not declared: the parent's value where the property is inherited, else the initial one.
    Unset(Vec<&'static str>),
    /// It may show, and is not understood.
    Unread,
}

/// Where a declaration stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Written {
    /// In an attribute of its own: lengths need no unit there.
    Attribute,
    /// In a style.
    Style,
}

/// What a property holds.
#[derive(Clone, Copy)]
enum Holds {
    Paint,
    Colour,
    /// A number or a percentage.
    Share,
    /// A length or one of these words.
    Length(&'static [&'static str]),
    /// A length with a unit, even in a style.
    Measure(&'static [&'static str]),
    Dashes,
    /// One of these words.
    Word(&'static [&'static str]),
    /// Some of these words.
    Words(&'static [&'static str]),
    /// `none` or an element of the drawing.
    Link,
    Text,
}

use Holds::{Colour, Dashes, Link, Measure, Paint as Painted, Share, Text, Word, Words};

/// Name, what it holds, and the initial value where it is inherited.
type Row = (&'static str, Holds, Option<&'static str>);

/// The properties that can be attributes of an element, and are understood.
const PROPERTIES: &[Row] = &[
    ("baseline-shift", Word(&["baseline", "0", "0px", "0%"]), None),
    ("clip-path", Link, None),
    ("clip-rule", Word(&["nonzero", "evenodd"]), Some("nonzero")),
    ("color", Colour, Some("black")),
    ("display", Word(&["inline", "block", "none", "inline-block", "flex", "grid", "list-item", "table"]), None),
    ("fill", Painted, Some("black")),
    ("fill-opacity", Share, Some("1")),
    ("fill-rule", Word(&["nonzero", "evenodd"]), Some("nonzero")),
    ("filter", Link, None),
    ("flood-color", Colour, None),
    ("flood-opacity", Share, None),
    ("font-family", Text, Some("sans-serif")),
    ("font-size", Measure(FONT_SIZES), Some("medium")),
    ("font-stretch", Word(STRETCHES), Some("normal")),
    ("font-style", Word(&["normal"]), Some("normal")),
    ("font-variant", Word(&["normal"]), Some("normal")),
    ("font-weight", Word(WEIGHTS), Some("normal")),
    ("letter-spacing", Measure(&["normal"]), Some("normal")),
    ("marker-end", Link, Some("none")),
    ("marker-mid", Link, Some("none")),
    ("marker-start", Link, Some("none")),
    ("mask", Link, None),
    ("mask-type", Word(&["luminance", "alpha"]), None),
    ("opacity", Share, None),
    ("overflow", Word(&["visible", "hidden", "scroll", "auto"]), None),
    ("paint-order", Words(&["normal", "fill", "stroke", "markers"]), Some("normal")),
    ("stop-color", Colour, None),
    ("stop-opacity", Share, None),
    ("stroke", Painted, Some("none")),
    ("stroke-dasharray", Dashes, Some("none")),
    ("stroke-dashoffset", Holds::Length(&[]), Some("0")),
    ("stroke-linecap", Word(&["butt", "round", "square"]), Some("butt")),
    ("stroke-linejoin", Word(&["miter", "round", "bevel"]), Some("miter")),
    ("stroke-miterlimit", Share, Some("4")),
    ("stroke-opacity", Share, Some("1")),
    ("stroke-width", Holds::Length(&[]), Some("1")),
    ("text-anchor", Word(&["start", "middle", "end"]), Some("start")),
    ("text-decoration", Word(&["none", "none solid"]), None),
    ("transform-box", Word(&["view-box"]), None),
    ("transform-origin", Text, None),
    ("vector-effect", Word(&["none", "non-scaling-stroke"]), None),
    ("visibility", Word(&["visible", "hidden", "collapse"]), Some("visible")),
    ("word-spacing", Measure(&["normal"]), Some("normal")),
    ("writing-mode", Word(&["horizontal-tb", "lr-tb", "lr", "rl", "rl-tb"]), Some("horizontal-tb")),
    ("direction", Word(&["ltr"]), Some("ltr")),
    ("unicode-bidi", Word(&["normal", "embed", "isolate"]), None),
    ("dominant-baseline", Word(&["auto", "alphabetic"]), Some("auto")),
    ("alignment-baseline", Word(&["auto", "baseline", "alphabetic"]), None),
];

const FONT_SIZES: &[&str] =
    &["xx-small", "x-small", "small", "medium", "large", "x-large", "xx-large", "xxx-large", "smaller", "larger"];
const WEIGHTS: &[&str] = &["normal", "bold", "100", "200", "300", "400", "500", "600", "700", "800", "900"];
const STRETCHES: &[&str] = &[
    "normal",
    "ultra-condensed",
    "extra-condensed",
    "condensed",
    "semi-condensed",
    "semi-expanded",
    "expanded",
    "extra-expanded",
    "ultra-expanded",
];

/// Sizes and places that a style may give to some elements.
const GEOMETRY: &[(&str, &[&str])] = &[
    ("x", &["rect", "image"]),
    ("y", &["rect", "image"]),
    ("width", &["rect", "image", "svg"]),
    ("height", &["rect", "image", "svg"]),
    ("cx", &["circle", "ellipse"]),
    ("cy", &["circle", "ellipse"]),
    ("r", &["circle"]),
    ("rx", &["rect", "ellipse"]),
    ("ry", &["rect", "ellipse"]),
];

/// Properties without any effect on what a drawing shows on a page, as far as browsers go.
const IDLE: &[&str] = &[
    "block-progression",
    "buffered-rendering",
    "clip",
    "color-interpolation",
    "color-interpolation-filters",
    "color-profile",
    "color-rendering",
    "color-scheme",
    "cursor",
    "enable-background",
    "fill-extensions",
    "font-optical-sizing",
    "forced-color-adjust",
    "glyph-orientation-horizontal",
    "image-rendering",
    "isolation",
    "kerning",
    "line-height",
    "lighting-color",
    "pointer-events",
    "print-color-adjust",
    "shape-inside",
    "shape-margin",
    "shape-padding",
    "shape-rendering",
    "solid-color",
    "solid-opacity",
    "tab-size",
    "text-align",
    "text-rendering",
    "touch-action",
    "user-select",
    "will-change",
    "word-break",
];

/// Properties of a box, which the outermost element alone has.
const BOXED: &[&str] =
    &["background", "border", "box-shadow", "box-sizing", "margin", "padding", "position", "z-index"];

/// Values with which a property that is not understood does nothing: nearly always its initial one.
const AT_REST: &[&str] = &["normal", "none", "auto", "0", "0px", "mixed"];

/// Whether an attribute of this name is a property.
pub(crate) fn is_property(attribute: &str) -> bool {
    PROPERTIES.iter().any(|(name, ..)| *name == attribute)
        || IDLE.contains(&attribute)
        || ONLY_NAMED.contains(&attribute)
}

/// Attributes that are properties, and not understood.
const ONLY_NAMED: &[&str] =
    &["font-size-adjust", "glyph-orientation-vertical", "text-orientation", "text-overflow", "white-space"];

/// What a declaration on an element of this name comes to. An `svg` inside another is a `nested svg`.
pub(crate) fn read(name: &str, value: &str, on: &str, written: Written) -> Reading {
    let value = plain(name, value);
    let value = value.as_str();
    let row = PROPERTIES.iter().find(|(known, ..)| *known == name);
    match (name, row) {
        _ if value.is_empty() => Reading::Nothing,
        ("all", _) => Reading::Unread,
        (_, Some((name, holds, initial))) => understood(name, *holds, *initial, value, written),
        ("font", _) => font(value),
        ("marker", _) if FuncIRI::from_str(value).is_ok() || value == "none" => {
            Reading::Set(["marker-start", "marker-mid", "marker-end"].map(|name| (name, value.to_owned())).into())
        }
        ("text-decoration-line", _) => read("text-decoration", value, on, written),
        ("transform", _) => transform(value).map_or(Reading::Unread, |map| Reading::Set(vec![("transform", map)])),
        ("d", _) if on == "path" => path(value),
        ("background" | "background-color", _) if is_light(value) => Reading::Nothing,
        _ if GEOMETRY.iter().any(|(known, _)| *known == name) => geometry(name, value, on),
        _ => other(name, value, on),
    }
}

/// A value without spaces round it; words in lower case, as they may be written in any.
fn plain(name: &str, value: &str) -> String {
    let value = value.trim();
    let is_words = value.chars().all(|letter| letter.is_ascii_alphabetic() || letter == '-' || letter == ' ');
    match value.to_ascii_lowercase() {
        lower if lower == "currentcolor" => "currentColor".to_owned(),
        lower if is_words && name != "font-family" => lower,
        _ => value.to_owned(),
    }
}

fn understood(name: &'static str, holds: Holds, initial: Option<&str>, value: &str, written: Written) -> Reading {
    match value {
        "inherit" if initial.is_none() && matches!(name, "transform-origin" | "transform-box" | "vector-effect") => {
            Reading::Unread
        }
        "inherit" => set(name, value),
        // Against the standard, so that no browser heeds it.
        _ if name == "stroke-width" && value.starts_with('-') => Reading::Nothing,
        "initial" => initial.map_or(Reading::Unset(vec![name]), |initial| set(name, in_other_words(name, initial))),
        "unset" | "revert" => Reading::Unset(vec![name]),
        _ if holds.takes(value, written) => set(name, in_other_words(name, value)),
        _ => Reading::Unread,
    }
}

fn set(name: &'static str, value: &str) -> Reading {
    Reading::Set(vec![(name, value.to_owned())])
}

/// As the reader of drawings calls it; the sizes of type are those that browsers agree on (CSS Fonts Level 4, section 2.5).
fn in_other_words<'v>(name: &str, value: &'v str) -> &'v str {
    match (name, value) {
        ("visibility", "collapse") => "hidden",
        ("font-size", "xx-small") => "9px",
        ("font-size", "x-small") => "10px",
        ("font-size", "small") => "13px",
        ("font-size", "medium") => "16px",
        ("font-size", "large") => "18px",
        ("font-size", "x-large") => "24px",
        ("font-size", "xx-large") => "32px",
        ("font-size", "xxx-large") => "48px",
        _ => value,
    }
}

impl Holds {
    fn takes(self, value: &str, written: Written) -> bool {
        let is_length = |value: &str, needs_unit: bool| {
            value.parse::<Length>().is_ok_and(|length| {
                length.unit != LengthUnit::Ex
                    && !(needs_unit
                        && written == Written::Style
                        && length.unit == LengthUnit::None
                        && length.number != 0.0)
            })
        };
        match self {
            Self::Paint => Paint::from_str(value).is_ok(),
            Self::Colour => value == "currentColor" || value.parse::<Color>().is_ok(),
            Self::Share => value.strip_suffix('%').unwrap_or(value).parse::<Number>().is_ok(),
            Self::Length(words) => words.contains(&value) || is_length(value, false),
            Self::Measure(words) => words.contains(&value) || is_length(value, true),
            Self::Dashes => {
                value == "none"
                    || LengthListParser::from(value).all(|dash| dash.is_ok_and(|dash| dash.unit != LengthUnit::Ex))
            }
            Self::Word(words) => words.contains(&value),
            Self::Words(words) => value.split(' ').all(|word| words.contains(&word)),
            Self::Link => value == "none" || FuncIRI::from_str(value).is_ok_and(|link| !link.0.contains([':', '/'])),
            Self::Text => !value.contains('('),
        }
    }
}

fn font(value: &str) -> Reading {
    const PARTS: [&str; 6] = ["font-style", "font-variant", "font-weight", "font-stretch", "font-size", "font-family"];
    if matches!(value, "unset" | "revert" | "initial") {
        return Reading::Unset(PARTS.to_vec());
    }
    let Ok(font) = FontShorthand::from_str(value) else { return Reading::Unread };
    let values = [
        font.font_style.unwrap_or("normal"),
        font.font_variant.unwrap_or("normal"),
        font.font_weight.unwrap_or("normal"),
        font.font_stretch.unwrap_or("normal"),
        font.font_size,
        font.font_family,
    ];
    let mut set = Vec::new();
    for (name, value) in PARTS.into_iter().zip(values) {
        match read(name, value, "text", Written::Style) {
            Reading::Set(mut one) => set.append(&mut one),
            _ => return Reading::Unread,
        }
    }
    Reading::Set(set)
}

fn path(value: &str) -> Reading {
    let inner = value.strip_prefix("path(").and_then(|rest| rest.strip_suffix(')')).map(str::trim);
    let quoted = inner.and_then(|text| text.strip_prefix(['"', '\''])?.strip_suffix(['"', '\'']));
    match (value, quoted) {
        ("none", _) => set("d", ""),
        (_, Some(data)) => set("d", data),
        _ => Reading::Unread,
    }
}

fn geometry(name: &str, value: &str, on: &str) -> Reading {
    let Some((name, elements)) = GEOMETRY.iter().find(|(known, _)| *known == name) else { return Reading::Unread };
    match value {
        _ if matches!(on, "use" | "nested svg") => Reading::Unread,
        _ if !elements.contains(&on) => Reading::Nothing,
        "auto" => Reading::Unset(vec![name]),
        _ if Holds::Measure(&[]).takes(value, Written::Style) => set(name, value),
        _ => Reading::Unread,
    }
}

fn other(name: &str, value: &str, on: &str) -> Reading {
    let is_foreign = name.starts_with('-') && !name.starts_with("-webkit-");
    let is_boxed =
        BOXED.iter().any(|part| name == *part || name.strip_prefix(part).is_some_and(|rest| rest.starts_with('-')));
    match name {
        "font-kerning" | "font-variant-ligatures" if value == "none" => Reading::Unread,
        _ if is_foreign || IDLE.contains(&name) || AT_REST.contains(&value) => Reading::Nothing,
        _ if is_boxed && on != "svg" => Reading::Nothing,
        "text-decoration-style" if value == "solid" => Reading::Nothing,
        "text-decoration-color" if value.parse::<Color>().is_ok() => Reading::Nothing,
        _ => Reading::Unread,
    }
}

/// Whether a property is about text alone.
pub(crate) fn is_about_text(name: &str) -> bool {
    const BEGINNINGS: [&str; 13] = [
        "text-",
        "font",
        "-webkit-text",
        "line-",
        "white-space",
        "word-",
        "letter-",
        "writing-",
        "glyph-",
        "dominant-",
        "alignment-",
        "baseline-",
        "unicode-",
    ];
    name == "direction" || BEGINNINGS.iter().any(|beginning| name.starts_with(beginning))
}

/// Whether a ground of this colour is the paper's.
fn is_light(value: &str) -> bool {
    value.parse::<Color>().is_ok_and(|colour| {
        colour.alpha == 0 || [colour.red, colour.green, colour.blue].into_iter().all(|part| part >= 0xbc)
    })
}
