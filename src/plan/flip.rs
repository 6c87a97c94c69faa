//! How a part is turned over, so that both its faces can be worked.

use kurbo::{Affine, Point, Vec2};

use super::kerf::Cuts;
use super::visits::Visits;
use crate::design::{Centring, Face, FlipChoice, Layer};
use crate::diagnostics::Problems;
use crate::diagnostics::findings::plan as findings;
use crate::geometry::{Region, SLIVER_MM2, Symmetry, mirror};
use crate::units::Angle;

/// How a layer's parts come to be worked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Way {
    /// Only this face is worked (or none: then the front lies up).
    OneFace(Face),
    /// The part drops back into its own opening, turned about the line at this bearing.
    OwnOpening(Angle),
    /// The part drops into a mirrored opening; the map, in the front frame, takes the part there and turns it.
    Holder(Affine),
    /// The whole board is turned over.
    BoardOver,
}

impl Way {
    /// The face that looks up when the outline is cut: of a part that is lifted out the first to be worked, else the last.
    pub(super) fn up_when_cut(self, visits: &Visits) -> Face {
        let faces = visits.faces.iter().copied();
        match self {
            Way::OneFace(face) => face,
            Way::OwnOpening(_) | Way::Holder(_) => faces.take(1).next().unwrap_or(Face::Front),
            Way::BoardOver => faces.last().unwrap_or(Face::Back),
        }
    }
}

/// Whether it asks for its board to be turned, and needs it: by the maker's word, for the sake of its centring, or because a
/// face is needed a second time.
pub(super) fn turns_board(layer: &Layer, centring: &Centring) -> bool {
    let asked = matches!(layer.flip, FlipChoice::Board(_)) || centring.turns_board_of(layer).is_some();
    layer.is_two_faced() && (asked || Visits::of(layer).faces.len() > 2)
}

/// Chooses the way of a layer; `board_over` where its board is turned anyhow. `gap` in mm parts a holder from
/// the part.
pub(super) fn way(layer: &Layer, cuts: &Cuts, board_over: bool, gap: f64, problems: &mut Problems) -> Way {
    let visits = Visits::of(layer).faces;
    if !layer.is_two_faced() {
        return Way::OneFace(visits.first().copied().unwrap_or(Face::Front));
    }
    if let FlipChoice::About(_, span) | FlipChoice::Holder(span) = layer.flip
        && visits.len() > 2
    {
        problems.push(findings::freed_too_early(layer, span));
    }
    if board_over {
        return Way::BoardOver;
    }
    match layer.flip {
        FlipChoice::Holder(_) => Way::Holder(holder(cuts, gap)),
        FlipChoice::About(about, span) => {
            if let Some(left) = left_over(cuts, about) {
                problems.push(findings::flip_axis_not_symmetric(layer, about, span, left, cuts.rim.axis()));
            }
            Way::OwnOpening(about)
        }
        _ => cuts.rim.axis().map_or_else(
            || {
                problems.push(findings::no_flip_axis(layer));
                Way::Holder(holder(cuts, gap))
            },
            Way::OwnOpening,
        ),
    }
}

/// The axis of symmetry of a tool path that is easiest to turn about: upright, level, else the smallest.
pub(super) fn axis(tool: &Region) -> Option<Angle> {
    let easy = [Angle::ZERO, Angle::degrees(90.0)];
    let found = easy.into_iter().find(|axis| tool.is_symmetric_about(*axis, PLAY_MM));
    found.or_else(|| match tool.symmetry_axes() {
        Symmetry::Every => Some(Angle::ZERO),
        Symmetry::Axes(axes) => axes.first().copied(),
    })
}

/// An outline may differ from its mirror image by this much, in mm, and still count as symmetric: what the
/// geometry rounds off, and far less than a kerf.
const PLAY_MM: f64 = 0.01;

/// A place on the part that falls outside its own opening when turned about the axis; none where it drops in.
fn left_over(cuts: &Cuts, axis: Angle) -> Option<Point> {
    let turned = cuts.rim.outline.transformed(mirror(axis));
    let left = turned.difference(&cuts.rim.outline.offset(PLAY_MM));
    (left.area() > SLIVER_MM2).then(|| left.bounds().map(|it| mirror(axis) * it.center())).flatten()
}

/// Like turning a page: the part's mirror image beside it, along its shorter side.
fn holder(cuts: &Cuts, gap: f64) -> Affine {
    let bounds = cuts.rim.outline.bounds().unwrap_or_default();
    if bounds.width() <= bounds.height() {
        let fold = bounds.x1 + gap / 2.0;
        Affine::translate(Vec2::new(2.0 * fold, 0.0)) * Affine::FLIP_X
    } else {
        let fold = bounds.y1 + gap / 2.0;
        Affine::translate(Vec2::new(0.0, 2.0 * fold)) * Affine::FLIP_Y
    }
}
