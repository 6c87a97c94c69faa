//! Vector artwork: areas and boxes against closed forms and against an independent renderer.

use dialwright::artwork::{Art, ArtError, Untaken, art_from_svg};
use dialwright::geometry::{Region, Rule};
use kurbo::Rect;

/// A page of 100 mm by 100 mm with this on it, in millimetres.
fn page(content: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
            width="100mm" height="100mm" viewBox="0 0 100 100">{content}</svg>"#
    )
}

fn art(content: &str) -> Art {
    art_from_svg(page(content).as_bytes(), None).unwrap()
}

fn assert_near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "found {found}, wanted {wanted} within {within}");
}

fn assert_box(art: &Art, wanted: Rect) {
    let found = art.ink.bounds().unwrap();
    for (found, wanted) in [(found.x0, wanted.x0), (found.y0, wanted.y0), (found.x1, wanted.x1), (found.y1, wanted.y1)]
    {
        assert_near(found, wanted, 1e-4);
    }
}

/// The parser keeps its figures to 24 bits, about 1e-5 mm on a page of this size.
const PARSER: f64 = 1e-3;

#[test]
fn transforms_nest_and_scale_strokes() {
    // Worked by hand: x' = (20 - 2y)/2, y' = (20 + 2x)/2 in mm, so the square covers 10 to 20 mm from the left
    // and from the top, and its stroke of 1 unit is 1 mm wide.
    let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 200 200">
        <g transform="translate(20 20) rotate(90)"><g transform="scale(2)">
        <rect x="0" y="-10" width="10" height="10" fill="#000" stroke="STROKE" stroke-width="1"/></g></g></svg>"##;
    let filled = art_from_svg(svg.replace("STROKE", "none").as_bytes(), None).unwrap();
    assert_box(&filled, Rect::new(10.0, 80.0, 20.0, 90.0));
    assert_near(filled.ink.area(), 100.0, PARSER);
    let stroked = art_from_svg(svg.replace("STROKE", "#000").as_bytes(), None).unwrap();
    assert_box(&stroked, Rect::new(9.5, 79.5, 20.5, 90.5));
    assert_near(stroked.ink.area(), 121.0, PARSER);
}

