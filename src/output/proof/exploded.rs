//! The stack drawn apart: an orthographic view from 30 degrees above (ISO 5456-3, axonometry), each layer with its name.

use kurbo::Point;
use svg::node::element::{Definitions, Ellipse, Group, Path, Use};

use super::super::discs::{Disc, discs};
use super::super::drawing::{GREY, INK};
use super::super::look::{Look, placed, turned};
use super::super::page::text::{SMALL, Style, line};
use super::super::page::{THIN, rule};
use super::DrawnView;
use super::draw::{Scale, figure, leader};
use crate::audit::Audit;
use crate::design::pose::Pose;
use crate::design::{Design, Face, Fastener, Joint, Layer, Pivot, Pole, Rivet, hex};
use crate::geometry::contours;
use crate::units::plain;

/// Sine and cosine of the 30 degrees that one looks down by.
const DOWN: (f64, f64) = (0.5, 0.866_025_403_784_438_6);
/// Room for two magnets on the axis between two halves, in mm.
const SEEN: f64 = 12.0;
/// Room for words at the right, in mm.
const WORDS: f64 = 40.0;
/// Between two lines of words, in mm.
const LINE: f64 = 3.2;
/// Between what is said of two things, in mm.
const BETWEEN: f64 = 1.0;
/// Copies of an edge are this far apart on paper, in mm.
const EDGE_STEP: f64 = 0.12;
/// A magnet is drawn at least this high on paper, in mm.
const LEAST_HEIGHT: f64 = 0.9;

/// A thing of the stack with its words.
struct Named {
    /// Where the leader ends.
    at: Point,
    words: Vec<String>,
}

/// The stack apart, in this room.
pub(super) fn exploded(design: &Design, audit: &Audit, room: (f64, f64)) -> DrawnView {
    let look = Look::new(design, Face::Front, "stack".to_owned());
    let s = scale(design, look.reach(), room);
    let flat = 2.0 * look.reach() * s * DOWN.0;
    let gaps: Vec<f64> = (0..design.joints.len()).map(|joint| gap(design, joint, flat, s)).collect();
    let thick = design.layers.first().map_or(0.0, |layer| layer.stock.thickness.mean.as_mm() * DOWN.1 * s);
    let high = flat + gaps.iter().sum::<f64>() + thick;
    let stack = Stack { design, look: &look, s, gaps, bottom: high - flat / 2.0 - thick, middle: look.reach() * s };
    let discs = discs(design, audit);
    let (mut drawn, mut named) =
        (Group::new().set("id", "exploded").add(look.definitions()).add(stack.edges()), Vec::new());
    for (at, layer) in design.layers.iter().enumerate() {
        for disc in discs.iter().filter(|disc| disc.seat == (at, Face::Back)) {
            drawn = drawn.add(stack.disc(disc, &mut named));
        }
        drawn = drawn.add(stack.layer(at, layer));
        named.push(stack.words(at, layer));
        for disc in discs.iter().filter(|disc| disc.seat == (at, Face::Front)) {
            drawn = drawn.add(stack.disc(disc, &mut named));
        }
        drawn = stack.joint(at, &mut named).into_iter().fold(drawn, Group::add);
    }
    let drawn = drawn.add(stack.named(&mut fitted(named, high), stack.middle * 2.0 + 3.0, room.0));
    DrawnView {
        drawn,
        size: (room.0, high),
        // Nothing can be measured in an oblique view, and its caption leaves the scale out.
        scale: Scale::fitting((1.0, 1.0), (1.0, 1.0), 1.0),
        name: "The stack, drawn apart",
    }
}

/// The words that stand beside a stack so high. Where there are too many, each thing has one line, and a glue is named once.
fn fitted(named: Vec<Named>, high: f64) -> Vec<Named> {
    #[allow(clippy::cast_precision_loss, reason = "a few lines")]
    let tall: f64 = named.iter().map(|it| it.words.len() as f64 * LINE + BETWEEN).sum();
    if tall <= high {
        return named;
    }
    let mut glued: Vec<String> = Vec::new();
    let each = named.into_iter().filter_map(|it| {
        let words = it.words.join(", ");
        if words.starts_with("glued ") {
            if glued.contains(&words) {
                return None;
            }
            glued.push(words.clone());
        }
        Some(Named { words: vec![words], ..it })
    });
    each.collect()
}

