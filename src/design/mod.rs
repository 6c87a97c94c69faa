//! The checked stack: what the later stages prove, plan and print.
//!
//! A [`Design`] holds no text to interpret and no defaults to guess: every length is known, every shape is
//! placed. Shapes are in the front frame of their layer: millimetres, the turning axis at the origin, x to
//! the right, y up, seen from the front, work on the back included. Bearings run clockwise from the top.

pub mod axis;
mod centring;
mod ends;
mod finish;
pub mod heights;
mod joint;
mod local_time;
mod material;
mod nominal;
mod palette;
mod party;
mod pass_depths;
mod pocket_depth;
pub(crate) mod pose;
mod printer;
mod rates;
mod ring;
mod spreads;
pub mod standing;
mod stock;
pub mod stops;
mod wheels;

pub use crate::syntax::tree::{Face, ReadsHow};
pub use centring::{Centred, Centring, Room};
pub use ends::Ends;
pub use finish::{Finish, Finished, hex};
pub use joint::{Clicks, Glue, Half, Joint, Pivot, Pole, Seat, Turn};
pub use local_time::LocalDateTime;
pub use material::{KNOWN as KNOWN_MATERIALS, Material};
pub use nominal::Nominal;
pub use palette::Palette;
pub use party::Party;
pub use pass_depths::{PassDepths, Passes};
pub use pocket_depth::PocketDepth;
pub use printer::Printer;
pub use rates::{Rates, Speeds};
pub use ring::{Label, Laid, Ring, RingWork};
pub use spreads::Spreads;
pub use stock::{Adhesive, Dowel, Fastener, Head, Magnet, Measured, Pin, Rivet, Steel, Stock, Tone};
pub use wheels::{Axle, Wall};

use std::sync::{Arc, OnceLock};

use kurbo::{Affine, BezPath};

use crate::geometry::{Region, Trace};
use crate::source::Span;
use crate::units::{Angle, Length};

/// One dial, ready to be proven and planned.
#[derive(Clone, Debug)]
pub struct Design {
    /// What the file calls it.
    pub title: String,
    /// Which variant of the family it is; none for a file without one.
    pub variant: Option<String>,
    /// The first cell of the row of a table that the variant was made from, by which people know the row.
    pub row: Option<String>,
    /// The value of every param, as shown to people, in the order declared.
    pub params: Vec<(String, String)>,
    /// The layers, bottom first; wheels right above the layer that they turn in or on.
    pub layers: Vec<Layer>,
    /// What joins layer `i` to layer `i + 1`; one fewer than the layers.
    pub joints: Vec<Joint>,
    /// What must be read.
    pub readings: Vec<Reading>,
    /// The slot that the finished dial must drop into.
    pub slot: Option<Slot>,
    /// How many are made, and how they lie on the boards.
    pub run: Run,
    /// Findings accepted with a reason.
    pub accepted: Vec<Accepted>,
    /// What was left out and what was taken instead, in words.
    pub assumptions: Vec<Assumption>,
    /// How far what is made strays from what is drawn.
    pub spreads: Spreads,
    /// What the shop's time costs.
    pub rates: Rates,
    /// What the shop prints on sheets with.
    pub printer: Printer,
    /// How the shop wants its drawings.
    pub palette: Palette,
    /// Whom they are made for; none where that is not said.
    pub client: Option<Party>,
    /// Who makes them; none where that is not said.
    pub maker: Option<Party>,
    /// The shop's name; none where the built-in nominal shop was used.
    pub shop: Option<String>,
}

impl Design {
    /// The title, with the variant where there is one.
    pub fn full_title(&self) -> String {
        match &self.variant {
            Some(variant) => format!("{}, {variant}", self.title),
            None => self.title.clone(),
        }
    }

    /// The layer of this name, and its place in the stack.
    pub fn layer(&self, name: &str) -> Option<(usize, &Layer)> {
        self.layers.iter().enumerate().find(|(_, layer)| layer.name == name)
    }

    /// What lies several times in the stack under this name: its copies, or what is on each of them. Empty where it lies once.
    pub fn copies_named(&self, name: &str) -> Vec<&str> {
        if name.is_empty() || self.layer(name).is_some() || self.ring(name).is_some() || self.mark(name).is_some() {
            return Vec::new();
        }
        let is_copy = |own: &&str| own.strip_prefix(name).is_some_and(|rest| rest.starts_with(" of "));
        let rings = self.layers.iter().flat_map(|layer| &layer.rings).map(|ring| ring.name.as_str());
        let marks = self.layers.iter().flat_map(|layer| &layer.marks).filter_map(|mark| mark.name.as_deref());
        let layers = self.layers.iter().filter(|layer| layer.of == name).map(|layer| layer.name.as_str());
        layers.chain(rings.chain(marks).filter(is_copy)).collect()
    }

