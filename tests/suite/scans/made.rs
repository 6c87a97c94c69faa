//! Lines, tone, damage and readings of parts whose every error is known, and what is told of what is not measured.

use dialwright::rehearsal::{MeantKind, MeantOther, MeantWork};
use dialwright::scan::DamageKind;
use kurbo::Point;

use super::*;

/// A scored circle is measured as a line; a printed mark has no burnt edge, and that is told.
#[test]
fn lines_are_measured_and_prints_told_of() {
    let mut meant = tokens();
    let base = meant.layers.iter_mut().find(|layer| layer.name == "base").unwrap();
    let circle = |radius: f64| kurbo::Circle::new((0.0, 0.0), radius).to_path(1e-4);
    base.works.push(MeantWork {
        name: "rim line".to_owned(),
        kind: MeantKind::Line,
        back: false,
        path: circle(13.2),
        width: Some(0.2),
        colours: None,
    });
    base.others.push(MeantOther { name: "crest".to_owned(), done: "printed", back: false, path: circle(1.0) });
    let mut chance = Chance::of(37);
    let lies = laid(&meant, &TWO, &mut chance);
    let told = scanned(&meant, &lies, &mut chance);
    assert_eq!(kinds(&told), [RemarkKind::NotMeasured], "{:?}", told.remarks);
    assert!(told.remarks[0].says.contains("on the front of `base`: `crest`, printed"), "{:?}", told.remarks);
    assert!(told.remarks[0].kind.is_note());
    let part = told.parts.iter().find(|part| part.layer == "base").unwrap();
    let line = part.works.iter().find(|work| work.kind == "line").unwrap();
    let (shift, ..) = *lies.1[1].made.works.last().unwrap();
    for (away, made) in line.off.into_iter().zip([shift.x, shift.y]) {
        let away = away.unwrap();
        assert!((away.is - made).abs() < 0.02, "{away:?} {made}");
    }
    assert_eq!(line.growth_mm, None);
}

/// As dark as its stock says, within what is told of it and a twelfth; six tenths as dark is told.
#[test]
fn tone_is_measured() {
    let contrast = |told: &Measured| {
        let part = told.parts.iter().find(|part| part.layer == "base").unwrap();
        part.works.iter().find_map(|work| work.tone).unwrap()
    };
    let sound = contrast(&told(21, &TWO, |_, _| {}));
    let meant = sound.contrast_meant.unwrap();
    assert!((sound.contrast.is / meant - 1.0).abs() < 0.08, "{sound:?}");
    assert!(sound.contrast.plus_minus < 0.1 * meant, "{sound:?}");
    let pale = told(21, &TWO, |_, lies| lies[1].made.tone = 0.6);
    assert_eq!(kinds(&pale), [RemarkKind::Tone], "{:?}", pale.remarks);
    assert!(pale.remarks[0].says.contains("paler than its stock says"));
    // By definition of the scanner: six tenths of the way from bare to burnt.
    let left = contrast(&pale).light_left;
    let made = 0.4 + 0.6 * sound.light_left.is;
    assert!((left.is - made).abs() < 0.03, "{left:?} {made}");
}

/// A burn on bare stock, and a web that is gone between an opening and the rim.
#[test]
fn burns_and_broken_webs_are_told() {
    let told = told(38, &TWO, |_, lies| {
        lies[0].made.bite = Some((Point::new(0.0, 14.0), 2.6));
        lies[1].made.burn = Some((Point::new(-6.0, 0.0), 1.2));
    });
    let of = |name: &str| told.parts.iter().find(|part| part.layer == name).unwrap().damage.clone();
    let spot = of("base").into_iter().find(|it| it.kind == DamageKind::Spot).unwrap();
    // Its area by its radius, and by how soft it is drawn.
    assert!((spot.area_mm2.unwrap() - 4.5).abs() < 2.0 && (spot.out_mm - 6.0).abs() < 0.3, "{spot:?}");
    assert!((spot.bearing_deg - 270.0).abs() < 4.0, "{spot:?}");
    let web = of("cover").into_iter().find(|it| it.kind == DamageKind::Web).unwrap();
    assert!(web.of == "peep" && web.out_mm > 12.0, "{web:?}");
    assert!(told.remarks.iter().any(|it| it.says.contains("the web of `cover` beside `peep` is broken")));
}

/// Every cover on every base: what is far off its place misreads.
#[test]
fn the_runs_own_dials_are_read() {
    let mut meant = tokens();
    let mut chance = Chance::of(39);
    let (scanner, lies) = laid(&meant, &[("cover", true), ("base", false)], &mut chance);
    let bytes = png(&synthetic::scan(&scanner, &lies, &mut chance), Some(scanner.dpi));
    let sound = measured(&meant, bytes.clone(), None);
    let reading = &sound.readings[0];
    assert_eq!((reading.pairs, reading.right, reading.wrong, reading.close), (1, 1, 0, 0), "{reading:?}");
    let room = reading.least_room_mm.unwrap();
    // `F` is 4.41 mm tall and some 3 mm wide: its corners lie 1 mm or so within an opening of 8 mm, by its sheet.
    assert!(room.is > 0.5 && room.is < 1.6 && room.plus_minus < 0.05, "{room:?}");
    // As if its first stop stood 20° off, which is 3 mm at this radius.
    meant.readings[0].stops[0].0 += 20.0;
    let off = measured(&meant, bytes.clone(), None);
    assert_eq!((off.readings[0].wrong, off.readings[0].right), (1, 0), "{:?}", off.readings);
    assert!(off.readings[0].in_words().contains("0 of 1 pairings read right, 1 misread"), "{:?}", off.readings);
    meant.layers.retain(|layer| layer.name == "base");
    let alone = measured(&meant, bytes, None);
    assert!(alone.readings[0].in_words().contains("not told, parts of both its layers are needed"));
}
