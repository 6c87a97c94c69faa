//! What the list tells beside the work: room on the board, parts in openings, holders, walls, floors and slots. Each is held against
//! the pixels, and altered figures are named, as work that breaks them is.

use dialwright::rehearsal::{Kind, Rehearsal};
use kurbo::Affine;
use serde_json::{Value, json};

use super::{Alter, Altered, CREW, about, bounds, each_is_found, each_is_found_in, moved, over, read};
use crate::command_line::written;

/// A small disc goes into the hole of each ring, since that saves a board.
const GUESTS: &str = r#"dial "Quoits"
with "shop.dial"
layer frame of birch { outline circle(diameter: 94mm); hole eye = circle(diameter: 60mm) }
layer plate of birch { outline circle(diameter: 94mm) }
layer knob of birch { outline circle(diameter: 52mm); engrave text("QUOIT", height: 8mm) }
stack { frame; glue pva; plate; glue pva; knob }
run 2
"#;

/// An outline without an axis, worked on both faces: turned over into a holder.
const HOLDERS: &str = r#"dial "Tally"
layer tag of birch {
  outline path("M-20,-15 L20,-15 L20,5 L5,15 L-20,15 Z")
  engrave text("IN", height: 8mm)
  back engrave text("OUT", height: 8mm)
  flip holder
}
stack { tag }
run 2
"#;

/// An outline that is turned over about its upright line, into the opening that it left.
const TURNED: &str = r#"dial "Plaque"
layer tag of birch {
  outline rectangle(width: 46mm, height: 30mm)
  engrave text("IN", height: 8mm)
  back engrave text("OUT", height: 8mm)
}
stack { tag }
run 2
"#;

/// A board that just holds two rings.
const SHOP: &str = r#"shop "Shed"
stock birch { thickness 3mm; board 104mm by 204mm; kerf 0.15mm }
adhesive pva { cure 24h; gap 0.05mm; strength 1MPa }
"#;

/// Alters a figure of how the first part is turned over.
type Told = fn(&mut Altered, &str, fn(f64) -> f64);

fn of(text: &str) -> Altered {
    let (folder, path) = written(text);
    std::fs::write(folder.path().join("shop.dial"), SHOP).unwrap();
    Altered::of_file(&path)
}

/// Moves a part with all its work in every setup.
fn shift(it: &mut Altered, part: &str, by: (f64, f64)) {
    let setups = it.board()["setups"].as_array().unwrap().len();
    for setup in 0..setups {
        for operation in it.operations(setup).iter_mut().filter(|it| it["part"] == part) {
            moved(operation, Affine::translate(by));
        }
        let lie = &mut it.part(part)["lies"][setup];
        for (axis, by) in [("x", by.0), ("y", by.1)] {
            lie[axis] = json!(lie[axis].as_f64().unwrap() + by);
        }
    }
}

/// The first part that lies in another one.
fn guest(it: &mut Altered) -> String {
    let parts = it.board()["parts"].as_array().unwrap();
    parts.iter().find(|part| part["inside"].is_string()).unwrap()["name"].as_str().unwrap().to_owned()
}

