//! The file: what was found as items of the language, each with a remark of how near it lies to the drawing.

use std::fmt::Write as _;

use super::figures::{self, deg, place};
use super::marks::{self, Mark, Ring};
use super::parts::Part;
use super::{Wanted, Work};
use crate::artwork::DrawnLine;
use crate::diagnostics::counted;
use crate::syntax::{Word, quoted, word};
use crate::units::mm;

/// What the text of a dial is made of.
pub(super) struct Sheet<'p> {
    pub(super) layers: Vec<Layer<'p>>,
    /// What the file says of itself at its head.
    pub(super) head: Vec<String>,
    /// What holds the turn, as the stack takes it.
    pub(super) pivot: String,
    pub(super) stock: String,
    /// The file that keeps what was not understood.
    pub(super) art: String,
}

/// One layer.
pub(super) struct Layer<'p> {
    pub(super) part: &'p Part,
    pub(super) name: String,
    pub(super) outline: (String, String),
    pub(super) marks: Vec<Mark>,
    pub(super) rings: Vec<(String, Ring)>,
    pub(super) alone: Vec<&'p DrawnLine>,
    /// The opening that a ring is read through: its name and which mark it is.
    pub(super) opening: Option<(String, usize)>,
}

impl<'p> Sheet<'p> {
    /// The layers from the bottom up, the names of all that has one, and which ring is read through which opening.
    pub(super) fn of(parts: &'p [Part], by_groups: bool, wanted: &Wanted) -> Self {
        let mut order: Vec<&Part> = parts.iter().collect();
        if !by_groups {
            // What is read lies under what it is read through.
            order.sort_by_key(|part| std::cmp::Reverse((marks::rings(part).0.len(), part.art.len())));
        }
        let mut taken: Vec<String> = Vec::new();
        let mut layers: Vec<Layer> = Vec::new();
        for (at, part) in order.iter().enumerate() {
            let usual = match (order.len(), at) {
                (2, 0) => "base".to_owned(),
                (2, _) => "cover".to_owned(),
                _ => format!("layer_{}", at + 1),
            };
            let name = named(&part.name, &usual, &mut taken, wanted);
            let (rings, alone) = marks::rings(part);
            let rings = rings.into_iter().map(|ring| (named("", "readings", &mut taken, wanted), ring)).collect();
            let (outline, marks) = (marks::outline(part), marks::marks(part));
            layers.push(Layer { part, name, outline, marks, rings, alone, opening: None });
        }
        open(&mut layers, &mut taken, wanted);
        Self {
            layers,
            head: Vec::new(),
            pivot: wanted.pivot.clone(),
            stock: wanted.stock.clone(),
            art: wanted.art.clone(),
        }
    }

    /// The whole file. Pockets have the depth that is given, or none; so has the turn its stops where no ring says them.
    pub(super) fn text(&self, wanted: &Wanted, depth: Option<&str>, stops: Option<&str>) -> String {
        let mut text = String::new();
        for line in &self.head {
            let _ = writeln!(text, "// {line}");
        }
        let _ = writeln!(text, "dial {}", quoted(&wanted.title));
        if let Some(shop) = &wanted.with {
            let _ = writeln!(text, "with {}", quoted(shop));
        }
        for layer in &self.layers {
            self.layer(layer, depth, &mut text);
        }
        let _ = writeln!(
            text,
            "\n// From the bottom up. What joins the layers is not in the drawing: see to it.\nstack {{"
        );
        for (at, layer) in self.layers.iter().enumerate() {
            match at {
                0 => {}
                _ if at == self.turn() => self.turning(at, stops, &mut text),
                _ => text.push_str("  glue\n"),
            }
            let _ = writeln!(text, "  {}", layer.name);
        }
        text.push_str("}\n");
        for (at, layer) in self.layers.iter().enumerate() {
            if let (Some((opening, _)), Some((ring, _))) = (&layer.opening, self.read(at)) {
                let _ = writeln!(text, "reads {ring} through {opening}");
            }
        }
        text
    }

