//! What a plan is: boards, how parts lie on them, and the work on each, setup by setup.

use kurbo::{Affine, Point};

use super::operation::Operation;
use super::play::Play;
use crate::design::{Face, Room, Tone};
use crate::geometry::Region;
use crate::source::Span;
use crate::units::{Angle, Length};

/// Everything to be done in the shop for one run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The boards, those of one stock together, in order of the stocks' first use in the stack.
    pub boards: Vec<Board>,
    /// How well each stock is used, in the same order.
    pub stocks: Vec<StockUse>,
}

/// How well the boards of one stock are used.
#[derive(Clone, Debug, PartialEq)]
pub struct StockUse {
    /// Its name.
    pub stock: String,
    /// Whose figures they are: thickness, kerf and the shop, where designs planned together differ in them.
    pub figures: Option<String>,
    /// Boards needed.
    pub boards: usize,
    /// No layout could do with fewer: the parts, half the gap round each, fill these by area alone.
    pub least_boards: usize,
    /// Part of the boards' area that becomes parts, their openings included, 0 to 1.
    pub share: f64,
}

impl StockUse {
    /// Its name, with its figures where another stock of that name has others.
    pub fn called(&self) -> String {
        self.figures.as_ref().map_or_else(|| self.stock.clone(), |figures| format!("{} ({figures})", self.stock))
    }
}

impl Plan {
    /// Parts on all boards.
    pub fn part_count(&self) -> usize {
        self.boards.iter().map(|board| board.parts.len()).sum()
    }

    /// Whether parts of this layer are lifted out and turned over.
    pub fn lifts(&self, layer: &str) -> bool {
        let lifts = |board: &Board| {
            let over = board.setups.iter().filter_map(|setup| match &setup.turned {
                Turned::PartsOver(over) => Some(over),
                _ => None,
            });
            let is_of = |part: &str| board.parts.iter().any(|it| it.name == part && it.layer == layer);
            over.flatten().any(|it| is_of(&it.part))
        };
        self.boards.iter().any(lifts)
    }

    /// Boards of this stock.
    pub fn boards_of(&self, stock: &str) -> usize {
        self.boards.iter().filter(|board| board.stock == stock).count()
    }

    /// Every operation, in order, with the index of its board and setup.
    pub fn operations(&self) -> impl Iterator<Item = (usize, usize, &Operation)> {
        let setups = self.boards.iter().enumerate().flat_map(|(board, it)| {
            it.setups.iter().enumerate().map(move |(setup, setup_at)| (board, setup, setup_at))
        });
        setups.flat_map(|(board, setup, it)| it.operations.iter().map(move |operation| (board, setup, operation)))
    }

    /// How far the machine cuts, all boards together.
    pub fn cut_length(&self) -> Length {
        self.total(Operation::cut_length)
    }

    /// How far the machine scores, all boards together.
    pub fn score_length(&self) -> Length {
        self.total(Operation::score_length)
    }

    /// What the machine engraves, all boards together, in mm².
    pub fn engraved_area(&self) -> f64 {
        self.operations().map(|(_, _, operation)| operation.engraved_area()).sum()
    }

    /// What the machine sinks as pockets, all boards together, in mm².
    pub fn pocket_area(&self) -> f64 {
        self.operations().map(|(_, _, operation)| operation.pocket_area()).sum()
    }

    /// How far the machine moves without working, all boards together: see [`Setup::travel`].
    pub fn travel(&self) -> Length {
        self.all_setups(|setup| setup.travel)
    }

    /// How much farther it would move from part to part as they were laid.
    pub fn travel_saved(&self) -> Length {
        self.all_setups(|setup| setup.travel_saved)
    }

    fn all_setups(&self, of: impl Fn(&Setup) -> Length) -> Length {
        let setups = self.boards.iter().flat_map(|board| &board.setups);
        Length::mm(setups.map(|setup| of(setup).as_mm()).sum())
    }

    fn total(&self, of: impl Fn(&Operation) -> Length) -> Length {
        Length::mm(self.operations().map(|(_, _, operation)| of(operation).as_mm()).sum())
    }
}

/// One board.
#[derive(Clone, Debug)]
pub struct Board {
    /// Name of its stock.
    pub stock: String,
    /// Its bare tone.
    pub colour: Tone,
    /// Width and height.
    pub size: (Length, Length),
    /// Thickness.
    pub thickness: Length,
    /// Width of a cut.
    pub kerf: Length,
    /// Kept free all along its edge, from the finished edges of parts and of the openings that hold turned parts.
    pub margin: Length,
    /// Kept free between finished edges of different parts.
    pub gap: Length,
    /// What is printed on it before anything is cut; none where nothing is.
    pub print: Option<Print>,
    /// What is cut from it, nearest row first, each row from left to right.
    pub parts: Vec<PlacedPart>,
    /// The work, in order; never empty.
    pub setups: Vec<Setup>,
}

