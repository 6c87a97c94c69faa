//! Friction and click stops.

use super::magnets::{facing, near, stored};
use dialwright::physics::clicks::{ClickRing, Rest};
use dialwright::physics::friction::{
    Basis, Coefficient, Contact, gravity_torque, shock_to_part, shock_to_turn, thumb_force, weight,
};
use dialwright::physics::pattern::{Unsolved, choose};
use dialwright::physics::{Clicks, Facing, Polarity};
use dialwright::units::{Angle, Force, Length, Mass, Torque};
use serde::Deserialize;

const TINY: [f64; 3] = [4.0, 1.5, 1.32];
/// What a dial's friction hides in these tests, mNm: like magnets push each other off when they stand side by side, which
/// leaves shallow dips between the stops.
const FELT: Torque = Torque::millinewton_metres(6.0);

fn is_felt(rest: &Rest) -> bool {
    rest.holds() > FELT
}

/// Disc clutch formulas (Shigley; from memory) worked out by hand beforehand: F 5.436982 N, mu 0.3, Ro 40, Ri 4 mm.
#[test]
fn holding_torque_agrees_with_the_worked_example() {
    let contact = Contact::new(Length::mm(4.0), Length::mm(40.0)).unwrap();
    let mu = Coefficient { least: 0.3, most: 0.3, basis: Basis::Measured };
    let holding = contact.holding(Force::newtons(5.436982), mu);
    near(holding.uniform_pressure.least.as_millinewton_metres(), 43.8913, 2e-6);
    near(holding.uniform_wear.most.as_millinewton_metres(), 35.8841, 2e-6);
    near(holding.at_pocket.least.as_millinewton_metres(), 0.3 * 5.436982 * 4.0, 1e-12);
    near(holding.at_rim.most.as_millinewton_metres(), 0.3 * 5.436982 * 40.0, 1e-12);
}

#[test]
fn the_bracket_holds_every_model() {
    for (inner, outer) in [(0.0, 10.0), (4.0, 40.0), (39.9, 40.0)] {
        let contact = Contact::new(Length::mm(inner), Length::mm(outer)).unwrap();
        let holding = contact.holding(Force::newtons(5.0), Coefficient::WOOD_ON_WOOD);
        let (bracket, expected) = (holding.bracket(), holding.expected());
        assert!(bracket.least <= expected.least && expected.least < expected.most && expected.most <= bracket.most);
        assert!(holding.uniform_wear.most <= holding.uniform_pressure.most);
    }
    let contact = Contact::new(Length::mm(4.0), Length::mm(40.0)).unwrap();
    let pushed_off = contact.holding(Force::newtons(-3.0), Coefficient::WOOD_ON_WOOD);
    assert_eq!(pushed_off.bracket().most, Torque::ZERO);
    assert!(Contact::new(Length::mm(4.0), Length::mm(4.0)).is_err());
}

/// tan 16.699deg = 0.3 (tables of the tangent).
#[test]
fn a_tilt_test_gives_the_coefficient() {
    let tilts = [Angle::degrees(16.699_244), Angle::degrees(21.801_409)];
    let mu = Coefficient::from_tilts(&tilts).unwrap().unwrap();
    near(mu.least, 0.3, 1e-6);
    near(mu.most, 0.4, 1e-6);
    assert_eq!(mu.basis, Basis::Measured);
    assert_eq!(Coefficient::from_tilts(&[]), Ok(None));
    assert!(Coefficient::from_tilts(&[Angle::degrees(95.0)]).is_err());
}

