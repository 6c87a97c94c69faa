//! Pieces, webs, hulls, symmetry and path data against figures worked out by hand.

use std::f64::consts::{PI, TAU};

use dialwright::geometry::{GeometryError, Region, Symmetry, Trace, hull, polar, shapes};
use dialwright::units::Angle;
use kurbo::{Affine, Point, Shape};

fn close(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "found {found}, wanted {wanted} within {within}");
}

fn moved(region: &Region, x: f64, y: f64) -> Region {
    region.transformed(Affine::translate((x, y)))
}

fn degrees(symmetry: Symmetry) -> Vec<f64> {
    match symmetry {
        Symmetry::Every => panic!("every line"),
        Symmetry::Axes(axes) => axes.into_iter().map(|axis| (axis.as_degrees() * 1e3).round() / 1e3).collect(),
    }
}

#[test]
fn pieces_keep_their_holes() {
    let ring = shapes::circle(10.0).unwrap().difference(&shapes::circle(6.0).unwrap());
    let island = shapes::circle(3.0).unwrap();
    let aside = moved(&shapes::rectangle(8.0, 8.0, 0.0).unwrap(), 30.0, 0.0);
    let all = Region::union_of([&aside, &island, &ring]);
    let pieces = all.pieces();
    assert_eq!(pieces.len(), 3);
    close(pieces[0].area(), PI * 64.0, 1e-3);
    close(pieces[1].area(), 64.0, 1e-3);
    close(pieces[2].area(), PI * 9.0, 1e-3);
    assert_eq!(all.holes().len(), 1);
    close(all.holes()[0].area(), PI * 36.0, 1e-3);
    close(all.outer().area(), PI * 100.0 + 64.0, 1e-3);
}

#[test]
fn copies_go_round_the_axis() {
    let bite = moved(&shapes::circle(2.0).unwrap(), 0.0, 20.0);
    let bites = bite.repeated(12).unwrap();
    close(bites.area(), 12.0 * PI * 4.0, 1e-4);
    assert!(bites.contains(polar(20.0, Angle::degrees(90.0))));
    assert_eq!(bites.pieces().len(), 12);
    // Overlapping copies count once.
    close(shapes::rectangle(10.0, 2.0, 0.0).unwrap().repeated(2).unwrap().area(), 20.0, 1e-3);
    close(shapes::rectangle(10.0, 2.0, 0.0).unwrap().repeated(4).unwrap().area(), 36.0, 1e-2);
    assert!(matches!(bite.repeated(0), Err(GeometryError::TooFew { .. })));
}

#[test]
fn webs_are_found_between_holes_and_along_one_outline() {
    let plate = shapes::circle(30.0).unwrap();
    let holed = plate.difference(&moved(&shapes::circle(6.0).unwrap(), 20.0, 0.0));
    close(holed.narrowest_web().unwrap().distance, 4.0, 1e-3);
    let two = holed.difference(&moved(&shapes::circle(6.0).unwrap(), 5.0, 0.0));
    close(two.narrowest_web().unwrap().distance, 3.0, 1e-3);
    let bar = shapes::rectangle(40.0, 7.0, 1.0).unwrap();
    close(bar.narrowest_web().unwrap().distance, 7.0, 1e-3);
    // Two round bites from either side leave a neck of 14 - 2 * 5 between them.
    let bite = shapes::circle(5.0).unwrap();
    let bar = shapes::rectangle(40.0, 14.0, 0.0).unwrap();
    let waist = bar.difference(&moved(&bite, 3.0, 7.0)).difference(&moved(&bite, 3.0, -7.0));
    let web = waist.narrowest_web().unwrap();
    close(web.distance, 4.0, 1e-4);
    close(web.from.x, 3.0, 1e-2);
    // Shrunk by a little less than half the web it hangs together, by a little more it does not.
    assert_eq!(waist.offset(-1.99).pieces().len(), 1);
    assert_eq!(waist.offset(-2.01).pieces().len(), 2);
    // A notch with a sharp tip, 1.5 mm short of the other side.
    let notch = shapes::path("M -4 7.5 L 4 7.5 L 0 -5.5 Z").unwrap();
    close(bar.difference(&notch).narrowest_web().unwrap().distance, 1.5, 1e-3);
    // A sharp corner tapers to nothing but is no web.
    let taper = shapes::path("M 0 0 L 60 0 L 0 10 Z").unwrap();
    assert!(taper.narrowest_web().is_none_or(|web| web.distance > 5.0));
}

