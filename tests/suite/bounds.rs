//! Every bound on input, just below it and just above: what is allowed works, and what is not is told.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::artwork::{ArtError, Wanted, art};
use dialwright::limits;
use dialwright::project::MemoryProject;
use dialwright::source::Sources;
use dialwright::view::{Refusal, route};
use image::ImageEncoder as _;

const STACK: &str = "layer cover of birch { window peep = circle(diameter: 10mm) at polar(16mm, 0deg) }\n\
    stack { base; turn on magnets(disc); cover }\nreads r through peep\n";

/// What nothing asks for is not worked out: this walks a list and marks nothing.
const USE: &str = "score [for x in l where false: circle(radius: 1mm)]";

/// A sound dial with more items, and more on its lower layer.
fn dial(more: &str, base: &str) -> String {
    let ring = if base.contains("ring r") { "" } else { "engrave ring r { labels 1 to 6 }" };
    format!(
        "dial \"Bound\"\noutline circle(diameter: 60mm)\nlayer base of birch {{\n{ring}\n{base}\n}}\n{STACK}{more}\n"
    )
}

fn analysed(project: MemoryProject, request: &Request) -> Analysis {
    analyse(&project, "bound.dial", "", request).unwrap()
}

fn names(text: String) -> Vec<&'static str> {
    named(&analysed(MemoryProject::default().with("bound.dial", text), &Request::default()))
}

fn named(analysis: &Analysis) -> Vec<&'static str> {
    analysis.findings.iter().map(|found| found.finding.name()).collect()
}

/// What is only just allowed is free of the finding, and what is only just not has it.
fn assert_bound(finding: &str, below: &[&'static str], above: &[&'static str]) {
    assert!(!below.contains(&finding), "{finding} below its bound: {below:?}");
    assert!(above.contains(&finding), "no {finding} above its bound: {above:?}");
}

#[test]
fn a_file_may_have_so_many_bytes() {
    let of = |bytes: usize| {
        let project = MemoryProject::default().with("bound.dial", dial("with \"large.dial\"", ""));
        named(&analysed(project.with("large.dial", "/".repeat(bytes)), &Request::default()))
    };
    assert_bound("file-too-large", &of(limits::FILE_BYTES), &of(limits::FILE_BYTES + 1));
}

#[test]
fn a_table_may_have_so_many_bytes_and_rows() {
    let of = |table: String| {
        let label = "let who = [for name in column(\"crew.csv\", \"name\"): text(name, height: 4mm)]";
        let project = MemoryProject::default().with("bound.dial", dial(label, ""));
        named(&analysed(project.with("crew.csv", table), &Request::default()))
    };
    let bytes = |bytes: usize| of(format!("name,{}\nAda,1\n", "a".repeat(bytes - "name,\nAda,1\n".len())));
    assert_bound("file-too-large", &bytes(limits::TABLE_BYTES), &bytes(limits::TABLE_BYTES + 1));
    let rows = |rows: usize| of(format!("name\n{}", "a\n".repeat(rows)));
    assert_bound("bad-table", &rows(limits::LIST_LENGTH), &rows(limits::LIST_LENGTH + 1));
}

#[test]
fn numbers_have_so_many_digits() {
    let of = |width: u32| names(dial(&format!("let mark = text(digits(7, {width}), height: 4mm)"), "engrave mark"));
    assert_bound("count-out-of-bounds", &of(limits::DIGITS), &of(limits::DIGITS + 1));
}

#[test]
fn brackets_and_operators_may_go_so_deep() {
    let brackets = |deep: usize| names(dial(&format!("let x = {}1mm{}", "(".repeat(deep), ")".repeat(deep)), ""));
    assert_bound("too-deep", &brackets(limits::NESTING), &brackets(limits::NESTING + 1));
    let chain = |deep: usize| names(dial(&format!("let x = 1mm{}", " + 1mm".repeat(deep - 1)), ""));
    assert_bound("too-deep", &chain(limits::EXPRESSION_DEPTH), &chain(limits::EXPRESSION_DEPTH + 1));
}

#[test]
fn shared_files_may_chain_so_far() {
    let of = |deep: usize| {
        let mut project = MemoryProject::default().with("bound.dial", format!("{}with \"1.dial\"\n", dial("", "")));
        for file in 1..deep {
            project = project.with(format!("{file}.dial"), format!("with \"{}.dial\"\n", file + 1));
        }
        named(&analysed(project.with(format!("{deep}.dial"), "let last = 1mm\n"), &Request::default()))
    };
    assert_bound("with-too-deep", &of(limits::WITH_DEPTH), &of(limits::WITH_DEPTH + 1));
}

#[test]
fn so_many_values_are_worked_out() {
    // A list of lists of sums.
    let of =
        |rows: usize| names(dial(&format!("let l = [for a in 1 to {rows}: [for b in 1 to 1000: a + b + a]]"), USE));
    let finding = "too-many";
    let (mut fine, mut over) = (100, 1_000);
    assert_bound(finding, &of(fine), &of(over));
    while over - fine > 1 {
        let middle = fine + (over - fine) / 2;
        *(if of(middle).contains(&finding) { &mut over } else { &mut fine }) = middle;
    }
    // Each sum takes five values: three names and two additions.
    let per_row = limits::EVALUATIONS / over;
    assert!((5_000..5_010).contains(&per_row), "{over} rows are too many, {per_row} values each");
}

