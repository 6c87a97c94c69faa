//! Findings about what holds a dial together.

use super::{Glued, Rings, StopRest, TurnHolding};
use crate::audit::turning::{CheckedReading, CheckedStop};
use crate::design::axis::{Contradiction, Odds};
use crate::design::{Clicks, Design, Magnet, PocketDepth, Rivet, Turn};
use crate::diagnostics::{Diagnostic, Finding, Severity};
use crate::physics::clicks::Rest;
use crate::physics::hazard::{Hazard, LIMIT_KG2_MM2};
use crate::source::Span;
use crate::units::{Angle, Force, Length, Torque, percent, plain};

/// Bearings in a sentence: the first few of them.
fn bearings(angles: &[Angle]) -> String {
    const FEW: usize = 6;
    let words: Vec<String> = angles.iter().take(FEW).map(|angle| angle.to_decimals(1)).collect();
    let more = angles.len().saturating_sub(FEW);
    match words.as_slice() {
        _ if more > 0 => format!("{} and {more} more", words.join(", ")),
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        few => few.join(""),
    }
}

/// A magnet that is dangerous when swallowed.
pub fn magnet_hazard(magnet: &Magnet, hazard: &Hazard, span: Span) -> Diagnostic {
    Diagnostic::advice(
        Finding::MagnetHazard,
        format!(
            "`{}` is dangerous when swallowed (flux index {} kG² mm², hazardous from {} on)",
            magnet.name,
            plain(hazard.index, 0),
            plain(LIMIT_KG2_MM2, 0)
        ),
    )
    .label(span, "held by this magnet")
    .help("glue it in so that it cannot come loose, and keep loose ones away from children; the rules for your product are the local ones: ask your national product safety authority or a testing laboratory before giving the dial away")
    .about(&magnet.name)
}

/// One magnet that two turns want otherwise.
pub fn magnets_at_odds(design: &Design, found: &Contradiction) -> Diagnostic {
    let layer = design.layers.get(found.layer).map_or("", |layer| layer.name.as_str());
    let (wants, help) = match found.odds {
        Odds::Magnets(one, other) => (
            format!("to be `{one}` for one turn and `{other}` for the other"),
            "name the same magnet for both turns, or give each a pocket of its own, in a board thick enough for both",
        ),
        Odds::Poles => (
            "its north pole up for one turn and down for the other".to_owned(),
            "say the same `north` for both turns, or take it out of one",
        ),
    };
    Diagnostic::error(
        Finding::MagnetsAtOdds,
        format!("the one magnet in the hole through `{layer}` would have {wants}"),
    )
    .label(found.origins.1, "wants this")
    .label(found.origins.0, "wants that")
    .about(layer)
    .help(help)
}

/// What brings two magnets nearer to each other.
#[derive(Clone, Debug, PartialEq)]
pub enum NearerBy {
    /// A shallower pocket, in words.
    Pocket(String),
    /// Seats in the layers that meet.
    Layers,
    /// Nothing but another magnet.
    Magnet,
}

/// A gap that takes too much of the pull.
pub fn gap_costs_pull(
    turn: &Turn,
    (gap, pull, flush): (Length, Force, Force),
    nearer: NearerBy,
    upper: &str,
) -> Diagnostic {
    let share = pull.as_newtons() / flush.as_newtons();
    let help = match nearer {
        NearerBy::Pocket(instead) => format!("{instead}, so that the magnets lie just below the faces"),
        NearerBy::Layers => "seat the magnets in the layers that meet: take out `lower` and `upper`".to_owned(),
        NearerBy::Magnet => "take a wider magnet, which loses less over the same gap, or sink it less".to_owned(),
    };
    let (between, label) = if turn.pivot.is_on_steel() {
        ("the magnet and the washer", "held by these")
    } else {
        ("the magnets", "held by these magnets")
    };
    // What too little of a pull leads to is found by itself.
    Diagnostic::advice(
        Finding::GapCostsPull,
        format!(
            "a gap of {} between {between} leaves {} of pull, {} of the {} that they have face to face",
            gap.to_decimals(2),
            pull.to_decimals(2),
            percent(share, 0),
            flush.to_decimals(2)
        ),
    )
    .label(turn.origin, label)
    .about(upper)
    .help(help)
}

