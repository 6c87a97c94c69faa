//! The section on paper, whole and near the axis.

use kurbo::Point;
use svg::node::element::{Group, Path, Rectangle};

use super::super::drawing::INK;
use super::super::page::text::{SMALL, Style, line};
use super::super::page::{THICK, THIN};
use super::DrawnView;
use super::draw::{Scale, centre_line, dimension, figure, leader, overrun, polyline};
use super::section::{Cut, Section, Slice, Stretch, section};
use crate::design::pose::Pose;
use crate::design::standing::{recess, standing};
use crate::design::{Depth, Design, Face, Head, Joint, Pivot, Pole, hex};
use crate::units::{Length, plain};

/// Between two lines of hatching, in mm of paper.
const HATCH: f64 = 1.1;
/// Room for the names of layers at the left, and for dimensions at the right, in mm.
const NAMES: f64 = 34.0;
const RIGHT: f64 = 9.0;
/// Between lines of names, in mm.
const LINE: f64 = 3.3;
/// Room above and below, in mm.
const ABOVE: f64 = 2.4;
/// Room for the width of a pocket below the detail, in mm.
const WIDTH: f64 = 6.0;
/// How far the detail reaches past the widest pocket, in mm of the dial.
const PAST: f64 = 1.5;

/// The whole section, at the largest scale up to 5:1 that fits.
pub(super) fn whole(design: &Design, room: (f64, f64)) -> DrawnView {
    let cut = of(design);
    let (left, right) = ends(&cut);
    let high = height(&cut);
    let scale = Scale::fitting((right - left, high), (room.0 - NAMES - RIGHT, room.1 - 2.0 * ABOVE), 5.0);
    let s = scale.factor();
    let names = design.layers.iter().zip(&cut.slices).rev().map(|(layer, slice)| {
        let text = format!("{} {}", layer.name, figure(layer.stock.thickness.mean));
        let from = slice.stretches.first().map_or(0.0, |first| first.from);
        (text, (from, f64::midpoint(slice.faces.0, slice.faces.1)))
    });
    let names: Vec<(String, (f64, f64))> = names.collect();
    #[allow(clippy::cast_precision_loss, reason = "a handful of layers")]
    let even = (high * s).max(names.len() as f64 * LINE) + 2.0 * ABOVE;
    let [below, above] = standing(design).beyond().map(|beyond| beyond.as_mm());
    let thick = figure(design.thickness());
    // The figures of a thin dial stand above it, and must not reach what is drawn there.
    let over = (overrun((below + high + above) * s, &thick) - (even - high * s) / 2.0).max(0.0);
    let tall = even + over;
    let place = Frame {
        axis: NAMES - left * s,
        floor: over + even / 2.0 + high * s / 2.0,
        s,
        window: (f64::NEG_INFINITY, f64::INFINITY),
    };
    let drawn = Group::new().set("id", "section").add(place.drawn(design, &cut)).add(place.named(&names, NAMES));
    let (bottom, top) = (place.at(right, -below), place.at(right, high + above));
    let drawn = drawn.add(dimension(bottom, top, -4.0, &thick));
    DrawnView { drawn, size: (NAMES + (right - left) * s + RIGHT, tall), scale, name: "Section A–A through the axis" }
}

/// The pockets and magnets on the axis, larger; none where nothing sits there.
pub(super) fn detail(design: &Design, room: (f64, f64)) -> Option<DrawnView> {
    // Hands have an axis each.
    if design.has_wheels() {
        return None;
    }
    let cut = of(design);
    let reach = cut.magnets.iter().map(|magnet| magnet.across.1).reduce(f64::max)? + PAST;
    let high = height(&cut);
    let (names, right) = (36.0, 15.0);
    let scale = Scale::fitting((2.0 * reach, high), (room.0 - names - right, room.1 - WIDTH - 2.0 * ABOVE), 10.0);
    let s = scale.factor();
    let said = cut.magnets.iter().rev().map(|magnet| {
        let north = match magnet.north {
            Some(Pole::Up) => ", north up",
            Some(Pole::Down) => ", north down",
            None => "",
        };
        let (wide, tall) = (magnet.across.1 - magnet.across.0, magnet.heights.1 - magnet.heights.0);
        let text = format!("{} Ø{} × {}{north}", magnet.name, plain(wide, 2), plain(tall, 2));
        (text, (magnet.across.0 * 0.8, f64::midpoint(magnet.heights.0, magnet.heights.1)))
    });
    let said: Vec<(String, (f64, f64))> = said.collect();
    #[allow(clippy::cast_precision_loss, reason = "a handful of magnets")]
    let tall = (high * s).max(said.len() as f64 * LINE) + 2.0 * ABOVE;
    let place = Frame { axis: names + reach * s, floor: tall / 2.0 + high * s / 2.0, s, window: (-reach, reach) };
    let drawn = Group::new().set("id", "detail").add(place.drawn(design, &cut));
    let drawn = place.depths(design, &cut, reach).into_iter().fold(drawn, Group::add).add(place.named(&said, names));
    Some(DrawnView {
        drawn,
        size: (names + 2.0 * reach * s + right, tall + WIDTH),
        scale,
        name: "The axis in section A–A",
    })
}

