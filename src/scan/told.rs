//! What is told of a run that was measured: the form of `measured.json`.

use serde::{Deserialize, Serialize};

/// Version of the form; raised when a reader of the former one could misread it.
pub const VERSION: u32 = 1;
/// What the form calls itself.
pub const FORMAT: &str = "dialwright measured";

/// A run that was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Measured {
    /// Always [`FORMAT`].
    pub format: String,
    /// The form's version.
    pub version: u32,
    /// The dial's title.
    pub dial: String,
    /// Whether a calliper has proven where edges are.
    pub edge: EdgeBy,
    /// The scans.
    pub scans: Vec<ScanTold>,
    /// Every part that was measured.
    pub parts: Vec<PartTold>,
    /// What was cut from each stock.
    pub stocks: Vec<StockTold>,
    /// How far middles of pockets lie off where they were meant, along either of two axes.
    pub pockets: Option<Spread>,
    /// How far openings lie off where they were meant, as far as that can be told.
    pub openings: Option<Spread>,
    /// How far marks lie off where they were meant.
    pub marks: Option<Spread>,
    /// How the run's own dials read, each part with a ring paired with each that has its opening.
    pub readings: Vec<ReadingTold>,
    /// What is amiss, or keeps something from being told.
    pub remarks: Vec<Remark>,
}

/// What says where an edge is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum EdgeBy {
    /// A calliper's reading of one part.
    Calliper,
    /// The scan alone, on the scale of the laser that cut the parts.
    Scan,
}

/// A scan.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ScanTold {
    /// Its file.
    pub file: String,
    /// Its resolution across and down as the file states it, dots to the inch.
    pub dpi: [f64; 2],
    /// Whether its lid is light.
    pub light_lid: bool,
    /// Whether its file leaves some of it out.
    pub lossy: bool,
    /// How much larger it shows things across and down, where openings or marks told; else none.
    pub scale: Option<[f64; 2]>,
    /// By how much its right angle is off, degrees.
    pub shear_deg: f64,
    /// How far its carriage strays, mm.
    pub carriage_mm: f64,
    /// How much wider cuts are that run one way than those across, mm.
    pub one_way_mm: f64,
    /// How soft an edge looks, the standard deviation of its step, mm (as ISO 12233 measures sharpness by a slanted edge).
    pub soft_mm: f64,
}

/// A part that was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct PartTold {
    /// As the picture numbers it.
    pub number: usize,
    /// Its scan, counted from 0.
    pub scan: usize,
    /// Its layer and stock.
    pub layer: String,
    /// What it is cut from.
    pub stock: String,
    /// The face on the glass, `front` or `back`.
    pub face: String,
    /// Where its axis is on the glass from the upper left corner, mm.
    pub at: [f64; 2],
    /// Where its 0deg points on the glass, clockwise from up, degrees; none where nothing on it tells.
    pub turned_deg: Option<f64>,
    /// The width of the cut round it, mm, and the half of its 95 % interval.
    pub kerf_mm: f64,
    /// Half the 95 % interval.
    pub kerf_plus_minus_mm: f64,
    /// Openings, pockets and marks.
    pub works: Vec<WorkTold>,
    /// What is broken, or burnt where it should be bare.
    pub damage: Vec<Damage>,
}

/// A piece of work that was measured.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WorkTold {
    /// What it is called.
    pub name: String,
    /// `opening`, `pocket`, `mark` or `line`.
    pub kind: String,
    /// Which way `off` counts: `out-clockwise` from and about the dial's axis, or `right-up` for what lies on it.
    pub axes: String,
    /// How far it is off its place along either, mm; none along one that nothing tells.
    pub off: [Option<Away>; 2],
    /// How far it is turned, clockwise from the front, degrees.
    pub turned_deg: Option<Away>,
    /// How far a mark's edge stands beyond what was meant, mm. Not of a pocket, whose dark walls and halo hide it, nor of an opening, which
    /// grows as the rim shrinks.
    pub growth_mm: Option<Away>,
    /// How dark a mark is.
    pub tone: Option<Tone>,
    /// Which share of its edge was found.
    pub found: f64,
}

/// How dark a mark is, by luminance on the scan's own curve, taken to be that of sRGB.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Tone {
    /// The share of light that is left where it is burnt, of that beside it.
    pub light_left: Away,
    /// What is left by the stock's colours.
    pub light_meant: Option<f64>,
    /// Contrast with what is beside it, 1 to 21 (WCAG 2.2).
    pub contrast: Away,
    /// The contrast of the stock's colours.
    pub contrast_meant: Option<f64>,
}

