//! Pictures of pixels: traced outlines against the shapes that the pictures were drawn from, tones and bad files.
//!
//! Most pictures are drawn here, each pixel's cover exact: the area of the shape within the pixel, by the signed areas
//! under its edges. So a difference is the tracing's own.

use std::f64::consts::PI;

use dialwright::artwork::{Art, ArtError, Untaken, Wanted, art, art_from_bitmap};
use dialwright::lettering::{Setting, Typeface};
use kurbo::{Affine, BezPath, Line, ParamCurve, ParamCurveNearest, PathEl, Point, Rect, Shape, Size, Vec2};

/// The share of each pixel that lies inside contours that do not cross.
fn cover(path: &BezPath, side: usize) -> Vec<f64> {
    let (mut beside, mut below) = (vec![0.0; side * side], vec![0.0; side * side]);
    for Line { p0, p1 } in lines(path, 1e-4) {
        let mut cuts = vec![0.0, 1.0];
        for (from, to) in [(p0.x, p1.x), (p0.y, p1.y)] {
            let first = from.min(to).ceil() as i64;
            cuts.extend(
                (first..).map(|at| at as f64).take_while(|at| *at < from.max(to)).map(|at| (at - from) / (to - from)),
            );
        }
        cuts.sort_by(f64::total_cmp);
        for pair in cuts.windows(2).filter(|pair| pair[1] > pair[0]) {
            let (a, b) = (p0.lerp(p1, pair[0]), p0.lerp(p1, pair[1]));
            let middle = a.midpoint(b);
            let pixel = middle.y.floor() as usize * side + middle.x.floor() as usize;
            beside[pixel] += (b.y - a.y) * (middle.x.floor() + 1.0 - middle.x);
            below[pixel] += b.y - a.y;
        }
    }
    let row = |row: usize| {
        let mut left = 0.0;
        let cell = |at: usize| {
            let cover = left + beside[at];
            left += below[at];
            cover
        };
        (row * side..(row + 1) * side).map(cell).collect::<Vec<f64>>()
    };
    (0..side).flat_map(row).map(|cover| cover.abs().min(1.0)).collect()
}

/// A path as straight lines, contour by contour.
fn lines(path: &BezPath, tolerance: f64) -> Vec<Line> {
    let mut found = Vec::new();
    let (mut start, mut at) = (Point::ZERO, Point::ZERO);
    kurbo::flatten(path, tolerance, |element| match element {
        PathEl::MoveTo(to) => (start, at) = (to, to),
        PathEl::LineTo(to) => found.push(Line::new(std::mem::replace(&mut at, to), to)),
        _ => found.push(Line::new(std::mem::replace(&mut at, start), start)),
    });
    found.retain(|line| line.p0 != line.p1);
    found
}

/// A grey PNG, black where the cover is 1.
fn png(side: usize, greys: &[u8]) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let side = u32::try_from(side).unwrap();
    image::write_buffer_with_format(&mut bytes, greys, side, side, image::ColorType::L8, image::ImageFormat::Png)
        .unwrap();
    bytes.into_inner()
}

fn greys(path: &BezPath, side: usize) -> Vec<u8> {
    cover(path, side).into_iter().map(|cover| (255.0 * (1.0 - cover)).round() as u8).collect()
}

/// Pixels of the picture, y down, from a region in mm at 96 to the inch.
fn in_pixels(art: &Art, side: usize) -> BezPath {
    let scale = 96.0 / 25.4;
    Affine::new([scale, 0.0, 0.0, -scale, 0.0, side as f64]) * art.ink.path()
}

/// The largest distance, in px, of a point of one outline from the other, either way.
fn astray(a: &BezPath, b: &BezPath) -> f64 {
    one_way(a, b).max(one_way(b, a))
}

fn one_way(from: &BezPath, to: &BezPath) -> f64 {
    const CELL: f64 = 8.0;
    let cell = |point: Point| ((point.x / CELL).floor() as i64, (point.y / CELL).floor() as i64);
    let mut near: std::collections::BTreeMap<(i64, i64), Vec<Line>> = std::collections::BTreeMap::new();
    for line in lines(to, 1e-3) {
        let pieces = (line.p0.distance(line.p1) / 4.0).ceil().max(1.0) as usize;
        for piece in 0..pieces {
            let piece = line.subsegment(piece as f64 / pieces as f64..(piece + 1) as f64 / pieces as f64);
            near.entry(cell(piece.midpoint())).or_default().push(piece);
        }
    }
    let far = |point: Point| {
        let (x, y) = cell(point);
        let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy)));
        let lines = around.filter_map(|cell| near.get(&cell)).flatten();
        lines.map(|line| line.nearest(point, 1e-9).distance_sq.sqrt()).fold(CELL, f64::min)
    };
    let points = lines(from, 1e-3).into_iter().flat_map(|line| {
        let steps = (line.p0.distance(line.p1) / 0.4).ceil().max(1.0) as usize;
        (0..steps).map(move |step| line.eval(step as f64 / steps as f64))
    });
    points.map(far).fold(0.0, f64::max)
}