#[test]
fn a_band_round_two_discs_is_a_stadium() {
    let disc = shapes::circle(5.0).unwrap();
    let band = hull(&moved(&disc, -10.0, 0.0), &moved(&disc, 10.0, 0.0));
    close(band.area(), PI * 25.0 + 20.0 * 10.0, 1e-4);
    close(band.perimeter(), TAU * 5.0 + 40.0, 1e-4);
    assert!(band.segment_count() < 24, "{} segments", band.segment_count());
    // Two discs of 8 and 3 mm, 20 mm apart: tangents of sqrt(20^2 - 5^2), arcs of pi + 2 asin(5/20) and the rest.
    let (lean, reach) = ((5.0f64 / 20.0).asin(), (400.0f64 - 25.0).sqrt());
    let belt = hull(&shapes::circle(8.0).unwrap(), &moved(&shapes::circle(3.0).unwrap(), 20.0, 0.0));
    close(belt.perimeter(), 2.0 * reach + 8.0 * (PI + 2.0 * lean) + 3.0 * (PI - 2.0 * lean), 1e-4);
    let square = shapes::rectangle(10.0, 10.0, 0.0).unwrap();
    close(hull(&square, &square).area(), 100.0, 1e-9);
    assert_eq!(hull(&square, &Region::empty()).segment_count(), 4);
    close(
        hull(&shapes::star(5, 20.0, 8.0, 0.0).unwrap(), &Region::empty()).area(),
        2.5 * 400.0 * (TAU / 5.0).sin(),
        1e-6,
    );
    assert!(hull(&Region::empty(), &Region::empty()).is_empty());
}

#[test]
fn symmetry_is_found_where_it_is() {
    let plate = shapes::polygon(5, 35.0, 4.0).unwrap();
    assert_eq!(degrees(plate.symmetry_axes()), [0.0, 36.0, 72.0, 108.0, 144.0]);
    assert_eq!(plate.rotational_order(), Some(5));
    assert!(plate.is_symmetric_about(Angle::degrees(36.0), 1e-3));
    assert!(!plate.is_symmetric_about(Angle::degrees(18.0), 1e-3));
    let turned = plate.transformed(Affine::rotate(-10f64.to_radians()));
    assert_eq!(degrees(turned.symmetry_axes()), [10.0, 46.0, 82.0, 118.0, 154.0]);
    assert_eq!(shapes::circle(30.0).unwrap().symmetry_axes(), Symmetry::Every);
    assert_eq!(shapes::circle(30.0).unwrap().rotational_order(), None);
    assert_eq!(degrees(shapes::ellipse(30.0, 20.0).unwrap().symmetry_axes()), [0.0, 90.0]);
    let scallop = shapes::scallop(66.0, 12, 2.5).unwrap();
    assert_eq!(degrees(scallop.symmetry_axes()).len(), 12);
    assert_eq!(scallop.rotational_order(), Some(12));
    let off = moved(&shapes::circle(30.0).unwrap(), 3.0, 0.0);
    assert_eq!(degrees(off.symmetry_axes()), [90.0]);
    // A pinwheel turns onto itself but has no mirror line.
    let blade = shapes::path("M 0 0 L 20 0 L 14 8 Z").unwrap();
    let pinwheel = blade.repeated(3).unwrap();
    assert_eq!(degrees(pinwheel.symmetry_axes()), [0.0; 0]);
    assert_eq!(pinwheel.rotational_order(), Some(3));
    let lame = plate.difference(&moved(&shapes::circle(1.0).unwrap(), 20.0, 3.0));
    assert_eq!(degrees(lame.symmetry_axes()), [0.0; 0]);
    assert_eq!(lame.rotational_order(), Some(1));
}

