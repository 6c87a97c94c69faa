//! How often a reading is right when dials are made within the shop's spreads.
//!
//! Each of [`SAMPLES`] dials gets a kerf, pockets off centre, magnets at play in them, and a stop set by hand, all
//! drawn from a seeded generator, so that the same design gives the same answer. Most draws are settled by a bound:
//! a shape that is moved by less than its gap cannot have closed it. The rest are laid over each other in earnest.

use std::collections::BTreeMap;

use fastrand::Rng;
use kurbo::{Affine, Point, Vec2};

use super::findings as say;
use super::judge::failing;
use super::scene::{Scene, Seen};
use super::slack::half_ways;
use super::{CheckedReading, CheckedStop, ReadingCheck};
pub use crate::design::Spreads;
use crate::design::pose::Pose;
use crate::design::{Design, Pivot, Room, Turn};
use crate::diagnostics::Problems;
use crate::geometry::FlattenedShape;
use crate::units::{Angle, Length};

/// Dials drawn for each stop.
pub const SAMPLES: u32 = 10_000;
/// A stop that reads right in less than this share of dials is worth a warning (common practice, no source).
pub const SURE: f64 = 0.99;
/// How many standard deviations the worst case takes, for spreads that have no bound of their own.
const WORST: f64 = 3.0;
/// Fineness of the copies that are laid over each other, in mm.
const ROUGH_MM: f64 = 4e-3;

/// A source of error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spread {
    /// The width of the cut.
    Kerf,
    /// Pockets off the axis.
    Concentricity,
    /// Magnets or rivets at play in their pockets.
    Play,
    /// Stops set off their bearing.
    Placing,
}

impl Spread {
    /// What it is called in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Kerf => "the spread of the kerf",
            Self::Concentricity => "the centring of the pockets",
            Self::Play => "the play of the magnet or rivet",
            Self::Placing => "the placing of the stop",
        }
    }
}

/// How sure one reading is.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingTolerance {
    /// The ring read.
    pub ring: String,
    /// The openings or pointer.
    pub by: Vec<String>,
    /// One for each of the stops checked.
    pub stops: Vec<StopTolerance>,
}

/// How sure one stop is.
#[derive(Clone, Debug, PartialEq)]
pub struct StopTolerance {
    /// Share of the dials drawn that read right, 0 to 1.
    pub share: f64,
    /// Least of margin and foreign gap when every spread is at its worst at once (three standard deviations, or the
    /// whole of the play); negative where the reading would fail.
    pub worst_margin: Length,
    /// What each spread takes off at its worst, by itself.
    pub losses: Vec<(Spread, Length)>,
}

impl StopTolerance {
    /// The spread that takes most.
    pub fn matters_most(&self) -> Option<Spread> {
        self.losses.iter().max_by(|a, b| a.1.as_mm().total_cmp(&b.1.as_mm())).map(|(spread, _)| *spread)
    }
}

/// Draws dials for every stop that was checked.
pub fn tolerance(design: &Design, check: &ReadingCheck, spreads: &Spreads) -> (Vec<ReadingTolerance>, Problems) {
    let mut problems = Problems::default();
    let mut all = Vec::new();
    for (at, reading) in check.readings.iter().enumerate() {
        let Some(asked) = design.readings.iter().find(|asked| asked.origin == reading.origin && asked.by == reading.by)
        else {
            continue;
        };
        let Ok(scene) = Scene::of(design, asked) else { continue };
        let sampler = Sampler { design, spreads, scene, reading };
        // Combinations of stops that look the same were checked once, and are drawn once.
        let mut known: BTreeMap<(usize, [u64; 3]), StopTolerance> = BTreeMap::new();
        let stops = reading.stops.iter().enumerate().map(|(index, stop)| {
            let made = known.entry(case_key(stop)).or_insert_with(|| sampler.stop(stop, seed(at, index)));
            made.clone()
        });
        let stops: Vec<StopTolerance> = stops.collect();
        let unsure = reading.stops.iter().zip(&stops).filter(|(stop, made)| stop.reads && made.share < SURE);
        let count = unsure.clone().count();
        if let Some((stop, made)) = unsure.min_by(|a, b| a.1.share.total_cmp(&b.1.share))
            && let Some(failing) = failing(design, asked, stop, count, stops.len())
        {
            let matters_most = made.matters_most().map_or("", Spread::name);
            problems.push(say::unsure(&failing, made.share, made.worst_margin, matters_most));
        }
        all.push(ReadingTolerance { ring: reading.ring.clone(), by: reading.by.clone(), stops });
    }
    (all, problems)
}

