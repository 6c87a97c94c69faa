//! Tick marks between the labels of a ring.

use kurbo::{Affine, BezPath, Point, Rect, Shape as _};

use super::Assembler;
use super::rings::Written;
use crate::check::findings::rings as say;
use crate::design::{Ink, Mark, RingWork, Shape, Work};
use crate::geometry::{GeometryError, Region, Rule, Trace, turn};
use crate::limits::LIST_LENGTH;
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;

impl<'t> Assembler<'_, 't> {
    /// The ticks of a ring as one mark; `Some(None)` where none are asked for.
    ///
    /// They stand evenly in the gap from each label on to the next. The gap from the last label on to the first has
    /// ticks only where the labels are spread evenly over the whole turn, that is, where no bearings are given.
    pub(super) fn ticks(
        &mut self,
        written: &Written<'t>,
        bearings: &[Angle],
        radius: Length,
        (tone, ink): (f64, Option<&Ink>),
    ) -> Option<Option<Mark>> {
        let Some(count) = written.fields.expr(fields::Ring::Ticks) else {
            let about = [fields::Ring::Tick, fields::Ring::TicksAt].into_iter();
            let stray = about.filter_map(|name| written.fields.get(name)).min_by_key(|field| field.span);
            return match stray {
                Some(stray) => self.eval.report(say::tick_without_ticks(&stray.name.text, stray.span)),
                None => Some(None),
            };
        };
        // The bound holds for all gaps of the ring together.
        let most = u32::try_from(LIST_LENGTH).unwrap_or(u32::MAX) / u32::try_from(bearings.len()).unwrap_or(1).max(1);
        let count = self.eval.count(count, "the number of ticks between two labels", 1, most.max(1))?;
        let (length, width) = self.tick_size(written)?;
        let at = written.fields.expr(fields::Ring::TicksAt);
        let radius = match at {
            Some(at) => self.eval.size(at, "`ticks_at`")?,
            None => radius,
        };
        let goes_round = written.fields.expr(fields::Ring::Bearings).is_none();
        let span = at.map_or(written.name.span, |at| at.span);
        if written.work == RingWork::Scored {
            let line = self.eval.shaped(line(radius, length), span)?;
            let mut all = BezPath::new();
            between(bearings, count, goes_round).for_each(|at| all.extend(turn(at) * line.path()));
            return Some(Some(tick_mark(written, Work::Score, Shape::Trace(Trace::from_path(all)))));
        }
        let tick = self.eval.shaped(upright(radius, length, width), span)?;
        let ticks: Vec<Region> = between(bearings, count, goes_round).map(|at| tick.transformed(turn(at))).collect();
        let region = Region::union_of(&ticks);
        if region.is_empty() {
            return Some(None);
        }
        let work = match (written.work, ink.and_then(|ink| ink.colour)) {
            (RingWork::Printed, Some(colour)) => Work::Print { colour },
            _ => Work::Engrave { tone, depth: None, ink: ink.cloned() },
        };
        Some(Some(tick_mark(written, work, Shape::Region(region))))
    }

    fn tick_size(&mut self, written: &Written<'t>) -> Option<(Length, Length)> {
        let Some(sides) = written.fields.sides(fields::Ring::Tick) else {
            return fields::Ring::Tick.spec().default.size();
        };
        let [length, width] = sides else { return None };
        let (length, width) =
            (self.eval.size(length, "the length of a tick"), self.eval.size(width, "the width of a tick"));
        Some((length?, width?))
    }
}

fn tick_mark(written: &Written, work: Work, shape: Shape) -> Mark {
    let shape = shape.transformed(Affine::translate(written.centre.to_vec2()));
    Mark { name: None, face: written.face, work, shape, lettering: None, origin: written.name.span }
}

/// A tick at 0deg as one line, its middle at the radius.
fn line(radius: Length, length: Length) -> Result<Trace, GeometryError> {
    let [from, to] = [-0.5, 0.5].map(|end| Point::new(0.0, radius.as_mm() + end * length.as_mm()));
    Trace::line(&[from, to])
}

/// A tick at 0deg, its middle at the radius.
fn upright(radius: Length, length: Length, width: Length) -> Result<Region, GeometryError> {
    let half = (width.as_mm() / 2.0, length.as_mm() / 2.0);
    let bar = Affine::translate((0.0, radius.as_mm())) * Rect::new(-half.0, -half.1, half.0, half.1).to_path(1e-3);
    Region::from_path(&bar, Rule::NonZero)
}

/// Bearings of `count` ticks in each gap, clockwise from each label to the next.
fn between(bearings: &[Angle], count: u32, goes_round: bool) -> impl Iterator<Item = Angle> {
    let last = bearings.last().zip(bearings.first()).filter(|_| goes_round).map(|(last, first)| (*last, *first));
    let gaps = bearings.windows(2).filter_map(|pair| Some((*pair.first()?, *pair.last()?)));
    let parts = f64::from(count) + 1.0;
    let gaps: Vec<(Angle, Angle)> = gaps.chain(last).collect();
    gaps.into_iter().flat_map(move |(from, to)| {
        let gap = (to - from).as_degrees().rem_euclid(360.0);
        // With a single label the gap to the next goes all the way round.
        let gap = if gap == 0.0 { 360.0 } else { gap };
        (1..=count).map(move |at| from + Angle::degrees(gap * f64::from(at) / parts))
    })
}