/// What is asked of every outline: area within 0.02 %, boundary within 0.6 px.
#[track_caller]
fn assert_traced(name: &str, path: &BezPath, side: usize) -> Art {
    let found = art_from_bitmap(&png(side, &greys(path, side)), &Wanted::default()).unwrap();
    let traced = in_pixels(&found, side);
    let (area, far) = (traced.area().abs() / path.area().abs() - 1.0, astray(&traced, path));
    assert!(area.abs() < 2e-4, "{name}: area off by {:.4} %", 100.0 * area);
    assert!(far < 0.6, "{name}: {far:.3} px astray");
    assert_eq!(found.ink.contours().len(), contours(path), "{name}");
    found
}

fn contours(path: &BezPath) -> usize {
    path.elements().iter().filter(|element| matches!(element, PathEl::MoveTo(_))).count()
}

/// The corner of `path` nearest to a point is this far from it, in px.
fn corner_astray(path: &BezPath, corner: Point) -> f64 {
    path.segments().map(|segment| segment.start().distance(corner)).fold(f64::INFINITY, f64::min)
}

fn circle(centre: Point, radius: f64) -> BezPath {
    kurbo::Circle::new(centre, radius).to_path(1e-6)
}

fn corners_of_star(centre: Point, points: u32, outer: f64, inner: f64, turned: f64) -> Vec<Point> {
    let corner = |at: u32| {
        let radius = if at.is_multiple_of(2) { outer } else { inner };
        centre + Vec2::from_angle(turned + PI * f64::from(at) / f64::from(points)) * radius
    };
    (0..2 * points).map(corner).collect()
}

fn polygon(corners: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (at, corner) in corners.iter().enumerate() {
        path.push(if at == 0 { PathEl::MoveTo(*corner) } else { PathEl::LineTo(*corner) });
    }
    path.close_path();
    path
}

fn middle(side: usize) -> Point {
    Point::new(0.5003 * side as f64, 0.4997 * side as f64)
}

#[test]
fn discs_and_rings_keep_their_area_and_edge() {
    for side in [1000, 4000] {
        let (centre, unit) = (middle(side), side as f64 / 1000.0);
        assert_traced("disc", &circle(centre, 400.0 * unit), side);
    }
    let ring = |inner: f64| -> BezPath {
        let hole = circle(middle(1000), inner).reverse_subpaths();
        circle(middle(1000), 400.0).iter().chain(hole).collect()
    };
    for inner in [200.0, 370.0] {
        assert_traced("ring", &ring(inner), 1000);
    }
    // A hole with an island in it.
    let island = ring(250.0).iter().chain(circle(middle(1000), 100.0)).collect();
    assert_traced("island", &island, 1000);
}

#[test]
fn stars_and_squares_keep_their_corners() {
    let mut shapes: Vec<(String, Vec<Point>, usize)> = Vec::new();
    for (points, inner, turned) in [(5, 180.0, 0.1), (9, 300.0, 0.2), (4, 120.0, 0.0), (7, 390.0, 1.0)] {
        shapes.push((format!("star of {points}"), corners_of_star(middle(1000), points, 450.0, inner, turned), 1000));
    }
    for degrees in [0, 5, 23, 45] {
        let corners = corners_of_star(middle(1000), 2, 420.0, 420.0, f64::from(degrees) * PI / 180.0);
        shapes.push((format!("square at {degrees}"), corners, 1000));
    }
    shapes.push(("large star".to_owned(), corners_of_star(middle(4000), 5, 1800.0, 700.0, 0.3), 4000));
    for (name, corners, side) in shapes {
        let found = assert_traced(&name, &polygon(&corners), side);
        let traced = in_pixels(&found, side);
        for corner in corners {
            let far = corner_astray(&traced, corner);
            assert!(far < 1.0, "{name}: the corner at {corner:?} is {far:.3} px astray");
        }
    }
}