/// How a reading comes out on the run's own dials, each stop set just so.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReadingTold {
    /// The ring, and the opening that it is read through.
    pub ring: String,
    /// Empty where nothing is told.
    pub through: String,
    /// Parts with the ring, times parts with the opening.
    pub pairs: usize,
    /// Pairs at every stop of which the label due shows whole and alone.
    pub right: usize,
    /// Pairs that misread at some stop.
    pub wrong: usize,
    /// Pairs whose least room is within what measuring leaves open.
    pub close: usize,
    /// The least room of all pairs at all stops, mm: how far the edge of the label due lies within the opening, and those of others beyond it.
    pub least_room_mm: Option<Away>,
    /// The label that is due there.
    pub at: Option<String>,
    /// Why nothing is told, where nothing is.
    pub untold: Option<String>,
}

/// A value, and half its 95 % interval.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Away {
    /// The value.
    pub is: f64,
    /// Half its 95 % interval.
    pub plus_minus: f64,
}

/// Something that is not as it was meant.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Damage {
    /// What kind of thing.
    pub kind: DamageKind,
    /// The opening, or the openings beside a web; empty for the rim and for spots.
    pub of: String,
    /// Its bearing from the front, degrees.
    pub bearing_deg: f64,
    /// How far from the axis it is, mm.
    pub out_mm: f64,
    /// How long it is along the edge, or across where it is widest, mm.
    pub long_mm: f64,
    /// How deep, mm; none where no edge was found there, and of spots.
    pub deep_mm: Option<f64>,
    /// The area of a spot, mm².
    pub area_mm2: Option<f64>,
}

/// Kinds of damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DamageKind {
    /// A stretch of the rim.
    Rim,
    /// A stretch of an opening's edge.
    Opening,
    /// A web that is gone.
    Web,
    /// Dark where stock should be bare.
    Spot,
    /// Stock that is gone.
    Hole,
}

/// Cuts in one stock.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StockTold {
    /// The stock.
    pub stock: String,
    /// The width that its tool paths allowed for, mm.
    pub used_mm: f64,
    /// The width that was cut.
    pub kerf: Spread,
}

/// Readings and how they spread.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// Their mean, mm.
    pub mean_mm: f64,
    /// Half the 95 % interval of the mean, by their spread alone; none of a single one.
    pub plus_minus_mm: Option<f64>,
    /// Their standard deviation, less what measuring adds; none of a single one.
    pub deviation_mm: Option<f64>,
    /// Its 95 % interval.
    pub deviation_from_to_mm: Option<[f64; 2]>,
    /// How many.
    pub count: usize,
}

/// Something that is amiss, or keeps something from being told.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Remark {
    /// What kind of thing.
    pub kind: RemarkKind,
    /// The scan or part.
    pub place: String,
    /// One sentence with its figures.
    pub says: String,
    /// What to do about it.
    pub help: String,
}

/// Kinds of remark.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RemarkKind {
    /// All parts are larger or smaller by one factor.
    Resolution,
    /// Parts touch.
    Touching,
    /// Something is no part of this design.
    Unknown,
    /// A part runs off the scan.
    CutOff,
    /// The scan is mirrored, or may be.
    Mirrored,
    /// Seen in a mirror the parts would look the same.
    EitherWay,
    /// It may be another part, face or turn.
    Ambiguous,
    /// The file leaves too much out.
    Lossy,
    /// The lid is dark.
    DarkLid,
    /// The picture is soft.
    Soft,
    /// All parts lie the same way up.
    SameWay,
    /// Nothing tells the part's bearing.
    NoBearing,
    /// Nothing on the parts tells the scanner's scale.
    NoScale,
    /// Work is missing.
    Missing,
    /// Something is broken, or burnt where it should be bare.
    Damage,
    /// A mark is darker or paler than its stock says.
    Tone,
    /// Something shows that is not measured.
    NotMeasured,
    /// A kerf stands out.
    StandsOut,
    /// A calliper's reading fits no part.
    Known,
}

impl RemarkKind {
    /// As it is printed.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Resolution => "resolution",
            Self::Touching => "touching",
            Self::Unknown => "unknown",
            Self::CutOff => "cut off",
            Self::Mirrored => "mirrored",
            Self::EitherWay => "either way",
            Self::Ambiguous => "ambiguous",
            Self::Lossy => "lossy",
            Self::DarkLid => "dark lid",
            Self::Soft => "soft",
            Self::SameWay => "same way",
            Self::NoBearing => "no bearing",
            Self::NoScale => "no scale",
            Self::Missing => "missing",
            Self::Damage => "damage",
            Self::Tone => "tone",
            Self::NotMeasured => "unmeasured",
            Self::StandsOut => "stands out",
            Self::Known => "known",
        }
    }

    /// Whether what was measured stands all the same, and it is only told what it rests on.
    pub const fn is_note(self) -> bool {
        matches!(self, Self::NoBearing | Self::NoScale | Self::SameWay | Self::EitherWay | Self::NotMeasured)
    }
}
