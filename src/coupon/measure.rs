//! From readings to what they tell of the shop, each figure with its 95 % interval.

use std::collections::BTreeMap;

use super::findings as say;
use super::table::Reading;
use super::{Thing, fits, tones};
use crate::check::findings::dial::chlorine_in_stock;
use crate::design::{Material, PassDepths, Passes};
use crate::diagnostics::{Diagnostic, Problems};
use crate::source::Span;
use crate::statistics::{FittedLine, Mean, of_line, of_mean};
use crate::syntax::{Word, word};
use crate::units::Length;

/// The step that a calliper's readings are rounded to, in mm (common practice, no source).
const STEP: f64 = 0.01;

/// What was measured of one stock, and of the magnets with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    /// The stock's name.
    pub stock: String,
    /// What it is made of, where that is said.
    pub material: Option<String>,
    /// Width and height of a board, as written.
    pub board: (String, String),
    /// Its thickness.
    pub thickness: Figure,
    /// The width of a cut, one reading for each frame; none where no strips were measured.
    pub kerf: Option<Figure>,
    /// Depth by passes, and its readings as written, after 1, 2 … passes.
    pub passes: (PassDepths, Vec<Vec<String>>),
    /// The finest stroke and gap that came out everywhere.
    pub least_feature: Option<Bracket>,
    /// Colours of the bare face and of the darkest engraving, as written.
    pub colours: (Option<String>, Option<String>),
    /// The magnets, by name.
    pub magnets: BTreeMap<String, MagnetMeasurement>,
    /// How many readings were taken, those given beforehand apart.
    pub readings: usize,
}

impl Measurement {
    /// How many passes go so deep.
    ///
    /// # Errors
    /// What is wrong with asking, at `asked`: nothing is guessed beyond the deepest pocket that was measured.
    pub fn passes_for(&self, depth: Length, asked: Span) -> Result<Passes, Box<Diagnostic>> {
        let depths = &self.passes.0;
        let deepest = || depths.deepest().map(|passes| passes.to_string());
        depths.reaching(depth).ok_or_else(|| Box::new(say::depth_past_ladder(depth, deepest(), asked)))
    }
}

/// A figure that was read several times.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// Each reading as an expression of the language.
    pub written: Vec<String>,
    /// Their mean in mm, and how sure it is.
    pub mean: Mean,
}

/// A figure that lies between two steps of a card.
#[derive(Clone, Debug, PartialEq)]
pub struct Bracket {
    /// It is more than this.
    pub above: Length,
    /// It is this at most, which is what is taken.
    pub most: Length,
}

/// What was measured of a magnet.
#[derive(Clone, Debug, PartialEq)]
pub struct MagnetMeasurement {
    /// Its diameter.
    pub diameter: Option<Figure>,
    /// Its height.
    pub height: Option<Figure>,
    /// Its remanence as written: stated by its maker, never measured.
    pub remanence: Option<String>,
    /// How much wider its pocket must be drawn.
    pub clearance: Option<Bracket>,
}

/// What the readings tell; none where something is at fault. `place` is where a missing row is reported.
pub fn measure(readings: &[Reading], place: Span) -> (Option<Measurement>, Problems) {
    let mut bench = Bench { readings, place, problems: Problems::default() };
    let measured = bench.measurement();
    (measured.filter(|_| !bench.problems.has_errors()), bench.problems)
}

struct Bench<'r> {
    readings: &'r [Reading],
    place: Span,
    problems: Problems,
}