#[test]
fn clearance_says_how_much_room_or_how_far_out() {
    let plate = shapes::rectangle(40.0, 30.0, 0.0).unwrap();
    let disc = shapes::circle(6.0).unwrap();
    close(plate.clearance_inside(&moved(&disc, 10.0, 2.0)).unwrap().distance, 4.0, 1e-4);
    close(plate.clearance_inside(&moved(&disc, 17.0, 0.0)).unwrap().distance, -3.0, 1e-3);
    close(plate.distance(&moved(&disc, 17.0, 0.0)).unwrap().distance, 0.0, 0.0);
    close(plate.distance(&moved(&disc, 30.0, 0.0)).unwrap().distance, 4.0, 1e-4);
    let near = plate.distance_to_point(Point::new(25.0, 20.0)).unwrap();
    close(near.distance, 50f64.sqrt(), 1e-9);
    assert!(plate.covers(&moved(&disc, 14.0, 0.0)) && !plate.covers(&moved(&disc, 14.1, 0.0)));
    assert!(Region::empty().distance(&plate).is_none());
}

#[test]
fn rounding_gives_corners_their_radius() {
    // A square of side s less 4 corners of (1 - pi/4) r^2 each.
    let square = shapes::rectangle(20.0, 20.0, 0.0).unwrap().rounded(3.0);
    close(square.area(), 400.0 - (4.0 - PI) * 9.0, 2e-3);
    assert!(square.distance(&shapes::rectangle(20.0, 20.0, 3.0).unwrap()).unwrap().distance < 1e-3);
    // A cross has 8 convex and 4 reflex corners: what the reflex ones gain is lost by as many convex ones.
    let arm = shapes::rectangle(40.0, 12.0, 0.0).unwrap();
    let cross = arm.union(&arm.transformed(Affine::rotate(PI / 2.0)));
    close(cross.rounded(2.0).area(), 2.0 * 480.0 - 144.0 - 4.0 * (1.0 - PI / 4.0) * 4.0, 5e-3);
    assert!(cross.rounded(2.0).segment_count() < 60);
    assert_eq!(cross.rounded(0.0), cross);
    assert!(arm.rounded(7.0).is_empty());
}

#[test]
fn path_data_is_read_as_it_stands() {
    // An SVG arc of radius 5 closed by its chord: half a disc.
    let half = shapes::path("M -5 0 A 5 5 0 0 1 5 0 Z").unwrap();
    close(half.area(), PI * 12.5, 1e-3);
    let window = shapes::path("m 0,0 h 10 v 10 h -10 z m 2,2 h 6 v 6 h -6 z").unwrap();
    close(window.area(), 64.0, 1e-9);
    assert!(matches!(shapes::path("M 0 0 L 10 0 L 10 10"), Err(GeometryError::NotClosed)));
    let Err(GeometryError::CrossesItself { at }) = shapes::path("M 0 0 L 10 10 L 10 0 L 0 10 Z") else { panic!() };
    assert!(at.distance(Point::new(5.0, 5.0)) < 1e-9);
    let through_a_corner = "M 0 0 L 5 5 L 10 10 L 10 0 L 5 5 L 0 10 Z";
    assert!(matches!(shapes::path(through_a_corner), Err(GeometryError::CrossesItself { .. })));
    assert_eq!(shapes::path("M 0 0 L 10 x"), Err(GeometryError::BadPathData { offset: 11 }));
    assert!(matches!(shapes::path("L 0 0"), Err(GeometryError::BadPathData { .. })));
    assert!(matches!(shapes::path(""), Err(GeometryError::Empty)));
    assert!(matches!(shapes::path("M 0 0 L 1e9 0 L 0 9 Z"), Err(GeometryError::OutOfRange)));
    let line = Trace::from_data("M -10 -12 L 10 -12").unwrap();
    close(line.length(), 20.0, 1e-9);
    close(Trace::line(&[Point::ORIGIN, Point::new(3.0, 4.0)]).unwrap().length(), 5.0, 1e-9);
    assert!(matches!(Trace::line(&[Point::ORIGIN]), Err(GeometryError::TooFew { .. })));
    let smooth = Trace::from_data("M0 0 C 0 5 5 5 5 0 S 10 -5 10 0 Q 12 4 14 0 T 18 0").unwrap();
    assert_eq!(smooth.path().segments().count(), 4);
    close(smooth.path().bounding_box().y0, -3.75, 1e-9);
}

