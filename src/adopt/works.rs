//! What each colour of a drawing is burnt as: as the maker says, else as is usual.

use super::{Coloured, Work};
use crate::artwork::{DrawnPath, Elements};
use crate::vocabulary::usual;

impl Work {
    /// All, with their words.
    pub const WORDS: [(&'static str, Self); 6] = [
        ("cut", Self::Cut),
        ("opening", Self::Opening),
        ("engrave", Self::Engrave),
        ("score", Self::Score),
        ("pocket", Self::Pocket),
        ("nothing", Self::Nothing),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, work)| *work == self).map_or("", |(word, _)| word)
    }
}

/// Every colour of the drawing with its work: lines and areas of one colour are told apart, as they are burnt apart.
pub(super) fn works(elements: &Elements, given: &[([u8; 3], Work)]) -> Vec<Coloured> {
    let mut works: Vec<Coloured> = Vec::new();
    for path in &elements.paths {
        let known = works.iter_mut().find(|one| one.colour == path.colour && one.is_filled == path.is_filled);
        match known {
            Some(one) => one.count += 1,
            None => {
                works.push(Coloured {
                    colour: path.colour,
                    is_filled: path.is_filled,
                    count: 1,
                    work: Work::Nothing,
                    is_given: false,
                });
            }
        }
    }
    // Where no line has a colour that means cutting, lines in black do.
    let has_cut = works.iter().any(|one| !one.is_filled && usual_work(one, false) == Work::Cut)
        || given.iter().any(|(_, work)| *work == Work::Cut);
    for one in &mut works {
        let stated = given.iter().find(|(colour, _)| *colour == one.colour);
        one.is_given = stated.is_some();
        one.work = stated.map_or_else(|| usual_work(one, !has_cut), |(_, work)| *work);
    }
    works
}

/// The work of a path.
pub(super) fn work_of(path: &DrawnPath, works: &[Coloured]) -> Work {
    let one = works.iter().find(|one| one.colour == path.colour && one.is_filled == path.is_filled);
    one.map_or(Work::Nothing, |one| one.work)
}

/// What a colour usually means: ours are those of the drawings that we write; of others, red lines are cut, blue ones scored, green
/// ones pockets, and what is filled is engraved (common practice, no source).
pub(super) fn usual_work(one: &Coloured, black_is_cut: bool) -> Work {
    let ours = [
        (usual::CUT, Work::Cut),
        (usual::OPENINGS, Work::Opening),
        (usual::SCORE, Work::Score),
        (usual::ENGRAVE, Work::Engrave),
        (usual::POCKET, Work::Pocket),
        (usual::CONSTRUCTION, Work::Nothing),
    ];
    if let Some((_, work)) = ours.iter().find(|(colour, _)| *colour == one.colour) {
        return *work;
    }
    let [red, green, blue] = one.colour.map(i32::from);
    let most = red.max(green).max(blue);
    let is_pale = most - red.min(green).min(blue) < 60;
    match (one.is_filled, is_pale) {
        (true, _) if green == most && !is_pale => Work::Pocket,
        (true, _) => Work::Engrave,
        (false, true) if most > 0xa0 => Work::Nothing,
        (false, true) if black_is_cut => Work::Cut,
        (false, true) => Work::Score,
        (false, false) if red == most => Work::Cut,
        (false, false) if green == most => Work::Pocket,
        (false, false) => Work::Score,
    }
}
