//! What is amiss with what a folder will make.

use serde::Serialize;

/// One thing that is not as it must be.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Remark {
    /// What kind of thing.
    pub kind: Kind,
    /// Where: a board and setup, a part, a dial, a stop.
    pub place: String,
    /// One sentence with its figures.
    pub says: String,
}

/// Kinds of remark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A drawing is missing, is no drawing, or holds what is no work.
    Drawing,
    /// Drawing and list tell of different work.
    Disagree,
    /// A path is no path, or a closed one stands open.
    Path,
    /// A part is not cut free, or more than once.
    NotFreed,
    /// Parts are missing from the run, or too many.
    Count,
    /// Something leaves the board.
    OffBoard,
    /// A cut runs into another part.
    Overlap,
    /// A part comes nearer to the edge of the board than is told.
    Margin,
    /// Parts lie nearer to one another than is told.
    Gap,
    /// A part does not lie in the opening that it is told to lie in, or in one that is not told.
    Guest,
    /// Work is done when it can no longer be done, or before what it waits for.
    Order,
    /// How a part or board is turned over is not how it lies afterwards.
    TurnedOver,
    /// A part that is turned over may lie farther off its place than is told, or not as far.
    Play,
    /// Work is told to be on another face than the one that looks up.
    Face,
    /// The finished edge is not where it was meant.
    Edge,
    /// What is burnt is not what was meant.
    Ink,
    /// A face is worked as its own mirror image.
    Mirrored,
    /// What is printed is not what was meant.
    Print,
    /// A pocket is missing, of another shape, or of another depth.
    Pocket,
    /// A pocket leaves too little, or nothing.
    Floor,
    /// A wall is thinner than is asked for, or than is told.
    Web,
    /// A magnet, rivet or pin has no seat, a pole looks the wrong way, or a slot ends where it should not.
    Magnet,
    /// A reading is not what is due.
    Reading,
    /// The dial does not go into its slot.
    Slot,
    /// A sum over all boards is not what the work comes to.
    Sums,
}

impl Kind {
    /// As it is called in words and in JSON.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Drawing => "drawing",
            Self::Disagree => "disagree",
            Self::Path => "path",
            Self::NotFreed => "not-freed",
            Self::Count => "count",
            Self::OffBoard => "off-board",
            Self::Overlap => "overlap",
            Self::Margin => "margin",
            Self::Gap => "gap",
            Self::Guest => "guest",
            Self::Order => "order",
            Self::TurnedOver => "turned-over",
            Self::Play => "play",
            Self::Face => "face",
            Self::Edge => "edge",
            Self::Ink => "ink",
            Self::Mirrored => "mirrored",
            Self::Print => "print",
            Self::Pocket => "pocket",
            Self::Floor => "floor",
            Self::Web => "web",
            Self::Magnet => "magnet",
            Self::Reading => "reading",
            Self::Slot => "slot",
            Self::Sums => "sums",
        }
    }
}

/// Gathers remarks about one place.
#[derive(Debug, Default)]
pub(super) struct Remarks(pub(super) Vec<Remark>);

impl Remarks {
    pub(super) fn push(&mut self, kind: Kind, place: &str, says: impl Into<String>) {
        self.0.push(Remark { kind, place: place.to_owned(), says: says.into() });
    }
}

/// A length in mm for a sentence.
pub(super) fn mm(value: f64) -> String {
    format!("{}mm", crate::units::plain(value, 2))
}

/// An area in mm² for a sentence.
pub(super) fn mm2(value: f64) -> String {
    format!("{}mm²", crate::units::plain(value, 2))
}
