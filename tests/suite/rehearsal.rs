//! What is written, read back from the files alone: it agrees with the design, and what is altered in it is found and named.
//!
//! The reader (`src/rehearsal`) shares nothing with the plan, the outputs and the exact geometry; resvg 0.49 draws the SVG. That is
//! translation validation (Pnueli, Siegel and Singerman, 1998).

use std::num::NonZeroUsize;
use std::path::Path;

use dialwright::analysis::Dial;
use dialwright::output;
use dialwright::rehearsal::{Folder, Kind, Reads, Rehearsal, rehearse};
use dialwright::source::Sources;
use kurbo::{Affine, BezPath, Rect, Shape as _};
use serde_json::{Value, json};

use super::dials::{analysed, designs, root};

mod told;

fn written(dial: &Dial, sources: &Sources) -> Folder {
    let mut folder = Folder::default();
    for file in output::files(&dial.design, &dial.audit, dial.made().unwrap(), sources) {
        if file.name == "operations.json" {
            folder.list = String::from_utf8(file.bytes).unwrap();
        } else if file.name.starts_with("board-") {
            folder.drawings.insert(file.name, file.bytes);
        }
    }
    folder
}

fn read(folder: &Folder) -> Rehearsal {
    rehearse(folder, NonZeroUsize::new(2).unwrap(), false).unwrap()
}

/// What is written of every example and every dial of the tests comes to what was meant, stop by stop.
#[test]
fn what_is_written_makes_what_was_meant() {
    let (mut stops, mut close) = (0, 0);
    for path in designs("examples").into_iter().chain(designs("tests/dials")) {
        let analysis = analysed(&path);
        // One variant of a family is written like another.
        for dial in analysis.dials.iter().take(2) {
            let found = read(&written(dial, &analysis.sources));
            // A design may misread as it was drawn, and the list says so; then the pixels must say it too.
            let others = found.remarks.iter().filter(|remark| remark.kind != Kind::Reading);
            assert_eq!(others.collect::<Vec<_>>(), [] as [&dialwright::rehearsal::Remark; 0], "{}", path.display());
            for stop in &found.stops {
                let agree = stop.reads == Reads::Close || (stop.reads == Reads::Right) == stop.said;
                assert!(agree, "{}: {stop:?}", path.display());
            }
            assert!(found.says_what_was_meant && found.dials > 0, "{}", path.display());
            stops += found.stops.len();
            close += found.stops.iter().filter(|stop| stop.reads == Reads::Close).count();
        }
    }
    assert!(stops > 300, "{stops}");
    assert!(close * 20 < stops, "{close} of {stops} are too near to tell");
}

/// A shop that wants a file for each kind of work gets them beside the whole, each with its own work and no other; one that lacks,
/// or shows another's work, is named.
#[test]
fn files_of_single_works_are_read_too() {
    let dial = root().join("tests/dials/34-a-file-for-each-work.dial");
    let folder = Altered::of_file(&dial).folder;
    let names: Vec<&str> = folder.drawings.keys().map(String::as_str).filter(|it| it.contains("setup-1")).collect();
    let works = ["cut-opening", "cut-outline", "engrave", "pocket", "score"];
    let wanted: Vec<String> = works.iter().map(|work| format!("board-1-setup-1-{work}.svg")).collect();
    assert!(wanted.iter().all(|name| names.contains(&name.as_str())), "{names:?}");
    let told = |change: &dyn Fn(&mut Folder)| {
        let mut altered = Altered::of_file(&dial);
        change(&mut altered.folder);
        altered.found().remarks
    };
    assert_eq!(told(&|_| {}), []);
    let lacks = told(&|folder| drop(folder.drawings.remove("board-1-setup-1-score.svg")));
    assert!(lacks.len() == 1 && lacks[0].kind == Kind::Drawing, "{lacks:?}");
    let other = told(&|folder| {
        let pockets = folder.drawings["board-1-setup-1-pocket.svg"].clone();
        folder.drawings.insert("board-1-setup-1-score.svg".to_owned(), pockets);
    });
    assert!(!other.is_empty() && other.iter().all(|it| it.place.contains("score")), "{other:?}");
}

