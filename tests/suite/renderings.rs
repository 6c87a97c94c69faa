//! Small drawings, one feature each: what is burnt is what a browser shows, or a finding names what is not taken. What a
//! browser shows of each is stored beside it: see `tests/data/artwork.py`.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use dialwright::artwork::{ArtError, Dropped, art_from_svg};
use dialwright::geometry::Region;
use kurbo::Affine;
use resvg::tiny_skia::{Color, FillRule, Paint, PathBuilder, Pixmap, Transform};

/// Cells to a side of every drawing, which is one inch square.
const SIDE: usize = 96;
/// Our own pixels to the side of a cell.
const FINE: usize = 4;
/// What the darkness of a cell may differ by: an edge that lies a third of a cell, 0.09 mm, elsewhere. Most differ by less than a
/// tenth; the ends of dashes along curves, whose length the browser takes from chords, by up to a third.
const CELL: f64 = 0.35;
/// What all cells may differ by together, as a share of the dark area, or in cells where that is less than 40 of them.
const WHOLE: f64 = 0.03;

fn drawings() -> Vec<PathBuf> {
    crate::files("data/artwork", "svg")
}

/// How dark each cell is in a browser, 0 to 1.
fn shown(drawing: &Path) -> Vec<f64> {
    let picture = image::open(drawing.with_extension("png")).unwrap().into_luma8();
    assert_eq!(picture.dimensions(), (SIDE as u32, SIDE as u32));
    picture.pixels().map(|pixel| f64::from(pixel.0[0]) / 255.0).collect()
}

/// How dark each cell is where this is burnt.
fn burnt(region: &Region) -> Vec<f64> {
    let scale = (SIDE * FINE) as f64 / 25.4;
    let down = Affine::new([scale, 0.0, 0.0, -scale, 0.0, (SIDE * FINE) as f64]);
    let mut path = PathBuilder::new();
    for element in (down * region.path()).elements() {
        let at = |p: kurbo::Point| (p.x as f32, p.y as f32);
        match *element {
            kurbo::PathEl::MoveTo(p) => path.move_to(at(p).0, at(p).1),
            kurbo::PathEl::LineTo(p) => path.line_to(at(p).0, at(p).1),
            kurbo::PathEl::QuadTo(a, p) => path.quad_to(at(a).0, at(a).1, at(p).0, at(p).1),
            kurbo::PathEl::CurveTo(a, b, p) => path.cubic_to(at(a).0, at(a).1, at(b).0, at(b).1, at(p).0, at(p).1),
            kurbo::PathEl::ClosePath => path.close(),
        }
    }
    let mut pixels = Pixmap::new((SIDE * FINE) as u32, (SIDE * FINE) as u32).unwrap();
    pixels.fill(Color::WHITE);
    if let Some(path) = path.finish() {
        let black = Paint { anti_alias: true, ..Paint::default() };
        pixels.fill_path(&path, &black, FillRule::Winding, Transform::identity(), None);
    }
    let mut cells = vec![0.0; SIDE * SIDE];
    for (at, pixel) in pixels.pixels().iter().enumerate() {
        let (row, column) = (at / (SIDE * FINE) / FINE, at % (SIDE * FINE) / FINE);
        cells[row * SIDE + column] += (1.0 - f64::from(pixel.green()) / 255.0) / (FINE * FINE) as f64;
    }
    cells
}

/// The largest difference of a cell, and that of all as a share of the dark area.
fn difference(theirs: &[f64], ours: &[f64]) -> (f64, f64) {
    let differ = || theirs.iter().zip(ours).map(|(a, b)| (a - b).abs());
    (differ().fold(0.0, f64::max), differ().sum::<f64>() / theirs.iter().sum::<f64>().max(40.0))
}

/// What is burnt of a drawing, and what is named.
fn taken(drawing: &Path) -> (Region, Vec<Dropped>) {
    match art_from_svg(&fs::read(drawing).unwrap(), None) {
        Ok(art) => (art.ink, art.dropped),
        Err(ArtError::Nothing { dropped }) => (Region::empty(), dropped),
        Err(error) => panic!("{}: {error:?}", drawing.display()),
    }
}

/// Each drawing with what becomes of it, as reviewed; and that none differs in silence.
#[test]
fn what_a_browser_draws_is_burnt_or_named() {
    let drawings = drawings();
    assert!(drawings.len() >= 250);
    let (mut told, mut silent) = (String::new(), Vec::new());
    for drawing in &drawings {
        let name = crate::stem(drawing);
        if REFUSED.contains(&name.as_str()) {
            let refused = art_from_svg(&fs::read(drawing).unwrap(), None);
            assert!(matches!(refused, Err(ArtError::Unreadable { .. })), "{name}");
            writeln!(told, "{name}: refused").unwrap();
            continue;
        }
        let (ink, dropped) = taken(drawing);
        let (cell, whole) = difference(&shown(drawing), &burnt(&ink));
        let agrees = cell <= CELL && whole <= WHOLE;
        if !agrees && dropped.is_empty() {
            silent.push(format!("{name}: a cell by {cell:.2}, all by {:.2} %", 100.0 * whole));
        }
        let fate = if agrees { "as shown" } else { "differs" };
        writeln!(
            told,
            "{name}: {fate}{}",
            Dropped::told(&dropped).iter().map(|one| format!("; {one}")).collect::<String>()
        )
        .unwrap();
    }
    assert!(silent.is_empty(), "these differ in silence:\n{}", silent.join("\n"));
    insta::with_settings!({ snapshot_path => "../data", prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("artwork", told);
    });
}

/// Drawings that are not read at all.
const REFUSED: [&str; 1] = ["svg-entity"];
