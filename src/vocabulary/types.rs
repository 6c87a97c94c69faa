//! Types of value: what the type checker works with, and the words for them.

use crate::units::Dimension;

/// The type of a value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Type {
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
    /// A list of values of one type.
    List(Box<Type>),
    /// Whatever may stand on a ring: a number, text or a region.
    Label,
    /// Something that has a name and a block of its own.
    Thing(ThingKind),
    /// What a turn turns on.
    Pivot,
    /// Of any type: what an empty list is a list of, and what may stand where nothing is asked of a value.
    Any,
    /// Could not be told, and was reported: fits everything, so that nothing is reported twice.
    Error,
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
    /// A steel washer.
    Washer,
    /// A rivet.
    Rivet,
    /// A pin.
    Pin,
    /// An adhesive.
    Adhesive,
    /// The shop's spreads.
    Spreads,
    /// What two stocks do on each other.
    Friction,
    /// A finish.
    Finish,
    /// What prints on sheets.
    Printer,
    /// How the shop wants its drawings.
    Drawing,
    /// The shop's rates.
    Rates,
    /// Whom the dials are for.
    Client,
    /// Who makes them.
    Maker,
    /// Values that are sought.
    Seek,
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
            ThingKind::Washer => "washer",
            ThingKind::Rivet => "rivet",
            ThingKind::Pin => "pin",
            ThingKind::Adhesive => "adhesive",
            ThingKind::Spreads => "spreads",
            ThingKind::Friction => "friction",
            ThingKind::Finish => "finish",
            ThingKind::Printer => "printer",
            ThingKind::Drawing => "drawing",
            ThingKind::Rates => "rates",
            ThingKind::Client => "client",
            ThingKind::Maker => "maker",
            ThingKind::Seek => "seek",
        }
    }
}

impl Type {
    /// A pure number.
    pub const NUMBER: Type = Type::Quantity(Dimension::NUMBER);
    /// A length.
    pub const LENGTH: Type = Type::Quantity(Dimension::LENGTH);
    /// An angle.
    pub const ANGLE: Type = Type::Quantity(Dimension::ANGLE);

    /// A list of values of this type.
    pub fn list(of: Type) -> Type {
        Type::List(Box::new(of))
    }

    /// The type that a word after `param NAME:` or in a function's head stands for.
    pub fn of_word(word: &str) -> Option<Type> {
        TypeWord::of_word(word).map(TypeWord::stands_for)
    }

    /// Whether it fits everything, by itself or since it was reported.
    pub const fn is_open(&self) -> bool {
        matches!(self, Type::Any | Type::Error)
    }

    /// Whether a value of this type may stand where `wanted` is wanted.
    pub fn fits(&self, wanted: &Type) -> bool {
        match (self, wanted) {
            (Type::Any | Type::Error, _) | (_, Type::Any | Type::Error) => true,
            // A magnet holds by steel as well as by another magnet.
            (Type::Thing(ThingKind::Washer), Type::Thing(ThingKind::Magnet)) => true,
            (Type::Zero, Type::Quantity(_)) => true,
            (Type::Quantity(Dimension::NUMBER) | Type::Zero | Type::Text | Type::Region, Type::Label) => true,
            (Type::List(own), Type::List(other)) => own.fits(other),
            _ => self == wanted,
        }
    }

    /// The type that holds both; none where they have nothing in common.
    pub fn joined(&self, other: &Type) -> Option<Type> {
        if self.fits(other) {
            return Some(other.clone());
        }
        if other.fits(self) {
            return Some(self.clone());
        }
        match (self, other) {
            (Type::List(a), Type::List(b)) => Some(Type::list(a.joined(b)?)),
            (a, b) if a.fits(&Type::Label) && b.fits(&Type::Label) => Some(Type::Label),
            _ => None,
        }
    }

    /// The dimension, where it is a quantity.
    pub fn dimension(&self) -> Option<Dimension> {
        match self {
            Type::Quantity(dimension) => Some(*dimension),
            Type::Zero => Some(Dimension::NUMBER),
            _ => None,
        }
    }

    /// What people call one of it: "a length", "text", "a list of angles".
    pub fn described(&self) -> String {
        match self {
            Type::Quantity(dimension) => dimension.described(),
            Type::Zero => "zero".to_owned(),
            Type::Text => "text".to_owned(),
            Type::Colour => "a colour".to_owned(),
            Type::Truth => "true or false".to_owned(),
            Type::Point => "a point".to_owned(),
            Type::Region => "a region".to_owned(),
            Type::Trace => "a trace".to_owned(),
            Type::Label => "a label".to_owned(),
            Type::Pivot => "`magnets(…)`, `rivet(…)` or `pin(…)`".to_owned(),
            Type::Any | Type::Error => "something unclear".to_owned(),
            Type::Thing(kind) => format!("the name of {} {}", article(kind.word()), kind.word()),
            Type::List(of) => match &**of {
                Type::Label => "labels".to_owned(),
                Type::Any | Type::Error => "a list".to_owned(),
                Type::Quantity(Dimension::NUMBER) => "a list of numbers".to_owned(),
                Type::Quantity(Dimension::LENGTH) => "a list of lengths".to_owned(),
                Type::Quantity(Dimension::ANGLE) => "a list of angles".to_owned(),
                Type::Text => "a list of texts".to_owned(),
                Type::Region => "a list of regions".to_owned(),
                Type::Point => "a list of points".to_owned(),
                of => format!("a list, each {}", of.described()),
            },
        }
    }
}