/// A folder of which something is altered.
struct Altered {
    list: Value,
    folder: Folder,
}

impl Altered {
    fn of(name: &str) -> Self {
        Self::of_file(&root().join(name))
    }

    fn of_file(path: &Path) -> Self {
        let analysis = analysed(path);
        let folder = written(&analysis.dials[0], &analysis.sources);
        Self { list: serde_json::from_str(&folder.list).unwrap(), folder }
    }

    fn found(mut self) -> Rehearsal {
        self.folder.list = self.list.to_string();
        read(&self.folder)
    }

    fn board(&mut self) -> &mut Value {
        &mut self.list["boards"][0]
    }

    fn design(&mut self) -> &mut Value {
        &mut self.list["designs"][0]
    }

    fn operations(&mut self, setup: usize) -> &mut Vec<Value> {
        self.board()["setups"][setup]["operations"].as_array_mut().unwrap()
    }

    /// The first operation of a kind on a part.
    fn operation(&mut self, setup: usize, part: &str, what: &str) -> &mut Value {
        let at = self.place(setup, part, what);
        &mut self.operations(setup)[at]
    }

    fn place(&mut self, setup: usize, part: &str, what: &str) -> usize {
        let is = |it: &Value| it["part"] == part && (it["do"] == what || it["edge"] == what);
        self.operations(setup).iter().position(is).unwrap_or_else(|| panic!("no {what} of {part}"))
    }

    fn part(&mut self, name: &str) -> &mut Value {
        let parts = self.board()["parts"].as_array_mut().unwrap();
        parts.iter_mut().find(|it| it["name"] == name).unwrap()
    }

    fn drawing(&mut self, setup: usize, alter: impl Fn(&str) -> String) {
        let name = format!("board-1-setup-{}.svg", setup + 1);
        let text = String::from_utf8(self.folder.drawings[&name].clone()).unwrap();
        let altered = alter(&text);
        assert_ne!(altered, text, "nothing was altered");
        self.folder.drawings.insert(name, altered.into_bytes());
    }
}

/// Moves the contours of an operation.
fn moved(operation: &mut Value, by: Affine) {
    let contours = operation["path"].as_array_mut().unwrap();
    for contour in contours {
        let mut path = BezPath::from_svg(contour.as_str().unwrap()).unwrap();
        path.apply_affine(by);
        *contour = json!(path.to_svg());
    }
}

/// About the axis of a part in a setup.
fn about(altered: &mut Altered, part: &str, setup: usize, what: Affine) -> Affine {
    let lie = &altered.part(part)["lies"][setup];
    let at = kurbo::Vec2::new(lie["x"].as_f64().unwrap(), lie["y"].as_f64().unwrap());
    Affine::translate(at) * what * Affine::translate(-at)
}

/// The box of an operation.
fn bounds(operation: &Value) -> Rect {
    let contours = operation["path"].as_array().unwrap().iter();
    let paths = contours.map(|contour| BezPath::from_svg(contour.as_str().unwrap()).unwrap().bounding_box());
    paths.reduce(|all, one| all.union(one)).unwrap()
}

/// How the first part is turned over.
fn over(altered: &mut Altered) -> &mut Value {
    &mut altered.board()["setups"][1]["turned"]["parts"][0]
}

const CREW: &str = "examples/saltmarsh/crew.dial";

type Alter = fn(&mut Altered);

fn each_is_found(file: &str, alterations: &[(&str, Kind, Alter)]) {
    each_is_found_in(file, || Altered::of(file), alterations);
}

fn each_is_found_in(file: &str, fresh: impl Fn() -> Altered, alterations: &[(&str, Kind, Alter)]) {
    let sound = fresh().found();
    assert!(sound.remarks.is_empty(), "{file} itself: {:?}", sound.remarks);
    let missed: Vec<String> = alterations
        .iter()
        .filter_map(|(what, kind, alter)| {
            let mut altered = fresh();
            alter(&mut altered);
            let found = altered.found();
            let named = found.remarks.iter().any(|remark| remark.kind == *kind);
            (!named).then(|| format!("{what}: not named {}: {:#?}", kind.name(), found.remarks))
        })
        .collect();
    assert!(missed.is_empty(), "{file}: {}", missed.join("\n"));
}