/// Pockets that their passes make deeper than was asked, and what that costs the magnets in them.
pub fn seat_deeper_than_asked(
    turn: &Turn,
    depth: &PocketDepth,
    by: Length,
    (pull, wished): (Force, Force),
    instead: Option<String>,
) -> Diagnostic {
    let passes = depth.passes().map_or_else(String::new, |passes| passes.to_string());
    let found = Diagnostic::advice(
        Finding::DeeperThanAsked,
        format!(
            "a pocket of its magnets gets {} deeper than the {} asked for ({passes}): the pull is {} where {} would be",
            by.to_decimals(2),
            depth.asked(),
            pull.to_decimals(2),
            wished.to_decimals(2)
        ),
    )
    .label(turn.origin, "made by whole passes");
    found.help(
        instead
            .unwrap_or_else(|| format!("ask for {}, so that the file says what is made", depth.made().to_decimals(2))),
    )
}

/// A half that its own weight turns.
pub fn slips_by_itself(turn: &Turn, times: f64, found: &TurnHolding, upper: &str) -> Diagnostic {
    let why = if times > 0.0 {
        format!(
            "it stays where it is put {} times over at the least, against {} of gravity",
            plain(times, 2),
            found.gravity().to_decimals(2)
        )
    } else {
        "the magnets pull with less than it weighs".to_owned()
    };
    Diagnostic::warning(Finding::SlipsByItself, format!("`{upper}` may turn by its own weight: {why}"))
        .label(turn.origin, "held too loosely")
        .about(upper)
        .help("take a stronger magnet, bring its mass nearer to the axis, or add `clicks`")
}

/// A knock that turns it.
pub fn knock_turns_it(turn: &Turn, gravities: f64, wanted: f64, upper: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::KnockTurnsIt,
        format!(
            "a knock of {} times gravity along its face may turn `{upper}`, and {} times are to be borne",
            plain(gravities, 1),
            plain(wanted, 1)
        ),
    )
    .label(turn.origin, "held too loosely")
    .about(upper)
    .help(format!("take a stronger magnet, bring its mass nearer to the axis{}", or_ask_for_less(gravities)))
}

/// A knock that parts it.
pub fn knock_parts_it(turn: &Turn, gravities: f64, wanted: f64, upper: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::KnockPartsIt,
        format!(
            "a knock of {} times gravity along its axis parts `{upper}` from what it turns on, and {} times are to be borne",
            plain(gravities, 1),
            plain(wanted, 1)
        ),
    )
    .label(turn.origin, "held too weakly")
    .about(upper)
    .help(format!("take a stronger magnet, a lighter layer{}", or_ask_for_less(gravities)))
}

/// The knock that it does bear, where it bears one.
fn or_ask_for_less(gravities: f64) -> String {
    if gravities < 1.0 {
        ", or more of them".to_owned()
    } else {
        format!(", or ask for less: `knock {}`", plain(gravities.floor(), 0))
    }
}

/// More than a thumb likes.
pub fn turns_hard(turn: &Turn, least: Force, comfortable: Force, upper: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::TurnsHard,
        format!(
            "`{upper}` takes a thumb {} at the rim or more, and up to {} is comfortable (MIL-STD-1472)",
            least.to_decimals(2),
            comfortable.to_decimals(2)
        ),
    )
    .label(turn.origin, "held too firmly")
    .about(upper)
    .help("take a weaker magnet, fewer or weaker `clicks`, or a wider dial")
}

/// Less than a thumb feels.
pub fn turns_at_a_touch(turn: &Turn, most: Force, comfortable: Force, upper: &str) -> Diagnostic {
    Diagnostic::advice(
        Finding::TurnsAtATouch,
        format!(
            "`{upper}` turns at a touch: a thumb needs {} at the rim at the most, and from {} on is comfortable (MIL-STD-1472)",
            most.to_decimals(2),
            comfortable.to_decimals(2)
        ),
    )
    .label(turn.origin, "held lightly")
    .about(upper)
    .help("take a stronger magnet or add `clicks` where it must not be turned by accident")
}