fn case_key(stop: &CheckedStop) -> (usize, [u64; 3]) {
    let figures = [stop.margin.as_mm(), stop.slack.0.as_degrees(), stop.slack.1.as_degrees()];
    (stop.due, figures.map(f64::to_bits))
}

/// A seed of its own for each stop, so that no stop's answer hangs on another's.
fn seed(reading: usize, stop: usize) -> u64 {
    (u64::try_from(reading).unwrap_or(0) << 32) | u64::try_from(stop).unwrap_or(0)
}

struct Sampler<'a> {
    design: &'a Design,
    spreads: &'a Spreads,
    scene: Scene<'a>,
    reading: &'a CheckedReading,
}

/// One dial's errors.
struct Sample {
    /// What each turn adds: the layer below it, degrees, shift in mm.
    turns: Vec<(usize, f64, Vec2)>,
    /// How much wider every opening is on each side, in mm.
    wider: f64,
}

/// What is laid over each other at one stop.
struct Bench {
    label: FlattenedShape,
    label_reach: f64,
    covers: Vec<Seen>,
    openings: Vec<Seen>,
    inks: Vec<Seen>,
    opening_reach: f64,
}

/// The reading with the least room for error in centring that pockets overrun at their worst, where their centres have
/// this standard deviation; none where every reading leaves enough.
pub fn overrun(check: &ReadingCheck, strays: Length) -> Option<Room> {
    let rooms = check.readings.iter().flat_map(|reading| {
        let taken = worst_off_axis(strays, reading.turns.len());
        let left = reading.stops.iter().filter(|stop| stop.reads).filter_map(CheckedStop::near_centring_slack);
        left.map(move |left| Room { left, taken })
    });
    let short = |room: &Room| room.left.as_mm() - room.taken.as_mm();
    rooms.filter(|room| short(room) < 0.0).min_by(|a, b| short(a).total_cmp(&short(b)))
}

/// How far the halves of so many turns stray from each other at the worst: two pockets for each.
fn worst_off_axis(strays: Length, turns: usize) -> Length {
    #[allow(clippy::cast_precision_loss, reason = "a handful of turns")]
    let pockets = 2.0 * turns as f64;
    Length::mm(WORST * strays.as_mm() * pockets.sqrt())
}

impl<'a> Sampler<'a> {
    /// The turns that the reading depends on.
    fn turns(&self) -> impl Iterator<Item = (usize, &'a Turn)> {
        self.reading.turns.iter().filter_map(|at| self.design.turns().nth(*at))
    }

    fn stop(&self, stop: &CheckedStop, seed: u64) -> StopTolerance {
        let pose = Pose::of_turns(self.design, &self.reading.turns, &stop.stops);
        let losses = self.losses(stop, &pose);
        let lost: f64 = losses.iter().map(|(_, loss)| loss.as_mm()).sum();
        let room = room(stop);
        // A stop that reads wrong as drawn is not sampled: that some errors would make it right is no merit.
        let right = stop.shown == Some(stop.due);
        let share = if right { self.share(stop, &pose, seed) } else { 0.0 };
        StopTolerance { share, worst_margin: Length::mm(room - lost), losses }
    }

    /// What each spread takes at its worst.
    fn losses(&self, stop: &CheckedStop, pose: &Pose) -> Vec<(Spread, Length)> {
        let off_axis = worst_off_axis(self.spreads.centring(), self.turns().count()).as_mm();
        let play: f64 = self.turns().map(|(_, turn)| 2.0 * play_of(turn)).sum();
        let turned = |sign: f64| {
            let pose = self.turns().fold(pose.clone(), |pose, (below, turn)| {
                pose.nudged(below, sign * WORST * self.placing(turn).as_degrees())
            });
            self.scene.room(stop.due, &pose)
        };
        let placing = room(stop) - turned(1.0).min(turned(-1.0)).min(room(stop));
        [
            (Spread::Kerf, WORST * self.spreads.kerf.as_mm() / 2.0),
            (Spread::Concentricity, off_axis),
            (Spread::Play, play),
            (Spread::Placing, placing),
        ]
        .map(|(spread, mm)| (spread, Length::mm(mm)))
        .to_vec()
    }

