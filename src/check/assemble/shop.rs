//! Stocks, magnets, rivets and adhesives from their blocks; pins stand in `pins`.

use std::collections::BTreeMap;

use super::drawing::palette;
use super::likely::{Figure, doubt};
use super::party::{client, maker};
use super::reader::Reader;
use crate::check::evaluate::{Evaluator, Fields};
use crate::check::findings::{dial as say, magnets, values};
use crate::check::names::Meaning;
use crate::check::value::Value;
use crate::design::{
    Adhesive, Fastener, Finish, Head, KNOWN_MATERIALS, Magnet, Material, Palette, Party, PassDepths, Pin, Printer,
    Rates, Rivet, Speeds, Spreads, Steel, Stock,
};
use crate::diagnostics::{Diagnostic, suggest};
use crate::geometry::Region;
use crate::limits;
use crate::source::Span;
use crate::syntax::tree::{ExprKind, Thing};
use crate::units::{Angle, FluxDensity, Length, Mass, Pressure, Time};
use crate::vocabulary::blocks::fields;
use crate::vocabulary::choices::StainedWord;
use crate::vocabulary::types::ThingKind;
use crate::vocabulary::usual;

/// Everything the shop has.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    /// Stocks by name.
    pub stocks: BTreeMap<String, Stock>,
    /// Magnets and washers by name.
    pub magnets: BTreeMap<String, Magnet>,
    /// Rivets by name.
    pub rivets: BTreeMap<String, Rivet>,
    /// Pins by name.
    pub pins: BTreeMap<String, Pin>,
    /// Adhesives by name.
    pub adhesives: BTreeMap<String, Adhesive>,
    /// Finishes by name.
    pub finishes: BTreeMap<String, Finish>,
    /// How far what it makes strays.
    pub spreads: Spreads,
    /// What its time costs.
    pub rates: Rates,
    /// What it prints on sheets with.
    pub printer: Printer,
    /// How it wants its drawings.
    pub palette: Palette,
    /// Whom it works for.
    pub client: Option<Party>,
    /// Who it is.
    pub maker: Option<Party>,
}

impl Shop {
    /// Whether one of its things has this name.
    pub fn has(&self, name: &str) -> bool {
        self.names().any(|known| known == name)
    }

    /// The names of its things.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        let held = self.stocks.keys().chain(self.magnets.keys()).chain(self.rivets.keys()).chain(self.pins.keys());
        held.chain(self.adhesives.keys()).chain(self.finishes.keys()).map(String::as_str)
    }

    /// Evaluates every block.
    pub fn gather(eval: &mut Evaluator<'_>, nominal: bool) -> Self {
        let mut shop = Self::default();
        let [mut stated, mut rated, mut drawn, mut printed, mut meant_for, mut made_by]: [Option<Span>; 6] = [None; 6];
        let mut glued_with: BTreeMap<String, String> = BTreeMap::new();
        let mut rubbed: Vec<([String; 2], Vec<Angle>)> = Vec::new();
        for (name, definition) in eval.names().iter() {
            let Meaning::Thing(kind, thing) = definition.meaning else { continue };
            let name = name.to_owned();
            match kind {
                ThingKind::Stock => shop.stocks.extend(stock(eval, thing, nominal).map(|made| (name, made))),
                ThingKind::Magnet => {
                    let glue = Fields::of(&thing.fields).word(fields::Magnet::Adhesive);
                    glued_with.extend(glue.map(|glue| (name.clone(), glue.to_owned())));
                    shop.magnets.extend(magnet(eval, thing, nominal).map(|made| (name, made)));
                }
                ThingKind::Washer => {
                    let glue = Fields::of(&thing.fields).word(fields::Washer::Adhesive);
                    glued_with.extend(glue.map(|glue| (name.clone(), glue.to_owned())));
                    shop.magnets.extend(washer(eval, thing).map(|made| (name, made)));
                }
                ThingKind::Rivet => shop.rivets.extend(rivet(eval, thing).map(|made| (name, made))),
                ThingKind::Pin => {
                    if let Some((made, named)) = super::pins::pin(eval, thing) {
                        glued_with.extend(named.map(|glue| (name.clone(), glue)));
                        shop.pins.insert(name, made);
                    }
                }
                ThingKind::Adhesive => shop.adhesives.extend(adhesive(eval, thing).map(|made| (name, made))),
                ThingKind::Friction => rubbed.extend(friction(eval, thing)),
                ThingKind::Finish => shop.finishes.extend(finish(eval, thing).map(|made| (name, made))),
                ThingKind::Rates => {
                    once(eval, thing, &mut rated);
                    shop.rates = rates(eval, thing).unwrap_or(shop.rates);
                }
                ThingKind::Printer => {
                    once(eval, thing, &mut printed);
                    shop.printer = printer(eval, thing).unwrap_or(shop.printer);
                }
                ThingKind::Drawing => {
                    once(eval, thing, &mut drawn);
                    shop.palette = palette(eval, thing).unwrap_or(shop.palette);
                }
                ThingKind::Client => {
                    once(eval, thing, &mut meant_for);
                    shop.client = client(eval, thing).or(shop.client);
                }
                ThingKind::Maker => {
                    once(eval, thing, &mut made_by);
                    shop.maker = maker(eval, thing).or(shop.maker);
                }
                ThingKind::Spreads => {
                    once(eval, thing, &mut stated);
                    shop.spreads = spreads(eval, thing).unwrap_or(shop.spreads);
                }
                ThingKind::Layer | ThingKind::Ring | ThingKind::Mark | ThingKind::Seek => {}
            }
        }
        shop.glue_magnets(&glued_with);
        shop.glue_dowels(&glued_with);
        for ([one, other], tilts) in rubbed {
            for (of, on) in [(&one, &other), (&other, &one)] {
                let stock = shop.stocks.get_mut(of);
                stock.into_iter().for_each(|stock| stock.tilts_on.entry(on.clone()).or_default().extend(&tilts));
            }
        }
        shop
    }

    /// Gives every magnet the adhesive it names, else the first by name.
    fn glue_magnets(&mut self, named: &BTreeMap<String, String>) {
        for (name, magnet) in &mut self.magnets {
            let chosen =
                named.get(name).map_or_else(|| self.adhesives.values().next(), |glue| self.adhesives.get(glue));
            magnet.adhesive = chosen.cloned();
        }
    }
}

