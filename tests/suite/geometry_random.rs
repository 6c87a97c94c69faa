//! Random regions against an independent engine, i_overlay (integer sweep on flattened copies), and against
//! identities that any right answer keeps. The random numbers are the same on every run.

use dialwright::geometry::{Region, hull, shapes};
use dialwright::units::Angle;
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use kurbo::{Affine, PathEl, Point};
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

type Rings = Vec<Vec<[f64; 2]>>;

/// Flattened to within 0.5 µm.
const FLAT: f64 = 5e-4;

fn flat(region: &Region) -> Rings {
    flattened(region, FLAT)
}

fn flattened(region: &Region, within: f64) -> Rings {
    let mut rings = Rings::new();
    kurbo::flatten(region.path(), within, |element| match element {
        PathEl::MoveTo(point) => rings.push(vec![[point.x, point.y]]),
        PathEl::LineTo(point) => rings.last_mut().unwrap().push([point.x, point.y]),
        _ => {}
    });
    rings
}

fn area(shapes: &[Rings]) -> f64 {
    let ring = |ring: &Vec<[f64; 2]>| {
        let next = ring.iter().cycle().skip(1);
        ring.iter().zip(next).map(|(a, b)| (a[0] * b[1] - a[1] * b[0]) / 2.0).sum::<f64>()
    };
    shapes.iter().flatten().map(ring).sum()
}

