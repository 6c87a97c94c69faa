//! Strength on shapes that must raise nothing: outlines of the language, figures of the default typeface.

use super::designs::*;
use dialwright::audit::strength::{LayerStrength, narrowest_web, strength};
use dialwright::design::{Depth, Face, Mark, Work};
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

/// What is found about one layer, and the names of its findings.
fn looked_at(marks: Vec<Mark>) -> (LayerStrength, Vec<&'static str>) {
    let plate = marks.into_iter().fold(layer("plate", circle(30.0)), Worked::with);
    let (found, problems) = strength(&design(vec![plate], Vec::new(), Vec::new()));
    (found.layers[0].clone(), problems.iter().map(|problem| problem.finding.name()).collect())
}

/// Boards of 2.95 mm, by hand: a floor is what depth leaves, less what is taken from above it on the other face or by a pocket that
/// overlaps it on its own; an engraving of no stated depth takes 0.3 mm. At least 0.8 mm is wanted.
#[test]
fn floors_are_what_is_left_from_both_sides() {
    let deep = |face: Face, depth: f64, x: f64| pocket(face, depth, circle(4.0).shifted(x, 0.0));
    let burnt = |depth: Option<f64>, x: f64| Mark {
        face: Face::Back,
        ..mark("", Work::Engrave { tone: 1.0, depth: depth.map(mm), ink: None }, circle(3.0).shifted(x, 0.0))
    };
    let floor = |marks: Vec<Mark>| {
        let (found, names) = looked_at(marks);
        (found.floor.map(|floor| (floor.left.as_mm() * 1e6).round() / 1e6), names)
    };
    let silent: Vec<&str> = Vec::new();
    assert_eq!(floor(vec![deep(Face::Front, 1.6, 0.0)]), (Some(1.35), silent.clone()));
    assert_eq!(floor(vec![deep(Face::Front, 1.6, 0.0), burnt(Some(0.5), 2.0)]), (Some(0.85), silent.clone()));
    assert_eq!(floor(vec![deep(Face::Front, 1.6, 0.0), burnt(Some(0.56), 2.0)]), (Some(0.79), vec!["floor-too-thin"]));
    assert_eq!(floor(vec![deep(Face::Front, 1.6, 0.0), burnt(None, 2.0)]), (Some(1.05), silent.clone()));
    assert_eq!(
        floor(vec![deep(Face::Front, 1.6, 0.0), burnt(Some(0.9), 12.0)]),
        (Some(1.35), silent.clone()),
        "beside it"
    );
    assert_eq!(
        floor(vec![deep(Face::Front, 1.6, 0.0), burnt(Some(0.2), 2.0), burnt(Some(0.4), -2.0)]).0,
        Some(0.95),
        "the deeper one"
    );
    assert_eq!(floor(vec![deep(Face::Front, 1.0, 0.0), deep(Face::Back, 0.9, 3.0)]), (Some(1.05), silent.clone()));
    assert_eq!(floor(vec![deep(Face::Front, 1.6, 0.0), deep(Face::Back, 1.3, 3.0)]).1, ["floor-too-thin"; 2]);
    let (left, names) = floor(vec![deep(Face::Front, 1.6, 0.0), deep(Face::Back, 1.4, 3.0)]);
    assert_eq!((left, names), (Some(-0.05), vec!["pockets-meet"]), "said once");
    assert_eq!(floor(vec![deep(Face::Front, 1.6, 0.0), deep(Face::Back, 1.6, 9.0)]), (Some(1.35), silent.clone()));
    // Two pockets on one face are burnt one after the other where they overlap.
    let (left, names) = floor(vec![deep(Face::Front, 1.0, 0.0), deep(Face::Front, 0.5, 3.0)]);
    assert_eq!((left, names), (Some(1.45), vec!["pockets-overlap"]));
    assert_eq!(floor(vec![deep(Face::Front, 1.0, 0.0), deep(Face::Front, 0.5, 9.0)]), (Some(1.95), silent.clone()));
    let (left, names) = floor(vec![deep(Face::Front, 3.0, 0.0)]);
    assert_eq!((left, names), (Some(-0.05), vec!["pocket-too-deep"]));
    assert_eq!(floor(Vec::new()), (None, silent));
}

