//! Every bound on input, just below it and just above: what is allowed works, and what is not is told.

use std::fmt::Write as _;
use std::fs;
use std::process::{Command, Output, Stdio};

use dialwright::analyse::{Analysis, Request, analyse};
use dialwright::artwork::{ArtError, Wanted, art};
use dialwright::limits;
use dialwright::project::MemoryProject;
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

#[test]
fn a_run_may_have_so_many_dials() {
    let of = |dials: usize| names(dial(&format!("run {dials}"), ""));
    assert_bound("count-out-of-bounds", &of(limits::RUN_DIALS), &of(limits::RUN_DIALS + 1));
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

/// README's table and the constants tell the same figures.
#[test]
fn the_readme_lists_every_bound() {
    let readme = fs::read_to_string(crate::dials::root().join("README.md")).unwrap();
    let (_, table) = readme.split_once("## Limits").unwrap();
    let (table, _) = table.split_once("\n## ").unwrap();
    let mib = |bytes: usize| format!("{} MiB", bytes / 1024 / 1024);
    let thousands = |count: usize| match (count / 1_000_000, count / 1_000 % 1_000, count % 1_000) {
        (0, 0, units) => units.to_string(),
        (0, thousands, units) => format!("{thousands},{units:03}"),
        (millions, thousands, units) => format!("{millions},{thousands:03},{units:03}"),
    };
    let effort = usize::try_from(limits::EFFORT).unwrap();
    let wanted = [
        mib(limits::FILE_BYTES),
        mib(limits::ART_BYTES),
        mib(limits::PICTURE_BYTES),
        format!("{} million", limits::PICTURE_PIXELS / 1_000_000),
        format!("{} m from", limits::SIZE_MM / 1_000.0),
        format!("{} deep", limits::WITH_DEPTH),
        format!("{} deep", limits::FOLDER_DEPTH),
        format!("{} deep", limits::NESTING),
        format!("{} deep", limits::EXPRESSION_DEPTH),
        thousands(limits::CHANGES_SHOWN),
        thousands(limits::LIST_LENGTH),
        thousands(limits::EVALUATIONS),
        thousands(limits::SEGMENTS),
        thousands(limits::RUN_DIALS),
        thousands(limits::SEARCHED_PARTS),
        thousands(effort),
        thousands(limits::VARIANTS),
        thousands(limits::COMBINATIONS),
    ];
    for figure in wanted {
        assert!(table.contains(&figure), "{figure} is not in the table of README");
    }
}