#[test]
fn room_walls_and_floors_are_held_against_pixels() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("a wider margin", Kind::Margin, |it| it.board()["margin"] = json!(8.0)),
        ("a part nearer to the edge", Kind::Margin, |it| shift(it, "base-1", (-2.0, 0.0))),
        ("a wider gap", Kind::Gap, |it| {
            let gap = it.board()["gap"].as_f64().unwrap();
            it.board()["gap"] = json!(gap + 0.5);
        }),
        ("two parts nearer to one another", Kind::Gap, |it| shift(it, "base-1", (1.0, 0.0))),
        ("a wall eaten by a window", Kind::Web, |it| {
            let rim = bounds(it.operation(0, "cover-1", "outline")).y1;
            let top = bounds(it.operation(0, "cover-1", "opening")).y1;
            moved(it.operation(0, "cover-1", "opening"), Affine::translate((0.0, rim - top - 0.8)));
        }),
        ("a thinner wall told", Kind::Web, |it| it.design()["layers"][1]["web"] = json!(0.4)),
        ("thicker walls asked for", Kind::Web, |it| {
            let web = it.design()["layers"][1]["web"].as_f64().unwrap();
            it.design()["layers"][1]["least_web"] = json!(web + 1.0);
            it.design()["layers"][1]["web"] = Value::Null;
        }),
        ("a thicker floor told", Kind::Floor, |it| it.design()["layers"][0]["floor"] = json!(2.9)),
        ("a floor told where there is no pocket", Kind::Floor, |it| it.design()["layers"][0]["floor"] = Value::Null),
        ("a pocket behind a pocket", Kind::Floor, |it| {
            let mut pocket = it.operation(0, "base-1", "pocket").clone();
            let map = about(it, "base-1", 0, Affine::scale_non_uniform(-1.0, 1.0));
            moved(&mut pocket, map);
            pocket["face"] = json!("back");
            it.operations(1).insert(0, pocket);
        }),
        ("an opening told to run over the rim", Kind::Edge, |it| {
            let marks = it.design()["layers"][1]["marks"].as_array_mut().unwrap();
            marks.iter_mut().find(|mark| mark["work"] == "opening").unwrap()["over_the_rim"] = json!(true);
        }),
        ("a wider scored line", Kind::Ink, |it| it.operation(0, "cover-4", "score")["width"] = json!(0.6)),
        ("told to lie in another part", Kind::Guest, |it| it.part("base-1")["inside"] = json!("cover-1")),
        ("more room in the slot", Kind::Slot, |it| it.design()["slot"]["room"] = json!(1.5)),
        ("a slot told not to fit", Kind::Slot, |it| it.design()["slot"]["fits"] = json!(false)),
        ("a dial off the middle of its slot", Kind::Slot, |it| it.design()["slot"]["moved"] = json!([1.2, 0.0])),
        ("a slot with its corners cut off", Kind::Slot, |it| {
            it.design()["slot"]["path"] = json!(["M31,11 L11,31 L-11,31 L-31,11 L-31,-11 L-11,-31 L11,-31 L31,-11 Z"]);
        }),
        ("a thinner stack", Kind::Slot, |it| it.design()["thickness"] = json!(4.0)),
    ];
    each_is_found(CREW, alterations);
}

#[test]
fn work_that_waits_says_so() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("nothing told to wait", Kind::Order, |it| {
            for setup in it.board()["setups"].as_array_mut().unwrap() {
                for operation in setup["operations"].as_array_mut().unwrap() {
                    operation.as_object_mut().unwrap().remove("after");
                }
            }
        }),
        ("what waits for later work", Kind::Order, |it| {
            let setups = it.board()["setups"].as_array().unwrap();
            let named = |setup: &Value| {
                setup["operations"].as_array().unwrap().iter().rev().find(|it| it["name"].is_string()).cloned()
            };
            let late = named(setups.last().unwrap()).unwrap();
            let first = it.operations(0).iter_mut().find(|it| it["part"] == late["part"]).unwrap();
            first["after"] = json!([late["name"]]);
        }),
    ];
    each_is_found("tests/dials/15-front-again.dial", alterations);
}

/// Parts in openings of others: none of them lies otherwise than told, and each alteration is named.
#[test]
fn parts_in_openings_lie_in_their_waste() {
    let mut sound = of(GUESTS);
    let inside = sound.list["boards"].as_array().unwrap().iter().flat_map(|it| it["parts"].as_array().unwrap());
    let inside = inside.filter(|part| part["inside"].is_string()).count();
    assert_eq!(inside, 2, "{}", sound.board()["parts"]);
    let alterations: &[(&str, Kind, Alter)] = &[
        ("moved half over the wall, where it is told to lie", Kind::Guest, |it| {
            let guest = guest(it);
            shift(it, &guest, (20.0, 0.0));
        }),
        ("moved half over the wall, into the host", Kind::Overlap, |it| {
            let guest = guest(it);
            shift(it, &guest, (20.0, 0.0));
        }),
        ("nearer to the wall than the gap", Kind::Gap, |it| {
            let guest = guest(it);
            let host = it.part(&guest)["inside"].as_str().unwrap().to_owned();
            let wall = bounds(it.operation(0, &host, "opening")).x1;
            let edge = bounds(it.operation(0, &guest, "outline")).x1;
            shift(it, &guest, (wall - edge - 0.3, 0.0));
        }),
        ("not told", Kind::Guest, |it| {
            let guest = guest(it);
            it.part(&guest).as_object_mut().unwrap().remove("inside");
        }),
        ("another host told", Kind::Guest, |it| {
            let guest = guest(it);
            let host = it.part(&guest)["inside"].as_str().unwrap().to_owned();
            let other = if host == "frame-2" { "frame-1" } else { "frame-2" };
            it.part(&guest)["inside"] = json!(other);
        }),
        ("its host's opening cut first", Kind::Order, |it| {
            let guest = guest(it);
            let host = it.part(&guest)["inside"].as_str().unwrap().to_owned();
            let at = it.place(0, &host, "opening");
            let opening = it.operations(0).remove(at);
            it.operations(0).insert(0, opening);
        }),
    ];
    each_is_found_in("guests", || of(GUESTS), alterations);
}

