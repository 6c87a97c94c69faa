//! What is done at the bench to one dial, each step with its picture: magnets into their seats, the test of their poles, layers
//! onto one another, pins, hands, and the halves together.

use kurbo::{Affine, Point};

use super::super::page::text::marked;
use super::super::quote::in_words;
use super::content::BenchStep;
use super::magnets::{Seen, seen};
use super::setup::shade;
use super::solid::{Scene, Solid, Way};
use super::wheels;
use crate::audit::holding::Holding;
use crate::design::{Design, Face, Glue, Pivot, Shape, Tone, Work};
use crate::geometry::shapes::circle;
use crate::plan::{Bench, BenchWork, face_name, magnet_bench, pin_steps};

/// Magnets, their dots, engraving and pockets in pictures.
const METAL: Tone = [0x66; 3];
const SET: Tone = [0x77; 3];
const DOT: Tone = [0xff; 3];
const BURNT: Tone = [0x8c; 3];
const POCKET: Tone = [0xaa; 3];
/// How far above its place something hangs, as a share of the dial's width.
const GAP: f64 = 0.30;

/// All steps of one dial, under the headings that they stand under.
pub(super) struct Assembly<'a> {
    design: &'a Design,
    magnets: Vec<Seen>,
    /// How wide the dial is, in mm.
    wide: f64,
    number: usize,
}

/// What layers are glued under.
pub(super) const GLUE: &str = "Glue";

/// A layer, the face that looks up, and which magnet on an axis; none for the ring of clicks.
type On = (usize, Face, Option<usize>);

