//! What the person at the glue bench sees and does, so that every magnet shows the right pole. Pure text.
//!
//! A pole cannot be seen, so one face of every magnet is marked first: magnets that snapped together into a rod all look the
//! same way. A mark looks up where the magnet's north is up in the dial, or down where it is down; which pole the mark
//! stands on matters only where the maker chose one with `north`.

use kurbo::Point;

use super::describe::face_name;
use crate::audit::holding::{Holding, TurnHolding, layer_mass, meeting, pull_turned_over, rings_turned_over};
use crate::design::axis::{AxisMagnet, magnets};
use crate::design::stops::click_bearings;
use crate::design::{Depth, Design, Face, Layer, Magnet, Pivot, PocketDepth, Pole};
use crate::physics::Polarity;
use crate::physics::friction::weight;
use crate::units::{Angle, Force, Length, plain};

/// A step at the glue bench.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bench {
    /// What is done.
    pub work: BenchWork,
    /// The same in words.
    pub says: String,
}

/// What is done at the glue bench; layers by their place in the stack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BenchWork {
    /// Magnets get their dots.
    Mark,
    /// Magnets are glued into a layer that lies with this face up: one on an axis, or the ring of its clicks.
    Seat {
        /// The layer.
        layer: usize,
        /// What looks up.
        face: Face,
        /// Its place among the magnets on axes, as [`magnets`] lists them; none for the ring of clicks.
        axis: Option<usize>,
    },
    /// The upper one is held front down above the lower one, which pushes it off.
    Test {
        /// The lower layer.
        lower: usize,
        /// The upper one.
        upper: usize,
    },
    /// The glue cures.
    Cure,
}

/// The steps of gluing in the magnets of one dial, in order, in words; none where no turn is held by magnets.
pub fn magnet_steps(design: &Design, holding: &Holding) -> Vec<String> {
    magnet_bench(design, holding).into_iter().map(|step| step.says).collect()
}

/// The same with what is done in each.
pub fn magnet_bench(design: &Design, holding: &Holding) -> Vec<Bench> {
    let (axis, _) = magnets(design);
    if axis.is_empty() {
        return Vec::new();
    }
    let step = |work: BenchWork| move |says: String| Bench { work, says };
    let mut steps: Vec<Bench> = marking(design, &axis).into_iter().map(step(BenchWork::Mark)).collect();
    for (at, magnet) in axis.iter().enumerate() {
        let work = BenchWork::Seat { layer: magnet.layer, face: seen_on(magnet), axis: Some(at) };
        steps.extend(seated(design, magnet).map(step(work)));
    }
    for found in &holding.turns {
        steps.extend(click_steps(design, found));
    }
    for found in holding.turns.iter().filter(|found| found.magnets.is_some()) {
        steps.extend(tests(design, &axis, found));
    }
    steps.extend(cures(&axis).into_iter().map(step(BenchWork::Cure)));
    steps
}

/// The face that looks up when a magnet is glued in: in a hole right through it is pressed down to the plate, so that its other face
/// is seen.
pub(crate) fn seen_on(magnet: &AxisMagnet) -> Face {
    match (magnet.depth, magnet.shared, magnet.face) {
        (Depth::Down(_), ..) | (Depth::Through, true, _) => magnet.face,
        (Depth::Through, false, Face::Front) => Face::Back,
        (Depth::Through, false, Face::Back) => Face::Front,
    }
}

/// How the magnets are marked, kind by kind.
fn marking(design: &Design, axis: &[AxisMagnet]) -> Vec<String> {
    // Magnets of two kinds that are to draw each other are marked in one rod.
    let meets = |name: &str| {
        let pivots = design.turns().map(|(_, turn)| &turn.pivot).filter(|pivot| !pivot.is_on_steel());
        let unlike = pivots.filter_map(|pivot| pivot.seats()).map(|seats| seats.map(|(disc, _)| disc.name.as_str()));
        unlike.filter(|[low, high]| low != high).find(|pair| pair.contains(&name))
    };
    let mut kinds: Vec<(Vec<&str>, usize)> = Vec::new();
    let clicks = design.turns().filter_map(|(_, turn)| {
        let (lower, upper) = click_bearings(&turn.stops);
        turn.clicks.as_ref().map(|clicks| (clicks.magnet.name.as_str(), lower.len() + upper.len()))
    });
    // Steel has no pole, and neither matters where a magnet meets steel alone.
    let poled = axis.iter().filter(|magnet| magnet.poled).map(|magnet| (magnet.magnet.name.as_str(), 1));
    for (name, count) in poled.chain(clicks) {
        let names = meets(name).map_or_else(|| vec![name], |pair| pair.to_vec());
        match kinds.iter_mut().find(|(known, _)| known.contains(&name)) {
            Some((_, all)) => *all += count,
            None => kinds.push((names, count)),
        }
    }
    // Which end is north needs a compass. Where only like and unlike matter, one marked end of a rod does as well.
    let chosen = design.turns().any(|(_, turn)| turn.north.is_some());
    let pole = if chosen {
        "Mark the north poles, which a compass needle's north end turns away from"
    } else {
        "Mark one end of the rod"
    };
    kinds
        .into_iter()
        .map(|(names, count)| {
            format!(
                "Let the {count} magnets `{}` of a dial snap together into one rod. {pole}: a dot of paint on the end face, take that magnet off, and dot the next on the same side, to the last.",
                names.join("` and `")
            )
        })
        .collect()
}

