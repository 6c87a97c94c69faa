//! Lettering against the answers of a general-purpose font library, and against its own promises.

use dialwright::geometry::{Region, polar};
use dialwright::lettering::{Align, Arc, Facing, Glyph, LetteringError, Setting, Typeface, place_label};
use dialwright::units::Angle;

/// A text at the scale where one millimetre is one font unit, so that figures compare with the font's own.
fn in_units(text: &str) -> Region {
    let face = Typeface::embedded();
    face.word(text, face.cap_height()).unwrap().ink
}

fn advances(text: &str) -> Vec<f64> {
    Typeface::embedded().shape(text, true).unwrap().iter().map(|glyph| glyph.advance).collect()
}

fn assert_near(found: f64, wanted: f64, within: f64) {
    assert!((found - wanted).abs() <= within, "found {found}, wanted {wanted} within {within}");
}

// Figures for DejaVu Sans 2.37 (2048 units per em) as fontTools gives them.

#[test]
fn twelve_has_the_box_and_area_that_fonttools_gives() {
    let ink = in_units("12");
    let bounds = ink.bounds().unwrap();
    assert_near(bounds.width(), 2401.0 - 225.0, 1e-9);
    assert_near(bounds.height(), 1520.0, 1e-9);
    assert_near(ink.area(), 1_041_974.3, 0.05);
    assert_eq!(advances("12"), [1303.0, 1303.0]);
}

#[test]
fn eight_has_the_box_that_fonttools_gives() {
    let bounds = in_units("8").bounds().unwrap();
    assert_near(bounds.width(), 1163.0 - 139.0, 1e-9);
    assert_near(bounds.height(), 1520.0 + 29.0, 1e-9);
}

#[test]
fn pairs_are_kerned_as_fonttools_says() {
    assert_eq!(advances("AVA"), [1270.0, 1270.0, 1401.0]);
    assert_eq!(advances("To"), [903.0, 1253.0]);
}

#[test]
fn letters_that_stand_apart_have_no_ligatures() {
    let face = Typeface::embedded();
    assert_eq!(face.shape("office", true).unwrap().len(), 4);
    assert_eq!(face.shape("office", false).unwrap().len(), 6);
}

#[test]
fn capitals_come_out_exactly_as_high_as_asked() {
    let bounds = Typeface::embedded().word("H", 6.0).unwrap().ink.bounds().unwrap();
    assert_near(bounds.y0, -3.0, 1e-9);
    assert_near(bounds.y1, 3.0, 1e-9);
    assert_near(bounds.x0, -bounds.x1, 1e-9);
}

#[test]
fn numerals_stand_in_the_middle_within_their_overshoot() {
    // The largest overshoot of a numeral is 29 of 1493 units: 0.12 mm at 6 mm.
    for numeral in 0..=99 {
        let bounds = Typeface::embedded().word(&numeral.to_string(), 6.0).unwrap().ink.bounds().unwrap();
        assert_near(bounds.center().x, 0.0, 1e-9);
        assert_near(bounds.center().y, 0.0, 0.06);
        assert_near(bounds.height(), 6.0, 0.24);
    }
}

#[test]
fn words_of_one_height_share_a_baseline() {
    let low = |text| Typeface::embedded().word(text, 5.0).unwrap().ink.bounds().unwrap().y0;
    assert_near(low("HIT"), low("fil"), 1e-9);
    assert!(low("gyp") < low("HIT") - 1.0);
}

#[test]
fn a_lone_sign_is_centred_on_its_ink() {
    for sign in ["♠", "→", "⚓", "✦", "−"] {
        let bounds = Typeface::embedded().word(sign, 5.0).unwrap().ink.bounds().unwrap();
        assert_near(bounds.center().y, 0.0, 1e-9);
    }
}

#[test]
fn missing_characters_are_named_once_each() {
    let error = Typeface::embedded().word("a漢b\n漢字", 5.0).unwrap_err();
    let characters = vec!['漢', '字'];
    assert_eq!(error, LetteringError::MissingCharacters { characters, typeface: "DejaVu Sans".to_owned() });
}