    /// The ring of this name, and the place of its layer in the stack.
    pub fn ring(&self, name: &str) -> Option<(usize, &Ring)> {
        let rings =
            self.layers.iter().enumerate().flat_map(|(at, layer)| layer.rings.iter().map(move |ring| (at, ring)));
        rings.into_iter().find(|(_, ring)| ring.name == name)
    }

    /// The named mark of this name, and the place of its layer in the stack.
    pub fn mark(&self, name: &str) -> Option<(usize, &Mark)> {
        let marks =
            self.layers.iter().enumerate().flat_map(|(at, layer)| layer.marks.iter().map(move |mark| (at, mark)));
        marks.into_iter().find(|(_, mark)| mark.name.as_deref() == Some(name))
    }

    /// Places in the stack of all layers glued to either half of the turn right above layer `below`.
    pub fn halves(&self, below: usize) -> std::ops::RangeInclusive<usize> {
        let glued = |joint: &usize| matches!(self.joints.get(*joint), Some(Joint::Glue(_)));
        let first = below - (0..below).rev().take_while(glued).count();
        let last = below + 1 + (below + 1..self.joints.len()).take_while(glued).count();
        first..=last
    }

    /// Places of the layers that what holds the turn above layer `below` joins, bottom first: those of both halves, or a hand and
    /// all that is glued together from its carrier down.
    pub fn joined(&self, below: usize) -> Vec<usize> {
        match self.wheel(below + 1) {
            Some((_, axle)) => (0..=axle.carrier).filter(|at| !self.is_wheel(*at)).chain([below + 1]).collect(),
            None => self.halves(below).collect(),
        }
    }

    /// Thickness of the finished stack: boards, glue films, and what stands proud between layers or out of the outer faces. Hands
    /// that stand higher than the stack count, wheels lie at the level of their frame.
    pub fn thickness(&self) -> Length {
        let stacked = self.layers.iter().enumerate().filter(|(at, _)| !self.is_wheel(*at));
        let boards = stacked.map(|(_, layer)| layer.stock.thickness.mean);
        let films = self.joints.iter().map(|joint| match joint {
            Joint::Glue(glue) => glue.adhesive.film,
            Joint::Turn(_) => Length::ZERO,
        });
        let standing = standing::standing(self);
        let apart = (0..self.joints.len()).filter(|joint| !self.is_wheel(joint + 1)).map(|joint| standing.apart(joint));
        let [bottom, top] = standing.beyond();
        let stack = boards.chain(films).chain(apart).fold(top, |sum, part| sum + part);
        let highest = |high: Length, hand: Length| if high < hand { hand } else { high };
        bottom + heights::hands(self, &standing).fold(stack, highest)
    }

    /// The turns, bottom first, each with the place of the layer right below it.
    pub fn turns(&self) -> impl Iterator<Item = (usize, &Turn)> {
        self.joints.iter().enumerate().filter_map(|(below, joint)| match joint {
            Joint::Turn(turn) => Some((below, turn)),
            Joint::Glue(_) => None,
        })
    }
}

/// What is known of a shape that is words.
#[derive(Clone, Debug, PartialEq)]
pub struct Lettering {
    /// What it says.
    pub says: Arc<str>,
    /// Where the tops of its letters point, as a bearing on the front.
    pub up: Angle,
    /// Whether it is mirrored where one looks at its face.
    pub mirrored: bool,
}

/// What was taken for something that the file leaves out.
#[derive(Clone, Debug, PartialEq)]
pub struct Assumption {
    /// What was left out ("stops of the turn", "height of ring `points`").
    pub what: String,
    /// What was taken, with its unit.
    pub taken: String,
    /// Why that ("one for each label of ring `points`").
    pub why: String,
    /// What it belongs to.
    pub origin: Span,
}

