//! Shapes against closed forms, worked out by hand or from the formula beside each check.

use std::f64::consts::PI;

use dialwright::geometry::shapes::PolygonSize;
use dialwright::geometry::{GeometryError, Region, polar, shapes};
use dialwright::limits::{LIST_LENGTH, SIZE_MM};
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

/// The sharp corners of a regular polygon of this circumradius.
fn corners(sides: u32, radius: f64) -> Vec<Point> {
    (0..sides).map(|at| polar(radius, Angle::degrees(-360.0 * f64::from(at) / f64::from(sides)))).collect()
}

/// Each way to give a polygon's size, measured on its corners: the widest pair of them, how far they reach along the normal
/// of a side, and one side.
#[test]
fn polygons_have_the_size_that_was_asked() {
    for sides in 3..13 {
        let of = |size: PolygonSize| corners(sides, shapes::circumradius(sides, size).unwrap());
        let pairs = |corners: &[Point]| -> Vec<f64> {
            corners.iter().flat_map(|a| corners.iter().map(|b| a.distance(*b))).collect()
        };
        close(pairs(&of(PolygonSize::AcrossCorners(20.0))).into_iter().fold(0.0, f64::max), 20.0, 1e-9);
        let across = of(PolygonSize::AcrossFlats(20.0));
        let out = (across[1] - across[0]).turn_90().normalize();
        let along: Vec<f64> = across.iter().map(|corner| corner.to_vec2().dot(out)).collect();
        let (least, most) = along.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
        close(most - least, 20.0, 1e-9);
        let side = of(PolygonSize::Side(20.0));
        close(side[0].distance(side[1]), 20.0, 1e-9);
        assert_eq!(shapes::circumradius(sides, PolygonSize::Circumradius(20.0)), Ok(20.0));
        let polygon = shapes::polygon(sides, 20.0, 0.0).unwrap();
        close(polygon.area(), f64::from(sides) / 2.0 * 400.0 * (2.0 * PI / f64::from(sides)).sin(), 1e-9);
        assert!(corners(sides, 19.999).iter().all(|at| polygon.contains(*at)));
        assert!(corners(sides, 20.001).iter().all(|at| !polygon.contains(*at)));
    }
    assert!(matches!(
        shapes::circumradius(2, PolygonSize::Side(5.0)),
        Err(GeometryError::TooFew { what: "sides", value: 2.0, least: 3.0 })
    ));
}

/// A corner that turns by t loses `r^2 (tan(t/2) - t/2)` to its fillet where it is convex, and gains as much where it is reflex.
#[test]
fn rounded_stars_keep_their_closed_form() {
    for (points, outer, inner, radius) in
        [(5, 30.0, 14.0, 1.5), (8, 30.0, 18.0, 1.0), (3, 20.0, 6.0, 0.4), (12, 40.0, 30.0, 0.0)]
    {
        let half = PI / f64::from(points);
        let sharp = f64::from(points) * outer * inner * half.sin();
        // The angle at a point's tip and in a notch, from the triangle of axis, tip and notch.
        let tip = 2.0 * (inner * half.sin()).atan2(outer - inner * half.cos());
        let notch = 2.0 * (outer * half.sin()).atan2(inner - outer * half.cos());
        let (convex, reflex) = (PI - tip, PI - notch);
        let fillet = |turn: f64| radius * radius * ((turn.abs() / 2.0).tan() - turn.abs() / 2.0);
        let star = shapes::star(points, outer, inner, radius).unwrap();
        let wanted = sharp - f64::from(points) * (fillet(convex) + reflex.signum() * fillet(reflex));
        close(star.area(), wanted, 1e-6);
        assert!(
            star.contains(Point::new(0.0, outer - 3.0)) && !star.contains(Point::new(0.0, 3.0 - outer))
                || points % 2 == 0
        );
        // The largest radius leaves nothing of an edge.
        let edge = f64::hypot(outer - inner * half.cos(), inner * half.sin());
        let most = edge / ((convex / 2.0).abs().tan() + (reflex / 2.0).abs().tan());
        let Err(GeometryError::CornerTooLarge { corner, largest }) = shapes::star(points, outer, inner, most + 0.01)
        else {
            panic!("{most} fits");
        };
        close(largest, most, 1e-9);
        close(corner, most + 0.01, 0.0);
        assert!(shapes::star(points, outer, inner, most).is_ok());
    }
}

