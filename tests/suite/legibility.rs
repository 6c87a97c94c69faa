//! Whether labels can be read, through the language: height from a distance, contrast after finishing, face veneers.
//! Figures of NUREG-0700 (guideline 1.3.1-4) and of the W3C's WCAG 2.2.

use dialwright::analysis::{Analysis, Dial, Request, analyse};
use dialwright::audit::MeasureValue;
use dialwright::diagnostics::{Finding, Severity};
use dialwright::project::MemoryProject;
use dialwright::vocabulary::measures::MeasureName;

fn analysed(ring: &str, more: &str) -> Analysis {
    let text = format!(
        "dial \"Legible\"\nshop \"Bench\"\n{more}\nmagnet disc {{ diameter 8mm; height 1.5mm; remanence 1.2T }}\n\
         outline circle(diameter: 64mm)\nlayer base of board {{\n{ring}\n}}\n\
         layer cover of board {{ window peep = circle(diameter: 14mm) at polar(20mm, 0deg) }}\n\
         stack {{ base; turn on magnets(disc); cover }}\nreads r through peep from 500mm\n"
    );
    let project = MemoryProject::default().with("legible.dial", text);
    analyse(&project, "legible.dial", "", &Request::default()).unwrap()
}

fn board(colours: &str) -> String {
    format!("stock board {{ thickness 3mm; board 300mm by 300mm; least_feature 0.01mm; {colours} }}")
}

fn measured(analysis: &Analysis, name: &str, subject: &str) -> f64 {
    let Dial { design, audit, .. } = analysis.dials.first().expect("a dial");
    match audit.measure(design, MeasureName::of_word(name).unwrap(), subject).unwrap() {
        MeasureValue::Quantity(quantity) => quantity.value,
        MeasureValue::Labels(labels) => panic!("{labels:?}"),
    }
}

fn severities(analysis: &Analysis, finding: Finding) -> Vec<Severity> {
    analysis.findings.iter().filter(|found| found.finding == finding).map(|found| found.severity).collect()
}

#[test]
fn heights_fill_the_angles_of_the_guideline() {
    // H = 6.283 D MA / 21600: 16, 20 and 22 minutes at 500 mm are 2.327, 2.909 and 3.200 mm.
    for (height, minutes) in [(2.327, 16.0), (2.909, 20.0), (3.200, 22.0)] {
        let found = analysed(&format!("engrave ring r {{ labels 1 to 6; height {height}mm }}"), &board(""));
        let angle = measured(&found, "reading_angle", "r") * 60.0;
        assert!((angle - minutes).abs() < 0.005, "{height}: {angle}");
        assert!((measured(&found, "label_height", "r") - height).abs() < 1e-9);
    }
}

#[test]
fn small_labels_are_a_warning_and_smallish_ones_advice() {
    for (height, wanted) in [(2.32, vec![Severity::Warning]), (2.9, vec![Severity::Advice]), (2.92, vec![])] {
        let found = analysed(&format!("engrave ring r {{ labels 1 to 6; height {height}mm }}"), &board(""));
        assert_eq!(severities(&found, Finding::LabelTooSmall), wanted, "{height}");
    }
    let one_small = analysed("engrave ring r { labels 1 to 3; height [5mm, 5mm, 2mm] }", &board(""));
    assert_eq!(severities(&one_small, Finding::LabelTooSmall), [Severity::Warning]);
}