/// Webs by hand: to the edge of a disc of 30 mm, between two holes, between a hole and a pocket; half a board, 1.475 mm, is wanted.
#[test]
fn webs_are_the_narrowest_places_between_cuts() {
    let hole = |x: f64| window("", circle(3.0).shifted(x, 0.0));
    let sunk = |x: f64| pocket(Face::Front, 1.0, circle(3.0).shifted(x, 0.0));
    let web = |marks: Vec<Mark>| {
        let (found, names) = looked_at(marks);
        (found.web.map(|web| ((web.width.as_mm() * 100.0).round() / 100.0, web.between)), names)
    };
    let said = |one: &str, other: &str| (one.to_owned(), other.to_owned());
    assert_eq!(web(vec![hole(20.0)]), (Some((7.0, said("a window", "the edge"))), vec![]));
    assert_eq!(web(vec![hole(20.0), hole(10.0)]), (Some((4.0, said("a window", "a window"))), vec![]));
    assert_eq!(web(vec![hole(0.0), sunk(9.0)]), (Some((3.0, said("a window", "a pocket"))), vec![]));
    assert_eq!(web(vec![sunk(25.0)]), (Some((2.0, said("a pocket", "the edge"))), vec![]));
    assert_eq!(web(vec![sunk(9.0), sunk(2.0)]).0.unwrap().0, 18.0, "pockets weaken no web between them");
    let named = Mark { name: Some("eye".into()), ..mark("", Work::Hole, circle(3.0)) };
    assert_eq!(web(vec![named, hole(8.0)]).0.unwrap().1, said("hole `eye`", "a window"));
    assert_eq!((web(vec![hole(25.53)]).1, web(vec![hole(25.51)]).1), (vec!["web-too-thin"], vec![]));
    assert_eq!(web(Vec::new()), (None, vec![]));
    // A bite in the edge leaves a neck of the material itself.
    let bite = window("", circle(20.0).shifted(29.0, 0.0));
    let slot = window("", rectangle(2.0, 37.8).shifted(-10.0, -9.9));
    let (found, names) = looked_at(vec![bite.clone(), slot.clone()]);
    // Both cross the edge. By hand: 30 - |(-11, 9)|, from the slot's corner to the edge.
    let found_web = narrowest_web(
        &design(vec![layer("plate", circle(30.0)).with(bite.clone()).with(slot.clone())], vec![], vec![]),
        &found,
    );
    assert_eq!(found_web.map(|web| (web.as_mm() * 100.0).round() / 100.0), Some(15.79));
    assert_eq!((found.loose, names), (0, vec![]));
    let (found, names) =
        looked_at(vec![window("", circle(10.0).shifted(0.0, 8.0).difference(&circle(8.0).shifted(0.0, 8.0)))]);
    assert_eq!((found.loose, names), (1, vec!["loose-piece"]));
    assert_eq!(looked_at(vec![window("", circle(3.0).shifted(40.0, 0.0))]).1, ["opening-outside-outline"]);
    assert_eq!(looked_at(vec![bite]).0.loose, 0);
}