/// By hand with g = 9.80665 m/s².
#[test]
fn gravity_thumb_and_knock() {
    let (mass, offset) = (Mass::kilograms(0.012), Length::mm(3.0));
    near(weight(mass).as_newtons(), 0.117_679_8, 1e-9);
    near(gravity_torque(mass, offset, Angle::degrees(90.0)).as_millinewton_metres(), 0.353_039_4, 1e-9);
    near(gravity_torque(mass, offset, Angle::degrees(-30.0)).as_millinewton_metres(), -0.176_519_7, 1e-9);
    near(thumb_force(Torque::millinewton_metres(36.0), Length::mm(30.0)).unwrap().as_newtons(), 1.2, 1e-12);
    near(shock_to_part(Force::newtons(5.883_99), mass).unwrap(), 50.0, 1e-6);
    near(shock_to_turn(Torque::millinewton_metres(35.303_94), mass, offset).unwrap(), 100.0, 1e-6);
    assert_eq!(shock_to_turn(Torque::millinewton_metres(1.0), mass, Length::ZERO), None);
    assert_eq!(shock_to_part(Force::newtons(1.0), Mass::ZERO), None);
    assert_eq!(thumb_force(Torque::ZERO, Length::ZERO), None);
}

#[derive(Deserialize)]
struct Rings {
    magnet: [f64; 3],
    gap_mm: f64,
    radius_mm: f64,
    turned_deg: f64,
    below: Vec<i8>,
    above: Vec<i8>,
    torque_mnm: f64,
    along_n: f64,
}

fn ring(radius: f64, bearings: &[f64], signs: &[i8]) -> ClickRing {
    let look = |sign: i8| if sign > 0 { Polarity::Up } else { Polarity::Down };
    let seats = bearings.iter().zip(signs).map(|(bearing, sign)| (Angle::degrees(*bearing), look(*sign))).collect();
    ClickRing { radius: Length::mm(radius), seats }
}

fn evenly(count: u16) -> Vec<f64> {
    (0..count).map(|index| 360.0 * f64::from(index) / f64::from(count)).collect()
}

fn alike(count: u16, radius: f64, gap: f64) -> Clicks {
    let one = ring(radius, &evenly(count), &vec![1; usize::from(count)]);
    Clicks::new(&facing(TINY, TINY, gap), &one, &one).unwrap()
}

/// magpylib 6.3.0: two rings of six with mixed polarities; 0.5 % of the largest torque and pull among the cases.
#[test]
fn rings_agree_with_magpylib() {
    let cases = stored::<Rings>(include_str!("../../data/magnets-rings.json"), 30);
    let largest = |of: fn(&Rings) -> f64| cases.iter().map(|case| of(case).abs()).fold(0.0, f64::max);
    let (torque, pull) = (largest(|case| case.torque_mnm), largest(|case| case.along_n));
    for case in &cases {
        let pair = facing(case.magnet, case.magnet, case.gap_mm);
        let of = |signs| ring(case.radius_mm, &evenly(6), signs);
        let clicks = Clicks::new(&pair, &of(&case.below), &of(&case.above)).unwrap();
        let turned = clicks.at(Angle::degrees(case.turned_deg));
        assert!((turned.torque.as_millinewton_metres() - case.torque_mnm).abs() < 5e-3 * torque, "{}", case.turned_deg);
        assert!((turned.pull.as_newtons() + case.along_n).abs() < 5e-3 * pull, "{}", case.turned_deg);
    }
}

#[derive(Deserialize)]
struct Rested {
    magnet: [f64; 3],
    radius: f64,
    gap: f64,
    lower: Vec<f64>,
    upper: Vec<f64>,
    axis: f64,
    arm: f64,
    stop: f64,
    mu: f64,
    starts: Vec<f64>,
    rests_deg: Vec<f64>,
}

#[derive(Deserialize)]
struct RestedTurns {
    library: String,
    turns: Vec<Rested>,
}

