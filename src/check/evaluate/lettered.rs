//! Values of the functions that make lettering: `text`, `single_stroke`, `stencil`.

use std::sync::Arc;

use kurbo::Affine;

use super::Evaluator;
use super::calls::Arguments;
use crate::check::findings::lettering as say;
use crate::check::typefaces;
use crate::check::value::{Figure, Line, Value};
use crate::design::Lettering as Words;
use crate::geometry::Trace;
use crate::lettering::{self, Align, Facing, LetteringError, Setting, Typeface, single_stroke};
use crate::source::Span;
use crate::syntax::tree::{Expr, Face};
use crate::units::{Angle, Length};
use crate::vocabulary::choices::{AlignWord, FacingWord};
use crate::vocabulary::functions::arguments;

/// What the functions that set text take alike.
struct Lettering<'t> {
    height: &'t Expr,
    align: Option<&'t Expr>,
    tracking: Option<&'t Expr>,
    width: Option<&'t Expr>,
    spacing: Option<&'t Expr>,
    around: Option<&'t Expr>,
    facing: Option<&'t Expr>,
}

macro_rules! lettering {
    ($arguments:ident of $function:ident) => {{
        use arguments::$function::*;
        Lettering {
            height: $arguments.get(Height)?,
            align: $arguments.get(Align),
            tracking: $arguments.get(Tracking),
            width: $arguments.get(Width),
            spacing: $arguments.get(Spacing),
            around: $arguments.get(Around),
            facing: $arguments.get(Facing),
        }
    }};
}

impl<'t> Evaluator<'t> {
    pub(super) fn lettered(&mut self, arguments: &Arguments<'t, arguments::Text>, span: Span) -> Option<Value> {
        let words = self.words(arguments.get(arguments::Text::Words)?)?;
        let lettering = lettering!(arguments of Text);
        let mut setting = self.setting(&lettering)?;
        if let Some(underlined) = arguments.get(arguments::Text::Underlined) {
            setting.underlined = self.truth(underlined)?;
        }
        let typeface = match arguments.get(arguments::Text::Typeface) {
            Some(name) => self.typeface_named(name)?,
            None => self.typeface().clone(),
        };
        let around = self.around(&lettering)?;
        if setting.tracking_mm > 0.0 && typeface.joins(&words) {
            let tracked = lettering.tracking.map_or(span, |tracking| tracking.span);
            self.problems.push(say::letters_parted(&words, Length::mm(setting.tracking_mm), tracked));
        }
        let made = match around {
            Some(arc) => typeface.along_arc(&words, &setting, &arc),
            None => typeface.set(&words, &setting).map(|word| word.ink),
        };
        let ink = match made {
            Ok(ink) => ink,
            Err(error) => return self.bad_lettering(error, &words, span),
        };
        let lettering = Some(self.set(&words, around));
        let figure = Figure { says: Some(words), lettering, ..Figure::plain(self.to_read(ink)) };
        Some(Value::Region(figure))
    }

    /// What is known of words that were set on the face of today, straight or along a circle.
    fn set(&self, words: &Arc<str>, around: Option<lettering::Arc>) -> Words {
        let up = around.map_or(Angle::ZERO, |arc| arc.facing.tops(arc.bearing));
        // Drawn as it is seen from the back, where a bearing runs the other way.
        let up = if self.face == Face::Back { -up } else { up };
        Words { says: words.clone(), up, mirrored: false }
    }

    pub(super) fn single_stroke(
        &mut self,
        arguments: &Arguments<'t, arguments::SingleStroke>,
        span: Span,
    ) -> Option<Value> {
        let words = self.words(arguments.get(arguments::SingleStroke::Words)?)?;
        let lettering = lettering!(arguments of SingleStroke);
        let setting = self.setting(&lettering)?;
        let around = self.around(&lettering)?;
        let made = match around {
            Some(arc) => single_stroke::along_arc(&words, &setting, &arc),
            None => single_stroke::set(&words, &setting),
        };
        match made {
            Ok(path) => {
                let trace = Trace::from_path(path);
                let read = if self.face == Face::Back { trace.transformed(Affine::FLIP_X) } else { trace };
                Some(Value::Trace(Line { trace: read.into(), lettering: Some(self.set(&words, around)) }))
            }
            Err(error) => self.bad_lettering(error, &words, span),
        }
    }