/// Steps under one heading.
pub(super) type Chapter = (&'static str, Vec<BenchStep>);

/// The steps in the order in which a dial is made.
pub(super) fn assembly(design: &Design, holding: &Holding) -> Vec<Chapter> {
    let reach = design.layers.iter().map(|layer| crate::audit::fit::swept(&layer.outline).as_mm());
    let mut all = Assembly { design, magnets: seen(design, holding), wide: reach.fold(1.0, f64::max), number: 0 };
    let bench = magnet_bench(design, holding);
    let chapters = [
        ("Magnets", all.magnets(&bench)),
        (GLUE, all.glued()),
        ("Pins", all.pins()),
        ("Hands", all.hands()),
        ("Put it together", all.closed()),
    ];
    chapters.into_iter().filter(|(_, steps)| !steps.is_empty()).collect()
}

impl Assembly<'_> {
    fn step(&mut self, scene: &Scene, seen: &str, says: &str) -> BenchStep {
        self.number += 1;
        let picture = scene.picture(&format!("step-{}", self.number), seen);
        BenchStep { number: self.number, picture, says: marked(says) }
    }

    fn magnets(&mut self, bench: &[Bench]) -> Vec<BenchStep> {
        let mut set: Vec<On> = Vec::new();
        let mut steps = Vec::new();
        for it in bench {
            let (scene, seen) = match it.work {
                BenchWork::Mark => (self.rod(), "Magnets in a rod, a dot on the end of each".to_owned()),
                BenchWork::Seat { layer, face, axis } => {
                    let name = self.name(layer);
                    let scene = self.seated((layer, face, axis), &set);
                    set.push((layer, face, axis));
                    (scene, format!("{name}, {} up, and its magnets above their places", face_name(face)))
                }
                BenchWork::Test { lower, upper } => {
                    let seen =
                        format!("{} held front down above {}, which pushes it off", self.name(upper), self.name(lower));
                    (self.repelled(lower, upper), seen)
                }
                BenchWork::Cure => (self.waiting(), "The halves lie apart".to_owned()),
            };
            steps.push(self.step(&scene, &seen, &it.says));
        }
        steps
    }

    fn name(&self, layer: usize) -> String {
        self.design.layers.get(layer).map(|layer| layer.name.clone()).unwrap_or_default()
    }

    /// A layer with what is on the face that looks up, its lower face at a height; and how high its upper face is.
    fn layer(&self, at: usize, up: Face, low: f64) -> Option<(Solid, f64)> {
        let layer = self.design.layers.get(at)?;
        let turned = if up == Face::Front { Affine::IDENTITY } else { Affine::FLIP_X };
        let map = turned * Affine::translate(self.design.axis(at).to_vec2());
        let pockets =
            layer.pockets().filter(|(mark, ..)| mark.face == up).map(|(_, region, _)| (region.clone(), POCKET));
        let burnt =
            layer.marks.iter().filter(|mark| mark.face == up).filter_map(|mark| match (&mark.work, &mark.shape) {
                (Work::Engrave { .. }, Shape::Region(region)) => Some((region.clone(), BURNT)),
                _ => None,
            });
        let labels = layer.rings.iter().filter(|ring| ring.face == up && ring.work.is_burnt());
        let labels = labels.flat_map(|ring| ring.labels.iter().map(|label| (label.ink.clone(), BURNT)));
        let marks = burnt.chain(labels).chain(pockets).map(|(region, tone)| (region.transformed(map), tone)).collect();
        let high = low + layer.stock.thickness.mean.as_mm();
        let shape = layer.material().transformed(map);
        let tone = shade(self.design, &layer.name);
        Some((Solid { shape, low, high, tone, marks, glue: None }, high))
    }

    /// The magnets of a face of a layer that this is true of, their feet at a height, as discs with their dots, and where they stand.
    fn discs(&self, (layer, face): (usize, Face), low: f64, which: impl Fn(&Seen) -> bool) -> Vec<(Solid, Point)> {
        let turned = if face == Face::Front { Affine::IDENTITY } else { Affine::FLIP_X };
        let map = turned * Affine::translate(self.design.axis(layer).to_vec2());
        let here = self.magnets.iter().filter(|it| (it.layer, it.face) == (layer, face) && which(it));
        here.filter_map(|it| Some((disc(map * it.at, (it.radius, it.hole, it.high), low, it.dot)?, map * it.at)))
            .collect()
    }

    /// The same let in, so that only their upper faces are seen.
    fn let_in(&self, on: (usize, Face), high: f64, which: impl Fn(&Seen) -> bool) -> Vec<Solid> {
        self.discs(on, high, which).into_iter().map(|(disc, _)| Solid { high, tone: SET, ..disc }).collect()
    }

    /// A layer with the magnets that are glued into it now above their places.
    fn seated(&self, (at, face, axis): On, set: &[On]) -> Scene {
        let mut scene = Scene::default();
        let Some((solid, high)) = self.layer(at, face, 0.0) else { return scene };
        scene.solids.push(solid);
        scene.solids.extend(self.let_in((at, face), high, |it| set.contains(&(at, face, it.axis))));
        let lift = high + self.wide * GAP;
        let now = |it: &Seen| it.axis == axis;
        for (disc, place) in self.discs((at, face), lift, now) {
            scene.leads.push((place, high, lift));
            scene.solids.push(disc);
        }
        let here = self.magnets.iter().filter(|it| (it.layer, it.face) == (at, face) && now(it));
        let here: Vec<&Seen> = here.collect();
        let dots: Vec<bool> = here.iter().map(|it| it.dot).collect();
        let dot = match (dots.contains(&true), dots.contains(&false)) {
            _ if here.iter().all(|it| !it.poled) => "either way up",
            (true, false) => "dot up",
            (false, true) => "dot down",
            _ => "dots as shown",
        };
        scene.words = (format!("{}, {} up", self.name(at), face_name(face)), dot.to_owned());
        scene
    }

    /// Magnets in a rod; the uppermost is taken off.
    fn rod(&self) -> Scene {
        let mut scene = Scene::default();
        let Some(first) = self.magnets.iter().find(|it| it.poled) else { return scene };
        let (radius, high) = (first.radius, first.high);
        let count = self.magnets.iter().filter(|it| (it.radius - radius).abs() < 1e-9).count().clamp(2, 5);
        for at in 0..count {
            #[allow(clippy::cast_precision_loss, reason = "at most five")]
            let low = at as f64 * high + if at + 1 == count { 3.0 * high } else { 0.0 };
            scene.solids.extend(disc(Point::ORIGIN, (radius, 0.0, high), low, at + 1 >= count.saturating_sub(1)));
        }
        scene.words = (String::new(), "a dot on each".to_owned());
        scene
    }

    /// One layer held front down above another.
    fn repelled(&self, lower: usize, upper: usize) -> Scene {
        let mut scene = Scene::default();
        let Some((solid, high)) = self.layer(lower, Face::Front, 0.0) else { return scene };
        scene.solids.push(solid);
        scene.solids.extend(self.let_in((lower, Face::Front), high, |_| true));
        let lift = high + self.wide * GAP * 1.3;
        if let Some((solid, high)) = self.layer(upper, Face::Back, lift) {
            scene.solids.push(solid);
            scene.solids.extend(self.let_in((upper, Face::Back), high, |_| true));
        }
        scene.way = Some(Way::Apart);
        scene.words = (format!("{} front down", self.name(upper)), "pushed off".to_owned());
        scene
    }

    /// The parts that hold magnets lie beside each other.
    fn waiting(&self) -> Scene {
        let mut scene = Scene::default();
        let mut layers: Vec<usize> = self.magnets.iter().map(|it| it.layer).collect();
        layers.sort_unstable();
        layers.dedup();
        for (at, layer) in layers.iter().enumerate() {
            #[allow(clippy::cast_precision_loss, reason = "a handful of layers")]
            let aside = Affine::translate((at as f64 * self.wide * 1.15, 0.0));
            let Some((solid, _)) = self.layer(*layer, Face::Front, 0.0) else { continue };
            let marks = solid.marks.into_iter().map(|(region, tone)| (region.transformed(aside), tone)).collect();
            scene.solids.push(Solid { shape: solid.shape.transformed(aside), marks, ..solid });
        }
        scene.words = ("keep apart".to_owned(), "let it cure".to_owned());
        scene
    }

    /// Layers of the stack as they lie upon each other, front up, with the height that they reach.
    fn stacked(&self, layers: impl Iterator<Item = usize>, from: f64) -> (Vec<Solid>, f64) {
        let (mut solids, mut high) = (Vec::new(), from);
        for at in layers {
            // Wheels stand within the layer that carries their walls.
            let low = if self.design.is_wheel(at) && !self.design.is_hand(at) {
                high - self.design.layers.get(at).map_or(0.0, |layer| layer.stock.thickness.mean.as_mm())
            } else {
                high
            };
            let Some((solid, top)) = self.layer(at, Face::Front, low) else { continue };
            high = high.max(top);
            solids.push(solid);
        }
        (solids, high)
    }

    /// The layers that are one piece with this one once all below it is glued, itself included.
    fn piece(&self, top: usize) -> Vec<usize> {
        let bonds: Vec<(usize, usize)> = self.design.bonds().map(|(below, above, _)| (below, above)).collect();
        let (mut piece, mut at) = (vec![top], top);
        while let Some((below, _)) = bonds.iter().find(|(_, above)| *above == at) {
            piece.push(*below);
            at = *below;
        }
        piece.reverse();
        piece
    }

    fn glued(&mut self) -> Vec<BenchStep> {
        let design = self.design;
        let bonds: Vec<(usize, usize, &Glue)> = design.bonds().collect();
        let mut steps = Vec::new();
        for (at, upper, glue) in bonds {
            let (below, above) = (self.name(at), self.name(upper));
            if let Some(says) = wheels::laid_in(design, upper) {
                let shut = design.wheels().filter(|(.., axle)| axle.lid == Some(upper)).map(|(at, ..)| at);
                let scene = self.laid(&self.piece(at), &shut.collect::<Vec<usize>>());
                steps.push(self.step(&scene, "The wheels above the openings that they turn in", &says));
            }
            let (mut solids, high) = self.with_wheels(&self.piece(at), upper);
            if let Some(on) = solids
                .iter_mut()
                .rev()
                .find(|solid| (solid.high - high).abs() < 1e-6 && solid.tone == shade(design, &below))
            {
                on.glue = design.layers.get(upper).map(|layer| on.shape.intersection(layer.material()));
            }
            let mut scene = Scene { solids, way: Some(Way::Down), ..Scene::default() };
            scene.solids.extend(self.layer(upper, Face::Front, high + self.wide * GAP).map(|(solid, _)| solid));
            scene.words = (format!("{above} on {below}"), "front up".to_owned());
            let kept_off = wheels::glue_kept_off(design, (at, upper)).unwrap_or_default();
            let says = format!(
                "Glue `{above}` onto `{below}` with {}{kept_off}: on the hatched face. Press them together, wipe off what wells out, and leave it {} to cure.",
                glue.adhesive.name,
                in_words(glue.adhesive.cure)
            );
            steps.push(self.step(&scene, &format!("{above} above {below}, which is hatched where glue goes"), &says));
        }
        steps
    }

    /// A piece with the wheels in it that lie below this layer.
    fn with_wheels(&self, piece: &[usize], upper: usize) -> (Vec<Solid>, f64) {
        let shut = self.design.wheels().filter(|(.., axle)| axle.lid == Some(upper)).map(|(at, ..)| at);
        self.stacked(piece.iter().copied().chain(shut), 0.0)
    }

    /// Things that hang above a piece.
    fn laid(&self, piece: &[usize], hung: &[usize]) -> Scene {
        let (mut solids, high) = self.stacked(piece.iter().copied(), 0.0);
        for at in hung {
            solids.extend(self.layer(*at, Face::Front, high + self.wide * GAP * 0.6).map(|(solid, _)| solid));
        }
        let names: Vec<String> = hung.iter().map(|at| self.name(*at)).collect();
        Scene { solids, way: Some(Way::Down), words: (names.join(", "), "front up".to_owned()), ..Scene::default() }
    }

    fn pins(&mut self) -> Vec<BenchStep> {
        let all: Vec<usize> = (0..self.design.layers.len()).collect();
        let steps = pin_steps(self.design);
        let one = |says: &String| {
            let (solids, _) = self.stacked(all.iter().copied(), 0.0);
            let scene = Scene { solids, ..Scene::default() };
            self.step(&scene, "The dial from aside", says)
        };
        steps.iter().map(one).collect()
    }

    fn hands(&mut self) -> Vec<BenchStep> {
        let hands: Vec<(usize, usize)> = self
            .design
            .wheels()
            .filter(|(at, ..)| self.design.is_hand(*at))
            .map(|(at, .., axle)| (at, axle.carrier))
            .collect();
        let steps = wheels::put_on(self.design);
        let one = |(says, (hand, carrier)): (&String, &(usize, usize))| {
            let scene = self.laid(&self.piece(*carrier), &[*hand]);
            self.step(&scene, "The hand above its place", says)
        };
        steps.iter().zip(&hands).map(one).collect()
    }

    /// The halves of every turn that is none of a wheel's or hand's.
    fn closed(&mut self) -> Vec<BenchStep> {
        let design = self.design;
        let turns: Vec<(usize, String)> = design
            .turns()
            .filter(|(below, _)| !design.is_wheel(below + 1))
            .filter_map(|(below, turn)| {
                let (lower, upper) = (self.name(below), self.name(below + 1));
                let says = match &turn.pivot {
                    Pivot::Magnets { .. } if turn.pivot.is_on_steel() => format!(
                        "With all glue cured, lay `{upper}` on `{lower}`, both front up, so that the magnet stands over the washer. It draws them together; turn it once round: it must run freely, and stay on its middle."
                    ),
                    Pivot::Magnets { .. } => format!(
                        "With all glue cured, lay `{upper}` on `{lower}`, both front up. The magnets draw them together and onto their middle; turn it once round: it must run freely."
                    ),
                    Pivot::Rivet(rivet) if rivet.kind.word() != "pin" => format!(
                        "Lay `{upper}` on `{lower}`, both front up, put the {} `{}` through the middle and close it, no tighter than the dial still turns freely.",
                        rivet.kind.word(),
                        rivet.name
                    ),
                    Pivot::Rivet(_) | Pivot::Wall => return None,
                };
                Some((below, says))
            })
            .collect();
        let mut steps = Vec::new();
        for (below, says) in turns {
            let halves = design.halves(below);
            let still = |at: &usize| !design.is_wheel(*at);
            let (mut solids, high) = self.stacked((*halves.start()..=below).filter(still), 0.0);
            let (upper, _) = self.stacked((below + 1..=*halves.end()).filter(still), high + self.wide * GAP);
            solids.extend(upper);
            let words = (format!("{} on {}", self.name(below + 1), self.name(below)), "front up".to_owned());
            let scene = Scene { solids, way: Some(Way::Down), words, ..Scene::default() };
            steps.push(self.step(&scene, "The upper half above the lower", &says));
        }
        steps
    }
}

/// A magnet, with its dot where that is in sight, or a washer with its hole.
fn disc(at: Point, (radius, hole, thick): (f64, f64, f64), low: f64, dot: bool) -> Option<Solid> {
    let round = |radius: f64| Some(circle(radius).ok()?.transformed(Affine::translate(at.to_vec2())));
    let marks = if dot { vec![(round(radius * 0.4)?, DOT)] } else { Vec::new() };
    let shape = if hole > 0.0 { round(radius)?.difference(&round(hole)?) } else { round(radius)? };
    Some(Solid { shape, low, high: low + thick, tone: METAL, marks, glue: None })
}
