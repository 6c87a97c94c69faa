//! Finished parts measured on scans, against what was really done wrong to them.
//!
//! The scans are drawn by a synthetic scanner, every error of which is known by definition. It comes from the same hand as the
//! estimator, so that its figures are better than those of a real scanner will be. Contours of scikit-image 0.26 say from outside
//! where the middles of openings and pockets are.

mod made;
mod runs;
mod synthetic;
pub(crate) mod written;

use dialwright::analysis::{Request, analyse};
use dialwright::limits;
use dialwright::output;
use dialwright::project::MemoryProject;
use dialwright::rehearsal::{Meant, MeantKind, MeantLayer, meant};
use dialwright::scan::{EdgeBy, Known, Measured, PartTold, RemarkKind, ScanFile, block, least_width, measure, sheet};
use kurbo::{Shape as _, Vec2};
use synthetic::{Chance, Lies, Made, Scanner, png};

const TOKENS: &str = include_str!("../../data/scans.dial");

/// What is written for a dial, without what there is to say of it.
fn list(text: &str) -> String {
    let project = MemoryProject::default().with("tokens.dial", text);
    let analysis = analyse(&project, "tokens.dial", "", &Request::default()).unwrap();
    let dial = &analysis.dials[0];
    let files = output::files(&dial.design, &dial.audit, dial.made().unwrap(), &analysis.sources);
    let list = files.into_iter().find(|file| file.name == "operations.json").unwrap();
    String::from_utf8(list.bytes).unwrap()
}

fn tokens() -> Meant {
    let mut meant = meant(&list(TOKENS)).unwrap();
    // The scanner sees one plane of the stock's colours, and here all three are alike.
    let marks = meant.layers.iter_mut().flat_map(|layer| &mut layer.works).filter(|work| work.colours.is_some());
    marks.for_each(|mark| mark.colours = Some([[synthetic::BURNT; 3], [synthetic::WOOD; 3]]));
    meant
}

/// A disc of another design, with nothing on it.
fn blank() -> MeantLayer {
    let outline = kurbo::Circle::new((0.0, 0.0), 11.0).to_path(1e-4);
    let (name, stock) = ("blank".to_owned(), "birch".to_owned());
    MeantLayer { name, stock, kerf: 0.16, clear: false, outline, works: vec![], others: vec![] }
}

fn layer<'m>(meant: &'m Meant, name: &str) -> &'m MeantLayer {
    meant.layers.iter().find(|layer| layer.name == name).unwrap()
}

/// Parts in rows of two, each with errors of its own and turned by chance.
fn laid<'m>(meant: &'m Meant, names: &[(&str, bool)], chance: &mut Chance) -> (Scanner, Vec<Lies<'m>>) {
    laid_for(300.0, meant, names, chance)
}

fn laid_for<'m>(dpi: f64, meant: &'m Meant, names: &[(&str, bool)], chance: &mut Chance) -> (Scanner, Vec<Lies<'m>>) {
    let cell = 35.0;
    let rows = names.len().div_ceil(2);
    let columns = names.len().min(2);
    let scanner = Scanner::of(dpi, Vec2::new(cell * columns as f64 + 6.0, cell * rows as f64 + 6.0), chance);
    let lies = names.iter().enumerate().map(|(at, (name, back))| {
        let layer = layer(meant, name);
        let (x, y) = ((at % 2) as f64, (at / 2) as f64);
        let at = Vec2::new(x * cell + cell / 2.0 + 3.0, -(y * cell + cell / 2.0 + 3.0));
        // Never the same way up by chance.
        let turn = chance.between(-0.3, 0.3) + 1.1 * (x + 2.0 * y);
        Lies { layer, back: *back, at, turn, made: Made::of(layer, chance) }
    });
    let lies = lies.collect();
    (scanner, lies)
}

fn measured(meant: &Meant, bytes: Vec<u8>, known: Option<Known>) -> Measured {
    measure(meant, &[ScanFile { name: "scan".to_owned(), bytes }], known).unwrap().measured
}

fn scanned(meant: &Meant, (scanner, lies): &(Scanner, Vec<Lies<'_>>), chance: &mut Chance) -> Measured {
    measured(meant, png(&synthetic::scan(scanner, lies, chance), Some(scanner.dpi)), None)
}

fn nearest<'l, 'm>(lies: &'l [Lies<'m>], part: &PartTold) -> &'l Lies<'m> {
    let away = |lies: &Lies| (lies.at.x - part.at[0]).hypot(lies.at.y + part.at[1]);
    lies.iter().min_by(|a, b| away(a).total_cmp(&away(b))).unwrap()
}