#[test]
fn sizes_that_cannot_be_are_refused() {
    for size in [0.0, -1.0] {
        assert!(matches!(shapes::circle(size), Err(GeometryError::NotPositive { .. })));
        assert!(matches!(shapes::ellipse(5.0, size), Err(GeometryError::NotPositive { .. })));
        assert!(matches!(shapes::rectangle(size, 5.0, 0.0), Err(GeometryError::NotPositive { .. })));
    }
    for size in [1e6, 1e9, 1e12, 1e150] {
        let far = shapes::circle(5.0).unwrap().swept_radius(Point::new(size, 0.0));
        assert!((far - (size + 5.0)).abs() <= 1e-11 * size, "{far}");
    }
    for size in [f64::NAN, f64::INFINITY, 1e300] {
        assert_eq!(shapes::circle(size), Err(GeometryError::OutOfRange));
        assert_eq!(shapes::star(5, size, 3.0, 0.0), Err(GeometryError::OutOfRange));
        assert!(shapes::circle(5.0).unwrap().offset(size).area().is_finite());
        assert!(shapes::circle(5.0).unwrap().offset(-size).is_empty());
        assert!(!shapes::circle(5.0).unwrap().swept_radius(Point::new(size, 0.0)).is_nan());
    }
    assert!(matches!(shapes::polygon(2, 5.0, 0.0), Err(GeometryError::TooFew { .. })));
    assert!(matches!(shapes::star(5, 5.0, 6.0, 0.0), Err(GeometryError::TooLarge { .. })));
    assert!(matches!(shapes::scallop(60.0, 12, 20.0), Err(GeometryError::TooLarge { .. })));
    let ring = shapes::sector(5.0, 6.0, Angle::degrees(0.0), Angle::degrees(90.0));
    assert!(matches!(ring, Err(GeometryError::TooLarge { .. })));
    let nothing = shapes::sector(5.0, 0.0, Angle::degrees(10.0), Angle::degrees(10.0));
    assert!(matches!(nothing, Err(GeometryError::NotPositive { .. })));
}