/// How far apart the fronts of two layers are drawn: where the halves turn, so far that what is on the axis is seen between
/// them.
fn gap(design: &Design, joint: usize, flat: f64, s: f64) -> f64 {
    let thick = design.layers.get(joint + 1).map_or(0.0, |layer| layer.stock.thickness.mean.as_mm() * DOWN.1 * s);
    // Wheels of one frame lie side by side.
    if design.is_wheel(joint) && design.is_wheel(joint + 1) {
        return 0.0;
    }
    let turns = matches!(design.joints.get(joint), Some(Joint::Turn(_))) && !design.is_wheel(joint + 1);
    thick + if turns { 0.5 * flat + SEEN } else { 0.25 * flat + 1.0 }
}

/// Millimetres of paper for one of the dial: as many as the width allows, fewer where the stack would be too high.
fn scale(design: &Design, reach: f64, room: (f64, f64)) -> f64 {
    let widest = (room.0 - WORDS) / (2.0 * reach);
    let high = |s: f64| {
        let flat = 2.0 * reach * s * DOWN.0;
        flat + (0..design.joints.len()).map(|joint| gap(design, joint, flat, s)).sum::<f64>() + 2.0
    };
    // The height grows evenly with the scale.
    let (at_none, at_most) = (high(0.0), high(widest));
    let share = (room.1 - at_none) / (at_most - at_none);
    // Rather higher than its room than too small to tell anything.
    widest * share.clamp(0.3, 1.0)
}

struct Stack<'a> {
    design: &'a Design,
    look: &'a Look<'a>,
    s: f64,
    /// How far apart the fronts of neighbours are, bottom first.
    gaps: Vec<f64>,
    /// Height on the paper of the lowest layer's middle.
    bottom: f64,
    middle: f64,
}

