//! The labels of a ring: what they say, and each as it is drawn in its place.

use kurbo::{Affine, Point};

use super::Assembler;
use super::rings::Written;
use crate::check::evaluate::{Evaluator, Fields, facing_of, label_text};
use crate::check::findings::values::out_of_bounds;
use crate::check::findings::{dial, rings as say};
use crate::check::value::Value;
use crate::design::{Ink, Label, RingWork, Shape, Tone};
use crate::geometry::{Region, Trace, turn};
use crate::lettering::{Arc, Facing, LetteringError, Setting, Typeface, placing, single_stroke};
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{Expr, ExprKind, Name};
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::choices::FacingWord;

/// What the ink of printed labels is called.
const PRINTED: &str = "print";

/// Where a label stands on its ring, and how.
pub(super) struct Placed {
    pub(super) radius: Length,
    pub(super) bearing: Angle,
    pub(super) tilt: Angle,
    pub(super) facing: Facing,
    pub(super) height: Length,
}

impl<'t> Assembler<'_, 't> {
    pub(super) fn labels(&mut self, fields: Fields<'t, fields::Ring>, name: &Name) -> Option<Vec<(Value, String)>> {
        let expr = fields.expr(fields::Ring::Labels)?;
        let value = self.eval.value(expr)?;
        let items = value.items()?;
        if items.is_empty() {
            return self.eval.report(say::ring_without_labels(&name.text, expr.span));
        }
        self.leading_zeros(name, expr, items);
        let unnamed = "a shape".to_owned();
        Some(items.iter().map(|item| (item.clone(), label_text(item).unwrap_or_else(|| unnamed.clone()))).collect())
    }

    /// Which labels have a line under them; one that is asked for and is no lettering of the ring is reported.
    pub(super) fn underlined(
        &mut self,
        fields: Fields<'t, fields::Ring>,
        name: &Name,
        labels: &[(Value, String)],
    ) -> Option<Vec<bool>> {
        let Some(expr) = fields.expr(fields::Ring::Underlined) else { return Some(vec![false; labels.len()]) };
        let value = self.eval.value(expr)?;
        let asked: Vec<String> = value.items()?.iter().filter_map(label_text).collect();
        let lettered: Vec<Option<&str>> = labels
            .iter()
            .map(|(value, says)| matches!(value, Value::Quantity(_) | Value::Text(_)).then_some(says.as_str()))
            .collect();
        if let Some(other) = asked.iter().find(|asked| !lettered.contains(&Some(asked.as_str()))) {
            let known: Vec<&str> = lettered.iter().copied().flatten().collect();
            return self.eval.report(say::underlines_nothing(&name.text, other, &known, expr.span));
        }
        Some(lettered.iter().map(|says| says.is_some_and(|says| asked.iter().any(|asked| asked == says))).collect())
    }

    /// One value for every label, from one for all or a list with one for each.
    pub(super) fn for_each<T: Clone>(
        &mut self,
        expr: &'t Expr,
        written: &Written<'t>,
        mut read: impl FnMut(&mut Evaluator<'t>, &Value, Span) -> Option<T>,
    ) -> Option<Vec<T>> {
        let count = written.labels.len();
        let value = self.eval.value(expr)?;
        let Some(items) = value.items() else { return Some(vec![read(self.eval, &value, expr.span)?; count]) };
        if items.len() != count {
            return self.eval.report(say::values_and_labels(&written.key, items.len(), count, expr.span));
        }
        let spans: Vec<Span> = match &expr.kind {
            ExprKind::List(written) => written.iter().map(|item| item.span).collect(),
            _ => vec![expr.span; count],
        };
        items.iter().zip(spans).map(|(item, span)| read(self.eval, item, span)).collect()
    }

    /// Where the heads of each label's letters look. Outward unless told otherwise: a dial is turned until its opening is at the
    /// top, and the label in it stands upright then.
    pub(super) fn facings(&mut self, written: &Written<'t>) -> Option<Vec<Facing>> {
        let count = written.labels.len();
        let Some(expr) = written.fields.expr(fields::Ring::Facing) else {
            return Some(vec![facing_of(FacingWord::DEFAULT); count]);
        };
        let bare = |expr: &Expr| match &expr.kind {
            ExprKind::Name(word) => FacingWord::of_word(word),
            _ => None,
        };
        if let Some(word) = bare(expr) {
            return Some(vec![facing_of(word); count]);
        }
        let each: Vec<FacingWord> = match &expr.kind {
            ExprKind::List(items) => items.iter().map(bare).collect::<Option<_>>()?,
            _ => {
                let value = self.eval.value(expr)?;
                let words: Vec<String> = value.items()?.iter().filter_map(label_text).collect();
                let unknown = |word: &&String| FacingWord::of_word(word).is_none();
                if let Some(word) = words.iter().find(unknown) {
                    return self.eval.report(say::unknown_facing(word, expr.span));
                }
                words.iter().filter_map(|word| FacingWord::of_word(word)).collect()
            }
        };
        if each.len() != count {
            return self.eval.report(say::values_and_labels(&written.key, each.len(), count, expr.span));
        }
        Some(each.into_iter().map(facing_of).collect())
    }

    /// What each label is filled with.
    pub(super) fn inks(&mut self, written: &Written<'t>) -> Option<Vec<Option<Ink>>> {
        if written.work == RingWork::Printed {
            return self.printed(written);
        }
        let Some(names) = written.fields.expr(fields::Ring::Ink) else { return Some(vec![None; written.labels.len()]) };
        let names = self.for_each(names, written, |_, value, _| match value {
            Value::Text(text) => Some(text.to_string()),
            _ => None,
        })?;
        let colours = match self.colours(written) {
            Some(colours) => colours?,
            None => vec![None; names.len()],
        };
        Some(names.into_iter().zip(colours).map(|(name, colour)| Some(Ink { name, colour })).collect())
    }

    /// The colour of each label, where the ring states one.
    #[allow(clippy::option_option, reason = "none within where it is at fault")]
    fn colours(&mut self, written: &Written<'t>) -> Option<Option<Vec<Option<Tone>>>> {
        let colours = written.fields.expr(fields::Ring::Colour)?;
        Some(self.for_each(colours, written, |_, value, _| match value {
            Value::Colour(colour) => Some(Some(*colour)),
            _ => None,
        }))
    }

    /// What each label is printed with.
    fn printed(&mut self, written: &Written<'t>) -> Option<Vec<Option<Ink>>> {
        let Some(colours) = self.colours(written) else {
            return self.eval.report(dial::no_colour(written.work.work(), written.name.span));
        };
        Some(colours?.into_iter().map(|colour| Some(Ink { name: PRINTED.to_owned(), colour })).collect())
    }

    /// Letters as they are seen on the ring's face, or what is wrong with them.
    fn lettered(&mut self, written: &Written<'t>, says: &str, made: Result<Shape, LetteringError>) -> Option<Shape> {
        match made {
            Ok(shape) => Some(written.seen(shape)),
            Err(error) => self.eval.bad_lettering(error, says, written.fields.expr(fields::Ring::Labels)?.span),
        }
    }

    /// The label at this place of its ring, from its shape about its own centre.
    pub(super) fn label(
        &mut self,
        written: &Written<'t>,
        at: usize,
        shape: &Shape,
        (placed, typeface, stroke): (Placed, &Typeface, Option<Length>),
        filled: Option<Ink>,
    ) -> Option<Label> {
        let Placed { radius, bearing, tilt, facing, height } = placed;
        let ((value, says), underlined) = (written.labels.get(at)?, *written.underlined.get(at)?);
        let origin = written.name.span;
        let mut shape = if written.bends(value, facing) {
            let arc = Arc { radius_mm: radius.as_mm(), bearing: Angle::ZERO, facing };
            let setting = Setting { underlined, ..Setting::of_height(height.as_mm()) };
            let bent = written.bent(says, typeface, &setting, &arc);
            self.lettered(written, says, bent)?.transformed(turn(bearing))
        } else {
            let map = placing(radius.as_mm(), bearing, facing);
            shape.transformed(map * Affine::scale(label_scale(value, height.as_mm())))
        };
        if written.centre != Point::ORIGIN {
            shape = shape.transformed(Affine::translate(written.centre.to_vec2()));
        }
        // Before anything is joined or parted: beyond the bound no engine can be relied upon.
        if Region::in_range(shape.path()).is_err() {
            return self.eval.report(out_of_bounds(far_out(written, height)));
        }
        let (mut ink, lines) = match shape {
            Shape::Region(ink) => (ink, None),
            Shape::Trace(lines) => (self.eval.shaped(lines.burnt(written.line.as_mm()), origin)?, Some(lines)),
        };
        if let Some(stroke) = stroke {
            // A band inside the outline: the label keeps its size and what it clears.
            ink = ink.difference(&ink.offset(-stroke.as_mm()));
        }
        let height = own_height(value).unwrap_or(height);
        let lettering = matches!(value, Value::Quantity(_) | Value::Text(_));
        let up = lettering.then(|| facing.tops(bearing) + tilt);
        Some(Label { says: says.clone(), bearing, height, tilt, up, underlined, filled, ink, lines, origin })
    }

    /// Each label about its own centre: lettering 1 mm tall, artwork without a height scaled to 1 mm, other
    /// regions as they are; turned by its tilt.
    pub(super) fn unit_labels(
        &mut self,
        written: &Written<'t>,
        typeface: &Typeface,
        tilts: &[Angle],
    ) -> Option<Vec<Shape>> {
        let mut shapes = Vec::new();
        for (((value, says), tilt), underlined) in written.labels.iter().zip(tilts).zip(&written.underlined) {
            let upright = match value {
                Value::Region(figure) => {
                    let bounds = figure.region.bounds()?;
                    let centred = Affine::translate(-bounds.center().to_vec2());
                    let scale = if figure.unsized_art { 1.0 / bounds.height().max(1e-9) } else { 1.0 };
                    written.drawn(figure.region.transformed(Affine::scale(scale) * centred))
                }
                _ => {
                    let setting = Setting { underlined: *underlined, ..Setting::of_height(1.0) };
                    let made = if written.single_stroke {
                        single_stroke::set(says, &setting).map(|path| Shape::Trace(Trace::from_path(path)))
                    } else {
                        typeface.set(says, &setting).map(|word| written.drawn(word.ink))
                    };
                    let word = self.lettered(written, says, made)?;
                    if word.path().elements().is_empty() {
                        let labels = written.fields.expr(fields::Ring::Labels)?;
                        return self.eval.report(say::blank_label(&written.key, labels.span));
                    }
                    word
                }
            };
            shapes.push(if *tilt == Angle::ZERO { upright } else { upright.transformed(turn(*tilt)) });
        }
        Some(shapes)
    }
}

/// What puts a label out of bounds: its height where that alone does it, else how far out the ring stands.
fn far_out(written: &Written, height: Length) -> Span {
    let [high, radius] = [fields::Ring::Height, fields::Ring::Radius].map(|name| written.fields.expr(name));
    let tall = height.as_mm() > limits::SIZE_MM / 2.0;
    let blamed = if tall { high.or(radius) } else { radius.or(high) };
    blamed.map_or(written.name.span, |expr| expr.span)
}

/// The factor that makes a label `height` mm tall; regions with a size of their own keep it.
pub(super) fn label_scale(value: &Value, height: f64) -> f64 {
    match value {
        Value::Region(figure) if !figure.unsized_art => 1.0,
        _ => height,
    }
}

/// Height of a label that keeps a size of its own, before it is tilted.
fn own_height(value: &Value) -> Option<Length> {
    match value {
        Value::Region(figure) if !figure.unsized_art => Some(Length::mm(figure.region.bounds()?.height())),
        _ => None,
    }
}
