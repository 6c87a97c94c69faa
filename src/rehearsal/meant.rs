//! What the parts of a build were meant to be, for whoever holds finished ones against it.

use kurbo::BezPath;

use super::list::{self, Design, Due, Face, How, Joint, Lines, MarkWork, Reading, RingWork};
use super::picture::tone;

/// A build's layers as they were meant.
#[derive(Clone, Debug)]
pub struct Meant {
    /// The dial's title.
    pub dial: String,
    /// Every layer of every design.
    pub layers: Vec<MeantLayer>,
    /// Readings that loose parts can say something of.
    pub readings: Vec<MeantReading>,
    /// Rings whose readings they cannot, each with why.
    pub unread: Vec<(String, &'static str)>,
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
    /// Everything else that is cut or burnt.
    pub works: Vec<MeantWork>,
    /// What shows on it that has no burnt edge of its own.
    pub others: Vec<MeantOther>,
}

/// Something that shows on a layer and is neither cut nor burnt there.
#[derive(Clone, Debug)]
pub struct MeantOther {
    /// What it is called where it is told of.
    pub name: String,
    /// What was done, as in "it is printed".
    pub done: &'static str,
    /// Whether it is on the back.
    pub back: bool,
    /// Its edge.
    pub path: BezPath,
}

/// A reading through one opening onto a ring, with a turn between the two.
#[derive(Clone, Debug)]
pub struct MeantReading {
    /// The ring, and the opening.
    pub ring: String,
    /// What it is looked at through.
    pub through: String,
    /// Their layers, by their places in [`Meant::layers`].
    pub ring_layer: usize,
    /// The layer of the opening.
    pub opening_layer: usize,
    /// The edge of the opening, in its layer's front frame.
    pub opening: BezPath,
    /// Each label's edge in its layer's front frame.
    pub labels: Vec<BezPath>,
    /// Of each stop how far the ring is turned under the opening, degrees counter-clockwise from the front, which label is due there, and
    /// what it says.
    pub stops: Vec<(f64, usize, String)>,
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
    /// Of an engraved mark the colour that it is burnt to, and that of what it stands on, as the stock has them.
    pub colours: Option<[[u8; 3]; 2]>,
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
    let mut meant = Meant { dial: list.dial.clone(), layers: Vec::new(), readings: Vec::new(), unread: Vec::new() };
    for design in &list.designs {
        // What is on no board lies on no glass.
        let mut places = Vec::new();
        for layer in &design.layers {
            let Some((stock, kerf)) = kerf(layer) else {
                places.push(None);
                continue;
            };
            places.push(Some(meant.layers.len()));
            let (name, outline) = (layer.layer.clone(), layer.outline.path.clone());
            let (works, others) = works(layer);
            meant.layers.push(MeantLayer { name, stock, kerf, clear: layer.clear, outline, works, others });
        }
        for reading in &design.readings {
            match looked_through(design, reading, &places) {
                Ok(it) => meant.readings.push(it),
                Err(why) => meant.unread.push((reading.ring.clone(), why)),
            }
        }
    }
    Ok(meant)
}

/// A reading as loose parts can tell of it.
fn looked_through(design: &Design, reading: &Reading, places: &[Option<usize>]) -> Result<MeantReading, &'static str> {
    let layers = || design.layers.iter().enumerate();
    let ring = layers().find_map(|(at, layer)| Some((at, layer.rings.iter().find(|it| it.ring == reading.ring)?)));
    let (ring_at, ring) = ring.ok_or("its ring is on no layer")?;
    let [name] = reading.by.as_slice() else { return Err("it is read through several openings") };
    if reading.how == How::Beside {
        return Err("it is read beside a pointer");
    }
    let is_named = |mark: &&list::Mark| mark.name.as_ref() == Some(name);
    let opening = layers().find_map(|(at, layer)| Some((at, layer.marks.iter().find(is_named)?)));
    let (opening_at, opening) = opening.ok_or("its opening is on no layer")?;
    let below = ring_at.min(opening_at);
    let joint = design.joints.get(below).filter(|_| ring_at.abs_diff(opening_at) == 1);
    let Some(Joint::Turn { stops, own_axis: None, .. }) = joint else {
        return Err("other layers or joints lie between its ring and its opening");
    };
    if reading.turns.len() != 1 {
        return Err("several turns move it");
    }
    let place = |at: usize| places.get(at).copied().flatten().ok_or("one of its layers is on no board");
    // The upper half turns clockwise.
    let sign = if opening_at > ring_at { 1.0 } else { -1.0 };
    let bearing = |due: &Due| Some(sign * stops.get(*due.at.first()?)?);
    let stops = reading.stops.iter().filter_map(|due| Some((bearing(due)?, due.due, due.says.clone())));
    Ok(MeantReading {
        ring: reading.ring.clone(),
        through: name.clone(),
        ring_layer: place(ring_at)?,
        opening_layer: place(opening_at)?,
        opening: opening.path.path.clone(),
        labels: ring.labels.iter().map(|label| label.path.path.clone()).collect(),
        stops: stops.collect(),
    })
}

fn works(layer: &list::Layer) -> (Vec<MeantWork>, Vec<MeantOther>) {
    let (mut works, mut others) = (Vec::new(), Vec::new());
    let bare = tone(&layer.colour);
    let colours = |burnt: Option<&String>| Some([tone(burnt?)?, bare?]);
    for mark in &layer.marks {
        let name = mark.name.clone().unwrap_or_default();
        let (kind, width, colours) = match &mark.work {
            MarkWork::Opening { over_the_rim: false } => (MeantKind::Opening, None, None),
            MarkWork::Engrave { colour, .. } => (MeantKind::Mark, None, colours(Some(colour))),
            MarkWork::Score { width } => (MeantKind::Line, Some(*width), None),
            MarkWork::Pocket { .. } => (MeantKind::Pocket, None, None),
            // What bites the rim is part of the outline.
            MarkWork::Opening { over_the_rim: true } => continue,
            MarkWork::Paint {} => {
                others.push(other(name, "painted", mark.face, &mark.path));
                continue;
            }
            MarkWork::Print { .. } => {
                others.push(other(name, "printed", mark.face, &mark.path));
                continue;
            }
            MarkWork::Bare => {
                others.push(other(name, "left bare", mark.face, &mark.path));
                continue;
            }
        };
        works.push(MeantWork {
            name,
            kind,
            back: mark.face == Face::Back,
            path: mark.path.path.clone(),
            width,
            colours,
        });
    }
    for ring in &layer.rings {
        let mut path = BezPath::new();
        ring.labels.iter().for_each(|label| path.extend(label.path.path.iter()));
        let (name, back) = (ring.ring.clone(), ring.face == Face::Back);
        let (kind, width, colours) = match ring.work {
            RingWork::Engrave => (MeantKind::Mark, None, colours(ring.colour.as_ref())),
            RingWork::Score => (MeantKind::Line, ring.width, None),
            RingWork::Bare => {
                others.push(MeantOther { name, done: "left standing", back, path });
                continue;
            }
            RingWork::Print => {
                others.push(MeantOther { name, done: "printed", back, path });
                continue;
            }
        };
        works.push(MeantWork { name, kind, back, path, width, colours });
    }
    (named(works), others)
}

fn other(name: String, done: &'static str, face: Face, path: &Lines) -> MeantOther {
    let name = if name.is_empty() { "a mark".to_owned() } else { name };
    MeantOther { name, done, back: face == Face::Back, path: path.path.clone() }
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