/// Every place of a scallop's edge lies on a circle of the common radius about a lobe's centre or a hollow's, found by halving
/// from the condition that they touch; crests and hollows reach as far as asked.
#[test]
fn scallops_are_drawn_of_arcs_of_one_radius() {
    for (across, lobes, depth) in [(66.0, 12, 2.5), (40.0, 5, 3.0), (80.0, 24, 1.0), (50.0, 3, 2.0)] {
        let (crest, half) = (across / 2.0, PI / f64::from(lobes));
        let touch = |a: f64| {
            let lobe = Point::new(0.0, crest - a);
            let hollow = Point::new((crest - depth + a) * half.sin(), (crest - depth + a) * half.cos());
            lobe.distance(hollow) - 2.0 * a
        };
        let (mut low, mut high) = (0.0, crest);
        for _ in 0..80 {
            let middle = f64::midpoint(low, high);
            if touch(middle) > 0.0 { low = middle } else { high = middle }
        }
        let scallop = shapes::scallop(across, lobes, depth).unwrap();
        close(scallop.swept_radius(Point::ORIGIN), crest, 2e-5);
        close(scallop.least_radius(Point::ORIGIN).unwrap(), crest - depth, 2e-5);
        assert!(scallop.contains(Point::new(0.0, crest - 1e-4)) && !scallop.contains(Point::new(0.0, crest + 1e-4)));
        let centres = |reach: f64, from: f64| {
            (0..lobes)
                .map(move |at| polar(reach, Angle::radians(2.0 * half * f64::from(at) + from)))
                .collect::<Vec<_>>()
        };
        let centres = [centres(crest - low, 0.0), centres(crest - depth + low, half)].concat();
        for ring in scallop.flattened(1e-3) {
            for [x, y] in ring {
                let off = centres.iter().map(|centre| (centre.distance(Point::new(x, y)) - low).abs());
                assert!(off.fold(f64::INFINITY, f64::min) < 2e-4, "{x} {y}");
            }
        }
        assert_eq!(scallop.rotational_order(), Some(lobes));
    }
    // Half circles side by side: 2 a for a lobe and its hollow together on the circle through their meeting points.
    let Err(GeometryError::TooLarge { what, value, below }) = shapes::scallop(60.0, 12, 20.0) else { panic!() };
    assert_eq!((what, value), ("depth", 20.0));
    assert!(shapes::scallop(60.0, 12, below).is_ok() && shapes::scallop(60.0, 12, below + 1e-6).is_err());
    // Then lobe and hollow meet on the line between their centres square to the radius of the lobe: the arc is half a circle.
    let half = PI / 12.0;
    let radius = 30.0 * half.tan() / (2.0 + half.tan());
    close(below, 30.0 - ((30.0 - radius) / half.cos() - radius), 1e-9);
}

#[test]
fn sizes_run_along_their_axes() {
    let bounds = |region: &Region| {
        let it = region.bounds().unwrap();
        [it.x0, it.y0, it.x1, it.y1]
    };
    let near = |found: [f64; 4], wanted: [f64; 4]| found.iter().zip(wanted).for_each(|(a, b)| close(*a, b, 2e-5));
    let ellipse = shapes::ellipse(24.0, 14.0).unwrap();
    near(bounds(&ellipse), [-12.0, -7.0, 12.0, 7.0]);
    close(ellipse.area(), PI * 84.0, 1e-6);
    near(bounds(&shapes::ellipse(14.0, 24.0).unwrap()), [-7.0, -12.0, 7.0, 12.0]);
    let plate = shapes::rectangle(24.0, 14.0, 3.0).unwrap();
    near(bounds(&plate), [-12.0, -7.0, 12.0, 7.0]);
    close(plate.area(), 24.0 * 14.0 - (4.0 - PI) * 9.0, 1e-6);
    for (wide, high) in [(24.0, 14.0), (14.0, 24.0), (14.0, 14.0)] {
        let obround = shapes::obround(wide, high).unwrap();
        near(bounds(&obround), [-wide / 2.0, -high / 2.0, wide / 2.0, high / 2.0]);
        close(obround.area(), PI * 49.0 + 14.0 * (wide + high - 28.0), 1e-6);
    }
    let Err(GeometryError::CornerTooLarge { largest, .. }) = shapes::rectangle(24.0, 14.0, 7.5) else { panic!() };
    close(largest, 7.0, 1e-9);
    let slice = shapes::sector(20.0, 8.0, Angle::degrees(90.0), Angle::degrees(180.0)).unwrap();
    near(bounds(&slice), [0.0, -20.0, 20.0, 0.0]);
    assert!(slice.contains(Point::new(10.0, -10.0)) && !slice.contains(Point::new(5.0, -5.0)));
    close(slice.area(), PI * (400.0 - 64.0) / 4.0, 1e-5);
    let disc = shapes::sector(20.0, 0.0, Angle::degrees(30.0), Angle::degrees(390.0)).unwrap();
    close(disc.area(), PI * 400.0, 1e-5);
    let most = shapes::sector(20.0, 0.0, Angle::degrees(30.0), Angle::degrees(389.0)).unwrap();
    close(most.area(), PI * 400.0 * 359.0 / 360.0, 1e-5);
}

