//! The operation list, read anew: these types share nothing with those that write it.

use kurbo::{Affine, BezPath, Rect, Shape as _, Vec2};
use serde::Deserialize;

use super::sums::Summary;

/// Versions of the list that can be read.
const VERSIONS: std::ops::RangeInclusive<u32> = 1..=4;

/// The whole list.
#[derive(Debug, Deserialize)]
pub(super) struct List {
    format: String,
    version: u32,
    pub(super) dial: String,
    pub(super) dials: u32,
    pub(super) spares: u32,
    /// What the parts must come to; empty in lists of version 1, which do not say it.
    #[serde(default)]
    pub(super) designs: Vec<Design>,
    /// What the work comes to; not looked at in lists of version 1.
    #[serde(default)]
    pub(super) summary: Option<Summary>,
    pub(super) boards: Vec<Board>,
}

/// Reads a list.
///
/// # Errors
/// Why it is none, in words.
pub(super) fn read(text: &str) -> Result<List, String> {
    let mut list: List =
        serde_json::from_str(text).map_err(|error| format!("`operations.json` cannot be read: {error}"))?;
    if list.version < 2 {
        list.summary = None;
    }
    if list.format != "dialwright operations" || !VERSIONS.contains(&list.version) {
        return Err(format!(
            "`operations.json` is of the form `{}`, version {}; versions {} to {} of `dialwright operations` are read",
            list.format,
            list.version,
            VERSIONS.start(),
            VERSIONS.end()
        ));
    }
    Ok(list)
}

/// A design as it was meant.
#[derive(Debug, Deserialize)]
pub(super) struct Design {
    pub(super) dial: String,
    #[serde(default)]
    pub(super) variant: Option<String>,
    pub(super) dials: u32,
    pub(super) spares: u32,
    pub(super) layers: Vec<Layer>,
    pub(super) joints: Vec<Joint>,
    pub(super) magnets: Vec<Magnet>,
    pub(super) readings: Vec<Reading>,
    #[serde(default)]
    pub(super) slot: Option<Slot>,
    pub(super) thickness: f64,
}

/// A layer as it was meant, in its front frame: mm, the turning axis at the origin, y up.
#[derive(Debug, Deserialize)]
pub(super) struct Layer {
    pub(super) layer: String,
    pub(super) thickness: f64,
    pub(super) clear: bool,
    pub(super) colour: String,
    pub(super) least_web: f64,
    #[serde(default)]
    pub(super) web: Option<f64>,
    pub(super) least_floor: f64,
    #[serde(default)]
    pub(super) floor: Option<f64>,
    pub(super) outline: Lines,
    #[serde(default)]
    pub(super) marks: Vec<Mark>,
    #[serde(default)]
    pub(super) rings: Vec<Ring>,
    #[serde(default)]
    pub(super) waits: Vec<Wait>,
}

impl Design {
    /// The layer that a wheel or hand turns in or on, and where its axis is; none for what is part of the stack itself.
    pub(super) fn wheel(&self, layer: usize) -> Option<(usize, Vec2)> {
        match self.joints.get(layer.checked_sub(1)?)? {
            Joint::Turn { own_axis: Some(OwnAxis { carrier, at: [x, y], .. }), .. } => {
                Some((*carrier, Vec2::new(*x, *y)))
            }
            _ => None,
        }
    }

    /// Whether it is a hand: what lies on a layer and not in an opening of it.
    pub(super) fn is_hand(&self, layer: usize) -> bool {
        let joint = layer.checked_sub(1).and_then(|joint| self.joints.get(joint));
        matches!(joint, Some(Joint::Turn { own_axis: Some(OwnAxis { opening: None, .. }), .. }))
    }

    /// Where a layer's own axis is on the board.
    pub(super) fn axis(&self, layer: usize) -> Vec2 {
        self.wheel(layer).map_or(Vec2::ZERO, |(_, axis)| axis)
    }
}

/// A piece of work as it was meant.
#[derive(Debug, Deserialize)]
pub(super) struct Mark {
    #[serde(flatten)]
    pub(super) work: MarkWork,
    pub(super) face: Face,
    #[serde(default)]
    pub(super) name: Option<String>,
    pub(super) path: Lines,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(tag = "work", rename_all = "kebab-case")]
pub(super) enum MarkWork {
    Opening { over_the_rim: bool },
    Engrave { tone: f64, colour: String },
    Score { width: f64 },
    Pocket { depth: f64 },
    Paint {},
    Print { colour: String },
    Bare,
}

#[derive(Debug, Deserialize)]
pub(super) struct Ring {
    pub(super) ring: String,
    /// Left out of one that is engraved.
    #[serde(default)]
    pub(super) work: RingWork,
    /// How wide the lines are burnt of one that is scored.
    #[serde(default)]
    pub(super) width: Option<f64>,
    pub(super) face: Face,
    pub(super) tone: f64,
    /// Of its labels; looked at where they are printed.
    #[serde(default)]
    pub(super) colour: Option<String>,
    pub(super) labels: Vec<Label>,
}

