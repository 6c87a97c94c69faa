//! `adopt` on what is harder to read: drawings on paper, kerf that is drawn in, boards of our own, shaky arcs.

use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use crate::adopt::Chance;
use dialwright::adopt::{Adopted, Refused, Scale, Wanted, Work, adopt};
use dialwright::artwork::art_from_svg;
use dialwright::lettering::Typeface;
use dialwright::project::MemoryProject;
use dialwright::units::Length;
use kurbo::Affine;

fn wanted(picture: Option<Scale>) -> Wanted {
    Wanted {
        title: "Tried".to_owned(),
        source: "tried".to_owned(),
        stock: "birch".to_owned(),
        pivot: "magnets(disc)".to_owned(),
        art: "tried-art.svg".to_owned(),
        picture,
        ..Wanted::default()
    }
}

fn read(bytes: &[u8], wanted: &Wanted) -> Adopted {
    tried(bytes, wanted).unwrap_or_else(|error| panic!("{error:?}"))
}

fn tried(bytes: &[u8], wanted: &Wanted) -> Result<Adopted, Refused> {
    adopt(bytes, wanted, &MemoryProject::default(), "tried.dial")
}

/// The first figure behind a word of the file.
fn figure(text: &str, behind: &str) -> f64 {
    let rest = text.split(behind).nth(1).unwrap_or_else(|| panic!("no `{behind}` in {text}"));
    let digits: String = rest.chars().take_while(|letter| letter.is_ascii_digit() || ".-".contains(*letter)).collect();
    digits.parse().unwrap_or_else(|_| panic!("no figure behind `{behind}` in {text}"))
}

/// A sheet of paper, 84 mm to the side, drawn on by pens.
#[derive(Clone, Copy)]
struct Sheet {
    paper: [f64; 3],
    /// By what share the light falls off from one corner to the other.
    shade: f64,
    /// The standard deviation of its grain, in codes.
    grain: f64,
    /// How dark ink is, as a share.
    ink: f64,
    /// The pen in mm.
    pen: f64,
    /// The whole turned clockwise, in degrees.
    turned: f64,
    /// What lies across is longer by this share than what lies along.
    squashed: f64,
    /// Millimetres to a pixel.
    pixel: f64,
    /// The side of the sheet in mm.
    side: f64,
}

const SHEET: Sheet = Sheet {
    paper: [224.0, 221.0, 212.0],
    shade: 0.0,
    grain: 2.0,
    ink: 1.0,
    pen: 0.6,
    turned: 0.0,
    squashed: 1.0,
    pixel: 25.4 / 120.0,
    side: 84.0,
};

type Curve = (Vec<(f64, f64)>, [f64; 3]);

const BLACK: [f64; 3] = [38.0, 38.0, 44.0];
const RED: [f64; 3] = [190.0, 40.0, 50.0];

/// A line by hand round an edge of so many sides, or a circle: it strays by sums of slow waves.
fn by_hand(sides: usize, radius: f64, at: (f64, f64), strays: f64, chance: &mut Chance) -> Vec<(f64, f64)> {
    let waves: Vec<(f64, f64, f64)> =
        (3..8).map(|wave| (f64::from(wave), strays / 2.0 * chance.normal(), TAU * chance.next())).collect();
    let half = TAU / 2.0 / sides.max(1) as f64;
    (0..=600)
        .map(|step| {
            let turn = TAU * f64::from(step) / 600.0;
            let aside = (turn + half).rem_euclid(2.0 * half) - half;
            let out = if sides == 0 { radius } else { radius * half.cos() / (half - aside.abs()).cos() };
            let out = out + waves.iter().map(|(wave, by, from)| by * (wave * turn + from).cos()).sum::<f64>();
            (at.0 + out * turn.sin(), at.1 + out * turn.cos())
        })
        .collect()
}