/// Drawings that someone opened, and saved otherwise.
#[test]
fn altered_drawings_are_named() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("a shape deleted", Kind::Disagree, |it| {
            it.drawing(0, |text| {
                let start = text.find("<path d=\"M").and_then(|_| text.find("id=\"engrave\"")).unwrap();
                let path = start + text[start..].find("<path").unwrap();
                let end = path + text[path..].find("</path>").unwrap() + "</path>".len();
                format!("{}{}", &text[..path], &text[end..])
            });
        }),
        ("the engraving moved by 0.3 mm", Kind::Disagree, |it| {
            it.drawing(0, |text| {
                text.replacen("<g id=\"engrave\"", "<g transform=\"translate(0.3,0)\" id=\"engrave\"", 1).replacen(
                    "id=\"engrave\" ",
                    "transform=\"translate(0.3,0)\" id=\"engrave\" ",
                    usize::from(!text.contains("<g id=\"engrave\"")),
                )
            });
        }),
        ("an outline made larger", Kind::Disagree, |it| {
            it.drawing(0, |text| text.replace("id=\"cut-outline\"", "id=\"cut-outline\" transform=\"scale(1.01)\""));
        }),
        ("all mirrored", Kind::Disagree, |it| {
            it.drawing(1, |text| {
                let body = text.find("<g").unwrap();
                let end = text.rfind("</svg>").unwrap();
                format!("{}<g transform=\"translate(305,0) scale(-1,1)\">{}</g></svg>", &text[..body], &text[body..end])
            });
        }),
        ("a group renamed", Kind::Drawing, |it| it.drawing(0, |text| text.replace("id=\"score\"", "id=\"lines\""))),
        ("a kind of work taken for another", Kind::Disagree, |it| {
            it.drawing(0, |text| {
                text.replace("id=\"score\"", "id=\"swap\"")
                    .replace("id=\"cut-opening\"", "id=\"score\"")
                    .replace("id=\"swap\"", "id=\"cut-opening\"")
            });
        }),
        ("a stray shape among the cuts", Kind::Disagree, |it| {
            it.drawing(0, |text| {
                let at = text.find("id=\"cut-outline.").unwrap();
                let at = at + text[at..].find('>').unwrap() + 1;
                format!("{}<path d=\"M280,280 L290,280 L290,290 Z\"/>{}", &text[..at], &text[at..])
            });
        }),
        ("a stray shape beside all groups", Kind::Drawing, |it| {
            it.drawing(0, |text| text.replace("</svg>", "<path d=\"M1,1 L9,1 L9,9 Z\"/></svg>"));
        }),
        ("the page larger", Kind::Drawing, |it| {
            it.drawing(0, |text| {
                text.replace("width=\"305mm\"", "width=\"310mm\"").replace("height=\"305mm\"", "height=\"310mm\"")
            });
        }),
        ("setups exchanged", Kind::Disagree, |it| {
            let (one, two) = ("board-1-setup-1.svg", "board-1-setup-2.svg");
            let (first, second) = (it.folder.drawings[one].clone(), it.folder.drawings[two].clone());
            it.folder.drawings.insert(one.to_owned(), second);
            it.folder.drawings.insert(two.to_owned(), first);
        }),
        ("a drawing lost", Kind::Drawing, |it| {
            it.folder.drawings.remove("board-1-setup-2.svg");
        }),
        ("a drawing too many", Kind::Drawing, |it| {
            let copy = it.folder.drawings["board-1-setup-1.svg"].clone();
            it.folder.drawings.insert("board-2-setup-1.svg".to_owned(), copy);
        }),
        ("a drawing cut short", Kind::Drawing, |it| it.drawing(0, |text| text[..text.len() / 2].to_owned())),
        ("a drawing that is none", Kind::Drawing, |it| it.drawing(0, |_| "not a drawing".to_owned())),
    ];
    each_is_found(CREW, alterations);
}

