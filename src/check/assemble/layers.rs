//! Layers: their outlines and the marks on their faces, rings apart.

use std::sync::Arc;

use kurbo::{Affine, Point};

use super::Assembler;
use super::stack::Order;
use crate::check::evaluate::Fields;
use crate::check::findings::dial as say;
use crate::check::value::{Figure, Value};
use crate::design::{
    Depth, Face, FlipChoice, Ink, Kept, Layer, Lettering, Mark, PocketDepth, Shape, Stock, Tone, Wait, Work,
};
use crate::diagnostics::{Diagnostic, Finding};
use crate::geometry::{Region, Trace, polar};
use crate::source::Span;
use crate::syntax::tree::{self, ExprKind, FlipWay, LayerItem, Marked, TailKind};
use crate::units::{Angle, Length};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::items::LayerWord;

/// How much of a tick across the rim lies on the part, in mm.
const WITNESS_MM: f64 = 1.0;

impl<'t> Assembler<'_, 't> {
    /// The thing of the shop that a name stands for: itself, or the one that a param of this name is set to.
    fn thing(&mut self, name: &'t str) -> Arc<str> {
        match self.eval.named(name) {
            Some(Value::Thing(thing)) => thing,
            _ => name.into(),
        }
    }

    /// A layer with everything but its rings and what the joints add.
    pub(super) fn layer(&mut self, layer: &'t tree::Layer) -> Option<Layer> {
        let stock = self.thing(&layer.stock.text);
        let stock: Option<Stock> = self.shop.stocks.get(&*stock).cloned();
        self.eval.enter(Some(&layer.name.text));
        let outline = self.outline(layer);
        let mut marks = Some(Vec::new());
        let mut flip = FlipChoice::Chosen;
        let (mut grain, mut finish, mut witness) = (None, None, None);
        for item in &layer.items {
            match item {
                // It waits until the labels stand.
                LayerItem::Mark(mark) if leaves_rings(layer, mark) => {}
                LayerItem::Mark(mark) => {
                    let made = self.mark(mark, stock.as_ref());
                    marks = marks.zip(made).map(|(marks, made)| [marks, made].concat());
                }
                LayerItem::Flip(asked) => flip = self.flip(asked).unwrap_or(flip),
                LayerItem::Field(field) => {
                    let one = Fields::of(std::slice::from_ref(field));
                    match fields::Layer::of_word(&field.name.text) {
                        Some(name @ fields::Layer::Grain) => {
                            grain = one.expr(name).and_then(|expr| self.eval.angle(expr));
                        }
                        Some(name @ fields::Layer::Witness) => {
                            let at = one.expr(name).and_then(|expr| self.eval.angle(expr));
                            witness = at.map(|at| (at, field.span));
                        }
                        Some(name @ fields::Layer::Finish) => {
                            let named = one.word(name).map(|name| self.thing(name));
                            self.eval.enter(Some(&layer.name.text));
                            finish = named.and_then(|name| self.shop.finishes.get(&*name)).cloned();
                        }
                        None => {}
                    }
                }
                LayerItem::Let(_) | LayerItem::Outline(_) => {}
            }
        }
        self.eval.enter(None);
        let (outline, outline_origin) = outline?;
        let stock = stock?;
        // An outline drawn with holes in it is taken apart: from here on a layer's outline is its outer edge alone,
        // and all that is missing inside it is a mark.
        let holes = outline.holes().into_iter().map(|hole| Mark {
            name: None,
            face: Face::Front,
            work: Work::Hole,
            shape: Shape::Region(hole),
            lettering: None,
            origin: outline_origin,
        });
        let waits = self.waits(layer)?;
        let outer = outline.outer();
        let tick = match witness {
            Some(witness) => {
                Some(self.tick_over_rim(&layer.name, &outer, witness, marks.as_deref().unwrap_or_default(), &waits)?)
            }
            None => None,
        };
        let marks: Vec<Mark> = holes.chain(marks?).chain(tick).collect();
        let name = layer.name.text.clone();
        Some(Layer {
            of: name.clone(),
            name,
            stock,
            outline: outer,
            outline_origin,
            marks,
            rings: Vec::new(),
            finish,
            flip,
            waits,
            grain,
            witness,
            origin: layer.name.span,
            kept: Kept::default(),
        })
    }

    /// What of a tick across the rim lies on the part: on the face that is worked first, so that it is there before the part is
    /// lifted out.
    fn tick_over_rim(
        &mut self,
        layer: &tree::Name,
        outline: &Region,
        (bearing, origin): (Angle, Span),
        marks: &[Mark],
        waits: &[Wait],
    ) -> Option<Mark> {
        let waits_on = |face: Face| {
            marks.iter().any(|mark| mark.face == face && waits.iter().any(|wait| wait.mark == mark.origin))
        };
        let face = if waits_on(Face::Front) && !waits_on(Face::Back) { Face::Back } else { Face::Front };
        let Some(rim) = rim_at(outline, bearing) else {
            return self.eval.report(say::witness_misses(&layer.text, bearing, origin));
        };
        let [from, to] = [rim - WITNESS_MM, rim].map(|radius| polar(radius.max(0.0), bearing));
        let shape = Shape::Trace(self.eval.shaped(Trace::line(&[from, to]), origin)?);
        Some(Mark { name: None, face, work: Work::Score, shape, lettering: None, origin })
    }

    /// The marks that leave rings of their layer standing, on every copy of it that lies in the stack; `None` where one is at fault.
    pub(super) fn around_rings(
        &mut self,
        trees: &[(usize, &'t tree::Layer)],
        order: &Order<'t>,
        layers: &mut [Layer],
    ) -> Option<()> {
        let mut whole = true;
        for (at, tree) in trees {
            let (Some(layer), Some(copy)) = (layers.get_mut(*at), order.layers.get(*at)) else { continue };
            let marks = tree.items.iter().filter_map(|item| match item {
                LayerItem::Mark(mark) if leaves_rings(tree, mark) => Some(mark),
                _ => None,
            });
            for mark in marks {
                let stands = |name: &'t str| {
                    let key = order.key(copy, name);
                    let ring = layer.rings.iter().find(|ring| ring.name == key)?;
                    let labels = Region::union_of(ring.labels.iter().map(|label| &label.ink));
                    Some((name, Value::Region(Figure::plain(labels))))
                };
                let standing = tree.left_standing(mark.on()).filter_map(stands).collect();
                self.eval.enter(Some(&tree.name.text));
                let stock = layer.stock.clone();
                self.eval.also_know(standing);
                let made = self.mark(mark, Some(&stock));
                self.eval.also_know(Vec::new());
                self.eval.enter(None);
                whole &= made.is_some();
                let named = |mark: Mark| Mark { name: mark.name.map(|name| order.key(copy, &name)), ..mark };
                layer.marks.extend(made.into_iter().flatten().map(named));
            }
        }
        whole.then_some(())
    }

    /// What waits for what; none where some wait for each other.
    fn waits(&mut self, layer: &'t tree::Layer) -> Option<Vec<Wait>> {
        let marks = layer.items.iter().filter_map(|item| if let LayerItem::Mark(it) = item { Some(it) } else { None });
        let waits: Vec<Wait> = marks
            .flat_map(|mark| {
                mark.tails.iter().filter(|tail| tail.kind == TailKind::After).map(move |tail| (mark, tail))
            })
            .filter_map(|(mark, tail)| {
                let ExprKind::Name(after) = &tail.value.as_ref()?.kind else { return None };
                let Marked::Shape { name, .. } = &mark.what else { return None };
                let name = name.as_ref().map(|name| name.text.clone());
                Some(Wait { mark: mark.span, name, after: after.clone(), origin: tail.span })
            })
            .collect();
        let circular = waits.iter().find(|wait| {
            // As many steps as there are waits lead out of every chain that has an end.
            let mut reached: Vec<&str> = vec![&wait.after];
            for _ in 0..waits.len() {
                let next = waits.iter().filter(|it| it.name.as_deref().is_some_and(|name| reached.contains(&name)));
                reached = next.map(|it| it.after.as_str()).collect();
                reached.sort_unstable();
                reached.dedup();
            }
            !reached.is_empty()
        });
        match circular {
            Some(wait) => self.eval.report(say::waits_in_a_circle(&layer.name.text, wait)),
            None => Some(waits),
        }
    }

    fn outline(&mut self, layer: &'t tree::Layer) -> Option<(Region, Span)> {
        let own = layer.items.iter().filter_map(|item| match item {
            LayerItem::Outline(outline) => Some(outline),
            _ => None,
        });
        let own: Vec<&tree::Outline> = own.collect();
        if let [first, again, ..] = own.as_slice() {
            self.eval.problems.push(say::item_twice(LayerWord::Outline.word(), again.span, first.span));
        }
        let Some(outline) = own.first().copied().or(self.program.outline) else {
            return self.eval.report(say::no_outline(&layer.name));
        };
        let region = self.eval.region(&outline.value)?;
        let pieces = region.pieces().len();
        if pieces != 1 {
            let span = outline.value.span;
            // An outline that several layers share is reported once.
            let known = |found: &Diagnostic| found.finding == Finding::OutlineInPieces && found.span() == Some(span);
            if self.eval.problems.iter().any(known) {
                return None;
            }
            return self.eval.report(say::outline_in_pieces(&layer.name.text, pieces, span));
        }
        Some((region, outline.value.span))
    }

    fn flip(&mut self, flip: &'t tree::Flip) -> Option<FlipChoice> {
        match &flip.way {
            FlipWay::Board => Some(FlipChoice::Board(flip.span)),
            FlipWay::Holder => Some(FlipChoice::Holder(flip.span)),
            FlipWay::About(bearing) => {
                let bearing = self.eval.angle(bearing)?;
                // A line has no direction: about 180deg is about 0deg.
                Some(FlipChoice::About(Angle::degrees(bearing.as_degrees().rem_euclid(180.0)), flip.span))
            }
        }
    }

    /// The marks that one line asks for, one for each region or trace; none where it is at fault. Rings come
    /// later, when it is known what they are read through.
    fn mark(&mut self, mark: &'t tree::Mark, stock: Option<&Stock>) -> Option<Vec<Mark>> {
        let Marked::Shape { name, value } = &mark.what else { return Some(Vec::new()) };
        let face = mark.face.map_or(Face::Front, |(face, _)| face);
        self.eval.face(face);
        let own_colours = mark.work == tree::Work::Print && mark.tails.iter().all(|tail| tail.kind != TailKind::Colour);
        self.eval.in_colours(own_colours);
        let shapes = self.eval.value(value);
        self.eval.in_colours(false);
        self.eval.begin(mark.span);
        self.eval.face(Face::Front);
        let work = if own_colours { None } else { Some(self.work(mark, stock)?) };
        let shapes = shapes?;
        let mut found = Vec::new();
        flatten(&shapes, &mut found);
        // A value that is no list was of the wrong kind, which has been reported.
        if found.is_empty() && is_empty_list(&shapes) {
            self.eval.problems.push(say::nothing_to_mark(value.span));
        }
        let name = name.as_ref().map(|name| name.text.clone());
        let made = |(shape, lettering, colour): Drawn| {
            let work = match colour.filter(|_| own_colours) {
                Some(colour) => Work::Print { colour },
                None => work.clone()?,
            };
            Some(Mark { name: name.clone(), face, work, shape, lettering, origin: mark.span })
        };
        match found.into_iter().map(made).collect() {
            Some(marks) => Some(marks),
            None => self.eval.report(say::no_colour(mark.work, mark.work_span)),
        }
    }

    fn work(&mut self, mark: &'t tree::Mark, stock: Option<&Stock>) -> Option<Work> {
        let tail = |kind| mark.tails.iter().find(|tail| tail.kind == kind);
        let value = |kind| tail(kind).and_then(|tail| tail.value.as_ref());
        Some(match mark.work {
            tree::Work::Engrave => Work::Engrave {
                tone: match value(TailKind::Tone) {
                    Some(tone) => self.tone(tone)?,
                    None => 1.0,
                },
                depth: match value(TailKind::Depth) {
                    Some(depth) => Some(self.eval.size(depth, "the depth")?),
                    None => None,
                },
                ink: self.ink(value(TailKind::Ink), value(TailKind::Colour))?,
            },
            tree::Work::Score => Work::Score,
            tree::Work::Pocket => Work::Pocket { depth: self.depth(mark, stock)? },
            tree::Work::Hole => Work::Hole,
            tree::Work::Window => Work::Window,
            tree::Work::Bare => Work::Bare,
            tree::Work::Paint | tree::Work::Print => {
                let Some(colour) = value(TailKind::Colour) else {
                    return self.eval.report(say::no_colour(mark.work, mark.work_span));
                };
                let colour = self.colour(colour)?;
                if mark.work == tree::Work::Print { Work::Print { colour } } else { Work::Paint { colour } }
            }
        })
    }

    /// What an engraving is filled with, and in what colour; none where the maker names nothing.
    #[allow(clippy::option_option, reason = "none at all where it is at fault")]
    pub(super) fn ink(&mut self, name: Option<&'t tree::Expr>, colour: Option<&'t tree::Expr>) -> Option<Option<Ink>> {
        let colour = match colour {
            Some(colour) => Some(self.colour(colour)?),
            None => None,
        };
        let Some(name) = name else { return Some(None) };
        Some(Some(Ink { name: self.eval.words(name)?.to_string(), colour }))
    }

    fn colour(&mut self, expr: &'t tree::Expr) -> Option<Tone> {
        match self.eval.value(expr)? {
            Value::Colour(colour) => Some(colour),
            _ => None,
        }
    }

    fn depth(&mut self, mark: &'t tree::Mark, stock: Option<&Stock>) -> Option<Depth> {
        match mark.tails.iter().find(|tail| tail.kind == TailKind::Depth) {
            Some(tail) => match &tail.value {
                Some(depth) => {
                    let depth = self.eval.size(depth, "the depth")?;
                    Some(Depth::Down(stock.map_or(depth.into(), |stock| PocketDepth::by(&stock.passes, depth))))
                }
                None => Some(Depth::Through),
            },
            None => self.eval.report(say::pocket_without_depth(mark.work_span)),
        }
    }

    /// A ratio above 0, up to 1.
    pub(super) fn tone(&mut self, expr: &'t tree::Expr) -> Option<f64> {
        let tone = self.eval.quantity(expr)?;
        if tone.value > 0.0 && tone.value <= 1.0 {
            Some(tone.value)
        } else {
            self.eval.report(say::bad_tone(tone, expr.span))
        }
    }

    /// The pocket that the maker drew over the axis on this face of the layer, or a hole or window there that is wide
    /// enough for a disc of this radius in mm; its depth. Whether a magnet goes into it is for the audit to say.
    pub(super) fn drawn_seat(layer: &Layer, (face, about): (Face, Point), radius: f64) -> Option<(Depth, String)> {
        let disc = crate::geometry::shapes::circle(radius).ok()?.transformed(Affine::translate(about.to_vec2()));
        let fits = |mark: &&Mark| match (&mark.work, &mark.shape) {
            (Work::Pocket { .. }, Shape::Region(region)) => mark.face == face && region.contains(about),
            // What the maker has drawn over the axis is taken for the magnet's seat as it is; whatever is wrong with
            // it is for the audit to find. A window beside the axis only grazes it and is none.
            (Work::Hole | Work::Window, Shape::Region(region)) => region.covers(&disc),
            _ => false,
        };
        layer.marks.iter().find(fits).map(|mark| {
            let depth = match mark.work {
                Work::Pocket { depth } => depth,
                _ => Depth::Through,
            };
            (depth, mark.name.clone().unwrap_or_else(|| "the pocket round the axis".to_owned()))
        })
    }
}