#[test]
fn rounded_and_pointed_curves_are_followed() {
    let centre = middle(1000);
    let plate = Rect::from_center_size(centre, Size::new(700.0, 220.0));
    for radius in [3.0, 8.0, 40.0, 110.0] {
        let rounded = Affine::rotate_about(0.2, centre) * plate.to_rounded_rect(radius).to_path(1e-6);
        assert_traced(&format!("rounded by {radius}"), &rounded, 1000);
    }
    let lens = "M100.2 500 C300 200 700 200 900 500.7 C700 600 300 600 100.2 500Z";
    assert_traced("lens", &BezPath::from_svg(lens).unwrap(), 1000);
}

#[test]
fn lettering_is_traced_back_to_its_outlines() {
    for (words, height) in [("Rye 8", 190.0), ("&R4g", 230.0)] {
        let ink = Typeface::embedded().set(words, &Setting::of_height(height)).unwrap().ink;
        let put = Affine::translate(middle(1000).to_vec2()) * Affine::FLIP_Y;
        assert_traced(words, &(put * ink.path()), 1000);
    }
}

/// Seeded noise: a normal spread by the sum of twelve even ones.
struct Noise(fastrand::Rng);

impl Noise {
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.0.f64()).sum::<f64>() - 6.0
    }
}

#[test]
fn noise_is_smoothed_away() {
    let centre = middle(1000);
    let ring: BezPath = circle(centre, 400.0).iter().chain(circle(centre, 200.0).reverse_subpaths()).collect();
    let star = polygon(&corners_of_star(centre, 5, 450.0, 220.0, 0.1));
    for (name, path) in [("ring", &ring), ("star", &star)] {
        let mut noise = Noise(fastrand::Rng::with_seed(7));
        let grainy: Vec<u8> =
            greys(path, 1000).into_iter().map(|grey| (f64::from(grey) + 12.0 * noise.normal()).round() as u8).collect();
        let mut peppered = greys(path, 1000);
        for grey in &mut peppered {
            if noise.0.f64() < 0.005 {
                *grey = if noise.0.bool() { 255 } else { 0 };
            }
        }
        for (kind, picture) in [("grainy", grainy), ("peppered", peppered)] {
            let found = art_from_bitmap(&png(1000, &picture), &Wanted::default()).unwrap();
            let traced = in_pixels(&found, 1000);
            let (area, far) = (traced.area().abs() / path.area().abs() - 1.0, astray(&traced, path));
            assert!(area.abs() < 2e-4, "{kind} {name}: area off by {:.4} %", 100.0 * area);
            assert!(far < 0.6, "{kind} {name}: {far:.3} px astray");
            let scan = found.scan.unwrap();
            assert_eq!((scan.softened, scan.tones.len()), (true, 2), "{kind} {name}");
        }
    }
}

fn picture(name: &str) -> Vec<u8> {
    std::fs::read(crate::dials::root().join("tests").join(name)).unwrap()
}

/// Files with the same disc of radius 60 px about the middle of 200 x 200 px, and the sum of their darkness in px²
/// as Pillow 13.0.0 reads them (tests/data/pictures.py makes them).
const DISCS: [(&str, f64); 11] = [
    ("grey-8.png", 11_309.88),
    ("grey-16.png", 11_309.86),
    ("palette.png", 11_309.35),
    ("one-bit.png", 11_304.00),
    ("alpha.png", 11_309.88),
    ("grey.jpg", 11_309.56),
    ("progressive.jpg", 11_309.56),
    ("cmyk.jpg", 11_309.56),
    ("colour.bmp", 11_309.88),
    ("lossless.webp", 11_309.88),
    ("lossy.webp", 11_306.74),
];

#[test]
fn every_kind_of_file_is_read_as_another_reader_reads_it() {
    for (name, area) in DISCS {
        let found = art_from_bitmap(&picture(&format!("data/pictures/{name}")), &Wanted::default()).unwrap();
        let scan = found.scan.unwrap();
        let pixel = scan.pixel_mm.x * scan.pixel_mm.y;
        let traced = found.ink.area() / pixel;
        // Bare and full patches of a lossy file are a level off, which sums up but moves no outline.
        // The steps of a picture without anti-aliasing are smoothed, which gives back some of what they lose.
        let within = match name {
            "grey.jpg" | "progressive.jpg" | "cmyk.jpg" | "lossy.webp" => 8e-3,
            "one-bit.png" => 2e-3,
            _ => 1e-3,
        };
        assert!((traced / area - 1.0).abs() < within, "{name}: {traced} px2, Pillow {area}");
        assert!((traced / (PI * 3600.0) - 1.0).abs() < 2e-3, "{name}: {traced} px2");
        assert_eq!((scan.pixels, scan.tones.len(), found.ink.contours().len()), ((200, 200), 2, 1), "{name}");
    }
}