    pub(super) fn stencil(&mut self, arguments: &Arguments<'t, arguments::Stencil>, span: Span) -> Option<Value> {
        use arguments::Stencil::{Bearing, Bridge, Shape};
        let Value::Region(figure) = self.value(arguments.get(Shape)?)? else { return None };
        let bridge = self.size(arguments.get(Bridge)?, "the bridge")?;
        let bearing = match arguments.get(Bearing) {
            Some(bearing) => self.angle(bearing)?,
            None => Bearing.row().default.angle()?,
        };
        let made = lettering::bridged(&figure.region, bridge.as_mm(), bearing);
        if made.is_empty() {
            return self.report(say::all_bridge(bridge, span));
        }
        Some(Value::Region(Figure { region: made.into(), ..figure }))
    }

    /// Height, alignment, spacing and width of a text.
    fn setting(&mut self, lettering: &Lettering<'t>) -> Option<Setting> {
        let mut setting = Setting::of_height(self.size(lettering.height, "the height")?.as_mm());
        setting.align = match lettering.align {
            Some(align) => {
                align_of(self.one_of(arguments::Text::Align.word(), AlignWord::ALL, AlignWord::word, align)?)
            }
            None => align_of(AlignWord::DEFAULT),
        };
        if let Some(tracking) = lettering.tracking {
            setting.tracking_mm = self.length(tracking)?.as_mm();
        }
        if let Some(width) = lettering.width {
            setting.fit_mm = Some(self.size(width, "the width")?.as_mm());
        }
        if let Some(spacing) = lettering.spacing {
            setting.line_spacing = self.quantity(spacing)?.value;
        }
        Some(setting)
    }

    /// The circle that a text runs along, at 0deg; `Some(None)` where it stands straight.
    fn around(&mut self, lettering: &Lettering<'t>) -> Option<Option<lettering::Arc>> {
        let facing = match lettering.facing {
            Some(facing) => self.one_of(arguments::Text::Facing.word(), FacingWord::BENT, FacingWord::word, facing)?,
            None => FacingWord::DEFAULT,
        };
        match (lettering.around, lettering.facing) {
            (Some(around), _) => {
                let radius_mm = self.size(around, "`around`")?.as_mm();
                Some(Some(lettering::Arc { radius_mm, bearing: Angle::ZERO, facing: facing_of(facing) }))
            }
            (None, Some(facing)) => self.report(say::facing_without_around(facing.span)),
            (None, None) => Some(None),
        }
    }

    /// Which of these words of ours stands in quotes.
    fn one_of<W: Copy>(
        &mut self,
        parameter: &str,
        words: &[W],
        word: fn(W) -> &'static str,
        expr: &'t Expr,
    ) -> Option<W> {
        let found = self.words(expr)?;
        match words.iter().find(|known| word(**known) == &*found) {
            Some(known) => Some(*known),
            None => {
                let words: Vec<&str> = words.iter().map(|known| word(*known)).collect();
                self.report(say::unknown_quoted_word(parameter, &found, &words, expr.span))
            }
        }
    }

    /// The typeface that an expression names, or the first of several with the others for what it lacks.
    pub fn typeface_named(&mut self, expr: &'t Expr) -> Option<Typeface> {
        let names: Vec<Arc<str>> = match self.value(expr)? {
            Value::Text(name) => vec![name],
            Value::List(names) => {
                let text = |name: &Value| match name {
                    Value::Text(name) => Some(Arc::clone(name)),
                    _ => None,
                };
                names.iter().map(text).collect::<Option<_>>()?
            }
            _ => return None,
        };
        if names.is_empty() {
            return self.report(say::no_typeface(expr.span));
        }
        let opened: Option<Vec<Typeface>> = names.into_iter().map(|name| self.opened(name, expr)).collect();
        Typeface::first_of(opened?)
    }

    fn opened(&mut self, name: Arc<str>, expr: &'t Expr) -> Option<Typeface> {
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

fn align_of(word: AlignWord) -> Align {
    match word {
        AlignWord::Start => Align::Start,
        AlignWord::Middle => Align::Middle,
        AlignWord::End => Align::End,
    }
}

/// How lettering faces, by the word for it.
pub fn facing_of(word: FacingWord) -> Facing {
    match word {
        FacingWord::Outward => Facing::Outward,
        FacingWord::Inward => Facing::Inward,
        FacingWord::Upright => Facing::Upright,
        FacingWord::Clockwise => Facing::Clockwise,
        FacingWord::Anticlockwise => Facing::Anticlockwise,
    }
}
