//! Stocks, magnets, rivets and adhesives from their blocks.

use std::collections::BTreeMap;

use crate::check::blocks::STAINED;
use crate::check::evaluate::{Evaluator, field, word};
use crate::check::findings::dial as say;
use crate::check::kind::ThingKind;
use crate::check::names::Meaning;
use crate::check::value::Value;
use crate::design::{
    Adhesive, Finish, KNOWN_MATERIALS, Magnet, Material, Measured, PassDepths, Rates, Rivet, Speeds, Spreads, Stock,
    Tone,
};
use crate::diagnostics::{Diagnostic, suggest};
use crate::geometry::Region;
use crate::source::Span;
use crate::syntax::tree::{ExprKind, Field, FieldValue, Thing};
use crate::units::{Angle, FluxDensity, Length, Mass, Pressure, Quantity, Speed, Time};

/// What is taken where a block does not say. Common practice, no source.
mod usual {
    use crate::units::Length;

    pub(super) const KERF: Length = Length::mm(0.15);
    pub(super) const MARGIN: Length = Length::mm(5.0);
    pub(super) const GAP: Length = Length::mm(2.0);
    pub(super) const CLEAR_EDGE: Length = Length::mm(0.5);
    pub(super) const CLEAR_OPENING: Length = Length::mm(1.2);
    pub(super) const LEAST_FEATURE: Length = Length::mm(0.3);
    pub(super) const LEAST_FLOOR: Length = Length::mm(0.5);
    pub(super) const COLOUR: [u8; 3] = [0xd9, 0xb9, 0x8a];
    pub(super) const ENGRAVED: [u8; 3] = [0x5b, 0x3a, 0x1e];
    pub(super) const CLEARANCE: Length = Length::mm(0.1);
    pub(super) const SINK: Length = Length::mm(0.1);
    pub(super) const FILM: Length = Length::mm(0.05);
    pub(super) const PLATING: Length = Length::mm(0.015);
}

/// Everything the shop has.
#[derive(Clone, Debug, Default)]
pub struct Shop {
    /// Stocks by name.
    pub stocks: BTreeMap<String, Stock>,
    /// Magnets by name.
    pub magnets: BTreeMap<String, Magnet>,
    /// Rivets by name.
    pub rivets: BTreeMap<String, Rivet>,
    /// Adhesives by name.
    pub adhesives: BTreeMap<String, Adhesive>,
    /// Finishes by name.
    pub finishes: BTreeMap<String, Finish>,
    /// How far what it makes strays.
    pub spreads: Spreads,
    /// What its time costs.
    pub rates: Rates,
}