    /// What turns, with its stops where its ring does not say them.
    fn turning(&self, at: usize, stops: Option<&str>, text: &mut String) {
        let pivot = &self.pivot;
        let areas = || self.layers.iter().take(at).find_map(|layer| marks::areas_on_a_ring(layer.part));
        let _ = match (self.read(at), areas(), stops) {
            (Some((_, ring)), _, _) if ring.is_even => writeln!(text, "  turn on {pivot}"),
            (Some((_, ring)), _, _) => {
                writeln!(text, "  turn on {pivot} {{ stops {} }}", marks::bearings(&ring.bearings))
            }
            (None, Some(count), _) => {
                writeln!(text, "  turn on {pivot} {{ stops {count} }}  // as many as filled areas stand on a ring")
            }
            (None, None, Some(stops)) => writeln!(text, "  turn on {pivot} {{ stops {stops} }}"),
            (None, None, None) => {
                writeln!(
                    text,
                    "  turn on {pivot}  // how many stops is not in the drawing: write `{{ stops 6 }}` behind it"
                )
            }
        };
    }

    /// Openings that stand between two labels of the ring that they show: their names, and by how many degrees.
    pub(super) fn between(&self) -> Vec<(String, f64)> {
        let layers = self.layers.iter().enumerate();
        let all = layers.filter_map(|(at, layer)| {
            let (name, which) = layer.opening.as_ref()?;
            let (_, ring) = self.read(at)?;
            let bearing = layer.marks.get(*which)?.bearing;
            let past = |label: &f64| (bearing - label + 180.0).rem_euclid(360.0) - 180.0;
            let nearest = ring.bearings.iter().map(past).min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
            (nearest.abs() > 1.0).then(|| (name.clone(), nearest))
        });
        all.collect()
    }

    /// The layer above the turn: that with the opening, else the uppermost.
    fn turn(&self) -> usize {
        let opening = self.layers.iter().position(|layer| layer.opening.is_some());
        opening.unwrap_or(self.layers.len().saturating_sub(1))
    }

    /// The ring that is read through the opening of a layer.
    fn read(&self, at: usize) -> Option<&(String, Ring)> {
        let layer = self.layers.get(at)?;
        let mark = layer.marks.get(layer.opening.as_ref()?.1)?;
        self.layers.iter().take(at).flat_map(|below| &below.rings).find(|(_, ring)| is_under(ring, mark))
    }

    fn layer(&self, layer: &Layer, depth: Option<&str>, text: &mut String) {
        let part = layer.part;
        let (outline, remark) = &layer.outline;
        let _ = writeln!(
            text,
            "\nlayer {} of {} {{\n  // {}\n  outline {outline}  // {remark}",
            layer.name,
            self.stock,
            axis(part)
        );
        for (at, mark) in layer.marks.iter().enumerate() {
            let opening = layer.opening.as_ref().filter(|(_, which)| *which == at);
            let work = match (mark.work, opening) {
                (_, Some((name, _))) => format!("window {name} ="),
                (Work::Engrave, _) => "engrave".to_owned(),
                (Work::Score, _) => "score".to_owned(),
                (Work::Pocket, _) => "pocket".to_owned(),
                _ => "hole".to_owned(),
            };
            let (region, remark) = (&mark.text, &mark.remark);
            let _ = match (mark.work, depth) {
                (Work::Pocket, Some(depth)) => writeln!(text, "  {work} {region} depth {depth}  // {remark}"),
                // The turn makes the pockets of its magnets by itself.
                (Work::Pocket, None) if mark.out < 0.3 && self.pivot.starts_with("magnets") => {
                    writeln!(text, "  // Drawn as a pocket about the axis, which the turn makes by itself: {region}")
                }
                (Work::Pocket, None) => {
                    writeln!(
                        text,
                        "  {work} {region}  // {remark}; how deep is in no drawing: write `depth 1mm` behind it"
                    )
                }
                _ => writeln!(text, "  {work} {region}  // {remark}"),
            };
        }
        for trace in &part.traces {
            let _ = writeln!(text, "  score trace(\"{}\")", marks::data(trace, part.axis.at));
        }
        for (name, ring) in &layer.rings {
            self.ring(name, ring, text);
        }
        for line in &layer.alone {
            alone(line, part, text);
        }
        if !part.art.is_empty() {
            let _ = writeln!(
                text,
                "  // Not understood, and kept as it was drawn: {}.\n  engrave art({}, part: \"{}\", in_place: true)",
                counted(part.art.len(), "filled area"),
                quoted(&self.art),
                layer.name
            );
        }
        text.push_str("}\n");
    }

