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