#[test]
fn the_size_is_the_file_s_own() {
    // Pillow wrote 300 pixels to the inch as 11811 to the metre, and 254 as such.
    for (name, wanted) in [("grey-8.png", 1.0 / 11.811), ("colour.bmp", 1.0 / 11.811), ("grey.jpg", 0.1)] {
        let scan =
            art_from_bitmap(&picture(&format!("data/pictures/{name}")), &Wanted::default()).unwrap().scan.unwrap();
        assert!(scan.size_stated && (scan.pixel_mm.x - wanted).abs() < 1e-9, "{name}: {:?}", scan.pixel_mm);
    }
    let unstated = art_from_bitmap(&picture("data/pictures/palette.png"), &Wanted::default()).unwrap().scan.unwrap();
    assert!(!unstated.size_stated && (unstated.pixel_mm.x - 25.4 / 96.0).abs() < 1e-12);
}

#[test]
fn a_moving_picture_gives_its_first() {
    for name in ["moving.webp", "moving.png"] {
        let found = art_from_bitmap(&picture(&format!("data/pictures/{name}")), &Wanted::default()).unwrap();
        assert_eq!(found.dropped.iter().map(|dropped| &dropped.what).collect::<Vec<_>>(), [&Untaken::LaterPictures]);
        let area = found.ink.area() / (25.4_f64 / 96.0).powi(2);
        assert!((area / (PI * 3600.0) - 1.0).abs() < 2e-3, "{name}: {area}");
    }
}

#[test]
fn damaged_and_huge_files_are_refused() {
    for name in ["cut-short.png", "cut-short.jpg", "cut-short.bmp", "cut-short.webp", "other.gif"] {
        let found = art_from_bitmap(&picture(&format!("data/pictures/{name}")), &Wanted::default());
        assert!(matches!(found, Err(ArtError::Unreadable { .. })), "{name}: {found:?}");
    }
    let bomb = art(&picture("ui/shared/bomb.png"), &Wanted::default());
    assert_eq!(bomb, Err(ArtError::TooManyPixels { width: 60_000, height: 60_000 }));
    let blank = art(&picture("ui/shared/blank.png"), &Wanted::default());
    assert_eq!(blank, Err(ArtError::OneTone { tone: [255; 3] }));
    let mut random = fastrand::Rng::with_seed(11);
    for name in ["grey-8.png", "grey.jpg", "progressive.jpg", "lossless.webp", "lossy.webp"] {
        let whole = picture(&format!("data/pictures/{name}"));
        for _ in 0..60 {
            let mut bytes = whole.clone();
            bytes.truncate(random.usize(..bytes.len()));
            // Cut short anywhere: refused, whatever the decoder makes of it.
            let found = art(&bytes, &Wanted::default());
            assert!(found.is_err() || bytes.len() + 16 > whole.len(), "{name} cut to {}", bytes.len());
            let mut bytes = whole.clone();
            let at = random.usize(..bytes.len());
            bytes[at] = random.u8(..);
            // A byte changed anywhere: an answer or a refusal, never a panic.
            let _ = art(&bytes, &Wanted::default());
        }
    }
}

#[test]
fn tones_are_told_apart_and_keep_their_places() {
    let bytes = picture("ui/shared/harbour.png");
    let of = |tone: Option<[u8; 3]>| art(&bytes, &Wanted { tone, ..Wanted::default() }).unwrap();
    let whole = of(None);
    let scan = whole.scan.clone().unwrap();
    // Shares of 240 x 200 px by closed forms; the edges are no tones.
    let disc = PI * 900.0 / 48_000.0;
    let wanted = [([255; 3], 0.65), ([32, 64, 128], 10_000.0 / 48_000.0), ([0; 3], 0.075), ([128; 3], disc)];
    assert_eq!(scan.tones.len(), wanted.len());
    for (tone, (colour, share)) in scan.tones.iter().zip(wanted) {
        assert_eq!(tone.colour, colour);
        assert!((tone.share - share).abs() < 0.01, "{colour:?}: {} for {share}", tone.share);
    }
    let area = |art: &Art| art.ink.area() / (25.4_f64 / 96.0).powi(2);
    let (water, boat, moon) = (of(Some([32, 64, 128])), of(Some([0; 3])), of(Some([130, 126, 128])));
    for (name, art, wanted) in [
        ("water", &water, 10_000.0),
        ("boat", &boat, 3_600.0),
        ("moon", &moon, PI * 900.0),
        ("all", &whole, 10_000.0 + 3_600.0 + PI * 900.0),
    ] {
        assert!((area(art) / wanted - 1.0).abs() < 1e-3, "{name}: {} px2 for {wanted}", area(art));
    }
    // The whole is 155 px high (15 to 170). Placed one by one, the tones lie as in the picture.
    let middle = |art: &Art| art.scaled_to_height(15.5).unwrap().ink.centroid().unwrap();
    for (art, x, y) in [(&water, 120.0, 145.0), (&boat, 120.0, 95.0), (&moon, 180.0, 45.0)] {
        let (found, wanted) = (middle(art), Point::new((x - 120.0) / 10.0, (92.5 - y) / 10.0));
        assert!(found.distance(wanted) < 0.01, "{found:?} for {wanted:?}");
    }
    let missing = art(&bytes, &Wanted { tone: Some([0, 255, 0]), ..Wanted::default() });
    assert!(matches!(missing, Err(ArtError::NoSuchTone { tone: [0, 255, 0], tones }) if tones.len() == 4));
}