/// How one magnet on the axis is glued in.
fn seated(design: &Design, it: &AxisMagnet) -> Option<String> {
    let layer = design.layers.get(it.layer)?;
    let name = &it.magnet.name;
    let place = place_words(it.at(design));
    if it.shared {
        let left = (layer.stock.thickness.mean - it.magnet.height) / 2.0;
        let dot = sight(it, Face::Front);
        return Some(format!(
            "Lay `{}` with its front up. Glue one `{name}` into the hole in the middle, {} below the front and as far above the back, {dot}: it serves both turns.",
            layer.name,
            left.to_decimals(2)
        ));
    }
    Some(match it.depth {
        Depth::Down(depth) => format!(
            "Lay `{}` with its {} up. Glue one `{name}` into the pocket {place}, {}, {}.",
            layer.name,
            face_name(it.face),
            sunk(it.magnet, depth),
            sight(it, it.face)
        ),
        // It is pressed down to the plate that the partner's face lies on, so the other face is seen.
        Depth::Through => {
            let seen = seen_on(it);
            format!(
                "Lay `{}` with its {} down on a flat plate under baking paper. Glue one `{name}` into the hole {place}, pressed down to the paper, {}.",
                layer.name,
                face_name(it.face),
                sight(it, seen)
            )
        }
    })
}

/// Where something stands on a layer: in its middle, or so far from that, seen from the front.
pub fn place_words(at: Point) -> String {
    let far = |mm: f64, ways: [&str; 2]| {
        let way = if mm < 0.0 { ways[0] } else { ways[1] };
        (mm.abs() > 0.005).then(|| format!("{} {way}", Length::mm(mm.abs()).to_decimals(2)))
    };
    let both: Vec<String> =
        [far(at.x, ["to the left", "to the right"]), far(at.y, ["down", "up"])].into_iter().flatten().collect();
    if both.is_empty() { "in the middle".to_owned() } else { format!("{} from the middle", both.join(" and ")) }
}

/// Whether the dot is seen by someone who looks at this face of the layer.
fn sight(it: &AxisMagnet, seen: Face) -> &'static str {
    if !it.poled {
        "either way up"
    } else if (it.north == Pole::Up) == (seen == Face::Front) {
        "its dot in sight"
    } else {
        "its dot out of sight"
    }
}

fn sunk(magnet: &Magnet, depth: PocketDepth) -> String {
    let left = depth.made() - magnet.height - magnet.film();
    if left.as_mm() > 0.005 {
        format!("{} below the face", left.to_decimals(2))
    } else if left.as_mm() < -0.005 {
        format!("{} above the face", (-left).to_decimals(2))
    } else {
        "flush with the face".to_owned()
    }
}

/// How the rings of click magnets of one turn are glued in.
fn click_steps(design: &Design, found: &TurnHolding) -> Vec<Bench> {
    let Some(rings) = found.magnets.as_ref().and_then(|held| held.clicks.as_ref()) else { return Vec::new() };
    let Some((_, turn)) = design.turns().find(|(below, _)| *below == found.below) else { return Vec::new() };
    let Some(clicks) = &turn.clicks else { return Vec::new() };
    let ring = |at: usize, face: Face, bearings: &[Angle], poles: &[Polarity]| {
        let layer: &Layer = design.layers.get(at)?;
        let says = format!(
            "Lay `{}` with its {} up. Glue {} `{}` into the ring of pockets: {}.",
            layer.name,
            face_name(face),
            bearings.len(),
            clicks.magnet.name,
            dots(bearings, poles, face)
        );
        Some(Bench { work: BenchWork::Seat { layer: at, face, axis: None }, says })
    };
    let pattern = &rings.pattern;
    let (low, high) = design.across(found.below);
    let lower = ring(low, Face::Front, &rings.bearings.0, &pattern.lower);
    let upper = ring(high, Face::Back, &rings.bearings.1, &pattern.upper);
    lower.into_iter().chain(upper).collect()
}