#[test]
fn contrast_is_that_of_the_w3c() {
    // Against white: #777777 4.478, #767676 4.542, #0000ff 8.592, #000000 21.
    for (mark, ratio) in [("777777", 4.478), ("767676", 4.542), ("0000ff", 8.592), ("000000", 21.0)] {
        let board = board(&format!("colour #ffffff; engraved #{mark}"));
        let small = analysed("engrave ring r { labels 1 to 6; height 3mm }", &board);
        assert!((measured(&small, "contrast", "r") - ratio).abs() < 1e-3, "{mark}");
        // Small text wants 4.5 and is never rounded up to it; large text wants 3.
        assert_eq!(severities(&small, Finding::ContrastTooLow).len(), usize::from(ratio < 4.5), "{mark}");
        let large = analysed("engrave ring r { labels 1 to 6; height 5mm }", &board);
        assert_eq!(severities(&large, Finding::ContrastTooLow), []);
    }
    // Capitals are 1493 of the 2048 units of an em in DejaVu Sans (fontTools): 4.629 mm at 18 points.
    let grey = board("colour #ffffff; engraved #777777");
    for (height, faint) in [(4.62, 1), (4.64, 0)] {
        let found = analysed(&format!("engrave ring r {{ labels 1 to 6; height {height}mm }}"), &grey);
        assert_eq!(severities(&found, Finding::ContrastTooLow).len(), faint, "{height}");
    }
}

#[test]
fn a_finish_changes_what_is_seen() {
    let ring = "finish f\nengrave ring r { labels 1 to 6; height 5mm }";
    let contrast = |finish: &str| {
        let more = format!("{}\nfinish f {{ {finish} }}", board("colour #ffffff; engraved #000000"));
        measured(&analysed(ring, &more), "contrast", "r")
    };
    assert!((contrast("stain #777777") - 21.0 / 4.478).abs() < 2e-3, "stained before, burnt through the stain");
    assert!((contrast("fill #777777") - 4.478).abs() < 1e-3, "filled");
    assert!((contrast("stain #000000; fill #ffffff") - 21.0).abs() < 1e-9, "white on black");
    assert!((contrast("stain #808080; stained after; fill #808080") - 1.0).abs() < 1e-9, "filled like its ground");
    // A stain over black leaves black.
    assert!((contrast("stain #777777; stained after") - 21.0 / 4.478).abs() < 2e-3, "stained after");
}

#[test]
fn an_ink_of_stated_colour_is_what_is_seen() {
    // #777777 on white 4.478, and #0000ff 8.592 (W3C).
    let board = board("colour #ffffff; engraved #000000");
    let ring = |tail: &str| format!("engrave ring r {{ labels 1 to 6; height 5mm; {tail} }}");
    let contrast = |tail: &str| measured(&analysed(&ring(tail), &board), "contrast", "r");
    assert!((contrast("ink \"slate\"; colour #777777") - 4.478).abs() < 1e-3);
    assert!((contrast("ink \"sky\"; colour #0000ff") - 8.592).abs() < 1e-3);
    assert!((contrast("ink \"unknown\"") - 21.0).abs() < 1e-9);
    let mark = |tail: &str| format!("{}\nengrave circle(diameter: 4mm) at (0mm, -8mm) {tail}", ring(""));
    let faint = |tail: &str| severities(&analysed(&mark(tail), &board), Finding::ContrastTooLow).len();
    // #999999 on white is 2.85, under the 3 that pictures want.
    assert_eq!(["ink \"a\" colour #999999", "ink \"a\"", ""].map(faint), [1, 0, 0]);
    let analysis = analysed(&ring("ink \"slate\"; colour #777777"), &board);
    let plan = analysis.dials[0].plan.as_ref().unwrap();
    let said =
        plan.operations().any(|(_, _, operation)| format!("{:?}", operation.kind).contains("with slate (#777777)"));
    assert!(said);
}

#[test]
fn labels_on_paint_stand_out_from_the_paint() {
    let ring = "paint circle(diameter: 60mm) colour #000000\nengrave ring r { labels 1 to 6; height 5mm }";
    let found = analysed(ring, &board("colour #ffffff; engraved #000000"));
    assert!((measured(&found, "contrast", "r") - 1.0).abs() < 1e-9);
    assert_eq!(severities(&found, Finding::ContrastTooLow), [Severity::Warning]);
}