/// Lists of work that were altered: what is cut and burnt is then not what was meant.
#[test]
fn altered_work_is_named() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("the back mirrored", Kind::Mirrored, |it| {
            let map = about(it, "base-1", 1, Affine::scale_non_uniform(-1.0, 1.0));
            moved(it.operation(1, "base-1", "engrave"), map);
        }),
        ("the front mirrored", Kind::Mirrored, |it| {
            let map = about(it, "cover-1", 0, Affine::scale_non_uniform(-1.0, 1.0));
            moved(it.operation(0, "cover-1", "engrave"), map);
        }),
        ("the kerf on the wrong side of an outline", Kind::Edge, |it| {
            let map = about(it, "base-2", 0, Affine::scale((30.0 - 0.08) / 30.08));
            moved(it.operation(0, "base-2", "outline"), map);
        }),
        ("no kerf at all", Kind::Edge, |it| {
            let map = about(it, "base-2", 0, Affine::scale(30.0 / 30.08));
            moved(it.operation(0, "base-2", "outline"), map);
        }),
        ("the offset told wrongly", Kind::Edge, |it| it.operation(0, "base-1", "outline")["kerf_offset"] = json!(0.16)),
        ("the waste on the side of the part", Kind::Edge, |it| {
            it.operation(0, "cover-1", "opening")["waste"] = json!("outside")
        }),
        ("a window moved by 0.3 mm", Kind::Edge, |it| {
            moved(it.operation(0, "cover-1", "opening"), Affine::translate((0.3, 0.0)))
        }),
        ("a window moved by 2 mm", Kind::Reading, |it| {
            moved(it.operation(0, "cover-1", "opening"), Affine::translate((0.0, 2.0)))
        }),
        ("a window left out", Kind::Reading, |it| {
            let at = it.place(0, "cover-1", "opening");
            it.operations(0).remove(at);
        }),
        ("an outline shifted by 0.3 mm", Kind::Edge, |it| {
            moved(it.operation(0, "base-3", "outline"), Affine::translate((0.3, 0.0)))
        }),
        ("an engraving shifted by 0.3 mm", Kind::Ink, |it| {
            moved(it.operation(0, "base-3", "engrave"), Affine::translate((0.3, 0.0)))
        }),
        ("an engraving turned by 1 degree", Kind::Ink, |it| {
            let map = about(it, "base-3", 0, Affine::rotate(1f64.to_radians()));
            moved(it.operation(0, "base-3", "engrave"), map);
        }),
        ("a label left out", Kind::Ink, |it| {
            // `1` is the one label of a single contour.
            let path = it.operation(0, "base-1", "engrave")["path"].as_array_mut().unwrap();
            path.retain(|contour| !contour.as_str().unwrap().starts_with("M42.99,"));
            assert!(!path.is_empty());
            path.pop();
        }),
        ("an engraving left out", Kind::Ink, |it| {
            let at = it.place(0, "cover-1", "engrave");
            it.operations(0).remove(at);
        }),
        ("a scored line left out", Kind::Ink, |it| {
            let at = it.place(0, "cover-4", "score");
            it.operations(0).remove(at);
        }),
        ("an engraving too many", Kind::Ink, |it| {
            let path = it.operation(0, "base-1", "engrave")["path"].as_array_mut().unwrap();
            path.push(json!("M30,30 L33,30 L33,33 L30,33 Z"));
        }),
        ("a paler engraving", Kind::Ink, |it| it.operation(0, "base-1", "engrave")["tone"] = json!(0.4)),
        ("an engraving that is scored", Kind::Ink, |it| it.operation(0, "base-1", "engrave")["do"] = json!("score")),
        ("a pocket on the other face", Kind::Pocket, |it| {
            let at = it.place(0, "base-1", "pocket");
            let mut pocket = it.operations(0).remove(at);
            pocket["face"] = json!("back");
            it.operations(1).insert(0, pocket);
        }),
        ("a face told wrongly", Kind::Face, |it| it.operation(0, "base-1", "pocket")["face"] = json!("back")),
        ("a pocket moved", Kind::Magnet, |it| {
            moved(it.operation(0, "base-1", "pocket"), Affine::translate((0.5, 0.0)))
        }),
        ("a pocket too narrow", Kind::Magnet, |it| {
            let map = about(it, "base-1", 0, Affine::scale(0.95));
            moved(it.operation(0, "base-1", "pocket"), map);
        }),
        ("a pocket left out", Kind::Pocket, |it| {
            let at = it.place(0, "base-1", "pocket");
            it.operations(0).remove(at);
        }),
        ("a pocket sunk twice", Kind::Pocket, |it| {
            let at = it.place(0, "base-1", "pocket");
            let again = it.operations(0)[at].clone();
            it.operations(0).insert(at, again);
        }),
        ("one pass too few", Kind::Pocket, |it| it.operation(0, "base-1", "pocket")["passes"]["reach"] = json!(1.2)),
        ("a pocket through the floor", Kind::Floor, |it| {
            let pocket = it.operation(0, "base-1", "pocket");
            pocket["depth"] = json!(3.2);
            pocket["passes"]["reach"] = json!(3.2);
        }),
        ("a cut that stands open", Kind::Path, |it| {
            let path = &mut it.operation(0, "base-1", "outline")["path"][0];
            *path = json!(path.as_str().unwrap().trim_end_matches(" Z"));
        }),
        ("a path that is none", Kind::Path, |it| {
            it.operation(0, "base-1", "engrave")["path"][0] = json!("M1,1 L oops")
        }),
        ("an outline left out", Kind::NotFreed, |it| {
            let at = it.place(0, "base-5", "outline");
            it.operations(0).remove(at);
        }),
        ("an outline cut twice", Kind::NotFreed, |it| {
            let at = it.place(0, "base-5", "outline");
            let again = it.operations(0)[at].clone();
            it.operations(0).push(again);
        }),
        ("cut free before it is engraved", Kind::Order, |it| {
            let at = it.place(0, "base-1", "outline");
            let outline = it.operations(0).remove(at);
            it.operations(0).insert(0, outline);
        }),
        ("an opening after the outline", Kind::Order, |it| {
            let at = it.place(0, "cover-1", "opening");
            let opening = it.operations(0).remove(at);
            let end = it.place(0, "cover-1", "outline");
            it.operations(0).insert(end + 1, opening);
        }),
        ("a part off the board", Kind::OffBoard, |it| {
            for setup in [0, 1] {
                for operation in it.operations(setup).iter_mut().filter(|it| it["part"] == "base-1") {
                    moved(operation, Affine::translate((-10.0, 0.0)));
                }
                it.part("base-1")["lies"][setup]["x"] = json!(25.0);
            }
        }),
        ("a part on another one", Kind::Overlap, |it| {
            let x = it.part("base-1")["lies"][0]["x"].as_f64().unwrap();
            for setup in [0, 1] {
                for operation in it.operations(setup).iter_mut().filter(|it| it["part"] == "base-1") {
                    moved(operation, Affine::translate((4.0, 0.0)));
                }
                it.part("base-1")["lies"][setup]["x"] = json!(x + 4.0);
            }
        }),
        ("an engraving that runs into another part", Kind::Overlap, |it| {
            let x = |it: &mut Altered, part: &str| it.part(part)["lies"][0]["x"].as_f64().unwrap();
            let y = |it: &mut Altered, part: &str| it.part(part)["lies"][0]["y"].as_f64().unwrap();
            let by = (x(it, "base-1") - x(it, "cover-1"), y(it, "base-1") - y(it, "cover-1"));
            moved(it.operation(0, "cover-1", "engrave"), Affine::translate(by));
        }),
        ("a part that lies elsewhere than it is cut", Kind::Ink, |it| it.part("base-1")["lies"][1]["x"] = json!(35.3)),
        ("work on a part that is not there", Kind::Count, |it| {
            it.operation(0, "base-1", "engrave")["part"] = json!("lid-1")
        }),
        ("a part forgotten", Kind::Count, |it| {
            it.board()["parts"].as_array_mut().unwrap().retain(|part| part["name"] != "cover-8");
            for setup in [0, 1] {
                it.operations(setup).retain(|operation| operation["part"] != "cover-8");
            }
        }),
        ("two parts of one dial", Kind::Count, |it| it.part("cover-8")["dial"] = json!(7)),
    ];
    each_is_found(CREW, alterations);
}