impl Shop {
    /// Evaluates every block.
    pub fn gather(eval: &mut Evaluator<'_>, nominal: bool) -> Self {
        let mut shop = Self::default();
        let (mut stated, mut rated): (Option<Span>, Option<Span>) = (None, None);
        let mut glued_with: BTreeMap<String, String> = BTreeMap::new();
        for (name, definition) in eval.names().iter() {
            let Meaning::Thing(kind, thing) = definition.meaning else { continue };
            let name = name.to_owned();
            match kind {
                ThingKind::Stock => shop.stocks.extend(stock(eval, thing, nominal).map(|made| (name, made))),
                ThingKind::Magnet => {
                    glued_with.extend(word(&thing.fields, "adhesive").map(|glue| (name.clone(), glue.to_owned())));
                    shop.magnets.extend(magnet(eval, thing, nominal).map(|made| (name, made)));
                }
                ThingKind::Rivet => shop.rivets.extend(rivet(eval, thing).map(|made| (name, made))),
                ThingKind::Adhesive => shop.adhesives.extend(adhesive(eval, thing).map(|made| (name, made))),
                ThingKind::Finish => shop.finishes.extend(finish(eval, thing).map(|made| (name, made))),
                ThingKind::Rates => {
                    once(eval, "rates", thing, &mut rated);
                    shop.rates = rates(eval, thing).unwrap_or(shop.rates);
                }
                ThingKind::Spreads => {
                    once(eval, "spreads", thing, &mut stated);
                    shop.spreads = spreads(eval, thing).unwrap_or(shop.spreads);
                }
                ThingKind::Layer | ThingKind::Ring | ThingKind::Mark => {}
            }
        }
        shop.glue_magnets(&glued_with);
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
fn once(eval: &mut Evaluator<'_>, word: &str, thing: &Thing, stated: &mut Option<Span>) {
    if let Some(first) = *stated {
        eval.problems.push(say::item_twice(word, thing.name.span, first));
    }
    *stated = Some(thing.name.span);
}

/// Reads fields of one block; each reader gives none where the field is not there or at fault.
struct Fields<'e, 't> {
    eval: &'e mut Evaluator<'t>,
    fields: &'t [Field],
}

impl<'t> Fields<'_, 't> {
    /// A length of zero or more, or what is usual.
    fn distance(&mut self, name: &str, usual: Length) -> Option<Length> {
        match field(self.fields, name) {
            Some(expr) => self.eval.distance(expr, &format!("`{name}`")),
            None => Some(usual),
        }
    }

    /// One reading or several.
    fn measured(&mut self, name: &str) -> Option<Measured> {
        let expr = field(self.fields, name)?;
        let readings: Vec<Length> = match self.eval.value(expr)? {
            Value::List(items) => items.iter().filter_map(|item| Length::from_quantity(item.quantity()?)).collect(),
            value => vec![Length::from_quantity(value.quantity()?)?],
        };
        if let Some(bad) = readings.iter().find(|reading| reading.as_mm() <= 0.0) {
            return self.eval.report(say::bad_reading(name, Some(*bad), expr.span));
        }
        match Measured::from_readings(&readings) {
            Some(measured) => Some(measured),
            None => self.eval.report(say::bad_reading(name, None, expr.span)),
        }
    }

    fn colour(&mut self, name: &str, usual: Tone) -> Option<Tone> {
        match field(self.fields, name) {
            Some(expr) => match self.eval.value(expr)? {
                Value::Colour(colour) => Some(colour),
                _ => None,
            },
            None => Some(usual),
        }
    }

    /// A colour, where the field is there.
    fn own_colour(&mut self, name: &str) -> Option<Tone> {
        match self.eval.value(field(self.fields, name)?)? {
            Value::Colour(colour) => Some(colour),
            _ => None,
        }
    }

    fn number(&mut self, name: &str) -> Option<f64> {
        let expr = field(self.fields, name)?;
        let quantity = self.eval.quantity(expr)?;
        if quantity.value < 0.0 {
            return self.eval.report(crate::check::findings::values::negative(
                &format!("`{name}`"),
                quantity,
                expr.span,
            ));
        }
        Some(quantity.value)
    }

    /// A quantity above zero, where given; none where it is at fault.
    fn positive(&mut self, name: &str) -> Option<Option<Quantity>> {
        let Some(expr) = field(self.fields, name) else { return Some(None) };
        let quantity = self.eval.quantity(expr)?;
        if quantity.value <= 0.0 {
            let what = format!("`{name}`");
            return self.eval.report(crate::check::findings::values::not_positive(&what, quantity, expr.span));
        }
        Some(Some(quantity))
    }

    fn speed(&mut self, name: &str) -> Option<Speed> {
        self.positive(name).flatten().and_then(Speed::from_quantity)
    }

    fn time(&mut self, name: &str) -> Option<Time> {
        self.positive(name).flatten().and_then(Time::from_quantity)
    }

    /// What a stock is made of, none where that is not said; at fault where that, or the stock's name, holds chlorine.
    fn material(&mut self, thing: &Thing) -> Option<Option<String>> {
        let said = self.text("material");
        let place = field(self.fields, "material").map_or(thing.name.span, |expr| expr.span);
        match said.as_deref().map(Material::named) {
            Some(Material::Known) => Some(said),
            Some(Material::Chlorine) => {
                self.eval.report(say::chlorine_in_stock(&thing.name.text, said.as_deref().unwrap_or_default(), place))
            }
            _ if Material::named(&thing.name.text) == Material::Chlorine => {
                self.eval.report(say::chlorine_in_stock(&thing.name.text, &thing.name.text, thing.name.span))
            }
            _ => Some(said),
        }
    }

    fn text(&mut self, name: &str) -> Option<String> {
        match self.eval.value(field(self.fields, name)?)? {
            Value::Text(text) => Some(text.to_string()),
            _ => None,
        }
    }

    /// Angles of tilt tests, from above zero to 85deg.
    fn tilts(&mut self) -> Option<Vec<Angle>> {
        let Some(expr) = field(self.fields, "tilts") else { return Some(Vec::new()) };
        let value = self.eval.value(expr)?;
        let angles: Option<Vec<Angle>> =
            value.items()?.iter().map(|item| Angle::from_quantity(item.quantity()?)).collect();
        let angles = angles?;
        let bad = angles.iter().find(|angle| !(0.0..=85.0).contains(&angle.as_degrees()) || **angle == Angle::ZERO);
        match bad {
            Some(bad) => self.eval.report(say::bad_tilt(*bad, expr.span)),
            None => Some(angles),
        }
    }

    fn flag(&mut self, name: &str) -> bool {
        let given = self.fields.iter().find(|field| field.name.text == name);
        match given.map(|field| &field.value) {
            Some(FieldValue::Expr(expr)) => self.eval.truth(expr).unwrap_or(false),
            Some(FieldValue::None) => true,
            Some(FieldValue::Size(_)) | None => false,
        }
    }

    fn angle(&mut self, name: &str) -> Option<Angle> {
        let expr = field(self.fields, name)?;
        self.eval.angle(expr)
    }

    /// An angle of zero or more, or what is usual.
    fn turned(&mut self, name: &str, usual: Angle) -> Option<Angle> {
        let Some(expr) = field(self.fields, name) else { return Some(usual) };
        let angle = self.eval.angle(expr)?;
        if angle.as_degrees() < 0.0 {
            let what = format!("`{name}`");
            return self.eval.report(crate::check::findings::values::negative(&what, angle.quantity(), expr.span));
        }
        Some(angle)
    }

    fn board(&mut self) -> Option<(Length, Length)> {
        let given = self.fields.iter().find(|field| field.name.text == "board")?;
        let FieldValue::Size(size) = &given.value else { return None };
        let [width, height] = size.sides.as_slice() else { return None };
        let (width, height) =
            (self.eval.size(width, "the board's width"), self.eval.size(height, "the board's height"));
        Some((width?, height?))
    }

    fn passes(&mut self) -> Option<PassDepths> {
        let Some(expr) = field(self.fields, "passes") else { return Some(PassDepths::default()) };
        let value = self.eval.value(expr)?;
        let length = |value: &Value| Length::from_quantity(value.quantity()?);
        let rung = |value: &Value| match value {
            Value::List(readings) => readings.iter().map(length).collect(),
            value => Some(vec![length(value)?]),
        };
        let rungs: Option<Vec<Vec<Length>>> = value.items()?.iter().map(rung).collect();
        let depths = PassDepths::new(rungs?);
        let bad = depths.readings().iter().flatten().find(|reading| reading.as_mm() <= 0.0);
        if bad.is_some() || depths.readings().iter().any(Vec::is_empty) {
            return self.eval.report(say::bad_reading("passes", bad.copied(), expr.span));
        }
        if depths.rises() { Some(depths) } else { self.eval.report(say::passes_not_rising(expr.span)) }
    }
}

fn stock<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing, nominal: bool) -> Option<Stock> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    let thickness = fields.measured("thickness");
    let board = fields.board();
    let kerf = match field(fields.fields, "kerf") {
        Some(_) => fields.measured("kerf").map(|kerf| kerf.mean),
        None => Some(usual::KERF),
    };
    let passes = fields.passes();
    let margin = fields.distance("margin", usual::MARGIN);
    let gap = fields.distance("gap", usual::GAP);
    let clear_edge = fields.distance("clear_edge", usual::CLEAR_EDGE);
    let clear_opening = fields.distance("clear_opening", usual::CLEAR_OPENING);
    let least_feature = fields.distance("least_feature", usual::LEAST_FEATURE);
    let least_floor = fields.distance("least_floor", usual::LEAST_FLOOR);
    let face_veneer = match field(fields.fields, "face_veneer") {
        Some(expr) => fields.eval.size(expr, "`face_veneer`").map(Some),
        None => Some(None),
    };
    let (weighs, tilts) = (fields.positive("weighs"), fields.tilts());
    let colour = fields.colour("colour", usual::COLOUR);
    let engraved = fields.colour("engraved", usual::ENGRAVED);
    let keep_out = match field(fields.fields, "keep_out") {
        Some(expr) => fields.eval.region(expr),
        None => Some(Region::empty()),
    };
    let (clear, grain, cost) = (fields.flag("clear"), fields.angle("grain"), fields.number("cost"));
    let speeds = Speeds {
        cut: fields.speed("cut_speed"),
        score: fields.speed("score_speed"),
        engrave: fields.speed("engrave_speed"),
        line_spacing: fields.positive("line_spacing").flatten().and_then(Length::from_quantity),
    };
    let material = fields.material(thing)?;
    Some(Stock {
        name: thing.name.text.clone(),
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
        keep_out: keep_out?,
        cost,
        speeds,
        nominal,
        origin: (!nominal).then_some(thing.name.span),
    })
}

