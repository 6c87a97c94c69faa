//! Whole designs drawn by seed, as text of the language: about half of them sound, the others with a fault planted in them.

use super::dice::{Dice, degrees, mm};
use super::faults::{FAULTS, Fault};
use super::rings::Ring;
use super::shapes::{Outline, Place, opening, ornament, outline};

struct Layer {
    name: String,
    stock: &'static str,
    items: Vec<String>,
}

pub(super) struct Sketch {
    pub(super) dice: Dice,
    pub(super) fault: Option<Fault>,
    tops: Vec<String>,
    layers: Vec<Layer>,
    /// Names of layers and joints, bottom first.
    pub(super) stack: Vec<String>,
    ends: Vec<String>,
    thickness: f64,
    reach: f64,
}

/// The dial of a seed.
pub fn dial(seed: u64) -> String {
    let mut dice = Dice::of(seed);
    let fault = dice.chance(45).then(|| *dice.pick(&FAULTS));
    let mut sketch = Sketch {
        dice,
        fault,
        tops: Vec::new(),
        layers: Vec::new(),
        stack: Vec::new(),
        ends: Vec::new(),
        thickness: 0.0,
        reach: 0.0,
    };
    match sketch.dice.count(0, 19) {
        0..=6 => sketch.covered(1),
        7..=8 => sketch.covered(2),
        9 => sketch.covered(3),
        10..=11 => sketch.stepped(2),
        12 => sketch.stepped(3),
        13..=14 => sketch.pointed(),
        15..=16 => sketch.behind(),
        17..=18 => sketch.riveted(),
        _ => sketch.under_clear(),
    }
    sketch.ended();
    sketch.text(seed)
}

impl Sketch {
    pub(super) fn has(&self, fault: Fault) -> bool {
        self.fault == Some(fault)
    }

    /// Two halves or more: rings on all but the highest, each within the one beneath it, and a cover over all with an opening for each.
    fn covered(&mut self, turns: u32) {
        let reach = self.dice.figure(22.0, 34.0) + 9.0 * f64::from(turns - 1);
        let body = self.body(reach);
        let alike = self.dice.count(3, if turns == 1 { 14 } else { 12 - 3 * turns.min(3) });
        let mut rings: Vec<Ring> = Vec::new();
        let mut free = body.within;
        for half in 0..turns {
            let count = if turns > 1 || self.dice.chance(70) { alike } else { self.dice.count(3, 10) };
            let own = if half == 0 {
                None
            } else {
                let over = if self.has(Fault::MiddleTooWide) { 4.0 } else { -1.5 };
                let middle = outline(&mut self.dice, free + over);
                free = middle.within.min(free);
                Some(middle.text)
            };
            let ring = self.ring(&format!("ring{half}"), free, count);
            free = ring.place.radius - ring.place.out / 2.0;
            let last = half + 1 == turns || free < 19.0;
            self.half(half, own, vec![ring.item.clone()], half == 0);
            self.turn(&ring);
            rings.push(ring);
            if last {
                break;
            }
        }
        let clear = self.clear();
        let mut windows = Vec::new();
        for (at, ring) in (0..).zip(&rings) {
            let shape = self.opening(ring.place, clear, body.reach);
            windows.push((format!("peep{at}"), shape));
            self.ends.push(format!("reads {} through peep{at}", ring.name));
        }
        let innermost = rings.iter().map(|ring| ring.place).min_by(|a, b| a.radius.total_cmp(&b.radius));
        self.cover(&windows, innermost);
    }

    /// Each half carries the ring of the next one up, which is smaller and has an opening over it.
    fn stepped(&mut self, turns: u32) {
        let reach = self.dice.figure(26.0, 34.0) + 12.0 * f64::from(turns - 1);
        let body = self.body(reach);
        let mut free = body.within;
        let mut window: Option<(String, String)> = None;
        let mut own: Option<String> = None;
        for half in 0..turns {
            let count = self.dice.count(3, 13 - 3 * turns);
            let ring = self.ring(&format!("ring{half}"), free, count);
            let mut items = vec![ring.item.clone()];
            items.extend(window.take().map(|(name, shape)| format!("window {name} = {shape}")));
            self.half(half, own.take(), items, half == 0);
            self.turn(&ring);
            let clear = self.clear();
            let shape = self.opening(ring.place, clear, f64::INFINITY);
            self.ends.push(format!("reads {} through peep{half}", ring.name));
            window = Some((format!("peep{half}"), shape));
            // The next one up must reach over this ring, and the one over that not as far as its opening.
            let over = if half == 0 { free } else { ring.place.radius + ring.place.out / 2.0 + 4.0 };
            let next = outline(&mut self.dice, over);
            own = Some(next.text);
            free = ring.place.radius - ring.place.out / 2.0 - if self.has(Fault::MiddleTooWide) { -3.0 } else { 5.5 };
            if free < 16.0 {
                break;
            }
        }
        let items = window.map(|(name, shape)| format!("window {name} = {shape}")).into_iter().collect();
        self.half(9, own, items, false);
    }