/// The sheet as a PNG file, or as a JPEG of this quality.
fn scanned(sheet: Sheet, curves: &[Curve], chance: &mut Chance, jpeg: Option<u8>) -> Vec<u8> {
    let across = (sheet.side / sheet.pixel) as usize;
    let mut pixels = vec![sheet.paper; across * across];
    let (sin, cos) = sheet.turned.to_radians().sin_cos();
    for (points, colour) in curves {
        // How far each pixel lies from the middle of the pen's line, by steps much smaller than a pixel.
        let mut away = vec![f64::MAX; across * across];
        for pair in points.windows(2) {
            let ((x, y), (to_x, to_y)) = (pair[0], pair[1]);
            let steps = ((to_x - x).hypot(to_y - y) / (0.3 * sheet.pixel)).ceil().max(1.0);
            for step in 0..=steps as usize {
                let share = step as f64 / steps;
                let (x, y) = (x + (to_x - x) * share, y + (to_y - y) * share);
                let (x, y) = ((x * cos + y * sin) * sheet.squashed, y * cos - x * sin);
                let (column, row) = ((sheet.side / 2.0 + x) / sheet.pixel, (sheet.side / 2.0 - y) / sheet.pixel);
                let reach = (sheet.pen / sheet.pixel) as i64 + 2;
                for below in -reach..=reach {
                    for beside in -reach..=reach {
                        let (pixel_x, pixel_y) = (column as i64 + beside, row as i64 + below);
                        if (0..across as i64).contains(&pixel_x) && (0..across as i64).contains(&pixel_y) {
                            let far = (pixel_x as f64 + 0.5 - column).hypot(pixel_y as f64 + 0.5 - row);
                            let own = &mut away[pixel_y as usize * across + pixel_x as usize];
                            *own = own.min(far);
                        }
                    }
                }
            }
        }
        for (pixel, away) in pixels.iter_mut().zip(&away) {
            let covered = (sheet.pen / sheet.pixel / 2.0 - away + 0.5).clamp(0.0, 1.0) * sheet.ink;
            pixel.iter_mut().zip(colour).for_each(|(code, ink)| *code += (ink - *code) * covered);
        }
    }
    let codes: Vec<u8> = pixels
        .iter()
        .enumerate()
        .flat_map(|(at, pixel)| {
            let lit = 1.0 - sheet.shade * ((at % across) as f64 + (at / across) as f64) / (2.0 * across as f64);
            pixel.map(|code| (code * lit + sheet.grain * chance.normal()).clamp(0.0, 255.0) as u8)
        })
        .collect();
    let mut bytes = Vec::new();
    match jpeg {
        Some(quality) => image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality)
            .encode(&codes, across as u32, across as u32, image::ExtendedColorType::Rgb8)
            .unwrap(),
        None => {
            let mut encoder = png::Encoder::new(&mut bytes, across as u32, across as u32);
            encoder.set_color(png::ColorType::Rgb);
            encoder.write_header().unwrap().write_image_data(&codes).unwrap();
        }
    }
    bytes
}

/// An outline, an opening in red at the top, and a wave that is engraved.
fn curves(sides: usize, strays: f64, chance: &mut Chance) -> Vec<Curve> {
    let wave = (0..60).map(|step| (-12.0 + 0.4 * f64::from(step), -10.0 + 4.0 * (0.3 * f64::from(step)).sin()));
    vec![
        (by_hand(sides, 30.0, (0.0, 0.0), strays, chance), BLACK),
        (by_hand(0, 6.0, (0.0, 15.0), strays / 2.0, chance), RED),
        (wave.collect(), BLACK),
    ]
}

const ACROSS: Option<Scale> = Some(Scale::Across(Length::mm(60.0)));