fn check<S: Strategy>(cases: u32, strategy: S, test: impl Fn(S::Value)) {
    let config = Config { cases, failure_persistence: None, max_shrink_iters: 200, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    runner
        .run(&strategy, |value| {
            test(value);
            Ok(())
        })
        .unwrap();
}

fn convex() -> impl Strategy<Value = Region> {
    prop_oneof![
        (0.5..30.0).prop_map(|r| shapes::circle(r).unwrap()),
        (1.0..50.0, 1.0..50.0).prop_map(|(w, h)| shapes::ellipse(w, h).unwrap()),
        (3u32..12, 2.0..30.0, 0.0..0.99).prop_map(|(n, r, c)| {
            shapes::polygon(n, r, c * r * (std::f64::consts::PI / f64::from(n)).cos()).unwrap()
        }),
        (1.0..50.0, 1.0..50.0, 0.0..0.5).prop_map(|(w, h, c)| shapes::rectangle(w, h, c * f64::min(w, h)).unwrap()),
        (1.0..50.0, 1.0..50.0).prop_map(|(w, h)| shapes::obround(w, h).unwrap()),
    ]
}

fn simple() -> impl Strategy<Value = Region> {
    let placed = (-20.0..20.0, -20.0..20.0, 0.0..std::f64::consts::TAU);
    let shape = prop_oneof![
        convex(),
        (5.0..40.0, 0.0..0.9, 0.0..360.0, 5.0..350.0).prop_map(|(r, i, from, sweep)| {
            shapes::sector(r, i * r, Angle::degrees(from), Angle::degrees(from + sweep)).unwrap()
        }),
        (3u32..9, 8.0..30.0, 0.3..0.9).prop_map(|(n, r, i)| shapes::star(n, r, r * i, 0.0).unwrap()),
        (5u32..20, 20.0..60.0, 0.01..0.04).prop_map(|(n, d, k)| shapes::scallop(d, n, d * k).unwrap()),
    ];
    (shape, placed)
        .prop_map(|(shape, (x, y, turn))| shape.transformed(Affine::translate((x, y)) * Affine::rotate(turn)))
}

/// Several pieces, holes and sharp notches.
fn compound() -> impl Strategy<Value = Region> {
    prop_oneof![
        simple(),
        (simple(), simple()).prop_map(|(a, b)| a.union(&b)),
        (simple(), simple()).prop_map(|(a, b)| a.difference(&b)),
        (simple(), simple(), simple()).prop_map(|(a, b, c)| a.union(&b).difference(&c)),
    ]
}

#[test]
fn booleans_agree_with_the_other_engine() {
    check(700, (compound(), compound()), |(a, b)| {
        let slack = 5e-3 + 1e-3 * (a.perimeter() + b.perimeter());
        let (both, either, less) = (a.intersection(&b), a.union(&b), a.difference(&b));
        let near = |x: f64, y: f64, what: &str| assert!((x - y).abs() < slack, "{what}: {x} is not {y}");
        near(a.area() + b.area(), either.area() + both.area(), "|A| + |B| = |A or B| + |A and B|");
        near(a.area() - both.area(), less.area(), "|A less B| = |A| - |A and B|");
        let (p, q) = (flat(&a), flat(&b));
        let other = |rule| area(&p.overlay_as::<i64>(&q, rule, FillRule::NonZero));
        near(both.area(), other(OverlayRule::Intersect), "intersection");
        near(either.area(), other(OverlayRule::Union), "union");
        near(less.area(), other(OverlayRule::Difference), "difference");
        near(a.overlap_area(&b), both.area(), "overlap");
    });
}

/// Shapes on a grid share edges, corners and whole outlines, which is where sweeps go wrong.
fn on_a_grid() -> impl Strategy<Value = Region> {
    let place = (-4i32..4, -4i32..4, 0u32..8);
    let shape = prop_oneof![
        (1u32..8, 1u32..8).prop_map(|(w, h)| shapes::rectangle(f64::from(w), f64::from(h), 0.0).unwrap()),
        (1u32..5).prop_map(|r| shapes::circle(f64::from(r)).unwrap()),
        (3u32..9, 1u32..5).prop_map(|(n, r)| shapes::polygon(n, f64::from(r), 0.0).unwrap()),
        (2u32..8, 1u32..8).prop_map(|(w, h)| shapes::obround(f64::from(w), f64::from(h)).unwrap()),
        (1u32..4, 3u32..8).prop_map(|(r, n)| shapes::polygon(n, f64::from(r) * 2.0, f64::from(r) / 2.0).unwrap()),
    ];
    (shape, place).prop_map(|(shape, (x, y, eighths))| {
        let turn = Affine::rotate(f64::from(eighths) * std::f64::consts::FRAC_PI_4);
        shape.transformed(Affine::translate((f64::from(x), f64::from(y))) * turn)
    })
}

#[test]
fn shared_edges_do_not_upset_booleans() {
    let several = proptest::collection::vec((on_a_grid(), 0u32..3), 2..6);
    check(500, (on_a_grid(), several), |(first, steps)| {
        let mut ours = first.clone();
        let mut theirs: Vec<Rings> = vec![flat(&first)];
        let mut slack = 0.02;
        for (shape, what) in steps {
            slack += 2e-3 * shape.perimeter();
            let (next, rule) = match what {
                0 => (ours.union(&shape), OverlayRule::Union),
                1 => (ours.difference(&shape), OverlayRule::Difference),
                _ => (ours.union(&shape.transformed(Affine::FLIP_X)), OverlayRule::Union),
            };
            let shape = if what == 2 { shape.transformed(Affine::FLIP_X) } else { shape };
            theirs = theirs.overlay_as::<i64>(&flat(&shape), rule, FillRule::NonZero);
            ours = next;
        }
        assert!((ours.area() - area(&theirs)).abs() < slack, "{} is not {}", ours.area(), area(&theirs));
        let whole: f64 = ours.pieces().iter().map(Region::area).sum();
        assert!((whole - ours.area()).abs() < 1e-6);
        let shrunk = ours.offset(-0.25);
        assert!(shrunk.area() <= ours.area() && ours.covers(&shrunk));
    });
}

/// A disc run along every side of a flattened outline. i_overlay's own offsets are no reference: of 3,000 random
/// cases 11 were off by 0.4 to 15 mm2, which this band and a count of the points of a grid by their distance showed.
fn swept_band(rings: &Rings, radius: f64) -> Rings {
    let capsule = |a: &[f64; 2], b: &[f64; 2]| -> Vec<[f64; 2]> {
        let along = (b[1] - a[1]).atan2(b[0] - a[0]) - std::f64::consts::FRAC_PI_2;
        let end = |at: &[f64; 2], half: u32| {
            let [x, y] = *at;
            (0..=48u32).map(move |i| {
                let angle = along + std::f64::consts::PI * (f64::from(half) + f64::from(i) / 48.0);
                [x + radius * angle.cos(), y + radius * angle.sin()]
            })
        };
        end(b, 0).chain(end(a, 1)).collect()
    };
    rings.iter().flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)).map(|(a, b)| capsule(a, b))).collect()
}

