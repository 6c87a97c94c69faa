//! Rings of labels, and the turns that carry them past what they are read by.

use super::dice::{Dice, degrees, mm, plain};
use super::draw::{Sketch, block};
use super::faults::Fault;
use super::shapes::Place;

/// A ring that was drawn.
pub(super) struct Ring {
    pub(super) name: String,
    pub(super) item: String,
    pub(super) place: Place,
    /// Bearings of its labels where they are uneven.
    bearings: Option<Vec<f64>>,
    count: u32,
}

impl Sketch {
    /// A ring of so many labels, or fewer where there is no room for them, within so much of the axis.
    pub(super) fn ring(&mut self, name: &str, free: f64, count: u32) -> Ring {
        let (labels, letters) = self.labels(count);
        let facing =
            self.dice.pick(&["outward", "outward", "outward", "inward", "upright", "clockwise", "anticlockwise"]);
        let room = free - self.dice.figure(1.2, 3.0);
        let mut height = self.dice.figure(2.5, 7.0);
        let uneven = self.dice.chance(20);
        let place = loop {
            let wide = 0.72 * height * f64::from(letters);
            let (along, out) = match facing {
                "upright" => (wide.hypot(height), wide.hypot(height)),
                "clockwise" | "anticlockwise" => (height, wide),
                _ => (wide, height),
            };
            let radius = room - out / 2.0 - along * along / 8.0 / room.max(1.0);
            let apart = std::f64::consts::TAU * radius / f64::from(count) * if uneven { 0.6 } else { 1.0 };
            let fits = radius > out / 2.0 + 7.0 && along + 1.9 < 0.95 * apart;
            if fits || height < 1.3 {
                break Place { radius: radius.max(8.0), along, out, apart };
            }
            height *= 0.9;
        };
        let place = Place { radius: (place.radius * 10.0).round() / 10.0, ..place };
        let bearings = uneven.then(|| self.bearings(count));
        let mut fields = vec![format!("labels {labels}")];
        fields.extend(self.ring_fields(place, height, facing, bearings.as_deref()));
        Ring { name: name.to_owned(), item: block(&format!("engrave ring {name}"), &fields), place, bearings, count }
    }

    fn ring_fields(&mut self, place: Place, height: f64, facing: &str, bearings: Option<&[f64]>) -> Vec<String> {
        let mut fields = Vec::new();
        let moved = match self.fault {
            Some(Fault::RingMoved) => self.dice.figure(-4.0, 4.0),
            Some(Fault::RingOffRim) => self.dice.figure(2.0, 5.0),
            _ => 0.0,
        };
        let tall = if self.has(Fault::TallLabels) { 1.2 + f64::from(self.dice.count(0, 8)) / 10.0 } else { 1.0 };
        if moved != 0.0 || self.dice.chance(70) {
            fields.push(format!("radius {}", mm(place.radius + moved)));
        }
        if tall > 1.0 || self.dice.chance(85) {
            fields.push(format!("height {}", mm(height * tall)));
        }
        if facing != "outward" {
            fields.push(format!("facing {facing}"));
        } else if self.dice.chance(12) {
            fields.push("curved".to_owned());
        }
        if let Some(bearings) = bearings {
            fields.push(format!("bearings {}", list(bearings)));
        } else if self.has(Fault::LabelsReversed) {
            fields.push("bearings [0deg, 300deg, 240deg]".to_owned());
        } else if self.has(Fault::RingTurned) {
            fields.push(format!("first {}", degrees(self.dice.figure(0.5, 25.0))));
        }
        let more = [
            "tone 70%",
            "stroke 0.35mm",
            "ink \"white\"\ncolour #ffffff",
            "typeface \"DejaVu Serif\"",
            "tilt 10deg",
            "ticks 2",
            "ticks 3\ntick 1.5mm by 0.3mm",
        ];
        if self.dice.chance(20) {
            fields.push(self.dice.pick(&more).to_owned());
        }
        fields
    }