#[test]
fn a_drawing_on_paper_gives_outline_openings_and_artwork() {
    let mut chance = Chance(424_243);
    let grey = Sheet { paper: [158.0, 156.0, 150.0], shade: 0.4, grain: 4.0, ..SHEET };
    for (name, sheet, sides, jpeg) in
        [("plain", SHEET, 0, None), ("grey", grey, 0, Some(75)), ("aslant", Sheet { turned: 2.0, ..SHEET }, 6, None)]
    {
        let adopted = read(&scanned(sheet, &curves(sides, 0.15, &mut chance), &mut chance, jpeg), &wanted(ACROSS));
        let text = &adopted.text;
        if sides == 6 {
            assert!(text.contains("outline polygon(sides: 6,") && !text.contains(") turned "), "{name}: {text}");
            let flats = text.contains("across_flats: ");
            let across = if flats { figure(text, "flats: ") / (TAU / 12.0).cos() } else { figure(text, "corners: ") };
            assert!((across - 60.0).abs() < 0.6, "{name}: {text}");
        } else {
            assert!((figure(text, "outline circle(diameter: ") - 60.0).abs() < 0.3, "{name}: {text}");
        }
        // The opening: as large as it was meant, and where.
        assert!((figure(text, "hole circle(diameter: ") - 12.0).abs() < 0.3, "{name}: {text}");
        let at = text.split("hole circle").nth(1).and_then(|rest| rest.lines().next()).unwrap();
        let out = if at.contains("polar(") { figure(at, "polar(") } else { figure(at, "mm, ") };
        assert!((out - 15.0).abs() < 0.3, "{name}: {text}");
        // The wave, by the second reader of drawings: its line is the pen's width thick.
        let art = art_from_svg(adopted.art.expect("it is kept").as_bytes(), Some("layer_1")).unwrap();
        let ink = art.in_place(None).unwrap().ink;
        let bounds = ink.bounds().unwrap();
        assert!((bounds.width() - 24.2).abs() < 0.5 && (bounds.center().y + 10.0).abs() < 0.4, "{name}: {bounds:?}");
        assert!((ink.area() / 45.0 - 0.6).abs() < 0.15, "{name}: {}", ink.area());
        let says = |what: &str| adopted.told.iter().any(|told| told.contains(what));
        assert_eq!(says("light falls off"), name == "grey", "{name}: {:?}", adopted.told);
        assert_eq!(says("aslant, and was set upright"), name == "aslant", "{name}: {:?}", adopted.told);
        let works: Vec<(bool, Work)> = adopted.works.iter().map(|one| (one.is_filled, one.work)).collect();
        assert_eq!(works, [(false, Work::Cut), (false, Work::Cut), (true, Work::Engrave)], "{name}");
        assert!(adopted.laid.compared == 2 && adopted.laid.missing == 0 && adopted.laid.greatest_mm < 0.7, "{name}");
    }
}

#[test]
fn each_trap_of_a_picture_is_told() {
    let mut chance = Chance(77);
    let mut picture = |sheet: Sheet, change: &dyn Fn(&mut Vec<Curve>)| {
        let mut curves = curves(0, 0.1, &mut Chance(99));
        change(&mut curves);
        scanned(sheet, &curves, &mut chance, None)
    };
    let plain = picture(SHEET, &|_| {});
    let faint = picture(Sheet { ink: 0.04, ..SHEET }, &|_| {});
    assert!(matches!(tried(&faint, &wanted(ACROSS)), Err(Refused::Faint { contrast }) if contrast < 0.1));
    let open = picture(SHEET, &|curves| {
        curves[0].0.drain(135..165);
        curves[0].0.rotate_left(135);
    });
    assert!(matches!(tried(&open, &wanted(ACROSS)), Err(Refused::OpenLine { at: "right" })));
    let touched = picture(SHEET, &|curves| {
        curves.push((vec![(-30.0, 0.0), (30.0, 0.0)], BLACK));
        curves.push((vec![(0.0, -30.0), (0.0, 30.0)], BLACK));
    });
    assert!(matches!(tried(&touched, &wanted(ACROSS)), Err(Refused::Touched)));
    let off = picture(Sheet { side: 58.0, ..SHEET }, &|_| {});
    assert!(matches!(tried(&off, &wanted(ACROSS)), Err(Refused::OffThePicture)));
    assert!(matches!(tried(&plain, &wanted(Some(Scale::Stated))), Err(Refused::NoScale)));
    for (bytes, says) in [
        (picture(Sheet { squashed: 1.03, ..SHEET }, &|_| {}), "the picture was taken aslant"),
        (picture(Sheet { ink: 0.2, ..SHEET }, &|_| {}), "darker than the paper: some may be broken"),
        (picture(Sheet { pen: 0.25, ..SHEET }, &|_| {}), "hardly two pixels wide"),
        (picture(SHEET, &|curves| curves.truncate(1)), "nothing is drawn within its outline"),
        (picture(SHEET, &|curves| curves.push((vec![(-41.0, -41.0), (-41.9, -39.0)], BLACK))), "runs off the picture"),
    ] {
        let told = read(&bytes, &wanted(ACROSS)).told;
        assert!(told.iter().any(|told| told.contains(says)), "{says}: {told:?}");
    }
    // Twice as many pixels an inch are half as large.
    let half = read(&plain, &wanted(Some(Scale::Dpi(240.0)))).text;
    assert!((figure(&half, "outline circle(diameter: ") - 30.0).abs() < 0.2, "{half}");
    // What a colour means is the maker's to say.
    let engraved = Wanted { works: vec![([255, 0, 0], Work::Engrave)], ..wanted(ACROSS) };
    assert!(!read(&plain, &engraved).text.contains("hole"));
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_dialwright")).current_dir(folder).args(arguments).output().unwrap()
}