/// Commands that are short for others, relative to where the pen is, and numbers run together (SVG 1.1, 8.3): each line draws
/// what the one beside it spells out.
#[test]
fn path_data_may_be_written_in_many_ways() {
    let drawn = |data: &str| Trace::from_data(data).unwrap().path().clone();
    for (short, whole) in [
        ("M1,2 H7 V9 H-3", "M1,2 L7,2 L7,9 L-3,9"),
        ("m1,2 h6 v7 h-10", "M1,2 L7,2 L7,9 L-3,9"),
        ("M1,2 5,6 7,8", "M1,2 L5,6 L7,8"),
        ("m1,2 4,4 2,2", "M1,2 L5,6 L7,8"),
        ("M1,2 c1,2 3,4 5,6 s7,8 9,10", "M1,2 C2,4 4,6 6,8 C8,10 13,16 15,18"),
        ("M1,2 C2,4 4,6 6,8 S13,16 15,18", "M1,2 C2,4 4,6 6,8 C8,10 13,16 15,18"),
        ("M1,2 S3,4 5,6", "M1,2 C1,2 3,4 5,6"),
        ("M1,2 L3,3 s3,4 5,6", "M1,2 L3,3 C3,3 6,7 8,9"),
        ("M1,2 q1,2 3,4 t5,6 t1,1", "M1,2 Q2,4 4,6 Q6,8 9,12 Q12,16 10,13"),
        ("M1,2 T5,6", "M1,2 Q1,2 5,6"),
        ("M1,2 C2,4 4,6 6,8 T9,9", "M1,2 C2,4 4,6 6,8 Q6,8 9,9"),
        ("M1,2 Q2,4 4,6 S7,7 9,9", "M1,2 Q2,4 4,6 C4,6 7,7 9,9"),
        ("M1,2 l4,0 0,3 z l1,1", "M1,2 L5,2 L5,5 Z M1,2 L2,3"),
        ("M1,2 l4,0 0,3 z m1,1 h2", "M1,2 L5,2 L5,5 Z M2,3 L4,3"),
        ("M1,2 l4,0 0,3 z q1,1 2,0", "M1,2 L5,2 L5,5 Z M1,2 Q2,3 3,2"),
        ("M1,2 l4,0 0,3 z c1,1 2,1 3,0", "M1,2 L5,2 L5,5 Z M1,2 C2,3 3,3 4,2"),
        ("M1,2 A0,5 0 0 1 7,7", "M1,2 L7,7"),
    ] {
        assert_eq!(drawn(short).to_svg(), drawn(whole).to_svg(), "{short}");
    }
    // Arcs of a circle of 5 mm from (0, 0) to (6, 0): the small and the large one, either way round; the far side is 1 or 9 mm off.
    for (flags, far) in [("0 0", 1.0), ("0 1", -1.0), ("1 0", 9.0), ("1 1", -9.0)] {
        for data in [
            format!("M0,0 A5,5 0 {flags} 6,0"),
            format!("M0,0 a5,5 0 {flags} 6,0"),
            format!("M2,1 m-2,-1 a5,5 0 {flags} 6,0"),
        ] {
            let arc = drawn(&data);
            let bounds = arc.bounding_box();
            // With y up a sweep of 1 goes the other way round than on a screen.
            let found = if bounds.y1 > -bounds.y0 { bounds.y1 } else { bounds.y0 };
            close(found, -far * -1.0, 1e-4);
            assert_eq!(arc.segments().last().map(|it| kurbo::ParamCurve::end(&it)), Some(Point::new(6.0, 0.0)));
        }
    }
    // Half an ellipse of 10 by 4, turned by 90deg.
    let turned = drawn("M0,0 A5,2 90 0 1 0,10");
    close(turned.bounding_box().width(), 2.0, 1e-4);
    close(turned.bounding_box().height(), 10.0, 1e-4);
}

/// A fault is told at the byte where it stands, whatever the letters before it.
#[test]
fn faults_of_path_data_are_told_where_they_are() {
    let fault = |data: &str| match Trace::from_data(data) {
        Err(GeometryError::BadPathData { offset }) => offset,
        other => panic!("{data}: {other:?}"),
    };
    assert_eq!(fault("M 0 0 L 10 x"), 11);
    assert_eq!(fault("M 0 0 K 3"), 6);
    assert_eq!(fault("5 M 0 0"), 0);
    assert_eq!(fault("M 0 0 L 1"), 9);
    // A path that ends on its beginning to within a nanometre is closed, one that does not is open.
    assert!(shapes::path("M 0 0 L 9 0 L 9 9 L 0 0").is_ok() && shapes::path("M 0 0 L 9 0 L 9 9 L 0 0.0000005").is_ok());
    assert_eq!(shapes::path("M 0 0 L 9 0 L 9 9 L 0 0.00001"), Err(GeometryError::NotClosed));
    assert_eq!(Trace::from_data("M 3 4"), Err(GeometryError::Empty));
    assert_eq!(Trace::from_data("M 0 0 L 10001 0"), Err(GeometryError::OutOfRange));
    assert_eq!(Trace::from_data("M 0 0 L 0 -10001"), Err(GeometryError::OutOfRange));
    assert!(Trace::from_data("M 0 0 L 10000 -10000").is_ok());
    let far = Trace::line(&[Point::ORIGIN, Point::new(0.0, 10_000.1)]);
    assert_eq!(far, Err(GeometryError::OutOfRange));
    assert!(Trace::line(&[Point::ORIGIN, Point::new(0.0, -10_000.0)]).is_ok());
    let twice = Trace::line(&[Point::ORIGIN, Point::ORIGIN, Point::new(3.0, 4.0), Point::new(3.0, 4.0)]).unwrap();
    assert_eq!(twice.path().segments().count(), 1);
    assert_eq!(twice.bounds(), Some(kurbo::Rect::new(0.0, 0.0, 3.0, 4.0)));
    let same = Trace::line(&[Point::new(1.0, 1.0), Point::new(1.0, 1.0)]);
    assert_eq!(same, Err(GeometryError::TooFew { what: "points", value: 1.0, least: 2.0 }));
    assert_eq!(Trace::line(&[]), Err(GeometryError::TooFew { what: "points", value: 0.0, least: 2.0 }));
    assert_eq!(twice.transformed(Affine::scale(2.0)).length(), 10.0);
    assert_eq!(Trace::default().bounds(), None);
}