/// Of some blocks there may be only one.
fn once(eval: &mut Evaluator<'_>, thing: &Thing, stated: &mut Option<Span>) {
    if let Some(first) = *stated {
        eval.problems.push(say::item_twice(&thing.kind.text, thing.name.span, first));
    }
    *stated = Some(thing.name.span);
}

impl Reader<'_, '_, fields::Stock> {
    /// What a stock is made of, none where that is not said; at fault where that, or the stock's name, holds chlorine.
    fn material(&mut self, thing: &Thing) -> Option<Option<String>> {
        let said = self.text(fields::Stock::Material);
        let place = self.fields.expr(fields::Stock::Material).map_or(thing.name.span, |expr| expr.span);
        match said.as_deref().map(Material::named) {
            Some(Material::Known) => Some(said),
            Some(Material::Chlorine) => {
                self.eval.report(say::chlorine_in_stock(&thing.name.text, said.as_deref().unwrap_or_default(), place))
            }
            // Refused wherever it stands in a shop, used or not: chlorine harms whoever breathes it, and the machine.
            _ if Material::named(&thing.name.text) == Material::Chlorine => {
                self.eval.report(say::chlorine_in_stock(&thing.name.text, &thing.name.text, thing.name.span))
            }
            _ => Some(said),
        }
    }

    fn board(&mut self) -> Option<(Length, Length)> {
        let [width, height] = self.fields.sides(fields::Stock::Board)? else { return None };
        let (width, height) =
            (self.eval.size(width, "the board's width"), self.eval.size(height, "the board's height"));
        Some((width?, height?))
    }

    fn passes(&mut self) -> Option<PassDepths> {
        let Some(expr) = self.fields.expr(fields::Stock::Passes) else { return Some(PassDepths::default()) };
        let value = self.eval.value(expr)?;
        let length = |value: &Value| Length::from_quantity(value.quantity()?);
        let readings_of = |value: &Value| match value {
            Value::List(readings) => readings.iter().map(length).collect(),
            value => Some(vec![length(value)?]),
        };
        let by_pass: Option<Vec<Vec<Length>>> = value.items()?.iter().map(readings_of).collect();
        let depths = PassDepths::new(by_pass?);
        let bad = depths.readings().iter().flatten().find(|reading| reading.as_mm() <= 0.0);
        if bad.is_some() || depths.readings().iter().any(Vec::is_empty) {
            return self.eval.report(say::bad_reading(fields::Stock::Passes.word(), bad.copied(), expr.span));
        }
        if let Some(long) = depths.readings().iter().flatten().find(|reading| reading.as_mm() > limits::LENGTH_MM) {
            return self.eval.report(values::too_long(*long, expr.span));
        }
        if depths.rises() { Some(depths) } else { self.eval.report(say::passes_not_rising(expr.span)) }
    }
}