/// How parts are turned over, and what is put together of them.
#[test]
fn altered_turning_and_assembly_are_named() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("turned about another line", Kind::TurnedOver, |it| {
            it.board()["setups"][1]["turned"]["parts"][0]["about"] = json!(90.0)
        }),
        ("laid back turned", Kind::TurnedOver, |it| it.part("base-1")["lies"][1]["top"] = json!(10.0)),
        ("turned over twice", Kind::TurnedOver, |it| it.part("base-1")["lies"][1]["up"] = json!("front")),
        ("one not turned over", Kind::TurnedOver, |it| {
            it.board()["setups"][1]["turned"]["parts"].as_array_mut().unwrap().remove(0);
        }),
        ("turned over where nothing was cut", Kind::TurnedOver, |it| {
            it.board()["setups"].as_array_mut().unwrap().swap(0, 1);
        }),
        ("a part turned over that is not there", Kind::Count, |it| {
            it.board()["setups"][1]["turned"]["parts"][0]["part"] = json!("lid-1");
        }),
        ("the board turned instead of the parts", Kind::TurnedOver, |it| {
            it.board()["setups"][1]["turned"] = json!({ "how": "board-over" });
        }),
        ("laid into a holder that is not cut", Kind::TurnedOver, |it| {
            it.board()["setups"][1]["turned"]["parts"][0]["into"] = json!("holder");
        }),
        ("laid back a millimetre aside", Kind::TurnedOver, |it| {
            let x = it.part("base-1")["lies"][1]["x"].as_f64().unwrap();
            it.part("base-1")["lies"][1]["x"] = json!(x + 1.0);
        }),
        ("less play told", Kind::Play, |it| {
            let play = over(it)["play"].as_f64().unwrap();
            over(it)["play"] = json!(play - 0.05);
        }),
        ("more play told", Kind::Play, |it| {
            let play = over(it)["play"].as_f64().unwrap();
            over(it)["play"] = json!(play + 0.08);
        }),
        ("told to be kept from turning", Kind::Play, |it| over(it)["askew"] = json!(2.0)),
        ("a magnet turned over", Kind::Magnet, |it| it.design()["magnets"][1]["north"] = json!("down")),
        ("a magnet whose pole is not told", Kind::Magnet, |it| {
            it.design()["magnets"][1].as_object_mut().unwrap().remove("north");
        }),
        ("a magnet on the other face", Kind::Magnet, |it| it.design()["magnets"][0]["face"] = json!("back")),
        ("a magnet in another layer", Kind::Magnet, |it| it.design()["magnets"][0]["layer"] = json!("cover")),
        ("a larger magnet", Kind::Magnet, |it| it.design()["magnets"][0]["diameter"] = json!(9.0)),
        ("a higher magnet", Kind::Magnet, |it| it.design()["magnets"][0]["height"] = json!(2.5)),
        ("a magnet left out", Kind::Magnet, |it| {
            it.design()["magnets"].as_array_mut().unwrap().remove(0);
        }),
        ("a magnet off the axis", Kind::Magnet, |it| it.design()["magnets"][0]["radius"] = json!(3.0)),
        ("a stop at another bearing", Kind::Reading, |it| it.design()["joints"][0]["stops"][3] = json!(120.0)),
        ("another label due", Kind::Reading, |it| it.design()["readings"][0]["stops"][3]["due"] = json!(4)),
        ("a reading told to fail", Kind::Reading, |it| it.design()["readings"][0]["stops"][3]["reads"] = json!(false)),
        ("read from the other side", Kind::Reading, |it| it.design()["readings"][0]["side"] = json!("back")),
        ("two layers exchanged", Kind::Reading, |it| it.design()["layers"].as_array_mut().unwrap().swap(0, 1)),
        ("a narrower slot", Kind::Slot, |it| {
            it.design()["slot"]["path"] = json!(["M29,29 L-29,29 L-29,-29 L29,-29 L29,29 Z"]);
        }),
        ("a shallower slot", Kind::Slot, |it| it.design()["slot"]["depth"] = json!(5.0)),
        ("an outline that was meant larger", Kind::Edge, |it| {
            let contour = &mut it.design()["layers"][0]["outline"][0];
            let mut path = BezPath::from_svg(contour.as_str().unwrap()).unwrap();
            path.apply_affine(Affine::scale(1.01));
            *contour = json!(path.to_svg());
        }),
    ];
    each_is_found(CREW, alterations);
}