#[test]
fn offsets_agree_with_a_disc_run_along_the_outline() {
    check(100, (compound(), -4.0..4.0), |(a, by)| {
        let found = a.offset(by);
        let inside = flattened(&a, 2e-3);
        let rule = if by > 0.0 { OverlayRule::Union } else { OverlayRule::Difference };
        let band = swept_band(&inside, by.abs());
        let wanted = area(&inside.overlay_as::<i64>(&band, rule, FillRule::NonZero));
        let slack = 2e-2 + 2e-3 * (a.perimeter() + found.perimeter());
        assert!((found.area() - wanted).abs() < slack, "by {by}: {} is not {wanted}", found.area());
    });
}

#[test]
fn an_offset_holds_the_points_it_should() {
    let points = proptest::collection::vec((-50.0..50.0, -50.0..50.0), 60);
    check(120, (compound(), -3.0..3.0, points), |(a, by, points)| {
        let found = a.offset(by);
        for point in points.into_iter().map(Point::from) {
            let Some(nearest) = a.distance_to_point(point) else { continue };
            let outside = if a.contains(point) { -nearest.distance } else { nearest.distance };
            if (outside - by).abs() > 1e-2 {
                assert_eq!(found.contains(point), outside < by, "{point} lies {outside} outside, offset by {by}");
            }
        }
    });
}

#[test]
fn convex_offsets_keep_steiners_formula() {
    check(200, (convex(), 0.0..10.0), |(a, by)| {
        let wanted = a.area() + a.perimeter() * by + std::f64::consts::PI * by * by;
        let found = a.offset(by);
        assert!((found.area() - wanted).abs() < 2e-3 + 5e-6 * wanted, "by {by}: {} is not {wanted}", found.area());
        assert!(found.covers(&a.offset(by / 2.0)) && a.covers(&a.offset(-by / 3.0)));
    });
}

#[test]
fn distances_agree_with_trying_every_pair() {
    check(60, (simple(), simple()), |(a, b)| {
        let found = a.distance(&b).unwrap();
        let sides = |region: &Region| -> Vec<kurbo::Line> {
            let rings = flat(region);
            let point = |p: &[f64; 2]| Point::new(p[0], p[1]);
            rings
                .iter()
                .flat_map(|ring| {
                    ring.windows(2).map(|w| kurbo::Line::new(point(&w[0]), point(&w[1]))).collect::<Vec<_>>()
                })
                .collect()
        };
        let (p, q) = (sides(&a), sides(&b));
        let mut least = f64::INFINITY;
        for s in &p {
            for t in &q {
                let span = s.p0.distance(t.p0) - s.p0.distance(s.p1) - t.p0.distance(t.p1);
                if span < least {
                    least = least.min(apart(*s, *t));
                }
            }
        }
        assert!((found.distance - least).abs() < 1e-3, "{} is not {least}", found.distance);
        assert!((found.from.distance(found.to) - found.distance).abs() < 1e-12);
    });
}

fn apart(a: kurbo::Line, b: kurbo::Line) -> f64 {
    use kurbo::ParamCurveNearest;
    if let Some(at) = a.crossing_point(b) {
        let on = |line: kurbo::Line| line.nearest(at, 1e-9).distance_sq < 1e-18;
        if on(a) && on(b) {
            return 0.0;
        }
    }
    let ends = [(a, b.p0), (a, b.p1), (b, a.p0), (b, a.p1)];
    ends.into_iter().map(|(line, point)| line.nearest(point, 1e-9).distance_sq.sqrt()).fold(f64::INFINITY, f64::min)
}