#[test]
fn pictures_and_drawings_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    let picture = scanned(SHEET, &curves(0, 0.1, &mut Chance(3)), &mut Chance(4), None);
    fs::write(folder.path().join("scan.png"), picture).unwrap();
    let specks = scanned(Sheet { grain: 120.0, side: 20.0, ..SHEET }, &[], &mut Chance(5), None);
    fs::write(folder.path().join("specks.png"), specks).unwrap();
    fs::write(folder.path().join("drawn.svg"), "<svg xmlns=\"http://www.w3.org/2000/svg\"/>").unwrap();
    for (arguments, says) in [
        (
            &["scan.png", "new.dial"][..],
            "is a picture of pixels: `--picture` reads what is drawn in it, with `--across 60mm`",
        ),
        (
            &["drawn.svg", "new.dial", "--picture"],
            "is no PNG, JPEG, BMP or WebP file: leave out `--picture` for an SVG",
        ),
        (&["specks.png", "new.dial", "--picture"], "holds only specks: no line in it hangs together"),
        (&["scan.png", "new.dial", "--picture"], "for instance `--across 60mm`, or `--dpi 300` for a scan"),
    ] {
        let output = run(folder.path(), &[&["adopt"], arguments].concat());
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.code() == Some(2) && said.contains(says), "{arguments:?}: {said}");
    }
    let output = run(folder.path(), &["adopt", "scan.png", "new.dial", "--picture", "--across", "60mm"]);
    assert!(output.status.success(), "{output:?}");
    assert!(folder.path().join("new-art.svg").exists());
}

const HEAD: &str = "xmlns=\"http://www.w3.org/2000/svg\" width=\"100mm\" height=\"100mm\" viewBox=\"0 0 100 100\"";

fn rings(circles: &[(f64, f64)]) -> String {
    let mut text = format!("<svg {HEAD}>");
    for (up, across) in circles {
        let (y, radius) = (50.0 - up, across / 2.0);
        let _ = write!(text, "<circle cx=\"50\" cy=\"{y}\" r=\"{radius}\" fill=\"none\" stroke=\"#d02020\"/>");
    }
    text + "</svg>"
}

#[test]
fn kerf_that_is_drawn_in_is_told_and_taken_out() {
    let told = |circles: &[(f64, f64)]| read(rings(circles).as_bytes(), &wanted(None)).told.join("; ");
    let kerfed = [(0.0, 60.18), (20.0, 11.82), (-18.0, 3.82)];
    assert!(told(&kerfed).contains("as if kerf were drawn in: `--kerf 0.18mm` takes it out"), "{}", told(&kerfed));
    for sound in [
        &[(0.0, 60.0), (20.0, 12.0), (-18.0, 4.0)][..],
        // In inches.
        &[(0.0, 57.15), (19.05, 12.7), (-18.0, 3.175)],
        // Larger without any opening, and all of them larger.
        &[(0.0, 60.18)],
        &[(0.0, 60.18), (20.0, 12.18)],
    ] {
        assert!(!told(sound).contains("kerf"), "{sound:?}: {}", told(sound));
    }
    let kerf = Some(Length::mm(0.18));
    let adopted = read(rings(&kerfed).as_bytes(), &Wanted { kerf, ..wanted(None) });
    for call in
        ["outline circle(diameter: 60mm)", "circle(diameter: 12mm) at polar(20mm, 0deg)", "circle(diameter: 4mm)"]
    {
        assert!(adopted.text.contains(call), "{call}: {}", adopted.text);
    }
}