fn of(design: &Design) -> Section<'_> {
    section(design, super::front::cutting(design, &Pose::at(design, &[])))
}

fn ends(cut: &Section) -> (f64, f64) {
    let all = cut.slices.iter().flat_map(|slice| &slice.stretches);
    let left = all.clone().map(|stretch| stretch.from).fold(-1.0, f64::min);
    (left, all.map(|stretch| stretch.to).fold(1.0, f64::max))
}

fn height(cut: &Section) -> f64 {
    cut.slices.iter().map(|slice| slice.faces.1).fold(1.0, f64::max)
}

/// Where a section lies on the paper: the axis, the bottom of the dial, mm of paper for one of the dial, and how much of
/// it is shown.
struct Frame {
    axis: f64,
    floor: f64,
    s: f64,
    window: (f64, f64),
}

impl Frame {
    fn at(&self, along: f64, up: f64) -> Point {
        Point::new(self.axis + along * self.s, self.floor - up * self.s)
    }

    fn drawn(&self, design: &Design, cut: &Section) -> Group {
        let mut drawn = Group::new();
        for slice in &cut.slices {
            let Some(layer) = design.layers.get(slice.layer) else { continue };
            let fill = lighter(layer.surface());
            drawn = self.slice(slice, fill).into_iter().fold(drawn, Group::add);
        }
        drawn = self.glue(design, cut).into_iter().fold(drawn, Group::add);
        drawn = self.rivets(design, cut).into_iter().fold(drawn, Group::add);
        drawn = cut.magnets.iter().map(|magnet| self.magnet(magnet)).fold(drawn, Group::add);
        let high = height(cut);
        let over = 2.0 / self.s;
        drawn.add(centre_line(self.at(0.0, -over), self.at(0.0, high + over)))
    }

    fn shown<'a>(&'a self, slice: &'a Slice) -> impl Iterator<Item = Stretch> + 'a {
        let (from, to) = self.window;
        let clipped =
            slice.stretches.iter().map(move |it| Stretch { from: it.from.max(from), to: it.to.min(to), ..*it });
        clipped.filter(|stretch| stretch.to > stretch.from)
    }