/// Which dots of a ring are seen: "every dot in sight", or the places of those that are.
fn dots(bearings: &[Angle], poles: &[Polarity], face: Face) -> String {
    let seen = |pole: &Polarity| (*pole == Polarity::Up) == (face == Face::Front);
    let in_sight: Vec<&Angle> = bearings.iter().zip(poles).filter(|(_, pole)| seen(pole)).map(|(at, _)| at).collect();
    if in_sight.len() == bearings.len() {
        return "every dot in sight".to_owned();
    }
    if in_sight.is_empty() {
        return "every dot out of sight".to_owned();
    }
    let places: Vec<String> = in_sight.iter().map(|at| at.to_decimals(1)).collect();
    let way = if face == Face::Front { "clockwise" } else { "anticlockwise, since the back is seen," };
    format!("the dot in sight at {} {way} from the top, out of sight at all others", places.join(", "))
}

/// The test that proves the poles of the magnets on the axis before any glue has set. It is one of repulsion, felt from a
/// distance: what attracts in wet glue draws a magnet out of its pocket (common practice, no source).
fn tests(design: &Design, axis: &[AxisMagnet], found: &TurnHolding) -> Option<Bench> {
    // What meets steel repels nothing.
    let (low, high) = meeting(axis, found.below).filter(|(low, high)| low.poled && high.poled)?;
    let (lower, upper) = (design.layers.get(low.layer)?, design.layers.get(high.layer)?);
    let over = pull_turned_over(design, axis, found.below);
    // Click magnets stand in the two layers that meet.
    let meet = (low.layer, high.layer) == design.across(found.below);
    let rings = if meet { rings_turned_over(design, found) } else { None };
    let heavy = weight(layer_mass(design, high.layer, axis));
    let felt = if -over > heavy { "is pushed off" } else { "grows lighter and slides aside" };
    // A layer with its pocket in the back is worked on front down. What else there is was laid the other way.
    let lies = matches!(high.depth, Depth::Down(_)) && high.face == Face::Back && !high.shared;
    let held = if lies { "front down, as it lies and without turning it over," } else { "front down" };
    let newtons = |pull: Force| plain((-pull).as_newtons().max(0.0), 2);
    let (found, amiss) = match rings {
        Some((least, most)) if over + most > Force::ZERO => (
            format!(
                "turned slowly about where it is held, it is pushed off with up to {}N at some angles, and drawn down with up to {}N at others, where unlike click magnets meet",
                newtons(over + least),
                plain((over + most).as_newtons(), 2)
            ),
            "at every angle",
        ),
        Some((least, most)) => (
            format!(
                "it {felt}, for so held the two repel, with {}N to {}N where they would meet, as it is turned over the click magnets",
                newtons(over + most),
                newtons(over + least)
            ),
            "",
        ),
        None => (format!("it {felt}, for so held the two repel, with {}N where they would meet", newtons(over)), ""),
    };
    let drawn = ["Where it is drawn down", amiss].join(if amiss.is_empty() { "" } else { " " });
    let says = format!(
        "Before the glue sets, hold `{}` {held} above `{}`, front up, and lower it slowly, no farther than you feel it: {found}. {drawn}, take it away at once: a magnet stands on its head. Never let the two come together the way they lie in the dial while the glue is wet: they attract there, and draw a magnet out of its pocket.",
        upper.name, lower.name,
    );
    Some(Bench { work: BenchWork::Test { lower: low.layer, upper: high.layer }, says })
}

/// How long the glue of the magnets must cure.
fn cures(axis: &[AxisMagnet]) -> Vec<String> {
    let mut said = Vec::new();
    for glue in axis.iter().filter_map(|magnet| magnet.magnet.adhesive.as_ref()) {
        let hours = plain(glue.cure.as_seconds() / 3600.0, 1);
        let step = format!(
            "Keep the halves apart until {} has cured, {hours}h: a magnet in wet glue jumps to its partner.",
            glue.name
        );
        if !said.contains(&step) {
            said.push(step);
        }
    }
    said
}

/// Whether any turn is held by magnets.
pub fn has_magnets(design: &Design) -> bool {
    design.turns().any(|(_, turn)| turn.clicks.is_some() || matches!(turn.pivot, Pivot::Magnets { .. }))
}