/// Each name holds the one before twice.
#[test]
fn texts_may_grow_so_far() {
    let of = |bytes: usize| {
        let doubled = |from: usize, to: usize| (from..to).map(|at| format!("let t{} = \"{{t{at}}}{{t{at}}}\"", at + 1));
        let lines: Vec<String> = doubled(0, 12).collect();
        let first = "x".repeat(bytes >> 12);
        let more = format!("let t0 = \"{first}\"\n{}\nlet all = [text(t12, height: 1mm)]", lines.join("\n"));
        names(dial(&more, "score [for x in [t12] where false: circle(radius: 1mm)]"))
    };
    assert_bound("too-many", &of(limits::TEXT_BYTES), &of(limits::TEXT_BYTES + (1 << 12)));
}

/// Letters over one another: the more of them, the more pairs may cross. What it would take is told before it is begun.
#[test]
fn so_much_work_is_done_for_a_dial() {
    const { assert!(limits::WORK >= 1_000_000_000) };
    let of = |letters: usize| {
        names(dial("", &format!("engrave text(\"{}\", height: 4mm, tracking: -4.7mm)", "M".repeat(letters))))
    };
    assert_bound("too-much-work", &of(2), &of(2_000));
}

/// Layers by the hundred, each with a joint that may lie askew and an opening to see through: every one is looked at with all others.
#[test]
fn layers_by_the_hundred_come_to_an_end() {
    let covers: Vec<String> = (0..300).map(|at| format!("cover{at}")).collect();
    let layer =
        |name| format!("layer {name} of birch {{ window in_{name} = circle(diameter: 12mm) at polar(20mm, 0deg) }}");
    let layers: Vec<String> = covers.iter().map(layer).collect();
    let text = format!(
        "dial \"A\"\noutline circle(diameter: 60mm)\nlayer base of birch {{ engrave ring points {{ labels 0 to 9 }} }}\n{}\n\
         stack {{ base; turn on magnets(disc); {} }}\nreads points through in_cover0\n",
        layers.join("\n"),
        covers.join("; glue; "),
    );
    assert!(names(text).contains(&"too-much-work"));
}

/// A hundred names of lists that hold the one before twice: two to the power of a hundred items, if each were looked at.
#[test]
fn doubled_lists_take_no_more_than_their_names() {
    let lists = |name: &str| -> String {
        let lines = (1..=100).map(|at| format!("let {name}{at} = [{name}{0}, {name}{0}]\n", at - 1));
        std::iter::once(format!("let {name}0 = [1, 2]\n")).chain(lines).collect()
    };
    let same = names(dial(&format!("{}expect a100 is a100 \"one and the same\"", lists("a")), ""));
    assert!(!same.contains(&"too-much-work") && !same.contains(&"not-as-expected"), "{same:?}");
    // Two towers of their own are looked at item by item, for as long as there is work left.
    let apart = format!("{}{}expect a100 is b100 \"alike\"", lists("a"), lists("b"));
    assert!(names(dial(&apart, "")).contains(&"too-much-work"));
    let moved = format!("{}let far = circle(radius: 1mm)\n", lists("a"));
    assert!(names(dial(&moved, "score [for x in a100 at (1mm, 1mm) where false: far]")).len() < 50);
}

/// Thousands of slips among thousands of names: all are told, with no more comparing than there is work for.
#[test]
fn slips_by_the_thousand_are_told() {
    let lines: Vec<String> = (0..2_000).map(|at| format!("let name{at} = missing{at}")).collect();
    let found = names(dial(&lines.join("\n"), ""));
    assert_eq!(found.iter().filter(|name| **name == "unknown-name").count(), 2_000);
}