    /// A hand turns on a ring, and points at its labels.
    fn pointed(&mut self) {
        let reach = self.dice.figure(24.0, 40.0);
        let body = self.body(reach);
        let count = self.dice.count(3, 16);
        let ring = self.ring("ring0", body.within, count);
        self.half(0, None, vec![ring.item.clone()], true);
        self.turn(&ring);
        let free = ring.place.radius - ring.place.out / 2.0 + if self.has(Fault::MiddleTooWide) { 2.0 } else { -0.8 };
        let side = self.dice.figure(4.0, 8.0);
        let tip = format!(
            "polygon(sides: 3, across_corners: {}) at polar({}, 0deg)",
            mm(side),
            mm((free - side * 0.6).max(1.0))
        );
        let work = if self.dice.chance(70) { "engrave" } else { "score" };
        let hand = outline(&mut self.dice, free);
        let turned =
            if self.has(Fault::OpeningTurned) { degrees(self.dice.figure(3.0, 30.0)) } else { "0deg".to_owned() };
        self.half(9, Some(hand.text), vec![format!("{work} arrow = {tip} turned {turned}")], false);
        self.ends.push("reads ring0 beside arrow".to_owned());
    }

    /// The ring is on the back of the upper half, and read from behind.
    fn behind(&mut self) {
        let reach = self.dice.figure(24.0, 38.0);
        let body = self.body(reach);
        let count = self.dice.count(3, 10);
        let ring = self.ring("ring0", body.within, count);
        let clear = self.clear();
        let shape = self.opening(ring.place, clear, body.reach);
        self.half(0, None, vec![format!("window peep0 = {shape}")], true);
        self.turn(&ring);
        self.half(9, None, vec![format!("back {}", ring.item)], false);
        self.ends.push("reads ring0 through peep0".to_owned());
    }

    /// Two cards on an eyelet.
    fn riveted(&mut self) {
        let reach = self.dice.figure(26.0, 50.0);
        let body = self.body(reach);
        let count = self.dice.count(3, 12);
        let ring = self.ring("ring0", body.within, count);
        let clear = self.clear();
        let shape = self.opening(ring.place, clear, body.reach);
        self.layer("wheel", "card", None, vec![ring.item.clone()]);
        self.stack.push("wheel".to_owned());
        let stops = self.stops(&ring);
        self.stack.push(format!("turn on rivet(eyelet) {{\n{stops}\n}}"));
        self.layer("mask", "card", None, vec![format!("window peep0 = {shape}")]);
        self.stack.push("mask".to_owned());
        self.ends.push("reads ring0 through peep0".to_owned());
    }

    /// A clear cover, painted from behind, with a place left bare.
    fn under_clear(&mut self) {
        let reach = self.dice.figure(26.0, 36.0);
        let body = self.body(reach);
        let count = self.dice.count(3, 10);
        let ring = self.ring("ring0", body.within, count);
        let clear = self.clear();
        let shape = self.opening(ring.place, clear, f64::INFINITY);
        self.half(0, None, vec![ring.item.clone()], true);
        self.stack.push("turn on magnets(disc)".to_owned());
        let painted = if self.dice.chance(70) { 2.0 * body.reach } else { 2.0 * body.within - 1.0 };
        let face = if self.dice.chance(70) { "back " } else { "" };
        let items = vec![
            format!("{face}paint circle(diameter: {}) colour #1d3b5a", mm(painted)),
            format!("{face}bare peep0 = {shape}"),
        ];
        self.layer("pane", "clear_acrylic", None, items);
        self.stack.push("pane".to_owned());
        self.ends.push("reads ring0 through peep0".to_owned());
    }

