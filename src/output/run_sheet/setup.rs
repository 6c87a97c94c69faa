//! One setup of the machine on one page: which file, which board, how it lies, what is done.

use super::super::page::text::{TextRun, marked};
use super::board::board;
use super::content::Picture;
use super::steps::{Step, numbered, ranges, steps};
use crate::design::{Design, Palette, Tone};
use crate::output::svg;
use crate::plan::{Board, PlacedPart, Plan, Turned, face_name, part_names};
use crate::units::plain;

/// What layers are shaded with, so that the parts of one are told from those of another.
const SHADES: [Tone; 4] = [[0xdd; 3], [0xff; 3], [0xc6; 3], [0xee; 3]];

/// Everything on the page of a setup.
#[derive(Clone, Debug)]
pub(super) struct SetupSheet {
    /// `Board 1 of 2`, or `Boards 1 to 3 of 4, alike`.
    pub(super) board: String,
    /// `birch, 2.95 mm, 305 × 305 mm`.
    pub(super) stock: String,
    /// Which setup, and of how many.
    pub(super) setup: (usize, usize),
    /// What is opened, board by board; of one board several files where the shop wants one for each kind of work.
    pub(super) files: Vec<String>,
    /// The board as it lies.
    pub(super) picture: Picture,
    /// What is shaded how: the numbers of its parts, their layer, and their names in the file.
    pub(super) legend: Vec<Shade>,
    /// Which faces look up.
    pub(super) up: String,
    /// How the board is laid.
    pub(super) registers: Vec<TextRun>,
    /// What is done, in order.
    pub(super) steps: Vec<Step>,
    /// How parts are turned over when that is done.
    pub(super) over: Option<Picture>,
}

/// The parts of a layer on a board.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shade {
    pub(super) tone: Tone,
    /// `1–8 base`.
    pub(super) numbers: String,
    /// `base-1 to base-8`.
    pub(super) names: String,
}

/// The setups of all boards in the order of the work; boards that are alike are told once.
pub(super) fn setups(design: &Design, plan: &Plan) -> Vec<SetupSheet> {
    let palette = &design.palette;
    alike(&plan.boards, palette).iter().flat_map(|group| of_boards(design, plan, group)).collect()
}

fn of_boards(design: &Design, plan: &Plan, group: &[usize]) -> Vec<SetupSheet> {
    let Some((first, on)) = group.first().and_then(|first| Some((*first, plan.boards.get(*first)?))) else {
        return Vec::new();
    };
    let numbers: Vec<usize> = group.iter().map(|at| at + 1).collect();
    let all = plan.boards.len();
    let board = match group {
        [_] => format!("Board {} of {all}", first + 1),
        _ => format!("Boards {} of {all}, alike", ranges(&numbers)),
    };
    let stock = format!(
        "{}, {} mm, {} × {} mm",
        on.stock,
        plain(on.thickness.as_mm(), 2),
        plain(on.size.0.as_mm(), 1),
        plain(on.size.1.as_mm(), 1)
    );
    let one = |(at, work): (usize, &crate::plan::Setup)| {
        let next = on.setups.get(at + 1).map(|setup| &setup.turned);
        SetupSheet {
            board: board.clone(),
            stock: stock.clone(),
            setup: (at + 1, on.setups.len()),
            files: group.iter().flat_map(|board| files(plan, (*board, at), &design.palette)).collect(),
            picture: board_picture(design, plan, (first, at)),
            legend: legend(design, plan, group),
            up: up(on, at),
            registers: marked(&work.registers),
            steps: all_steps(on, at, &design.palette),
            over: next.and_then(super::board::over),
        }
    };
    on.setups.iter().enumerate().map(one).collect()
}

/// What is done in a setup, from the board laid down to parts turned over or lifted out.
fn all_steps(on: &Board, at: usize, palette: &Palette) -> Vec<Step> {
    let Some(work) = on.setups.get(at) else { return Vec::new() };
    let next = on.setups.get(at + 1).map(|setup| &setup.turned);
    let by_hand =
        |verb: &'static str, parts: &str, what: String| Step { verb, parts: parts.to_owned(), what, colour: None };
    let first = match work.turned {
        Turned::AsLaid => by_hand("Lay", "the board", "lower left corner at zero, against both stops".to_owned()),
        Turned::PartsOver(_) => {
            by_hand("Check", "", format!("{}, each pressed to the same side; the board has not moved", up(on, at)))
        }
        Turned::BoardOver => by_hand("Check", "", format!("{}; the turned board against both stops", up(on, at))),
    };
    let parts = numbered(on);
    let last = next.is_none().then(|| {
        let mut counts: Vec<(&str, usize)> = Vec::new();
        for part in &parts {
            match counts.iter_mut().find(|(layer, _)| *layer == part.layer) {
                Some((_, count)) => *count += 1,
                None => counts.push((&part.layer, 1)),
            }
        }
        let each: Vec<String> = counts.iter().map(|(layer, count)| format!("{count} `{layer}`")).collect();
        by_hand(
            "Lift out",
            &ranges(&(1..=parts.len()).collect::<Vec<usize>>()),
            format!("and count: {}", each.join(", ")),
        )
    });
    std::iter::once(first).chain(steps(on, work, next, palette)).chain(last).collect()
}