/// Regular outlines of every order turn onto themselves so often and mirror about as many lines, the first upright where a
/// corner stands on top; lamed by a nick they do neither.
#[test]
fn symmetry_is_found_for_every_order() {
    for sides in [3, 4, 5, 7, 12] {
        for outline in [
            shapes::polygon(sides, 6.0, 0.5).unwrap(),
            shapes::star(sides, 6.0, 4.0, 0.0).unwrap(),
            shapes::circle(20.0)
                .unwrap()
                .difference(&moved(&shapes::circle(1.5).unwrap(), 0.0, 14.0).repeated(sides).unwrap()),
        ] {
            assert_eq!(outline.rotational_order(), Some(sides));
            let wanted: Vec<f64> = (0..sides).map(|at| 180.0 * f64::from(at) / f64::from(sides)).collect();
            let found = degrees(outline.symmetry_axes());
            assert_eq!(found.len(), wanted.len(), "{sides}");
            assert!(found.iter().zip(&wanted).all(|(a, b)| (a - b).abs() < 2e-3), "{found:?}");
            let turned = outline.transformed(Affine::rotate(-7f64.to_radians()));
            assert!((degrees(turned.symmetry_axes())[0] - 7f64.rem_euclid(180.0 / f64::from(sides))).abs() < 2e-3);
            assert!(turned.is_symmetric_about(Angle::degrees(7.0), 1e-3));
            assert!(!turned.is_symmetric_about(Angle::degrees(7.0 + 45.0 / f64::from(sides)), 1e-3));
        }
        // 5 micrometres taken off the side at the bottom, beside its middle.
        let plate = shapes::polygon(2 * sides - 3, 20.0, 1.0).unwrap();
        let nick = moved(&shapes::rectangle(0.8, 0.01, 0.0).unwrap(), 1.0, plate.bounds().unwrap().y0);
        let lame = plate.difference(&nick);
        assert_eq!((lame.rotational_order(), degrees(lame.symmetry_axes()).len()), (Some(1), 0), "{sides}");
    }
    let plate = shapes::rectangle(30.0, 20.0, 0.0).unwrap();
    assert!(
        plate.is_symmetric_about(Angle::degrees(0.0), 1e-6) && plate.is_symmetric_about(Angle::degrees(90.0), 1e-6)
    );
    // Turned by 1 degree, its far corner strays by some 0.6 mm of what the mirror image has.
    assert!(!plate.is_symmetric_about(Angle::degrees(1.0), 0.3) && plate.is_symmetric_about(Angle::degrees(1.0), 0.7));
    assert_eq!(Region::empty().symmetry_axes(), Symmetry::Every);
    assert_eq!(Region::empty().rotational_order(), None);
    let pair = plate.union(&plate.transformed(Affine::translate((0.0, 50.0))));
    assert_eq!((degrees(pair.symmetry_axes()), pair.rotational_order()), (vec![0.0], Some(1)));
}

