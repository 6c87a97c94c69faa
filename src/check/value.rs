//! Values that expressions evaluate to.

use std::fmt;
use std::sync::Arc;

use crate::design::Lettering;
use crate::geometry::{Region, Trace};
use crate::units::{Angle, Length, Quantity, plain};

/// A value.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// A number with its dimension.
    Quantity(Quantity),
    /// Text.
    Text(Arc<str>),
    /// A colour, sRGB.
    Colour([u8; 3]),
    /// True or false.
    Truth(bool),
    /// A point in mm.
    Point(kurbo::Point),
    /// A filled region.
    Region(Figure),
    /// An open line.
    Trace(Line),
    /// A list.
    List(Arc<[Value]>),
    /// The name of a layer, ring, mark or thing of the shop.
    Thing(Arc<str>),
    /// What a turn turns on.
    Pivot(PivotValue),
}

/// A region, and what it says where it stands as a label.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The area.
    pub region: Arc<Region>,
    /// What it says: the text it is made of, or the name of the artwork.
    pub says: Option<Arc<str>>,
    /// What it is printed in, where it is an area of a drawing in its own colours.
    pub colour: Option<[u8; 3]>,
    /// Artwork whose height nobody has given yet; a ring gives it its own.
    pub unsized_art: bool,
    /// The words that it is; none for what is no lettering.
    pub lettering: Option<Lettering>,
}

/// An open line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The line.
    pub trace: Arc<Trace>,
    /// The words that it is; none for what is no lettering.
    pub lettering: Option<Lettering>,
}

impl From<Trace> for Line {
    fn from(trace: Trace) -> Self {
        Self { trace: trace.into(), lettering: None }
    }
}

impl Figure {
    /// A plain region.
    pub fn plain(region: Region) -> Self {
        Self { region: Arc::new(region), says: None, colour: None, unsized_art: false, lettering: None }
    }
}

/// `magnets(NAME, radius: …)`, `rivet(NAME)` or `pin(NAME, radius: …)`.
#[derive(Clone, Debug, PartialEq)]
pub enum PivotValue {
    /// Magnets, on the axis or (for clicks) on a circle of this radius in mm.
    Magnets {
        /// Name of the magnet, or of what lies in the lower half.
        magnet: Arc<str>,
        /// Name of what lies in the upper half, where that is said by itself.
        above: Option<Arc<str>>,
        /// Radius, where given.
        radius: Option<f64>,
    },
    /// A rivet.
    Rivet(Arc<str>),
    /// A pin, on the axis or (for ends) beside it.
    Pin {
        /// Name of the pin.
        pin: Arc<str>,
        /// How far from the axis in mm, where given.
        radius: Option<f64>,
        /// Where it stands on the half that stays.
        bearing: Angle,
        /// How far it may go beyond the first and the last stop.
        play: Length,
    },
}

impl Value {
    /// A length in mm.
    pub fn mm(value: f64) -> Self {
        Value::Quantity(crate::units::Length::mm(value).quantity())
    }

    /// The quantity, where it is one.
    pub fn quantity(&self) -> Option<Quantity> {
        match self {
            Value::Quantity(quantity) => Some(*quantity),
            _ => None,
        }
    }

    /// The items, where it is a list.
    pub fn items(&self) -> Option<&[Value]> {
        match self {
            Value::List(items) => Some(items),
            _ => None,
        }
    }
}

/// As people would write it.
impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Quantity(quantity) => quantity.fmt(f),
            Value::Text(text) => {
                write!(
                    f,
                    "\"{}\"",
                    text.replace('\\', "\\\\").replace('"', "\\\"").replace('{', "\\{").replace('\n', "\\n")
                )
            }
            Value::Colour([r, g, b]) => write!(f, "#{r:02x}{g:02x}{b:02x}"),
            Value::Truth(truth) => truth.fmt(f),
            Value::Point(point) => write!(f, "({}mm, {}mm)", plain(point.x, 3), plain(point.y, 3)),
            Value::Region(figure) => match &figure.says {
                Some(says) => write!(f, "\"{says}\""),
                None => write!(f, "a region of {}mm²", plain(figure.region.area(), 1)),
            },
            Value::Trace(line) => write!(f, "a trace {}mm long", plain(line.trace.length(), 1)),
            Value::List(items) => {
                let shown: Vec<String> = items.iter().map(ToString::to_string).collect();
                write!(f, "[{}]", shown.join(", "))
            }
            Value::Thing(name) => name.fmt(f),
            Value::Pivot(PivotValue::Magnets { magnet, above: None, .. }) => write!(f, "magnets({magnet})"),
            Value::Pivot(PivotValue::Magnets { magnet, above: Some(above), .. }) => {
                write!(f, "magnets(lower: {magnet}, upper: {above})")
            }
            Value::Pivot(PivotValue::Rivet(rivet)) => write!(f, "rivet({rivet})"),
            Value::Pivot(PivotValue::Pin { pin, .. }) => write!(f, "pin({pin})"),
        }
    }
}
