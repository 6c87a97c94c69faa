//! Curves of what holds a dial: pull against gap, and torque and energy against the angle where it clicks.
//!
//! Lettering is drawn as outlines, as on the sheet of stops. Lines differ by dashes and words too, never by colour alone.

use svg::Document;
use svg::node::element::{Circle, Description, Group, Path, Rectangle};

use super::drawing::{GREY, INK, Lettering, moved, titled};
use crate::audit::holding::{Held, Holding, Rings, TurnHolding};
use crate::design::{Design, Tone, hex};
use crate::plan::MAGNETS;
use crate::units::{Angle, Length, plain};

/// Width and height of one graph, in mm.
const SIZE: (f64, f64) = (150.0, 60.0);
/// Room left of a graph for its figures, and round everything, in mm.
const MARGIN: (f64, f64) = (19.0, 6.0);
/// Cap height of headings and of small print, in mm.
const LETTERS: (f64, f64) = (3.2, 2.0);
/// Points on a curve of the pull, and degrees between those of a turn.
const POINTS: u16 = 120;
const STEPS: u16 = 720;
/// Blue and vermilion of the set of Okabe and Ito (2008).
const BLUE: Tone = [0x00, 0x72, 0xb2];
const VERMILION: Tone = [0xd5, 0x5e, 0x00];
const PALE: Tone = [0xdd, 0xdd, 0xdd];