/// What is to be said of a stock whose material the language does not know; nothing of any other.
pub fn doubted(stock: &Stock) -> Option<Diagnostic> {
    let (material, origin) = (stock.material.as_ref()?, stock.origin?);
    let nearest = suggest::nearest(material, KNOWN_MATERIALS);
    let unlisted = Material::named(material) == Material::Unlisted;
    unlisted.then(|| say::unknown_material(&stock.name, material, nearest, origin))
}

fn magnet<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing, nominal: bool) -> Option<Magnet> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    let (diameter, height) = (fields.measured("diameter"), fields.measured("height"));
    let (clearance, sink) = (fields.distance("clearance", usual::CLEARANCE), fields.distance("sink", usual::SINK));
    let plating = fields.distance("plating", usual::PLATING);
    let cost = fields.number("cost");
    let remanence = fields.positive("remanence")??;
    Some(Magnet {
        name: thing.name.text.clone(),
        diameter: diameter?.mean,
        height: height?.mean,
        remanence: FluxDensity::from_quantity(remanence)?,
        clearance: clearance?,
        sink: sink?,
        plating: plating?,
        adhesive: None,
        cost,
        nominal,
        origin: (!nominal).then_some(thing.name.span),
    })
}

fn rivet<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Rivet> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    let (shank, head) = (fields.measured("shank"), fields.measured("head"));
    let clearance = fields.distance("clearance", usual::CLEARANCE);
    let cost = fields.number("cost");
    let ExprKind::Range { from, to, .. } = &field(fields.fields, "grips")?.kind else { return None };
    let (least, most) = (fields.eval.size(from, "`grips`"), fields.eval.size(to, "`grips`"));
    Some(Rivet {
        name: thing.name.text.clone(),
        shank: shank?.mean,
        head: head?.mean,
        grips: (least?, most?),
        clearance: clearance?,
        cost,
        origin: Some(thing.name.span),
    })
}