#[test]
fn a_text_without_ink_is_blank() {
    for text in ["", "   ", "\n\n"] {
        assert_eq!(Typeface::embedded().word(text, 5.0), Err(LetteringError::Blank));
    }
}

#[test]
fn sizes_that_cannot_be_are_refused() {
    for height in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300] {
        assert!(matches!(Typeface::embedded().word("1", height), Err(LetteringError::Geometry(_))), "{height}");
    }
}

#[test]
fn bytes_that_are_no_font_are_refused() {
    for bytes in [vec![], vec![0; 100], b"not a font".to_vec(), dejavu::sans::regular()[..3000].to_vec()] {
        assert!(Typeface::from_bytes(bytes, "odd.ttf").is_err());
    }
}

#[test]
fn lines_stand_as_aligned() {
    let face = Typeface::embedded();
    let set = |align| face.set("HH\nH", &Setting { align, ..Setting::of_height(4.0) }).unwrap().ink;
    let start = set(Align::Start).bounds().unwrap();
    let end = set(Align::End).bounds().unwrap();
    let middle = set(Align::Middle).bounds().unwrap();
    assert_near(start.x0, 0.0, 1e-9);
    assert_near(end.x1, 0.0, 1e-9);
    assert_near(middle.center().x, 0.0, 1e-9);
    for bounds in [start, end, middle] {
        assert_near(bounds.height(), 4.0 + 1.6 * 4.0, 1e-9);
        assert_near(bounds.center().y, 0.0, 1e-9);
    }
}

#[test]
fn a_text_that_must_fit_is_made_smaller_and_never_larger() {
    let face = Typeface::embedded();
    let fitted = |fit| face.set("HARVEST", &Setting { fit_mm: Some(fit), ..Setting::of_height(5.0) }).unwrap();
    let word = fitted(20.0);
    assert_near(word.ink.bounds().unwrap().width(), 20.0, 1e-9);
    assert_near(word.ink.bounds().unwrap().center().y, 0.0, 0.05);
    assert!(word.height_mm < 5.0);
    assert_eq!(fitted(1000.0).height_mm, 5.0);
}

#[test]
fn tracking_opens_a_word_by_one_step_between_letters() {
    let face = Typeface::embedded();
    let width = |tracking_mm| {
        let setting = Setting { tracking_mm, ..Setting::of_height(5.0) };
        face.set("HIT", &setting).unwrap().ink.bounds().unwrap().width()
    };
    assert_near(width(0.5) - width(0.0), 1.0, 1e-9);
}

#[test]
fn labels_face_as_asked() {
    let up = Typeface::embedded().word("T", 6.0).unwrap().ink;
    // The bar of the T is where its ink is widest: the point just under its top is inside at both ends.
    let bar = [kurbo::Point::new(-2.0, 2.8), kurbo::Point::new(2.0, 2.8)];
    assert!(bar.iter().all(|point| up.contains(*point)) && !up.contains((-2.0, -2.8).into()));
    let at = |bearing: f64, facing| place_label(&up, 20.0, Angle::degrees(bearing), facing);
    let east = at(90.0, Facing::Outward);
    assert!(east.contains((22.8, 2.0).into()) && east.contains((22.8, -2.0).into()));
    let east = at(90.0, Facing::Inward);
    assert!(east.contains((17.2, 2.0).into()) && east.contains((17.2, -2.0).into()));
    let east = at(90.0, Facing::Upright);
    assert!(east.contains((18.0, 2.8).into()) && east.contains((22.0, 2.8).into()));
}

#[test]
fn one_letter_along_an_arc_is_a_placed_label() {
    let face = Typeface::embedded();
    for facing in [Facing::Outward, Facing::Inward, Facing::Upright] {
        let arc = Arc { radius_mm: 20.0, bearing: Angle::degrees(72.0), facing };
        let along = face.along_arc("H", &Setting::of_height(6.0), &arc).unwrap();
        let placed = place_label(&face.word("H", 6.0).unwrap().ink, 20.0, arc.bearing, facing);
        let (along, placed) = (along.bounds().unwrap(), placed.bounds().unwrap());
        // The letter turns about the middle of its advance, which differs from the middle of its ink by 1 unit.
        assert_near(along.center().distance(placed.center()), 0.0, 0.01);
    }
}

