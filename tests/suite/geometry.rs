//! Shapes against closed forms, worked out by hand or from the formula beside each check.

use std::f64::consts::PI;

use dialwright::geometry::{GeometryError, Region, shapes};
use dialwright::units::Angle;
use kurbo::{Affine, Point};

/// A regular polygon of sharp circumradius 35 mm and corner radius 4 mm: five sides.
fn plate() -> Region {
    shapes::polygon(5, 35.0, 4.0).unwrap()
}

fn close(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "found {found}, wanted {wanted} within {within}");
}

#[test]
fn a_circle_is_round() {
    for radius in [0.5, 4.0, 20.0, 60.0, 400.0] {
        let circle = shapes::circle(radius).unwrap();
        // pi r^2, 2 pi r, pi r^4 / 2.
        close(circle.area() / (PI * radius * radius), 1.0, 1e-9);
        close(circle.perimeter() / (2.0 * PI * radius), 1.0, 1e-7);
        close(circle.polar_second_moment() / (PI * radius.powi(4) / 2.0), 1.0, 1e-7);
        close(circle.swept_radius(Point::ORIGIN), radius, 1.1e-5);
        close(circle.least_radius(Point::ORIGIN).unwrap(), radius, 1.1e-5);
        close(circle.swept_radius(Point::new(3.0, 4.0)), radius + 5.0, 1.1e-5);
    }
}

/// The formulas of a regular polygon with rounded corners: its sharp form less what each fillet takes, Steiner's
/// formula for parallel bodies, and the polar second moment as a core, side strips and corner sectors.
#[test]
fn a_rounded_polygon_keeps_its_closed_forms() {
    let plate = plate();
    close(plate.area(), 2_904.752_661_370_9, 1e-6);
    close(plate.perimeter(), 201.795_878_410_9, 1e-5);
    close(plate.swept_radius(Point::ORIGIN), 34.055_728_090_0, 1e-5);
    // The formula's (3, 2) with its first corner on the x axis is (-2, 3) with the first corner on top.
    close(plate.swept_radius(Point::new(-2.0, 3.0)), 37.658_663_293_6, 1e-5);
    close(plate.polar_second_moment(), 1_363_842.885_340, 1e-2);
    close(plate.offset(0.05).area(), 2_914.850_309_273_1, 2e-3);
    close(plate.offset(-0.05).area(), 2_894.670_721_432_0, 2e-3);
    let web = plate.distance(&shapes::circle(20.0).unwrap()).unwrap();
    close(web.distance, 8.315_594_803_1, 1e-4);
    let less = plate.difference(&shapes::ellipse(24.0, 14.0).unwrap());
    close(less.area(), 2_640.858_878_5, 1e-2);
    let turned = plate.transformed(Affine::rotate(72f64.to_radians()));
    close(plate.difference(&turned).area(), 0.0, 1e-2);
    assert!(plate.covers(&turned) && turned.covers(&plate));
    assert!(plate.centroid().unwrap().distance(Point::ORIGIN) < 1e-9);
}

#[test]
fn two_discs_leave_a_lune() {
    let disc = shapes::circle(20.0).unwrap();
    let other = disc.transformed(Affine::translate((20.0, 0.0)));
    // pi r^2 - (2 r^2 acos(d/2r) - (d/2) sqrt(4 r^2 - d^2)).
    close(disc.difference(&other).area(), 765.289_182_0, 1e-2);
    close(disc.overlap_area(&other), PI * 400.0 - 765.289_182_0, 1e-2);
}

#[test]
fn sectors_run_clockwise() {
    let slice = shapes::sector(36.0, 10.0, Angle::degrees(-24.0), Angle::degrees(24.0)).unwrap();
    close(slice.area(), PI * (36.0f64.powi(2) - 100.0) * 48.0 / 360.0, 1e-5);
    assert!(slice.contains(Point::new(0.0, 20.0)) && !slice.contains(Point::new(0.0, 9.0)));
    let right = shapes::sector(36.0, 0.0, Angle::degrees(80.0), Angle::degrees(100.0)).unwrap();
    assert!(right.contains(Point::new(20.0, 0.0)) && !right.contains(Point::new(-20.0, 0.0)));
    let past = shapes::sector(36.0, 0.0, Angle::degrees(330.0), Angle::degrees(30.0)).unwrap();
    close(past.area(), PI * 36.0f64.powi(2) / 6.0, 1e-5);
    let ring = shapes::sector(36.0, 10.0, Angle::degrees(0.0), Angle::degrees(360.0)).unwrap();
    close(ring.area(), PI * (36.0f64.powi(2) - 100.0), 1e-5);
}

#[test]
fn corners_too_large_say_what_fits() {
    let refused = shapes::polygon(6, 10.0, 9.0).unwrap_err();
    let GeometryError::CornerTooLarge { corner, largest } = refused else { panic!("{refused:?}") };
    close(corner, 9.0, 0.0);
    close(largest, 10.0 * (PI / 6.0).cos(), 1e-9);
    let disc = shapes::polygon(6, 10.0, largest).unwrap();
    close(disc.area(), PI * largest * largest, 1e-5);
}