/// A few lines of a drawing that ask for one thing a thousand million times over, by every kind of reference.
#[test]
fn references_within_references_come_to_an_end() {
    let drawing = |inner: &str| {
        format!(r##"<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">{inner}</svg>"##)
    };
    let told = |inner: &str| art(drawing(inner).as_bytes(), &Wanted::default()).map(|_| ());
    let nested = |one: &dyn Fn(usize) -> String| -> String { (1..=40).map(one).collect() };
    let square = r##"<path d="M0 0h8v8z"/>"##;
    let uses = nested(&|at| format!(r##"<g id="n{at}"><use href="#n{0}"/><use href="#n{0}"/></g>"##, at - 1));
    let inside = |kind: &str, by: &str| {
        let one = |at: usize| {
            let shape = format!(r##"<path d="M0 0h8v8z" {by}="url(#n{})"/>"##, at - 1);
            format!(r##"<{kind} id="n{at}" width="9" height="9">{shape}{shape}</{kind}>"##)
        };
        format!(
            r##"<{kind} id="n0" width="9" height="9">{square}</{kind}>{}<path d="M0 0h8v8z" {by}="url(#n40)"/>"##,
            nested(&one)
        )
    };
    assert_eq!(
        told(&format!(r##"<g id="n0">{square}</g><defs>{uses}</defs><use href="#n40"/>"##)),
        Err(ArtError::TooMuch)
    );
    for (kind, by) in [
        ("clipPath", "clip-path"),
        ("mask", "mask"),
        ("pattern", "fill"),
        ("pattern", "stroke"),
        ("marker", "marker-mid"),
    ] {
        assert_eq!(told(&inside(kind, by)), Err(ArtError::TooMuch), "{kind} by {by}");
    }
    // A filter is not taken, so that nothing is worked out for it.
    let blurs = "<feGaussianBlur stdDeviation=\"900\"/><feMorphology radius=\"400\"/>".repeat(200);
    let filtered = format!(
        r##"<filter id="f" x="-99" y="-99" width="999" height="999">{blurs}</filter><path d="M0 0h8v8z" filter="url(#f)"/>"##
    );
    assert_eq!(told(&filtered), Ok(()));
    assert!(dialwright::artwork::preview(drawing(&filtered).as_bytes(), 200).is_ok());
}

#[test]
fn lists_and_copies_may_have_so_many_members() {
    let finding = "too-many";
    let range = |members: usize| names(dial(&format!("let l = 1 to {members}"), USE));
    assert_bound(finding, &range(limits::LIST_LENGTH), &range(limits::LIST_LENGTH + 1));
    let written = |members: usize| names(dial(&format!("let l = [{}]", "1, ".repeat(members)), USE));
    assert_bound(finding, &written(limits::LIST_LENGTH), &written(limits::LIST_LENGTH + 1));
    let copies = |copies: usize| names(dial(&format!("let l = [circle(radius: 1mm) repeated {copies}]"), USE));
    assert_bound("count-out-of-bounds", &copies(limits::LIST_LENGTH), &copies(limits::LIST_LENGTH + 1));
}

#[test]
fn shapes_may_be_so_large() {
    let of = |radius: f64| names(dial(&format!("let s = circle(radius: {radius}mm)"), "score s"));
    // A circle's curves stray from it by less than a micrometre for each metre.
    assert_bound("out-of-bounds", &of(limits::SIZE_MM - 0.01), &of(limits::SIZE_MM + 0.01));
}

/// Lengths that make something; how far away a dial is read makes nothing.
#[test]
fn lengths_may_be_so_long() {
    let finding = "out-of-bounds";
    let board = |long: f64| {
        let shop = "stock birch { material \"birch plywood\"; thickness 3mm; board 600mm by LONG }\n\
            magnet disc { diameter 6mm; height 2mm; remanence 1.2T }";
        names(dial(&shop.replace("LONG", &format!("{long}mm")), ""))
    };
    let most = limits::LENGTH_MM;
    assert_bound(finding, &board(most), &board(most + 0.01));
    let depth = |deep: f64| names(dial(&format!("slot 40mm by 30mm by {deep}mm"), ""));
    assert_bound(finding, &depth(most), &depth(most + 0.01));
    let read = |far: f64| names(dial("", "").replace("through peep", &format!("through peep from {far}mm")));
    assert_bound(finding, &read(1e9), &depth(most + 0.01));
}

/// A ring's labels are bounded by where they come to lie, before anything is made of them: the height of one that stands
/// alone at a radius of 1 m, and the radius of one 10 mm high.
#[test]
fn labels_of_a_ring_may_be_so_far_out() {
    let finding = "out-of-bounds";
    let ring = |fields: &str| names(dial("", &format!("engrave ring r {{ labels [\"I\"]; {fields} }}")));
    let high = |height: f64| ring(&format!("radius 1m; height {height}mm"));
    assert_bound(finding, &high(17_000.0), &high(18_010.0));
    for endless in [1e9, 1e12, 1e15] {
        assert!(high(endless).contains(&finding), "{endless}");
    }
    let far = |radius: f64| ring(&format!("radius {radius}mm; height 10mm"));
    assert_bound(finding, &far(limits::SIZE_MM - 5.1), &far(limits::SIZE_MM - 4.9));
    let bent = |radius: f64| ring(&format!("radius {radius}mm; height 10mm; curved"));
    assert_bound(finding, &bent(limits::SIZE_MM - 5.1), &bent(limits::SIZE_MM - 4.9));
    let ticks = |at: f64| ring(&format!("radius 16mm; height 5mm; ticks 4; tick 2mm by 1mm; ticks_at {at}mm"));
    assert_bound(finding, &ticks(limits::SIZE_MM - 1.1), &ticks(limits::SIZE_MM - 0.9));
}

#[test]
fn outlines_may_have_so_many_pieces() {
    let of = |segments: usize| {
        let mut data = String::from("M0 0");
        (0..segments).for_each(|at| {
            let _ = write!(data, "h{}", if at % 2 == 0 { 1 } else { -1 });
        });
        names(dial(&format!("let l = [trace(\"{data}\")]"), USE))
    };
    // The first element of a path is where it starts.
    assert_bound("too-many", &of(limits::SEGMENTS - 1), &of(limits::SEGMENTS));
}

/// The smallest of dials, since all of them are laid.
#[test]
fn a_run_may_have_so_many_dials() {
    let of = |dials: usize| {
        let text = format!("dial \"Bound\"\noutline circle(diameter: 20mm)\nlayer base of birch {{ }}\nrun {dials}\n");
        analysed(MemoryProject::default().with("bound.dial", text), &Request::default())
    };
    let most = of(limits::RUN_DIALS);
    assert_bound("count-out-of-bounds", &named(&most), &named(&of(limits::RUN_DIALS + 1)));
    assert_eq!(most.dials[0].plan.as_ref().map(dialwright::plan::Plan::part_count), Some(limits::RUN_DIALS));
}

#[test]
fn a_family_may_have_so_many_variants() {
    let of = |variants: usize| {
        let side = variants / 100;
        let list = |count: usize| (0..count).map(|at| format!("{}mm", 40.0 + at as f64 / 100.0)).collect::<Vec<_>>();
        let family = format!(
            "param x: length = 40mm \"x\"\nparam y: length = 40mm \"y\"\nfamily {{ each x in [{}]; each y in [{}] }}",
            list(side).join(", "),
            list(100).join(", ")
        );
        let project = MemoryProject::default().with("bound.dial", dial(&family, ""));
        // None has this name, so that nothing is worked out but the family itself.
        named(&analysed(project, &Request { variant: Some("none of them".to_owned()), ..Request::default() }))
    };
    assert_bound("too-many", &of(limits::VARIANTS), &of(limits::VARIANTS + 100));
}

#[test]
fn a_reading_may_have_so_many_stops() {
    let of = |lower: usize, upper: usize| {
        names(format!(
            "dial \"Bound\"\noutline circle(diameter: 60mm)\nlayer base of birch {{ engrave ring r {{ labels 1 to 4; height 3mm }} }}\n\
             layer middle of birch {{ window wide = sector(radius: 26mm, inner: 8mm, from: -80deg, to: 80deg) }}\n\
             layer cover of birch {{ window peep = circle(diameter: 8mm) at polar(16mm, 0deg) }}\n\
             stack {{ base; turn on magnets(disc) {{ stops {lower} }}; middle; turn on magnets(disc) {{ stops {upper} }}; cover }}\n\
             reads r through wide, peep\n"
        ))
    };
    assert_bound("too-many-stops", &of(100, limits::COMBINATIONS / 100), &of(101, limits::COMBINATIONS / 100));
}

#[test]
fn artwork_may_have_so_many_bytes() {
    let drawing = r##"<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0h9v9z"/></svg>"##;
    let of =
        |bytes: usize| art((drawing.to_owned() + &" ".repeat(bytes - drawing.len())).as_bytes(), &Wanted::default());
    assert!(of(limits::ART_BYTES).is_ok());
    assert_eq!(of(limits::ART_BYTES + 1), Err(ArtError::TooLarge { bytes: limits::ART_BYTES + 1 }));
}

/// Half a circle of radius r is pi r long; a circle that is an element by itself counts by its radius.
#[test]
fn drawings_may_be_so_large_and_have_so_many_arcs() {
    let of = |content: &str| {
        let drawing = format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0h9v9z"/>
            <g display="none">{content}</g></svg>"##
        );
        art(drawing.as_bytes(), &Wanted::default()).map(|_| ())
    };
    let half = |length: f64| {
        let radius = length / std::f64::consts::PI;
        of(&format!(r##"<path d="M0 0a{radius} {radius} 0 0 1 {} 0"/>"##, 2.0 * radius))
    };
    let beyond = Err(ArtError::Geometry(dialwright::geometry::GeometryError::OutOfRange));
    assert_eq!(half(limits::DRAWING_SIZE * 0.999_999), Ok(()));
    assert_eq!(half(limits::DRAWING_SIZE * 1.000_001), beyond);
    let circle = |radius: f64| of(&format!(r##"<circle r="{radius}"/>"##));
    assert_eq!((circle(limits::DRAWING_SIZE), circle(limits::DRAWING_SIZE * 1.1)), (Ok(()), beyond.clone()));
    for endless in
        ["a18 18 0 1 1 3e61 0", "A1e-4 1e6 0 0 0 9 0", "m1e300 0a1 1 0 0 0 1e300 0", "l1e308 0 1e308 0a1 1 0 0 0 1 1"]
    {
        assert_eq!(of(&format!(r##"<path d="M0 0{endless}"/>"##)), beyond, "{endless}");
    }
    let arcs = |count: usize| of(&format!(r##"<path d="M0 0{}"/>"##, "a1 1 0 0 0 1 1".repeat(count)));
    assert_eq!((arcs(limits::SEGMENTS), arcs(limits::SEGMENTS + 1)), (Ok(()), Err(ArtError::TooMuch)));
}

#[test]
fn pictures_may_have_so_many_pixels() {
    let of = |width: u32, height: u32| {
        // The upper half is black.
        let grey = |at: usize| if at < (width * height / 2) as usize { 0 } else { 255 };
        let greys: Vec<u8> = (0..(width * height) as usize).map(grey).collect();
        let mut bytes = Vec::new();
        let encoder = image::codecs::png::PngEncoder::new(&mut bytes);
        encoder.write_image(&greys, width, height, image::ExtendedColorType::L8).unwrap();
        art(&bytes, &Wanted::default())
    };
    let side = 5_000;
    assert_eq!((side * side) as usize, limits::PICTURE_PIXELS);
    assert!(of(side, side).is_ok());
    assert_eq!(of(side, side + 1), Err(ArtError::TooManyPixels { width: side, height: side + 1 }));
}

fn run(arguments: &[&str], folder: &std::path::Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").stdin(Stdio::null()).output().unwrap()
}

#[test]
fn so_many_tries_may_be_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bound.dial"), dial("", "")).unwrap();
    let of = |tries: i64| run(&["build", "bound.dial", "--effort", &tries.to_string()], folder.path()).status.code();
    assert_eq!([of(limits::EFFORT), of(limits::EFFORT + 1)], [Some(0), Some(2)]);
}

#[test]
fn folders_are_searched_so_deep() {
    let of = |deep: usize| {
        let folder = tempfile::tempdir().unwrap();
        let inner = folder.path().join("d/".repeat(deep));
        fs::create_dir_all(&inner).unwrap();
        fs::write(inner.join("bound.dial"), "dial \"x\"\n").unwrap();
        run(&["tidy", ".", "--check"], folder.path()).status.code()
    };
    assert_eq!([of(limits::FOLDER_DEPTH), of(limits::FOLDER_DEPTH + 1)], [Some(0), Some(2)]);
}

#[test]
fn so_many_changes_are_printed() {
    let of = |lets: usize| {
        let folder = tempfile::tempdir().unwrap();
        let text = |value: usize| {
            let marks: Vec<String> = (0..lets).map(|at| format!("param p{at}: count = {value} \"p\"")).collect();
            dial(&marks.join("\n"), "")
        };
        fs::write(folder.path().join("old.dial"), text(1)).unwrap();
        fs::write(folder.path().join("new.dial"), text(2)).unwrap();
        String::from_utf8(run(&["diff", "old.dial", "new.dial"], folder.path()).stdout).unwrap()
    };
    assert!(!of(limits::CHANGES_SHOWN).contains("changes more"));
    assert!(of(limits::CHANGES_SHOWN + 1).contains("and 1 changes more"));
}

#[test]
fn a_table_of_readings_may_have_so_many_rows() {
    let told = |rows: usize, at: usize, mm: f64| {
        let mut table = String::from("thing,which,at,reading,unit\n");
        table += &format!("depth,,{at},{mm},mm\n").repeat(rows - 1);
        let mut sources = Sources::default();
        let id = sources.add("readings.csv", table);
        dialwright::coupon::readings(&sources, id).1.iter().map(|found| found.finding.name()).collect::<Vec<_>>()
    };
    let most = limits::LIST_LENGTH;
    assert_bound("readings-table", &told(most, 1, 1.0), &told(most + 1, 1, 1.0));
    assert_bound("readings-row", &told(2, most, 1.0), &told(2, most + 1, 1.0));
    assert_bound("readings-cell", &told(2, 1, limits::SIZE_MM), &told(2, 1, limits::SIZE_MM + 0.1));
}

#[test]
fn shapes_may_have_so_many_sides() {
    for shape in [
        "polygon(side: 0.1mm, sides:",
        "star(diameter: 20mm, inner: 10mm, points:",
        "scallop(diameter: 20mm, depth: 0.1mm, lobes:",
    ] {
        let of = |sides: u32| names(dial(&format!("let s = {shape} {sides})"), "score s"));
        assert_bound("count-out-of-bounds", &of(limits::SIDES), &of(limits::SIDES + 1));
    }
}

#[test]
fn a_typeface_may_have_so_many_bytes() {
    let of = |bytes: usize| {
        let mut file = dejavu::sans::regular().to_vec();
        file.resize(bytes, 0);
        let project = MemoryProject::default().with("bound.dial", dial("typeface \"own.ttf\"", ""));
        named(&analysed(project.with("own.ttf", file), &Request::default()))
    };
    assert_bound("typeface-missing", &of(limits::ART_BYTES), &of(limits::ART_BYTES + 1));
}

#[test]
fn a_drawing_may_have_so_many_elements() {
    // The root of the tree, the drawing itself and its path are three.
    let of = |empty: usize| {
        let elements = "<g/>".repeat(empty);
        let svg = format!(
            r##"<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><path d="M0 0h9v9z"/>{elements}</svg>"##
        );
        art(svg.as_bytes(), &Wanted::default())
    };
    let most = limits::DRAWING_NODES as usize;
    assert!(of(most - 3).is_ok());
    assert!(matches!(of(most - 2), Err(ArtError::Unreadable { .. })));
}

/// No kind of pixel that is read takes more than 8 bytes (PNG 3rd edition, 11.2.1: four channels of 16 bits), so the bound on
/// memory is never met before that on pixels. It holds whatever decoders come later.
#[test]
fn pixels_within_their_bound_keep_that_on_memory() {
    let most = |pixels: usize| pixels * 8;
    assert!(most(limits::PICTURE_PIXELS) <= limits::PICTURE_BYTES);
    assert!(most(limits::PICTURE_PIXELS + limits::PICTURE_PIXELS / 20) > limits::PICTURE_BYTES);
}

#[test]
fn a_run_is_wanted_within_the_calendar() {
    let of = |wanted: &str| names(dial(&format!("run 1 {{ wanted \"{wanted}\" }}"), ""));
    for (below, above) in [
        ("9999-12-31 23:59", "10000-01-01 00:00"),
        ("0001-01-01 00:00", "0000-12-31 23:59"),
        ("2028-02-29 10:00", "2026-02-29 10:00"),
        ("2026-12-04 23:59", "2026-12-04 24:00"),
    ] {
        assert_bound("bad-moment", &of(below), &of(above));
    }
}

#[test]
fn values_from_outside_keep_the_bounds_of_the_language() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bound.dial"), dial("param across: length = 3mm from 1mm to 9mm", "")).unwrap();
    let told = |value: &str| {
        let output = run(&["check", "bound.dial", "--set", &format!("across={value}")], folder.path());
        (output.status.code(), String::from_utf8_lossy(&output.stderr).contains("too-deep"))
    };
    let nested = |deep: usize| format!("{}3mm{}", "(".repeat(deep), ")".repeat(deep));
    assert_eq!(
        [told(&nested(limits::NESTING)), told(&nested(limits::NESTING + 1))],
        [(Some(0), false), (Some(1), true)]
    );
    assert_eq!([told("9mm").0, told("9.001mm").0], [Some(0), Some(1)]);
}

#[test]
fn so_many_jobs_and_shards_may_be_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let family = "param x: length = 40mm \"x\"\nfamily { each x in [40mm] }";
    fs::write(folder.path().join("bound.dial"), dial(family, "")).unwrap();
    let of =
        |flag: &str, value: &str| run(&["build", "bound.dial", "--no-print", flag, value], folder.path()).status.code();
    let jobs = |count: i64| of("--jobs", &count.to_string());
    assert_eq!([jobs(limits::JOBS), jobs(limits::JOBS + 1), jobs(0)], [Some(0), Some(2), Some(2)]);
    let shards = |count: u32| of("--shard", &format!("1/{count}"));
    assert_eq!([shards(limits::SHARDS), shards(limits::SHARDS + 1)], [Some(0), Some(2)]);
}

/// A family whose members all fail alike is told in so many lines.
#[test]
fn so_many_variants_are_told_by_the_line() {
    let folder = tempfile::tempdir().unwrap();
    let told = |variants: usize| {
        let values: Vec<String> = (0..variants).map(|at| format!("{}mm", 40 + at)).collect();
        let family = format!("param x: length = 40mm \"x\"\nfamily {{ each x in [{}] }}", values.join(", "));
        fs::write(folder.path().join("bound.dial"), dial(&family, "")).unwrap();
        let output = run(&["build", "bound.dial", "--no-print", "--jobs", "2", "--out", "out"], folder.path());
        String::from_utf8(output.stdout).unwrap()
    };
    assert!(told(limits::VARIANTS_SHOWN).contains("x_40mm"));
    assert!(!told(limits::VARIANTS_SHOWN + 1).contains("x_40mm"));
}

#[test]
fn so_many_findings_of_a_family_are_told() {
    let folder = tempfile::tempdir().unwrap();
    let told = |findings: usize| {
        let lines: Vec<String> = (0..findings).map(|at| format!("let n{at} = missing{at}")).collect();
        let family = "param x: length = 40mm \"x\"\nfamily { each x in [40mm, 41mm] }\n";
        fs::write(folder.path().join("bound.dial"), dial(&format!("{family}{}", lines.join("\n")), "")).unwrap();
        let output = run(&["build", "bound.dial", "--no-print", "--out", "out"], folder.path());
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(!told(limits::FAMILY_FINDINGS_SHOWN).contains("more findings"));
    assert!(told(limits::FAMILY_FINDINGS_SHOWN + 1).contains("and 1 more findings"));
}

/// What an editor sends, and what the server answers to it.
fn asked_as_editor(sent: &[u8]) -> String {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    let command = command.arg("serve-editor").stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
    let mut server = command.spawn().unwrap();
    let mut input = server.stdin.take().unwrap();
    input.write_all(sent).unwrap();
    drop(input);
    String::from_utf8(server.wait_with_output().unwrap().stdout).unwrap()
}

#[test]
fn a_message_of_an_editor_may_have_so_many_bytes() {
    let of = |bytes: u64| {
        let blanks = vec![b' '; usize::try_from(bytes).unwrap()];
        asked_as_editor(&[format!("Content-Length: {bytes}\r\n\r\n").as_bytes(), &blanks].concat())
    };
    assert!(of(limits::MESSAGE_BYTES).contains("no JSON"));
    assert!(of(limits::MESSAGE_BYTES + 1).contains("longer than"));
}

#[test]
fn a_line_of_a_header_may_have_so_many_bytes() {
    // What stands beyond the bound begins a line of its own.
    let of = |bytes: u64| {
        let most = usize::try_from(bytes).unwrap();
        let filled = format!("X:{}", "x".repeat(most - 2));
        asked_as_editor(format!("{filled}Content-Length: 2\r\n\r\n[]").as_bytes())
    };
    assert!(of(limits::MESSAGE_HEADER_BYTES - 1).contains("without a `Content-Length`"));
    assert!(of(limits::MESSAGE_HEADER_BYTES).contains("neither a request"));
}

#[test]
fn a_request_to_the_live_page_may_have_so_many_bytes() {
    let of = |address: usize, headers: usize| {
        let host = "127.0.0.1:8123";
        let kept = dialwright::view::cookie(8123, "secret");
        let kept = kept.split(';').next().unwrap();
        let own: usize = ["host", host, "cookie", kept, "x-more"].iter().map(|text| text.len()).sum();
        let padding = "x".repeat(headers - own);
        let address = format!("/state?{}", "x".repeat(address - "/state?".len()));
        let request =
            axum::http::Request::get(address).header("host", host).header("cookie", kept).header("x-more", padding);
        route(&request.body(()).unwrap().into_parts().0, 8123, "secret")
    };
    let (address, headers) = (limits::REQUEST_ADDRESS_BYTES, limits::REQUEST_HEADER_BYTES);
    assert!(of(address, headers).is_ok());
    assert_eq!(of(address + 1, headers), Err(Refusal::TooLong));
    assert_eq!(of(address, headers + 1), Err(Refusal::TooLong));
}

/// Bounds that are met inside a stage, each with the file whose tests meet it.
const ELSEWHERE: [(&str, &str); 12] = [
    ("COMBINATIONS_SOUGHT", "tests/suite/seek.rs"),
    ("DESIGNS_SOUGHT", "src/seek/tests.rs"),
    ("FREE_PARAMS", "tests/suite/seek.rs"),
    ("TRADED", "tests/suite/seek.rs"),
    ("RECORD_BYTES", "src/cli/family/disk.rs"),
    ("SHARING_DESIGNS", "src/cli/serve_editor/files.rs"),
    ("REQUEST_BYTES", "tests/suite/live_page.rs"),
    ("SEARCHED_PARTS", "src/plan/nest/mod.rs"),
    ("SCAN_PIXELS", "tests/suite/scans/mod.rs"),
    ("SCAN_BYTES", "tests/suite/scans/mod.rs"),
    ("SCAN_FILE_BYTES", "tests/suite/scans/mod.rs"),
    ("SCANS", "tests/suite/scans/mod.rs"),
];

/// Every constant, how the table of the reference says it, and what its row is about.
fn figures() -> Vec<(&'static str, String, &'static str)> {
    let mib = |bytes: usize| format!("{} MiB", bytes / 1024 / 1024);
    let kib = |bytes: usize| format!("{} KiB", bytes / 1024);
    let count = |count: usize| match (count / 1_000_000, count / 1_000 % 1_000, count % 1_000) {
        (0, 0, units) => units.to_string(),
        (0, thousands, units) => format!("{thousands},{units:03}"),
        (millions, thousands, units) => format!("{millions},{thousands:03},{units:03}"),
    };
    let deep = |levels: usize| format!("{levels} deep");
    let long = |value: u64| usize::try_from(value).unwrap();
    let signed = |value: i64| usize::try_from(value).unwrap();
    vec![
        ("FILE_BYTES", mib(limits::FILE_BYTES), "a design or shared file"),
        ("TABLE_BYTES", mib(limits::TABLE_BYTES), "a table that"),
        ("DIGITS", count(limits::DIGITS as usize), "digits that"),
        ("NESTING", deep(limits::NESTING), "brackets within brackets"),
        ("WITH_DEPTH", deep(limits::WITH_DEPTH), "shared files within"),
        ("EVALUATIONS", count(limits::EVALUATIONS), "values worked out"),
        ("TEXT_BYTES", kib(limits::TEXT_BYTES), "a text that values"),
        ("WORK", format!("{} million", count(usize::try_from(limits::WORK / 1_000_000).unwrap())), "steps of work"),
        ("LIST_LENGTH", count(limits::LIST_LENGTH), "a list"),
        ("SIZE_MM", format!("{} m from", limits::SIZE_MM / 1_000.0), "anything drawn"),
        ("LENGTH_MM", format!("{} m", limits::LENGTH_MM / 1_000.0), "a length"),
        ("SEGMENTS", count(limits::SEGMENTS), "curve pieces"),
        ("SIDES", count(limits::SIDES as usize), "sides of a polygon"),
        ("RUN_DIALS", count(limits::RUN_DIALS), "dials in a run"),
        ("SEARCHED_PARTS", count(limits::SEARCHED_PARTS), "parts of one stock"),
        ("EFFORT", count(signed(limits::EFFORT)), "`--effort`"),
        ("VARIANTS", count(limits::VARIANTS), "variants of a family"),
        ("JOBS", count(signed(limits::JOBS)), "`--jobs`"),
        ("SHARDS", count(limits::SHARDS as usize), "shards of a build"),
        ("FAMILY_FINDINGS_SHOWN", count(limits::FAMILY_FINDINGS_SHOWN), "findings of a family"),
        ("VARIANTS_SHOWN", count(limits::VARIANTS_SHOWN), "lines of variants"),
        ("RECORD_BYTES", format!("{} GiB", limits::RECORD_BYTES / 1024 / 1024 / 1024), "a former build"),
        ("ART_BYTES", mib(limits::ART_BYTES), "artwork or a typeface"),
        ("PICTURE_PIXELS", format!("{} million", limits::PICTURE_PIXELS / 1_000_000), "a picture"),
        ("PICTURE_BYTES", mib(limits::PICTURE_BYTES), "a picture"),
        ("SCAN_PIXELS", format!("{} million", limits::SCAN_PIXELS / 1_000_000), "a scan that"),
        ("SCAN_BYTES", mib(limits::SCAN_BYTES), "a scan that"),
        ("SCAN_FILE_BYTES", mib(limits::SCAN_FILE_BYTES), "a scan that"),
        ("SCANS", count(limits::SCANS), "scans of one run"),
        ("DRAWING_NODES", count(limits::DRAWING_NODES as usize), "elements of a drawing"),
        ("SEGMENTS", count(limits::SEGMENTS), "arcs of a drawing"),
        ("DRAWING_SIZE", format!("{} million", limits::DRAWING_SIZE as usize / 1_000_000), "arcs of a drawing"),
        ("DESIGNS_SOUGHT", count(limits::DESIGNS_SOUGHT), "one question of"),
        ("FREE_PARAMS", count(limits::FREE_PARAMS), "free at once"),
        ("COMBINATIONS_SOUGHT", count(limits::COMBINATIONS_SOUGHT), "all with all"),
        ("TRADED", count(limits::TRADED), "seek --trade"),
        ("COMBINATIONS", count(limits::COMBINATIONS), "combinations of stops"),
        ("EXPRESSION_DEPTH", deep(limits::EXPRESSION_DEPTH), "brackets and operators"),
        ("CHANGES_SHOWN", count(limits::CHANGES_SHOWN), "changes that `diff`"),
        ("FOLDER_DEPTH", deep(limits::FOLDER_DEPTH), "folders within folders"),
        ("MESSAGE_BYTES", mib(long(limits::MESSAGE_BYTES)), "a message of an editor"),
        ("MESSAGE_HEADER_BYTES", kib(long(limits::MESSAGE_HEADER_BYTES)), "a line of its header"),
        ("SHARING_DESIGNS", count(limits::SHARING_DESIGNS), "looked through"),
        ("REQUEST_HEADER_BYTES", kib(limits::REQUEST_HEADER_BYTES), "a request to the live page"),
        ("REQUEST_ADDRESS_BYTES", kib(limits::REQUEST_ADDRESS_BYTES), "a request to the live page"),
        ("REQUEST_BYTES", kib(limits::REQUEST_BYTES), "a request to the live page"),
    ]
}

/// The numbers of a text, as they are written.
fn numbers(text: &str) -> Vec<String> {
    let words = text.split(|sign: char| !sign.is_ascii_digit() && sign != ',');
    words.map(|word| word.trim_matches(',').to_owned()).filter(|word| !word.is_empty()).collect()
}

/// The table of the reference and the constants tell the same figures; every constant is in the table, and its
/// bound is tested.
#[test]
fn the_reference_lists_every_bound() {
    let table = fs::read_to_string(crate::dials::root().join("src/reference/topics/limits.md")).unwrap();
    let figures = figures();
    let rows = table.lines().filter_map(|line| line.strip_prefix("| ")?.strip_suffix(" |")?.split_once(" | "));
    let rows: Vec<(&str, &str)> = rows.filter(|(what, _)| !["what", "---"].contains(what)).collect();
    let row = |about: &str| rows.iter().position(|(what, _)| what.contains(about));
    // A row may hold several bounds, in the order of its words; it says no figure that is not one of them.
    for (at, (what, said)) in rows.iter().enumerate() {
        let of_row = figures.iter().filter(|(.., about)| row(about) == Some(at));
        let wanted: Vec<String> = of_row.flat_map(|(_, figure, _)| numbers(figure)).collect();
        assert_eq!(numbers(said), wanted, "the row about {what}");
    }
    for (name, figure, about) in &figures {
        let (_, said) = rows[row(about).unwrap_or_else(|| panic!("no row is about {about}"))];
        assert!(said.contains(figure), "{name}: {figure} is not in the row about {about}: {said}");
    }
    let constants = include_str!("../../src/limits.rs").lines().filter_map(|line| line.strip_prefix("pub const "));
    let constants: BTreeSet<&str> = constants.filter_map(|line| line.split(':').next()).collect();
    assert_eq!(constants, figures.iter().map(|(name, ..)| *name).collect());
    let (tests, _) = include_str!("bounds.rs").split_once("\nconst ELSEWHERE").unwrap();
    for name in constants {
        let elsewhere = ELSEWHERE.iter().find(|(known, _)| *known == name);
        let there = elsewhere.map(|(_, file)| fs::read_to_string(crate::dials::root().join(file)).unwrap());
        let (_, tested) = there.as_deref().map_or(("", tests), |text| text.split_once("#[test]").unwrap());
        let word =
            |text: &str| text.split(|sign: char| !sign.is_alphanumeric() && sign != '_').any(|word| word == name);
        assert!(word(tested), "{name} is not tested");
    }
}