fn stock<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing, nominal: bool) -> Option<Stock> {
    use fields::Stock as Of;
    let fields = &mut Reader::of(eval, thing);
    let thickness = fields.measured(Of::Thickness);
    let board = fields.board();
    let kerf = match fields.fields.expr(Of::Kerf) {
        Some(_) => fields.measured(Of::Kerf).map(|kerf| kerf.mean),
        None => Of::Kerf.spec().default.length(),
    };
    let passes = fields.passes();
    let margin = fields.distance(Of::Margin);
    let gap = fields.distance(Of::Gap);
    let clear_edge = fields.distance(Of::ClearEdge);
    let clear_opening = fields.distance(Of::ClearOpening);
    let least_feature = fields.distance(Of::LeastFeature);
    let least_floor = fields.distance(Of::LeastFloor);
    let face_veneer = match fields.fields.expr(Of::FaceVeneer) {
        Some(expr) => fields.eval.size(expr, "`face_veneer`").map(Some),
        None => Some(None),
    };
    let (weighs, tilts) = (fields.positive(Of::Weighs), fields.tilts(Of::Tilts));
    let colour = fields.colour(Of::Colour);
    let engraved = fields.colour(Of::Engraved);
    let keep_out = match fields.fields.expr(Of::KeepOut) {
        Some(expr) => fields.eval.region(expr),
        None => Some(Region::empty()),
    };
    let (clear, grain, cost) = (fields.flag(Of::Clear), fields.angle(Of::Grain), fields.number(Of::Cost));
    let speeds = Speeds {
        cut: fields.speed(Of::CutSpeed),
        score: fields.speed(Of::ScoreSpeed),
        engrave: fields.speed(Of::EngraveSpeed),
        line_spacing: fields.positive(Of::LineSpacing).flatten().and_then(Length::from_quantity),
    };
    let material = fields.material(thing)?;
    let name = thing.name.text.clone();
    fields.doubt_length(Figure::Thickness, &name, Of::Thickness, thickness.as_ref().map(|it| it.mean));
    fields.doubt_length(Figure::Kerf, &name, Of::Kerf, kerf);
    doubt_work(fields, &name, (&speeds, least_feature, tilts.as_deref()));
    let weighed = fields.place(Of::Weighs);
    let stock = Stock {
        name: name.clone(),
        material,
        thickness: thickness?,
        board: board?,
        kerf: kerf?,
        passes: passes?,
        margin: margin?,
        gap: gap?,
        clear_edge: clear_edge?,
        clear_opening: clear_opening?,
        least_feature: least_feature?,
        least_floor: least_floor?,
        face_veneer: face_veneer?,
        clear,
        colour: colour?,
        engraved: engraved?,
        grain,
        weighs: weighs?.and_then(Mass::from_quantity),
        tilts: tilts?,
        tilts_on: BTreeMap::new(),
        keep_out: keep_out?,
        cost,
        speeds,
        nominal,
        origin: (!nominal).then_some(thing.name.span),
    };
    doubt(fields.eval, Figure::Density, &name, stock.density().as_kilograms_per_cubic_metre(), weighed);
    Some(stock)
}

/// Doubts what a stock says of how it is worked.
fn doubt_work(
    fields: &mut Reader<'_, '_, fields::Stock>,
    of: &str,
    (speeds, feature, tilts): (&Speeds, Option<Length>, Option<&[Angle]>),
) {
    use fields::Stock as Of;
    let Speeds { cut, score, engrave, line_spacing } = speeds;
    for (figure, word, speed) in [
        (Figure::CutSpeed, Of::CutSpeed, cut),
        (Figure::CutSpeed, Of::ScoreSpeed, score),
        (Figure::EngraveSpeed, Of::EngraveSpeed, engrave),
    ] {
        let place = fields.place(word);
        if let Some(speed) = speed {
            doubt(fields.eval, figure, of, speed.as_mm_per_second(), place);
        }
    }
    fields.doubt_length(Figure::LineSpacing, of, Of::LineSpacing, *line_spacing);
    fields.doubt_length(Figure::Feature, of, Of::LeastFeature, feature);
    let place = fields.place(Of::Tilts);
    let tilts = tilts.unwrap_or_default().iter().map(|tilt| tilt.as_degrees());
    // One that is doubtful is enough.
    if let Some(odd) = tilts.clone().find(|tilt| !Figure::Tilt.is_likely(*tilt)) {
        doubt(fields.eval, Figure::Tilt, of, odd, place);
    }
}