/// What is printed on the sheet that a board is.
#[derive(Clone, Debug)]
pub struct Print {
    /// On the face that lies up in the first setup, in the order in which it is printed, as the sheet lies there. That face
    /// carries the crosses, so it is printed even where this is empty.
    pub up: Vec<PrintedArea>,
    /// On the other face, as it lies when the sheet is turned over as one turns a page.
    pub under: Vec<PrintedArea>,
    /// Whether the board is turned over whole, so that its other face is lined up by crosses as well.
    pub turned: bool,
    /// The middles of the crosses, as the sheet lies in the first setup: lower left, lower right, upper right, upper left.
    pub crosses: [Point; 4],
}

/// A face of a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Printed {
    /// The one that lies up in the first setup.
    Up,
    /// The other one.
    Under,
}

impl Printed {
    /// What it is called in outputs.
    pub fn word(self) -> &'static str {
        match self {
            Self::Up => "up",
            Self::Under => "under",
        }
    }

    /// How the name of its file goes on behind that of the board.
    pub fn suffix(self) -> &'static str {
        match self {
            Self::Up => "print",
            Self::Under => "print-under",
        }
    }
}

/// An area of one colour.
#[derive(Clone, Debug)]
pub struct PrintedArea {
    /// The part that it is on.
    pub part: String,
    /// The face of the part.
    pub face: Face,
    /// The maker's name for it, where it has one.
    pub name: Option<String>,
    /// Its colour.
    pub colour: Tone,
    /// Where, in mm on the sheet.
    pub region: Region,
    /// What asked for it.
    pub origin: Span,
}

/// A part and how it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPart {
    /// Names it in every output: `cover-3` is the cover of the third dial.
    pub name: String,
    /// Which of the designs planned together it belongs to, from 0.
    pub design: usize,
    /// The layer it is.
    pub layer: String,
    /// Which dial it belongs to, from 1; spares come after the dials wanted.
    pub dial: u32,
    /// The part in whose opening it lies, so that it must be free before that opening's waste falls out.
    pub inside: Option<String>,
    /// How it lies, setup by setup.
    pub lies: Vec<Lie>,
}

/// How a part lies in one setup, and what is done to it there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lie {
    /// The face that looks up.
    pub up: Face,
    /// The layer's front frame to the board. Mirrors where the back is up.
    pub at: Affine,
    /// Whether the upper face is worked in this setup.
    pub worked: bool,
    /// Whether it is cut out in this setup.
    pub cut: bool,
}

/// Work done without a person touching the board, then what the person does.
#[derive(Clone, Debug)]
pub struct Setup {
    /// How the board and parts were turned from the setup before.
    pub turned: Turned,
    /// How the board is laid on the machine, in plain words.
    pub registers: String,
    /// What is done, in order.
    pub operations: Vec<Operation>,
    /// How far the machine moves without working, from its zero on: to each line of each operation, in the order they are
    /// written, filled regions taken at their middle.
    pub travel: Length,
    /// How much farther it would move from part to part as they were laid.
    pub travel_saved: Length,
}

/// How things were turned before a setup.
#[derive(Clone, Debug, PartialEq)]
pub enum Turned {
    /// First setup: nothing was.
    AsLaid,
    /// Each of these parts was lifted out, turned over, and laid back.
    PartsOver(Vec<TurnedPart>),
    /// The whole board was turned over about its vertical middle line.
    BoardOver,
}

/// A part that was lifted out and turned over.
#[derive(Clone, Debug, PartialEq)]
pub struct TurnedPart {
    /// The part's name.
    pub part: String,
    /// The line it was turned about, as a bearing on the board.
    pub about: Angle,
    /// Where it was laid back.
    pub into: LaidInto,
    /// How far off its place it may come to lie in the opening that the cut left a kerf wider all round.
    pub play: Play,
}

/// The opening in the board that a turned part lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LaidInto {
    /// The one it was cut from.
    OwnOpening,
    /// A mirrored one beside it, cut for the purpose.
    Holder,
}

/// Why the plan turns a board over of its own accord.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TurnedFor {
    /// A face is needed again after the other one: so many setups.
    Setups(usize),
    /// Readings leave too little room for what a part's opening leaves open.
    Centring(Room),
    /// Mirrored holders would take more boards, laid in rows.
    Boards {
        /// How many with holders; none where a part with its holder fits no board.
        holders: Option<usize>,
        /// How many where the board is turned.
        turned: usize,
    },
}
