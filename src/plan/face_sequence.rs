//! In which order the faces of a layer come up, and what is burnt on each: front, back, and front again where work on
//! the front comes after work on the back (`after`).

use crate::design::{Depth, Face, Layer, Work};
use crate::source::Span;

/// The faces of a layer in the order in which they come up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct FaceSequence {
    /// In turn; never empty. One where only one face carries work.
    pub(super) faces: Vec<Face>,
    /// Work that is not burnt when its face first comes up, and when it is instead.
    late: Vec<(Span, usize)>,
}

impl FaceSequence {
    /// As few as the work that waits allows, the front first where that makes no difference.
    pub(super) fn of(layer: &Layer) -> Self {
        match (layer.has_work_on(Face::Front), layer.has_work_on(Face::Back)) {
            (true, true) => {}
            (false, true) => return Self { faces: vec![Face::Back], late: Vec::new() },
            (_, false) => return Self { faces: vec![Face::Front], late: Vec::new() },
        }
        // Waits may make it shorter to begin with the back. Beginning with both and taking the shorter is exact: once
        // the first face is chosen, every piece of work is burnt as early as it can be.
        let (front, back) = (begun(layer, Face::Front), begun(layer, Face::Back));
        if back.faces.len() < front.faces.len() { back } else { front }
    }

    /// When the work that this asked for is burnt on this face, counting from 0.
    pub(super) fn when(&self, face: Face, origin: Span) -> Option<usize> {
        let late = self.late.iter().find(|(it, _)| *it == origin).map(|(_, when)| *when);
        late.or_else(|| self.faces.iter().position(|it| *it == face))
    }
}

fn begun(layer: &Layer, first: Face) -> FaceSequence {
    let burnt = layer.marks.iter().filter(|mark| is_burnt(&mark.work));
    let all = burnt.map(|mark| (mark.origin, when(layer, first, mark.face, mark.origin, layer.waits.len())));
    let all: Vec<(Span, usize)> = all.collect();
    let last = all.iter().map(|(_, when)| *when).max().unwrap_or(0).max(1);
    let faces = (0..=last).map(|at| if at % 2 == 0 { first } else { other(first) }).collect();
    let mut late = all;
    late.retain(|(_, when)| *when > 1);
    late.dedup();
    FaceSequence { faces, late }
}

/// When work can be burnt at the earliest: its face is up, and what it waits for is done. Chains of waits are no longer than
/// there are waits.
fn when(layer: &Layer, first: Face, face: Face, origin: Span, longest: usize) -> usize {
    let earliest = usize::from(face != first);
    let waits = layer.waits.iter().filter(|wait| wait.mark == origin && longest > 0);
    let after = waits.flat_map(|wait| {
        let marks = layer.marks.iter().filter(|mark| mark.name.as_ref() == Some(&wait.after));
        let rings = layer.rings.iter().filter(|ring| ring.name == wait.after).map(|ring| (ring.face, ring.origin));
        marks.map(|mark| (mark.face, mark.origin)).chain(rings)
    });
    after.map(|(face, origin)| when(layer, first, face, origin, longest - 1) + 1).fold(earliest, usize::max)
}

/// Whether work is done to a face, and not right through.
pub(super) fn is_burnt(work: &Work) -> bool {
    matches!(work, Work::Engrave { .. } | Work::Score | Work::Pocket { depth: Depth::Down(_) })
}

/// The other of two faces.
pub(super) fn other(face: Face) -> Face {
    match face {
        Face::Front => Face::Back,
        Face::Back => Face::Front,
    }
}
