//! The functions of the language: what each takes and gives. The type checker, the evaluator and help all
//! read this one table.

use std::sync::LazyLock;

use super::kind::{Kind, ThingKind};
use crate::audit::{self, MEASURES, Subject};

/// What a call gives.
#[derive(Clone, Debug, PartialEq)]
pub enum Gives {
    /// Always this kind.
    Kind(Kind),
    /// The kind of its first argument.
    SameAsFirst,
    /// The square root of its argument's dimension.
    Root,
}

/// One function.
#[derive(Clone, Debug)]
pub struct Function {
    /// Its name.
    pub name: &'static str,
    /// What it takes, positional ones first.
    pub parameters: Vec<Parameter>,
    /// Takes any number of further positional arguments of this kind.
    pub rest: Option<Kind>,
    /// Of each group exactly one must be given.
    pub one_of: Vec<&'static [&'static str]>,
    /// What it gives.
    pub gives: Gives,
    /// Only `expect` may call it.
    pub measure: bool,
    /// How it is written, for help.
    pub usage: &'static str,
}

/// One parameter of a function.
#[derive(Clone, Debug)]
pub struct Parameter {
    /// The word before its `:`.
    pub name: &'static str,
    /// The kind of value it takes; none for a quantity of any dimension.
    pub kind: Option<Kind>,
    /// Whether it may stand without its word, in its place.
    pub positional: bool,
    /// Whether it must be given.
    pub required: bool,
}

fn place(name: &'static str, kind: Kind) -> Parameter {
    Parameter { name, kind: Some(kind), positional: true, required: true }
}

fn any(name: &'static str) -> Parameter {
    Parameter { name, kind: None, positional: true, required: true }
}

fn need(name: &'static str, kind: Kind) -> Parameter {
    Parameter { name, kind: Some(kind), positional: false, required: true }
}

fn may(name: &'static str, kind: Kind) -> Parameter {
    Parameter { name, kind: Some(kind), positional: false, required: false }
}

fn function(name: &'static str, usage: &'static str, parameters: Vec<Parameter>, gives: Kind) -> Function {
    Function { name, parameters, rest: None, one_of: Vec::new(), gives: Gives::Kind(gives), measure: false, usage }
}

/// Every function, in order of name.
pub static FUNCTIONS: LazyLock<Vec<Function>> = LazyLock::new(|| {
    let mut all = shapes();
    all.extend(lettering_and_drawings());
    all.extend(lines_and_points());
    all.extend(arithmetic());
    all.extend(pivots());
    all.extend(measures());
    all.sort_by_key(|function| function.name);
    all
});

/// The function of this name.
pub fn function_named(name: &str) -> Option<&'static Function> {
    FUNCTIONS.iter().find(|function| function.name == name)
}

fn shapes() -> Vec<Function> {
    const LENGTH: Kind = Kind::LENGTH;
    const COUNT: Kind = Kind::NUMBER;
    let shape = |name, usage, parameters| function(name, usage, parameters, Kind::Region);
    vec![
        Function {
            one_of: vec![&["diameter", "radius"]],
            ..shape("circle", "circle(diameter: 60mm)", vec![may("diameter", LENGTH), may("radius", LENGTH)])
        },
        shape("ellipse", "ellipse(width: 15mm, height: 12mm)", vec![need("width", LENGTH), need("height", LENGTH)]),
        Function {
            one_of: vec![&["across_corners", "across_flats", "side"]],
            ..shape(
                "polygon",
                "polygon(sides: 6, across_corners: 58mm, corner: 4mm)",
                vec![
                    need("sides", COUNT),
                    may("across_corners", LENGTH),
                    may("across_flats", LENGTH),
                    may("side", LENGTH),
                    may("corner", LENGTH),
                ],
            )
        },
        shape(
            "rectangle",
            "rectangle(width: 20mm, height: 10mm, corner: 2mm)",
            vec![need("width", LENGTH), need("height", LENGTH), may("corner", LENGTH)],
        ),
        shape("obround", "obround(width: 14mm, height: 12mm)", vec![need("width", LENGTH), need("height", LENGTH)]),
        shape(
            "sector",
            "sector(radius: 36mm, inner: 20mm, from: -24deg, to: 24deg)",
            vec![need("radius", LENGTH), may("inner", LENGTH), need("from", Kind::ANGLE), need("to", Kind::ANGLE)],
        ),
        shape(
            "star",
            "star(points: 8, diameter: 20mm, inner: 12mm, corner: 0.5mm)",
            vec![need("points", COUNT), need("diameter", LENGTH), need("inner", LENGTH), may("corner", LENGTH)],
        ),
        shape(
            "scallop",
            "scallop(diameter: 66mm, lobes: 12, depth: 2.5mm)",
            vec![need("diameter", LENGTH), need("lobes", COUNT), need("depth", LENGTH)],
        ),
        shape("path", "path(\"M 0 0 L 10 0 L 0 10 Z\")", vec![place("data", Kind::Text)]),
        shape("wrapped", "wrapped(a, b)", vec![place("first", Kind::Region), place("second", Kind::Region)]),
    ]
}