#[test]
fn letters_along_an_arc_keep_their_advances_and_reading_direction() {
    let face = Typeface::embedded();
    let advance = face.shape("H", false).unwrap()[0].advance * 6.0 / face.cap_height();
    for (facing, sense) in [(Facing::Outward, 1.0), (Facing::Inward, -1.0)] {
        let arc = Arc { radius_mm: 30.0, bearing: Angle::ZERO, facing };
        let region = face.along_arc("HHI", &Setting::of_height(6.0), &arc).unwrap();
        let straight = face.word("HHI", 6.0).unwrap().ink.bounds().unwrap();
        // The crossbar of the first H stands at the middle of its advance, half the cap height up.
        let first = (straight.x0 - 0.0) / 30.0 + advance / 2.0 / 30.0 - bearing_of_h() / 30.0;
        let second = first + advance / 30.0;
        for at in [first, second] {
            assert!(region.contains(polar(30.1, Angle::radians(sense * at))), "{facing:?}");
        }
        assert_eq!(region.contours().len(), 3);
    }
}

/// How far right of the pen the ink of an H begins, at 6 mm.
fn bearing_of_h() -> f64 {
    let face = Typeface::embedded();
    kurbo::Shape::bounding_box(&face.outline(face.shape("H", false).unwrap()[0].id).unwrap()).x0 * 6.0
        / face.cap_height()
}

#[test]
fn a_text_longer_than_its_circle_is_refused() {
    let arc = Arc { radius_mm: 2.0, bearing: Angle::ZERO, facing: Facing::Outward };
    let error = Typeface::embedded().along_arc("much too long", &Setting::of_height(6.0), &arc).unwrap_err();
    assert!(matches!(error, LetteringError::LongerThanCircle { .. }));
}

#[test]
fn glyph_runs_in_three_fonts_agree_with_fonttools() {
    let faces = [
        ("DejaVuSans", Typeface::embedded()),
        ("DejaVuSans-Bold", Typeface::from_bytes(dejavu::sans::bold().to_vec(), "bold").unwrap()),
        ("DejaVuSerif", Typeface::from_bytes(dejavu::serif::regular().to_vec(), "serif").unwrap()),
    ];
    let rows: Vec<&str> = include_str!("../data/glyph_runs.tsv").lines().filter(|row| !row.starts_with("# ")).collect();
    assert_eq!(rows.len(), 380);
    for row in rows {
        let [font, text, advances, x0, y0, x1, y1, area, overlaps] =
            row.split('\t').collect::<Vec<_>>().try_into().unwrap();
        let number = |text: &str| text.parse::<f64>().unwrap();
        let face = &faces.iter().find(|(name, _)| *name == font).unwrap().1;
        let found: Vec<f64> = face.shape(text, true).unwrap().iter().map(|glyph| glyph.advance).collect();
        assert_eq!(found, advances.split(',').map(number).collect::<Vec<_>>(), "{row}");

        let ink = face.word(text, face.cap_height()).unwrap().ink;
        let bounds = ink.bounds().unwrap();
        // Runs whose contours overlap have their area from flattened curves, 64 chords each.
        let off = if overlaps == "1" { 5e-5 * number(area) } else { 0.02 };
        assert_near(bounds.width(), number(x1) - number(x0), 0.01);
        assert_near(bounds.height(), number(y1) - number(y0), 0.01);
        assert!((ink.area() - number(area)).abs() < off, "{row}: {}", ink.area());
    }
}

/// Lines with Hebrew and Arabic, as ICU orders them and HarfBuzz shapes them: base direction, then the glyphs from left to right.
fn two_way_lines() -> Vec<(&'static str, bool, Vec<Glyph>)> {
    let rows = include_str!("../data/bidi.tsv").lines().filter(|row| !row.starts_with('#'));
    let glyph = |text: &str| {
        let figures: Vec<i32> = text.split(',').map(|figure| figure.parse().unwrap()).collect();
        let [id, cluster, advance, right, up] = figures.try_into().unwrap();
        Glyph {
            face: 0,
            id: id.try_into().unwrap(),
            cluster: cluster.try_into().unwrap(),
            advance: advance.into(),
            offset: (right.into(), up.into()),
        }
    };
    rows.map(|row| {
        let [text, level, _, glyphs] = row.split('\t').collect::<Vec<_>>().try_into().unwrap();
        (text, level == "1", glyphs.split(' ').map(glyph).collect())
    })
    .collect()
}