    /// So many labels as text, and the letters of the longest.
    fn labels(&mut self, count: u32) -> (String, u32) {
        let words =
            ["Fog", "Calm", "Gale", "Ebb", "Low", "Rye", "Tin", "Wax", "Oak", "Elm", "Sun", "Ice", "Mud", "Bay"];
        match self.dice.count(0, 7) {
            0..=2 => (format!("0 to {}", count - 1), if count > 10 { 2 } else { 1 }),
            3 => (format!("1 to {count}"), if count > 9 { 2 } else { 1 }),
            4 => (format!("0 to {} by 10", 10 * (count - 1)), if count > 10 { 3 } else { 2 }),
            5 => (format!("[for n in 1 to {count}: n * n]"), if count > 9 { 3 } else { 2 }),
            6 => {
                let named: Vec<String> = words.iter().take(count as usize).map(|word| format!("\"{word}\"")).collect();
                if named.len() < count as usize {
                    return (format!("1 to {count}"), 2);
                }
                (format!("[{}]", named.join(", ")), 4)
            }
            _ => {
                let mixed = ["art(\"goods.svg\", part: \"wheat\")", "\"W\"", "3", "\"É\"", "7"];
                let drawn: Vec<&str> = mixed.iter().cycle().take(count as usize).copied().collect();
                (format!("[{}]", drawn.join(", ")), 2)
            }
        }
    }

    /// Bearings that leave each label at least six tenths of its even share.
    fn bearings(&mut self, count: u32) -> Vec<f64> {
        let even = 360.0 / f64::from(count);
        let moved = |dice: &mut Dice| (dice.figure(-0.2, 0.2) * even).round();
        (0..count)
            .map(|at| if at == 0 { 0.0 } else { (f64::from(at) * even).round() + moved(&mut self.dice) })
            .collect()
    }

    pub(super) fn stops(&mut self, ring: &Ring) -> String {
        match (self.fault, &ring.bearings) {
            (Some(Fault::OneStopMore), _) => format!("stops {}", ring.count + 1),
            (Some(Fault::StopMoved), _) => {
                let mut even: Vec<f64> =
                    (0..ring.count).map(|at| (f64::from(at) * 3600.0 / f64::from(ring.count)).round() / 10.0).collect();
                let by = self.dice.figure(1.0, 12.0);
                even.last_mut().into_iter().for_each(|last| *last += by);
                format!("stops {}", list(&even))
            }
            (_, Some(bearings)) => format!("stops {}", list(bearings)),
            _ => format!("stops {}", ring.count),
        }
    }

    /// A turn under a ring's half.
    pub(super) fn turn(&mut self, ring: &Ring) {
        let magnet = if self.has(Fault::MagnetWide) { "wide" } else { "disc" };
        let mut fields = Vec::new();
        if ring.bearings.is_some()
            || matches!(self.fault, Some(Fault::OneStopMore | Fault::StopMoved))
            || self.dice.chance(60)
        {
            fields.push(self.stops(ring));
        }
        if self.has(Fault::PocketDeep) {
            fields.push(format!("pocket {}", mm(self.dice.figure(2.4, 3.2))));
        } else if self.dice.chance(30) {
            fields.push(self.dice.pick(&["pocket 1.6mm", "pocket 1.8mm", "pocket 1.7mm"]).to_owned());
        }
        let inner = ring.place.radius - ring.place.out / 2.0;
        if ring.bearings.is_none() && inner > 15.0 && self.dice.chance(15) {
            fields.push(format!("clicks magnets(tiny, radius: {})", mm(inner - 4.0)));
        }
        if self.dice.chance(10) {
            fields.push(self.dice.pick(&["knock 20", "north down", "north up"]).to_owned());
        }
        self.stack.push(if fields.is_empty() {
            format!("turn on magnets({magnet})")
        } else {
            block(&format!("turn on magnets({magnet})"), &fields)
        });
    }
}

fn list(bearings: &[f64]) -> String {
    let all: Vec<String> = bearings.iter().map(|at| format!("{}deg", plain(*at))).collect();
    format!("[{}]", all.join(", "))
}
