//! Kinds of value: what the type checker works with.

use crate::units::Dimension;

/// The kind of a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A number with a dimension.
    Quantity(Dimension),
    /// A bare `0`: a zero of any dimension.
    Zero,
    /// Text.
    Text,
    /// A colour.
    Colour,
    /// True or false.
    Truth,
    /// A point on a layer.
    Point,
    /// A filled region.
    Region,
    /// An open line.
    Trace,
    /// A list of one kind.
    List(Box<Kind>),
    /// Whatever may stand on a ring: a number, text or a region.
    Label,
    /// Something that has a name and a block of its own.
    Thing(ThingKind),
    /// What a turn turns on.
    Pivot,
    /// Could not be told, and was reported: fits everything, so that nothing is reported twice.
    Broken,
}

/// Kinds of named things.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ThingKind {
    /// A layer of the stack.
    Layer,
    /// A ring of labels.
    Ring,
    /// A named mark: window, hole, pocket, engraving …
    Mark,
    /// A sheet material.
    Stock,
    /// A magnet.
    Magnet,
    /// A rivet.
    Rivet,
    /// An adhesive.
    Adhesive,
    /// The shop's spreads.
    Spreads,
    /// A finish.
    Finish,
    /// The shop's rates.
    Rates,
}

impl ThingKind {
    /// The word that defines one.
    pub const fn word(self) -> &'static str {
        match self {
            ThingKind::Layer => "layer",
            ThingKind::Ring => "ring",
            ThingKind::Mark => "mark",
            ThingKind::Stock => "stock",
            ThingKind::Magnet => "magnet",
            ThingKind::Rivet => "rivet",
            ThingKind::Adhesive => "adhesive",
            ThingKind::Spreads => "spreads",
            ThingKind::Finish => "finish",
            ThingKind::Rates => "rates",
        }
    }
}

impl Kind {
    /// A pure number.
    pub const NUMBER: Kind = Kind::Quantity(Dimension::NUMBER);
    /// A length.
    pub const LENGTH: Kind = Kind::Quantity(Dimension::LENGTH);
    /// An angle.
    pub const ANGLE: Kind = Kind::Quantity(Dimension::ANGLE);

    /// A list of this kind.
    pub fn list(of: Kind) -> Kind {
        Kind::List(Box::new(of))
    }

    /// The kind that a word after `param NAME:` or in a function's head stands for.
    pub fn of_word(word: &str) -> Option<Kind> {
        KIND_WORDS.iter().find(|(known, _)| *known == word).map(|(_, make)| make())
    }

    /// Whether a value of this kind may stand where `wanted` is wanted.
    pub fn fits(&self, wanted: &Kind) -> bool {
        match (self, wanted) {
            (Kind::Broken, _) | (_, Kind::Broken) => true,
            (Kind::Zero, Kind::Quantity(_)) => true,
            (Kind::Quantity(Dimension::NUMBER) | Kind::Zero | Kind::Text | Kind::Region, Kind::Label) => true,
            (Kind::List(own), Kind::List(other)) => own.fits(other),
            _ => self == wanted,
        }
    }

    /// The kind that holds both; none where they have nothing in common.
    pub fn joined(&self, other: &Kind) -> Option<Kind> {
        if self.fits(other) {
            return Some(other.clone());
        }
        if other.fits(self) {
            return Some(self.clone());
        }
        match (self, other) {
            (Kind::List(a), Kind::List(b)) => Some(Kind::list(a.joined(b)?)),
            (a, b) if a.fits(&Kind::Label) && b.fits(&Kind::Label) => Some(Kind::Label),
            _ => None,
        }
    }

    /// The dimension, where it is a quantity.
    pub fn dimension(&self) -> Option<Dimension> {
        match self {
            Kind::Quantity(dimension) => Some(*dimension),
            Kind::Zero => Some(Dimension::NUMBER),
            _ => None,
        }
    }

    /// What people call one of it: "a length", "text", "a list of angles".
    pub fn described(&self) -> String {
        match self {
            Kind::Quantity(dimension) => dimension.described(),
            Kind::Zero => "zero".to_owned(),
            Kind::Text => "text".to_owned(),
            Kind::Colour => "a colour".to_owned(),
            Kind::Truth => "true or false".to_owned(),
            Kind::Point => "a point".to_owned(),
            Kind::Region => "a region".to_owned(),
            Kind::Trace => "a trace".to_owned(),
            Kind::Label => "a label".to_owned(),
            Kind::Pivot => "`magnets(…)` or `rivet(…)`".to_owned(),
            Kind::Broken => "something unclear".to_owned(),
            Kind::Thing(kind) => format!("the name of {} {}", article(kind.word()), kind.word()),
            Kind::List(of) => match &**of {
                Kind::Label => "labels".to_owned(),
                Kind::Broken => "a list".to_owned(),
                Kind::Quantity(Dimension::NUMBER) => "a list of numbers".to_owned(),
                Kind::Quantity(Dimension::LENGTH) => "a list of lengths".to_owned(),
                Kind::Quantity(Dimension::ANGLE) => "a list of angles".to_owned(),
                Kind::Text => "a list of texts".to_owned(),
                Kind::Region => "a list of regions".to_owned(),
                Kind::Point => "a list of points".to_owned(),
                of => format!("a list, each {}", of.described()),
            },
        }
    }
}

/// "a" or "an", by the first letter.
pub fn article(word: &str) -> &'static str {
    if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

type MakeKind = fn() -> Kind;

/// The words for kinds, in the order that help lists them.
pub const KIND_WORDS: [(&str, MakeKind); 17] = [
    ("length", || Kind::LENGTH),
    ("angle", || Kind::ANGLE),
    ("count", || Kind::NUMBER),
    ("ratio", || Kind::NUMBER),
    ("area", || Kind::Quantity(Dimension::AREA)),
    ("force", || Kind::Quantity(Dimension::FORCE)),
    ("torque", || Kind::Quantity(Dimension::TORQUE)),
    ("flux_density", || Kind::Quantity(Dimension::FLUX_DENSITY)),
    ("mass", || Kind::Quantity(Dimension::MASS)),
    ("time", || Kind::Quantity(Dimension::TIME)),
    ("cost", || Kind::NUMBER),
    ("text", || Kind::Text),
    ("colour", || Kind::Colour),
    ("truth", || Kind::Truth),
    ("point", || Kind::Point),
    ("region", || Kind::Region),
    ("labels", || Kind::list(Kind::Label)),
];