fn spreads<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Spreads> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    let usual = Spreads::default();
    let kerf = fields.distance("kerf", usual.kerf);
    let off_axis = match field(fields.fields, "concentricity") {
        Some(_) => fields.distance("concentricity", usual.centring()).map(Some),
        None => Some(None),
    };
    let (placing, clicked) = (fields.turned("placing", usual.placing), fields.turned("clicked", usual.clicked));
    let (depth, film) = (fields.distance("depth", usual.depth), fields.distance("film", usual.film));
    let remanence = match field(fields.fields, "remanence") {
        Some(_) => fields.number("remanence"),
        None => Some(usual.remanence),
    };
    Some(Spreads {
        kerf: kerf?,
        concentricity: off_axis?,
        placing: placing?,
        from_turning: None,
        clicked: clicked?,
        remanence: remanence?,
        depth: depth?,
        film: film?,
    })
}

fn adhesive<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Adhesive> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    let film = fields.distance("gap", usual::FILM);
    let strength = fields.positive("strength")?.and_then(Pressure::from_quantity);
    let cost = fields.number("cost");
    let cure = Time::from_quantity(fields.eval.quantity(field(fields.fields, "cure")?)?)?;
    Some(Adhesive { name: thing.name.text.clone(), cure, film: film?, strength, cost, origin: Some(thing.name.span) })
}

fn rates<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Rates> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    Some(Rates {
        currency: fields.text("currency").unwrap_or_default(),
        machine_hour: fields.number("machine_hour"),
        bench_hour: fields.number("bench_hour"),
        setup_time: fields.time("setup_time"),
        turn_time: fields.time("turn_time"),
        dial_time: fields.time("dial_time"),
        extra: fields.number("extra").unwrap_or(Rates::default().extra),
    })
}

fn finish<'t>(eval: &mut Evaluator<'t>, thing: &'t Thing) -> Option<Finish> {
    let fields = &mut Fields { eval, fields: &thing.fields };
    let (stain, fill) = (fields.own_colour("stain"), fields.own_colour("fill"));
    fields.number("cost");
    let when = fields.fields.iter().find(|field| field.name.text == "stained");
    if let (Some(when), None) = (when, field(fields.fields, "stain")) {
        return fields.eval.report(say::stained_without_stain(when.span));
    }
    let after = word(fields.fields, "stained").is_some_and(|word| Some(&word) == STAINED.get(1));
    Some(Finish { name: thing.name.text.clone(), stain, after, fill, origin: thing.name.span })
}