    /// What is solid of a layer: its tone, hatched, and its edges.
    fn slice(&self, slice: &Slice, fill: String) -> Vec<Path> {
        let (mut body, mut hatch, mut edges) = (String::new(), String::new(), String::new());
        let mut before: Option<Stretch> = None;
        for stretch in self.shown(slice) {
            let (low, high) = (self.at(stretch.from, stretch.bottom), self.at(stretch.to, stretch.top));
            body += &run(&[low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)], true);
            // Neighbours are hatched in opposite directions, so that one sees where a layer ends even in black and
            // white.
            hatch += &hatching((low, high), slice.layer.is_multiple_of(2));
            edges += &run(&[low, Point::new(high.x, low.y)], false);
            edges += &run(&[Point::new(low.x, high.y), high], false);
            match before.filter(|last| (last.to - stretch.from).abs() < 1e-9) {
                Some(last) => {
                    edges += &run(&[low, self.at(stretch.from, last.bottom)], false);
                    edges += &run(&[Point::new(low.x, high.y), self.at(stretch.from, last.top)], false);
                }
                None => edges += &self.end(before.map(|last| (last.to, last)), Some((stretch.from, stretch))),
            }
            before = Some(stretch);
        }
        edges += &self.end(before.map(|last| (last.to, last)), None);
        let stroked = |data: String, wide: f64| {
            Path::new().set("d", data).set("fill", "none").set("stroke", hex(INK)).set("stroke-width", plain(wide, 3))
        };
        vec![Path::new().set("d", body).set("fill", fill), stroked(hatch, 0.1), stroked(edges, THICK)]
    }

    /// The walls where a stretch ends and where the next one begins; where only the window ends, there is none.
    fn end(&self, last: Option<(f64, Stretch)>, next: Option<(f64, Stretch)>) -> String {
        let cut_off = |x: f64| (x - self.window.0).abs() < 1e-9 || (x - self.window.1).abs() < 1e-9;
        let walls = [last, next].into_iter().flatten().filter(|(x, _)| !cut_off(*x));
        walls.map(|(x, it)| run(&[self.at(x, it.bottom), self.at(x, it.top)], false)).collect()
    }

    fn glue(&self, design: &Design, cut: &Section) -> Vec<Path> {
        let joints = design.joints.iter().zip(&cut.slices);
        let glued = joints.filter(|(joint, _)| matches!(joint, Joint::Glue(_)));
        let lines = glued.flat_map(|(_, slice)| {
            let on = self.shown(slice).filter(|it| (it.top - slice.faces.1).abs() < 1e-9);
            on.map(|it| polyline(&[self.at(it.from, slice.faces.1), self.at(it.to, slice.faces.1)]))
        });
        lines.map(|line| line.set("stroke-width", plain(2.0 * THICK, 3))).collect()
    }

    /// Shanks with their heads, and pins beside the axis.
    fn rivets(&self, design: &Design, cut: &Section) -> Vec<Rectangle> {
        let turns = design.turns().filter_map(|(below, turn)| match &turn.pivot {
            Pivot::Rivet(rivet) => Some((below, turn, rivet)),
            Pivot::Magnets { .. } | Pivot::Wall => None,
        });
        let metal = |across: (f64, f64), heights: (f64, f64)| self.block(across, heights).set("fill", "#c8c8cc");
        let drawn = turns.filter_map(|(below, turn, rivet)| {
            let joined = design.joined(below);
            let (first, last) = (*joined.first()?, *joined.last()?);
            let (low, high) = (cut.slices.get(first)?.faces.0, cut.slices.get(last)?.faces.1);
            let axis = cut.across * design.axis(last);
            if axis.y.abs() >= rivet.shank.as_mm() / 2.0 {
                return None;
            }
            // Drawn as if it were cut through its middle, which is never far.
            let about = |across: Length| (axis.x - across.as_mm() / 2.0, axis.x + across.as_mm() / 2.0);
            let sunk = |at: usize, face: Face, head: Head| {
                design
                    .layers
                    .get(at)
                    .map_or(0.0, |layer| recess(layer, face, head.diameter, design.axis_on(turn, at)).as_mm())
            };
            let [nut, head] = rivet.heads;
            let (low, high) = (low + sunk(first, Face::Back, nut), high - sunk(last, Face::Front, head));
            Some([
                metal(about(rivet.shank), (low, high)),
                metal(about(nut.diameter), (low - nut.height.as_mm(), low)),
                metal(about(head.diameter), (high, high + head.height.as_mm())),
            ])
        });
        drawn.flatten().chain(cut.pins.iter().map(|(across, heights)| metal(*across, *heights))).collect()
    }

    fn block(&self, across: (f64, f64), heights: (f64, f64)) -> Rectangle {
        let corner = self.at(across.0, heights.1);
        Rectangle::new()
            .set("x", plain(corner.x, 3))
            .set("y", plain(corner.y, 3))
            .set("width", plain((across.1 - across.0) * self.s, 3))
            .set("height", plain((heights.1 - heights.0) * self.s, 3))
            .set("stroke", hex(INK))
            .set("stroke-width", plain(THIN, 3))
    }

    /// A magnet: the half of its north pole is dark.
    fn magnet(&self, magnet: &Cut) -> Group {
        let (bottom, top) = magnet.heights;
        let middle = f64::midpoint(bottom, top);
        let (dark, light) = match magnet.north {
            Some(Pole::Up) => ((middle, top), (bottom, middle)),
            Some(Pole::Down) => ((bottom, middle), (middle, top)),
            None => {
                let steel = self.block(magnet.across, magnet.heights).set("fill", "#d0d0d4");
                let hole = magnet.hole.map(|hole| self.block(hole, magnet.heights).set("fill", "#ffffff"));
                return hole.into_iter().fold(Group::new().add(steel), Group::add);
            }
        };
        let north = self.block(magnet.across, dark).set("fill", "#3a3a40");
        let south = self.block(magnet.across, light).set("fill", "#ffffff");
        let mut drawn = Group::new().add(south).add(north);
        let size = ((top - bottom) / 2.0 * self.s * 0.9).min(SMALL);
        if size > 1.0 {
            let letter = |text: &str, (low, high): (f64, f64), ink| {
                let at = self.at(-magnet.across.1 * 0.45, f64::midpoint(low, high));
                line(text, Style::of(size).strong().middle().ink(ink), (at.x, at.y + 0.36 * size), 9.0)
            };
            drawn = drawn.add(letter("N", dark, [255; 3])).add(letter("S", light, INK));
        }
        drawn
    }

    /// Words at the left, each with a line to its thing, top first; where things are nearer than lines of text, the words
    /// stand apart.
    fn named(&self, names: &[(String, (f64, f64))], room: f64) -> Group {
        let wanted: Vec<f64> = names.iter().map(|(_, (x, up))| self.at(*x, *up).y).collect();
        let set = super::draw::spread(&wanted, LINE);
        let mut drawn = Group::new();
        for ((text, (x, up)), y) in names.iter().zip(set) {
            let words = line(text, Style::of(SMALL).end(), (room - 6.0, y + 0.36 * SMALL), room - 6.5);
            drawn = drawn.add(words).add(leader(self.at(*x + 0.6 / self.s, *up), Point::new(room - 5.0, y)));
        }
        drawn
    }

    /// Depth of every seat on the axis, the floor that it leaves, and its width, as dimensions at the right.
    fn depths(&self, design: &Design, cut: &Section, reach: f64) -> Vec<Group> {
        let mut drawn = Vec::new();
        for (at, (layer, face, wide, depth)) in super::section::seats(design).into_iter().enumerate() {
            if at == 0 {
                let radius = wide.as_mm() / 2.0;
                let (left, right) = (self.at(-radius, 0.0), self.at(radius, 0.0));
                drawn.push(dimension(left, right, -5.0, &format!("Ø{}", figure(wide))));
            }
            let Some(slice) = cut.slices.iter().find(|slice| slice.layer == layer) else { continue };
            let Depth::Down(depth) = depth else { continue };
            let (open, deep) = match face {
                Face::Front => (slice.faces.1, slice.faces.1 - depth.made().as_mm()),
                Face::Back => (slice.faces.0, slice.faces.0 + depth.made().as_mm()),
            };
            let (low, high) = (open.min(deep), open.max(deep));
            drawn.push(dimension(self.at(reach, low), self.at(reach, high), -4.0, &figure(depth.made())));
            let far = if face == Face::Front { slice.faces.0 } else { slice.faces.1 };
            let (low, high) = (far.min(deep), far.max(deep));
            let floor = Length::mm(high - low);
            drawn.push(dimension(self.at(reach, low), self.at(reach, high), -10.0, &figure(floor)));
        }
        drawn
    }
}