impl Stack<'_> {
    /// Where the middle of a layer's front lies on the paper.
    fn height(&self, layer: usize) -> f64 {
        self.bottom - self.gaps.iter().take(layer).sum::<f64>()
    }

    fn thick(&self, layer: &Layer) -> f64 {
        layer.stock.thickness.mean.as_mm() * DOWN.1 * self.s
    }

    fn edge_id(layer: usize) -> String {
        format!("edge-{}", layer + 1)
    }

    /// The material of every layer as one plain shape, of which its thickness is built up.
    fn edges(&self) -> Definitions {
        let pose = Pose::at(self.design, &[]);
        self.design.layers.iter().enumerate().fold(Definitions::new(), |all, (at, layer)| {
            let by = placed(self.design, Face::Front, &pose, at);
            let data = contours(layer.material().transformed(by).path(), kurbo::Affine::FLIP_Y).join(" ");
            let fill = if layer.stock.clear { layer.stock.colour } else { layer.stock.engraved };
            let edge = Path::new().set("id", Self::edge_id(at)).set("d", data).set("fill", hex(fill));
            all.add(edge.set("fill-rule", "evenodd"))
        })
    }

    fn flat(&self, (x, y): (f64, f64)) -> String {
        format!("matrix({} 0 0 {} {} {})", plain(self.s, 5), plain(self.s * DOWN.0, 5), plain(x, 3), plain(y, 3))
    }

    fn layer(&self, at: usize, layer: &Layer) -> Group {
        let pose = Pose::at(self.design, &[]);
        let (thick, y) = (self.thick(layer), self.height(at));
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few dozen at most")]
        // SVG knows no solids. The edge is the outline drawn again and again, a hair lower each time and the lowest
        // first.
        let copies = (thick / EDGE_STEP).ceil().clamp(1.0, 60.0) as u32;
        let mut drawn = Group::new();
        for copy in (1..=copies).rev() {
            let down = thick * f64::from(copy) / f64::from(copies);
            let edge = Use::new().set("xlink:href", format!("#{}", Self::edge_id(at)));
            drawn = drawn.add(edge.set("transform", self.flat((self.middle, y + down))));
        }
        let (axis, by) = (self.design.axis(at), plain(turned(self.design, Face::Front, &pose, at), 4));
        let laid = format!("translate({} {}) rotate({by})", plain(axis.x, 4), plain(-axis.y, 4));
        let laid = if self.design.is_wheel(at) { laid } else { format!("rotate({by})") };
        let top = Use::new().set("xlink:href", format!("#{}", self.look.id(at))).set("transform", laid);
        drawn.add(Group::new().set("transform", self.flat((self.middle, y))).add(top))
    }

    fn words(&self, at: usize, layer: &Layer) -> Named {
        let stock = &layer.stock;
        let swept = crate::audit::fit::swept(&layer.outline).as_mm() / 2.0;
        // A pointer sweeps much more than it fills.
        let own = layer.outline.bounds().filter(|_| self.design.is_hand(at)).map(|bounds| bounds.x1 * 0.9);
        let right = own.unwrap_or(swept) * self.s;
        let measured = if stock.nominal { ", nominal" } else { "" };
        let finish = layer.finish.as_ref().map(|finish| format!("finish {}", finish.name));
        let of = format!("{} {} mm{measured}", stock.name, figure(stock.thickness.mean));
        let words = [Some(layer.name.clone()), Some(of), finish].into_iter().flatten().collect();
        let (x, y) = self.axis(at);
        Named { at: Point::new(x + right * 0.92, y + self.thick(layer) / 2.0), words }
    }

    /// A magnet between its layer and the next one, the lower of two nearer to the lower layer.
    fn disc(&self, disc: &Disc, named: &mut Vec<Named>) -> Group {
        let (layer, face) = disc.seat;
        let level = match face {
            Face::Front => self.height(layer) - 0.22 * SEEN,
            Face::Back => self.height(layer.saturating_sub(1)) - 0.8 * SEEN,
        };
        let radius = disc.magnet.diameter.as_mm() / 2.0 * self.s;
        let high = (disc.magnet.height.as_mm() * DOWN.1 * self.s).max(LEAST_HEIGHT);
        let at = Point::new(self.middle + disc.place.x * self.s, level - disc.place.y * self.s * DOWN.0 - high);
        let size = (radius * DOWN.0 * 1.5).min(SMALL);
        let up = disc.north == Some(Pole::Up);
        let [top, side] = match disc.north {
            Some(Pole::Up) => ["#3a3a40", "#e4e4e8"],
            Some(Pole::Down) => ["#ffffff", "#3a3a40"],
            None => ["#d0d0d4", "#a8a8ae"],
        };
        let ink = if up { [255; 3] } else { INK };
        let mut drawn = Group::new().add(can(at, radius, high, side)).add(ellipse(at, radius, top));
        let hole = disc.magnet.hole().as_mm() / 2.0 * self.s;
        if hole > 0.0 {
            drawn = drawn.add(ellipse(at, hole, "#ffffff"));
        }
        if size > 0.8 && disc.north.is_some() {
            let letter = if up { "N" } else { "S" };
            drawn =
                drawn.add(line(letter, Style::of(size).strong().middle().ink(ink), (at.x, at.y + 0.36 * size), 9.0));
        }
        self.say(disc, at, radius, named);
        drawn
    }

    /// One line of words for a magnet on the axis, one for a whole ring.
    fn say(&self, disc: &Disc, at: Point, radius: f64, named: &mut Vec<Named>) {
        let size = format!("Ø{} × {}", figure(disc.magnet.diameter), figure(disc.magnet.height));
        let Some(around) = disc.around else {
            let words = vec![match disc.north {
                Some(Pole::Up) => format!("{} {size}, north up", disc.magnet.name),
                Some(Pole::Down) => format!("{} {size}, north down", disc.magnet.name),
                None if disc.magnet.steel.is_some() => format!("{} {size}, steel", disc.magnet.name),
                None => format!("{} {size}", disc.magnet.name),
            }];
            named.push(Named { at: Point::new(at.x + radius * 0.8, at.y), words });
            return;
        };
        let words = vec![format!("ring of {} {size} at R{}", disc.magnet.name, figure(around))];
        // The leader of a ring goes to its rightmost magnet, where it crosses none of the others.
        match named.last_mut().filter(|last| last.words == words) {
            Some(last) if last.at.x < at.x => last.at = at,
            Some(_) => {}
            None => named.push(Named { at, words }),
        }
    }

    /// The axis up to the next layer, and what joins them.
    fn joint(&self, at: usize, named: &mut Vec<Named>) -> Vec<Group> {
        let Some(joint) = self.design.joints.get(at) else { return Vec::new() };
        let from = self.height(self.design.stacked(at));
        let (x, to) = self.axis(at + 1);
        let from = from + to - self.height(at + 1);
        let axis = rule((x, from), (x, to), THIN, INK).set("stroke-dasharray", "2.4 0.8 0.4 0.8");
        let half = Point::new(if self.design.is_hand(at + 1) { x } else { self.middle }, f64::midpoint(from, to));
        match joint {
            Joint::Glue(glue) => {
                named.push(Named { at: half, words: vec![format!("glued with {}", glue.adhesive.name)] })
            }
            Joint::Turn(turn) => {
                if let Some(ends) = &turn.ends {
                    let (size, around) = (figure(ends.pin.shank), figure(ends.radius));
                    let words =
                        vec![format!("pin {} Ø{size} × {} at R{around}", ends.pin.name, figure(ends.pin.length))];
                    named.push(Named { at: half, words });
                }
                if let Pivot::Rivet(rivet) = &turn.pivot {
                    named.push(rivet_words(rivet, half));
                }
            }
        }
        // A board with wheels has no axis of its own.
        if self.design.has_wheels() && !self.design.is_wheel(at + 1) {
            return Vec::new();
        }
        vec![Group::new().add(axis)]
    }

    /// Where the middle of a layer's own axis lies on the paper, at its front.
    fn axis(&self, layer: usize) -> (f64, f64) {
        let axis = self.design.axis(layer);
        (self.middle + axis.x * self.s, self.height(layer) - axis.y * self.s * DOWN.0)
    }

    /// The words at the right, top first, each with a leader.
    fn named(&self, named: &mut [Named], x: f64, right: f64) -> Group {
        named.sort_by(|a, b| a.at.y.total_cmp(&b.at.y));
        #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
        let heights: Vec<f64> = named.iter().map(|it| it.words.len() as f64 * LINE).collect();
        let tops: Vec<f64> = named.iter().zip(&heights).map(|(it, high)| it.at.y - high / 2.0).collect();
        let mut drawn = Group::new();
        for (it, top) in named.iter().zip(super::draw::spread_blocks(&tops, &heights, BETWEEN)) {
            drawn = drawn.add(leader(it.at, Point::new(x, top + LINE / 2.0)));
            for (at, words) in it.words.iter().enumerate() {
                #[allow(clippy::cast_precision_loss, reason = "a handful of lines")]
                let y = top + at as f64 * LINE + LINE / 2.0 + 0.36 * SMALL;
                let style = Style::of(SMALL);
                let style = if it.words.len() > 1 && at == 0 { style.strong() } else { style.ink(GREY) };
                drawn = drawn.add(line(words, style, (x + 1.0, y), right - x - 1.0));
            }
        }
        drawn
    }
}