impl<'r> Bench<'r> {
    fn of(&self, thing: Thing, which: Option<&str>) -> Vec<&'r Reading> {
        let wanted = |it: &&Reading| it.thing == thing && which.is_none_or(|which| it.which == which);
        self.readings.iter().filter(wanted).collect()
    }

    fn measurement(&mut self) -> Option<Measurement> {
        let stock = self.only(Thing::Stock, None);
        let stock = self.needed(stock, "the `stock`");
        if let Some(stock) = stock.filter(|it| !is_name(&it.written)) {
            self.problems.push(say::cell_not_a_name(&stock.written, stock.span));
        }
        let (width, height) = (self.only(Thing::Board, Some("width")), self.only(Thing::Board, Some("height")));
        let width = self.needed(width, "the width of the `board`");
        let height = self.needed(height, "the height of the `board`");
        let thickness = self.figure(Thing::Thickness, None, "a thickness");
        let thickness = self.needed(thickness, "the `thickness`");
        let (kerf, passes) = (self.kerf(), self.passes());
        let fine: Vec<&Reading> = [Thing::Stroke, Thing::Gap].iter().flat_map(|thing| self.of(*thing, None)).collect();
        let finest = fine.iter().map(|it| it.value).reduce(f64::max);
        let written = |found: Option<&Reading>| found.map(|it| it.written.clone());
        let material = self.only(Thing::Material, None);
        self.refused(stock, material);
        let material = written(material);
        let colours = (written(self.only(Thing::Colour, None)), written(self.only(Thing::Engraved, None)));
        let magnets = self.magnets();
        let given = [Thing::Stock, Thing::Material, Thing::Board, Thing::Colour, Thing::Engraved, Thing::Remanence];
        Some(Measurement {
            stock: stock?.written.clone(),
            material,
            board: (width?.written.clone(), height?.written.clone()),
            thickness: thickness?,
            kerf,
            passes: passes?,
            least_feature: finest.map(|finest| bracket(finest, tones::STEP)),
            colours,
            magnets,
            readings: self.readings.iter().filter(|it| !given.contains(&it.thing)).count(),
        })
    }

    fn needed<T>(&mut self, found: Option<T>, what: &str) -> Option<T> {
        if found.is_none() {
            self.problems.push(say::row_missing(what, self.place));
        }
        found
    }

    /// Refuses a stock that holds chlorine, by its material or else by its name, as a shop file does.
    fn refused(&mut self, stock: Option<&Reading>, material: Option<&Reading>) {
        let known = material.is_some_and(|it| Material::named(&it.written) == Material::Known);
        let told = material.into_iter().chain(stock.filter(|_| !known));
        if let Some(it) = told.into_iter().find(|it| Material::named(&it.written) == Material::Chlorine) {
            let name = stock.map_or("", |stock| &stock.written);
            self.problems.push(chlorine_in_stock(name, &it.written, it.span));
        }
    }

    /// The one row of a thing, where there is one; a second is reported.
    fn only(&mut self, thing: Thing, which: Option<&str>) -> Option<&'r Reading> {
        let found = self.of(thing, which);
        if let [first, second, ..] = found.as_slice() {
            let what = which.map_or(format!("`{}`", thing.word()), |which| format!("`{}` of `{which}`", thing.word()));
            self.problems.push(say::row_twice(&what, second.span, first.span));
        }
        found.first().copied()
    }

    /// Mean of all readings of a thing; one that stands out is reported.
    fn figure(&mut self, thing: Thing, which: Option<&str>, what: &str) -> Option<Figure> {
        let found = self.of(thing, which);
        let values: Vec<f64> = found.iter().map(|it| it.value).collect();
        let places: Vec<Span> = found.iter().map(|it| it.span).collect();
        self.grubbs(what, &values, &places, STEP);
        let written = found.iter().map(|it| it.written.clone()).collect();
        Mean::of(&values).map(|mean| Figure { written, mean })
    }

    fn grubbs(&mut self, what: &str, values: &[f64], places: &[Span], step: f64) {
        // It is refused and not dropped: only whoever measured knows whether it was a slip of the hand or the board
        // is like that.
        let Some(found) = of_mean(values, step) else { return };
        let mean = Mean::of(values).map_or(0.0, |mean| mean.mean);
        if let (Some(value), Some(place)) = (values.get(found.at), places.get(found.at)) {
            let (value, mean) = (Length::mm(*value), Length::mm(mean));
            self.problems.push(say::stands_out(what, value, mean, &found, say::Test::Grubbs, *place));
        }
    }

    /// One width of cut for each frame: its opening less all its strips, shared out among its cuts.
    fn kerf(&mut self) -> Option<Figure> {
        let (openings, strips) = (self.of(Thing::Opening, None), self.of(Thing::Strips, None));
        let mut letters: Vec<&str> = Vec::new();
        for it in openings.iter().chain(&strips) {
            if !letters.contains(&it.which.as_str()) {
                letters.push(&it.which);
            }
        }
        let (mut values, mut written, mut places, mut most_cuts) = (Vec::new(), Vec::new(), Vec::new(), 1);
        for letter in letters {
            let (opening, strips) = (self.of(Thing::Opening, Some(letter)), self.of(Thing::Strips, Some(letter)));
            let wanted = format!("the `{}` of `{letter}`", if opening.is_empty() { "opening" } else { "strips" });
            let (Some(first), Some(_)) = (opening.first(), strips.first()) else {
                self.problems.push(say::row_missing(
                    &wanted,
                    opening.iter().chain(&strips).next().map_or(self.place, |it| it.span),
                ));
                continue;
            };
            let cuts = first.at.unwrap_or(1);
            if let Some(other) = opening.iter().find(|it| it.at != first.at) {
                self.problems.push(say::row_incomplete(
                    "opening",
                    "at",
                    "the same number of cuts each time",
                    other.span,
                ));
            }
            #[allow(clippy::cast_precision_loss, reason = "a handful of cuts")]
            let kerf = (mean(&opening) - mean(&strips)) / cuts as f64;
            if kerf <= 0.0 {
                self.problems.push(say::kerf_not_positive(letter, Length::mm(kerf), first.span));
                continue;
            }
            values.push(kerf);
            written.push(format!("({} - {}) / {cuts}", averaged(&opening), averaged(&strips)));
            places.push(first.span);
            most_cuts = most_cuts.max(cuts);
        }
        // The opening and the strips are a step off each, and the cuts share that.
        #[allow(clippy::cast_precision_loss, reason = "a handful of cuts")]
        self.grubbs("a kerf", &values, &places, 2.0 * STEP / most_cuts as f64);
        Mean::of(&values).map(|mean| Figure { written, mean })
    }

    fn passes(&mut self) -> Option<(PassDepths, Vec<Vec<String>>)> {
        let readings = self.of(Thing::Depth, None);
        let most = readings.iter().filter_map(|it| it.at).max().unwrap_or(0);
        let by_pass: Vec<Vec<&Reading>> =
            (1..=most).map(|count| readings.iter().copied().filter(|it| it.at == Some(count)).collect()).collect();
        let deepest = by_pass.last().and_then(|readings| readings.first()).map_or(self.place, |it| it.span);
        if let Some(missing) = by_pass.iter().position(Vec::is_empty) {
            self.problems.push(say::pass_missing(missing + 1, deepest));
            return None;
        }
        let lengths = by_pass.iter().map(|readings| readings.iter().map(|it| Length::mm(it.value)).collect()).collect();
        let depths = PassDepths::new(lengths);
        if !depths.rises() {
            self.problems.push(say::depths_not_rising(deepest));
            return None;
        }
        // A single reading that stands out bends the line as well; it is named alone, since mending it may mend the
        // line.
        if !self.stands_off_the_line(&readings) && depths.line().is_none() && readings.len() > 2 && most > 1 {
            self.problems.push(say::ladder_bends(deepest));
        }
        let written = by_pass.iter().map(|readings| readings.iter().map(|it| it.written.clone()).collect()).collect();
        Some((depths, written))
    }

    /// Whether a depth stands out from the line through the others, which is reported.
    fn stands_off_the_line(&mut self, depths: &[&Reading]) -> bool {
        #[allow(clippy::cast_precision_loss, reason = "a handful of passes")]
        let points: Vec<(f64, f64)> = depths.iter().map(|it| (it.at.unwrap_or(0) as f64, it.value)).collect();
        let found =
            of_line(&points, STEP).and_then(|found| Some((found, depths.get(found.at)?, points.get(found.at)?)));
        let Some(((found, it, point), line)) = found.zip(FittedLine::through(&points)) else { return false };
        let (read, expected) = (Length::mm(it.value), Length::mm(line.at(point.0)));
        self.problems.push(say::stands_out("a depth", read, expected, &found, say::Test::Residual, it.span));
        true
    }

    fn magnets(&mut self) -> BTreeMap<String, MagnetMeasurement> {
        let things = [Thing::Diameter, Thing::Height, Thing::Remanence, Thing::Fit];
        let mut names: Vec<&Reading> = Vec::new();
        for it in self.readings.iter().filter(|it| things.contains(&it.thing)) {
            if !names.iter().any(|known| known.which == it.which) {
                names.push(it);
            }
        }
        names.into_iter().map(|it| (it.which.clone(), self.magnet(it))).collect()
    }

    fn magnet(&mut self, first: &Reading) -> MagnetMeasurement {
        let name = first.which.as_str();
        if !is_name(name) {
            self.problems.push(say::cell_not_a_name(name, first.span));
        }
        let diameter = self.figure(Thing::Diameter, Some(name), &format!("a diameter of `{name}`"));
        let height = self.figure(Thing::Height, Some(name), &format!("a height of `{name}`"));
        let remanence = self.only(Thing::Remanence, Some(name)).map(|it| it.written.clone());
        let widest = self.of(Thing::Fit, Some(name)).iter().map(|it| it.value).reduce(f64::max);
        if widest.is_some() && diameter.is_none() {
            self.problems.push(say::row_missing(&format!("the `diameter` of `{name}`"), first.span));
        }
        let clearance = widest.zip(diameter.as_ref()).map(|(fit, across)| bracket(fit - across.mean.mean, fits::STEP));
        MagnetMeasurement { diameter, height, remanence, clearance }
    }
}

/// What lies at most one step below a figure; both to the µm, and not below zero.
fn bracket(most: f64, step: f64) -> Bracket {
    let rounded = |value: f64| Length::mm((value.max(0.0) * 1000.0).round() / 1000.0);
    Bracket { above: rounded(most - step), most: rounded(most) }
}

fn mean(readings: &[&Reading]) -> f64 {
    let values: Vec<f64> = readings.iter().map(|it| it.value).collect();
    Mean::of(&values).map_or(0.0, |mean| mean.mean)
}

/// `100.16mm`, or `(100.16mm + 100.14mm) / 2`.
fn averaged(readings: &[&Reading]) -> String {
    let written: Vec<&str> = readings.iter().map(|it| it.written.as_str()).collect();
    match written.as_slice() {
        [one] => (*one).to_owned(),
        several => format!("({}) / {}", several.join(" + "), several.len()),
    }
}

/// Whether the language takes it for a name.
fn is_name(text: &str) -> bool {
    word(text) == Word::Name
}