    fn placing(&self, turn: &Turn) -> Angle {
        if turn.clicks.is_some() { self.spreads.clicked } else { self.spreads.placing }
    }

    /// Share of dials that read right.
    fn share(&self, stop: &CheckedStop, pose: &Pose, seed: u64) -> f64 {
        let mut rng = Rng::with_seed(seed);
        // Ten thousand dials are laid over each other with rough copies; most are settled by the bound and never laid
        // at all.
        let bench = self.bench(stop);
        let ways = self.scene.pointer.is_some().then(|| half_ways(&self.scene, stop.due, pose));
        let right = (0..SAMPLES).filter(|_| {
            let sample = self.sample(&mut rng);
            let turned: f64 = sample.turns.iter().map(|(_, by, _)| by).sum();
            let points_right = ways.is_none_or(|(back, on)| -back <= turned && turned <= on);
            points_right && (bench.surely_reads(stop, &sample) || self.reads(&bench, pose, &sample))
        });
        #[allow(clippy::cast_precision_loss, reason = "at most the number of draws")]
        let right = right.count() as f64;
        right / f64::from(SAMPLES)
    }

    fn sample(&self, rng: &mut Rng) -> Sample {
        let wider = self.spreads.kerf.as_mm() * normal(rng) / 2.0;
        let turns = self.turns().map(|(below, turn)| {
            let by = self.placing(turn).as_degrees() * normal(rng);
            // Two pockets, one in each half, each off by itself: their difference strays by the root of two.
            let spread = self.spreads.centring().as_mm() * std::f64::consts::SQRT_2;
            let off_axis = Vec2::new(spread * normal(rng), spread * normal(rng));
            let play = play_of(turn);
            (below, by, off_axis + in_disc(rng, play) + in_disc(rng, play))
        });
        Sample { turns: turns.collect(), wider }
    }

    fn bench(&self, stop: &CheckedStop) -> Bench {
        let ink = self.scene.ring.labels.get(stop.due).map(|label| FlattenedShape::to_within(&label.ink, ROUGH_MM));
        let label = ink.unwrap_or_default();
        let openings = self.scene.rough_openings(ROUGH_MM);
        let opening_reach = openings.iter().map(|seen| seen.flat.reach(Point::ZERO)).fold(0.0, f64::max);
        Bench {
            label_reach: label.reach(Point::ZERO),
            label,
            covers: self.scene.rough_covers(ROUGH_MM),
            openings,
            inks: self.scene.rough_labels(stop.due, ROUGH_MM),
            opening_reach,
        }
    }

    /// Whether the dial drawn reads right, by laying its parts over each other.
    fn reads(&self, bench: &Bench, pose: &Pose, sample: &Sample) -> bool {
        let pose = sample.turns.iter().fold(pose.clone(), |pose, (below, by, _)| pose.nudged(*below, *by));
        // Takes a shape of one layer onto another, with the shifts of the turns between them.
        let onto = |from: usize, to: usize| {
            let between = |below: usize| (from.min(to)..from.max(to)).contains(&below);
            let shift: Vec2 =
                sample.turns.iter().filter(|(below, ..)| between(*below)).fold(Vec2::ZERO, |sum, (_, _, by)| sum + *by);
            Affine::translate(if from < to { -shift } else { shift }) * pose.map(from, to)
        };
        let clipped = |cover: &Seen| {
            let ink = bench.label.moved(onto(self.scene.ring_at, cover.layer));
            nearer(&ink, &cover.flat, -sample.wider)
        };
        // Ink shows only where every opening shows it; asking each by itself errs on the side of a misread.
        let shows = |ink: &Seen| {
            bench.openings.iter().all(|opening| {
                let map = onto(ink.layer, opening.layer);
                ink.may_meet(map, opening, sample.wider) && nearer(&ink.flat.moved(map), &opening.flat, sample.wider)
            })
        };
        !bench.covers.iter().any(clipped) && !bench.inks.iter().any(shows)
    }
}

impl Bench {
    /// Whether nothing was moved far enough to close a gap.
    fn surely_reads(&self, stop: &CheckedStop, sample: &Sample) -> bool {
        let shift: f64 = sample.turns.iter().map(|(_, _, by)| by.hypot()).sum();
        let turned: f64 = sample.turns.iter().map(|(_, by, _)| by.abs().to_radians()).sum();
        let foreign = stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm);
        stop.margin.as_mm() > shift + turned * self.label_reach - sample.wider
            && foreign > shift + turned * self.opening_reach + sample.wider
    }
}