/// Let go at an angle, the upper half is followed through time by scipy 1.17.1's `solve_ivp` in the forces of magpylib 6.3.0 and
/// Coulomb's friction (`tests/data/clicks-rest.py`): it comes to the end of the dead band on its side, stays where it is put
/// within the band, and is left alone beyond the angles from which it comes.
#[test]
fn what_is_let_go_rests_where_the_motion_integrated_ends() {
    let stored: RestedTurns = serde_json::from_str(include_str!("../../data/clicks-rest.json")).unwrap();
    assert_eq!((stored.library.as_str(), stored.turns.len()), ("magpylib 6.3.0, scipy 1.17.1", 7));
    let (mut came, mut stayed, mut none) = (0, 0, 0);
    for turn in &stored.turns {
        let ups = |bearings: &[f64]| ring(turn.radius, bearings, &vec![1; bearings.len()]);
        let pair = facing(turn.magnet, turn.magnet, turn.gap);
        let clicks = Clicks::new(&pair, &ups(&turn.lower), &ups(&turn.upper)).unwrap();
        let friction =
            |pull: Force| Torque::millinewton_metres(turn.mu * turn.arm * (turn.axis + pull.as_newtons()).max(0.0));
        let rests = clicks.rests();
        let from = |rest: &&Rest| (rest.point.at.as_degrees() - turn.stop + 180.0).rem_euclid(360.0) - 180.0;
        let rest = rests.iter().min_by(|a, b| from(a).abs().total_cmp(&from(b).abs())).unwrap().point.at;
        let Some(band) = clicks.dead_band(rest, friction) else {
            // Nothing clicks on one side at least, and there all stay where they are put.
            none += 1;
            let still = |of: fn(f64) -> bool| {
                let side = turn.starts.iter().zip(&turn.rests_deg).filter(|(start, _)| of(*start - turn.stop));
                side.clone().all(|(start, rested)| (start - rested).abs() < 0.02)
            };
            assert!(still(|off| off < 0.0) || still(|off| off > 0.0), "{}", turn.mu);
            continue;
        };
        for (start, rested) in turn.starts.iter().zip(&turn.rests_deg) {
            let at = |angle: Angle| (rest + angle).as_degrees() - if rest.as_degrees() > 180.0 { 360.0 } else { 0.0 };
            let (low, high) = (at(band.stays.0), at(band.stays.1));
            let comes = at(band.comes.0) < *start && *start < at(band.comes.1);
            let wanted = if comes { start.clamp(low, high) } else { *start };
            if comes && *rested != *start {
                came += 1;
            } else {
                stayed += 1;
            }
            assert!((rested - wanted).abs() < 0.06, "mu {} from {start}: {rested} and not {wanted}", turn.mu);
        }
    }
    assert!(came >= 12 && stayed >= 8 && none >= 1, "{came} {stayed} {none}");
}

#[derive(Deserialize)]
struct Off {
    magnet: [f64; 3],
    gap: f64,
    mu: f64,
    held_mm: f64,
}

#[derive(Deserialize)]
struct OffPairs {
    pairs: Vec<Off>,
}

/// Where the force back on the axis is the coefficient times the pull, both magpylib 6.3.0's, found by scipy's `brentq`.
#[test]
fn friction_holds_a_pair_where_magpylib_balances_it() {
    let stored: OffPairs = serde_json::from_str(include_str!("../../data/clicks-rest.json")).unwrap();
    assert_eq!(stored.pairs.len(), 9);
    for Off { magnet, gap, mu, held_mm } in stored.pairs {
        let beside = facing(magnet, magnet, gap).beside(Length::mm(held_mm)).unwrap();
        near(beside.draw_back.as_newtons() / beside.pull.as_newtons(), mu, 1e-2);
    }
}