#[test]
fn engraving_deeper_than_the_veneer_is_found() {
    let ring = "engrave ring r { labels 1 to 6; height 5mm }\nengrave circle(diameter: 4mm) at (0mm, -8mm) depth 0.5mm";
    for (veneer, found) in [("face_veneer 0.5mm", 0), ("face_veneer 0.49mm", 1), ("", 0)] {
        let analysis = analysed(ring, &board(veneer));
        assert_eq!(severities(&analysis, Finding::EngravingPastVeneer).len(), found, "{veneer}");
        assert!((measured(&analysis, "engraving_depth", "base") - 0.5).abs() < 1e-12);
    }
}

#[test]
fn staining_comes_before_or_after_the_cutting() {
    let words = |finish: &str| {
        let more = format!("{}\nfinish f {{ {finish} }}", board(""));
        let analysis = analysed("finish f\nengrave ring r { labels 1 to 6; height 5mm }", &more);
        let plan = analysis.dials[0].plan.as_ref().unwrap();
        let all = plan.operations().map(|(_, _, operation)| format!("{:?}", operation.kind)).collect::<Vec<_>>();
        let at = |word: &str| all.iter().position(|operation| operation.contains(word));
        (at("stain").or(at("Stain")).unwrap(), at("Engrave").unwrap(), at("Fill"))
    };
    let (stain, engrave, fill) = words("stain #6b4423; fill #ffffff");
    assert!(stain < engrave && fill.is_some_and(|fill| fill > engrave));
    let (stain, engrave, fill) = words("stain #6b4423; stained after");
    assert!(stain > engrave && fill.is_none());
}

/// Of several engravings the deepest is told, of several labels the smallest, of several readings the one from farthest off, in
/// whatever order they stand.
#[test]
fn the_worst_of_several_is_told() {
    use super::designs::*;
    use dialwright::audit::legibility::legibility;
    use dialwright::design::Work;
    use dialwright::physics::legibility::LEAST;

    let engraved = |depth: Option<f64>, x: f64| {
        mark("", Work::Engrave { tone: 1.0, depth: depth.map(mm), ink: None }, circle(1.0).shifted(x, 0.0))
    };
    let deepest = |depths: &[Option<f64>]| {
        let plate = depths
            .iter()
            .zip(1u8..)
            .fold(layer("plate", circle(30.0)), |plate, (depth, at)| plate.with(engraved(*depth, 3.0 * f64::from(at))));
        let found = legibility(&design(vec![plate], Vec::new(), Vec::new())).0;
        found.engraved.first().map(|it| (it.depth.as_mm() * 1e6).round() / 1e6)
    };
    for depths in
        [[Some(0.2), Some(0.5), Some(0.4)], [Some(0.5), Some(0.2), Some(0.4)], [Some(0.2), Some(0.4), Some(0.5)]]
    {
        assert_eq!(deepest(&depths), Some(0.5));
    }
    assert_eq!((deepest(&[None, Some(0.1)]), deepest(&[Some(0.4), None]), deepest(&[])), (Some(0.3), Some(0.4), None));
    let heights = |heights: [f64; 3]| {
        let mut dial = two_layers(3, |_| circle(2.0), circle(6.5).at(20.0, 0.0));
        for (label, height) in dial.layers[0].rings[0].labels.iter_mut().zip(heights) {
            label.height = mm(height);
        }
        for (distance, at) in [400.0, 900.0, 600.0].into_iter().zip(0..) {
            let mut reading = dial.readings[0].clone();
            reading.distance = Some(mm(distance));
            dial.readings.insert(at, reading);
        }
        let ring = legibility(&dial).0.rings[0].clone();
        assert_eq!(ring.distance, Some(mm(900.0)));
        // 21,600 minutes to the turn: what a small height fills of the circle at that distance.
        let angle = ring.height.as_mm() / (2.0 * std::f64::consts::PI * 900.0) * 21_600.0;
        assert!((ring.angle.unwrap().0 - angle).abs() < 1e-9);
        let farthest = ring.height.as_mm() * 21_600.0 / (2.0 * std::f64::consts::PI * LEAST.0);
        assert!((ring.farthest.unwrap().as_mm() - farthest).abs() < 1e-9);
        ring.height.as_mm()
    };
    assert_eq!((heights([5.0, 4.0, 6.0]), heights([4.0, 5.0, 6.0]), heights([6.0, 5.0, 4.0])), (4.0, 4.0, 4.0));
}