/// Whether two shapes come nearer than `mm`; below zero, whether they overlap by more than that.
fn nearer(a: &FlattenedShape, b: &FlattenedShape, mm: f64) -> bool {
    if mm >= 0.0 {
        return a.closer_than(b, mm);
    }
    a.deeper_than(b, -mm)
}

/// Least of margin and foreign gap, in mm.
fn room(stop: &CheckedStop) -> f64 {
    stop.margin.as_mm().min(stop.foreign_gap.map_or(f64::INFINITY, Length::as_mm))
}

/// How far a pivot may lie off the middle of one of its pockets, in mm.
fn play_of(turn: &Turn) -> f64 {
    match &turn.pivot {
        Pivot::Magnets { magnet, .. } => magnet.clearance.as_mm() / 2.0,
        Pivot::Rivet(rivet) => rivet.clearance.as_mm() / 2.0,
    }
}

/// A standard normal draw (Box and Muller, 1958).
fn normal(rng: &mut Rng) -> f64 {
    let radius = (-2.0 * (1.0 - rng.f64()).ln()).sqrt();
    radius * (std::f64::consts::TAU * rng.f64()).cos()
}

/// A point drawn evenly from a disc.
fn in_disc(rng: &mut Rng, radius: f64) -> Vec2 {
    let (away, angle) = (radius * rng.f64().sqrt(), std::f64::consts::TAU * rng.f64());
    Vec2::from_angle(angle) * away
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Moments of draws against those of the distributions: 0, 1, 0 and 3 of the normal one; a disc's points lie within it,
    /// half of them within 1/sqrt 2 of its radius. Seeded, so that the same draws are made every time.
    #[test]
    fn draws_are_distributed_as_they_say() {
        let mut rng = Rng::with_seed(11);
        let draws: Vec<f64> = (0..40_000).map(|_| normal(&mut rng)).collect();
        let moment = |power: i32| draws.iter().map(|draw| draw.powi(power)).sum::<f64>() / 40_000.0;
        for (power, wanted, within) in [(1, 0.0, 0.02), (2, 1.0, 0.03), (3, 0.0, 0.08), (4, 3.0, 0.2)] {
            assert!((moment(power) - wanted).abs() < within, "moment {power}: {}", moment(power));
        }
        let points: Vec<Vec2> = (0..40_000).map(|_| in_disc(&mut rng, 3.0)).collect();
        assert!(points.iter().all(|at| at.hypot() <= 3.0));
        let share = |wanted: &dyn Fn(&Vec2) -> bool| points.iter().filter(|at| wanted(at)).count() as f64 / 40_000.0;
        assert!((share(&|at| at.hypot() < 3.0 / 2.0_f64.sqrt()) - 0.5).abs() < 0.01);
        for turned in 0..8 {
            let way = Vec2::from_angle(std::f64::consts::TAU * f64::from(turned) / 8.0);
            assert!((share(&|at| at.dot(way) > 0.0) - 0.5).abs() < 0.01);
        }
    }

    /// Two pockets for each turn, three deviations each, by the root of the sum of the squares.
    #[test]
    fn halves_stray_by_the_root_of_their_pockets() {
        for (turns, wanted) in [(0, 0.0), (1, 3.0 * 2.0_f64.sqrt()), (2, 6.0), (8, 12.0)] {
            assert!((worst_off_axis(Length::mm(0.5), turns).as_mm() - 0.5 * wanted).abs() < 1e-12);
        }
    }

    #[test]
    fn no_two_stops_share_a_seed() {
        let seeds: std::collections::BTreeSet<u64> =
            (0..50).flat_map(|reading| (0..50).map(move |stop| seed(reading, stop))).collect();
        assert_eq!(seeds.len(), 2_500);
    }

    fn disc(radius: f64, x: f64) -> FlattenedShape {
        FlattenedShape::to_within(&crate::geometry::shapes::circle(radius).unwrap(), 1e-3)
            .moved(Affine::translate((x, 0.0)))
    }

    #[test]
    fn shapes_are_nearer_by_gap_or_overlap() {
        let (one, other, far) = (disc(3.0, 0.0), disc(2.0, 4.0), disc(2.0, 7.0));
        // 1 mm of overlap; and 2 mm of room.
        assert!(nearer(&one, &other, 0.0) && nearer(&one, &other, -0.9) && !nearer(&one, &other, -1.1));
        assert!(
            nearer(&one, &far, 2.1)
                && !nearer(&one, &far, 1.9)
                && !nearer(&one, &far, 0.0)
                && !nearer(&one, &far, -0.1)
        );
    }

    fn stop(margin: f64, foreign: Option<f64>) -> CheckedStop {
        CheckedStop {
            shown: Some(0),
            visible_area: 1.0,
            due_area: 1.0,
            margin: Length::mm(margin),
            foreign_gap: foreign.map(Length::mm),
            reads: true,
            ..CheckedStop::default()
        }
    }

    /// Nothing is closed that is moved by less than its gap: a shift, a turn by its arc at the farthest point, and the kerf, which
    /// widens what the label stands in and brings other ink nearer.
    #[test]
    fn what_hardly_moves_surely_reads() {
        let bench = Bench {
            label: FlattenedShape::default(),
            label_reach: 20.0,
            covers: Vec::new(),
            openings: Vec::new(),
            inks: Vec::new(),
            opening_reach: 30.0,
        };
        let degree = 1.0_f64.to_radians();
        let sample = |shift: (f64, f64), by: f64, wider: f64| Sample { turns: vec![(0, by, Vec2::from(shift))], wider };
        let sure =
            |margin: f64, foreign: Option<f64>, sample: &Sample| bench.surely_reads(&stop(margin, foreign), sample);
        let shifted = sample((0.3, 0.4), 0.0, 0.0);
        assert!(sure(0.51, None, &shifted) && !sure(0.49, None, &shifted));
        assert!(sure(9.0, Some(0.51), &shifted) && !sure(9.0, Some(0.49), &shifted));
        for by in [1.0, -1.0] {
            let turned = sample((0.0, 0.0), by, 0.0);
            assert!(sure(20.1 * degree, None, &turned) && !sure(19.9 * degree, None, &turned));
            assert!(sure(9.0, Some(30.1 * degree), &turned) && !sure(9.0, Some(29.9 * degree), &turned));
        }
        let wide = sample((0.3, 0.4), 0.0, 0.1);
        assert!(sure(0.41, None, &wide) && !sure(0.39, None, &wide));
        assert!(sure(9.0, Some(0.61), &wide) && !sure(9.0, Some(0.59), &wide));
        let twice = Sample { turns: vec![(0, 1.0, Vec2::new(0.1, 0.0)), (1, 1.0, Vec2::new(0.0, 0.2))], wider: 0.0 };
        assert!(sure(0.301 + 40.0 * degree, None, &twice) && !sure(0.299 + 40.0 * degree, None, &twice));
        assert_eq!((room(&stop(0.5, None)), room(&stop(0.5, Some(0.2))), room(&stop(0.1, Some(0.2)))), (0.5, 0.2, 0.1));
    }

    #[test]
    fn the_tightest_reading_is_told_where_pockets_overrun_it() {
        let reading = |slacks: &[f64], turns: usize| CheckedReading {
            ring: "crew".into(),
            how: crate::design::ReadsHow::Through,
            by: Vec::new(),
            turns: (0..turns).collect(),
            stops: slacks.iter().map(|mm| CheckedStop { centring_slack: Length::mm(*mm), ..stop(1.0, None) }).collect(),
            origin: crate::source::Span::new(crate::source::Sources::default().add("a.dial", ""), 0..1),
        };
        let check = |readings: Vec<CheckedReading>| ReadingCheck { readings };
        // 3 x 0.1 x sqrt 2 is 0.424 mm, with two turns 0.6 mm.
        let strays = Length::mm(0.1);
        assert!(overrun(&check(vec![reading(&[0.43, 0.9], 1)]), strays).is_none());
        let found = overrun(&check(vec![reading(&[0.9, 0.41], 1), reading(&[0.4, 0.5], 2)]), strays).unwrap();
        assert!((found.left.as_mm() - 0.4).abs() < 1e-12 && (found.taken.as_mm() - 0.6).abs() < 1e-12);
        let mut misread = reading(&[0.1], 1);
        misread.stops[0].reads = false;
        assert!(overrun(&check(vec![misread]), strays).is_none(), "what reads wrong anyhow is no matter here");
    }
}
