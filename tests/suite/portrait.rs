//! Portraits: colours as stated, the same bytes whoever draws them, and pictures that turn.
//!
//! The small pictures in `tests/answers/portraits` were looked at before they were kept; `DIALWRIGHT_PICTURES=write cargo test
//! portraits_are_as_reviewed` draws them anew.

use std::num::NonZeroUsize;
use std::path::Path;

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::design::{Design, Face};
use dialwright::portrait::{MOST_BYTES, Pixels, Portrait, Turning, View, gif, moving, portrait};
use dialwright::project::MemoryProject;

use crate::command_line::{reviewed, run, said};
use crate::dials::{analysed, root};

fn example(name: &str) -> Analysis {
    analysed(&root().join(name))
}

/// The dial of a text, with a shop of stocks beside the usual one.
fn dial(text: &str) -> Design {
    let project = MemoryProject::default().with("own.dial", text);
    let analysis = analyse(&project, "own.dial", "", &Request::default()).unwrap();
    assert!(!analysis.dials.is_empty(), "{:?}", analysis.findings.iter().map(|it| &it.message).collect::<Vec<_>>());
    analysis.dials[0].design.clone()
}

fn threads(count: usize) -> NonZeroUsize {
    NonZeroUsize::new(count).unwrap()
}

fn still(design: &Design, view: View, size: u32) -> Pixels {
    portrait(design, &Portrait { view, stops: vec![2], size, clear_ground: false }, threads(2))
}

/// Mean of each channel over a field in the middle of a picture, a third of its sides.
fn mean_of_middle(pixels: &Pixels) -> [f64; 3] {
    let (wide, high) = (pixels.wide, pixels.high);
    let within =
        |at: &usize| (wide / 3..2 * wide / 3).contains(&(at % wide)) && (high / 3..2 * high / 3).contains(&(at / wide));
    let field: Vec<usize> = (0..wide * high).filter(within).collect();
    [0, 1, 2].map(|channel| {
        let sum: f64 = field.iter().map(|at| f64::from(pixels.rgba[at * 4 + channel])).sum();
        sum / field.len() as f64
    })
}

