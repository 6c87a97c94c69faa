//! Forty drawings of our own, read by us and by others: pixel for pixel against resvg's rendering of the original, and
//! square by square against the stored answers of another reader.

use std::fs;
use std::path::Path;

use dialwright::artwork::art_from_svg;
use dialwright::geometry::Region;
use kurbo::{Affine, Shape};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree};

/// Side of every drawing, in mm.
const SIDE: f64 = 40.0;
/// Pixels to the millimetre.
const SCALE: f64 = 30.0;

/// How dark each pixel is, 0 to 1, on white.
fn rendered(svg: &str) -> Vec<f64> {
    let mut options = Options { font_family: "DejaVu Sans".to_owned(), ..Options::default() };
    let fonts = options.fontdb_mut();
    for face in [dejavu::sans::regular(), dejavu::sans::bold(), dejavu::serif::regular(), dejavu::serif::bold()] {
        fonts.load_font_data(face.to_vec());
    }
    let tree = Tree::from_str(svg, &options).unwrap();
    let pixels = (SIDE * SCALE) as u32;
    let mut picture = Pixmap::new(pixels, pixels).unwrap();
    picture.fill(resvg::tiny_skia::Color::WHITE);
    let scale = pixels as f32 / tree.size().width();
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut picture.as_mut());
    picture.pixels().iter().map(|pixel| 1.0 - f64::from(pixel.green()) / 255.0).collect()
}

/// Our region as a drawing of one path.
fn redrawn(region: &Region) -> String {
    let down = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, SIDE]);
    let data = (down * region.path()).to_svg();
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40"><path d="{data}"/></svg>"#
    )
}

fn drawings() -> Vec<(String, String)> {
    let files = crate::files("data/drawings", "svg");
    files.iter().map(|file| (crate::stem(file), fs::read_to_string(file).unwrap())).collect()
}

/// What lies outside the page is ours to keep and nobody's to render.
fn on_page(region: &Region) -> Region {
    let page = kurbo::Rect::new(0.0, 0.0, SIDE, SIDE).to_path(1e-3);
    region.intersection(&Region::from_path(&page, dialwright::geometry::Rule::NonZero).unwrap())
}

/// What to say of two readings that differ by more than 0.1 % of the dark area.
fn difference(name: &str, theirs: &[f64], ours: &[f64]) -> Option<String> {
    let area: f64 = theirs.iter().sum();
    let differ: f64 = theirs.iter().zip(ours).map(|(a, b)| (a - b).abs()).sum();
    (differ > 1e-3 * area).then(|| format!("{name}: {:.3} % of its area", 100.0 * differ / area))
}

#[test]
fn forty_drawings_render_as_the_originals_do() {
    let drawings = drawings();
    assert!(drawings.len() >= 40);
    let mut off = Vec::new();
    for (name, svg) in &drawings {
        let art = art_from_svg(svg.as_bytes(), None).unwrap_or_else(|error| panic!("{name}: {error:?}"));
        assert_eq!(art.dropped, [], "{name}");
        let (theirs, ours) = (rendered(svg), rendered(&redrawn(&on_page(&art.ink))));
        off.extend(difference(name, &theirs, &ours));
    }
    assert!(off.is_empty(), "{}", off.join("\n"));
}

#[test]
fn another_reader_finds_the_same_areas() {
    let stored = include_str!("../data/drawings.tsv");
    let rows: Vec<&str> = stored.lines().filter(|row| !row.starts_with('#')).collect();
    assert!(rows.len() >= 30);
    let mut off = Vec::new();
    for row in rows {
        let mut cells = row.split('\t');
        let name = cells.next().unwrap();
        let theirs: Vec<f64> = cells.map(|cell| cell.parse::<f64>().unwrap() / 1000.0).collect();
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("tests/data/drawings/{name}.svg"));
        let art = art_from_svg(&fs::read(file).unwrap(), None).unwrap();
        let dark = rendered(&redrawn(&on_page(&art.ink)));
        let (side, square) = ((SIDE * SCALE) as usize, (4.0 * SCALE) as usize);
        let mut ours = vec![0.0; 100];
        for (at, value) in dark.iter().enumerate() {
            ours[at / side / square * 10 + at % side / square] += value / (SCALE * SCALE);
        }
        off.extend(difference(name, &theirs, &ours));
    }
    assert!(off.is_empty(), "{}", off.join("\n"));
}

#[test]
fn a_reader_of_text_needs_no_fonts_of_the_machine() {
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40"><text id="t" x="2" y="20" font-family="Nobody Has This" font-size="9">Oil</text></svg>"#;
    let art = art_from_svg(svg.as_bytes(), None).unwrap();
    let dropped: Vec<String> = art.dropped.iter().map(ToString::to_string).collect();
    assert_eq!(dropped, ["live text in a typeface that is not here on `t`"]);
    assert!(art.ink.area() > 10.0);
}