#[test]
fn a_circle_of_20_mm_in_radius_has_its_area() {
    // Closed form; the parser's cubics are 2.8e-4 of the area too large at most.
    let found = art(r#"<circle cx="50" cy="50" r="20"/>"#).ink.area();
    assert_near(found / (std::f64::consts::PI * 400.0), 1.0, 3e-4);
}

#[test]
fn light_paint_cuts_and_later_dark_paint_covers() {
    let found = art(r#"<rect width="100" height="100" fill="white"/><rect x="10" y="10" width="40" height="40"/>
        <rect x="20" y="20" width="20" height="20" fill="yellow"/><rect x="25" y="25" width="10" height="10" fill="rgb(51,51,51)"/>"#);
    assert_near(found.ink.area(), 1600.0 - 400.0 + 100.0, PARSER);
    assert_eq!(found.colours, [[0, 0, 0], [51, 51, 51], [255, 255, 0], [255, 255, 255]]);
    assert!(found.dropped.is_empty());
}

#[test]
fn the_middle_tone_is_half_of_the_relative_luminance() {
    // W3C WCAG 2.2: grey 187 has a relative luminance of 0.4969, grey 188 of 0.5029.
    assert!(art_from_svg(page(r#"<rect width="9" height="9" fill="rgb(187,187,187)"/>"#).as_bytes(), None).is_ok());
    let light = art_from_svg(page(r#"<rect width="9" height="9" fill="rgb(188,188,188)"/>"#).as_bytes(), None);
    assert_eq!(light, Err(ArtError::Nothing { dropped: vec![] }));
}

#[test]
fn uses_clips_and_rules_are_followed() {
    let used = art(
        r##"<defs><rect id="r" width="10" height="10"/></defs><use href="#r" x="5"/><use xlink:href="#r" x="30" y="20"/>"##,
    );
    assert_near(used.ink.area(), 200.0, PARSER);
    assert_box(&used, Rect::new(5.0, 70.0, 40.0, 100.0));

    let clipped = art(
        r##"<clipPath id="c"><rect x="5" y="5" width="10" height="10"/><rect x="12" y="5" width="8" height="10"/></clipPath>
        <g transform="translate(10 0)"><rect width="30" height="10" clip-path="url(#c)"/></g>"##,
    );
    assert_box(&clipped, Rect::new(15.0, 90.0, 30.0, 95.0));
    assert_near(clipped.ink.area(), 75.0, PARSER);

    let rings = |rule| format!(r#"<path fill-rule="{rule}" d="M0 0H30V30H0Z M10 10H20V20H10Z"/>"#);
    assert_near(art(&rings("evenodd")).ink.area(), 800.0, PARSER);
    assert_near(art(&rings("nonzero")).ink.area(), 900.0, PARSER);
}

#[test]
fn strokes_have_their_ends_joins_and_dashes() {
    let line =
        |style: &str| art(&format!(r##"<path d="M20 20H40" stroke="#000" stroke-width="2" {style}/>"##)).ink.area();
    assert_near(line(""), 40.0, PARSER);
    assert_near(line(r#"stroke-linecap="square""#), 44.0, PARSER);
    assert_near(line(r#"stroke-linecap="round""#), 40.0 + std::f64::consts::PI, 2.0 * PARSER);
    assert_near(line(r#"stroke-dasharray="3 2""#), 24.0, PARSER);
    // A closed square of side 10: the middle ring of width 2, its corners mitred, is 12² - 8².
    let square = art(r##"<rect x="10" y="10" width="10" height="10" fill="none" stroke="#000" stroke-width="2"/>"##);
    assert_near(square.ink.area(), 144.0 - 64.0, PARSER);
    // A squeezed pen: the stroke is squeezed with the shape.
    let squeezed = art(r##"<g transform="scale(1 0.5)"><path d="M20 20H40" stroke="#000" stroke-width="2"/></g>"##);
    assert_near(squeezed.ink.area(), 20.0, PARSER);
}

#[test]
fn styles_are_worked_out() {
    // Each by hand: four squares of 10 mm, of which the styles leave so many.
    let squares = r#"<g><rect id="a" width="10" height="10"/><rect class="k" x="20" width="10" height="10"/>
        <rect x="40" width="10" height="10"/><rect class="k" x="60" width="10" height="10" fill="none"/></g>"#;
    for (style, left) in [
        ("", 3.0),
        ("rect:nth-child(2n) { fill: none }", 2.0),
        (":root { --paper: #fff } .k { fill: var(--paper) } #a { fill: var(--none, white) }", 1.0),
        ("g > rect { fill: none } #a { fill: #000 !important }", 1.0),
        ("rect { fill: #000 } @media print { rect { fill: none } }", 4.0),
        ("#a { transform: scale(2) } .k { fill: none }", 5.0),
        // 10 px of this page are 10 of its units.
        ("#a { width: 20px; height: 15px } .k { fill: none }", 4.0),
    ] {
        let found = art(&format!("<style>{style}</style>{squares}"));
        assert_eq!(found.dropped, [], "{style}");
        assert_near(found.ink.area(), 100.0 * left, 10.0 * PARSER);
    }
}

#[test]
fn dots_fixed_strokes_and_stated_lengths_have_their_areas() {
    let line =
        |style: &str| art(&format!(r##"<path d="M10 50H90" stroke="#000" stroke-width="2" {style}/>"##)).ink.area();
    let pi = std::f64::consts::PI;
    // Dots every 4.9 mm: the first at the beginning, the last 1.6 mm before the end.
    assert_near(line(r#"stroke-linecap="round" stroke-dasharray="0 4.9""#), 17.0 * pi, 0.1);
    assert_near(line(r#"stroke-linecap="square" stroke-dasharray="0 4.9""#), 17.0 * 4.0, 0.1);
    // 80 mm told as 8: dashes of 10 mm every 20 mm.
    assert_near(line(r#"pathLength="8" stroke-dasharray="1""#), 80.0, PARSER);
    // 8 px of the page are 8 x 25.4/96 mm, however the line is scaled.
    let fixed = r##"<g transform="scale(2 5)"><path d="M10 5H40" stroke="#000" stroke-width="8" vector-effect="non-scaling-stroke"/></g>"##;
    assert_near(art(fixed).ink.area(), 60.0 * 8.0 * 25.4 / 96.0, 5.0 * PARSER);
    // A line of no length is a dot where its ends are round.
    assert_near(
        art(r##"<path d="M20 20h0" stroke="#000" stroke-width="8" stroke-linecap="round"/>"##).ink.area(),
        16.0 * pi,
        0.1,
    );
}

#[test]
fn what_lies_off_the_page_is_cut_off_and_measured() {
    let half = art(r#"<rect x="90" y="10" width="20" height="10"/><rect x="20" y="20" width="10" height="10"/>"#);
    assert_near(half.ink.area(), 200.0, PARSER);
    assert_near(half.off_page_mm2, 100.0, PARSER);
    assert_box(&half, Rect::new(20.0, 70.0, 100.0, 90.0));
    let inside = art(r#"<rect width="100" height="100"/>"#);
    assert_near(inside.off_page_mm2, 0.0, 0.0);
    let ArtError::Nothing { dropped } =
        art_from_svg(page(r#"<rect x="-50" width="40" height="9"/>"#).as_bytes(), None).unwrap_err()
    else {
        panic!()
    };
    assert_eq!(dropped.iter().map(|dropped| &dropped.what).collect::<Vec<_>>(), [&Untaken::OffPage]);
}

#[test]
fn only_what_is_drawn_is_named() {
    let odd = r#"style="clip-path: circle(3px)""#;
    let drawing = format!(
        r##"<defs><rect id="unused" width="9" height="9" {odd}/><rect id="used" width="9" height="9" {odd}/></defs>
        <g display="none"><rect width="9" height="9" {odd}/></g><rect id="plain" width="9" height="9"/><use id="u" href="#used"/>
        <rect width="9" height="9" {odd}/>"##
    );
    let named = |part: Option<&str>| {
        let found = art_from_svg(page(&drawing).as_bytes(), part).unwrap();
        found.dropped.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let wanted = ["the style `clip-path: circle(3px)` in line 4", "the style `clip-path: circle(3px)` on `used`"];
    assert_eq!(named(None), wanted);
    assert_eq!(named(Some("plain")), [""; 0]);
    assert_eq!(named(Some("u")), wanted[1..]);
}

#[test]
fn hostile_styles_end_soon() {
    let styled = |style: &str, content: &str| page(&format!("<style>{style}</style>{content}<path d=\"M0 0H9V9z\"/>"));
    let many_rules: String = (0..2_000).map(|at| format!("g :nth-last-child({at}n) .c{at}{{fill:none}}")).collect();
    let doubling: String = (1..40).map(|at| format!("--v{at}:var(--v{})var(--v{});", at - 1, at - 1)).collect();
    for hostile in [
        styled(&many_rules, &"<g/>".repeat(5_000)),
        styled(&format!("a{}", " a".repeat(400)), &format!("{}{}", "<a>".repeat(500), "</a>".repeat(500))),
        styled(&format!("{}{}{{}}", ":not(".repeat(300_000), ")".repeat(300_000)), ""),
        styled(&format!("{}{}", "@media all{".repeat(300_000), "}".repeat(300_000)), ""),
        styled(&format!(":root{{--v0:;{doubling}}} path{{fill:var(--v39)}}"), ""),
        styled(&"{".repeat(300_000), ""),
        styled("a{b:\\", ""),
    ] {
        // Whatever becomes of them, it does so at once; the limit is one of work, not of time.
        let _ = art_from_svg(hostile.as_bytes(), None);
    }
}

#[test]
fn what_cannot_be_taken_is_named() {
    let found = art(r##"<defs><linearGradient id="g"><stop stop-color="#000"/><stop offset="1"/></linearGradient>
        <filter id="f"><feGaussianBlur stdDeviation="2"/></filter>
        <mask id="m"><rect width="50" height="50" fill="#fff"/></mask></defs>
        <rect id="shaded" width="10" height="10" fill="url(#g)"/><rect id="veiled" width="9" height="9" mask="url(#m)"/>
        <g id="soft" filter="url(#f)"><rect width="9" height="9"/></g><rect id="glass" width="9" height="9" opacity="0.9"/>
        <text id="words" x="50" y="50" font-family="Quill">Hello</text><image id="photo" href="data:image/png;base64,AAAA" width="9" height="9"/>"##);
    let named: Vec<String> = found.dropped.iter().map(ToString::to_string).collect();
    for wanted in [
        "a gradient on `shaded`",
        "a filter on `soft`",
        "a part-transparent paint on `glass`",
        "live text in a typeface that is not here on `words`",
        "a bitmap on `photo`",
    ] {
        assert!(named.iter().any(|name| name == wanted), "{wanted}: {named:?}");
    }
    assert!(found.dropped.iter().any(|dropped| dropped.what == Untaken::Mask));
    // The word is set in a typeface that comes along.
    let left = kurbo::Shape::to_path(&Rect::new(0.0, 80.0, 20.0, 100.0), 1e-3);
    let left = Region::from_path(&left, Rule::NonZero).unwrap();
    assert_near(found.ink.intersection(&left).area(), 81.0, PARSER);
    assert!(found.ink.area() > 100.0);
}

#[test]
fn characters_that_no_typeface_here_has_are_named() {
    // Neither U+4E00 nor U+0E01 is in the DejaVu faces 2.37 (their cmap tables, as fontTools lists them).
    let found = art("<text id=\"sign\" font-family=\"DejaVu Sans\" x=\"9\" y=\"50\">A\u{4e00}\u{e01}\u{4e00}</text>");
    let named: Vec<String> = found.dropped.iter().map(ToString::to_string).collect();
    let wanted = ['\u{e01}', '\u{4e00}'];
    let wanted = wanted.map(|letter| format!("the character `{letter}`, which no built-in typeface has, on `sign`"));
    assert_eq!(named, wanted);
    assert!(!found.ink.is_empty());
}

#[test]
fn nothing_outside_the_file_is_read() {
    // The file named is there, and a picture: it must still not be taken.
    let picture = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/dials/lamp.svg");
    assert!(std::fs::exists(picture).unwrap());
    let found = art(&format!(
        r#"<rect width="5" height="5"/><image id="a" href="{picture}" width="50" height="50"/>
           <image id="b" xlink:href="file://{picture}" width="50" height="50"/><use id="c" href="{picture}#x"/>"#
    ));
    assert_near(found.ink.area(), 25.0, PARSER);
    let elsewhere: Vec<&str> =
        found.dropped.iter().filter(|d| d.what == Untaken::ExternalReference).map(|d| d.on.as_str()).collect();
    assert_eq!(elsewhere, ["a", "b", "c"]);
    let entity = format!(
        r#"<!DOCTYPE svg [<!ENTITY x SYSTEM "file://{picture}">]><svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">&x;</svg>"#
    );
    assert!(art_from_svg(entity.as_bytes(), None).is_err());
}

#[test]
fn a_part_is_taken_alone_and_an_unknown_one_lists_those_there_are() {
    let goods = include_bytes!("../dials/goods.svg");
    let names = ["wheat", "fish", "clay", "wool", "salt", "iron"];
    for name in names {
        let part = art_from_svg(goods, Some(name)).unwrap();
        assert!(part.dropped.is_empty(), "{name}: {:?}", part.dropped);
        let bounds = part.ink.bounds().unwrap();
        assert_near(bounds.height(), 10.0, 0.5);
        assert!(bounds.width() < 12.0, "{name}: {bounds:?}");
        let small = part.scaled_to_height(9.0).unwrap();
        let bounds = small.ink.bounds().unwrap();
        assert_near(bounds.height(), 9.0, 1e-9);
        assert_near(bounds.center().x, 0.0, 1e-9);
        assert_near(bounds.center().y, 0.0, 1e-9);
    }
    let ArtError::NoSuchPart { part, parts } = art_from_svg(goods, Some("weat")).unwrap_err() else { panic!() };
    assert_eq!((part.as_str(), parts), ("weat", names.map(str::to_owned).to_vec()));
}

/// Areas in mm² of the examples' artwork as a renderer covers it, 40 px/mm: librsvg 2.54.7 (rsvg-convert), the
/// sum of darkness over all pixels. Its edges are anti-aliased, so that the area is not rounded to pixels.
const RENDERED: [(&str, &str, f64); 7] = [
    ("lamp", "lamp", 120.4841),
    ("goods", "wheat", 25.6875),
    ("goods", "fish", 39.5553),
    ("goods", "clay", 45.9185),
    ("goods", "wool", 57.6403),
    ("goods", "salt", 47.1604),
    ("goods", "iron", 58.5504),
];

#[test]
fn areas_agree_with_a_renderer() {
    for (file, part, area) in RENDERED {
        let bytes: &[u8] =
            if file == "lamp" { include_bytes!("../dials/lamp.svg") } else { include_bytes!("../dials/goods.svg") };
        let found = art_from_svg(bytes, (file == "goods").then_some(part)).unwrap().ink.area();
        assert_near(found / area, 1.0, 2e-3);
    }
}

#[test]
fn hostile_files_are_refused_quickly() {
    let laughs = {
        let entities: String =
            (1..12).map(|n| format!("<!ENTITY e{n} \"{}\">", format!("&e{};", n - 1).repeat(10))).collect();
        format!(
            r#"<!DOCTYPE svg [<!ENTITY e0 "ha">{entities}]><svg xmlns="http://www.w3.org/2000/svg"><desc>&e11;</desc></svg>"#
        )
    };
    let deep = page(&format!("{}<rect width='1' height='1'/>{}", "<g>".repeat(50_000), "</g>".repeat(50_000)));
    let itself = page(r##"<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>"##);
    let dashes = page(r##"<path d="M0 0H100" stroke="#000" stroke-dasharray="0.00001 0.00001"/>"##);
    let far = page(r#"<rect x="1e9" width="1e9" height="5"/>"#);
    let many = page(&"<g/>".repeat(1_000_000));
    for hostile in [laughs, deep, itself, dashes, far, many] {
        assert!(art_from_svg(hostile.as_bytes(), None).is_err(), "{}", &hostile[..200.min(hostile.len())]);
    }
    for odd in [
        &b""[..],
        b"<svg",
        b"\xff\xfe<svg/>",
        b"\x1f\x8b\x08",
        b"<html/>",
        b"<svg xmlns='http://www.w3.org/2000/svg' width='-1'/>",
    ] {
        assert!(art_from_svg(odd, None).is_err());
    }
}

#[test]
fn sizes_that_cannot_be_are_refused() {
    let square = art(r#"<rect width="10" height="10"/>"#);
    for height in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e6] {
        assert!(matches!(square.scaled_to_height(height), Err(ArtError::Geometry(_))));
    }
}
