//! From a design to boards, setups and ordered operations. Pure.
//!
//! Coordinates are millimetres on the board, origin at its lower left corner, x right, y up, as it lies on
//! the machine in that setup.
//!
//! Each layer is planned once (`kerf`: what is cut, `flip`: how it is turned over), its parts are laid on
//! boards (`nest`), and each board's work is put in order (`setups`).

mod cautions;
mod flip;
mod kerf;
mod magnets;
pub mod nest;
mod operation;
mod parts;
mod setups;
mod words;

pub use cautions::{CAUTIONS, Caution, MAGNETS, cautions};
pub use magnets::{has_magnets, magnet_steps};
pub use nest::{Effort, Laid, Piece, Placement, Sheet, Turns, lay};
pub use operation::{Edge, Operation, OperationKind, Passes};
pub use words::face_name;

use kurbo::Affine;

use crate::design::{Design, Face, Tone};
use crate::diagnostics::Problems;
use crate::units::{Angle, Length};

/// Everything to be done in the shop for one run.
#[derive(Clone, Debug)]
pub struct Plan {
    /// The boards, those of one stock together, in order of the stocks' first use in the stack.
    pub boards: Vec<Board>,
}

impl Plan {
    /// Parts on all boards.
    pub fn part_count(&self) -> usize {
        self.boards.iter().map(|board| board.parts.len()).sum()
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
    /// What is cut from it, nearest row first, each row from left to right.
    pub parts: Vec<PlacedPart>,
    /// The work, in order; never empty.
    pub setups: Vec<Setup>,
}

/// A part and how it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPart {
    /// Names it in every output: `cover-3` is the cover of the third dial.
    pub name: String,
    /// The layer it is.
    pub layer: String,
    /// Which dial it belongs to, from 1; spares come after the dials wanted.
    pub dial: u32,
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
    pub into: Nest,
    /// How far off its place it may come to lie: the cut that freed it left the opening wider by this all round.
    pub play: Length,
}

/// The opening in the board that a turned part lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nest {
    /// The one it was cut from.
    OwnOpening,
    /// A mirrored one beside it, cut for the purpose.
    Holder,
}

/// Plans the run of a design; no plan where a finding is an error.
///
/// On a board where any part asks for `flip board` and has work on both faces, every two-faced part is turned
/// with the board: the parts come out the same whichever way they are turned.
pub fn plan(design: &Design) -> (Option<Plan>, Problems) {
    let mut problems = Problems::default();
    let groups = parts::by_stock(design, &mut problems);
    let boards = groups.iter().flat_map(|group| parts::boards(design, group, &mut problems)).collect();
    ((!problems.has_errors()).then_some(Plan { boards }), problems)
}