const STOCKS: &str = r#"
    shop "colours"
    stock plain { thickness 3mm; board 300mm by 300mm; kerf 0.1mm; material "birch plywood"; colour #d9b98a; engraved #5b3a1e }
    stock dark { thickness 3mm; board 300mm by 300mm; kerf 0.1mm; material "walnut"; colour #6b4423; engraved #2a1608 }
    stock grey { thickness 1.5mm; board 300mm by 300mm; kerf 0.1mm; material "grey card"; colour #a8a8a4; engraved #3c3c3a }
    stock red { thickness 3mm; board 300mm by 300mm; kerf 0.1mm; material "cast acrylic"; colour #b02a30; engraved #f0d0d0 }
    finish blued { stain #3a5a78 }
"#;

/// A bare face comes out in the colour that is stated, whatever it is made of: within 3 of 255 on the mean.
#[test]
fn stated_colours_come_out_as_stated() {
    for (stock, finish, wanted) in [
        ("plain", "", [0xd9, 0xb9, 0x8a]),
        ("dark", "", [0x6b, 0x44, 0x23]),
        ("grey", "", [0xa8, 0xa8, 0xa4]),
        ("red", "", [0xb0, 0x2a, 0x30]),
        ("plain", "finish blued", [0x3a, 0x5a, 0x78]),
    ] {
        let text = format!(
            "dial \"Plate\"\nwith \"stocks.dial\"\noutline circle(diameter: 70mm)\nlayer base of {stock} {{ {finish} }}\nstack {{ base }}\n"
        );
        let project = MemoryProject::default().with("stocks.dial", STOCKS).with("own.dial", text);
        let analysis = analyse(&project, "own.dial", "", &Request::default()).unwrap();
        let said: Vec<_> = analysis.findings.iter().map(|it| &it.message).collect();
        let design = &analysis.dials.first().unwrap_or_else(|| panic!("{stock}: {said:?}")).design;
        for view in [View::Front, View::Back] {
            let mean = mean_of_middle(&still(design, view, 260));
            let off =
                mean.iter().zip(wanted).map(|(mean, wanted)| (mean - f64::from(wanted)).abs()).fold(0.0, f64::max);
            assert!(off <= 3.0, "{stock} {finish} {view:?}: {mean:?} for {wanted:?}");
        }
    }
}

#[test]
fn a_picture_is_the_same_however_many_draw_it() {
    let analysis = example("examples/saltmarsh/sluice.dial");
    let design = &analysis.dials[0].design;
    let wanted = Portrait { view: View::Quarter, stops: vec![4], size: 150, clear_ground: true };
    let turning = Turning { face: Face::Front, size: 60 };
    let all = |count: usize| {
        let threads = threads(count);
        (portrait(design, &wanted, threads).png(), gif(design, &turning, threads), moving(design, &turning, threads))
    };
    let one = all(1);
    assert!(one.0.is_ok() && one.1.is_ok() && one.2.is_ok());
    assert!(all(2) == one && all(7) == one);
}

/// What is there is opaque, its shadow is not, and where neither is there is nothing.
#[test]
fn a_clear_ground_keeps_the_shadow_alone() {
    let analysis = example("examples/first.dial");
    let wanted = Portrait { view: View::Front, stops: vec![], size: 200, clear_ground: true };
    let pixels = portrait(&analysis.dials[0].design, &wanted, threads(2));
    let alpha = |x: usize, y: usize| pixels.rgba[(y * pixels.wide + x) * 4 + 3];
    assert_eq!((alpha(0, 0), alpha(pixels.wide / 2, pixels.high / 2)), (0, 255));
    let shadows = pixels.rgba.chunks(4).filter(|pixel| (20..200).contains(&pixel[3])).count();
    assert!(shadows > 100, "{shadows}");
    let decoded = image::load_from_memory(&pixels.png().unwrap()).unwrap();
    assert_eq!(decoded.color(), image::ColorType::Rgba8);
    assert_eq!(decoded.into_rgba8().into_raw(), pixels.rgba);
}

/// Front and back are at true scale in both directions: a round dial is round.
#[test]
fn a_round_dial_is_round() {
    let design = dial("dial \"Plate\"\noutline circle(diameter: 60mm)\nlayer base of birch { }\nstack { base }\n");
    let wanted = Portrait { view: View::Back, stops: vec![], size: 200, clear_ground: true };
    let pixels = portrait(&design, &wanted, threads(1));
    let opaque = |x: usize, y: usize| pixels.rgba[(y * pixels.wide + x) * 4 + 3] == 255;
    let across = (0..pixels.wide).filter(|x| (0..pixels.high).any(|y| opaque(*x, y))).count();
    let down = (0..pixels.high).filter(|y| (0..pixels.wide).any(|x| opaque(x, *y))).count();
    assert!(across.abs_diff(down) <= 1 && across > 150, "{across} by {down}");
}

/// Every ten stops once, still, with six pictures on the way to the next; the first is whole, and all is small enough for mail.
#[test]
fn a_gif_shows_every_stop_and_its_first_picture_is_whole() {
    let analysis = example("examples/saltmarsh/crew.dial");
    let design = &analysis.dials[0].design;
    let bytes = gif(design, &Turning { face: Face::Front, size: 160 }, threads(2)).unwrap();
    assert!(bytes.len() <= MOST_BYTES, "{}", bytes.len());
    let mut options = ::gif::DecodeOptions::new();
    options.set_color_output(::gif::ColorOutput::RGBA);
    let mut decoder = options.read_info(bytes.as_slice()).unwrap();
    assert_eq!(decoder.repeat(), ::gif::Repeat::Infinite);
    let (wide, high) = (decoder.width(), decoder.height());
    let mut stays = Vec::new();
    while let Some(frame) = decoder.read_next_frame().unwrap() {
        if stays.is_empty() {
            assert_eq!((frame.left, frame.top, frame.width, frame.height), (0, 0, wide, high));
            assert!(frame.buffer.chunks(4).all(|pixel| pixel[3] == 255), "the first picture has holes");
            // The ground is that of the pages it is sent on.
            assert_eq!(frame.buffer[..3], [0xf3, 0xf0, 0xea]);
        }
        stays.push(frame.delay);
    }
    assert_eq!(stays.len(), 10 * 7);
    assert_eq!(stays.iter().filter(|stay| **stay == 90).count(), 10);
}

/// Each kind of turn has its way: wheels all at once, one turn after the other, and back where a pin ends it.
#[test]
fn an_svg_turns_and_stands_still_for_whoever_wants_that() {
    for (name, moving_groups) in [
        ("examples/saltmarsh/crew.dial", 1),
        ("examples/saltmarsh/stores.dial", 3),
        ("examples/saltmarsh/toll.dial", 2),
        ("examples/saltmarsh/sluice.dial", 1),
    ] {
        let analysis = example(name);
        let svg = moving(&analysis.dials[0].design, &Turning { face: Face::Front, size: 80 }, threads(2)).unwrap();
        assert!(
            svg.len() <= MOST_BYTES && svg.contains("@media (prefers-reduced-motion:reduce){.turn{animation:none}}")
        );
        assert_eq!(svg.matches("@keyframes").count(), moving_groups, "{name}");
        assert_eq!(svg.matches("class=\"turn turn-").count(), moving_groups, "{name}");
        let options = resvg::usvg::Options::default();
        let tree = resvg::usvg::Tree::from_str(&svg, &options).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(tree.size().width() > 10.0);
    }
    // The pin of the sluice keeps it from going on past its last stop.
    let sluice = example("examples/saltmarsh/sluice.dial");
    let svg = moving(&sluice.dials[0].design, &Turning { face: Face::Front, size: 40 }, threads(1)).unwrap();
    assert!(svg.contains("rotate(-270deg)") && svg.contains("100%{transform:rotate(0deg)}"), "{svg}");
}

#[test]
fn what_does_not_turn_makes_no_turning_picture() {
    let design = dial("dial \"Plate\"\noutline circle(diameter: 60mm)\nlayer base of birch { }\nstack { base }\n");
    let turning = Turning { face: Face::Front, size: 60 };
    assert_eq!(gif(&design, &turning, threads(1)), Err("nothing of it turns".to_owned()));
    assert_eq!(moving(&design, &turning, threads(1)), Err("nothing of it turns".to_owned()));
}

#[test]
fn portraits_are_as_reviewed() {
    let folder = root().join("tests/answers/portraits");
    for (file, name, view) in [
        ("examples/first.dial", "first-quarter", View::Quarter),
        ("examples/saltmarsh/weather.dial", "weather-front", View::Front),
        ("examples/saltmarsh/sluice.dial", "sluice-quarter", View::Quarter),
        ("examples/saltmarsh/sluice.dial", "sluice-back", View::Back),
        ("examples/saltmarsh/stores.dial", "stores-front", View::Front),
        ("tests/dials/09-back-text.dial", "back-text-back", View::Back),
        ("tests/dials/12-two-stocks.dial", "two-stocks-quarter", View::Quarter),
        ("tests/dials/14-marks.dial", "marks-front", View::Front),
        ("tests/dials/26-an-ink-for-each.dial", "inks-front", View::Front),
    ] {
        let analysis = example(file);
        let drawn = still(&analysis.dials[0].design, view, 128);
        compared(&folder.join(format!("{name}.png")), &drawn);
    }
}

fn compared(path: &Path, drawn: &Pixels) {
    if std::env::var_os("DIALWRIGHT_PICTURES").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, drawn.png().unwrap()).unwrap();
    }
    let kept = image::load_from_memory(&std::fs::read(path).unwrap()).unwrap().into_rgba8();
    assert_eq!((kept.width() as usize, kept.height() as usize), (drawn.wide, drawn.high), "{}", path.display());
    assert!(kept.into_raw() == drawn.rgba, "{} is out of date", path.display());
}

#[test]
fn what_cannot_be_drawn_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let out = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let (crew, lantern) = ("examples/saltmarsh/crew.dial", "examples/saltmarsh/lantern.dial");
    let mut all = String::new();
    for (file, more, name) in [
        (crew, &["--size", "0"][..], "a.png"),
        (crew, &["--size", "100000"], "a.png"),
        (crew, &["--stop", "0"], "a.png"),
        (crew, &["--stop", "11"], "a.png"),
        (crew, &["--stop", "1,2"], "a.png"),
        (crew, &["--clear-ground"], "a.jpg"),
        (crew, &["--stop", "2"], "a.gif"),
        (crew, &["--view", "quarter"], "a.svg"),
        (crew, &[], "a.bmp"),
        (lantern, &[], "a.png"),
        (crew, &["--stop", "11", "--message-format", "json"], "a.png"),
    ] {
        let output = run(&[&["portrait", file, "--out", &out(name)], more].concat());
        all += &format!("{} {name}\n{}\n", more.join(" "), said(&output, folder.path()));
    }
    reviewed("portrait-refused", &all);
    let written: Vec<_> = std::fs::read_dir(folder.path()).unwrap().collect();
    assert!(written.is_empty(), "{written:?}");
}

#[test]
fn pictures_are_written_in_every_form() {
    let folder = tempfile::tempdir().unwrap();
    for (name, form) in [
        ("a.png", Some(image::ImageFormat::Png)),
        ("a.JPG", Some(image::ImageFormat::Jpeg)),
        ("a.gif", Some(image::ImageFormat::Gif)),
        ("a.svg", None),
    ] {
        let path = folder.path().join(name);
        let output = run(&["portrait", "examples/first.dial", "--size", "48", "--out", &path.to_string_lossy()]);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output, folder.path()));
        let bytes = std::fs::read(&path).unwrap();
        assert_eq!(image::guess_format(&bytes).ok(), form, "{name}");
        reviewed(&format!("portrait-{}", name.to_lowercase().replace('.', "-")), &said(&output, folder.path()));
    }
}