/// Rings with the upper one shifted: the mean of two ways square to each other, each the sum over pairs of the forces beside each
/// other, by hand; and with no shift the pull that they have on the axis.
#[test]
fn rings_shifted_are_the_sum_of_their_pairs() {
    let pair = facing(TINY, TINY, 0.4);
    let clicks = Clicks::new(&pair, &ring(12.0, &[0.0, 90.0], &[1, -1]), &ring(12.0, &[0.0], &[1])).unwrap();
    let at = |offset: f64| clicks.shifted(Angle::degrees(10.0), Length::mm(offset));
    near(at(0.0).0.as_newtons(), clicks.at(Angle::degrees(10.0)).pull.as_newtons(), 1e-9);
    // The upper magnet at 10deg, those below at 0 and 90.
    let place = |bearing: f64| [12.0 * bearing.to_radians().sin(), 12.0 * bearing.to_radians().cos()];
    let (mut pull, mut back) = (0.0, 0.0);
    for way in [[1.0, 0.0], [0.0, 1.0]] {
        for (bearing, sign) in [(0.0, 1.0), (90.0, -1.0)] {
            let (up, low) = (place(10.0), place(bearing));
            let apart = [up[0] - low[0] + 0.7 * way[0], up[1] - low[1] + 0.7 * way[1]];
            let distance = apart[0].hypot(apart[1]);
            let beside = pair.beside(Length::mm(distance)).unwrap();
            pull += 0.5 * sign * beside.pull.as_newtons();
            let along = (apart[0] * way[0] + apart[1] * way[1]) / distance;
            back += 0.5 * sign * beside.draw_back.as_newtons() * along;
        }
    }
    near(at(0.7).0.as_newtons(), pull, 2e-3);
    near(at(0.7).1.as_newtons(), back, 2e-3);
}

#[test]
fn the_torque_is_the_slope_of_the_energy() {
    let clicks = alike(6, 12.0, 0.2);
    let peak = clicks.peak().torque.as_millinewton_metres().abs();
    let step = 1e-3;
    for point in clicks.curve(360) {
        let at = point.at.as_degrees();
        let energy = |degrees: f64| clicks.at(Angle::degrees(degrees)).energy.as_millijoules();
        let slope = (energy(at + step) - energy(at - step)) / (2.0 * step).to_radians();
        assert!((slope + point.torque.as_millinewton_metres()).abs() < 1e-4 * peak, "{at}");
    }
}

/// One pair at a small angle: the torque is the centring stiffness times the arc times the radius.
#[test]
fn near_a_stop_the_torque_follows_the_centring_stiffness() {
    let pair = facing(TINY, TINY, 0.5);
    let one = ring(15.0, &[0.0], &[1]);
    let clicks = Clicks::new(&pair, &one, &one).unwrap();
    let angle = Angle::degrees(0.1);
    let expected = -pair.centring().as_newtons_per_mm() * 15.0 * 15.0 * angle.as_radians();
    near(clicks.at(angle).torque.as_millinewton_metres(), expected, 2e-3);
    near(clicks.at(Angle::ZERO).pull.as_newtons(), pair.pull().as_newtons(), 1e-4);
}

#[test]
fn like_rings_rest_at_every_magnet() {
    for count in [1, 2, 3, 5, 6, 8] {
        let clicks = alike(count, 15.0, 0.3);
        let wanted: Vec<Angle> = evenly(count).into_iter().map(Angle::degrees).collect();
        let verdict = clicks.judge(&wanted, Angle::degrees(1e-4), is_felt);
        assert!(verdict.is_clean(), "{count}: {verdict:?}");
        assert!(verdict.weakest > Torque::ZERO);
        let peak = clicks.peak();
        near(peak.torque.as_millinewton_metres().abs(), verdict.weakest.as_millinewton_metres(), 1e-3);
        for (_, rest) in &verdict.stops {
            let rest = rest.unwrap();
            near(rest.leave_back.as_millinewton_metres(), rest.leave_onward.as_millinewton_metres(), 1e-3);
            assert!(rest.point.pull > Force::ZERO && rest.point.torque.as_millinewton_metres().abs() < 1e-3);
        }
    }
}

#[test]
fn missing_and_false_stops_are_told() {
    let clicks = alike(6, 15.0, 0.3);
    let wanted = [0.0, 60.0, 90.0].map(Angle::degrees);
    let verdict = clicks.judge(&wanted, Angle::degrees(0.5), is_felt);
    assert_eq!(verdict.missing().map(Angle::as_degrees).collect::<Vec<_>>(), [90.0]);
    let others: Vec<f64> = verdict.false_stops.iter().map(|rest| rest.point.at.as_degrees().round()).collect();
    assert_eq!(others, [120.0, 180.0, 240.0, 300.0]);
    assert_eq!(verdict.weakest, Torque::ZERO);
}