#[test]
fn a_threshold_parts_the_tones_where_it_says() {
    let bytes = picture("ui/shared/harbour.png");
    let area = |threshold: f64| {
        let wanted = Wanted { threshold: Some(threshold), ..Wanted::default() };
        art(&bytes, &wanted).unwrap().ink.area() / (25.4_f64 / 96.0).powi(2)
    };
    // Darkness: the grey 0.498, the blue 0.757, the black 1. Straight edges lie between two pixels, so that the level
    // moves them by a half less its share of the darkness.
    let plate = |width: f64, height: f64, darkness: f64, threshold: f64| {
        let out = 0.5 - threshold / darkness;
        (width + 2.0 * out) * (height + 2.0 * out)
    };
    let (boat, water) = (|at| plate(120.0, 30.0, 1.0, at), |at| plate(200.0, 50.0, 0.757, at));
    let moon = |at: f64| PI * (30.0 + 0.5 - at / 0.498).powi(2);
    for (threshold, wanted) in
        [(0.9, boat(0.9)), (0.6, boat(0.6) + water(0.6)), (0.3, boat(0.3) + water(0.3) + moon(0.3))]
    {
        assert!((area(threshold) / wanted - 1.0).abs() < 1e-3, "{threshold}: {} px2 for {wanted}", area(threshold));
    }
}

/// A disc of black on white, with a band of strays whose darkness runs from one share to another, so slowly that its pixels mix
/// nothing and so fast that no tone comes of it.
fn with_strays(from: f64, to: f64) -> Vec<u8> {
    let darkness = |x: f64, y: f64| match (x, y) {
        (x, y) if (x - 60.0).hypot(y - 80.0) < 40.0 => 1.0,
        (x, y) if (130.0..180.0).contains(&x) && (50.0..110.0).contains(&y) => {
            from + (to - from) * ((x * 7.3 + y * 3.1).sin() + 1.0) / 2.0
        }
        _ => 0.0,
    };
    let grey = |at: usize| (255.0 * (1.0 - darkness((at % 200) as f64, (at / 200) as f64))).round() as u8;
    png(200, &(0..200 * 200).map(grey).collect::<Vec<u8>>())
}

#[test]
fn the_threshold_that_is_advised_leaves_no_stray_in_doubt() {
    // By what the picture was made of: all strays lie between these shares, so those beyond a tenth of either are sure.
    for (from, to, wanted) in [(0.15, 0.35, Some(0.5)), (0.55, 0.85, Some(0.4)), (0.1, 0.9, None)] {
        let bytes = with_strays(from, to);
        let scan = |threshold| art(&bytes, &Wanted { threshold, ..Wanted::default() }).unwrap().scan.unwrap();
        let first = scan(None);
        assert!(first.doubtful > 0.05, "{from} to {to}: {}", first.doubtful);
        assert_eq!(first.calm, wanted, "{from} to {to}");
        if let Some(calm) = first.calm {
            assert!(scan(Some(calm)).doubtful < 0.002);
        }
    }
}

#[test]
fn dust_is_left_out_and_strays_are_found() {
    let found = art(&picture("ui/shared/smeared.png"), &Wanted { threshold: Some(0.9), ..Wanted::default() }).unwrap();
    let scan = found.scan.unwrap();
    assert_eq!((scan.specks, scan.pinholes, found.ink.contours().len()), (12, 0, 1));
    // The smear covers 30 x 30 of 240 x 200 px.
    assert!((scan.strays - 900.0 / 48_000.0).abs() < 1e-3, "{}", scan.strays);
    let place = scan.places[0];
    assert_eq!((place.left, place.right, place.top, place.bottom), (185, 215, 85, 115));
}
