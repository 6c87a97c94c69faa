//! What the parts of a build were meant to be, for whoever holds finished ones against it.

use kurbo::BezPath;

use super::list::{self, Face, Lines, MarkWork, RingWork};

/// A build's layers as they were meant.
#[derive(Clone, Debug)]
pub struct Meant {
    /// The dial's title.
    pub dial: String,
    /// Every layer of every design.
    pub layers: Vec<MeantLayer>,
}

/// A layer as it was meant, in its front frame: mm, the turning axis at the origin, y up.
#[derive(Clone, Debug)]
pub struct MeantLayer {
    /// Its name.
    pub name: String,
    /// What it is cut from.
    pub stock: String,
    /// The width of a cut that its tool paths allow for, mm.
    pub kerf: f64,
    /// Whether it can be looked through.
    pub clear: bool,
    /// The finished rim.
    pub outline: BezPath,
    /// Everything else.
    pub works: Vec<MeantWork>,
}

/// A piece of work on a layer.
#[derive(Clone, Debug)]
pub struct MeantWork {
    /// What it is called where it is told of.
    pub name: String,
    /// What it does.
    pub kind: MeantKind,
    /// Whether it is on the back.
    pub back: bool,
    /// Its edge, or the line that it follows.
    pub path: BezPath,
    /// How wide a line is burnt, mm.
    pub width: Option<f64>,
}

/// What a piece of work does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MeantKind {
    /// Goes right through.
    Opening,
    /// Takes depth off an area.
    Pocket,
    /// Makes an area dark.
    Mark,
    /// Burns lines.
    Line,
}

impl MeantKind {
    /// As messages and programs are told it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Opening => "opening",
            Self::Pocket => "pocket",
            Self::Mark => "mark",
            Self::Line => "line",
        }
    }
}

impl MeantWork {
    /// Whether it shows on this face.
    pub fn shows(&self, back: bool) -> bool {
        self.kind == MeantKind::Opening || self.back == back
    }
}

/// Reads what was meant from the text of an `operations.json`.
///
/// # Errors
/// Why it cannot be told, in words.
pub fn meant(text: &str) -> Result<Meant, String> {
    let list = list::read(text)?;
    if list.designs.is_empty() {
        return Err("the list is of version 1, which does not say what was meant: build the dial anew".to_owned());
    }
    let kerf = |layer: &list::Layer| {
        // The layer's own board, by a part of it.
        let board = list.boards.iter().find(|board| board.parts.iter().any(|part| part.layer == layer.layer));
        board.map(|board| (board.stock.clone(), board.kerf))
    };
    let layers = list.designs.iter().flat_map(|design| &design.layers);
    let layers = layers.filter_map(|layer| {
        let (stock, kerf) = kerf(layer)?;
        let (name, outline) = (layer.layer.clone(), layer.outline.path.clone());
        Some(MeantLayer { name, stock, kerf, clear: layer.clear, outline, works: works(layer) })
    });
    Ok(Meant { dial: list.dial.clone(), layers: layers.collect() })
}

fn works(layer: &list::Layer) -> Vec<MeantWork> {
    let mut works: Vec<MeantWork> = Vec::new();
    for mark in &layer.marks {
        let (kind, width) = match mark.work {
            MarkWork::Opening { over_the_rim: false } => (MeantKind::Opening, None),
            MarkWork::Engrave { .. } => (MeantKind::Mark, None),
            MarkWork::Score { width } => (MeantKind::Line, Some(width)),
            MarkWork::Pocket { .. } => (MeantKind::Pocket, None),
            // What bites the rim is no hole of its own; paint, print and what is left standing have no burnt edge.
            MarkWork::Opening { over_the_rim: true } | MarkWork::Paint {} | MarkWork::Print { .. } | MarkWork::Bare => {
                continue;
            }
        };
        works.push(work(mark.name.clone().unwrap_or_default(), kind, mark.face, &mark.path, width));
    }
    for ring in &layer.rings {
        let (kind, width) = match ring.work {
            RingWork::Engrave => (MeantKind::Mark, None),
            RingWork::Score => (MeantKind::Line, ring.width),
            RingWork::Bare | RingWork::Print => continue,
        };
        let mut path = BezPath::new();
        ring.labels.iter().for_each(|label| path.extend(label.path.path.iter()));
        works.push(MeantWork { name: ring.ring.clone(), kind, back: ring.face == Face::Back, path, width });
    }
    named(works)
}

fn work(name: String, kind: MeantKind, face: Face, path: &Lines, width: Option<f64>) -> MeantWork {
    MeantWork { name, kind, back: face == Face::Back, path: path.path.clone(), width }
}

/// What has no name of its own is counted: `mark 1`, `pocket 2`.
fn named(mut works: Vec<MeantWork>) -> Vec<MeantWork> {
    let mut count = 0;
    for work in works.iter_mut().filter(|work| work.name.is_empty()) {
        count += 1;
        work.name = format!("{} {count}", work.kind.name());
    }
    works
}