/// Errors of what is told, by what it is: how far off, and half its 95 % interval.
#[derive(Default)]
struct Errors(std::collections::BTreeMap<&'static str, Vec<(f64, f64)>>);

impl Errors {
    fn add(&mut self, measured: &Measured, lies: &[Lies<'_>]) {
        for part in &measured.parts {
            let lies = nearest(lies, part);
            assert_eq!((&lies.layer.name, lies.back), (&part.layer, part.face == "back"));
            let mut push = |what, error, half| self.0.entry(what).or_default().push((error, half));
            push("kerf", part.kerf_mm - lies.made.kerf, part.kerf_plus_minus_mm);
            for work in &part.works {
                let at = lies.layer.works.iter().position(|it| it.name == work.name).unwrap();
                let (shift, ..) = lies.made.works[at];
                let middle = lies.layer.works[at].path.bounding_box().center().to_vec2();
                let out = if work.axes == "right-up" { Vec2::new(1.0, 0.0) } else { middle / middle.hypot() };
                let along = if work.axes == "right-up" { Vec2::new(0.0, 1.0) } else { Vec2::new(out.y, -out.x) };
                let what = match lies.layer.works[at].kind {
                    MeantKind::Opening => "opening",
                    MeantKind::Pocket => "pocket",
                    _ => "mark",
                };
                for (axis, away) in [out, along].into_iter().zip(work.off) {
                    away.iter().for_each(|away| push(what, away.is - shift.dot(axis), away.plus_minus));
                }
            }
        }
    }

    /// Mean and standard deviation in µm, and the share that the intervals hold.
    fn of(&self, what: &str) -> (f64, f64, f64, usize) {
        let all = &self.0[what];
        let count = all.len() as f64;
        let mean = all.iter().map(|it| it.0).sum::<f64>() / count;
        let squares: f64 = all.iter().map(|it| (it.0 - mean).powi(2)).sum();
        let held = all.iter().filter(|it| it.0.abs() <= it.1).count() as f64 / count;
        (mean * 1e3, (squares / (count - 1.0)).sqrt() * 1e3, held, all.len())
    }
}

const FOUR: [(&str, bool); 4] = [("cover", false), ("base", false), ("cover", true), ("base", false)];

fn errors(seeds: std::ops::Range<u64>, dpi: f64) -> Errors {
    let meant = tokens();
    let mut errors = Errors::default();
    for seed in seeds {
        let mut chance = Chance::of(seed);
        let lies = laid_for(dpi, &meant, &FOUR, &mut chance);
        let measured = scanned(&meant, &lies, &mut chance);
        assert_eq!(measured.parts.len(), FOUR.len(), "seed {seed}: {:?}", measured.remarks);
        errors.add(&measured, &lies.1);
    }
    errors
}

/// Kerfs, and places of openings, pockets and marks, are found to a few µm at 300 and 600 dots to the inch.
#[test]
fn what_was_done_wrong_is_found() {
    for (seeds, dpi) in [(1..4, 300.0), (4..5, 600.0)] {
        let errors = errors(seeds, dpi);
        for (what, most) in [("kerf", 9.0), ("opening", 6.0), ("pocket", 5.0), ("mark", 5.0)] {
            let (mean, deviation, held, count) = errors.of(what);
            assert!(mean.abs() < most && deviation < most, "{what} at {dpi}: {mean:.1} ± {deviation:.1} µm of {count}");
            assert!(held > 0.7, "{what} at {dpi}: {held} of {count}");
        }
    }
}

/// The figures that README states, on two hundred scans at 300 and fifty at 600: `cargo test --release --test suite
/// two_hundred -- --ignored --nocapture`.
#[test]
#[ignore = "takes minutes; states figures"]
fn two_hundred_scans_state_their_figures() {
    for (seeds, dpi) in [(1000..1200, 300.0), (2000..2050, 600.0)] {
        let errors = errors(seeds, dpi);
        for what in ["kerf", "opening", "pocket", "mark"] {
            let (mean, deviation, held, count) = errors.of(what);
            println!("{dpi} dpi, {what}: {mean:.2} ± {deviation:.2} µm; 95 % intervals hold {held:.3} of {count}");
            // Finer scans are surer than is told, since one figure does for both.
            assert!(held >= 0.93 && (held <= 0.985 || dpi > 300.0), "{what}: {held}");
        }
    }
}

fn kinds(measured: &Measured) -> Vec<RemarkKind> {
    let mut kinds: Vec<RemarkKind> = measured.remarks.iter().map(|remark| remark.kind).collect();
    kinds.dedup();
    kinds
}

/// A scan of tokens of which something is amiss, and what is said of it.
fn told(seed: u64, names: &[(&str, bool)], amiss: impl Fn(&mut Scanner, &mut Vec<Lies<'_>>)) -> Measured {
    let meant = tokens();
    let mut chance = Chance::of(seed);
    let (mut scanner, mut lies) = laid(&meant, names, &mut chance);
    amiss(&mut scanner, &mut lies);
    scanned(&meant, &(scanner, lies), &mut chance)
}

const TWO: [(&str, bool); 2] = [("cover", false), ("base", false)];

#[test]
fn a_sound_scan_is_told_without_remarks() {
    let told = told(21, &TWO, |_, _| {});
    assert_eq!(kinds(&told), [] as [RemarkKind; 0], "{:?}", told.remarks);
    assert_eq!(told.parts.len(), 2);
    assert_eq!(told.edge, EdgeBy::Scan);
    assert!(told.scans[0].scale.is_some() && told.scans[0].light_lid);
}

#[test]
fn parts_that_touch_run_off_or_are_strange_are_told() {
    let touching = told(22, &TWO, |_, lies| lies[1].at.x = lies[0].at.x + 27.4);
    assert!(kinds(&touching).contains(&RemarkKind::Touching), "{:?}", touching.remarks);
    let off = told(23, &TWO, |_, lies| lies[0].at.x = 8.0);
    assert_eq!(kinds(&off), [RemarkKind::CutOff], "{:?}", off.remarks);
    assert_eq!(off.parts.len(), 1);
    let (meant, mut chance) = (Meant { layers: [tokens().layers, vec![blank()]].concat(), ..tokens() }, Chance::of(24));
    let lies = laid(&meant, &[("cover", false), ("blank", false)], &mut chance);
    let strange = scanned(&tokens(), &lies, &mut chance);
    let of_it = strange.remarks.iter().find(|it| it.kind == RemarkKind::Unknown).unwrap();
    assert!(of_it.says.contains("is no part of this design"));
}

#[test]
fn a_scan_in_a_mirror_or_of_another_resolution_is_told() {
    let mirrored = told(25, &[("base", false), ("base", false)], |scanner, _| scanner.mirrored = true);
    assert_eq!(kinds(&mirrored), [RemarkKind::Mirrored], "{:?}", mirrored.remarks);
    assert!(mirrored.parts.is_empty());
    let meant = tokens();
    let mut chance = Chance::of(26);
    let (scanner, lies) = laid(&meant, &TWO, &mut chance);
    let picture = synthetic::scan(&scanner, &lies, &mut chance);
    let wrong = measured(&meant, png(&picture, Some(600.0)), None);
    assert_eq!(kinds(&wrong), [RemarkKind::Resolution], "{:?}", wrong.remarks);
    assert!(wrong.remarks[0].says.contains("and 300 would fit"), "{:?}", wrong.remarks);
    let none = measure(&meant, &[ScanFile { name: "scan.png".to_owned(), bytes: png(&picture, None) }], None);
    assert!(none.unwrap_err().contains("states no resolution"));
}

#[test]
fn a_dark_lid_and_a_lossy_file_are_told() {
    let dark = told(27, &TWO, |scanner, _| scanner.lid = 30.0);
    assert_eq!(kinds(&dark), [RemarkKind::DarkLid], "{:?}", dark.remarks);
    let meant = tokens();
    let mut chance = Chance::of(28);
    let (scanner, lies) = laid(&meant, &TWO, &mut chance);
    let (width, height, codes) = synthetic::scan(&scanner, &lies, &mut chance);
    for (quality, wanted) in [(92, false), (40, true)] {
        let mut bytes = Vec::new();
        let mut encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, quality);
        encoder.set_pixel_density(image::codecs::jpeg::PixelDensity::dpi(300));
        encoder.encode(&codes, width as u32, height as u32, image::ExtendedColorType::L8).unwrap();
        let told = measured(&meant, bytes, None);
        assert_eq!(kinds(&told).contains(&RemarkKind::Lossy), wanted, "{:?}", told.remarks);
        let kerf = told.stocks[0].kerf.mean_mm;
        let made = lies.iter().map(|it| it.made.kerf).sum::<f64>() / 2.0;
        assert!((kerf - made).abs() < if wanted { 0.06 } else { 0.02 }, "{kerf} {made}");
    }
}

#[test]
fn what_is_missing_broken_or_lies_one_way_is_told() {
    let missing = told(29, &TWO, |_, lies| {
        let works = lies[1].layer.works.iter().zip(&mut lies[1].made.there);
        works.for_each(|(work, there)| *there = work.kind != MeantKind::Mark);
    });
    assert!(kinds(&missing).contains(&RemarkKind::Missing), "{:?}", missing.remarks);
    let broken = told(30, &TWO, |_, lies| {
        lies[1].made.bite = Some((kurbo::Point::new(15.0, 0.0), 2.5));
    });
    assert_eq!(kinds(&broken), [RemarkKind::Damage], "{:?}", broken.remarks);
    let damage = &broken.parts.iter().find(|part| part.layer == "base").unwrap().damage[0];
    assert!((damage.bearing_deg - 90.0).abs() < 8.0 && damage.long_mm > 2.0, "{damage:?}");
    let one_way = told(31, &TWO, |_, lies| lies.iter_mut().for_each(|it| it.turn = 0.3));
    assert_eq!(kinds(&one_way), [RemarkKind::SameWay], "{:?}", one_way.remarks);
}

/// A disc with nothing on this side has no bearing, and nothing on it tells the scanner's scale.
#[test]
fn a_blank_disc_has_no_bearing() {
    let meant = Meant { layers: vec![blank()], readings: vec![], ..tokens() };
    let mut chance = Chance::of(32);
    let lies = laid(&meant, &[("blank", false)], &mut chance);
    let told = scanned(&meant, &lies, &mut chance);
    assert!(
        kinds(&told).contains(&RemarkKind::NoScale) && kinds(&told).contains(&RemarkKind::NoBearing),
        "{:?}",
        told.remarks
    );
    assert_eq!(told.parts[0].turned_deg, None);
}

/// A calliper's reading moves every edge alike, and only then a kerf is written.
#[test]
fn a_calliper_proves_the_edge() {
    let meant = tokens();
    let mut chance = Chance::of(33);
    let (scanner, lies) = laid(&meant, &FOUR, &mut chance);
    let bytes = png(&synthetic::scan(&scanner, &lies, &mut chance), Some(300.0));
    let before = measured(&meant, bytes.clone(), None);
    assert!(block(&before, None).contains("edge unproven") && !block(&before, None).contains("stock"));
    let first = &before.parts[0];
    let width = least_width(layer(&meant, &first.layer)) + layer(&meant, "base").kerf - first.kerf_mm;
    // As if it were read 0.04 mm wider than the scan has it: all kerfs are 0.04 mm less.
    let after = measured(&meant, bytes.clone(), Some(Known { part: 1, width: width + 0.04 }));
    assert_eq!(after.edge, EdgeBy::Calliper);
    for (before, after) in before.parts.iter().zip(&after.parts) {
        assert!((before.kerf_mm - after.kerf_mm - 0.04).abs() < 2e-4);
    }
    let text = block(&after, None);
    assert!(text.contains("kerf [") && text.contains("spreads usual") && !text.contains("placing"), "{text}");
    let far = measured(&meant, bytes.clone(), Some(Known { part: 1, width: width + 2.0 }));
    assert!(kinds(&far).contains(&RemarkKind::Known) && far.edge == EdgeBy::Scan);
    let none = measured(&meant, bytes, Some(Known { part: 9, width }));
    assert!(kinds(&none).contains(&RemarkKind::Known) && none.edge == EdgeBy::Scan);
}

/// The least width of a hexagon with rounded corners is that between two sides: 30 mm · cos 30° here, by trigonometry.
#[test]
fn the_least_width_is_between_two_sides() {
    let meant = tokens();
    assert!((least_width(layer(&meant, "cover")) - 30.0 * 30.0_f64.to_radians().cos()).abs() < 2e-3);
    assert!((least_width(layer(&meant, "base")) - 30.0).abs() < 2e-3);
}

/// The same picture as TIFF (TIFF 6.0, uncompressed, 300 to the inch), either way round, is measured alike.
#[test]
fn a_tiff_is_read_as_a_png_is() {
    let meant = tokens();
    let mut chance = Chance::of(34);
    let (scanner, lies) = laid(&meant, &TWO, &mut chance);
    let picture = synthetic::scan(&scanner, &lies, &mut chance);
    let by_png = measured(&meant, png(&picture, Some(300.0)), None);
    for little in [true, false] {
        let by_tiff = measured(&meant, tiff(&picture, 300, little), None);
        assert_eq!(by_tiff.parts.len(), 2);
        for (one, other) in by_png.parts.iter().zip(&by_tiff.parts) {
            // A PNG counts whole pixels to the metre.
            assert!((one.kerf_mm - other.kerf_mm).abs() < 1e-3, "{one:?} {other:?}");
        }
    }
}

fn tiff((width, height, codes): &(usize, usize, Vec<u8>), dpi: u32, little: bool) -> Vec<u8> {
    let word = |value: u32| if little { value.to_le_bytes() } else { value.to_be_bytes() };
    let short = |value: u16| if little { value.to_le_bytes() } else { value.to_be_bytes() };
    let mut bytes = if little { b"II*\0".to_vec() } else { b"MM\0*".to_vec() };
    let pixels = 8 + 16;
    bytes.extend(word(pixels + codes.len() as u32));
    for value in [dpi, 1, dpi, 1] {
        bytes.extend(word(value));
    }
    bytes.extend(codes);
    let entries: [(u16, u16, u32); 11] = [
        (256, 4, *width as u32),
        (257, 4, *height as u32),
        (258, 3, 8),
        (259, 3, 1),
        (262, 3, 1),
        (273, 4, pixels),
        (277, 3, 1),
        (278, 4, *height as u32),
        (279, 4, codes.len() as u32),
        (282, 5, 8),
        (283, 5, 16),
    ];
    bytes.extend(short(entries.len() as u16 + 1));
    for (tag, kind, value) in entries.into_iter().chain([(296, 3, 2)]) {
        bytes.extend(short(tag));
        bytes.extend(short(kind));
        bytes.extend(word(1));
        if kind == 3 {
            bytes.extend(short(value as u16));
            bytes.extend(short(0));
        } else {
            bytes.extend(word(value));
        }
    }
    bytes.extend(word(0));
    bytes
}

/// A PNG that declares more pixels than are allowed is refused before anything is decoded.
#[test]
fn a_scan_may_have_so_many_pixels() {
    let head = |side: u32| {
        let mut bytes = png(&(8, 8, vec![200; 64]), Some(300.0));
        bytes[16..20].copy_from_slice(&side.to_be_bytes());
        bytes[20..24].copy_from_slice(&side.to_be_bytes());
        let sum = synthetic::crc(&bytes[12..29]);
        bytes[29..33].copy_from_slice(&sum.to_be_bytes());
        let meant = tokens();
        measure(&meant, &[ScanFile { name: "large.png".to_owned(), bytes }], None).map(|_| ()).unwrap_err()
    };
    let side = (limits::SCAN_PIXELS as f64).sqrt() as u32;
    assert!(!head(side).contains("are allowed"), "{}", head(side));
    assert!(head(side + 1).contains("are allowed"), "{}", head(side + 1));
    // A scan of six bytes a pixel fits as well as its pixels do.
    assert_eq!(limits::SCAN_BYTES / limits::SCAN_PIXELS, 6);
    let many = vec!["none.png"; limits::SCANS + 1];
    let arguments: Vec<&str> = ["measure", "no-such-folder"].into_iter().chain(many).collect();
    let said = String::from_utf8(crate::command_line::run(&arguments).stderr).unwrap();
    assert!(said.contains("201 scans are given, and 200 are allowed"), "{said}");
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("operations.json"), list(TOKENS)).unwrap();
    let large = folder.path().join("large.png");
    std::fs::File::create(&large).unwrap().set_len(limits::SCAN_FILE_BYTES as u64 + 1).unwrap();
    let said = crate::command_line::run(&["measure", folder.path().to_str().unwrap(), large.to_str().unwrap()]).stderr;
    assert!(String::from_utf8(said).unwrap().contains("are allowed"));
}

/// Bars on the picture: one for each stretch of an edge.
#[test]
fn the_picture_draws_deviations() {
    let meant = tokens();
    let mut chance = Chance::of(35);
    let (scanner, lies) = laid(&meant, &TWO, &mut chance);
    let bytes = png(&synthetic::scan(&scanner, &lies, &mut chance), Some(300.0));
    let run = measure(&meant, &[ScanFile { name: "scan".to_owned(), bytes }], None).unwrap();
    let bars: usize = run.edges.iter().map(|(_, edges)| edges.len()).sum();
    let drawn = sheet(&run, &meant);
    assert!(bars > 150 && drawn.matches('L').count() >= bars, "{bars}");
}

/// Middles of openings and pockets by contours at half light, scikit-image 0.26 (`tests/data/scans.py`): within 25 µm of ours, since a
/// shadow moves contours at half light by as much.
#[test]
fn contours_of_another_tool_agree() {
    let folder = crate::dials::root().join("tests/data");
    let theirs = std::fs::read_to_string(folder.join("scans.json")).unwrap();
    let theirs: serde_json::Value = serde_json::from_str(&theirs).unwrap();
    let meant = tokens();
    let told = measured(&meant, std::fs::read(folder.join("scans.png")).unwrap(), None);
    let mut compared = 0;
    for part in &told.parts {
        let of = |it: &&serde_json::Value| {
            let at = &it["rim"];
            (at[0].as_f64().unwrap() - part.at[0]).hypot(at[1].as_f64().unwrap() - part.at[1]) < 3.0
        };
        let Some(them) = theirs["parts"].as_array().unwrap().iter().find(of) else { continue };
        for work in part.works.iter().filter(|work| work.kind != "mark") {
            let within = &them[&work.kind];
            let layer = layer(&meant, &part.layer);
            let it = layer.works.iter().find(|it| it.name == work.name).unwrap();
            let middle = it.path.bounding_box().center().to_vec2();
            let out = if work.axes == "right-up" { Vec2::new(1.0, 0.0) } else { middle / middle.hypot() };
            let along = if work.axes == "right-up" { Vec2::new(0.0, 1.0) } else { Vec2::new(out.y, -out.x) };
            let [first, second] = work.off.map(|it| it.map_or(0.0, |it| it.is));
            let ours = middle + out * first + along * second;
            // How far it is from the middle of the rim needs no turn.
            let ours = ours.hypot();
            let theirs = within.as_f64().unwrap();
            assert!((ours - theirs).abs() < 0.025, "{} of {}: {ours} {theirs}", work.name, part.layer);
            compared += 1;
        }
    }
    assert!(compared >= 3, "{compared}");
}

/// `DIALWRIGHT_SCANS=write cargo test a_scan_for_others` draws the scan that the other tool looks at, and a small one of a single part.
#[test]
fn a_scan_for_others_is_kept() {
    let meant = tokens();
    let mut chance = Chance::of(36);
    let three = laid(&meant, &[("cover", false), ("base", false), ("cover", true)], &mut chance);
    let drawn = synthetic::scan(&three.0, &three.1, &mut chance);
    kept("scans.png", &png(&drawn, Some(300.0)));
    let (mut scanner, lies) = laid_for(150.0, &meant, &[("base", false)], &mut chance);
    scanner.size = Vec2::new(41.0, 41.0);
    kept("scans-small.png", &png(&synthetic::scan(&scanner, &lies, &mut chance), Some(150.0)));
}

fn kept(name: &str, bytes: &[u8]) {
    let path = crate::dials::root().join("tests/data").join(name);
    if std::env::var("DIALWRIGHT_SCANS").is_ok_and(|it| it == "write") {
        std::fs::write(&path, bytes).unwrap();
    }
    let kept = image::load_from_memory(&std::fs::read(path).unwrap()).unwrap().into_luma8();
    let drawn = image::load_from_memory(bytes).unwrap().into_luma8();
    assert_eq!(kept.dimensions(), drawn.dimensions());
    // Functions of the standard library may differ by a bit between machines, and a code by one with them.
    let far = kept.pixels().zip(drawn.pixels()).filter(|(a, b)| a.0[0].abs_diff(b.0[0]) > 1).count();
    assert!(far < 20, "{name}: {far}");
}