/// The sheet as SVG 1.1, in millimetres: every turn that magnets hold; none where there is none.
pub fn sheet(dials: &[(&Design, &Holding)]) -> Option<String> {
    let lettering = Lettering::embedded();
    let graphs: Vec<Graph> = dials.iter().flat_map(|(design, holding)| graphs(design, holding)).collect();
    if graphs.is_empty() {
        return None;
    }
    let width = SIZE.0 + MARGIN.0 + 3.0 * MARGIN.1;
    let mut drawn = Group::new();
    let mut down = MARGIN.1;
    for graph in &graphs {
        drawn = drawn.add(moved(graph.drawn(&lettering), MARGIN.0 + MARGIN.1, down));
        down += SIZE.1 + 26.0;
    }
    for line in caution(104) {
        drawn = lettering.line(&line, LETTERS.1, INK, (MARGIN.1, down, width)).into_iter().fold(drawn, Group::add);
        down += 1.8 * LETTERS.1;
    }
    let (wide, high) = (plain(width, 3), plain(down + MARGIN.1, 3));
    let titles: Vec<&str> = dials.iter().map(|(design, _)| design.title.as_str()).collect();
    let description: Vec<&str> = graphs.iter().map(|graph| graph.description.as_str()).collect();
    let document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{wide}mm"))
        .set("height", format!("{high}mm"))
        .set("viewBox", format!("0 0 {wide} {high}"))
        .add(titled(&format!("What holds: {}", titles.join(", "))))
        .add(Description::new().add(svg::node::Text::new(description.join("\n"))))
        .add(Rectangle::new().set("width", wide).set("height", high).set("fill", "#ffffff"))
        .add(drawn);
    Some(format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{document}\n"))
}

/// The caution about magnets in lines of so many characters at most.
pub(super) fn caution(most: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in MAGNETS.text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + word.chars().count() < most => {
                line.push_str(if line.is_empty() { "" } else { " " });
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines.push(format!("({})", MAGNETS.source));
    lines
}

/// One graph: named axes, curves, and marks on them.
struct Graph {
    heading: String,
    /// In words, for those who cannot see it.
    description: String,
    across: (&'static str, f64, f64),
    up: (&'static str, f64, f64),
    curves: Vec<Curve>,
    /// Upright lines and their words.
    marks: Vec<(f64, String)>,
    /// Points, such as rests.
    dots: Vec<(f64, f64)>,
    /// A shaded band: at each place its lower and its upper edge.
    band: Vec<(f64, (f64, f64))>,
    /// Pieces of the level at nothing.
    bars: Vec<(f64, f64)>,
}

struct Curve {
    name: String,
    points: Vec<(f64, f64)>,
    colour: Tone,
    dashed: bool,
}

fn graphs(design: &Design, holding: &Holding) -> Vec<Graph> {
    let of_turn = |found: &TurnHolding| -> Vec<Graph> {
        let Some(held) = &found.magnets else { return Vec::new() };
        let name = |at: usize| design.layers.get(at).map_or("", |layer| layer.name.as_str());
        let variant = design.variant.as_ref().map(|variant| format!(" · {variant}")).unwrap_or_default();
        let title = format!("{}{variant}: {} on {}", design.title, name(found.below + 1), name(found.below));
        let pull = pull(&title, held);
        pull.into_iter().chain(held.clicks.iter().flat_map(|rings| turned(&title, held, rings))).collect()
    };
    holding.turns.iter().flat_map(of_turn).collect()
}

/// Pull of the pair on the axis against the gap, with its band of 15 %.
fn pull(title: &str, held: &Held) -> Option<Graph> {
    let at = held.pair.gap();
    let most = Length::mm((3.0 * at.as_mm()).max(3.0));
    let curve = held.pair.curve(Length::ZERO, most, POINTS).ok()?;
    let times = |factor: f64| curve.iter().map(|(gap, force)| (gap.as_mm(), factor * force.as_newtons())).collect();
    let share = crate::physics::magnet::MODEL_SHARE;
    let line = |name: String, factor, dashed| Curve { name, points: times(factor), colour: BLUE, dashed };
    let force = held.pair.pull().as_newtons();
    let top = curve.first().map_or(1.0, |(_, force)| force.as_newtons()) * (1.0 + share);
    Some(Graph {
        heading: format!("{title}: pull of the pair on the axis against the gap"),
        description: format!("Pull {} N at the gap of {} mm.", plain(force, 2), plain(at.as_mm(), 2)),
        across: ("gap, mm", 0.0, most.as_mm()),
        up: ("pull, N", 0.0, top),
        curves: vec![
            line("as the model has it".to_owned(), 1.0, false),
            line("15 % more".to_owned(), 1.0 + share, true),
            line("15 % less".to_owned(), 1.0 - share, true),
        ],
        marks: vec![(at.as_mm(), format!("here {}N at {}mm", plain(force, 2), plain(at.as_mm(), 2)))],
        dots: vec![(at.as_mm(), force)],
        band: curve
            .iter()
            .map(|(gap, force)| (gap.as_mm(), ((1.0 - share) * force.as_newtons(), (1.0 + share) * force.as_newtons())))
            .collect(),
        bars: Vec::new(),
    })
}

/// Torque and energy of the clicks against the angle, with stops and rests, and what friction holds.
fn turned(title: &str, held: &Held, rings: &Rings) -> [Graph; 2] {
    let pattern = &rings.pattern;
    let mut curve = pattern.clicks.curve(STEPS);
    curve.extend(curve.first().map(|first| crate::physics::clicks::Turned { at: Angle::degrees(360.0), ..*first }));
    let torque: Vec<(f64, f64)> =
        curve.iter().map(|at| (at.at.as_degrees(), at.torque.as_millinewton_metres())).collect();
    let energy: Vec<(f64, f64)> = curve.iter().map(|at| (at.at.as_degrees(), at.energy.as_millijoules())).collect();
    let stops: Vec<(f64, String)> = (1..)
        .zip(&pattern.verdict.stops)
        .map(|(number, (at, _))| (at.as_degrees().rem_euclid(360.0), number.to_string()))
        .collect();
    let serving = pattern.verdict.stops.iter().filter_map(|(_, rest)| rest.as_ref());
    let rests: Vec<_> = serving.chain(&pattern.verdict.false_stops).map(|rest| rest.point).collect();
    // A rest found just short of a whole turn is drawn at its beginning.
    let place = |at: Angle| if at.as_degrees() > 359.999 { 0.0 } else { at.as_degrees() };
    let felt: Vec<(f64, (f64, f64))> = curve
        .iter()
        .map(|at| {
            let (least, most) = held.felt(at.pull);
            (at.at.as_degrees(), (least.as_millinewton_metres(), most.as_millinewton_metres()))
        })
        .collect();
    let greatest = |sign: f64| felt.iter().map(|(at, (_, most))| (*at, sign * most)).collect::<Vec<_>>();
    let extent = |points: &[(f64, f64)]| {
        points.iter().fold((0.0_f64, 0.0_f64), |(low, high), (_, value)| (low.min(*value), high.max(*value)))
    };
    let (low, high) = extent(&torque);
    let reach = felt.iter().fold(low.abs().max(high), |reach, (_, (_, most))| reach.max(*most));
    let limit =
        |name: &str, sign: f64| Curve { name: name.to_owned(), points: greatest(sign), colour: BLUE, dashed: true };
    let description = format!("{} stops, {} rests.", stops.len(), rests.len());
    let across = ("bearing of the lower layer under the upper layer's top, deg", 0.0, 360.0);
    let (deepest, highest) = extent(&energy);
    [
        Graph {
            heading: format!("{title}: torque of the clicks"),
            description: description.clone(),
            across,
            up: ("torque, mNm", -reach, reach),
            curves: vec![
                Curve { name: "towards greater bearings".to_owned(), points: torque, colour: VERMILION, dashed: false },
                limit("", 1.0),
                limit("", -1.0),
            ],
            marks: stops.clone(),
            dots: rests.iter().map(|rest| (place(rest.at), rest.torque.as_millinewton_metres())).collect(),
            band: felt.iter().map(|(at, (least, _))| (*at, (-least, *least))).collect(),
            bars: bars(rings),
        },
        Graph {
            heading: format!("{title}: energy of the clicks"),
            description,
            across,
            up: ("energy, mJ", deepest, highest),
            curves: vec![Curve { name: "all pairs".to_owned(), points: energy, colour: BLUE, dashed: false }],
            marks: stops,
            dots: rests.iter().map(|rest| (place(rest.at), rest.energy.as_millijoules())).collect(),
            band: Vec::new(),
            bars: Vec::new(),
        },
    ]
}

/// Where each stop may rest under the greatest friction with which it clicks, cut at the ends of the turn.
fn bars(rings: &Rings) -> Vec<(f64, f64)> {
    let widest = rings.rests.iter().filter_map(|rest| {
        let band = rest.bands.iter().rev().flatten().next()?;
        Some(((rest.stop + band.stays.0).as_degrees(), (rest.stop + band.stays.1).as_degrees()))
    });
    let pieces = widest.flat_map(|(from, to)| {
        let whole = 360.0 * (from / 360.0).floor();
        let (from, to) = (from - whole, to - whole);
        [(from, to.min(360.0)), (0.0, to - 360.0)]
    });
    pieces.filter(|(from, to)| to > from).collect()
}

impl Graph {
    /// The graph, the upper left corner of its heading at the origin.
    fn drawn(&self, lettering: &Lettering) -> Group {
        let (wide, high) = SIZE;
        let top = 2.2 * LETTERS.0;
        let x = |value: f64| wide * (value - self.across.1) / (self.across.2 - self.across.1);
        let y = |value: f64| top + high * (1.0 - (value - self.up.1) / (self.up.2 - self.up.1).max(f64::MIN_POSITIVE));
        let mut all = Group::new().add(titled(&format!("{}. {}", self.heading, self.description)));
        let say = |all: Group, text: &str, height: f64, ink: Tone, place: (f64, f64, f64)| {
            lettering.line(text, height, ink, place).into_iter().fold(all, Group::add)
        };
        all = say(all, &self.heading, LETTERS.0, INK, (0.0, LETTERS.0 / 2.0, wide));
        if !self.band.is_empty() {
            let over = self.band.iter().map(|(at, (_, most))| (x(*at), y(*most)));
            let under = self.band.iter().rev().map(|(at, (least, _))| (x(*at), y(*least)));
            let round: Vec<(f64, f64)> = over.chain(under).collect();
            all = all.add(line(&round, PALE, 0.1, false).set("fill", hex(PALE)));
        }
        for value in ticks(self.up.1, self.up.2) {
            all = all.add(line(&[(0.0, y(value)), (wide, y(value))], PALE, 0.15, false));
            all = say(all, &plain(value, 3), LETTERS.1, GREY, (-9.0, y(value), 7.5));
        }
        for value in ticks(self.across.1, self.across.2) {
            all = all.add(line(&[(x(value), top + high), (x(value), top + high + 1.2)], INK, 0.2, false));
            all = say(all, &plain(value, 3), LETTERS.1, GREY, (x(value) - 2.0, top + high + 3.6, 12.0));
        }
        for (value, words) in &self.marks {
            all = all.add(line(&[(x(*value), top), (x(*value), top + high)], GREY, 0.2, true));
            all = say(all, words, LETTERS.1, INK, (x(*value) + 0.6, top + 2.0, 60.0));
        }
        for curve in &self.curves {
            let points: Vec<(f64, f64)> = curve.points.iter().map(|(a, b)| (x(*a), y(*b))).collect();
            all = all.add(line(&points, curve.colour, if curve.dashed { 0.25 } else { 0.45 }, curve.dashed));
        }
        for (from, to) in &self.bars {
            all = all.add(line(&[(x(*from), y(0.0)), (x(*to), y(0.0))], INK, 0.8, false));
        }
        for (a, b) in &self.dots {
            let dot = Circle::new().set("cx", plain(x(*a), 3)).set("cy", plain(y(*b), 3)).set("r", 0.9);
            all = all.add(dot.set("fill", hex(INK)));
        }
        all = all.add(line(&[(0.0, top), (0.0, top + high), (wide, top + high)], INK, 0.25, false));
        all = say(all, self.across.0, LETTERS.1, INK, (0.0, top + high + 7.4, wide));
        // Along its axis, read from the right (ISO 129-1).
        let upwards = lettering.line(self.up.0, LETTERS.1, INK, (0.0, 0.0, high));
        let turned = format!("translate({} {}) rotate(-90)", plain(-12.5, 3), plain(top + high, 3));
        all = upwards
            .into_iter()
            .fold(all, |all, words| all.add(Group::new().set("transform", turned.as_str()).add(words)));
        say(all, &self.key(), LETTERS.1, INK, (0.0, top + high + 11.0, wide))
    }

    /// What each line is.
    fn key(&self) -> String {
        let names: Vec<&str> =
            self.curves.iter().map(|curve| curve.name.as_str()).filter(|name| !name.is_empty()).collect();
        let names = names.join(", ");
        match (self.dots.len(), self.bars.is_empty()) {
            (1, _) => format!("{names}; shaded: 15 % either way, which measured pulls have stayed within"),
            (_, true) => format!("{names}; dots: at rest; upright: stops"),
            _ => format!(
                "{names}; dots: at rest; upright: stops; friction: shaded the least, dashed the greatest; bars: where it may rest"
            ),
        }
    }
}

/// Round figures between two, some six of them.
fn ticks(from: f64, to: f64) -> Vec<f64> {
    let rough = (to - from) / 6.0;
    if !rough.is_finite() || rough <= 0.0 {
        return Vec::new();
    }
    let power = 10_f64.powf(rough.log10().floor());
    let step =
        [1.0, 2.0, 5.0, 10.0].into_iter().map(|factor| factor * power).find(|step| *step >= rough).unwrap_or(rough);
    // A whole turn is better cut by its stops than by tens.
    let step = if (from, to) == (0.0, 360.0) { 30.0 } else { step };
    let first = (from / step).ceil();
    (0..20).map(f64::from).map(|count| (first + count) * step).take_while(|value| *value <= to + 1e-9 * step).collect()
}

fn line(points: &[(f64, f64)], colour: Tone, width: f64, dashed: bool) -> Path {
    let words: Vec<String> = points
        .iter()
        .enumerate()
        .map(|(at, (x, y))| format!("{}{},{}", if at == 0 { "M" } else { "L" }, plain(*x, 3), plain(*y, 3)))
        .collect();
    let path = Path::new().set("d", words.join(" ")).set("fill", "none").set("stroke", hex(colour));
    let path = path.set("stroke-width", plain(width, 3));
    if dashed { path.set("stroke-dasharray", "1.2 0.8") } else { path }
}