    /// The outline of the whole dial; now and then a param of it says how large, and a family makes two.
    fn body(&mut self, reach: f64) -> Outline {
        let mut body = outline(&mut self.dice, reach);
        let across = mm(2.0 * body.reach);
        if self.dice.chance(8) && body.text.contains(&across) {
            let (least, most) = (mm(body.reach), mm(3.0 * body.reach));
            self.tops.push(format!("param across: length = {across} from {least} to {most}"));
            let larger = mm(2.0 * body.reach + 1.5);
            self.ends.push(block("family", &[format!("each across in [{across}, {larger}]")]));
            body.text = body.text.replacen(&across, "across", 1);
            body.reach += 0.75;
        }
        self.tops.push(format!("outline {}", body.text));
        self.reach = body.reach;
        body
    }

    /// How far openings stay from labels.
    fn clear(&mut self) -> f64 {
        if self.has(Fault::OpeningNarrow) { self.dice.figure(-1.0, 0.4) } else { self.dice.figure(1.2, 2.2) }
    }

    fn opening(&mut self, place: Place, clear: f64, rim: f64) -> String {
        let shape = opening(&mut self.dice, place, clear, rim);
        match self.fault {
            Some(Fault::OpeningTurned) => format!("({shape}) turned {}", degrees(self.dice.figure(0.5, 25.0))),
            _ => shape,
        }
    }

    /// The layers of a half: one, now and then a plate glued to it.
    fn half(&mut self, half: u32, outline: Option<String>, items: Vec<String>, lowest: bool) {
        let name = if half == 9 { "lid".to_owned() } else { format!("half{half}") };
        if lowest && self.dice.chance(12) {
            self.layer("plate", "birch", outline.clone(), Vec::new());
            self.stack.extend(["plate".to_owned(), "glue pva".to_owned()]);
        }
        self.layer(&name, "birch", outline, items);
        self.stack.push(name);
    }

    /// The cover, with its openings; now and then two layers of it, one opening a little wider than the other.
    fn cover(&mut self, windows: &[(String, String)], innermost: Option<Place>) {
        let mut items: Vec<String> = windows.iter().map(|(name, shape)| format!("window {name} = {shape}")).collect();
        if let (Fault::SecondOpening, Some(place)) = (self.fault.unwrap_or(Fault::SlotNarrow), innermost) {
            let shape = opening(&mut self.dice, place, 0.5, f64::INFINITY);
            items.push(format!("hole ({shape}) turned {}", degrees(self.dice.figure(60.0, 300.0))));
        }
        if self.dice.chance(15) {
            let wells = windows.iter().map(|(_, shape)| format!("window ({shape}) outset 0.8mm")).collect();
            self.layer("core", "birch", None, wells);
            self.stack.extend(["core".to_owned(), "glue pva".to_owned()]);
        }
        self.layer("cover", "birch", None, items);
        self.stack.push("cover".to_owned());
    }

    fn layer(&mut self, name: &str, stock: &'static str, outline: Option<String>, mut items: Vec<String>) {
        if let Some(outline) = outline {
            items.insert(0, format!("outline {outline}"));
        }
        self.thickness += match stock {
            "birch" => 3.0,
            "card" => 1.5,
            _ => 2.0,
        };
        self.adorned(&mut items);
        self.layers.push(Layer { name: name.to_owned(), stock, items });
    }

