//! Contrast and lettering.

use super::magnets::near;
use dialwright::physics::Contrast;
use dialwright::physics::contrast::{LEAST_FOR_TEXT, relative_luminance};
use dialwright::physics::legibility::{ArcMinutes, LEAST, angle, farthest, height, sign_rule};
use dialwright::units::Length;

const WHITE: [u8; 3] = [255, 255, 255];

/// W3C WCAG 2.2, relative luminance; against white.
#[test]
fn contrast_agrees_with_the_wcag() {
    for (colour, ratio) in [
        ([0x77, 0x77, 0x77], 4.478),
        ([0x76, 0x76, 0x76], 4.542),
        ([0x59, 0x59, 0x59], 7.005),
        ([0x00, 0x00, 0xff], 8.592),
        ([0x00, 0x00, 0x00], 21.0),
    ] {
        let contrast = Contrast::between(colour, WHITE);
        assert!((contrast.ratio() - ratio).abs() < 5.1e-4, "{colour:?}: {}", contrast.ratio());
        assert_eq!(contrast, Contrast::between(WHITE, colour));
        assert_eq!(contrast.reaches(LEAST_FOR_TEXT), ratio >= 4.5);
    }
    assert_eq!(relative_luminance(WHITE), 1.0);
    assert_eq!(Contrast::between([9, 9, 9], [9, 9, 9]).ratio(), 1.0);
}

#[test]
fn contrast_is_never_rounded_up() {
    let grey = Contrast::between([0x77, 0x77, 0x77], WHITE);
    assert_eq!(grey.to_string(), "4.47");
    assert_eq!(Contrast::between([0, 0, 0], WHITE).to_string(), "21.00");
    let almost = (0..=255_u8)
        .flat_map(|r| (0..=255_u8).map(move |g| Contrast::between([r, g, 0x60], WHITE)))
        .filter(|contrast| contrast.ratio() < 4.5)
        .max_by(|one, other| one.ratio().total_cmp(&other.ratio()))
        .unwrap();
    assert!(almost.ratio() > 4.495, "this would round to 4.50");
    assert_eq!(almost.to_string(), "4.49");
    assert!(!almost.reaches(LEAST_FOR_TEXT));
}

/// NUREG-0700, guideline 1.3.1-4: `H = 6.283 D MA / 21600`, at 500 mm.
#[test]
fn label_height_agrees_with_the_guideline() {
    for (minutes, mm) in [(16.0, 2.327), (20.0, 2.909), (22.0, 3.200)] {
        let tall = height(ArcMinutes(minutes), Length::mm(500.0));
        assert!((tall.as_mm() - mm).abs() < 5.1e-4, "{tall}");
        near(angle(tall, Length::mm(500.0)).unwrap().0, minutes, 1e-12);
        near(farthest(tall, ArcMinutes(minutes)).unwrap().as_mm(), 500.0, 1e-12);
    }
    assert_eq!(sign_rule(Length::mm(500.0)).as_mm(), 2.5);
    assert_eq!(angle(Length::mm(2.0), Length::ZERO), None);
    assert_eq!(farthest(Length::mm(2.0), ArcMinutes(0.0)), None);
    assert!(LEAST < ArcMinutes(20.0));
}