/// What is to be said of a stock whose material the language does not know; nothing of any other.
pub fn doubted(stock: &Stock) -> Option<Diagnostic> {
    let (material, origin) = (stock.material.as_ref()?, stock.origin?);
    let nearest = suggest::nearest(material, KNOWN_MATERIALS);
    let unlisted = Material::named(material) == Material::Unlisted;
    unlisted.then(|| say::unknown_material(&stock.name, material, nearest, origin))
}

fn magnet<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing, nominal: bool) -> Option<Magnet> {
    use fields::Magnet as Of;
    let fields = &mut Reader::of(eval, thing);
    let (diameter, height) = (fields.measured(Of::Diameter), fields.measured(Of::Height));
    let (clearance, sink) = (fields.distance(Of::Clearance), fields.distance(Of::Sink));
    let plating = fields.distance(Of::Plating);
    let cost = fields.number(Of::Cost);
    let remanence = FluxDensity::from_quantity(fields.positive(Of::Remanence)??)?;
    let (name, place) = (thing.name.text.clone(), fields.place(Of::Remanence));
    doubt(fields.eval, Figure::Remanence, &name, remanence.as_tesla(), place);
    fields.doubt_length(Figure::Sink, &name, Of::Sink, sink);
    fields.doubt_length(Figure::Plating, &name, Of::Plating, plating);
    fields.doubt_length(Figure::Clearance, &name, Of::Clearance, clearance);
    let diameter = diameter?;
    Some(Magnet {
        name,
        diameter: diameter.mean,
        diameter_strays: diameter.spread.unwrap_or_default(),
        height: height?.mean,
        remanence,
        clearance: clearance?,
        sink: sink?,
        plating: plating?,
        adhesive: None,
        steel: None,
        cost,
        nominal,
        origin: (!nominal).then_some(thing.name.span),
    })
}

/// A washer, as a disc of steel.
fn washer<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Magnet> {
    use fields::Washer as Of;
    let fields = &mut Reader::of(eval, thing);
    let (diameter, hole, height) =
        (fields.measured(Of::Diameter), fields.measured(Of::Hole), fields.measured(Of::Height));
    let saturation = fields.positive(Of::Saturation);
    let (clearance, sink, cost) = (fields.distance(Of::Clearance), fields.distance(Of::Sink), fields.number(Of::Cost));
    let name = thing.name.text.clone();
    fields.doubt_length(Figure::Sink, &name, Of::Sink, sink);
    fields.doubt_length(Figure::Clearance, &name, Of::Clearance, clearance);
    let (diameter, hole) = (diameter?, hole?.mean);
    if hole >= diameter.mean {
        let place = fields.place(Of::Hole).unwrap_or(thing.name.span);
        return fields.eval.report(magnets::hole_too_wide(&name, place));
    }
    let saturation = saturation?.and_then(FluxDensity::from_quantity).unwrap_or(usual::SATURATION);
    Some(Magnet {
        name,
        diameter: diameter.mean,
        diameter_strays: diameter.spread.unwrap_or_default(),
        height: height?.mean,
        remanence: FluxDensity::tesla(0.0),
        steel: Some(Steel { hole, saturation }),
        clearance: clearance?,
        sink: sink?,
        plating: Length::ZERO,
        adhesive: None,
        cost,
        nominal: false,
        origin: Some(thing.name.span),
    })
}

fn rivet<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Rivet> {
    use fields::Rivet as Of;
    let fields = &mut Reader::of(eval, thing);
    let (shank, head) = (fields.measured(Of::Shank), fields.measured(Of::Head));
    let (head_height, clearance) = (fields.distance(Of::HeadHeight), fields.distance(Of::Clearance));
    let cost = fields.number(Of::Cost);
    let ExprKind::Range { from, to, .. } = &fields.fields.expr(Of::Grips)?.kind else { return None };
    let (least, most) = (fields.eval.size(from, "`grips`"), fields.eval.size(to, "`grips`"));
    Some(Rivet {
        name: thing.name.text.clone(),
        kind: Fastener::Rivet,
        shank: shank?.mean,
        heads: [Head { diameter: head?.mean, height: head_height? }; 2],
        grips: (least?, most?),
        clearance: clearance?,
        cost,
        origin: Some(thing.name.span),
    })
}

