//! From evaluated items to a [`Design`]: what was left out is filled in and stated, what contradicts itself
//! is reported.

mod copies;
mod drawing;
mod ends;
mod label_height;
mod labels;
mod layers;
mod leading_zeros;
mod likely;
mod party;
mod pins;
mod pivots;
mod reader;
mod rings;
mod shop;
mod stack;
mod ticks;
mod wheels;

use std::collections::BTreeSet;

use super::evaluate::{Evaluator, Fields};
use super::expect::measures;
use super::family::Variant;
use super::names::Meaning;
use super::program::Program;
use super::value::Value;
use crate::check::findings::{dial as say, rings as of_rings, values};
use crate::design::{
    Accepted, Assumption, Depth, Design, Face, Joint, Layer, LocalDateTime, Mark, Nominal, Reading, ReadsHow, Run,
    Slot, Turn, Work,
};
use crate::diagnostics::Finding;
use crate::geometry::shapes;
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{self, Expr, ExprKind, SlotShape};
use crate::units::Length;
use crate::vocabulary::blocks::fields;
use crate::vocabulary::measures::MeasureName;
use copies::Asked;
pub(crate) use likely::Likely;
pub use shop::{Shop, doubted};

/// What assembly needs beside the evaluator.
#[derive(Clone, Copy)]
pub struct Frame<'t> {
    /// The items.
    pub program: &'t Program<'t>,
    /// The variant.
    pub variant: Option<&'t Variant>,
    /// Whether the built-in shop serves.
    pub nominal_shop: bool,
}

/// Builds the design of one variant. Problems gather in the evaluator.
pub fn assemble<'t>(eval: &mut Evaluator<'t>, frame: Frame<'t>) -> Option<Design> {
    let shop = Shop::gather(eval, frame.nominal_shop);
    let mut assembler = Assembler {
        eval,
        program: frame.program,
        shop,
        assumptions: Vec::new(),
        is_turn: Vec::new(),
        magnet_pockets: BTreeSet::new(),
        holed: BTreeSet::new(),
        asked: Vec::new(),
        lies: Vec::new(),
    };
    assembler.design(frame)
}

struct Assembler<'e, 't> {
    eval: &'e mut Evaluator<'t>,
    program: &'t Program<'t>,
    shop: Shop,
    assumptions: Vec<Assumption>,
    /// For each joint whether it turns.
    is_turn: Vec<bool>,
    /// Layer and joint of each magnet pocket made so far.
    magnet_pockets: BTreeSet<(usize, Span)>,
    /// Layers with a magnet in a hole right through.
    holed: BTreeSet<usize>,
    /// Every reading of the program by its names in the design; none for one that names something unclear.
    asked: Vec<Option<Asked>>,
    /// Where each layer lies that turns about an axis of its own.
    lies: Vec<Option<wheels::Lies>>,
}