#[test]
fn friction_hides_false_stops_that_hold_less() {
    let clicks = alike(6, 15.0, 0.3);
    let strongest = clicks.peak().torque.as_millinewton_metres().abs();
    let wanted = [Angle::ZERO];
    let felt = |mnm| {
        clicks
            .judge(&wanted, Angle::degrees(0.5), |rest| rest.holds() > Torque::millinewton_metres(mnm))
            .false_stops
            .len()
    };
    assert_eq!(felt(0.99 * strongest), 5);
    assert_eq!(felt(1.01 * strongest), 0);
}

#[test]
fn rings_turned_over_repel_and_rest_between() {
    let below = ring(15.0, &evenly(6), &[1; 6]);
    let above = ring(15.0, &evenly(6), &[-1; 6]);
    let clicks = Clicks::new(&facing(TINY, TINY, 0.3), &below, &above).unwrap();
    let rests: Vec<f64> = clicks.rests().iter().map(|rest| rest.point.at.as_degrees()).collect();
    // On either side of the middle, where the energy of all pairs is least: 19.055 degrees by `tests/data/magnets-worked.py` (Bessel
    // integrals, scipy 1.17.1); the rest by the symmetry of the rings.
    let wanted: Vec<f64> = evenly(6).iter().flat_map(|at| [at + 19.055, at + 60.0 - 19.055]).collect();
    assert_eq!(rests.len(), wanted.len(), "{rests:?}");
    assert!(rests.iter().zip(&wanted).all(|(found, wanted)| (found - wanted).abs() < 2e-3), "{rests:?}");
    assert!(clicks.least_pull() < Force::ZERO);
}

fn unsolved(bearings: &[f64]) -> Unsolved {
    Unsolved { radius: Length::mm(15.0), bearings: bearings.iter().copied().map(Angle::degrees).collect() }
}

fn pattern(below: &[f64], above: &[f64], wanted: &[f64]) -> dialwright::physics::pattern::Pattern {
    let pair: Facing = facing(TINY, TINY, 0.3);
    let wanted: Vec<Angle> = wanted.iter().copied().map(Angle::degrees).collect();
    choose(&pair, &unsolved(below), &unsolved(above), &wanted, Angle::degrees(0.5), |_, rest| is_felt(rest)).unwrap()
}

#[test]
fn one_pair_for_each_stop_needs_no_mixed_polarity() {
    let chosen = pattern(&evenly(8), &evenly(8), &evenly(8));
    assert!(chosen.verdict.is_clean());
    assert!(chosen.lower.iter().chain(&chosen.upper).all(|look| *look == Polarity::Up));
}

#[test]
fn fewer_stops_than_magnets_take_alternating_polarity() {
    let chosen = pattern(&evenly(6), &evenly(6), &evenly(3));
    assert!(chosen.verdict.is_clean(), "{:?}", chosen.verdict);
    let turns = chosen.lower.windows(2).filter(|pair| pair[0] != pair[1]).count();
    assert_eq!(turns, 5, "{:?}", chosen.lower);
    assert!(chosen.least_pull < Force::ZERO);
}