/// The largest piece first, equals from the bottom up, then from the left; holes alike.
#[test]
fn pieces_and_holes_come_in_a_fixed_order() {
    let tile = shapes::rectangle(4.0, 4.0, 0.0).unwrap();
    let places = [(10.0, 10.0), (0.0, 10.0), (20.0, 0.0), (10.0, 0.0)];
    let mut all: Vec<Region> = places.iter().map(|(x, y)| moved(&tile, *x, *y)).collect();
    all.push(moved(&shapes::rectangle(9.0, 9.0, 0.0).unwrap(), 40.0, 40.0));
    let middle = |region: &Region| {
        let centre = region.centroid().unwrap();
        (centre.x.round(), centre.y.round())
    };
    let found: Vec<(f64, f64)> = Region::union_of(&all).pieces().iter().map(middle).collect();
    assert_eq!(found, [(40.0, 40.0), (10.0, 0.0), (20.0, 0.0), (0.0, 10.0), (10.0, 10.0)]);
    let sheet = moved(&shapes::rectangle(90.0, 90.0, 0.0).unwrap(), 30.0, 30.0);
    let pierced = all.iter().fold(sheet, |sheet, hole| sheet.difference(hole));
    let found: Vec<(f64, f64)> = pierced.holes().iter().map(middle).collect();
    assert_eq!(found, [(40.0, 40.0), (10.0, 0.0), (20.0, 0.0), (0.0, 10.0), (10.0, 10.0)]);
    assert!(pierced.holes().iter().all(|hole| hole.area() > 0.0));
    // A frame in a frame in a frame: each hole goes with the frame right round it.
    let frame = |side: f64| {
        shapes::rectangle(side, side, 0.0).unwrap().difference(&shapes::rectangle(side - 4.0, side - 4.0, 0.0).unwrap())
    };
    let nested = Region::union_of(&[frame(50.0), frame(40.0), frame(30.0)]);
    let areas: Vec<f64> = nested.pieces().iter().map(|piece| piece.area().round()).collect();
    assert_eq!(
        areas,
        [50.0f64.powi(2) - 46.0f64.powi(2), 40.0f64.powi(2) - 36.0f64.powi(2), 30.0f64.powi(2) - 26.0f64.powi(2)]
    );
    assert!((nested.outer().area() - 2_500.0).abs() < 1e-6 && nested.outer().contours().len() == 1);
}

/// Webs by hand: between two holes, where a hole is nearest to the rim, across the waist of a slanted bar, and none where the
/// only narrow place is a corner.
#[test]
fn webs_are_found_wherever_they_lie() {
    for turned in [0.0, 23.0, 90.0, 200.0] {
        let placed = Affine::translate((5.0, -9.0)) * Affine::rotate(f64::to_radians(turned));
        let web = |region: &Region| {
            let web = region.transformed(placed).narrowest_web().unwrap();
            close(web.from.distance(web.to), web.distance, 1e-9);
            let middle = web.from.midpoint(web.to);
            assert!(region.transformed(placed).contains(middle), "{turned}: {web:?}");
            web.distance
        };
        let hole = |radius: f64, x: f64, y: f64| moved(&shapes::circle(radius).unwrap(), x, y);
        let plate = shapes::rectangle(60.0, 40.0, 0.0).unwrap();
        close(web(&plate.difference(&hole(5.0, 20.0, 0.0))), 5.0, 1e-4);
        close(web(&plate.difference(&hole(5.0, 7.0, 0.0)).difference(&hole(5.0, -7.0, 0.0))), 4.0, 1e-4);
        close(web(&plate.difference(&hole(3.0, 0.0, 0.0)).difference(&hole(3.0, 5.0, 5.0))), 50f64.sqrt() - 6.0, 1e-4);
        // Bites from either side, one beside the other: 3, 4, 5 from centre to centre, less both radii.
        let bitten = plate.difference(&hole(18.5, -1.5, 20.0)).difference(&hole(18.5, 1.5, -20.0));
        close(web(&bitten), f64::hypot(3.0, 40.0) - 37.0, 1e-3);
        // A waist of straight flanks: two notches with flat floors 2 mm apart.
        let notch = |y: f64| moved(&shapes::rectangle(6.0, 38.0, 0.0).unwrap(), 4.0, y);
        close(web(&plate.difference(&notch(20.0)).difference(&notch(-20.0))), 2.0, 1e-4);
        // Two pieces: the narrowest of either.
        let bar = moved(&shapes::rectangle(30.0, 3.0, 0.0).unwrap(), 0.0, 50.0);
        close(web(&plate.union(&bar)), 3.0, 1e-4);
    }
    assert!(Region::empty().narrowest_web().is_none());
}

