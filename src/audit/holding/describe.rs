//! What holds a turn, in plain words with figures: for the command line, the proof and the run sheet alike.

use super::{Body, Glued, Held, Holding, Rings, TurnHolding, magnets};
use crate::design::{Depth, Design, Fastener, Layer, Magnet, Pivot, Wall};
use crate::physics::Disc;
use crate::physics::clicks::Rest;
use crate::physics::dead_band::DeadBand;
use crate::physics::friction::{Basis, COMFORTABLE_THUMB, weight};
use crate::physics::hazard::{LIMIT_KG2_MM2, hazard};
use crate::physics::spread::Cause;
use crate::units::{Angle, Force, Length, Torque, plain};

/// The pull that tests of toys for three to eight years put on what may come loose, 15 pounds (16 CFR 1500.53; the figure is
/// from memory).
pub const TOY_TEST: Force = Force::newtons(66.7);

/// A subject and what is said of it.
pub type Description = (&'static str, String);

impl Holding {
    /// What is said of a turn, plain words first.
    pub fn describe(&self, design: &Design, found: &TurnHolding) -> Vec<Description> {
        if let Some((_, _, wall)) = design.walled(found.below + 1) {
            return wheel(design, found, wall);
        }
        if let Some(dial) = design.held_about(found.below + 1) {
            let own = TurnHolding { below: dial.joints.len() - 1, ..found.clone() };
            return Self { turns: Vec::new(), stored: self.stored }.describe(&dial, &own);
        }
        let mut said = Vec::new();
        said.extend(screwed(design, found).map(|words| ("held", words)));
        if let Some(held) = &found.magnets {
            said.extend(steadiness(found));
            said.push(("lifts off", lifted(held)));
            said.push(("gap", gap(held)));
            said.extend(pockets(design, found).map(|words| ("pockets", words)));
            said.push(("sideways", sideways(found, held)));
            said.push(("friction", friction(held)));
        }
        said.push(("weight", weights(design, found)));
        if let Some(held) = &found.magnets {
            said.extend(held.clicks.as_ref().map(|rings| ("clicks", clicks(rings))));
            said.extend(held.clicks.as_ref().map(|rings| ("rests", rests(rings))));
            said.extend(hazards(design, found).into_iter().map(|words| ("hazard", words)));
            said.extend(held.glue.iter().map(|glued| ("glue", glue(glued))));
        }
        said.extend(ended(design, found).map(|words| ("ends", words)));
        said.push(("play", play(design, found)));
        said.extend(self.stored.map(|pull| ("stored", stored(pull))));
        said.extend(design.nominal().map(|what| ("nominal", what)));
        said.dedup();
        said
    }
}

/// What is said of a wheel, which nothing but friction holds.
fn wheel(design: &Design, found: &TurnHolding, wall: &Wall) -> Vec<Description> {
    let [_, own] = found.halves;
    let weight = format!(
        "{}g with its middle {} off its axis: gravity turns it with {} at the most, held upright",
        plain(own.mass.as_kilograms() * 1e3, 1),
        own.offset().to_decimals(2),
        found.gravity().to_decimals(2)
    );
    let strays = (design.clearance_strays() * 2.0).to_decimals(2);
    let across = (found.play * 2.0).to_decimals(2);
    let across = format!("{across} ± {strays} across in `{}`{}", wall.opening, moves(design, found));
    let room = design
        .axial_room(found.below + 1)
        .map(|room| ("room", format!("{} higher than the wheel", room.to_decimals(2))));
    let holds = "nothing but friction, which is not worked out: it rests where a hand leaves it".to_owned();
    let nominal = design.nominal().map(|what| ("nominal", what));
    [("held by", holds), ("weight", weight), ("play", across)].into_iter().chain(room).chain(nominal).collect()
}

/// What is said of a pin that ends a turn. What a push against it takes to break it out was never measured.
fn ended(design: &Design, found: &TurnHolding) -> Option<String> {
    let (_, turn) = design.turns().find(|(below, _)| *below == found.below)?;
    let ends = turn.ends.as_ref()?;
    Some(format!(
        "by `{}` at a radius of {}, {} beyond the first and the last stop; how hard a push it bears is not known",
        ends.pin.name,
        ends.radius,
        ends.turned(ends.beyond()).to_decimals(1)
    ))
}

/// What is said of a turn on a screw: it is as firm as its nut was tightened, of which no figure is known.
fn screwed(design: &Design, found: &TurnHolding) -> Option<String> {
    let (_, turn) = design.turns().find(|(below, _)| *below == found.below)?;
    match &turn.pivot {
        Pivot::Rivet(pin) if pin.kind == Fastener::Pin => {
            Some(format!("by `{}`: how hard it turns is what its nut is tightened to, and is not reckoned", pin.name))
        }
        Pivot::Rivet(_) | Pivot::Magnets { .. } | Pivot::Wall => None,
    }
}

fn steadiness(found: &TurnHolding) -> Vec<Description> {
    let stays =
        found.stays().map_or("where it is put: in balance, its own weight does not turn it".to_owned(), |times| {
            format!("where it is put: {} over, however it lies", times_of(times))
        });
    let over = |gravities: f64| times_of(gravities / found.shock);
    let range = |range: Option<(f64, f64)>| {
        range.map_or(String::new(), |(least, most)| format!(" ({} to {})", over(least), over(most)))
    };
    let part = found.shock_to_part().map_or("nothing parts it".to_owned(), |gravities| {
        format!("along the axis borne {} over{}", over(gravities), range(found.part_range()))
    });
    let turn = found.shock_to_turn().map_or("along the face it does not turn".to_owned(), |gravities| {
        format!("along the face {} over{}", over(gravities), range(found.turn_range()))
    });
    let knock = format!("of {} times gravity: {part}, {turn}", plain(found.shock, 1));
    let thumb = found.thumb().map(|(least, most)| {
        let (from, to) = COMFORTABLE_THUMB;
        format!(
            "{} to {} at the rim turns it; {} to {} is comfortable (MIL-STD-1472E)",
            least.to_decimals(2),
            most.to_decimals(2),
            from.to_decimals(2),
            to.to_decimals(2)
        )
    });
    [("stays", stays), ("knock", knock)].into_iter().chain(thumb.map(|thumb| ("thumb", thumb))).collect()
}

/// "3.1 times", "1.5 times", "340 times".
fn times_of(times: f64) -> String {
    let decimals = if times < 100.0 { 1 } else { 0 };
    // Never rounded up to a limit.
    let scale = 10_f64.powi(decimals);
    format!("{} times", plain((times * scale).floor() / scale, 1))
}

fn lifted(held: &Held) -> String {
    let sure = &held.lift_off;
    let (least, most) = sure.range();
    let share = |cause: Cause| {
        let part = sure.parts.iter().find(|part| part.cause == cause);
        plain(100.0 * part.map_or(0.0, |part| part.share), 0)
    };
    let above = if held.pair.is_on_steel() {
        format!(", {} above that by what steel does beyond the least that is worked out", sure.above.to_decimals(2))
    } else {
        String::new()
    };
    format!(
        "at {}, from {} to {}: {} by the model itself (15 %){above} and {} by spreads, of whose variance the remanence makes {} %, the pockets' depth {} %, the glue films {} %",
        sure.pull.to_decimals(2),
        least.to_decimals(2),
        most.to_decimals(2),
        sure.model.to_decimals(2),
        sure.expanded().to_decimals(2),
        share(Cause::Remanence),
        share(Cause::Pocket),
        share(Cause::Film)
    )
}

fn gap(held: &Held) -> String {
    let (pull, flush) = (held.pair.pull(), held.flush);
    let share = 100.0 * pull.as_newtons() / flush.as_newtons().max(f64::MIN_POSITIVE);
    let (and, have) = if held.pair.is_on_steel() { (" and the steel", "the two have") } else { ("", "the pair has") };
    format!(
        "{} ± {} between what is magnetised{and} leaves {} of the {} that {have} face to face, {} %",
        held.pair.gap().to_decimals(2),
        held.gap_within.to_decimals(2),
        pull.to_decimals(2),
        flush.to_decimals(2),
        plain(share, 0)
    )
}

/// How often each magnet's pocket is burnt and how deep that goes, where the stock's passes were measured that deep.
fn pockets(design: &Design, found: &TurnHolding) -> Option<String> {
    let (axis, _) = magnets(design);
    let seats = axis.iter().filter(|seat| seat.turns.contains(&found.below)).filter_map(|seat| {
        let layer = design.layers.get(seat.layer)?;
        let Depth::Down(depth) = seat.depth else { return None };
        let passes = depth.passes()?;
        Some(format!("{} in `{}` by {passes}", depth.asked().to_decimals(2), layer.name))
    });
    let words: Vec<String> = seats.collect();
    (!words.is_empty()).then(|| words.join("; "))
}

fn sideways(found: &TurnHolding, held: &Held) -> String {
    if held.pair.is_on_steel() {
        return if found.reaches {
            "one reaches into the pocket of the other half, which keeps it within its play; what draws steel back on the axis is not known"
                .to_owned()
        } else {
            format!(
                "what draws steel back on the axis is not known: it may rest anywhere within {} of it",
                found.off_axis.reach.to_decimals(2)
            )
        };
    }
    let stiffness = plain(held.pair.centring().as_newtons_per_mm(), 2);
    if found.reaches {
        return format!(
            "drawn back on the axis by {stiffness}N/mm; a magnet reaches into the other half, whose pocket keeps it within its play"
        );
    }
    let range = |(least, most): (Option<Length>, Option<Length>)| match (least, most) {
        (Some(least), Some(most)) => format!("{} to {} off the axis", least.to_decimals(2), most.to_decimals(2)),
        (Some(least), None) => format!("{} off the axis or anywhere", least.to_decimals(2)),
        (None, _) => "anywhere".to_owned(),
    };
    format!(
        "drawn back on the axis by {stiffness}N/mm; friction may hold it {}; turned by one thumb, it may rest {}",
        range(found.off_axis.held),
        range(found.off_axis.turned)
    )
}

fn friction(held: &Held) -> String {
    let (expected, bracket, mu) = (held.friction.expected(), held.friction.bracket(), held.coefficient);
    let basis = match mu.basis {
        Basis::Measured => "by your tilt tests".to_owned(),
        Basis::Published(one, other) => format!("printed for {} on {}", one.word(), other.word()),
        Basis::Nominal(one, other) => format!("nominal for {} on {}, not measured", one.word(), other.word()),
    };
    format!(
        "{} to {} (worn in at the least, even pressure at the greatest); {} to {} wherever the pressure sits; coefficient {} to {}, {basis}",
        expected.least.to_decimals(2),
        expected.most.to_decimals(2),
        bracket.least.to_decimals(2),
        bracket.most.to_decimals(2),
        plain(mu.least, 2),
        plain(mu.most, 2)
    )
}

fn weights(design: &Design, found: &TurnHolding) -> String {
    let half = |body: &Body| {
        let mass = plain(body.mass.as_kilograms() * 1e3, 1);
        format!("{mass}g with its middle {} off the axis", body.offset().to_decimals(2))
    };
    let [lower, upper] = &found.halves;
    let mut unweighed: Vec<&str> = design
        .layers
        .iter()
        .filter(|layer| layer.stock.weighs.is_none())
        .map(|layer| layer.stock.name.as_str())
        .collect();
    unweighed.sort_unstable();
    unweighed.dedup();
    let taken = if unweighed.is_empty() { String::new() } else { format!("; not weighed: {}", unweighed.join(", ")) };
    format!(
        "{} below, {} above: gravity turns with {} at the most{taken}",
        half(lower),
        half(upper),
        found.gravity().to_decimals(2)
    )
}

fn clicks(rings: &Rings) -> String {
    let verdict = &rings.pattern.verdict;
    let served = verdict.stops.iter().filter(|(_, rest)| rest.is_some()).count();
    let off = |(stop, rest): &(Angle, Option<Rest>)| {
        let turned = (rest.as_ref()?.point.at.as_degrees() - stop.as_degrees()).rem_euclid(360.0);
        Some(turned.min(360.0 - turned))
    };
    let farthest = verdict.stops.iter().filter_map(off).fold(0.0, f64::max);
    let false_stops = match verdict.false_stops.len() {
        0 => "no false stop".to_owned(),
        1 => "1 false stop".to_owned(),
        several => format!("{several} false stops"),
    };
    format!(
        "{served} of {} stops click, the weakest holds {}, none rests further than {}deg off, {false_stops}; the strongest push is {}, and the pull falls to {} between stops",
        verdict.stops.len(),
        verdict.weakest.to_decimals(2),
        plain(farthest, 2),
        Torque::millinewton_metres(rings.peak.torque.as_millinewton_metres().abs()).to_decimals(2),
        rings.pattern.least_pull.to_decimals(2)
    )
}

fn rests(rings: &Rings) -> String {
    let of = |share: f64| {
        let bands: Vec<Option<&DeadBand>> = rings.rests.iter().map(|rest| rest.band(share)).collect();
        let without = bands.iter().filter(|band| band.is_none()).count();
        let farthest = |of: &dyn Fn(&DeadBand) -> f64, worse: fn(f64, f64) -> f64| {
            let all = bands.iter().flatten().map(|band| of(band)).reduce(worse);
            all.map_or(String::new(), |degrees| Angle::degrees(degrees).to_decimals(2))
        };
        let off = farthest(&|band| band.widest().as_degrees(), f64::max);
        let from = farthest(&|band| band.comes.1.as_degrees().min(-band.comes.0.as_degrees()), f64::min);
        match without {
            0 => format!("up to {off} off a stop, on the side that it comes from, and comes by itself from {from} off"),
            _ if without == bands.len() => "wherever a hand leaves it, since nothing clicks".to_owned(),
            _ => format!("up to {off} off a stop, and wherever a hand leaves it at {without} of {} stops", bands.len()),
        }
    };
    format!("with the least friction {}; with the greatest {}", of(0.0), of(1.0))
}

/// The flux index of each kind of magnet of a turn, loose and as it is sold.
fn hazards(design: &Design, found: &TurnHolding) -> Vec<String> {
    let turn = design.turns().find(|(below, _)| *below == found.below);
    let index = |magnet: &Magnet| {
        let found = hazard(&Disc::new(magnet.diameter, magnet.height, magnet.remanence).ok()?);
        Some(format!(
            "`{}` has a flux index of {} ± {} kG² mm² when it comes loose, and {} and above is hazardous",
            magnet.name,
            plain(found.index, 0),
            plain(found.expanded(design.spreads.remanence), 0),
            plain(LIMIT_KG2_MM2, 0)
        ))
    };
    let magnets = turn.into_iter().flat_map(|(_, turn)| turn.magnets());
    let mut said: Vec<String> = magnets.filter_map(index).collect();
    said.dedup();
    said
}

fn glue(glued: &Glued) -> String {
    let name = glued.adhesive.as_deref().unwrap_or("the glue");
    match (glued.pull_out, glued.times()) {
        (Some(out), Some(times)) => format!(
            "{} tears `{}` from {name} over {}mm²: {} what a like magnet pulls; tests of toys pull with up to {} (16 CFR 1500.53)",
            out.to_decimals(2),
            glued.magnet,
            plain(glued.area_mm2, 1),
            times_of(times),
            TOY_TEST.to_decimals(2)
        ),
        _ => format!(
            "what tears `{}` out is not known: state the `strength` of {name}; a like magnet pulls at it with {}",
            glued.magnet,
            glued.pulled.to_decimals(2)
        ),
    }
}

fn play(design: &Design, found: &TurnHolding) -> String {
    format!("{} either way in its seat{}", found.play.to_decimals(2), moves(design, found))
}

/// By how much its play moves a reading.
fn moves(design: &Design, found: &TurnHolding) -> String {
    // A wheel moves its own readings alone.
    let own = design.is_wheel(found.below + 1).then_some(found.below + 1);
    let layers = design.layers.iter().enumerate().filter(|(at, _)| own.is_none_or(|own| *at == own));
    let radii = layers.flat_map(|(_, layer): (usize, &Layer)| layer.rings.iter().map(|ring| ring.radius.as_mm()));
    let nearest = radii.fold(f64::INFINITY, f64::min);
    let turned = (found.play.as_mm() / nearest).atan().to_degrees();
    if nearest.is_finite() {
        format!(", which moves a reading by up to {}deg", plain(turned, 2))
    } else {
        String::new()
    }
}

fn stored(pull: Force) -> String {
    let weight = weight(crate::units::Mass::kilograms(0.1)).as_newtons();
    format!(
        "dials lying on each other hold together with {}, enough to carry {}g",
        pull.to_decimals(2),
        plain(100.0 * pull.as_newtons().max(0.0) / weight, 0)
    )
}