/// "a" or "an", by the first letter.
pub fn article(word: &str) -> &'static str {
    if word.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// A word for a type.
#[derive(Debug)]
pub struct TypeSpec {
    /// The word.
    pub word: &'static str,
    /// What values of the type are.
    pub doc: &'static str,
    /// How a param of the type is written.
    pub usage: &'static str,
}

table! {
    /// The words for types, in the order that help lists them.
    enum TypeWord of TypeSpec with pages "types" {
        Length = "length" { usage: "param across: length = 58mm", doc: "a distance, as in `58mm` or `1 1/8in`" }
        Angle = "angle" { usage: "param lean: angle = 15deg", doc: "an angle or bearing; bearings run clockwise from the top" }
        Count = "count" { usage: "param stops: count = 12", doc: "a whole number" }
        Ratio = "ratio" { usage: "param shade: ratio = 80%", doc: "a number without a unit, or a share in `%`" }
        Area = "area" { usage: "param face: area = 20mm * 30mm", doc: "a length times a length" }
        Force = "force" { usage: "param pull: force = 3N", doc: "a force, as in `3N`" }
        Torque = "torque" { usage: "param hold: torque = 4mNm", doc: "a torque, as in `4mNm`" }
        FluxDensity = "flux_density" { usage: "param strength: flux_density = 1.2T", doc: "how strongly a magnet is magnetised, as in `1.2T`" }
        Mass = "mass" { usage: "param weight: mass = 40g", doc: "a mass, as in `40g`" }
        Time = "time" { usage: "param cure: time = 24h", doc: "a length of time, as in `24h` or `15s`" }
        Cost = "cost" { usage: "param price: cost = 3.50", doc: "a sum of money in the shop's currency, written without a unit" }
        Text = "text" { usage: "param motto: text = \"Salt\"", doc: "letters in quotes" }
        Colour = "colour" { usage: "param shade: colour = #c8a06e", doc: "a colour, with two digits each for red, green and blue" }
        Truth = "truth" { usage: "param curved: truth = true", doc: "`true` or `false`, or a condition" }
        Point = "point" { usage: "param centre: point = (3mm, 4mm)", doc: "a place on a layer, measured from the axis to the right and up" }
        Region = "region" { usage: "param badge: region = circle(diameter: 9mm)", doc: "a filled area" }
        Magnet = "magnet" { usage: "param held: magnet = disc from [disc, small]", doc: "a magnet of the shop, by its name" }
        Rivet = "rivet" { usage: "param pivot: rivet = brass from [brass, steel]", doc: "a rivet of the shop, by its name" }
        Pin = "pin" { usage: "param screw: pin = m3 from [m3, m4]", doc: "a pin of the shop, by its name" }
        Stock = "stock" { usage: "param wood: stock = birch from [birch, walnut]", doc: "a sheet material of the shop, by its name" }
        Finish = "finish" { usage: "param look: finish = oiled from [oiled, stained]", doc: "a finish of the shop, by its name" }
        Labels = "labels" { usage: "param crew: labels = 0 to 9", doc: "a list of numbers, texts and regions to stand on a ring" }
    }
}

impl TypeWord {
    /// The type that it stands for.
    pub fn stands_for(self) -> Type {
        match self {
            Self::Length => Type::LENGTH,
            Self::Angle => Type::ANGLE,
            Self::Count | Self::Ratio | Self::Cost => Type::NUMBER,
            Self::Area => Type::Quantity(Dimension::AREA),
            Self::Force => Type::Quantity(Dimension::FORCE),
            Self::Torque => Type::Quantity(Dimension::TORQUE),
            Self::FluxDensity => Type::Quantity(Dimension::FLUX_DENSITY),
            Self::Mass => Type::Quantity(Dimension::MASS),
            Self::Time => Type::Quantity(Dimension::TIME),
            Self::Text => Type::Text,
            Self::Colour => Type::Colour,
            Self::Truth => Type::Truth,
            Self::Point => Type::Point,
            Self::Region => Type::Region,
            Self::Magnet => Type::Thing(ThingKind::Magnet),
            Self::Rivet => Type::Thing(ThingKind::Rivet),
            Self::Pin => Type::Thing(ThingKind::Pin),
            Self::Stock => Type::Thing(ThingKind::Stock),
            Self::Finish => Type::Thing(ThingKind::Finish),
            Self::Labels => Type::list(Type::Label),
        }
    }
}