/// A magnet that holds by steel.
#[test]
fn altered_washers_are_named() {
    let alterations: &[(&str, Kind, Alter)] = &[
        ("a washer in the place of the magnet", Kind::Magnet, |it| it.design()["magnets"][0]["hole"] = json!(3.0)),
        ("a magnet in the place of the washer", Kind::Magnet, |it| {
            it.design()["magnets"][1].as_object_mut().unwrap().remove("hole");
        }),
        ("a wider washer", Kind::Magnet, |it| it.design()["magnets"][1]["diameter"] = json!(10.0)),
        ("a washer left out", Kind::Magnet, |it| {
            it.design()["magnets"].as_array_mut().unwrap().remove(1);
        }),
    ];
    each_is_found("tests/dials/38-magnet-and-washer.dial", alterations);
}

/// Work that must wait for other work.
#[test]
fn work_that_comes_too_early_is_named() {
    let alterations: &[(&str, Kind, Alter)] = &[("the later work first", Kind::Order, |it| {
        let waits =
            it.design()["layers"].as_array().unwrap().iter().find(|layer| !layer["waits"].is_null()).cloned().unwrap();
        let (work, after) = (waits["waits"][0]["work"].clone(), waits["waits"][0]["after"].clone());
        for setup in it.board()["setups"].as_array_mut().unwrap() {
            for operation in setup["operations"].as_array_mut().unwrap() {
                let name = operation["name"].clone();
                if name == work {
                    operation["name"] = after.clone();
                } else if name == after {
                    operation["name"] = work.clone();
                }
            }
        }
    })];
    each_is_found("tests/dials/15-front-again.dial", alterations);
}

