//! Click stops of a turn: which pole of each magnet faces up, where they rest, and how hard.

use super::pulls::disc;
use super::rests::{Felt, StopRest, stop_rests};
use crate::design::stops::{click_bearings, closest_stops};
use crate::design::{Clicks, Turn};
use crate::physics::clicks::{Clicks as Turning, Rest, Turned};
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
    /// The least friction where they push hardest.
    pub felt: Torque,
    /// The strongest push against a hand that turns it, friction at its least and at its greatest included.
    pub hardest: (Torque, Torque),
    /// Where it rests at each stop, in their order.
    pub rests: Vec<StopRest>,
}

/// Chooses the poles of a turn's rings; `apart` is how far the halves are held apart.
pub(super) fn rings(turn: &Turn, clicks: &Clicks, apart: Length, felt: Felt) -> Option<Rings> {
    let pair = pair(clicks, apart)?;
    let (lower, upper) = click_bearings(&turn.stops);
    let ring = |bearings: &[Angle]| Unsolved { radius: clicks.radius, bearings: bearings.to_vec() };
    let closest = closest_stops(&turn.stops).map_or(WITHIN, |angle| angle.as_degrees() / 4.0);
    let within = Angle::degrees(closest.min(WITHIN));
    // What is felt is what somewhere on either side outdoes the least friction under the pull right there: rings push off
    // between stops and press at them.
    let is_felt = |clicks: &Turning, rest: &Rest| clicks.dead_band(rest.point.at, |pull| felt(pull).0).is_some();
    let pattern = choose(&pair, &ring(&lower), &ring(&upper), &turn.stops, within, is_felt).ok()?;
    let pulls = turn.stops.iter().map(|stop| pattern.clicks.at(*stop).pull);
    let pull = pulls.reduce(|one, other| if other < one { other } else { one })?;
    let peak = pattern.clicks.peak();
    let hardest = hardest(&pattern, felt);
    let rests = stop_rests(&pattern, felt);
    Some(Rings { pair, bearings: (lower, upper), pattern, peak, pull, felt: felt(peak.pull).0, hardest, rests })
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
    let [lower, upper] = clicks.depths.map(|depth| Seating {
        pocket: depth.made(),
        height: magnet.height,
        film: magnet.film(),
        plating: magnet.plating,
    });
    let one: Disc = disc(magnet)?;
    Facing::new(one, one, true_gap(&lower, &upper, apart).gap).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::{Fastener, Half, Head, Magnet, Pivot, Rivet};
    use crate::physics::Polarity;
    use crate::physics::clicks::ClickRing;
    use crate::source::{Sources, Span};
    use crate::units::FluxDensity;

    fn small() -> Clicks {
        let magnet = Magnet {
            name: "small".into(),
            diameter: Length::mm(4.0),
            diameter_strays: Length::ZERO,
            height: Length::mm(1.5),
            remanence: FluxDensity::tesla(1.2),
            steel: None,
            clearance: Length::mm(0.1),
            sink: Length::mm(0.1),
            plating: Length::mm(0.01),
            adhesive: None,
            cost: None,
            nominal: false,
            origin: None,
        };
        Clicks { magnet, radius: Length::mm(12.0), depths: [Length::mm(1.6).into(); 2], origin: nowhere() }
    }

    fn nowhere() -> Span {
        Span::new(Sources::default().add("a.dial", ""), 0..0)
    }

    fn stopping(stops: &[f64]) -> Turn {
        let rivet = Rivet {
            name: "pin".into(),
            shank: Length::mm(3.0),
            kind: Fastener::Pin,
            heads: [Head { diameter: Length::mm(6.0), height: Length::mm(1.0) }; 2],
            grips: (Length::mm(2.0), Length::mm(8.0)),
            clearance: Length::mm(0.1),
            cost: None,
            origin: None,
        };
        Turn {
            pivot: Pivot::Rivet(rivet),
            stops: stops.iter().copied().map(Angle::degrees).collect(),
            turning: Half::Upper,
            clicks: None,
            ends: None,
            axle: None,
            shock: 25.0,
            north: None,
            origin: nowhere(),
        }
    }

    /// Forces add up: at a stop the one magnet above is pulled by each below as if that were alone. Like poles side by
    /// side push, so the stop that stands apart is pulled hardest; the least pull is that of another, whichever comes
    /// first.
    #[test]
    fn the_least_pull_is_that_of_the_weakest_stop() {
        let frictionless = |_: Force| (Torque::ZERO, Torque::ZERO);
        let mut least = Vec::new();
        for stops in [[200.0, 0.0, 25.0], [0.0, 200.0, 25.0], [25.0, 0.0, 200.0]] {
            let found = rings(&stopping(&stops), &small(), Length::ZERO, &frictionless).unwrap();
            let alike = |poles: &[Polarity]| poles.iter().all(|pole| *pole == Polarity::Up);
            assert!(alike(&found.pattern.lower) && alike(&found.pattern.upper));
            let one = ClickRing { radius: small().radius, seats: vec![(Angle::ZERO, Polarity::Up)] };
            let alone = Turning::new(&found.pair, &one, &one).unwrap();
            let pull = |turned: f64| alone.at(Angle::degrees(turned)).pull.as_newtons();
            let pulls = stops.map(|stop| stops.map(|below| pull(stop - below)).into_iter().sum::<f64>());
            let [strongest, weakest] = [f64::max, f64::min].map(|of| pulls.into_iter().reduce(of).unwrap());
            assert!((strongest - found.pair.pull().as_newtons()).abs() < 0.01 * strongest, "{pulls:?}");
            assert!(weakest < 0.98 * strongest, "{pulls:?}");
            assert!((found.pull.as_newtons() - weakest).abs() < 1e-9, "{:?} {pulls:?}", found.pull);
            least.push(found.pull.as_newtons());
        }
        assert!(least.iter().all(|pull| (pull - least[0]).abs() < 1e-9), "{least:?}");
    }
}