#[derive(Clone, Copy, Debug, Default, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum RingWork {
    #[default]
    Engrave,
    Score,
    /// Left standing.
    Bare,
    /// There before anything is burnt.
    Print,
}

impl RingWork {
    /// Whether the machine burns its labels.
    pub(super) fn is_burnt(self) -> bool {
        matches!(self, Self::Engrave | Self::Score)
    }
}

#[derive(Debug, Deserialize)]
pub(super) struct Label {
    pub(super) says: String,
    pub(super) bearing: f64,
    /// Its own, where the labels of its ring differ in theirs.
    #[serde(default)]
    pub(super) colour: Option<String>,
    pub(super) path: Lines,
}

/// Work that comes after other work.
#[derive(Debug, Deserialize)]
pub(super) struct Wait {
    #[serde(default)]
    pub(super) work: Option<String>,
    pub(super) after: String,
}

#[derive(Debug, Deserialize)]
#[serde(tag = "joint", rename_all = "kebab-case")]
pub(super) enum Joint {
    Glue {
        film: f64,
    },
    Turn {
        stops: Vec<f64>,
        held_by: HeldBy,
        #[serde(default)]
        own_axis: Option<OwnAxis>,
        #[serde(default)]
        ends: Option<Ends>,
    },
}

#[derive(Debug, Deserialize)]
pub(super) struct Ends {
    pub(super) shank: f64,
    pub(super) length: f64,
    pub(super) stands: Half,
    pub(super) radius: f64,
    pub(super) bearing: f64,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Half {
    Lower,
    Upper,
}

#[derive(Debug, Deserialize)]
#[serde(tag = "by", rename_all = "kebab-case")]
pub(super) enum HeldBy {
    Magnets {},
    Rivet { shank: f64 },
    Pin { shank: f64 },
    Wall {},
}

/// The layer `carrier` that the layer above lies in or on, about an axis of its own.
#[derive(Debug, Deserialize)]
pub(super) struct OwnAxis {
    pub(super) carrier: usize,
    pub(super) at: [f64; 2],
    /// The opening that it lies in; none for a hand.
    #[serde(default)]
    pub(super) opening: Option<String>,
}

#[derive(Debug, Deserialize)]
pub(super) struct Magnet {
    pub(super) magnet: String,
    pub(super) diameter: f64,
    pub(super) height: f64,
    /// Of steel: the hole through it.
    #[serde(default)]
    pub(super) hole: Option<f64>,
    pub(super) layer: String,
    pub(super) face: Face,
    pub(super) radius: f64,
    pub(super) bearing: f64,
    #[serde(default)]
    pub(super) depth: Option<f64>,
    #[serde(default)]
    pub(super) sink: Option<f64>,
    #[serde(default)]
    pub(super) north: Option<North>,
    pub(super) turns: Vec<usize>,
    pub(super) clicks: bool,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum North {
    Up,
    Down,
}

#[derive(Debug, Deserialize)]
pub(super) struct Reading {
    pub(super) ring: String,
    pub(super) how: How,
    /// The side that one looks from; lists that do not tell it mean that of the ring's face.
    #[serde(default)]
    pub(super) side: Option<Face>,
    pub(super) by: Vec<String>,
    pub(super) turns: Vec<usize>,
    pub(super) stops: Vec<Due>,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum How {
    Through,
    Beside,
}

#[derive(Debug, Deserialize)]
pub(super) struct Due {
    pub(super) at: Vec<usize>,
    pub(super) due: usize,
    pub(super) says: String,
    pub(super) reads: bool,
}

#[derive(Debug, Deserialize)]
pub(super) struct Slot {
    pub(super) path: Lines,
    #[serde(default)]
    pub(super) depth: Option<f64>,
    /// How the axis is moved from its origin.
    pub(super) moved: [f64; 2],
    /// Least room at any stop, below zero where the dial stands over its edge.
    pub(super) room: f64,
    pub(super) fits: bool,
}

/// A face of a layer.
#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Face {
    Front,
    Back,
}

impl Face {
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
        }
    }
}

#[derive(Debug, Deserialize)]
pub(super) struct Board {
    #[serde(default)]
    pub(super) stock: String,
    pub(super) width: f64,
    pub(super) height: f64,
    pub(super) thickness: f64,
    pub(super) kerf: f64,
    /// Left out of lists of version 1, as `gap` is.
    #[serde(default)]
    pub(super) margin: Option<f64>,
    #[serde(default)]
    pub(super) gap: Option<f64>,
    /// Left out where nothing is printed on it.
    #[serde(default)]
    pub(super) print: Option<Print>,
    pub(super) parts: Vec<Part>,
    pub(super) setups: Vec<Setup>,
}