/// What is no list is refused with a sentence, and a list of the former form is read as far as it goes.
#[test]
fn lists_of_other_forms_are_refused_or_read() {
    let mut altered = Altered::of(CREW);
    let list = altered.list.clone();
    let refused = |text: String| {
        rehearse(&Folder { list: text, drawings: Default::default() }, NonZeroUsize::MIN, false).expect_err("no list")
    };
    assert!(refused("{".to_owned()).contains("cannot be read"));
    assert!(refused(list.to_string().replacen("dialwright operations", "another list", 1)).contains("another list"));
    let mut later = list.clone();
    later["version"] = json!(9);
    assert!(refused(later.to_string()).contains("version 9"));
    altered.list["version"] = json!(1);
    altered.list.as_object_mut().unwrap().remove("designs");
    // Nor does it tell these.
    for board in altered.list["boards"].as_array_mut().unwrap() {
        let tells = |it: &mut Value, names: &[&str]| {
            names.iter().filter(|it_| it.as_object_mut().unwrap().remove(**it_).is_some()).count()
        };
        assert_eq!(tells(board, &["margin", "gap"]), 2);
        for operation in
            board["setups"].as_array_mut().unwrap().iter_mut().flat_map(|it| it["operations"].as_array_mut().unwrap())
        {
            tells(operation, &["width", "after"]);
        }
    }
    let found = altered.found();
    assert!(found.remarks.is_empty(), "{:?}", found.remarks);
    assert!(!found.says_what_was_meant && found.parts == 16 && found.stops.is_empty());
}