/// One layer: a flat piece of one stock.
#[derive(Clone, Debug)]
pub struct Layer {
    /// What it is called in the stack.
    pub name: String,
    /// The layer that it is a copy of; its own name where it lies once under it.
    pub of: String,
    /// What it is cut from.
    pub stock: Stock,
    /// Its outer edge. Holes in it are cut as openings.
    pub outline: Region,
    /// What asked for the outline.
    pub outline_origin: Span,
    /// Everything done to it except rings.
    pub marks: Vec<Mark>,
    /// Its rings of labels.
    pub rings: Vec<Ring>,
    /// How it is finished; none where it is left as it is.
    pub finish: Option<Finish>,
    /// How the maker wants it flipped.
    pub flip: FlipChoice,
    /// Work that the maker wants done after work on the other face.
    pub waits: Vec<Wait>,
    /// Direction of the grain on the part, as a bearing.
    pub grain: Option<Angle>,
    /// Where a tick is scored across its rim into the waste, and what asked for it. The part of it that lies on the layer is one
    /// of its marks.
    pub witness: Option<(Angle, Span)>,
    /// What asked for the layer.
    pub origin: Span,
    /// What [`Layer::material`] keeps.
    pub kept: Kept,
}

/// The material of a layer, once it was asked for. Half of what is proven and drawn of a layer begins with it. A copy does not
/// hold it, since copies are what is changed.
#[derive(Debug, Default)]
pub struct Kept(OnceLock<Region>);

impl Kept {
    /// What is known already, of a layer that is a copy in another frame.
    fn of(material: Region) -> Self {
        Self(OnceLock::from(material))
    }
}

impl Clone for Kept {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl Layer {
    /// Whatever is cut through, windows and holes alike, pockets through included.
    pub fn openings(&self) -> impl Iterator<Item = (&Mark, &Region)> {
        self.marks.iter().filter_map(|mark| match (&mark.work, &mark.shape) {
            (Work::Window | Work::Hole | Work::Pocket { depth: Depth::Through }, Shape::Region(region)) => {
                Some((mark, region))
            }
            _ => None,
        })
    }

    /// Pockets that stop short of the other face, with their depths.
    pub fn pockets(&self) -> impl Iterator<Item = (&Mark, &Region, PocketDepth)> {
        self.marks.iter().filter_map(|mark| match (&mark.work, &mark.shape) {
            (Work::Pocket { depth: Depth::Down(depth) }, Shape::Region(region)) => Some((mark, region, *depth)),
            _ => None,
        })
    }

    /// The layer's material seen from the front: its outline less what is cut through. Worked out once: a layer is not changed
    /// after it was asked for, but copied.
    pub fn material(&self) -> &Region {
        self.kept.0.get_or_init(|| {
            let openings = self.openings().fold(Region::empty(), |all, (_, region)| all.union(region));
            self.outline.difference(&openings)
        })
    }

    /// Whether both faces carry work.
    pub fn is_two_faced(&self) -> bool {
        self.has_work_on(Face::Front) && self.has_work_on(Face::Back)
    }

    /// Whether this face carries work other than through cuts.
    pub fn has_work_on(&self, face: Face) -> bool {
        let is_surface = |work: &Work| {
            !matches!(
                work,
                Work::Window
                    | Work::Hole
                    | Work::Bare
                    | Work::Paint { .. }
                    | Work::Print { .. }
                    | Work::Pocket { depth: Depth::Through }
            )
        };
        self.marks.iter().any(|mark| mark.face == face && is_surface(&mark.work))
            || self.rings.iter().any(|ring| ring.face == face && ring.work.is_burnt())
    }

    /// Whether anything is printed on this face.
    pub fn is_printed_on(&self, face: Face) -> bool {
        self.marks.iter().any(|mark| mark.face == face && matches!(mark.work, Work::Print { .. }))
            || self.rings.iter().any(|ring| ring.face == face && ring.is_printed())
    }

    /// Whether anything is printed on it.
    pub fn is_printed(&self) -> bool {
        self.is_printed_on(Face::Front) || self.is_printed_on(Face::Back)
    }
}

/// How a layer is turned over for the work on its second face.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FlipChoice {
    /// The planner chooses an axis of symmetry.
    Chosen,
    /// About the line through the turning axis at this bearing.
    About(Angle, Span),
    /// The whole board is turned over.
    Board(Span),
    /// Each part is turned into a mirrored opening beside its own.
    Holder(Span),
}

/// Work that comes after work on the other face.
#[derive(Clone, Debug, PartialEq)]
pub struct Wait {
    /// What asked for the work that waits; marks of one line share it.
    pub mark: Span,
    /// The name of the work that waits, where it has one.
    pub name: Option<String>,
    /// The name of the mark or ring that it waits for.
    pub after: String,
    /// The words that say so.
    pub origin: Span,
}