/// Parts that are turned over into a mirrored opening beside their own.
#[test]
fn holders_hold_what_is_turned_over() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("no holder is cut", Kind::TurnedOver, |it| {
            let at = it.place(0, "tag-1", "holder");
            it.operations(0).remove(at);
        }),
        ("a holder that is not mirrored", Kind::TurnedOver, |it| {
            let middle = bounds(it.operation(0, "tag-1", "holder")).center().to_vec2();
            let over = Affine::translate(middle) * Affine::scale_non_uniform(-1.0, 1.0) * Affine::translate(-middle);
            moved(it.operation(0, "tag-1", "holder"), over);
        }),
        ("a holder moved by a millimetre", Kind::TurnedOver, |it| {
            moved(it.operation(0, "tag-1", "holder"), Affine::translate((1.0, 0.0)));
        }),
        ("a holder nearer to its part than the gap", Kind::Gap, |it| {
            let (own, holder) =
                (bounds(it.operation(0, "tag-1", "outline")), bounds(it.operation(0, "tag-1", "holder")));
            let way = (own.center() - holder.center()).normalize();
            moved(it.operation(0, "tag-1", "holder"), Affine::translate(way * 0.5));
        }),
        ("a holder over the edge of the board", Kind::OffBoard, |it| {
            let low = bounds(it.operation(0, "tag-1", "holder")).y0;
            moved(it.operation(0, "tag-1", "holder"), Affine::translate((0.0, -low - 1.0)));
        }),
        ("a holder too near to the edge of the board", Kind::Margin, |it| {
            let low = bounds(it.operation(0, "tag-1", "holder")).y0;
            moved(it.operation(0, "tag-1", "holder"), Affine::translate((0.0, 1.0 - low)));
        }),
        ("a holder made wider", Kind::Play, |it| {
            let middle = bounds(it.operation(0, "tag-1", "holder")).center().to_vec2();
            moved(
                it.operation(0, "tag-1", "holder"),
                Affine::translate(middle) * Affine::scale(1.01) * Affine::translate(-middle),
            );
        }),
        ("laid into its own opening", Kind::TurnedOver, |it| {
            it.board()["setups"][1]["turned"]["parts"][0]["into"] = json!("own-opening");
        }),
        ("its waste told on the wrong side", Kind::Edge, |it| {
            it.operation(0, "tag-1", "holder")["waste"] = json!("outside")
        }),
        ("a holder cut after its part is turned over", Kind::TurnedOver, |it| {
            let at = it.place(0, "tag-1", "holder");
            let holder = it.operations(0).remove(at);
            it.operations(1).push(holder);
        }),
    ];
    each_is_found_in("holders", || of(HOLDERS), alterations);
}

/// What the list says that the work comes to in all.
#[test]
fn sums_are_added_up_anew() {
    fn altered(figure: &'static str) -> impl Fn(&mut Altered) {
        move |it| {
            let value = it.list["summary"][figure].as_f64().unwrap();
            it.list["summary"][figure] = json!(value * 1.004);
        }
    }
    let figures = ["cut_length", "score_length", "engraved_area", "pocket_area", "travel"];
    for figure in figures {
        let mut list = Altered::of(CREW);
        altered(figure)(&mut list);
        let found = list.found();
        assert!(matches!(found.remarks.as_slice(), [one] if one.kind == Kind::Sums), "{figure}: {:?}", found.remarks);
    }
    let alterations: &[(&str, Kind, Alter)] = &[
        ("a board too many", Kind::Sums, |it| it.list["summary"]["boards"] = json!(2)),
        ("a part too few", Kind::Sums, |it| it.list["summary"]["parts"] = json!(15)),
        ("boards of a stock", Kind::Sums, |it| it.list["summary"]["stocks"][0]["boards"] = json!(2)),
        ("more boards at the least", Kind::Sums, |it| it.list["summary"]["stocks"][0]["least_boards"] = json!(2)),
        ("a larger share", Kind::Sums, |it| {
            let share = it.list["summary"]["stocks"][0]["share"].as_f64().unwrap();
            it.list["summary"]["stocks"][0]["share"] = json!(share + 0.01);
        }),
        ("two pieces of work in another order", Kind::Sums, |it| {
            let last = it.operations(0).len() - 1;
            let [first, second] = ["base-1", "base-8"].map(|part| it.place(0, part, "engrave"));
            assert!(first < second && second < last);
            it.operations(0).swap(first, second);
        }),
    ];
    each_is_found(CREW, alterations);
}