/// Bands round regions by hand: the hull of its corners round polygons, curves kept where the band lies on them.
#[test]
fn bands_keep_curves_and_skip_what_lies_within() {
    let square = |side: f64, x: f64, y: f64| moved(&shapes::rectangle(side, side, 0.0).unwrap(), x, y);
    // Two squares corner to corner: 12 by 12 less two triangles of 6 by 6.
    close(hull(&square(6.0, -3.0, -3.0), &square(6.0, 3.0, 3.0)).area(), 144.0 - 36.0, 1e-9);
    assert_eq!(hull(&square(6.0, -3.0, -3.0), &square(6.0, 3.0, 3.0)).segment_count(), 6);
    // What lies inside changes nothing.
    assert_eq!(hull(&square(9.0, 0.0, 0.0), &square(2.0, 1.0, 1.0)).segment_count(), 4);
    let disc = |radius: f64, x: f64, y: f64| moved(&shapes::circle(radius).unwrap(), x, y);
    let alone = hull(&disc(8.0, 1.0, 2.0), &disc(3.0, 2.0, 2.0));
    close(alone.area(), PI * 64.0, 1e-4);
    // A disc and a point-like square far off: two tangents of sqrt(30^2 - 8^2), as a belt.
    let tip = hull(&disc(8.0, 0.0, 0.0), &square(1e-1, 30.0, 0.0));
    let lean = (8.0f64 / 30.0).acos();
    close(tip.area(), 64.0 * (PI - lean) + 8.0 * (900.0f64 - 64.0).sqrt(), 2.0);
    // Quadratic curves: a parabola y = x^2 / 10 from -10 to 10 and its chord, of area 2/3 of the box.
    let bowl = shapes::path("M-10,10 Q0,-10 10,10 Z").unwrap();
    let found = hull(&bowl, &Region::empty());
    close(found.area(), 2.0 / 3.0 * 200.0, 1e-3);
    assert!(found.segment_count() <= 4, "{}", found.segment_count());
    // The bowl the other way up bulges outward over a square: both its arms are cut off by tangents or kept.
    let found = hull(&bowl, &square(4.0, 0.0, 40.0));
    assert!(found.contains(Point::new(5.0, 25.0)) && !found.contains(Point::new(6.5, 28.0)));
    for place in [Point::new(0.0, 0.1), Point::new(-9.0, 9.0), Point::new(1.9, 41.9)] {
        assert!(found.contains(place), "{place:?}");
    }
    // A scallop's hollows are bridged from crest to crest: lobes of the common radius, chords between them.
    let scallop = shapes::scallop(66.0, 12, 2.5).unwrap();
    let found = hull(&scallop, &Region::empty());
    close(found.swept_radius(Point::ORIGIN), 33.0, 1e-4);
    assert!(found.covers(&scallop) && found.area() < PI * 33.0 * 33.0 && found.area() > scallop.area());
    assert_eq!(found.rotational_order(), Some(12));
}

/// Outlines moved by half a kerf, stars, combs and cams, against stored answers of shapely 2.2.0 (PyPI; `tests/data/kerf.py`), whose
/// chords lie 2e-6 mm off: places on the edge to a micrometre, areas to as much along the whole edge.
#[test]
fn what_the_kerf_takes_agrees_with_shapely() {
    let stored: serde_json::Value = serde_json::from_str(include_str!("../data/kerf.json")).unwrap();
    let shapes = stored["shapes"].as_array().unwrap();
    assert_eq!((stored["library"].as_str(), shapes.len()), (Some("shapely 2.2.0"), 36));
    let number = |value: &serde_json::Value| value.as_f64().unwrap();
    for shape in shapes {
        let drawn = dialwright::geometry::shapes::path(shape["path"].as_str().unwrap()).unwrap();
        let moved = drawn.offset(number(&shape["by"]));
        let (found, wanted) = (moved.area(), number(&shape["area"]));
        assert!((found - wanted).abs() < 1e-3 * number(&shape["length"]), "{found} and not {wanted}: {shape}");
        for place in shape["edge"].as_array().unwrap() {
            let at = kurbo::Point::new(number(&place[0]), number(&place[1]));
            let off = moved.distance_to_point(at).unwrap().distance;
            assert!(off < 1e-3, "{off} at {at:?}: {shape}");
        }
    }
}