#[test]
fn radii_agree_with_the_corners_of_a_fine_copy() {
    check(500, (compound(), -30.0..30.0, -30.0..30.0), |(a, x, y)| {
        let about = Point::new(x, y);
        let rings = flat(&a);
        let radii = rings.iter().flatten().map(|p| Point::new(p[0], p[1]).distance(about));
        let (least, most) = radii.fold((f64::INFINITY, 0.0), |(l, m): (f64, f64), r| (l.min(r), m.max(r)));
        let swept = a.swept_radius(about);
        assert!(swept >= most - FLAT / 10.0 && swept < most + 2e-3, "{swept} is not {most}");
        let Some(near) = a.least_radius(about) else { return };
        assert!(near <= least + FLAT / 10.0 && (near - a.distance_to_point(about).unwrap().distance).abs() < 1e-4);
    });
}

#[test]
fn a_band_is_the_hull_of_the_corners_of_a_fine_copy() {
    check(300, (compound(), compound()), |(a, b)| {
        let band = hull(&a, &b);
        let mut points: Vec<[f64; 2]> = flat(&a).into_iter().chain(flat(&b)).flatten().collect();
        if points.is_empty() {
            return;
        }
        points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        let half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
            let mut chain: Vec<[f64; 2]> = Vec::new();
            for p in points {
                while chain.len() > 1 {
                    let (a, b) = (chain[chain.len() - 2], chain[chain.len() - 1]);
                    if (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0.0 {
                        break;
                    }
                    chain.pop();
                }
                chain.push(p);
            }
            chain.pop();
            chain
        };
        let mut ring = half(&mut points.iter().copied());
        ring.extend(half(&mut points.iter().rev().copied()));
        let wanted = area(&[vec![ring]]);
        let slack = 1e-2 + 5e-4 * band.perimeter();
        assert!((band.area() - wanted).abs() < slack, "{} is not {wanted}", band.area());
        assert!(band.covers(&a) && band.covers(&b));
    });
}

#[test]
fn pieces_and_holes_add_up() {
    check(500, compound(), |a| {
        let pieces: f64 = a.pieces().iter().map(Region::area).sum();
        let holes: f64 = a.holes().iter().map(Region::area).sum();
        assert!((pieces - a.area()).abs() < 1e-6);
        assert!(a.outer().area() <= a.area() + holes + 1e-6);
        let moved = Affine::rotate(1.0) * Affine::FLIP_X;
        assert!((a.transformed(moved).area() - a.area()).abs() < 1e-6);
        assert!((a.transformed(moved).polar_second_moment() - a.polar_second_moment()).abs() < 1e-3);
    });
}

#[test]
fn nothing_written_as_path_data_breaks_the_reader() {
    let written = "[MLHVCSQTAZmlhvcsqtaz0-9eE.,+ -]{0,60}";
    check(3000, prop_oneof![written.boxed(), "\\PC{0,30}".boxed()], |data: String| {
        if let Ok(region) = shapes::path(&data) {
            assert!(region.area() > 0.0, "{data}");
        }
        let _ =
            dialwright::geometry::Trace::from_data(&data).map(|trace| assert!(trace.length().is_finite(), "{data}"));
    });
}

#[test]
fn any_numbers_make_a_shape_or_an_error() {
    let number = || prop_oneof![prop::num::f64::ANY, -10.0..100.0, Just(0.0), Just(1e-9), Just(9_999.0)];
    check(600, (0u32..40, number(), number(), number()), |(n, a, b, c)| {
        let all = [
            shapes::circle(a),
            shapes::ellipse(a, b),
            shapes::polygon(n, a, b),
            shapes::rectangle(a, b, c),
            shapes::obround(a, b),
            shapes::sector(a, b, Angle::degrees(c), Angle::degrees(a)),
            shapes::star(n, a, b, c),
            shapes::scallop(a, n, b),
        ];
        for shape in all.into_iter().flatten() {
            assert!(shape.area().is_finite() && shape.area() >= 0.0, "{n} {a} {b} {c}: {}", shape.area());
            assert!(shape.offset(-0.05).area() <= shape.area() + 1e-6, "{n} {a} {b} {c}");
        }
    });
}