/// Glue that may let a magnet go.
pub fn glue_too_weak(turn: &Turn, glued: &Glued, wanted: f64) -> Diagnostic {
    let out = glued.pull_out.unwrap_or_default();
    Diagnostic::warning(
        Finding::GlueTooWeak,
        format!(
            "{} lets `{}` go at {}: it holds {} times what a like magnet pulls at it, {}, and {} times are wanted",
            glued.adhesive.as_ref().map_or("the glue".to_owned(), |name| format!("`{name}`")),
            glued.magnet,
            out.to_decimals(2),
            plain(glued.times().unwrap_or_default(), 2),
            glued.pulled.to_decimals(2),
            plain(wanted, 1)
        ),
    )
    .label(turn.origin, "held by this magnet")
    .about(&glued.magnet)
    .help("take a stronger adhesive for it (`adhesive epoxy` in the magnet's block), or close its pocket with a layer glued over it")
}

/// Stops without a click.
pub fn no_click(clicks: &Clicks, missing: &[Angle], stops: usize, rings: &Rings, upper: &str) -> Diagnostic {
    let at = if missing.len() == 1 { "the stop" } else { "the stops" };
    Diagnostic::warning(
        Finding::NoClick,
        format!(
            "`{upper}` does not click at {at} at {} ({} of {stops}): the clicks push with {} at most, and friction takes {} or more",
            bearings(missing),
            missing.len(),
            Torque::millinewton_metres(rings.peak.torque.as_millinewton_metres().abs()).to_decimals(2),
            rings.felt.to_decimals(2)
        ),
    )
    .label(clicks.origin, "too weak or too close together")
    .about(upper)
    .help("take stronger click magnets or a larger `radius`, a weaker magnet on the axis, or fewer stops")
}

/// Clicks where no stop is.
pub fn false_click(clicks: &Clicks, rests: &[Rest], upper: &str) -> Diagnostic {
    let angles: Vec<Angle> = rests.iter().map(|rest| rest.point.at).collect();
    let firmest = rests.iter().map(Rest::holds).fold(Torque::ZERO, |most, next| if most < next { next } else { most });
    Diagnostic::warning(
        Finding::FalseClick,
        format!(
            "`{upper}` also clicks where no stop is, at {}: a rest there holds up to {}, more than friction hides",
            bearings(&angles),
            firmest.to_decimals(2)
        ),
    )
    .label(clicks.origin, "rests between stops too")
    .about(upper)
    .help("take a stronger magnet on the axis, whose friction hides such rests, or smaller click magnets")
}

/// Rings that repel more than the axis pulls.
pub fn halves_pushed_apart(clicks: &Clicks, least: Force, upper: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::HalvesPushedApart,
        format!(
            "between stops the click magnets push `{upper}` off with {} more than the magnet on the axis holds",
            (-least).to_decimals(2)
        ),
    )
    .label(clicks.origin, "these push")
    .about(upper)
    .help("take a stronger magnet on the axis or weaker click magnets")
}

/// Dials stored on each other that come apart.
pub fn stack_pulls_apart(turn: &Turn, stored: Force, pull: Force, upper: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::StackPullsApart,
        format!(
            "dials stored on each other hold together with {}, and `{upper}` lifts off at {}: taking one from the stack takes it apart",
            stored.to_decimals(2),
            pull.to_decimals(2)
        ),
    )
    .label(turn.origin, "parts first")
    .about(upper)
    .help("store them with something between, or bring the magnets of a dial nearer to each other than to its outer faces")
}

/// A rivet's hole without room to turn, the room that is wanted, and the share of holes that bind.
pub fn rivet_binds(turn: &Turn, rivet: &Rivet, (wanted, binding): (Length, f64), upper: &str) -> Diagnostic {
    Diagnostic::warning(
        Finding::RivetBinds,
        format!(
            "the hole for `{}` is {} wider than its shank, and the kerf's spread may narrow it by {}: {} of such holes bind",
            rivet.name,
            rivet.clearance.to_decimals(2),
            wanted.to_decimals(2),
            percent(binding, 1)
        ),
    )
    .label(turn.origin, format!("turns on this {}", rivet.kind.word()))
    .about(upper)
    .help(format!("write `clearance {}` or more in the block of `{}`", wanted.to_decimals(2), rivet.name))
}

