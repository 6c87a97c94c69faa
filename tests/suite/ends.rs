//! What ends a turn: the slot against closed forms, and its pin at every stop.

use std::f64::consts::PI;

use dialwright::design::{Design, Dowel, Ends, Half, Shape};
use dialwright::geometry::Region;
use dialwright::source::{Sources, Span};
use dialwright::units::{Angle, Length};

use super::designs::{Placed, circle, deg, mm};

fn ends(radius: f64, bearing: f64) -> Ends {
    let pin = Dowel {
        name: "dowel".into(),
        shank: mm(3.0),
        length: mm(5.0),
        adhesive: None,
        clearance: mm(0.1),
        cost: None,
        origin: None,
    };
    let origin = Span::new(Sources::default().add("a.dial", ""), 0..0);
    Ends { pin, radius: mm(radius), bearing: deg(bearing), play: mm(0.5), origin }
}

fn stops(last: f64) -> Vec<Angle> {
    (0..=6).map(|stop| deg(last * f64::from(stop) / 6.0)).collect()
}

/// An arc of a band with half a disc at either end: `2 h R a + pi h²`, by hand.
#[test]
fn the_slot_has_the_area_of_a_bent_band_with_round_ends() {
    for (radius, last) in [(8.0, 270.0), (12.0, 30.0), (20.0, 300.0)] {
        let made = ends(radius, 180.0);
        let half = 3.1 / 2.0;
        let along = f64::to_radians(last) + 2.0 * 0.5 / radius;
        let expected = 2.0 * half * radius * along + PI * half * half;
        for turning in [Half::Upper, Half::Lower] {
            let slot = made.slot(&stops(last), turning).unwrap();
            assert!((slot.area() - expected).abs() < 1e-6 * expected, "{} is not {expected}", slot.area());
        }
    }
}

/// A half that turns clockwise by a stop carries its slot with it: the pin, which stays, lies in it at every stop and no farther
/// than the play and the clearance beyond the last.
#[test]
fn the_pin_lies_in_its_slot_from_the_first_stop_to_the_last_and_no_farther() {
    let made = ends(9.0, 100.0);
    let pin: Region = circle(1.5).at(9.0, 100.0);
    for (turning, way) in [(Half::Upper, -1.0), (Half::Lower, 1.0)] {
        let slot = made.slot(&stops(240.0), turning).unwrap();
        // The upper half stands turned on by a stop, so that what stays is seen from it turned back.
        let within = |stop: f64| slot.covers(&pin.turned(way * stop));
        assert!((0..=24).all(|step| within(10.0 * f64::from(step))), "{turning:?}");
        // 0.5 mm of play and 0.05 mm of clearance along a circle of 9 mm turn it by 3.5deg.
        let beyond = made.turned(made.beyond()).as_degrees();
        assert!((beyond - 3.5014).abs() < 1e-3, "{beyond}");
        for outside in [-beyond - 0.05, 240.0 + beyond + 0.05] {
            assert!(!within(outside), "{turning:?} at {outside}");
        }
        for inside in [-beyond + 0.05, 240.0 + beyond - 0.05] {
            assert!(within(inside), "{turning:?} at {inside}");
        }
    }
}

/// Between the ends at 0 and 300 degrees 60 are left, less the play: the chord less the width of the slot, by hand.
#[test]
fn the_web_is_the_chord_of_the_gap_less_the_slot() {
    let gap: f64 = 60.0 - 2.0 * (0.5_f64 / 8.0).to_degrees();
    let expected = 2.0 * 8.0 * (gap.to_radians() / 2.0).sin() - 3.1;
    let web = ends(8.0, 0.0).web(&stops(300.0), Half::Upper);
    assert!((web.as_mm() - expected).abs() < 1e-9, "{web} is not {expected}");
    assert!(ends(4.0, 0.0).web(&stops(340.0), Half::Upper) < Length::ZERO);
}

fn read(name: &str) -> Design {
    let analysis = crate::dials::analysed(&crate::dials::root().join("tests/dials").join(name));
    analysis.dials.first().unwrap_or_else(|| panic!("{:?}", analysis.findings)).design.clone()
}

/// The pin stands in the half that is held, the slot is cut through the one that is turned, in either way about.
#[test]
fn the_pin_stands_in_the_half_that_stays() {
    for (name, stays) in [("24-end-stops.dial", 0), ("25-lower-half-ends.dial", 1)] {
        let design = read(name);
        let (_, turn) = design.turns().next().unwrap();
        let ends = turn.ends.as_ref().unwrap();
        let area = |layer: usize| {
            let mark = design.layers[layer].marks.iter().find(|mark| mark.origin == ends.origin).unwrap();
            let Shape::Region(region) = &mark.shape else { panic!("a region") };
            region.area()
        };
        assert!((area(stays) - PI * 1.55 * 1.55).abs() < 1e-6, "{name}");
        assert!(area(1 - stays) > 50.0, "{name}");
    }
}