#[test]
fn one_stop_takes_the_pattern_that_fits_no_other_angle() {
    let chosen = pattern(&evenly(6), &evenly(6), &[0.0]);
    assert!(chosen.verdict.missing().next().is_none());
    // Every pattern of two like rings, tried one by one: none has fewer false stops, and none that has as few holds more by a
    // hundredth.
    let one = ring(15.0, &evenly(6), &[1; 6]);
    let all = Clicks::new(&facing(TINY, TINY, 0.3), &one, &one).unwrap();
    let rivals = (0..64u32).map(|bits| {
        let look = |at: u32| if bits >> at & 1 == 0 { Polarity::Up } else { Polarity::Down };
        let look: Vec<Polarity> = (0..6).map(look).collect();
        all.with_polarities(&look, &look).judge(&[Angle::ZERO], Angle::degrees(0.5), is_felt)
    });
    let rivals: Vec<_> = rivals.collect();
    let least = rivals.iter().map(|rival| rival.false_stops.len()).min();
    assert_eq!((Some(chosen.verdict.false_stops.len()), least), (Some(1), Some(1)));
    let firmest = rivals.iter().filter(|rival| rival.false_stops.len() == 1).map(|rival| rival.weakest);
    let firmest = firmest.map(|held| held.as_millinewton_metres()).fold(0.0, f64::max);
    assert!(chosen.verdict.weakest.as_millinewton_metres() > firmest / 1.01, "{firmest} {:?}", chosen.verdict.weakest);
}

/// Uneven stops: one magnet above meets one below at each stop.
#[test]
fn uneven_stops_click_with_one_magnet_above() {
    let stops = [0.0, 40.0, 95.0, 180.0, 230.0];
    let chosen = pattern(&stops, &[0.0], &stops);
    assert!(chosen.verdict.is_clean(), "{:?}", chosen.verdict);
}

#[test]
fn rings_that_cannot_be_are_refused() {
    let pair = facing(TINY, TINY, 0.3);
    let (one, none) = (ring(15.0, &[0.0], &[1]), ring(15.0, &[], &[]));
    assert_eq!(Clicks::new(&pair, &one, &none).unwrap_err().what, "magnets in a ring of clicks");
    assert!(Clicks::new(&pair, &one, &ring(0.0, &[0.0], &[1])).is_err());
}

/// Uneven rings of both polarities, turned in steps of three hundredths of a degree: a rest stands wherever the torque falls through
/// nothing, and is left over the highest torque on the way to where it turns, whichever way that is.
#[test]
fn rests_are_those_of_a_fine_scan() {
    const STEPS: u32 = 12_000;
    let cases = [
        (ring(9.0, &[0.0, 31.0, 100.0], &[1, 1, 1]), ring(9.6, &[0.0], &[1])),
        (ring(14.0, &[10.0, 95.0, 170.0, 290.0], &[1, -1, 1, 1]), ring(14.6, &[0.0, 40.0], &[1, -1])),
        (ring(11.0, &[0.0, 22.0, 47.0, 200.0], &[1, 1, -1, 1]), ring(11.6, &[3.0, 140.0, 260.0], &[1, 1, 1])),
        (ring(8.0, &[0.0, 120.0, 240.0], &[-1, -1, -1]), ring(8.6, &[0.0, 20.0], &[-1, -1])),
    ];
    for (lower, upper) in cases {
        let clicks = Clicks::new(&facing(TINY, TINY, 0.4), &lower, &upper).unwrap();
        let torques: Vec<f64> = (0..STEPS)
            .map(|step| clicks.at(Angle::degrees(f64::from(step) * 0.03)).torque.as_millinewton_metres())
            .collect();
        let at = |step: usize| torques[step % torques.len()];
        let len = torques.len();
        let highest = torques.iter().map(|torque| torque.abs()).fold(0.0, f64::max);
        let falls = (0..len).filter(|step| at(*step) > 0.0 && at(step + 1) <= 0.0);
        let scanned: Vec<(f64, f64, f64)> = falls
            .map(|step| {
                let onward = (1..len).map(|by| -at(step + by)).take_while(|torque| *torque >= 0.0).fold(0.0, f64::max);
                let back =
                    (0..len).map(|by| at(step + len - by)).take_while(|torque| *torque > 0.0).fold(0.0, f64::max);
                (step as f64 * 0.03, onward, back)
            })
            .filter(|(_, onward, back)| onward.min(*back) > 2e-3 * highest)
            .collect();
        let rests = clicks.rests();
        let held: Vec<&Rest> =
            rests.iter().filter(|rest| rest.holds().as_millinewton_metres() > 2e-3 * highest).collect();
        assert_eq!(held.len(), scanned.len(), "{rests:?} {scanned:?}");
        for (rest, (degrees, onward, back)) in held.into_iter().zip(scanned) {
            let off = rest.point.at.as_degrees() - degrees;
            assert!((-1e-6..=0.031).contains(&off), "{} {degrees}", rest.point.at.as_degrees());
            assert!(rest.point.torque.as_millinewton_metres().abs() < 1e-5 * highest);
            let (ours, theirs) = (rest.leave_onward.as_millinewton_metres(), rest.leave_back.as_millinewton_metres());
            assert!((ours - onward).abs() < 1e-3 * highest, "onward from {degrees}: {ours} {onward}");
            assert!((theirs - back).abs() < 1e-3 * highest, "back from {degrees}: {theirs} {back}");
            assert_eq!(rest.holds().as_millinewton_metres(), ours.min(theirs));
        }
        let peak = clicks.peak().torque.as_millinewton_metres().abs();
        assert!((peak - highest).abs() < 1e-4 * highest && peak >= highest * (1.0 - 1e-9), "{peak} {highest}");
        let pulls = (0..STEPS).map(|step| clicks.at(Angle::degrees(f64::from(step) * 0.03)).pull.as_newtons());
        let (least, most) = pulls.fold((f64::INFINITY, 0.0_f64), |(a, b), pull| (a.min(pull), b.max(pull.abs())));
        let found = clicks.least_pull().as_newtons();
        assert!(found >= least - 1e-9 && found < least + 2e-3 * most, "{found} {least}");
    }
}