fn rivet_words(rivet: &Rivet, at: Point) -> Named {
    let [nut, head] = rivet.heads;
    let size = format!("shank Ø{}, head Ø{}", figure(rivet.shank), figure(head.diameter));
    let beneath = (rivet.kind == Fastener::Pin).then(|| format!("nut Ø{} beneath", figure(nut.diameter)));
    let named = format!("{} {}", rivet.kind.word(), rivet.name);
    Named { at, words: [named, size].into_iter().chain(beneath).collect() }
}

fn ellipse(at: Point, radius: f64, fill: &str) -> Ellipse {
    Ellipse::new()
        .set("cx", plain(at.x, 3))
        .set("cy", plain(at.y, 3))
        .set("rx", plain(radius, 3))
        .set("ry", plain(radius * DOWN.0, 3))
        .set("fill", fill)
        .set("stroke", hex(INK))
        .set("stroke-width", plain(THIN, 3))
}

/// The side of a disc that stands on its flat, seen from above.
fn can(at: Point, radius: f64, high: f64, fill: &str) -> Path {
    let [left, right, top, bottom] = [at.x - radius, at.x + radius, at.y, at.y + high].map(|it| plain(it, 3));
    let (wide, flat) = (plain(radius, 3), plain(radius * DOWN.0, 3));
    Path::new()
        .set("d", format!("M{left},{top} L{left},{bottom} A{wide},{flat} 0 0 0 {right},{bottom} L{right},{top} Z"))
        .set("fill", fill)
        .set("stroke", hex(INK))
        .set("stroke-width", plain(THIN, 3))
}