/// A magnet of 8 mm goes into a pocket that is as wide, to within what flattening leaves, and no narrower; its pocket stands on the
/// axis to a twentieth of a millimetre.
#[test]
fn magnets_go_into_pockets_on_the_axis() {
    let names = |radius: f64, off: f64| {
        let mut dial = two_layers(6, |_| circle(2.0), circle(6.5).at(20.0, 0.0));
        dial.layers[0].marks[0] = pocket(Face::Front, 1.6, circle(radius).shifted(off, 0.0));
        let names: Vec<&str> = strength(&dial).1.iter().map(|problem| problem.finding.name()).collect();
        names
    };
    assert_eq!(names(4.1, 0.0), [""; 0]);
    // With the kerf's 0.03 mm twice over to spare, and without.
    assert_eq!((names(4.031, 0.0), names(4.029, 0.0)), (vec![], vec!["magnet-too-wide"]));
    assert_eq!((names(3.999, 0.0), names(3.99, 0.0)), (vec!["magnet-too-wide"], vec!["magnet-too-wide"]));
    assert_eq!((names(4.2, 0.049), names(4.2, 0.051)), (vec![], vec!["pocket-off-centre"]));
    assert_eq!(names(4.1, 8.2), ["magnet-without-pocket"]);
    // The axis lies in a wide pocket whose middle is far off, and beside a narrow one whose middle is near.
    assert_eq!(
        (names(9.0, 6.0), names(1.0, 2.0)),
        (vec!["pocket-off-centre"], vec!["pocket-off-centre", "magnet-too-wide"])
    );
    let message = |radius: f64| {
        let mut dial = two_layers(6, |_| circle(2.0), circle(6.5).at(20.0, 0.0));
        dial.layers[0].marks[0] = pocket(Face::Front, 1.6, circle(radius));
        strength(&dial).1.iter().map(|problem| problem.message.clone()).collect::<Vec<_>>().join(" ")
    };
    assert!(message(3.5).contains("7mm"), "{}", message(3.5));
    // The wrong face has no pocket for it; a hole right through has one for a magnet that wants it so.
    let mut dial = two_layers(6, |_| circle(2.0), circle(6.5).at(20.0, 0.0));
    dial.layers[0].marks[0].face = Face::Back;
    assert_eq!(strength(&dial).1.iter().count(), 1);
    dial.layers[0].marks[0].work = Work::Pocket { depth: Depth::Through };
    assert_eq!(strength(&dial).1.iter().count(), 1);
    let dialwright::design::Joint::Turn(turn) = &mut dial.joints[0] else { panic!("a turn") };
    let dialwright::design::Pivot::Magnets { lower, .. } = &mut turn.pivot else { panic!("magnets") };
    lower.depth = Depth::Through;
    assert_eq!(strength(&dial).1.iter().count(), 0);
}

/// One finding for each ring and each mark that is too fine, at its finest place, however many of its labels are.
#[test]
fn each_ring_and_mark_is_told_once() {
    let stroke = |wide: f64| rectangle(wide, 3.0);
    let fine =
        |name: &str, radius: f64, wide: f64| ring(name, radius, &even(4), move |at| stroke(wide + 0.01 * at as f64));
    let names = |rings: Vec<dialwright::design::Ring>, marks: Vec<Mark>| {
        let plate = rings.into_iter().fold(layer("plate", circle(30.0)), Worked::ringed);
        let plate = marks.into_iter().fold(plate, Worked::with);
        let (_, problems) = strength(&design(vec![plate], Vec::new(), Vec::new()));
        problems.iter().map(|problem| (problem.finding.name(), problem.message.clone())).collect::<Vec<_>>()
    };
    let count = |rings: Vec<dialwright::design::Ring>, marks: Vec<Mark>| {
        let found = names(rings, marks);
        assert!(found.iter().all(|(name, _)| *name == "feature-too-small"), "{found:?}");
        found.len()
    };
    let apart = |x: f64, n: usize| Mark { origin: span(70 + n), ..engraving(stroke(0.2).shifted(x, 0.0)) };
    // The stock burns no finer than 0.3 mm.
    assert_eq!(count(vec![fine("one", 20.0, 0.2)], vec![]), 1);
    assert_eq!(count(vec![fine("one", 20.0, 0.31)], vec![]), 0);
    assert_eq!(count(vec![fine("one", 20.0, 0.2), fine("other", 10.0, 0.22)], vec![]), 2);
    assert_eq!(count(vec![fine("one", 20.0, 0.2), fine("other", 10.0, 0.22)], vec![apart(1.0, 0), apart(3.0, 1)]), 4);
    let found = names(vec![fine("one", 20.0, 0.2)], vec![]);
    assert!(found[0].1.contains("0.2mm"), "{found:?}");
    // Two marks 0.2 mm apart leave a gap as fine; labels that lie in one another are told with how deep.
    let beside = |x: f64, n: usize| Mark { origin: span(70 + n), ..engraving(rectangle(1.0, 3.0).shifted(x, 0.0)) };
    assert_eq!(
        (count(vec![], vec![beside(0.0, 0), beside(1.2, 1)]), count(vec![], vec![beside(0.0, 0), beside(1.31, 1)])),
        (1, 0)
    );
    let far = Mark { face: Face::Back, ..beside(1.2, 1) };
    assert_eq!(count(vec![], vec![beside(0.0, 0), far]), 0, "the other face");
    let crowded = names(vec![ring("one", 10.0, &[0.0, 10.0], |_| circle(1.5))], vec![]);
    assert_eq!(crowded.iter().map(|it| it.0).collect::<Vec<_>>(), ["labels-overlap"]);
}