    /// Other work on a layer, and the faults that are planted there.
    fn adorned(&mut self, items: &mut Vec<String>) {
        let out = self.dice.figure(6.5, 0.6 * self.reach);
        let at = degrees(f64::from(self.dice.count(7, 17)) * 15.0);
        let across = self.dice.figure(1.5, 7.0);
        let placed = format!("{} at polar({}, {at})", ornament(&mut self.dice, across), mm(out));
        match self.dice.count(0, 21) {
            0 => items.push(format!("engrave {placed}")),
            1 => items.push(format!("engrave {placed} tone 60%")),
            2 => items.push(format!("back engrave {placed}")),
            3 => items.push(format!("back engrave {placed}\nflip {}", self.dice.pick(&["board", "holder"]))),
            4 => items.push(format!("score circle(diameter: {})", mm(2.0 * out))),
            5 => items.push("back score trace(\"M -6 -8 L 6 -8\") repeated 3".to_owned()),
            6 => items.push(format!("pocket circle(diameter: 3mm) at polar({}, {at}) depth 1mm", mm(out))),
            7 => items.push(format!("back pocket circle(diameter: 4mm) at polar({}, {at}) depth 1.2mm", mm(out))),
            8 => items.push(format!("hole circle(diameter: 2.5mm) at polar({}, {at})", mm(out))),
            9 => items.push("score single_stroke(\"NO 7\", height: 3mm) at (0mm, -9mm)".to_owned()),
            10 => items.push(format!("back engrave text(\"MADE\\nHERE\", height: {}) at (0mm, -8mm)", mm(across))),
            _ => {}
        }
        let here = self.dice.chance(60);
        match self.fault.filter(|_| here) {
            Some(Fault::HoleByMagnet) => {
                let out = mm(self.dice.figure(3.0, 6.5));
                items.push(format!("hole circle(diameter: 3mm) at polar({out}, {at})"));
            }
            Some(Fault::HoleInRing) => {
                let out = mm(self.dice.figure(0.4, 0.9) * self.reach);
                items.push(format!("hole circle(diameter: 4mm) at polar({out}, {at})"));
            }
            Some(Fault::PocketInRing) => {
                let out = mm(self.dice.figure(0.4, 0.9) * self.reach);
                items.push(format!("pocket circle(diameter: 5mm) at polar({out}, {at}) depth 1mm"));
            }
            Some(Fault::PocketFromBehind) => {
                let (wide, depth) = (mm(self.dice.figure(3.0, 14.0)), mm(self.dice.figure(0.8, 2.6)));
                items.push(format!("back pocket circle(diameter: {wide}) at (0mm, 2mm) depth {depth}"));
            }
            _ => {}
        }
    }

    /// Slot, run, stocks.
    fn ended(&mut self) {
        let across = 2.0 * self.reach + if self.has(Fault::SlotNarrow) { -self.dice.figure(0.2, 6.0) } else { 1.5 };
        let depth = self.thickness + if self.has(Fault::SlotShallow) { -self.dice.figure(0.1, 2.0) } else { 1.0 };
        let planted = matches!(self.fault, Some(Fault::SlotNarrow | Fault::SlotShallow));
        if planted || self.dice.chance(25) {
            let (across, depth) = (mm(across), mm(depth));
            self.ends.push(match self.dice.count(0, 2) {
                0 => format!("slot {across} by {across} by {depth}"),
                1 => format!("slot circle(diameter: {across}) depth {depth}"),
                _ => format!("slot rectangle(width: {across}, height: {across}, corner: 2mm) depth {depth}"),
            });
        }
        if self.has(Fault::MagnetWide) {
            let wide = mm(self.dice.figure(12.0, 40.0));
            self.tops.push(block(
                "magnet wide",
                &[format!("diameter {wide}"), "height 1.5mm".into(), "remanence 1.2T".into()],
            ));
        }
        if self.dice.chance(20) {
            self.ends.push(self.dice.pick(&["run 2", "run 3 {\nspares 1\n}", "run 2 {\ngap 1mm\n}"]).to_owned());
        }
        if self.dice.chance(25) {
            let stock = [
                format!("thickness {}", mm(self.dice.figure(2.6, 4.0))),
                "board 300mm by 300mm".to_owned(),
                format!("kerf {}", mm(self.dice.figure(0.05, 0.3))),
                "weighs 190g".to_owned(),
            ];
            self.tops.push(block("stock ash", &stock));
            let change = |layer: &mut Layer| {
                if layer.stock == "birch" {
                    layer.stock = "ash";
                }
            };
            self.layers.iter_mut().for_each(change);
        }
    }

    fn text(&self, seed: u64) -> String {
        let mut text = format!("dial \"Seed {seed}\"\n{}\n", self.tops.join("\n"));
        for layer in &self.layers {
            text.push_str(&block(&format!("layer {} of {}", layer.name, layer.stock), &layer.items));
            text.push('\n');
        }
        format!("{text}{}\n{}\n", block("stack", &self.stack), self.ends.join("\n"))
    }
}

/// A block, one item a line.
pub(super) fn block(head: &str, items: &[String]) -> String {
    if items.is_empty() { format!("{head} {{ }}") } else { format!("{head} {{\n{}\n}}", items.join("\n")) }
}
