//! How a part is turned over, so that both its faces can be worked.

use kurbo::{Affine, Point, Vec2};

use super::axis::SYMMETRY_MM;
use super::face_sequence::FaceSequence;
use super::findings;
use super::kerf::Cuts;
use crate::design::{Centring, Face, FlipChoice, Layer};
use crate::diagnostics::Problems;
use crate::geometry::{SLIVER_MM2, mirror};
use crate::units::Angle;

/// How a layer's parts come to be worked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum FlipMethod {
    /// Only this face is worked (or none: then the front lies up).
    OneFace(Face),
    /// The part drops back into its own opening, turned about the line at this bearing.
    OwnOpening(Angle),
    /// The part drops into a mirrored opening; the map, in the front frame, takes the part there and turns it.
    Holder(Affine),
    /// The whole board is turned over.
    BoardOver,
}

impl FlipMethod {
    /// The face that looks up when the outline is cut: of a part that is lifted out the first to be worked, else the last.
    pub(super) fn up_when_cut(self, sequence: &FaceSequence) -> Face {
        let faces = sequence.faces.iter().copied();
        match self {
            FlipMethod::OneFace(face) => face,
            FlipMethod::OwnOpening(_) | FlipMethod::Holder(_) => faces.take(1).next().unwrap_or(Face::Front),
            FlipMethod::BoardOver => faces.last().unwrap_or(Face::Back),
        }
    }
}

/// Whether it asks for its board to be turned, and needs it: by the maker's word, for the sake of its centring, or because a
/// face is needed a second time.
pub(super) fn turns_board(layer: &Layer, centring: &Centring) -> bool {
    let asked = matches!(layer.flip, FlipChoice::Board(_)) || centring.turns_board_of(layer).is_some();
    layer.is_two_faced() && (asked || FaceSequence::of(layer).faces.len() > 2)
}

/// Chooses the method for a layer; `board_over` where its board is turned anyhow. `gap` in mm parts a holder from
/// the part.
pub(super) fn method(layer: &Layer, cuts: &Cuts, board_over: bool, gap: f64, problems: &mut Problems) -> FlipMethod {
    let faces = FaceSequence::of(layer).faces;
    if !layer.is_two_faced() {
        return FlipMethod::OneFace(faces.first().copied().unwrap_or(Face::Front));
    }
    if let FlipChoice::About(_, span) | FlipChoice::Holder(span) = layer.flip
        && faces.len() > 2
    {
        problems.push(findings::freed_too_early(layer, span));
    }
    if board_over {
        return FlipMethod::BoardOver;
    }
    match layer.flip {
        FlipChoice::Holder(_) => FlipMethod::Holder(holder(cuts, gap)),
        FlipChoice::About(about, span) => {
            if let Some(left) = left_over(cuts, about) {
                problems.push(findings::flip_axis_not_symmetric(layer, about, span, left, cuts.outline.axis()));
            }
            FlipMethod::OwnOpening(about)
        }
        _ => cuts.outline.axis().map_or_else(
            || {
                problems.push(findings::no_flip_axis(layer));
                FlipMethod::Holder(holder(cuts, gap))
            },
            FlipMethod::OwnOpening,
        ),
    }
}

/// A place on the part that falls outside its own opening when turned about the axis; none where it drops in.
fn left_over(cuts: &Cuts, axis: Angle) -> Option<Point> {
    let turned = cuts.outline.finished.transformed(mirror(axis));
    let left = turned.difference(&cuts.outline.finished.offset(SYMMETRY_MM));
    (left.area() > SLIVER_MM2).then(|| left.bounds().map(|it| mirror(axis) * it.center())).flatten()
}

/// Like turning a page: the part's mirror image beside it, along its shorter side.
fn holder(cuts: &Cuts, gap: f64) -> Affine {
    let bounds = cuts.outline.finished.bounds().unwrap_or_default();
    if bounds.width() <= bounds.height() {
        let fold = bounds.x1 + gap / 2.0;
        Affine::translate(Vec2::new(2.0 * fold, 0.0)) * Affine::FLIP_X
    } else {
        let fold = bounds.y1 + gap / 2.0;
        Affine::translate(Vec2::new(0.0, 2.0 * fold)) * Affine::FLIP_Y
    }
}