fn lettering_and_drawings() -> Vec<Function> {
    const LENGTH: Kind = Kind::LENGTH;
    let shape = |name, usage, parameters| function(name, usage, parameters, Kind::Region);
    vec![
        shape(
            "text",
            "text(\"CREW\", height: 6mm, align: \"middle\")",
            vec![
                place("words", Kind::Text),
                need("height", LENGTH),
                may("align", Kind::Text),
                may("tracking", LENGTH),
                may("width", LENGTH),
                may("spacing", Kind::NUMBER),
                may("around", LENGTH),
                may("facing", Kind::Text),
                may("typeface", Kind::Text),
            ],
        ),
        shape(
            "stencil",
            "stencil(text(\"80\", height: 12mm), bridge: 0.8mm)",
            vec![place("shape", Kind::Region), need("bridge", LENGTH), may("bearing", Kind::ANGLE)],
        ),
        shape(
            "art",
            "art(\"goods.svg\", part: \"wheat\", height: 9mm)",
            vec![
                place("file", Kind::Text),
                may("part", Kind::Text),
                may("height", LENGTH),
                may("in_place", Kind::Truth),
                may("width", LENGTH),
                may("tone", Kind::Colour),
                may("threshold", Kind::NUMBER),
            ],
        ),
    ]
}

fn lines_and_points() -> Vec<Function> {
    vec![
        function(
            "polar",
            "polar(20mm, 0deg)",
            vec![place("radius", Kind::LENGTH), place("bearing", Kind::ANGLE)],
            Kind::Point,
        ),
        Function {
            rest: Some(Kind::Point),
            ..function(
                "line",
                "line((0mm, 0mm), polar(12mm, 90deg))",
                vec![place("from", Kind::Point), place("to", Kind::Point)],
                Kind::Trace,
            )
        },
        function(
            "single_stroke",
            "single_stroke(\"CREW\", height: 5mm)",
            vec![
                place("words", Kind::Text),
                need("height", Kind::LENGTH),
                may("align", Kind::Text),
                may("tracking", Kind::LENGTH),
                may("width", Kind::LENGTH),
                may("spacing", Kind::NUMBER),
                may("around", Kind::LENGTH),
                may("facing", Kind::Text),
            ],
            Kind::Trace,
        ),
        function("trace", "trace(\"M -10 0 L 10 0\")", vec![place("data", Kind::Text)], Kind::Trace),
    ]
}

fn arithmetic() -> Vec<Function> {
    let same = |name, usage, parameters| Function {
        gives: Gives::SameAsFirst,
        ..function(name, usage, parameters, Kind::NUMBER)
    };
    let whole = |name, usage| function(name, usage, vec![place("value", Kind::NUMBER)], Kind::NUMBER);
    let angular = |name, usage| function(name, usage, vec![place("angle", Kind::ANGLE)], Kind::NUMBER);
    vec![
        Function { rest: Some(Kind::Broken), ..same("min", "min(a, b)", vec![any("first"), any("second")]) },
        Function { rest: Some(Kind::Broken), ..same("max", "max(a, b)", vec![any("first"), any("second")]) },
        same("abs", "abs(a)", vec![any("value")]),
        whole("floor", "floor(2.7)"),
        whole("round", "round(2.7)"),
        Function { gives: Gives::Root, ..function("sqrt", "sqrt(a)", vec![any("value")], Kind::NUMBER) },
        angular("sin", "sin(30deg)"),
        angular("cos", "cos(30deg)"),
        angular("tan", "tan(30deg)"),
    ]
}

fn pivots() -> Vec<Function> {
    vec![
        function(
            "magnets",
            "magnets(disc)",
            vec![place("magnet", Kind::Thing(ThingKind::Magnet)), may("radius", Kind::LENGTH)],
            Kind::Pivot,
        ),
        function("rivet", "rivet(eyelet)", vec![place("rivet", Kind::Thing(ThingKind::Rivet))], Kind::Pivot),
    ]
}

/// What `expect` can measure on the finished dial: the audit's own table, as functions.
fn measures() -> Vec<Function> {
    MEASURES
        .iter()
        .map(|measure| {
            let subject = match measure.subject {
                Subject::Layer => Some(place("layer", Kind::Thing(ThingKind::Layer))),
                Subject::Opening => Some(place("opening", Kind::Thing(ThingKind::Mark))),
                Subject::Ring => Some(place("ring", Kind::Thing(ThingKind::Ring))),
                Subject::Dial => None,
            };
            let gives = match measure.kind {
                audit::Kind::Quantity(dimension) => Kind::Quantity(dimension),
                audit::Kind::Labels => Kind::list(Kind::Label),
            };
            let parameters = subject.into_iter().collect();
            Function { measure: true, ..function(measure.name, measure.usage, parameters, gives) }
        })
        .collect()
}