/// Two rings of one magnet each have as many ways to stand as the sum says: with n below and m above, energies and pulls add
/// up pair by pair, each turned by the difference of the bearings.
#[test]
fn rings_are_the_sum_of_their_pairs() {
    let (below, down) = ([0.0, 50.0, 170.0, 350.0], [1, -1, -1, 1]);
    let (above, up) = ([20.0, 70.0, 300.0], [-1, 1, 1]);
    let pair = facing(TINY, TINY, 0.5);
    let all = Clicks::new(&pair, &ring(10.0, &below, &down), &ring(12.0, &above, &up)).unwrap();
    let one = Clicks::new(&pair, &ring(10.0, &[0.0], &[1]), &ring(12.0, &[0.0], &[1])).unwrap();
    for degrees in (0..72).map(|step| f64::from(step) * 5.0 + 0.3) {
        let (mut energy, mut torque, mut pull) = (0.0, 0.0, 0.0);
        for (at, sign) in below.iter().zip(down) {
            for (other, look) in above.iter().zip(up) {
                let turned = one.at(Angle::degrees(degrees + other - at));
                let sign = f64::from(sign * look);
                energy += sign * turned.energy.as_joules();
                torque += sign * turned.torque.as_millinewton_metres();
                pull += sign * turned.pull.as_newtons();
            }
        }
        let turned = all.at(Angle::degrees(degrees));
        assert!((turned.energy.as_joules() - energy).abs() < 1e-12);
        assert!((turned.torque.as_millinewton_metres() - torque).abs() < 1e-9);
        assert!((turned.pull.as_newtons() - pull).abs() < 1e-9);
    }
    let turned = all.with_polarities(&[Polarity::Up; 4], &[Polarity::Up]);
    let same = Clicks::new(&pair, &ring(10.0, &below, &[1; 4]), &ring(12.0, &above, &[1, 1, 1])).unwrap();
    for degrees in [0.0, 33.0, 190.0] {
        assert_eq!(turned.at(Angle::degrees(degrees)), same.at(Angle::degrees(degrees)));
    }
    let curve = all.curve(8);
    assert_eq!(curve.len(), 8);
    assert!(curve.iter().zip(0u8..).all(|(point, at)| *point == all.at(Angle::degrees(45.0 * f64::from(at)))));
}