#[test]
fn boards_that_were_written_here_are_read_without_their_kerf() {
    let folder = tempfile::tempdir().unwrap();
    let dial = "dial \"Made\"\noutline polygon(sides: 6, across_flats: 52mm)\n\
                layer base of birch {\n  engrave ring r { labels 1 to 6; radius 18mm; height 5mm }\n  \
                back engrave text(\"Turn me\", height: 5mm)\n}\n\
                layer cover of birch {\n  window w = circle(diameter: 11mm) at polar(18mm, 0deg)\n}\n\
                stack {\n  base\n  turn on magnets(disc)\n  cover\n}\nreads r through w\n";
    fs::write(folder.path().join("made.dial"), dial).unwrap();
    let built = run(folder.path(), &["build", "made.dial", "--no-print", "--out", "cut"]);
    assert!(built.status.success(), "{built:?}");
    let board = |name: &str| fs::read(folder.path().join("cut").join(name)).unwrap();
    let adopted = read(&board("board-1-setup-1.svg"), &wanted(None));
    for call in ["outline polygon(sides: 6, across_flats: 52mm)", "circle(diameter: 11mm) at polar(18mm, 0deg)"] {
        assert!(adopted.text.contains(call), "{call}: {}", adopted.text);
    }
    for says in ["its kerf of 0.15mm is taken out again", "setup 1 of 2 of its board"] {
        assert!(adopted.told.iter().any(|told| told.contains(says)), "{says}: {:?}", adopted.told);
    }
    assert!(matches!(tried(&board("board-1-setup-2.svg"), &wanted(None)), Err(Refused::LaterSetup)));
}

#[test]
fn what_is_clipped_or_a_picture_in_a_drawing_is_told() {
    let drawing = rings(&[(0.0, 60.0), (20.0, 12.0)]).replace(
        "</svg>",
        "<clipPath id=\"c\"><circle cx=\"50\" cy=\"50\" r=\"20\"/></clipPath><rect clip-path=\"url(#c)\" x=\"40\" y=\"60\" \
         width=\"30\" height=\"6\"/><image x=\"40\" y=\"40\" width=\"5\" height=\"5\" href=\"moth.png\"/></svg>",
    );
    let told = read(drawing.as_bytes(), &wanted(None)).told;
    for says in ["with what is hidden of it: 1 clipped group", "not taken: a reference to another file"] {
        assert!(told.iter().any(|told| told.contains(says)), "{says}: {told:?}");
    }
}

#[test]
fn small_holes_of_shaky_arcs_are_one_ring() {
    for seed in [5, 500, 50_000] {
        let mut chance = Chance(seed);
        let mut text = format!("<svg {HEAD}><circle cx=\"50\" cy=\"50\" r=\"35\" fill=\"none\" stroke=\"#d02020\"/>");
        for hole in 0..8 {
            let (sin, cos) = (TAU * f64::from(hole) / 8.0).sin_cos();
            for third in 0..3 {
                let mut end = |turn: i32| {
                    let (y, x) = (TAU * f64::from(turn) / 3.0).sin_cos();
                    let mut near = |value: f64| value + 0.01 * chance.normal();
                    format!("{:.4},{:.4}", near(50.0 + 29.0 * sin + x), near(50.0 - 29.0 * cos + y))
                };
                let (from, to) = (end(third), end(third + 1));
                let _ = write!(text, "<path d=\"M{from} A1,1 0 0 1 {to}\" fill=\"none\" stroke=\"#d02020\"/>");
            }
        }
        let adopted = read((text + "</svg>").as_bytes(), &wanted(None));
        assert!(adopted.text.contains("at polar(29mm, 0deg) repeated 8"), "{seed}: {}", adopted.text);
    }
}