/// Something cut, burnt or painted.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Its name, where it has one.
    pub name: Option<String>,
    /// The face it is on.
    pub face: Face,
    /// What is done.
    pub work: Work,
    /// What it is done to.
    pub shape: Shape,
    /// The words that it is; none for what is no lettering.
    pub lettering: Option<Lettering>,
    /// What asked for it.
    pub origin: Span,
}

/// Kinds of work, with what each needs to know.
#[derive(Clone, Debug, PartialEq)]
pub enum Work {
    /// Burn a filled region.
    Engrave {
        /// How dark, 1 being as dark as the stock goes.
        tone: f64,
        /// How deep, where the maker says.
        depth: Option<Length>,
        /// What it is filled with afterwards.
        ink: Option<Ink>,
    },
    /// Trace a line.
    Score,
    /// Sink a region.
    Pocket {
        /// How deep.
        depth: Depth,
    },
    /// Cut through, to be looked through.
    Window,
    /// Cut through.
    Hole,
    /// Paint a region by hand.
    Paint {
        /// With what colour.
        colour: [u8; 3],
    },
    /// Print a region on the sheet, before anything is cut.
    Print {
        /// In what colour.
        colour: Tone,
    },
    /// Leave a region of paint and print open, to be looked through where the stock is clear.
    Bare,
}

impl Work {
    /// The colour that it lays over a face, painted or printed.
    pub fn coat(&self) -> Option<Tone> {
        match self {
            Self::Paint { colour } | Self::Print { colour } => Some(*colour),
            _ => None,
        }
    }
}

/// What an engraving is filled with by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Ink {
    /// Its name, as the maker calls it.
    pub name: String,
    /// Its colour once dry, where it is told.
    pub colour: Option<Tone>,
}

/// Depth of a pocket.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Depth {
    /// To this depth below the face.
    Down(PocketDepth),
    /// Right through.
    Through,
}

/// A filled region or an open line.
#[derive(Clone, Debug)]
pub enum Shape {
    /// Filled.
    Region(Region),
    /// Traced.
    Trace(Trace),
}

impl Shape {
    /// Its edge, or its lines.
    pub fn path(&self) -> &BezPath {
        match self {
            Self::Region(region) => region.path(),
            Self::Trace(trace) => trace.path(),
        }
    }

    /// Moved, turned, scaled or mirrored.
    #[must_use]
    pub fn transformed(&self, map: Affine) -> Self {
        match self {
            Self::Region(region) => Self::Region(region.transformed(map)),
            Self::Trace(trace) => Self::Trace(trace.transformed(map)),
        }
    }
}

/// What must be read through (or beside) what.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The ring, by name.
    pub ring: String,
    /// How it is read.
    pub how: ReadsHow,
    /// The openings or pointers, by name.
    pub by: Vec<String>,
    /// From how far; none where not stated.
    pub distance: Option<Length>,
    /// Whether an expectation states what it shows.
    pub stated: bool,
    /// What asked for it.
    pub origin: Span,
}

/// The slot that the finished dial must drop into.
#[derive(Clone, Debug)]
pub struct Slot {
    /// Its outline.
    pub outline: Region,
    /// Its depth, where it has one.
    pub depth: Option<Length>,
    /// What asked for it.
    pub origin: Span,
}

/// How many are made, and how they lie on the boards.
#[derive(Clone, Debug)]
pub struct Run {
    /// Dials wanted.
    pub dials: u32,
    /// Made beside them.
    pub spares: u32,
    /// Kept free at the board's edge; none to take each stock's own.
    pub margin: Option<Length>,
    /// Kept free between parts; none to take each stock's own.
    pub gap: Option<Length>,
    /// When the dials must be ready, where stated.
    pub wanted: Option<LocalDateTime>,
    /// What asked for it; none where the file does not say.
    pub origin: Option<Span>,
}

impl Run {
    /// Dials made in all, spares too.
    pub fn made(&self) -> u32 {
        self.dials + self.spares
    }
}

/// A finding accepted with a reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Accepted {
    /// The finding's name.
    pub finding: String,
    /// What it must be about, where stated.
    pub on: Option<String>,
    /// Why.
    pub reason: String,
    /// What asked for it.
    pub origin: Span,
}