/// What is printed on a board before anything is cut.
#[derive(Debug, Deserialize)]
pub(super) struct Print {
    pub(super) crosses: Vec<[f64; 2]>,
    pub(super) faces: Vec<PrintedFace>,
}

#[derive(Debug, Deserialize)]
pub(super) struct PrintedFace {
    lies: String,
    pub(super) areas: Vec<PrintedArea>,
}

impl PrintedFace {
    /// Whether it lies up in the first setup.
    pub(super) fn is_up(&self) -> bool {
        self.lies == "up"
    }
}

#[derive(Debug, Deserialize)]
pub(super) struct PrintedArea {
    pub(super) part: String,
    pub(super) colour: String,
    pub(super) path: Lines,
}

#[derive(Debug, Deserialize)]
pub(super) struct Part {
    pub(super) name: String,
    pub(super) layer: String,
    pub(super) dial: u32,
    #[serde(default)]
    pub(super) design: usize,
    #[serde(default)]
    pub(super) inside: Option<String>,
    pub(super) lies: Vec<Lie>,
}

/// How a part lies on the board in one setup.
#[derive(Clone, Copy, Debug, Deserialize)]
pub(super) struct Lie {
    pub(super) up: Face,
    x: f64,
    y: f64,
    top: f64,
}

impl Lie {
    /// The layer's front frame to the board: turned to where its 0deg points, seen from behind where the back is up.
    pub(super) fn at(self) -> Affine {
        let faced = match self.up {
            Face::Front => Affine::IDENTITY,
            Face::Back => Affine::scale_non_uniform(-1.0, 1.0),
        };
        // Bearings run clockwise, angles of an affine turn the other way.
        Affine::translate(Vec2::new(self.x, self.y)) * Affine::rotate(-self.top.to_radians()) * faced
    }
}

#[derive(Debug, Deserialize)]
pub(super) struct Setup {
    pub(super) turned: Turned,
    pub(super) operations: Vec<Operation>,
}

#[derive(Debug, Deserialize)]
#[serde(tag = "how", rename_all = "kebab-case")]
pub(super) enum Turned {
    AsLaid,
    PartsOver { parts: Vec<TurnedPart> },
    BoardOver,
}

#[derive(Debug, Deserialize)]
pub(super) struct TurnedPart {
    pub(super) part: String,
    pub(super) about: f64,
    pub(super) into: Into,
    pub(super) play: f64,
    /// In degrees either way; none where nothing keeps the part from turning.
    #[serde(default)]
    pub(super) askew: Option<f64>,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Into {
    OwnOpening,
    Holder,
}

#[derive(Debug, Deserialize)]
pub(super) struct Operation {
    #[serde(flatten)]
    pub(super) work: Work,
    #[serde(default)]
    pub(super) part: Option<String>,
    #[serde(default)]
    pub(super) face: Option<Face>,
    #[serde(default)]
    pub(super) name: Option<String>,
    #[serde(default)]
    pub(super) after: Vec<String>,
    #[serde(default)]
    pub(super) path: Lines,
}

#[derive(Clone, Debug, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case")]
pub(super) enum Work {
    Engrave {
        tone: f64,
    },
    Score {
        /// Left out of lists of version 1: as wide as a cut.
        #[serde(default)]
        width: Option<f64>,
    },
    Pocket {
        depth: f64,
        #[serde(default)]
        passes: Option<Passes>,
    },
    Cut {
        edge: Edge,
        waste: Waste,
        kerf_offset: f64,
    },
    Pause {},
}

#[derive(Clone, Debug, Deserialize)]
pub(super) struct Passes {
    pub(super) reach: f64,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Edge {
    Outline,
    Opening,
    Holder,
}

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Waste {
    Inside,
    Outside,
}

/// Contours as SVG path data.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(from = "Vec<String>")]
pub(super) struct Lines {
    /// All contours as one path.
    pub(super) path: BezPath,
    /// Whether every one of them was path data.
    pub(super) whole: bool,
    /// Whether every one of them is closed.
    pub(super) closed: bool,
}

impl From<Vec<String>> for Lines {
    fn from(contours: Vec<String>) -> Self {
        let mut lines = Self { path: BezPath::new(), whole: true, closed: true };
        for contour in &contours {
            lines.closed &= contour.trim_end().ends_with(['Z', 'z']);
            match BezPath::from_svg(contour) {
                Ok(path) if path.is_finite() => lines.path.extend(path.iter()),
                _ => lines.whole = false,
            }
        }
        lines
    }
}

impl Lines {
    /// The least box round it; none where there is nothing.
    pub(super) fn bounds(&self) -> Option<Rect> {
        (!self.path.elements().is_empty()).then(|| self.path.bounding_box())
    }
}
