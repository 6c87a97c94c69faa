//! Strength on shapes that must raise nothing: outlines of the language, figures of the default typeface.

use super::by_hand::*;
use dialwright::audit::strength::strength;
use dialwright::geometry::{Region, Rule, shapes};
use kurbo::{Affine, BezPath, Point};
use skrifa::instance::{LocationRef, Size};
use skrifa::outline::{DrawSettings, OutlinePen};
use skrifa::{FontRef, MetadataProvider};

#[derive(Default)]
struct Pen(BezPath);

impl OutlinePen for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.0.move_to((f64::from(x), f64::from(y)));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.0.line_to((f64::from(x), f64::from(y)));
    }
    fn quad_to(&mut self, cx: f32, cy: f32, x: f32, y: f32) {
        self.0.quad_to((f64::from(cx), f64::from(cy)), (f64::from(x), f64::from(y)));
    }
    fn curve_to(&mut self, ax: f32, ay: f32, bx: f32, by: f32, x: f32, y: f32) {
        let [a, b, end] = [(ax, ay), (bx, by), (x, y)].map(|(x, y)| Point::new(f64::from(x), f64::from(y)));
        self.0.curve_to(a, b, end);
    }
    fn close(&mut self) {
        self.0.close_path();
    }
}

/// A character of the default typeface, `height` mm from baseline to cap height, about the origin.
fn letter(character: char, height: f64) -> Region {
    let font = FontRef::new(dejavu::sans::regular()).expect("the default typeface");
    let glyph = font.charmap().map(character).expect("a glyph");
    let outline = font.outline_glyphs().get(glyph).expect("an outline");
    let mut pen = Pen::default();
    outline.draw(DrawSettings::unhinted(Size::unscaled(), LocationRef::default()), &mut pen).expect("drawn");
    let middle = kurbo::Shape::bounding_box(&pen.0).center();
    let sized = Affine::scale(height / 1493.0) * Affine::translate(-middle.to_vec2());
    Region::from_path(&(sized * pen.0), Rule::NonZero).expect("in range")
}

fn marked(shape: Region) -> Vec<String> {
    let plate = layer("plate", circle(30.0)).with(engraving(shape));
    let dial = design(vec![plate], Vec::new(), Vec::new());
    strength(&dial).1.into_iter().map(|problem| problem.message).collect()
}

/// DejaVu Sans strokes are some 0.12 of the cap height: 0.8 mm at 7 mm, 0.14 mm at 1.2 mm. The stock burns 0.3 mm.
#[test]
fn letters_are_too_fine_only_where_they_are_small() {
    let characters = ('!'..='~').chain("ÁČĎĚŘŠŤŮŽßøæ".chars()).filter(|one| !one.is_whitespace());
    let mut wrong = Vec::new();
    for character in characters {
        wrong.extend(marked(letter(character, 7.0)).into_iter().map(|message| format!("{character}: {message}")));
        let small = marked(letter(character, 1.2));
        if !small.iter().any(|message| message.contains("burns no finer")) {
            wrong.push(format!("{character} is silent at 1.2 mm"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Outlines of the language, and bites and notches in them, have no thin webs of their own.
#[test]
fn sound_outlines_raise_nothing() {
    let notches = (0..12).fold(circle(29.0), |body, at| body.difference(&circle(3.0).at(29.0, 30.0 * f64::from(at))));
    let grip = shapes::sector(36.0, 0.0, deg(150.0), deg(210.0)).expect("a sector");
    let outlines = [
        ("scallop", shapes::scallop(66.0, 12, 2.5).expect("a scallop")),
        ("star", shapes::star(5, 30.0, 15.0, 1.0).expect("a star")),
        ("sharp star", shapes::star(8, 30.0, 18.0, 0.0).expect("a star")),
        ("pentagon", shapes::polygon(5, 35.0, 4.0).expect("a pentagon")),
        ("triangle", regular(3, 30.0)),
        ("rectangle", shapes::rectangle(60.0, 40.0, 3.0).expect("a rectangle")),
        ("obround", shapes::obround(60.0, 30.0).expect("an obround")),
        ("sector", shapes::sector(52.0, 34.0, deg(-24.0), deg(24.0)).expect("a sector")),
        ("notched", notches),
        ("with a grip", circle(35.0).difference(&grip)),
        ("hand", circle(22.0).union(&regular(3, 7.0).at(20.0, 0.0))),
    ];
    for (name, outline) in outlines {
        let found: Vec<String> = strength(&design(vec![layer("plate", outline)], Vec::new(), Vec::new()))
            .1
            .into_iter()
            .map(|problem| problem.message)
            .collect();
        assert!(found.is_empty(), "{name}: {found:?}");
    }
}