/// What is refused says what was wrong with it; sizes at the limits are taken.
#[test]
fn refusals_name_size_and_limit() {
    use GeometryError::{Empty, NotPositive, OutOfRange, TooFew, TooLarge};
    assert_eq!(shapes::circle(-1.5).unwrap_err(), NotPositive { what: "radius", value: -1.5 });
    assert_eq!(shapes::circle(0.0).unwrap_err(), NotPositive { what: "radius", value: 0.0 });
    assert_eq!(shapes::rectangle(5.0, 4.0, -0.5).unwrap_err(), NotPositive { what: "corner", value: -0.5 });
    assert_eq!(shapes::obround(5.0, -4.0).unwrap_err(), NotPositive { what: "height", value: -4.0 });
    assert_eq!(shapes::ellipse(-5.0, 4.0).unwrap_err(), NotPositive { what: "width", value: -5.0 });
    assert_eq!(shapes::star(2, 5.0, 3.0, 0.0).unwrap_err(), TooFew { what: "points", value: 2.0, least: 3.0 });
    assert_eq!(shapes::scallop(60.0, 2, 1.0).unwrap_err(), TooFew { what: "lobes", value: 2.0, least: 3.0 });
    assert_eq!(shapes::star(5, 5.0, 5.0, 0.0).unwrap_err(), TooLarge { what: "inner", value: 5.0, below: 5.0 });
    let sector = |inner: f64, from: f64, to: f64| shapes::sector(5.0, inner, Angle::degrees(from), Angle::degrees(to));
    assert_eq!(sector(5.0, 0.0, 90.0).unwrap_err(), TooLarge { what: "inner", value: 5.0, below: 5.0 });
    assert_eq!(sector(0.0, 0.0, 361.0).unwrap_err(), TooLarge { what: "sweep", value: 361.0, below: 360.0 });
    assert_eq!(sector(0.0, 40.0, 40.0).unwrap_err(), NotPositive { what: "sweep", value: 0.0 });
    let most = u32::try_from(LIST_LENGTH).unwrap();
    let refused = TooLarge { what: "sides", value: f64::from(most) + 1.0, below: f64::from(most) + 1.0 };
    assert_eq!(shapes::polygon(most + 1, 900.0, 0.0).unwrap_err(), refused);
    assert!(shapes::polygon(most, 900.0, 0.0).is_ok());
    assert!(shapes::rectangle(SIZE_MM, SIZE_MM, 0.0).is_ok());
    assert_eq!(shapes::rectangle(SIZE_MM * 1.001, 5.0, 0.0).unwrap_err(), OutOfRange);
    assert_eq!(shapes::circle(SIZE_MM * 1.001).unwrap_err(), OutOfRange);
    for endless in ["a18 18 0 1 1 3e61 0Z", "A1e-4 1e6 0 0 0 9 0Z", "L9 0A1e7 1e7 0 1 0 0 9Z"] {
        assert_eq!(shapes::path(&format!("M0 0{endless}")).unwrap_err(), OutOfRange, "{endless}");
    }
    // A thousandth of a square millimetre is a sliver.
    assert_eq!(shapes::rectangle(0.04, 0.02, 0.0).unwrap_err(), Empty);
    assert!(shapes::rectangle(0.04, 0.03, 0.0).is_ok());
    let copies = shapes::circle(1.0).unwrap();
    assert_eq!(copies.repeated(0).unwrap_err(), TooFew { what: "copies", value: 0.0, least: 1.0 });
    let refused = TooLarge { what: "copies", value: f64::from(most) + 1.0, below: f64::from(most) + 1.0 };
    assert_eq!(copies.repeated(most + 1).unwrap_err(), refused);
    assert_eq!(copies.repeated(1).unwrap(), copies);
}