fn spreads<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Spreads> {
    use fields::Spreads as Of;
    let fields = &mut Reader::of(eval, thing);
    let kerf = fields.distance(Of::Kerf);
    let off_axis = match fields.fields.expr(Of::Concentricity) {
        Some(_) => fields.distance(Of::Concentricity).map(Some),
        None => Some(None),
    };
    let (placing, clicked) = (fields.turned(Of::Placing), fields.turned(Of::Clicked));
    let (glued, depth, film) = (fields.distance(Of::Glued), fields.distance(Of::Depth), fields.distance(Of::Film));
    let printing = fields.distance(Of::Printing);
    let name = &thing.name.text;
    let off = off_axis.flatten();
    let lengths = [
        (Of::Kerf, kerf),
        (Of::Concentricity, off),
        (Of::Glued, glued),
        (Of::Printing, printing),
        (Of::Depth, depth),
        (Of::Film, film),
    ];
    for (word, length) in lengths {
        fields.doubt_length(Figure::Spread, name, word, length);
    }
    for (word, turned) in [(Of::Placing, placing), (Of::Clicked, clicked)] {
        let place = fields.place(word);
        doubt(fields.eval, Figure::Placing, name, turned.map_or(0.0, |turned| turned.as_degrees()), place);
    }
    let remanence = match fields.fields.expr(Of::Remanence) {
        Some(_) => fields.number(Of::Remanence),
        None => Of::Remanence.spec().default.number(),
    };
    Some(Spreads {
        kerf: kerf?,
        concentricity: off_axis?,
        placing: placing?,
        clicked: clicked?,
        glued: glued?,
        printing: printing?,
        remanence: remanence?,
        depth: depth?,
        film: film?,
    })
}

fn printer<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Printer> {
    use fields::Printer as Of;
    let fields = &mut Reader::of(eval, thing);
    let border = fields.distance(Of::Border);
    let sheet = match fields.fields.sides(Of::Sheet) {
        Some([width, height]) => {
            let width = fields.eval.size(width, "the sheet's width");
            Some((width?, fields.eval.size(height, "the sheet's height")?))
        }
        _ => None,
    };
    let cost = fields.number(Of::Cost);
    let (name, origin) = (Some(thing.name.text.clone()), Some(thing.name.span));
    Some(Printer { name, sheet, border: border?, cost, origin })
}

/// The two stocks, and the tilts at which one slides on the other.
fn friction<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<([String; 2], Vec<Angle>)> {
    use fields::Friction as Of;
    let fields = &mut Reader::of(eval, thing);
    let stocks = [fields.fields.word(Of::Of)?.to_owned(), fields.fields.word(Of::On)?.to_owned()];
    Some((stocks, fields.tilts(Of::Tilts)?))
}

fn adhesive<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Adhesive> {
    use fields::Adhesive as Of;
    let fields = &mut Reader::of(eval, thing);
    let film = fields.distance(Of::Gap);
    fields.doubt_length(Figure::Film, &thing.name.text, Of::Gap, film);
    let strength = fields.positive(Of::Strength)?.and_then(Pressure::from_quantity);
    let cost = fields.number(Of::Cost);
    let cure = Time::from_quantity(fields.eval.quantity(fields.fields.expr(Of::Cure)?)?)?;
    let place = fields.place(Of::Strength);
    if let Some(strength) = strength {
        doubt(fields.eval, Figure::Strength, &thing.name.text, strength.as_megapascals(), place);
    }
    Some(Adhesive { name: thing.name.text.clone(), cure, film: film?, strength, cost, origin: Some(thing.name.span) })
}

fn rates<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Rates> {
    use fields::Rates as Of;
    let fields = &mut Reader::of(eval, thing);
    Some(Rates {
        currency: fields.text(Of::Currency).unwrap_or_default(),
        machine_hour: fields.number(Of::MachineHour),
        bench_hour: fields.number(Of::BenchHour),
        setup_time: fields.time(Of::SetupTime),
        turn_time: fields.time(Of::TurnTime),
        dial_time: fields.time(Of::DialTime),
        extra: fields.number(Of::Extra).or(Of::Extra.spec().default.number())?,
    })
}

fn finish<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Finish> {
    use fields::Finish as Of;
    let fields = &mut Reader::of(eval, thing);
    let (stain, fill) = (fields.own_colour(Of::Stain), fields.own_colour(Of::Fill));
    let cost = fields.number(Of::Cost);
    let when = fields.fields.get(Of::Stained);
    if let (Some(when), None) = (when, fields.fields.expr(Of::Stain)) {
        return fields.eval.report(say::stained_without_stain(when.span));
    }
    let after = match fields.fields.word(Of::Stained).and_then(StainedWord::of_word).unwrap_or(StainedWord::DEFAULT) {
        StainedWord::Before => false,
        StainedWord::After => true,
    };
    Some(Finish { name: thing.name.text.clone(), stain, after, fill, cost, origin: thing.name.span })
}