/// How far from the axis an outline ends at a bearing, in mm; none where nothing of it lies there.
fn rim_at(outline: &Region, bearing: Angle) -> Option<f64> {
    let bounds = outline.bounds()?;
    let far = bounds.x0.abs().max(bounds.x1.abs()).hypot(bounds.y0.abs().max(bounds.y1.abs())) + 1.0;
    let across = Trace::line(&[Point::ZERO, polar(far, bearing)]).ok()?.within(outline);
    across.path().elements().last()?.end_point().map(|at| at.to_vec2().hypot())
}

/// Whether a mark leaves rings of its layer standing, so that it can be worked out only when their labels stand.
fn leaves_rings(layer: &tree::Layer, mark: &tree::Mark) -> bool {
    fn says(expr: &tree::Expr, name: &str) -> bool {
        matches!(&expr.kind, ExprKind::Name(known) if known == name)
            || expr.parts().into_iter().any(|part| says(part, name))
    }
    let Marked::Shape { value, .. } = &mark.what else { return false };
    mark.may_leave_standing() && layer.left_standing(mark.on()).any(|ring| says(value, ring))
}

/// Whether it is a list with nothing in it, or with nothing but such lists.
fn is_empty_list(value: &Value) -> bool {
    matches!(value, Value::List(items) if items.iter().all(is_empty_list))
}

/// A shape with the words that it is, and the colour that a drawing has it in.
type Drawn = (Shape, Option<Lettering>, Option<Tone>);

/// Every region and trace of a value, lists walked in order.
fn flatten(value: &Value, into: &mut Vec<Drawn>) {
    match value {
        Value::Region(figure) => {
            into.push((Shape::Region((*figure.region).clone()), figure.lettering.clone(), figure.colour));
        }
        Value::Trace(line) => into.push((Shape::Trace((*line.trace).clone()), line.lettering.clone(), None)),
        Value::List(items) => items.iter().for_each(|item| flatten(item, into)),
        _ => {}
    }
}

/// Depth shown to people.
pub(super) fn depth_shown(depth: Depth) -> String {
    match depth {
        Depth::Down(depth) => depth.to_string(),
        Depth::Through => "through".to_owned(),
    }
}

/// Thickness of a layer.
pub(super) fn thickness(layer: &Layer) -> Length {
    layer.stock.thickness.mean
}