#[test]
fn lines_that_run_both_ways_agree_with_icu_and_harfbuzz() {
    let face = Typeface::embedded();
    let lines = two_way_lines();
    assert_eq!(lines.len(), 60);
    for (text, _, glyphs) in lines {
        assert_eq!(face.shape(text, true).unwrap(), glyphs, "{text}");
    }
}

/// By UAX #9 (rules P2 and P3) the first strong letter says which way a line runs, and so where it starts.
#[test]
fn a_line_starts_where_one_begins_to_read_it() {
    let (face, bearing) = (Typeface::embedded(), Angle::ZERO);
    for (text, from_right, _) in two_way_lines() {
        let (right, left) = if from_right { (Align::Start, Align::End) } else { (Align::End, Align::Start) };
        let set = |align| Setting { align, ..Setting::of_height(6.0) };
        let bounds = |align| face.set(text, &set(align)).unwrap().ink.bounds().unwrap();
        assert_near(bounds(right).x1, 0.0, 1e-9);
        assert_near(bounds(left).x0, 0.0, 1e-9);
        assert_near(bounds(Align::Middle).center().x, 0.0, 1e-9);
        // On an arc that is all but straight, the same letters stand in the same places.
        let arc = Arc { radius_mm: 9e3, bearing, facing: Facing::Outward };
        let straight = face.set(text, &Setting { tracking_mm: 1e-9, ..set(right) }).unwrap().ink;
        let bent = face.along_arc(text, &set(right), &arc).unwrap().bounds().unwrap();
        assert_near(bent.x0, straight.bounds().unwrap().x0, 0.1);
        assert_near(bent.x1, 0.0, 0.1);
    }
}

/// By hand: the line is as long as the ink above it, 0.12 heights wide, 0.16 below the letters and their tails.
#[test]
fn a_line_stands_under_each_line_of_a_text() {
    let face = Typeface::embedded();
    let setting = Setting { underlined: true, ..Setting::of_height(10.0) };
    for text in ["6", "Eg", "6\nEg"] {
        let (plain, lined) = (face.word(text, 10.0).unwrap().ink, face.set(text, &setting).unwrap().ink);
        let long: f64 = text.lines().map(|line| face.word(line, 10.0).unwrap().ink.bounds().unwrap().width()).sum();
        assert_near(lined.area() - plain.area(), 1.2 * long, 1e-6);
        let (letters, all) = (plain.bounds().unwrap(), lined.bounds().unwrap());
        assert_near(all.y1, letters.y1, 1e-9);
        assert_near(letters.y0 - all.y0, 2.8, 1e-6);
        assert_near(all.width(), letters.width(), 1e-9);
    }
    let arc = Arc { radius_mm: 20.0, bearing: Angle::ZERO, facing: Facing::Outward };
    assert_eq!(face.along_arc("6", &setting, &arc), Err(LetteringError::BentUnderline));
}

