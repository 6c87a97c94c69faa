//! Click stops of a turn: which pole of each magnet faces up, where they rest, and how hard.

use super::axis::{disc, film};
use crate::design::stops::{click_bearings, closest_stops};
use crate::design::{Clicks, Turn};
use crate::physics::clicks::{Rest, Turned, Verdict};
use crate::physics::pattern::{Pattern, Unsolved, choose};
use crate::physics::seat::{Seating, true_gap};
use crate::physics::{Disc, Facing};
use crate::units::{Angle, Force, Length, Torque};

/// How far a rest may stand off its stop and still serve it, in degrees (common practice, no source).
const WITHIN: f64 = 1.0;
/// Angles of a turn at which the hand's torque is worked out.
const STEPS: u16 = 720;

/// The rings of small magnets of one turn.
#[derive(Clone, Debug)]
pub struct Rings {
    /// Two of the magnets where they meet.
    pub pair: Facing,
    /// Bearings of the lower ring and of the upper one, each on its layer.
    pub bearings: (Vec<Angle>, Vec<Angle>),
    /// The poles chosen, and what they do.
    pub pattern: Pattern,
    /// The strongest torque in a turn, and where.
    pub peak: Turned,
    /// The least pull at any stop.
    pub pull: Force,
    /// The least friction at a stop; a rest that holds less than friction there is not felt.
    pub felt: Torque,
    /// The strongest push against a hand that turns it, friction at its least and at its greatest included.
    pub hardest: (Torque, Torque),
}

/// The least and the greatest friction to be expected under a pull of the rings, beside that of the axis.
pub(super) type Felt<'f> = &'f dyn Fn(Force) -> (Torque, Torque);

/// Chooses the poles of a turn's rings; `apart` is how far the halves are held apart.
pub(super) fn rings(turn: &Turn, clicks: &Clicks, apart: Length, felt: Felt) -> Option<Rings> {
    let pair = pair(clicks, apart)?;
    let (lower, upper) = click_bearings(&turn.stops);
    let ring = |bearings: &[Angle]| Unsolved { radius: clicks.radius, bearings: bearings.to_vec() };
    let closest = closest_stops(&turn.stops).map_or(WITHIN, |angle| angle.as_degrees() / 4.0);
    let within = Angle::degrees(closest.min(WITHIN));
    let on_axis = felt(Force::ZERO).0;
    let mut pattern = choose(&pair, &ring(&lower), &ring(&upper), &turn.stops, within, on_axis).ok()?;
    pattern.verdict = judged(&pattern, felt);
    let pulls = turn.stops.iter().map(|stop| pattern.clicks.at(*stop).pull);
    let pull = pulls.reduce(|one, other| if other < one { other } else { one })?;
    let peak = pattern.clicks.peak();
    let hardest = hardest(&pattern, felt);
    Some(Rings { pair, bearings: (lower, upper), pattern, peak, pull, felt: felt(pull).0, hardest })
}

/// The verdict on the pattern chosen, each rest against the friction under the pull right there: rings push off between
/// stops and press at them.
fn judged(pattern: &Pattern, felt: Felt) -> Verdict {
    let is_felt = |rest: &Rest| rest.holds() > felt(rest.point.pull).0;
    let serving: Vec<(Angle, Option<Rest>)> = pattern.verdict.stops.clone();
    let serves = |rest: &Rest| serving.iter().any(|(_, serving)| serving.as_ref() == Some(rest));
    let false_stops = pattern.clicks.rests().into_iter().filter(|rest| !serves(rest) && is_felt(rest)).collect();
    let stops: Vec<(Angle, Option<Rest>)> =
        serving.iter().map(|(stop, rest)| (*stop, rest.filter(|rest| is_felt(rest)))).collect();
    let held = stops.iter().map(|(_, rest)| rest.map_or(Torque::ZERO, |rest| rest.holds()));
    let weakest = held.reduce(|one, other| if other < one { other } else { one }).unwrap_or_default();
    Verdict { stops, false_stops, weakest }
}

/// What a hand must overcome at the worst angle of a turn: the clicks' push, and friction under their pull there.
fn hardest(pattern: &Pattern, felt: Felt) -> (Torque, Torque) {
    let larger = |one: Torque, other: Torque| if one < other { other } else { one };
    pattern.clicks.curve(STEPS).iter().fold((Torque::ZERO, Torque::ZERO), |(least, most), at| {
        let push = Torque::millinewton_metres(at.torque.as_millinewton_metres().abs());
        let friction = felt(at.pull);
        (larger(least, friction.0 + push), larger(most, friction.1 + push))
    })
}

/// Two click magnets that meet.
fn pair(clicks: &Clicks, apart: Length) -> Option<Facing> {
    let magnet = &clicks.magnet;
    let seat = Seating { pocket: clicks.depth, height: magnet.height, film: film(magnet), plating: magnet.plating };
    let one: Disc = disc(magnet)?;
    Facing::new(one, one, true_gap(&seat, &seat, apart).gap).ok()
}