/// A label stands on the paint over it, unless that place is left bare; the least contrast of the ring is told.
#[test]
fn labels_stand_out_from_what_is_under_them() {
    use super::designs::*;
    use dialwright::audit::legibility::legibility;
    use dialwright::design::{Face, Work};
    use dialwright::physics::Contrast;

    let paint = |colour: [u8; 3], bearing: f64| mark("", Work::Paint { colour }, circle(5.0).at(20.0, bearing));
    let bare = |bearing: f64| mark("", Work::Bare, circle(5.0).at(20.0, bearing));
    let contrast = |marks: Vec<dialwright::design::Mark>| {
        let mut dial = two_layers(3, |_| circle(2.0), circle(6.5).at(20.0, 0.0));
        dial.layers[0].marks.extend(marks);
        legibility(&dial).0.rings[0].contrast.unwrap().ratio()
    };
    let against = |ground: [u8; 3]| Contrast::between(birch().engraved, ground).ratio();
    let (wood, white, dark) = (against(birch().colour), against([255; 3]), against([110, 70, 40]));
    assert!(dark < wood && wood < white);
    let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-12, "{found} {wanted}");
    near(contrast(Vec::new()), wood);
    near(contrast(vec![paint([255; 3], 0.0)]), wood);
    near(contrast(vec![paint([255; 3], 0.0), paint([255; 3], 120.0), paint([255; 3], 240.0)]), white);
    for bearing in [0.0, 120.0, 240.0] {
        near(contrast(vec![paint([110, 70, 40], bearing)]), dark);
        near(contrast(vec![paint([110, 70, 40], bearing), bare(bearing)]), wood);
        // What is painted last is seen.
        near(contrast(vec![paint([110, 70, 40], bearing), paint([255; 3], bearing)]), wood);
        let back = dialwright::design::Mark { face: Face::Back, ..paint([110, 70, 40], bearing) };
        near(contrast(vec![back]), wood);
    }
    near(contrast(vec![paint([110, 70, 40], 60.0)]), wood);
}

/// A mark stands out from the paint under and around it and not from the stock. The W3C's formula for #000000 on #ffffff gives 21 by
/// its definition, for two like colours 1.
#[test]
fn contrast_is_that_with_the_paint_really_seen() {
    use super::designs::*;
    use dialwright::audit::audit;
    use dialwright::design::{Ink, Work};
    let faint = |paint: [u8; 3], ink: [u8; 3], patch: f64| {
        let ink = Ink { name: "ink".into(), colour: Some(ink) };
        let work = Work::Engrave { tone: 1.0, depth: None, ink: Some(ink) };
        let marks = [
            mark("patch", Work::Paint { colour: paint }, circle(patch).at(16.0, 180.0)),
            mark("title", work, circle(2.0).at(16.0, 180.0)),
        ];
        let mut design = two_layers(6, |_| circle(2.0), circle(6.5).at(20.0, 0.0));
        design.layers[1].stock.colour = [0xff; 3];
        design.layers[1].marks.extend(marks);
        let found = audit(&design).problems.into_iter().find(|one| one.finding.name() == "contrast-too-low");
        found.map(|found| found.message)
    };
    let (black, dark, white) = ([0; 3], [0x1c, 0x2a, 0x44], [0xff; 3]);
    let told = faint(dark, black, 6.0).expect("black on dark blue");
    assert!(told.contains("#000000 on #1c2a44"), "{told}");
    assert_eq!(faint(dark, white, 6.0), None, "white on dark blue");
    assert_eq!(faint(white, black, 6.0), None, "black on white");
    // Paint that leaves part of the mark on the white stock counts beside it, and paint elsewhere does not.
    assert!(faint(dark, white, 1.0).is_some_and(|told| told.contains("#ffffff on #ffffff")));
    assert_eq!(faint(black, black, 0.1), None, "a speck of paint");
}