/// What an opening takes of an engraving, by hand: half of a bar, a quarter of it, all of it; of a scored line no share is told.
#[test]
fn what_is_cut_away_is_told_by_its_share() {
    let said = |work: Work, shape: Region| {
        let plate = layer("plate", circle(30.0)).with(window("", rectangle(10.0, 10.0))).with(mark("", work, shape));
        let (_, problems) = strength(&design(vec![plate], Vec::new(), Vec::new()));
        let cut = problems.iter().find(|problem| problem.finding.name() == "mark-cut-away");
        cut.map(|problem| problem.message.clone())
    };
    let engrave = || Work::Engrave { tone: 1.0, depth: None, ink: None };
    let bar = |x: f64| rectangle(4.0, 2.0).shifted(x, 0.0);
    let share = |x: f64| said(engrave(), bar(x));
    assert_eq!(share(5.0).as_deref(), Some("a window of `plate` takes away 50 % of the engraving"));
    assert_eq!(share(6.0).as_deref(), Some("a window of `plate` takes away 25 % of the engraving"));
    assert_eq!(share(0.0).as_deref(), Some("a window of `plate` takes away 100 % of the engraving"));
    assert_eq!(share(9.0), None);
    assert_eq!(said(Work::Score, bar(5.0)).as_deref(), Some("a window of `plate` cuts through the scored line"));
}

/// 1 mm is wanted between a mark and any edge: to the outline and to openings alike.
#[test]
fn marks_keep_off_the_edges() {
    let names = |x: f64, opening: bool| {
        let plate = layer("plate", circle(30.0)).with(engraving(circle(2.0).shifted(x, 0.0)));
        let plate = if opening { plate.with(window("", circle(3.0))) } else { plate };
        let (_, problems) = strength(&design(vec![plate], Vec::new(), Vec::new()));
        problems.iter().map(|problem| problem.finding.name()).collect::<Vec<_>>()
    };
    assert_eq!((names(26.9, false), names(27.1, false)), (vec![], vec!["mark-near-edge"]));
    assert_eq!((names(6.1, true), names(5.9, true)), (vec![], vec!["mark-near-edge"]));
    assert_eq!((names(27.99, false), names(28.2, false)), (vec!["mark-near-edge"], vec!["mark-outside-outline"]));
    // What sticks out by a micrometre touches the edge; by three it is outside.
    assert_eq!((names(28.001, false), names(28.003, false)), (vec!["mark-near-edge"], vec!["mark-outside-outline"]));
}

/// What is said of the seats of a dial whose cover has these marks beside its magnet's pocket of 8.2 mm, 1.6 mm deep in its back.
fn broken(cover: Region, marks: Vec<Mark>) -> Vec<(&'static str, String)> {
    let mut dial = two_layers(6, |_| circle(2.0), circle(4.0).at(20.0, 0.0));
    dial.layers[1].outline = cover;
    dial.layers[1].marks.extend(marks);
    let (_, problems) = strength(&dial);
    problems.iter().map(|problem| (problem.finding.name(), problem.message.clone())).collect()
}