/// The files of a setup: the whole drawing, or those of each kind of work.
fn files(plan: &Plan, (board, setup): (usize, usize), palette: &Palette) -> Vec<String> {
    let ends = svg::endings(plan, (board, setup), palette);
    let named = |end: &String| format!("board-{}-setup-{}{end}.svg", board + 1, setup + 1);
    // The whole comes first, and lies there besides for whoever wants to see it; it is what is opened where it is all there is.
    let of_work = ends.iter().skip(usize::from(ends.len() > 1));
    of_work.map(named).collect()
}

fn board_picture(design: &Design, plan: &Plan, (at, setup): (usize, usize)) -> Picture {
    board(plan, (at, setup), &|part| shade(design, &part.layer))
}

/// What a layer is shaded with wherever it is drawn.
pub(super) fn shade(design: &Design, layer: &str) -> Tone {
    let at = design.layers.iter().position(|it| it.name == layer).unwrap_or(0);
    SHADES.get(at % SHADES.len()).copied().unwrap_or([0xff; 3])
}

fn legend(design: &Design, plan: &Plan, group: &[usize]) -> Vec<Shade> {
    let Some(first) = group.first().and_then(|at| plan.boards.get(*at)) else { return Vec::new() };
    let parts = numbered(first);
    let mut layers: Vec<&str> = parts.iter().map(|part| part.layer.as_str()).collect();
    layers.dedup();
    let of = |layer: &str| {
        let is = |part: &&PlacedPart| part.layer == layer;
        let numbers: Vec<usize> = parts.iter().enumerate().filter(|(_, part)| is(part)).map(|(at, _)| at + 1).collect();
        let boards = group.iter().filter_map(|at| plan.boards.get(*at));
        let names: Vec<String> = boards.map(|board| part_names(board.parts.iter().filter(is))).collect();
        Shade { tone: shade(design, layer), numbers: format!("{} {layer}", ranges(&numbers)), names: names.join("; ") }
    };
    layers.into_iter().map(of).collect()
}

/// "front up", or which parts lie with which face up.
fn up(board: &Board, setup: usize) -> String {
    let parts = numbered(board);
    let mut faces: Vec<(&str, Vec<usize>)> = Vec::new();
    for (at, part) in parts.iter().enumerate() {
        let Some(lie) = part.lies.get(setup) else { continue };
        let face = face_name(lie.up);
        match faces.iter_mut().find(|(known, _)| *known == face) {
            Some((_, numbers)) => numbers.push(at + 1),
            None => faces.push((face, vec![at + 1])),
        }
    }
    match faces.as_slice() {
        [(face, _)] => format!("all parts {face} up"),
        _ => faces.iter().map(|(face, at)| format!("{} {face} up", ranges(at))).collect::<Vec<String>>().join("; "),
    }
}

/// Boards whose parts lie alike and are worked alike, each by its place in the plan, in the order of the first of them.
fn alike(boards: &[Board], palette: &Palette) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (at, board) in boards.iter().enumerate() {
        let same = |group: &&mut Vec<usize>| {
            group.first().and_then(|first| boards.get(*first)).is_some_and(|first| are_alike(first, board, palette))
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.push(at),
            None => groups.push(vec![at]),
        }
    }
    groups
}

fn are_alike(one: &Board, other: &Board, palette: &Palette) -> bool {
    let near = |a: &PlacedPart, b: &PlacedPart| {
        let apart = |(a, b): (f64, f64)| (a - b).abs() > 1e-6;
        let lies = |(a, b): (&crate::plan::Lie, &crate::plan::Lie)| {
            a.up == b.up && !a.at.as_coeffs().into_iter().zip(b.at.as_coeffs()).any(apart)
        };
        (a.design, &a.layer) == (b.design, &b.layer) && a.lies.iter().zip(&b.lies).all(lies)
    };
    let works = |board: &Board| -> Vec<Vec<Step>> {
        let turned = |at: usize| -> Option<&Turned> { board.setups.get(at + 1).map(|setup| &setup.turned) };
        // What a person does names the parts, which differ from board to board.
        let by_machine = |at: usize| {
            let all = board.setups.get(at).map(|setup| steps(board, setup, turned(at), palette)).unwrap_or_default();
            all.into_iter().filter(|step| step.colour.is_some()).collect()
        };
        (0..board.setups.len()).map(by_machine).collect()
    };
    let (a, b) = (numbered(one), numbered(other));
    (&one.stock, one.size, a.len(), one.setups.len()) == (&other.stock, other.size, b.len(), other.setups.len())
        && a.iter().zip(&b).all(|(a, b)| near(a, b))
        && works(one) == works(other)
}