/// DejaVu Serif has neither an anchor nor Hebrew, DejaVu Sans has both: what the one lacks is set as the other sets it.
#[test]
fn each_character_is_of_the_first_typeface_that_has_it() {
    let [serif, sans] = ["DejaVu Serif", "DejaVu Sans"].map(|name| Typeface::built_in(name).unwrap());
    let both = Typeface::first_of(vec![serif.clone(), sans.clone()]).unwrap();
    assert_eq!(both.name(), "DejaVu Serif, DejaVu Sans");
    assert!(serif.shape("A⚓B", true).is_err() && !serif.has(&['⚓']) && both.has(&['⚓', 'A']));
    let faces = |text: &str| both.shape(text, true).unwrap().iter().map(|glyph| glyph.face).collect::<Vec<_>>();
    assert_eq!(faces("A⚓B"), [0, 1, 0]);
    // A mark stays with its letter, as far as the letter's typeface has it.
    assert_eq!(faces("⚓e\u{301}"), [1, 0]);
    // Both have 2048 units in an em, so that the figures of either stand as they are.
    let alone =
        |face: &Typeface, text: &str| face.shape(text, true).unwrap().iter().map(|glyph| glyph.advance).sum::<f64>();
    assert_near(alone(&both, "A⚓B"), alone(&serif, "A") + alone(&sans, "⚓") + alone(&serif, "B"), 1e-9);
    let ids =
        |face: &Typeface, text: &str| face.shape(text, true).unwrap().iter().map(|glyph| glyph.id).collect::<Vec<_>>();
    assert_eq!(ids(&both, "שלום"), ids(&sans, "שלום"));
    // Of a line from right to left the first word stands at the right: Latin after Hebrew is set to its left.
    assert_eq!(ids(&both, "צוות A"), [ids(&serif, "A"), ids(&serif, " "), ids(&sans, "צוות")].concat());
    // Drawn, it is the one sign of the other typeface at the same em, and as many lines.
    let count = |face: &Typeface, text: &str| face.word(text, 6.0).unwrap().ink.path().segments().count();
    assert_eq!(count(&both, "⚓"), count(&sans, "⚓"));
    let missing = both.word("龍", 6.0).unwrap_err();
    assert!(matches!(missing, LetteringError::MissingCharacters { characters, .. } if characters == ['龍']));
}

#[test]
fn each_line_of_a_block_runs_its_own_way() {
    let face = Typeface::embedded();
    let setting = Setting { align: Align::Start, ..Setting::of_height(6.0) };
    let bounds = face.set("CREW\nצוות", &setting).unwrap().ink.bounds().unwrap();
    let width = |text| face.word(text, 6.0).unwrap().ink.bounds().unwrap().width();
    assert_near(bounds.x1, width("CREW"), 1e-6);
    assert_near(bounds.x0, -width("צוות"), 1e-6);
}

#[test]
fn shapes_of_letters_keep_the_curves_of_the_font() {
    let face = Typeface::embedded();
    for text in ["0123456789", "CREW", "HARVEST", "Ústí", "N/E"] {
        let drawn: usize = face
            .shape(text, true)
            .unwrap()
            .iter()
            .map(|glyph| {
                face.outline(glyph.id)
                    .unwrap()
                    .segments()
                    .filter(|s| kurbo::ParamCurveArclen::arclen(s, 1.0) > 0.0)
                    .count()
            })
            .sum();
        assert_eq!(face.word(text, 6.0).unwrap().ink.path().segments().count(), drawn, "{text}");
    }
}

#[test]
fn upright_text_is_placed_whole() {
    let face = Typeface::embedded();
    let arc = Arc { radius_mm: 20.0, bearing: Angle::degrees(90.0), facing: Facing::Upright };
    let along = face.along_arc("office", &Setting::of_height(6.0), &arc).unwrap();
    assert_eq!(along, place_label(&face.word("office", 6.0).unwrap().ink, 20.0, arc.bearing, Facing::Upright));
}

#[test]
fn a_text_without_end_is_refused_before_it_is_shaped() {
    let face = Typeface::embedded();
    let arc = Arc { radius_mm: 20.0, bearing: Angle::ZERO, facing: Facing::Outward };
    let endless = "8".repeat(1_000_000);
    assert_eq!(face.word(&endless, 1e-3), Err(LetteringError::TooMuch));
    assert_eq!(face.along_arc(&endless, &Setting::of_height(1e-3), &arc), Err(LetteringError::TooMuch));
    assert_eq!(face.word(&"8".repeat(100_000), 1e-2), Err(LetteringError::TooMuch));
}

/// The letters of Arabic are joined (The Unicode Standard, chapter 9.2); those of Latin, Greek, Hebrew and digits are not.
#[test]
fn joined_scripts_are_known_by_their_shapes() {
    let face = Typeface::embedded();
    for (text, wanted) in [
        ("ميناء", true),
        ("12 سلام", true),
        ("CREW\nبحر", true),
        ("دور", false),
        ("CREW fi", false),
        ("צוות", false),
        ("٣٤", false),
    ] {
        assert_eq!(face.joins(text), wanted, "{text}");
    }
}