/// A word as outlines: its middle at a place of the page, so high its capitals, turned clockwise; from behind where it is mirrored.
fn outlined(word: &str, typeface: &str, at: (f64, f64), (height, turned, mirrored): (f64, f64, bool)) -> String {
    let typeface = Typeface::built_in(typeface).unwrap();
    let scale = height / typeface.cap_height();
    let glyphs = typeface.shape(word, false).unwrap();
    let wide: f64 = glyphs.iter().map(|glyph| glyph.advance).sum();
    let side = if mirrored { -1.0 } else { 1.0 };
    let page = Affine::translate(at)
        * Affine::rotate(turned.to_radians())
        * Affine::scale_non_uniform(side * scale, -scale)
        * Affine::translate((-wide / 2.0, -typeface.cap_height() / 2.0));
    let mut pen = 0.0;
    let mut data = String::new();
    for glyph in &glyphs {
        data += &(page * Affine::translate((pen, 0.0)) * typeface.drawn(glyph).unwrap()).to_svg();
        pen += glyph.advance;
    }
    format!("<path d=\"{data}\" fill=\"#101010\"/>")
}

/// A dial with such words on a ring, the tops of which point beyond their bearings.
fn ring_of(words: &[&str], typeface: &str, beyond: f64, mirrored: bool) -> String {
    let circle = |across| format!("<circle cx=\"50\" cy=\"50\" r=\"{across}\" fill=\"none\" stroke=\"#d02020\"/>");
    let mut text = format!("<svg {HEAD}>{}", circle(36));
    for (at, word) in words.iter().enumerate() {
        let bearing = 360.0 * at as f64 / words.len() as f64;
        let (sin, cos) = bearing.to_radians().sin_cos();
        text += &outlined(word, typeface, (50.0 + 24.0 * sin, 50.0 - 24.0 * cos), (5.0, bearing + beyond, mirrored));
    }
    text + "</svg>"
}

#[test]
fn letters_that_were_drawn_as_outlines_are_read() {
    for (words, typeface, beyond, says) in [
        (
            &["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"][..],
            "DejaVu Sans",
            0.0,
            "labels 0 to 9; radius 24mm; height 5mm }",
        ),
        (&["6", "7", "8", "9", "10"], "DejaVu Sans", 180.0, "labels 6 to 10; radius 24mm; height 5mm; facing inward }"),
        (
            &["Fog", "Gale", "IOI", "Drizzle"],
            "DejaVu Serif Bold",
            90.0,
            "labels [\"Fog\", \"Gale\", \"IOI\", \"Drizzle\"]",
        ),
    ] {
        let adopted = read(ring_of(words, typeface, beyond, false).as_bytes(), &wanted(None));
        let lines: Vec<&str> = adopted.text.lines().map(str::trim).collect();
        let flat = lines.join(" ").replace("{ ", "").replace("; }", " }");
        let (flat, says) = (flat.replace(';', ""), says.replace(';', ""));
        assert!(flat.contains(&says) && adopted.art.is_none(), "{says}: {}", adopted.text);
        assert_eq!(adopted.text.contains("typeface \"DejaVu Serif Bold\""), typeface == "DejaVu Serif Bold");
    }
    let told = |words: &[&str], mirrored| {
        read(ring_of(words, "DejaVu Sans", 0.0, mirrored).as_bytes(), &wanted(None)).told.join("; ")
    };
    assert!(
        told(&["6", "9", "6", "9"], false).contains("may stand on their heads, as 6 and 9 do"),
        "{}",
        told(&["6", "9"], false)
    );
    assert!(!told(&["6", "7"], false).contains("heads"));
    assert!(
        told(&["Rot", "Gelb"], true).contains("mirrored, and perhaps meant for a back: 2 texts"),
        "{}",
        told(&["Rot", "Gelb"], true)
    );
    // One that is bent is none of ours, and stays as it was drawn.
    let bent = ring_of(&["Fog"], "DejaVu Sans", 0.0, false)
        .replace("<path d", "<path transform=\"translate(5 0) skewX(-8)\" d");
    let adopted = read(bent.as_bytes(), &wanted(None));
    assert!(adopted.art.is_some() && !adopted.text.contains("Fog"), "{}", adopted.text);
}
