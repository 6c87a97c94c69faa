//! The reading proof against closed forms, stored answers of another library, and planted faults.

use std::time::Instant;

use super::by_hand::*;
use dialwright::audit::{StopProof, prove};
use dialwright::design::Design;
use dialwright::geometry::Region;

fn proof(design: &Design) -> Vec<StopProof> {
    prove(design).0.readings.into_iter().flat_map(|reading| reading.stops).collect()
}

/// Round labels of radius 3 in a round window of radius 5: margin 2 mm all round; clipping starts when the centres
/// are 2 mm apart, at a chord of 2 mm on a circle of 20 mm: 2 asin(1/20) = 5.7319 degrees.
#[test]
fn round_labels_in_a_round_window_follow_the_closed_form() {
    let stops = proof(&two_layers(8, |_| circle(3.0), circle(5.0).at(20.0, 0.0)));
    assert_eq!(stops.len(), 8);
    let slack = 2.0 * (1.0_f64 / 20.0).asin().to_degrees();
    // The neighbours' centres stand 2 * 20 sin(22.5) = 15.3073 away: 7.3073 mm from the window.
    let foreign = 2.0 * 20.0 * 22.5_f64.to_radians().sin() - 8.0;
    for (at, stop) in stops.iter().enumerate() {
        assert!(stop.reads);
        assert_eq!((stop.due, stop.shown), (at, Some(at)));
        assert!((stop.margin.as_mm() - 2.0).abs() < 2e-3, "{:?}", stop.margin);
        assert!((stop.foreign_gap.unwrap().as_mm() - foreign).abs() < 2e-3);
        assert!((stop.slack.0.as_degrees() - slack).abs() < 0.01, "{:?} {slack}", stop.slack);
        assert!((stop.slack.1.as_degrees() - slack).abs() < 0.01, "{:?} {slack}", stop.slack);
        assert!((stop.centring_slack.as_mm() - 2.0).abs() < 2e-3);
        assert!((stop.visible_area - 9.0 * std::f64::consts::PI).abs() < 1e-3);
    }
}

/// A label too large for the window shows the lens of two circles.
#[test]
fn a_clipped_label_shows_the_area_of_the_lens() {
    // Circle less circle, both r 5, centres 2 apart: the lens is 2 r^2 acos(d/2r) - d/2 sqrt(4r^2 - d^2).
    let ink = |_: usize| circle(5.0).shifted(0.0, 2.0);
    let mut design = two_layers(2, ink, circle(5.0).at(20.0, 0.0));
    design.layers[0].rings[0].labels[1].ink = circle(5.0).at(20.0, 180.0).shifted(0.0, -2.0);
    let lens = 2.0 * 25.0 * 0.2_f64.acos() - 96.0_f64.sqrt();
    for stop in proof(&design) {
        assert!(!stop.reads);
        assert_eq!(stop.shown, Some(stop.due));
        assert!((stop.visible_area - lens).abs() < 1e-2, "{} {lens}", stop.visible_area);
        assert!((stop.margin.as_mm() + 2.0).abs() < 0.01, "{:?}", stop.margin);
        assert_eq!(stop.slack.0.as_degrees(), 0.0);
    }
}

#[test]
fn a_twelve_stop_proof_is_fast() {
    let design = two_layers(12, |_| glyph(), ellipse(11.0, 9.0).at(20.0, 0.0));
    let _ = prove(&design);
    let start = Instant::now();
    let (proof, problems) = prove(&design);
    let taken = start.elapsed();
    assert!(proof.reads(), "{problems:?}");
    assert!(problems.iter().next().is_none());
    println!("12 stops in {taken:?}");
    // Sixty milliseconds are asked of an optimised build; this one is not.
    assert!(taken.as_millis() < 600, "{taken:?}");
}

/// A label with curves, corners and a counter, some 6 mm high.
fn glyph() -> Region {
    let ring = ellipse(4.4, 6.0).difference(&ellipse(2.6, 4.0));
    ring.union(&rectangle(2.6, 0.8).shifted(1.0, -2.6))
}
