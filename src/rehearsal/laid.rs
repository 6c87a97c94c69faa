//! How parts lie beside one another on their board: off its edge, apart, and in openings of others.

use kurbo::{BezPath, Line, ParamCurveNearest as _, PathEl, Point, Rect, Shape as _};

use super::board::called;
use super::list::{Board, Edge, Operation, Part, Work};
use super::remark::{Kind, Remarks, mm};

/// How closely curves are followed, in mm.
const FLAT_MM: f64 = 2e-3;
/// What is nearer than told by no more than this is as told: lists have three decimals, and curves are followed by chords.
const SAME_MM: f64 = 0.01;

/// One closed cut of a setup as chords.
struct Cut<'b> {
    operation: &'b Operation,
    edge: Edge,
    bounds: Rect,
    chords: Vec<Line>,
}

/// Holds a setup's cuts against the room that the board says is kept, and parts in openings against what is told of them.
pub(super) fn look_over(board: &Board, operations: &[Operation], place: &str, remarks: &mut Remarks) {
    let cuts: Vec<Cut> = operations.iter().filter_map(Cut::of).collect();
    margins(board, &cuts, place, remarks);
    gaps(board, &cuts, place, remarks);
    guests(board, &cuts, place, remarks);
}

impl<'b> Cut<'b> {
    fn of(operation: &'b Operation) -> Option<Self> {
        let Work::Cut { edge, .. } = operation.work else { return None };
        let bounds = operation.path.bounds()?;
        Some(Self { operation, edge, bounds, chords: chords(&operation.path.path) })
    }

    /// Whether it is the edge of a part, or of a place that a turned part is laid into.
    fn is_outer(&self) -> bool {
        self.edge != Edge::Opening
    }

    /// The least distance to another cut, where that is below `within`.
    fn nearer_than(&self, other: &Self, within: f64) -> Option<(f64, Point)> {
        let near = self.bounds.inflate(within, within).intersect(other.bounds.inflate(within, within));
        if near.width() <= 0.0 || near.height() <= 0.0 {
            return None;
        }
        let in_reach = |of: &Self| -> Vec<Line> {
            let of =
                of.chords.iter().filter(|line| near.overlaps(Rect::from_points(line.p0, line.p1).inflate(1e-9, 1e-9)));
            of.copied().collect()
        };
        let (own, theirs) = (in_reach(self), in_reach(other));
        // Two chords that do not cross are nearest at an end of one of them.
        let ends = |from: &[Line], to: &[Line]| {
            let each = from.iter().map(|line| (nearest(to, line.p0), line.p0));
            each.min_by(|a, b| a.0.total_cmp(&b.0))
        };
        let found = [ends(&own, &theirs), ends(&theirs, &own)].into_iter().flatten();
        found.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(away, _)| *away < within)
    }

    /// Whether all of another cut lies in what this one encloses.
    fn encloses(&self, other: &Self) -> bool {
        self.bounds.union(other.bounds) == self.bounds
            && other.chords.iter().all(|line| self.operation.path.path.contains(line.p0))
    }
}

fn nearest(lines: &[Line], to: Point) -> f64 {
    lines.iter().map(|line| line.nearest(to, FLAT_MM).distance_sq).fold(f64::INFINITY, f64::min).sqrt()
}

fn chords(path: &BezPath) -> Vec<Line> {
    let (mut lines, mut start, mut at) = (Vec::new(), Point::ORIGIN, Point::ORIGIN);
    kurbo::flatten(path, FLAT_MM, |element| match element {
        PathEl::MoveTo(to) => (start, at) = (to, to),
        PathEl::LineTo(to) => {
            lines.push(Line::new(at, to));
            at = to;
        }
        PathEl::ClosePath => {
            lines.push(Line::new(at, start));
            at = start;
        }
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
    lines
}

/// Off the edge of the board.
fn margins(board: &Board, cuts: &[Cut], place: &str, remarks: &mut Remarks) {
    let Some(margin) = board.margin else { return };
    for cut in cuts.iter().filter(|cut| cut.is_outer()) {
        let Rect { x0, y0, x1, y1 } = cut.bounds;
        // A cut runs half a kerf outside the edge that it makes.
        let kept = x0.min(y0).min(board.width - x1).min(board.height - y1) + board.kerf / 2.0;
        if kept < margin - SAME_MM {
            let says = format!(
                "{} comes within {} of the edge of the board, where {} is told to be kept free",
                called(cut.operation),
                mm(kept.max(0.0)),
                mm(margin)
            );
            remarks.push(Kind::Margin, place, says);
        }
    }
}

/// Apart from one another, and from the edge of the opening that they lie in.
fn gaps(board: &Board, cuts: &[Cut], place: &str, remarks: &mut Remarks) {
    let Some(gap) = board.gap else { return };
    // Both cuts run half a kerf outside the edges that they make.
    let within = (gap - board.kerf - SAME_MM).max(0.0);
    for (at, one) in cuts.iter().enumerate() {
        let others = cuts.iter().skip(at + 1).filter(|other| {
            let holder = one.edge == Edge::Holder || other.edge == Edge::Holder;
            (one.is_outer() || other.is_outer()) && (holder || one.operation.part != other.operation.part)
        });
        for other in others {
            if let Some((away, near)) = one.nearer_than(other, within) {
                let says = format!(
                    "{} and {} are {} apart near {}, {}, where {} is told to be kept free",
                    called(one.operation),
                    called(other.operation),
                    mm((away + board.kerf).max(0.0)),
                    mm(near.x),
                    mm(near.y),
                    mm(gap)
                );
                remarks.push(Kind::Gap, place, says);
            }
        }
    }
}

/// A part that lies in an opening of another one lies in its waste with all of it, as it is told, and is free before that falls out.
fn guests(board: &Board, cuts: &[Cut], place: &str, remarks: &mut Remarks) {
    for (late, guest) in cuts.iter().enumerate().filter(|(_, cut)| cut.edge == Edge::Outline) {
        let hosts = || {
            let openings = cuts.iter().enumerate().filter(|(_, it)| it.edge == Edge::Opening);
            openings.filter(|(_, it)| it.operation.part != guest.operation.part)
        };
        let part = board.parts.iter().find(|it| Some(&it.name) == guest.operation.part.as_ref());
        let host = hosts().find(|(_, host)| host.encloses(guest));
        let found = host.and_then(|(_, host)| host.operation.part.as_deref());
        told(part, found, board.gap.is_some(), (guest, place), remarks);
        if let Some((_, host)) = host.filter(|(early, _)| *early < late) {
            let says = format!(
                "{} is cut before {}, which lies in its waste",
                called(host.operation),
                called(guest.operation)
            );
            remarks.push(Kind::Order, place, says);
        }
    }
}

/// Where a part is told to lie, and where it was found. A list of version 1 tells nothing of it.
fn told(part: Option<&Part>, found: Option<&str>, tells: bool, (guest, place): (&Cut, &str), remarks: &mut Remarks) {
    let inside = part.and_then(|it| it.inside.as_deref());
    if !tells || inside == found {
        return;
    }
    let lies = match (inside, found) {
        (Some(host), None) => format!("does not lie in an opening of `{host}` with all of it, as is told"),
        (Some(host), Some(found)) => format!("lies in an opening of `{found}`, and is told to lie in `{host}`"),
        (None, found) => format!("lies in an opening of `{}`, which is not told", found.unwrap_or_default()),
    };
    remarks.push(Kind::Guest, place, format!("{} {lies}", called(guest.operation)));
}