/// Two circles of radius r and R whose centres stand d apart: of the first, 2 acos((d2 + r2 - R2) / (2 d r)) lies in the other (law
/// of cosines). All that cuts the wall is told with that, and what leaves it whole is not.
#[test]
fn a_broken_wall_is_told_in_degrees() {
    let disc = || circle(30.0);
    let said = |outline: Region, mark: Option<Mark>| broken(outline, mark.into_iter().collect());
    let degrees = |found: &[(&str, String)]| -> f64 {
        assert_eq!(found.iter().map(|it| it.0).collect::<Vec<_>>(), ["pocket-broken"], "{found:?}");
        found[0].1.split_once("mm): ").unwrap().1.split_once("deg").unwrap().0.parse().unwrap()
    };
    let expected = |d: f64, r: f64, of: f64| 2.0 * ((d * d + r * r - of * of) / (2.0 * d * r)).acos().to_degrees();
    for (far, radius) in [(9.0, 6.0), (5.0, 3.0), (9.5, 5.5), (4.1, 1.0)] {
        let found = degrees(&said(disc(), Some(window("", circle(radius).at(far, 70.0)))));
        assert!((found - expected(far, 4.1, radius)).abs() < 0.4, "{far} {radius}: {found}");
    }
    // The edge, 3 mm from the axis: half the wall lies within acos(3 / 4.1) of square to it.
    let half_plane = rectangle(60.0, 60.0).shifted(27.0, 0.0);
    let found = degrees(&said(half_plane, None));
    assert!((found - 2.0 * (3.0f64 / 4.1).acos().to_degrees()).abs() < 0.4, "{found}");
    // A pocket of the same face, and one wide hole that swallows it.
    let beside = |face: Face, radius: f64| pocket(face, 0.5, circle(radius).at(9.0, 180.0));
    let found = degrees(&said(disc(), Some(beside(Face::Back, 6.0))));
    assert!((found - expected(9.0, 4.1, 6.0)).abs() < 0.4, "{found}");
    assert_eq!(degrees(&said(disc(), Some(window("", circle(4.2))))), 360.0);
    let silent: Vec<(&str, String)> = Vec::new();
    assert_eq!(said(disc(), Some(beside(Face::Front, 6.0))), silent, "the other face, and not as deep as its floor");
    assert_eq!(said(disc(), Some(beside(Face::Back, 3.0))), silent, "1.9 mm are left");
    assert_eq!(said(disc(), Some(window("", circle(3.0)))), silent, "through the floor: the wall is whole");
    // A recess that it is sunk into leaves the wall below it.
    let recess = said(disc(), Some(pocket(Face::Back, 0.3, circle(9.0))));
    assert_eq!(recess.iter().map(|it| it.0).collect::<Vec<_>>(), ["pockets-overlap"]);
}

/// A hole right through that serves as the seat breaks nothing, nor does one that two turns share; a rivet's hole is a seat too.
#[test]
fn seats_of_other_kinds_are_walls_as_well() {
    use dialwright::design::{Fastener, Head, Joint, Pivot, Rivet};
    let names = |dial: &dialwright::design::Design| -> Vec<&'static str> {
        strength(dial).1.iter().map(|problem| problem.finding.name()).collect()
    };
    let through = |joint: &mut Joint| {
        let Joint::Turn(turn) = joint else { panic!("a turn") };
        let Pivot::Magnets { lower, upper, .. } = &mut turn.pivot else { panic!("magnets") };
        for seat in [lower, upper].into_iter().filter(|seat| seat.layer == 1) {
            seat.depth = Depth::Through;
        }
    };
    let shared = |beside: f64| {
        let hole = mark("", Work::Pocket { depth: Depth::Through }, circle(4.1));
        let plate = |name: &str| layer(name, circle(30.0)).with(pocket(Face::Front, 1.6, circle(4.1)));
        let mut top = plate("top");
        top.marks[0].face = Face::Back;
        let middle = layer("middle", circle(30.0)).with(hole).with(window("", circle(3.0).at(beside, 90.0)));
        let mut joints = vec![turns(0, &even(6)), turns(1, &even(6))];
        joints.iter_mut().for_each(through);
        design(vec![plate("base"), middle, top], joints, Vec::new())
    };
    assert_eq!((names(&shared(9.0)), names(&shared(6.0))), (vec![], vec!["pocket-broken"]));
    let riveted = |beside: f64| {
        let plate = |name: &str| layer(name, circle(30.0)).with(mark("", Work::Hole, circle(2.1)));
        let mut joint = turns(0, &even(6));
        let Joint::Turn(turn) = &mut joint else { panic!("a turn") };
        let (grips, name) = ((mm(5.0), mm(6.5)), "eyelet".to_owned());
        let (shank, clearance) = (mm(4.0), mm(0.2));
        let heads = [Head { diameter: mm(7.0), height: mm(1.0) }; 2];
        let kind = Fastener::Rivet;
        turn.pivot = Pivot::Rivet(Rivet { name, kind, shank, heads, grips, clearance, cost: None, origin: None });
        let cover = plate("cover").with(window("", circle(6.0).at(beside, 0.0)));
        design(vec![plate("base"), cover], vec![joint], Vec::new())
    };
    assert_eq!((names(&riveted(10.0)), names(&riveted(8.0))), (vec![], vec!["pocket-broken"]));
}