fn run(points: &[Point], closed: bool) -> String {
    let each = points
        .iter()
        .enumerate()
        .map(|(at, point)| format!("{}{},{} ", if at == 0 { 'M' } else { 'L' }, plain(point.x, 3), plain(point.y, 3)));
    each.chain(closed.then(|| "Z ".to_owned())).collect()
}

/// Lines at 45 degrees through a box, those of all boxes in one grid.
fn hatching((low, high): (Point, Point), rising: bool) -> String {
    let (top, bottom) = (high.y, low.y);
    let slope = if rising { 1.0 } else { -1.0 };
    // Along a line of the grid, x + slope * y is a multiple of the step.
    let step = HATCH * 2.0_f64.sqrt();
    let ends = [low.x + slope * top, low.x + slope * bottom, high.x + slope * top, high.x + slope * bottom];
    let (least, most) = ends.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), end| (a.min(*end), b.max(*end)));
    let mut data = String::new();
    // From a multiple of the step and not from the box's own corner: so the lines of neighbouring boxes meet.
    let mut at = (least / step).ceil() * step;
    while at < most {
        let x_of = |y: f64| (at - slope * y).clamp(low.x, high.x);
        let y_of = |x: f64| slope * (at - x);
        let (first, second) = (x_of(top), x_of(bottom));
        data += &run(&[Point::new(first, y_of(first)), Point::new(second, y_of(second))], false);
        at += step;
    }
    data
}

/// A tone half way to white, so that hatching is seen on it.
fn lighter(tone: crate::design::Tone) -> String {
    hex(tone.map(|part| part / 2 + 128))
}