impl<'t> Assembler<'_, 't> {
    fn assume(&mut self, what: &str, taken: String, why: &str, origin: Span) {
        self.assumptions.push(Assumption { what: what.to_owned(), taken, why: why.to_owned(), origin });
    }

    fn design(&mut self, frame: Frame<'t>) -> Option<Design> {
        let params = self.params();
        let title = self.title();
        // Everything is looked at before anything gives up, so that one run shows all that is wrong.
        let run = self.run();
        let slot = self.slot();
        let accepted = self.accepted();
        let stacked = self.stacked();
        let (layers, joints) = stacked?;
        self.materials(&layers);
        let readings = self.readings(&layers, &joints);
        self.unread(&layers, &joints);
        self.nominal(&layers, &joints);
        let (slot, run) = (slot?, run?);
        Some(Design {
            title,
            variant: frame.variant.map(|variant| variant.name.clone()),
            row: frame.variant.and_then(|variant| variant.row.clone()),
            params,
            layers,
            joints,
            readings: readings?,
            slot,
            run,
            accepted,
            assumptions: std::mem::take(&mut self.assumptions),
            spreads: self.shop.spreads,
            rates: self.shop.rates.clone(),
            printer: self.shop.printer.clone(),
            palette: self.shop.palette,
            client: self.shop.client.clone(),
            maker: self.shop.maker.clone(),
            shop: if frame.nominal_shop { None } else { self.program.shop.map(|shop| shop.value.clone()) },
        })
    }

    fn title(&mut self) -> String {
        match self.program.title {
            // One line, whatever stands in it: it begins many lines of what is printed, and must not make others.
            Some(title) => {
                let words = self.eval.words(title);
                words.map_or_else(String::new, |words| words.replace(['\n', '\r', '\u{2028}', '\u{2029}'], " "))
            }
            None => {
                let shop = self.program.shop.map(|shop| shop.span).filter(|span| self.eval.is_own(*span));
                self.eval.problems.push(say::no_title(shop, self.eval.own_start()));
                String::new()
            }
        }
    }

    fn params(&mut self) -> Vec<(String, String)> {
        let params = self.program.params.iter();
        params
            .filter_map(|param| Some((param.name.text.clone(), self.eval.named(&param.name.text)?.to_string())))
            .collect()
    }

    fn stacked(&mut self) -> Option<(Vec<Layer>, Vec<Joint>)> {
        let built: Vec<(&str, Option<Layer>)> =
            self.program.layers.iter().map(|layer| (layer.name.text.as_str(), self.layer(layer))).collect();
        let order = self.order()?;
        self.is_turn = order.joints.iter().map(|joint| !matches!(joint, stack::Written::Glue { .. })).collect();
        let trees: Option<Vec<(usize, &'t tree::Layer)>> = order
            .layers
            .iter()
            .enumerate()
            .map(|(at, copy)| match self.eval.names().get(&copy.layer.text, None)?.meaning {
                Meaning::Layer(layer) => Some((at, layer)),
                _ => None,
            })
            .collect();
        self.asked = self.asked(&order);
        let trees = trees?;
        let rings = self.written_rings(&trees, &order);
        let layers: Option<Vec<Layer>> = order
            .layers
            .iter()
            .map(|copy| {
                let (_, layer) = built.iter().find(|(known, _)| *known == copy.layer.text)?;
                Some(order.made(copy, layer.as_ref()?))
            })
            .collect();
        let (mut layers, rings) = (layers?, rings?);
        self.lies = self.lying(&order, &layers)?;
        // In this order because each needs the one before: openings tell how many stops the readings suggest, stops
        // make the joints, and the joints tell where and how high the labels of a ring are.
        let places: Vec<Option<rings::ReadAt>> = rings.iter().map(|ring| self.read_at(ring, &layers)).collect();
        let suggested = self.suggested_stops(&rings, &places, order.joints.len());
        let joints = self.joints(&order, &mut layers, &suggested)?;
        let mut whole = true;
        for (written, place) in rings.iter().zip(&places) {
            match self.ring(written, place.as_ref(), &joints) {
                Some((ring, ticks)) => {
                    let layer = layers.get_mut(written.layer)?;
                    layer.rings.push(ring);
                    layer.marks.extend(ticks);
                }
                None => whole = false,
            }
        }
        whole &= self.around_rings(&trees, &order, &mut layers).is_some();
        whole.then_some((layers, joints))
    }

    fn readings(&mut self, layers: &[Layer], joints: &[Joint]) -> Option<Vec<Reading>> {
        let mut readings = Vec::new();
        let mut whole = true;
        let asked = std::mem::take(&mut self.asked);
        for (reads, asked) in self.program.reads.iter().zip(&asked) {
            match asked.as_ref().and_then(|asked| self.reading(reads, asked, layers, joints)) {
                Some(reading) => readings.push(reading),
                None => whole = false,
            }
        }
        self.asked = asked;
        whole.then_some(readings)
    }

    /// Whether all names of a reading stand for things; one that does not was reported by the type checker.
    fn names_known(&self, reads: &tree::Reads) -> bool {
        let is_known = |name: &tree::Name| {
            self.eval.names().get(&name.text, None).is_some_and(|found| found.meaning.thing().is_some())
        };
        reads.by.iter().chain([&reads.ring]).map(|piece| &piece.name).all(is_known)
    }

    fn reading(
        &mut self,
        reads: &'t tree::Reads,
        asked: &Asked,
        layers: &[Layer],
        joints: &[Joint],
    ) -> Option<Reading> {
        let distance = match &reads.distance {
            Some(distance) => Some(self.reading_distance(distance)?),
            None => None,
        };
        if !self.names_known(reads) {
            return None;
        }
        let mut rings =
            layers.iter().enumerate().flat_map(|(at, layer)| layer.rings.iter().map(move |ring| (at, ring)));
        let Some((ring_layer, face)) =
            rings.find(|(_, ring)| ring.name == asked.ring).map(|(at, ring)| (at, ring.face))
        else {
            return self.eval.report(of_rings::ring_not_in_stack(&reads.ring.name));
        };
        let ring_name = &reads.ring.name;
        for (name, key) in reads.by.iter().map(|piece| &piece.name).zip(&asked.by) {
            let Some((at, mark)) = find_mark(layers, key) else {
                return self.eval.report(of_rings::mark_not_in_stack(name));
            };
            if !may_read(reads.how, &mark.work) {
                return self.eval.report(of_rings::not_read_so(name, reads.how, mark.origin));
            }
            if !self.readable(wheels::Seen { ring: ring_name, face, on: ring_layer, by: name, at }) {
                return None;
            }
            // A ring on a back is looked at from behind, through what lies beneath it.
            let hides = if face == Face::Front { at <= ring_layer } else { at == ring_layer };
            if reads.how == ReadsHow::Through && hides {
                return self.eval.report(of_rings::opening_below_ring(name, ring_name, mark.origin));
            }
            let crossed: Vec<&Turn> = self.crossed(joints, ring_layer, at);
            match crossed.as_slice() {
                [] => return self.eval.report(of_rings::nothing_turns_between(name, ring_name)),
                // Told once, though several openings may be looked through.
                [only] if name.span == reads.by.first().map_or(name.span, |first| first.name.span) => {
                    self.labels_for_stops(&asked.ring, layers, only);
                }
                _ => {}
            }
        }
        let (ring, by, how) = (asked.ring.clone(), asked.by.clone(), reads.how);
        let stated = self.is_stated(&reads.by);
        Some(Reading { ring, how, by, distance, stated, origin: reads.span })
    }

    /// Whether an expectation says what shows through one of these openings.
    fn is_stated(&self, by: &[tree::Piece]) -> bool {
        let mut calls = Vec::new();
        self.program.expects.iter().for_each(|expect| measures(&expect.condition, &mut calls));
        calls.iter().any(|call| match &call.kind {
            ExprKind::Call { function, arguments } => {
                let named = |name: &str| by.iter().any(|opening| opening.name.text == name);
                function.text == MeasureName::Shows.word()
                    && arguments.iter().any(|one| matches!(&one.value.kind, ExprKind::Name(name) if named(name)))
            }
            _ => false,
        })
    }

    /// However far away it is: nothing is drawn by it.
    fn reading_distance(&mut self, expr: &'t Expr) -> Option<Length> {
        let distance = self.eval.far(expr)?;
        if distance.as_mm() > 0.0 {
            Some(distance)
        } else {
            self.eval.report(values::not_positive("the reading distance", distance.quantity(), expr.span))
        }
    }

    /// With one turn between, there should be a label for every stop and a stop for every label.
    fn labels_for_stops(&mut self, name: &str, layers: &[Layer], turn: &Turn) {
        let ring = layers.iter().flat_map(|layer| &layer.rings).find(|ring| ring.name == name);
        let Some(ring) = ring.filter(|ring| ring.labels.len() != turn.stops.len()) else { return };
        let finding =
            of_rings::labels_and_stops(&ring.name, ring.labels.len(), turn.stops.len(), ring.origin, turn.origin);
        self.eval.problems.push(finding);
    }

    /// Rings of a dial that turns which nothing reads, so that nothing of them is proven.
    fn unread(&mut self, layers: &[Layer], joints: &[Joint]) {
        if !joints.iter().any(|joint| matches!(joint, Joint::Turn(_))) {
            return;
        }
        let is_read = |name: &str| self.asked.iter().flatten().any(|asked| asked.ring == name);
        let unread = layers.iter().flat_map(|layer| &layer.rings).filter(|ring| !is_read(&ring.name));
        let found: Vec<_> = unread.map(|ring| of_rings::ring_not_read(&ring.name, ring.origin)).collect();
        self.eval.problems.extend(found);
    }

    /// Reports materials that the language does not know, each stock once.
    fn materials(&mut self, layers: &[Layer]) {
        let mut seen: BTreeSet<&str> = BTreeSet::new();
        let stocks = layers.iter().map(|layer| &layer.stock).filter(|stock| seen.insert(&stock.name));
        stocks.filter_map(doubted).for_each(|found| self.eval.problems.push(found));
    }

    /// Says that figures nobody measured were used.
    fn nominal(&mut self, layers: &[Layer], joints: &[Joint]) {
        let Nominal { figures, depths } = Nominal::of(layers, joints);
        if !figures.is_empty() {
            self.eval.problems.push(say::nominal_figures(figures));
        }
        if !depths.is_empty() {
            let unmeasured = |layer: &&Layer| depths.contains(layer.stock.name.as_str());
            let at = layers.iter().filter(unmeasured).filter_map(|layer| layer.stock.origin);
            self.eval.problems.push(say::nominal_depths(depths.iter().copied(), at));
        }
    }

    /// `Some(None)` where there is no slot, `None` where it is at fault.
    fn slot(&mut self) -> Option<Option<Slot>> {
        let Some(slot) = self.program.slot else { return Some(None) };
        let (outline, depth) = match &slot.shape {
            SlotShape::Region { region, depth } => {
                let (region, depth) = (self.eval.region(region), self.eval.size(depth, "the depth"));
                (region?, Some(depth?))
            }
            SlotShape::Box(size) => {
                let sides: Vec<_> =
                    size.sides.iter().map(|side| self.eval.size(side, "each side of the slot")).collect();
                let sides: Option<Vec<_>> = sides.into_iter().collect();
                let sides = sides?;
                let [width, height, rest @ ..] = sides.as_slice() else { return None };
                let region = self.eval.shaped(shapes::rectangle(width.as_mm(), height.as_mm(), 0.0), size.span)?;
                (region, rest.first().copied())
            }
        };
        Some(Some(Slot { outline, depth, origin: slot.span }))
    }

    fn run(&mut self) -> Option<Run> {
        let Some(run) = self.program.run else {
            return Some(Run { dials: 1, spares: 0, margin: None, gap: None, wanted: None, origin: None });
        };
        let most = u32::try_from(limits::RUN_DIALS).unwrap_or(u32::MAX);
        let dials = self.eval.count(&run.dials, "the number of dials", 1, most);
        let given = Fields::of(&run.fields);
        let spares = match given.expr(fields::Run::Spares) {
            Some(spares) => self.eval.count(spares, "the number of spares", 0, most),
            None => Some(0),
        };
        let mut distance = |name: fields::Run| match given.expr(name) {
            Some(expr) => self.eval.distance(expr, &format!("`{}`", name.word())).map(Some),
            None => Some(None),
        };
        let (margin, gap) = (distance(fields::Run::Margin), distance(fields::Run::Gap));
        let wanted = given.expr(fields::Run::Wanted).map_or(Some(None), |wanted| self.local_time(wanted).map(Some));
        Some(Run {
            dials: dials?,
            spares: spares?,
            margin: margin?,
            gap: gap?,
            wanted: wanted?,
            origin: Some(run.span),
        })
    }

    fn local_time(&mut self, written: &'t Expr) -> Option<LocalDateTime> {
        let Value::Text(text) = self.eval.value(written)? else { return None };
        let time = LocalDateTime::parse(&text);
        if time.is_none() {
            self.eval.problems.push(values::bad_moment(&text, written.span));
        }
        time
    }

    fn accepted(&mut self) -> Vec<Accepted> {
        let unknown = self.program.accepts.iter().filter(|accept| Finding::named(&accept.finding.text).is_none());
        self.eval.problems.extend(unknown.map(|accept| say::unknown_finding(&accept.finding)));
        self.program.accepted()
    }
}

fn find_mark<'d>(layers: &'d [Layer], name: &str) -> Option<(usize, &'d Mark)> {
    layers.iter().enumerate().find_map(|(at, layer)| {
        layer.marks.iter().find(|mark| mark.name.as_deref() == Some(name)).map(|mark| (at, mark))
    })
}

/// Whether work of this kind can be read through, or beside.
fn may_read(how: ReadsHow, work: &Work) -> bool {
    match how {
        ReadsHow::Through => {
            matches!(work, Work::Window | Work::Hole | Work::Bare | Work::Pocket { depth: Depth::Through })
        }
        ReadsHow::Beside => {
            matches!(work, Work::Engrave { .. } | Work::Score | Work::Print { .. } | Work::Window | Work::Hole)
        }
    }
}