    fn ring(&self, name: &str, ring: &Ring, text: &mut String) {
        let read = (0..self.layers.len()).find(|at| self.read(*at).is_some_and(|(own, _)| own == name));
        let first = read.and_then(|at| self.layers.get(at)).and_then(|layer| {
            let (_, which) = layer.opening.as_ref()?;
            layer.marks.get(*which).map(|mark| mark.bearing)
        });
        let (ring, is_under) = marks::from_bearing(ring.clone(), first.unwrap_or(0.0));
        // Its places follow from the stops where it begins under the opening and goes on evenly.
        let bearings = if ring.is_even && is_under {
            String::new()
        } else {
            format!("; bearings {}", marks::bearings(&ring.bearings))
        };
        let facing = if ring.facing == "outward" { String::new() } else { format!("; facing {}", ring.facing) };
        let _ = writeln!(
            text,
            "  engrave ring {name} {{ labels {}{bearings}; radius {}; height {}{facing}{} }}  // as drawn within {}",
            marks::listed(&ring.labels, quoted),
            mm(ring.radius),
            mm(ring.height),
            typeface(&ring.typeface, "; typeface "),
            mm((ring.off * 100.0).ceil() / 100.0)
        );
    }
}

/// What says where the axis of a part is.
fn axis(part: &Part) -> String {
    let up = |value: f64| mm((value * 100.0).ceil() / 100.0);
    let mut about = match part.axis.votes {
        0 => "the axis is the middle of the outline: nothing else tells it".to_owned(),
        votes => format!("the axis by {}, within {}", counted(votes, "middle"), up(part.axis.spread)),
    };
    if let Some((away, by)) = part.axis.turned {
        let _ = write!(about, "; turned by {} about it the outline meets itself within {}", deg(by), up(away));
    }
    if part.count > 1 {
        let _ = write!(about, "; drawn {} times", part.count);
    }
    about
}

/// A text that stands on no ring.
fn alone(line: &DrawnLine, part: &Part, text: &mut String) {
    let placed = place(line.at, part.axis.at, 0.02).map_or_else(String::new, |(at, _)| format!(" at {at}"));
    let turned = figures::round_deg((line.up_deg + 180.0).rem_euclid(360.0) - 180.0, 0.2);
    let turned = if turned == 0.0 { String::new() } else { format!(" turned {}", deg(turned)) };
    let typeface = typeface(&line.typeface, ", typeface: ");
    let (says, height) = (quoted(&line.says), mm(figures::round(line.height_mm, 0.02)));
    let mirrored = if line.is_mirrored { " mirrored" } else { "" };
    let stood = if line.is_asked { "" } else { "  // in another typeface than it was drawn in" };
    let _ = writeln!(text, "  engrave text({says}, height: {height}{typeface}){mirrored}{turned}{placed}{stood}");
}

fn typeface(name: &str, before: &str) -> String {
    if name.is_empty() || name == "DejaVu Sans" { String::new() } else { format!("{before}{}", quoted(name)) }
}

/// Whether a ring shows through an opening.
fn is_under(ring: &Ring, mark: &Mark) -> bool {
    mark.work == Work::Opening && mark.repeated == 1 && (mark.out - ring.radius).abs() <= (ring.height / 2.0).max(1.0)
}

/// Names the opening of each layer that a ring beneath it is read through.
fn open(layers: &mut [Layer], taken: &mut Vec<String>, wanted: &Wanted) {
    for at in 1..layers.len() {
        let (below, above) = layers.split_at_mut(at);
        let Some(layer) = above.first_mut() else { continue };
        let ring = below.iter().flat_map(|layer| &layer.rings).map(|(_, ring)| ring);
        let which = ring.into_iter().find_map(|ring| layer.marks.iter().position(|mark| is_under(ring, mark)));
        layer.opening = which.map(|which| (named("", "peep", taken, wanted), which));
    }
}

/// A name that nothing has yet: the drawing's own where it can be one.
fn named(drawn: &str, usual: &str, taken: &mut Vec<String>, wanted: &Wanted) -> String {
    let own: String =
        drawn.to_lowercase().chars().map(|letter| if letter.is_alphanumeric() { letter } else { '_' }).collect();
    let is_free = |name: &String, taken: &[String]| {
        matches!(word(name), Word::Name) && !taken.contains(name) && !wanted.names.contains(name)
    };
    let mut name = own.trim_matches('_').to_owned();
    if !is_free(&name, taken) {
        let tried = (2..).map(|count| format!("{usual}_{count}"));
        name = std::iter::once(usual.to_owned()).chain(tried).find(|name| is_free(name, taken)).unwrap_or(name);
    }
    taken.push(name.clone());
    name
}
