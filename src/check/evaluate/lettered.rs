//! Values of the functions that make lettering: `text`, `single_stroke`, `stencil`.

use std::sync::Arc;

use kurbo::Affine;

use super::Evaluator;
use super::calls::Arguments;
use crate::check::findings::lettering as say;
use crate::check::typefaces;
use crate::check::value::{Figure, Value};
use crate::geometry::Trace;
use crate::lettering::{self, Align, Facing, LetteringError, Setting, Typeface, single_stroke};
use crate::source::Span;
use crate::syntax::tree::{Expr, Face};
use crate::units::Angle;

/// The words of `align`.
pub const ALIGNMENTS: [(&str, Align); 3] = [("start", Align::Start), ("middle", Align::Middle), ("end", Align::End)];

/// The words of `facing` where text runs round the axis.
const BENT_FACINGS: [(&str, Facing); 2] = [("outward", Facing::Outward), ("inward", Facing::Inward)];

impl<'t> Evaluator<'t> {
    pub(super) fn lettered(&mut self, arguments: &Arguments<'t>, span: Span) -> Option<Value> {
        let words = self.words(arguments.get("words")?)?;
        let setting = self.setting(arguments)?;
        let typeface = match arguments.get("typeface") {
            Some(name) => self.typeface_named(name)?,
            None => self.typeface().clone(),
        };
        let around = self.around(arguments)?;
        let made = match around {
            Some(arc) => typeface.along_arc(&words, &setting, &arc),
            None => typeface.set(&words, &setting).map(|word| word.ink),
        };
        let ink = match made {
            Ok(ink) => ink,
            Err(error) => return self.bad_lettering(error, &words, span),
        };
        let figure = Figure { says: Some(words), ..Figure::plain(self.to_read(ink)) };
        Some(Value::Region(figure))
    }

    pub(super) fn single_stroke(&mut self, arguments: &Arguments<'t>, span: Span) -> Option<Value> {
        let words = self.words(arguments.get("words")?)?;
        let setting = self.setting(arguments)?;
        let made = match self.around(arguments)? {
            Some(arc) => single_stroke::along_arc(&words, &setting, &arc),
            None => single_stroke::set(&words, &setting),
        };
        match made {
            Ok(path) => {
                let trace = Trace::from_path(path);
                let read = if self.face == Face::Back { trace.transformed(Affine::FLIP_X) } else { trace };
                Some(Value::Trace(read.into()))
            }
            Err(error) => self.bad_lettering(error, &words, span),
        }
    }

    pub(super) fn stencil(&mut self, arguments: &Arguments<'t>, span: Span) -> Option<Value> {
        let Value::Region(figure) = self.value(arguments.get("shape")?)? else { return None };
        let bridge = self.size(arguments.get("bridge")?, "the bridge")?;
        let bearing = match arguments.get("bearing") {
            Some(bearing) => self.angle(bearing)?,
            None => Angle::ZERO,
        };
        let made = lettering::bridged(&figure.region, bridge.as_mm(), bearing);
        if made.is_empty() {
            return self.report(say::all_bridge(bridge, span));
        }
        Some(Value::Region(Figure { region: made.into(), ..figure }))
    }

    /// Height, alignment, spacing and width of a text.
    fn setting(&mut self, arguments: &Arguments<'t>) -> Option<Setting> {
        let mut setting = Setting::of_height(self.size(arguments.get("height")?, "the height")?.as_mm());
        if let Some(align) = arguments.get("align") {
            setting.align = self.one_of("align", &ALIGNMENTS, align)?;
        }
        if let Some(tracking) = arguments.get("tracking") {
            setting.tracking_mm = self.length(tracking)?.as_mm();
        }
        if let Some(width) = arguments.get("width") {
            setting.fit_mm = Some(self.size(width, "the width")?.as_mm());
        }
        if let Some(spacing) = arguments.get("spacing") {
            setting.line_spacing = self.quantity(spacing)?.value;
        }
        Some(setting)
    }

    /// The circle that a text runs along, at 0deg; `Some(None)` where it stands straight.
    fn around(&mut self, arguments: &Arguments<'t>) -> Option<Option<lettering::Arc>> {
        let facing = match arguments.get("facing") {
            Some(facing) => self.one_of("facing", &BENT_FACINGS, facing)?,
            None => Facing::Outward,
        };
        match (arguments.get("around"), arguments.get("facing")) {
            (Some(around), _) => {
                let radius_mm = self.size(around, "`around`")?.as_mm();
                Some(Some(lettering::Arc { radius_mm, bearing: Angle::ZERO, facing }))
            }
            (None, Some(facing)) => self.report(say::facing_without_around(facing.span)),
            (None, None) => Some(None),
        }
    }

    /// What a quoted word of ours stands for.
    fn one_of<T: Copy>(&mut self, parameter: &str, words: &[(&str, T)], expr: &'t Expr) -> Option<T> {
        let found = self.words(expr)?;
        match words.iter().find(|(word, _)| *word == &*found) {
            Some((_, meaning)) => Some(*meaning),
            None => {
                let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                self.report(say::unknown_quoted_word(parameter, &found, &words, expr.span))
            }
        }
    }

    /// The typeface that an expression names.
    pub fn typeface_named(&mut self, expr: &'t Expr) -> Option<Typeface> {
        let name = self.words(expr)?;
        if let Some(known) = self.typefaces.get(&name) {
            return known.clone();
        }
        let from = self.world.sources.file(expr.span.source).name;
        let (typeface, problems) = typefaces::open(&name, expr.span, &from, self.world.project);
        self.problems.extend(problems);
        self.typefaces.insert(name, typeface.clone());
        typeface
    }

    /// Text, from an expression of that kind.
    pub fn words(&mut self, expr: &'t Expr) -> Option<Arc<str>> {
        match self.value(expr)? {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Reports lettering that cannot be set.
    pub fn bad_lettering<T>(&mut self, error: LetteringError, words: &str, span: Span) -> Option<T> {
        let other = match &error {
            LetteringError::MissingCharacters { characters, .. } => typefaces::that_has(characters, self.world.project),
            _ => None,
        };
        self.report(say::bad_lettering(error, words, other.as_deref(), span))
    }
}