/// How far what is turned over may lie off, in its own opening and in a holder.
#[test]
fn play_of_turned_parts_is_measured() {
    let told = |it: &mut Altered, what: &str, by: fn(f64) -> f64| {
        let value = over(it)[what].as_f64().unwrap();
        over(it)[what] = json!(by(value));
    };
    type Alteration = (&'static str, Kind, fn(&mut Altered, Told));
    let alterations: &[Alteration] = &[
        ("less play told", Kind::Play, |it, told| told(it, "play", |play| play - 0.06)),
        ("more play told", Kind::Play, |it, told| told(it, "play", |play| play + 0.06)),
        ("told to lie less askew", Kind::Play, |it, told| told(it, "askew", |askew| 0.75 * askew)),
        ("told to lie farther askew", Kind::Play, |it, told| told(it, "askew", |askew| 3.0 * askew)),
        ("told to turn freely", Kind::Play, |it, _| {
            over(it).as_object_mut().unwrap().remove("askew");
        }),
    ];
    for text in [TURNED, HOLDERS] {
        for (what, kind, alter) in alterations {
            let mut altered = of(text);
            alter(&mut altered, told);
            let found = altered.found();
            let named = found.remarks.iter().any(|remark| remark.kind == *kind && remark.place == "tag-1");
            assert!(named && found.remarks.len() == 1, "{what}: {:#?}", found.remarks);
        }
        assert_eq!(of(text).found().remarks, []);
    }
}

/// Slots and dials of any form. The room by hand: a hexagon of 30 across corners, turned by so much, in a slot of the same form, in
/// a round one and in a box; an ellipse that stands across its slot.
#[test]
fn room_in_slots_of_any_form_is_told() {
    let dial = |outline: &str, stops: &str, slot: &str| {
        format!(
            "dial \"In a slot\"\noutline {outline}\nlayer base of card {{ engrave ring marks {{ labels [\"A\", \"B\"]; radius 9mm; \
             height 3mm }} }}\nlayer cover of card {{ window eye = circle(diameter: 6mm) at polar(9mm, 0deg) }}\nstack {{ base; turn on \
             rivet(eyelet) {{ stops {stops} }}; cover }}\nreads marks through eye\nslot {slot} depth 20mm\nrun 1\n"
        )
    };
    let hexagon = "polygon(sides: 6, across_flats: 52mm)";
    let rooms = [
        (hexagon, "[0deg, 180deg]", "polygon(sides: 6, across_flats: 54mm)", 1.0, true),
        (
            hexagon,
            "[0deg, 90deg]",
            "polygon(sides: 6, across_flats: 54mm)",
            27.0 - 26.0 / f64::cos(30f64.to_radians()),
            false,
        ),
        (hexagon, "[0deg, 90deg]", "circle(diameter: 62mm)", 31.0 - 26.0 / f64::cos(30f64.to_radians()), true),
        (
            hexagon,
            "[0deg, 90deg]",
            "rectangle(width: 62mm, height: 62mm)",
            31.0 - 26.0 / f64::cos(30f64.to_radians()),
            true,
        ),
        ("ellipse(width: 60mm, height: 50mm)", "[0deg, 180deg]", "ellipse(width: 64mm, height: 54mm)", 2.0, true),
        ("ellipse(width: 60mm, height: 50mm)", "[0deg, 90deg]", "rectangle(width: 62mm, height: 52mm)", -4.0, false),
    ];
    for (outline, stops, slot, wanted, fits) in rooms {
        let altered = of(&dial(outline, stops, slot));
        assert_eq!(altered.list["designs"][0]["slot"]["fits"], fits, "{outline} in {slot}");
        let found: Rehearsal = read(&altered.folder);
        let [room] = found.slots.as_slice() else { panic!("{:?}", found.slots) };
        assert!((room.room - wanted).abs() < room.within, "{outline} in {slot}: {room:?}, {wanted} by hand");
        let named = found.remarks.iter().any(|remark| remark.kind == Kind::Slot);
        assert_eq!(named, !fits, "{outline} in {slot}: {:?}", found.remarks);
    }
}