/// A stop that clicks let rest too far off for what is read there.
pub struct OffStop<'a> {
    /// What is read.
    pub reading: &'a CheckedReading,
    /// How it stands there.
    pub stop: &'a CheckedStop,
    /// Where it rests.
    pub rest: &'a StopRest,
    /// The first level of friction at which that is too far.
    pub level: u8,
}

/// Clicks that leave a stop farther off than its reading bears.
pub fn rests_off_stop(
    clicks: &Clicks,
    (found, count, stops): (&OffStop, usize, usize),
    severity: Severity,
    upper: &str,
) -> Diagnostic {
    let off = |share: f64| match found.rest.band(share) {
        Some(band) => Angle::degrees(band.widest().as_degrees().abs()).to_decimals(1),
        None => "wherever a hand leaves it, since nothing clicks".to_owned(),
    };
    let others = if count > 1 { format!(" ({count} of {stops} stops are like it)") } else { String::new() };
    let message = format!(
        "let go near the stop at {}{others}, `{upper}` rests up to {} off it with the least friction, and with the greatest {}, and `{}` reads right up to {} off",
        found.rest.stop.to_decimals(1),
        off(0.0),
        off(1.0),
        found.reading.ring,
        found.stop.angular_slack().to_decimals(1)
    );
    graded(severity, Finding::RestsOffStop, message)
        .label(clicks.origin, "too weak against friction")
        .label(found.reading.origin, "read across it")
        .about(upper)
        .help("take stronger click magnets or a larger `radius` for them, a weaker magnet on the axis, or smoother faces; where friction is taken from tables, tilt tests of your boards (`tilts`) narrow it down")
}

/// How far off the axis a turn rests, and how far a reading bears it.
pub struct OffAxis {
    /// What the reading bears.
    pub bears: Length,
    /// What the least and the greatest friction leave.
    pub rests: (Length, Length),
}

/// A thumb that leaves a half farther off the axis than a reading bears.
pub fn rests_off_axis(
    turn: &Turn,
    reading: &CheckedReading,
    off: &OffAxis,
    (severity, reach): (Severity, Length),
    upper: &str,
) -> Diagnostic {
    if turn.pivot.is_on_steel() {
        let message = format!(
            "it is not known what draws the magnet and the washer under `{upper}` back on the axis, so it may rest up to {} off; \
            `{}` reads right up to {} off",
            off.rests.1.to_decimals(2),
            reading.ring,
            off.bears.to_decimals(2)
        );
        return graded(severity, Finding::RestsOffAxis, message)
            .label(turn.origin, "nothing surely centres it")
            .label(reading.origin, "read across it")
            .about(upper)
            .help(format!("let one of the two reach {reach} or more into the pocket of the other half, which then keeps it: a shallower `pocket_lower` and a deeper `pocket_upper`, or the other way round"));
    }
    let (least, most) = off.rests;
    let rests = if (most - least).as_mm() < 0.01 {
        format!("up to {}", most.to_decimals(2))
    } else {
        format!("up to {} (least friction) or {} (greatest)", least.to_decimals(2), most.to_decimals(2))
    };
    graded(
        severity,
        Finding::RestsOffAxis,
        format!(
            "the thumb that turns `{upper}` pushes it off the axis too, and friction leaves it {rests} off; `{}` reads right up to {} off",
            reading.ring,
            off.bears.to_decimals(2)
        ),
    )
    .label(turn.origin, "only the magnets' pull centres it")
    .label(reading.origin, "read across it")
    .about(upper)
    .help(format!("leave more room round the labels, bring the magnets nearer to each other, take narrower ones or smoother faces, or draw their pockets so that one magnet reaches {reach} into the pocket of the other half, which then keeps it; a `rivet` does as well"))
}

fn graded(severity: Severity, finding: Finding, message: String) -> Diagnostic {
    Diagnostic { severity, ..Diagnostic::warning(finding, message) }
}
