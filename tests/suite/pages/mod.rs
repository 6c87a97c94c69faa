//! What README, the topics of the reference and the pages of findings show is compiled: every dial, every table of readings, every output of a command.
//!
//! The first block of a page shows its finding; every later one is free of it, and of errors. A block that begins with a remark
//! `// NAME.dial` alone is that file, beside the block before it. What a block lacks is completed (see `completed`); what it takes from
//! files is made here.

mod completed;

use std::io::Cursor;
use std::path::Path;
use std::process::Command;

use dialwright::analysis::{Analysis, Request, Session, Threads, analyse, quick_check};
use dialwright::diagnostics::{Diagnostic, Finding, Severity};
use dialwright::project::{MemoryProject, Project, ReadProblem};
use dialwright::reference::Topic;
use dialwright::seek::{self, Question};
use dialwright::syntax::tree::Expr;
use image::{ImageFormat, Rgb, RgbImage};

use crate::command_line::run;
use crate::dials::root;
use completed::{completed, first_word, items, shop};

/// Findings that no text alone can show: the front end makes every turn's pockets itself.
const NOT_SHOWN: [&str; 1] = ["magnet-without-pocket"];

/// What is not added to the first block of a page, because its finding is about that.
const LEFT_OUT: [(&str, &[&str]); 6] = [
    ("empty-file", &["title", "layers", "stack", "outline", "shop"]),
    ("no-title", &["title"]),
    ("no-layers", &["layers", "stack"]),
    ("no-outline", &["outline"]),
    ("no-stack", &["stack"]),
    ("nominal-figures", &["shop"]),
];

/// A block of a page, between its fences.
struct Block {
    language: String,
    text: String,
    /// The paragraph before it.
    before: String,
}

fn blocks(page: &str) -> Vec<Block> {
    let (mut found, mut before, mut open) = (Vec::new(), String::new(), None::<(String, String)>);
    for line in page.lines() {
        match (&mut open, line.strip_prefix("```")) {
            (None, Some(language)) => open = Some((language.to_owned(), String::new())),
            (Some((language, text)), Some(_)) => {
                let block = Block { language: std::mem::take(language), text: std::mem::take(text), before };
                found.push(block);
                (before, open) = (String::new(), None);
            }
            (Some((_, text)), None) => *text += &format!("{line}\n"),
            (None, None) if line.is_empty() => {}
            (None, None) => before += &format!("{line} "),
        }
    }
    found
}

/// The file that a block is, where it says so.
fn file_name(text: &str) -> Option<&str> {
    let name = text.lines().next()?.strip_prefix("// ")?;
    (name.ends_with(".dial") && !name.contains(' ')).then_some(name)
}

/// A design with the files beside it, each with its name where it says one.
type Files = Vec<(Option<String>, String)>;

/// The dials of a page.
fn dials(page: &str) -> Vec<Files> {
    let mut found: Vec<Files> = Vec::new();
    for block in blocks(page).into_iter().filter(|block| block.language == "dial") {
        let name = file_name(&block.text).map(str::to_owned);
        let starts = name.is_none() || found.is_empty() || block.before.contains("instead");
        if starts {
            found.push(Vec::new());
        }
        found.last_mut().unwrap().push((name, block.text));
    }
    found
}

fn picture(width: u32, height: u32, colour: impl Fn(u32, u32) -> [u8; 3]) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    let image = RgbImage::from_fn(width, height, |x, y| Rgb(colour(x, y)));
    image.write_to(&mut bytes, ImageFormat::Png).unwrap();
    bytes.into_inner()
}

/// A black square, and a spot of so many pixels a side.
fn spotted(scale: u32, spot: u32) -> Vec<u8> {
    let within = |at: u32, from: u32, long: u32| (from..from + long).contains(&at);
    let (square, far) = (4 * scale, 24 * scale);
    picture(32 * scale, 32 * scale, |x, y| {
        let black = within(x, square, 4 * square) && within(y, square, 4 * square);
        if black || within(x, far, spot) && within(y, far, spot) { [0; 3] } else { [255; 3] }
    })
}

/// Even patches of black, grey and blue on white.
fn harbour() -> Vec<u8> {
    let colours = [[0; 3], [0x80; 3], [0x20, 0x40, 0x80]];
    picture(104, 40, |x, y| {
        let patch = colours.get((x.wrapping_sub(8) / 32) as usize).filter(|_| x >= 8 && (x - 8) % 32 < 24);
        *patch.filter(|_| (8..32).contains(&y)).unwrap_or(&[255; 3])
    })
}

/// The files that pages name.
fn files(block: &str) -> MemoryProject {
    const SVG: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"10mm\" height=\"10mm\" viewBox=\"0 0 10 10\">\
        <path id=\"wheat\" d=\"M0 0H10V10H0Z\"/></svg>";
    let mut files = MemoryProject::default();
    for name in ["owl.svg", "poster-owl.svg", "harbour-traced.svg", "goods.svg", "moon.svg", "whole-page.svg"] {
        files = files.with(name, SVG);
    }
    for name in ["frame.dial", "shop.dial", "shops/bench.dial", "stocks.dial"] {
        files = files.with(name, shop(block));
    }
    for name in ["lettering.ttf", "fonts/brush-lettering.ttf", "liberation-serif.ttf"] {
        files = files.with(name, dejavu::sans::regular());
    }
    let shared = |name: &str| std::fs::read(root().join("tests/ui/shared").join(name)).unwrap();
    files
        .with("harbour.svg", shared("harbour.svg"))
        .with("off-page.svg", shared("off-page.svg"))
        .with("photographed-owl.jpg", shared("smeared.png"))
        .with("owl-painted-over.png", spotted(1, 0))
        .with("scanned-owl.png", spotted(1, 3))
        .with("scanned-owl-600.png", spotted(4, 12))
        .with("harbour.png", harbour())
        .with("crew.csv", "name,number\nAda,1\n\"Brun, the elder\",2\nCele,3\n")
        .with("owl.txt", "no drawing")
        .with("lettering.otf", "no font")
        .with("shop.docx", b"\xff\xfe\x00d")
        .with("boards.dial", "let board_edge = 1mm\n")
        .with("magnets.dial", "let magnet_edge = 1mm\n")
}

/// What a page's first block needs to show its finding.
fn at_fault(page: &str, mut files: MemoryProject) -> MemoryProject {
    match page {
        "file-too-large" => files.with("poster.svg", vec![b' '; dialwright::limits::ART_BYTES + 1]),
        "with-too-deep" => {
            let last = dialwright::limits::WITH_DEPTH + 1;
            for at in 1..=last {
                files = files.with(format!("{at}.dial"), format!("with \"{}.dial\"\n", at + 1));
            }
            files.with("stocks.dial", "with \"1.dial\"\n").with(format!("{}.dial", last + 1), "let end = 1mm\n")
        }
        "bad-table" => files.with("crew.csv", "name,number\nAda,1\nBrun, the elder,2\nCele,3\n"),
        "blank-cell" => files.with("crew.csv", "name,number\nAda,1\nBrun,\nCele,3\n"),
        "cell-misfit" => files.with("crew.csv", "name,number\nAda,1\nBrun,two\nCele,3\n"),
        _ => files,
    }
}

/// Files in memory, and one typeface on the machine.
struct Shown(MemoryProject);

impl Project for Shown {
    fn read(&self, name: &str, limit: usize) -> Result<Vec<u8>, ReadProblem> {
        self.0.read(name, limit)
    }

    fn installed_typeface(&self, family: &str) -> Option<(Vec<u8>, u32)> {
        (family == "Liberation Serif").then(|| (dejavu::serif::regular().to_vec(), 0))
    }
}

/// What is asked for where a page's finding is about that.
fn request(page: &str) -> Request {
    let mut request = Request::default();
    match page {
        "unknown-setting" => request.settings = vec![("across".to_owned(), "46mm".to_owned())],
        "unknown-variant" => request.variant = Some("table_size".to_owned()),
        _ => {}
    }
    request
}

/// What is sought where a page's finding is about that: the params that are free, and a step.
fn sought(page: &str) -> Option<(&'static [&'static str], &'static str)> {
    match page {
        "cannot-be-free" | "bad-trade" => Some((&["across"], "0.1mm")),
        "bad-step" => Some((&["across"], "20mm")),
        "too-much-free" => Some((&["seats", "rows"], "")),
        _ => None,
    }
}

/// What is wrong with that question; a trade is taken from the page's own words.
fn faults_of_question(page: &str, project: &dyn Project, design: &str, text: &str) -> Vec<Diagnostic> {
    let Some((free, step)) = sought(page) else { return Vec::new() };
    let mut session = Session::open(project, design, "", &Request::default()).unwrap();
    let free: Vec<Expr> = free.iter().filter_map(|name| session.ask("--free", name)).collect();
    let steps: Vec<Expr> =
        [step].iter().filter(|step| !step.is_empty()).filter_map(|step| session.ask("--by", step)).collect();
    let traded = text.split_once("--trade \"").and_then(|(_, after)| after.split('"').next());
    let traded = traded.and_then(|traded| session.ask("--trade", traded));
    let (trade, bad) = match traded.as_ref().map(seek::trade) {
        Some(Ok(trade)) => (Some(trade), None),
        Some(Err(bad)) => (None, Some(*bad)),
        None => (None, None),
    };
    let session = session.check(project);
    let question = Question { steps: steps.iter().collect(), trade, ..Question::new(None, &free, []) };
    let (_, problems) = seek::seek(&session, None, &question, Threads::InTurn, &|_| {});
    problems.into_iter().chain(bad).collect()
}

/// A dial of a page, compiled: `design` is the name of the page's design, and `is_first` whether this is its first dial.
fn compiled(page: &str, design: &str, files_of: &[(Option<String>, String)], is_first: bool) -> (Analysis, String) {
    let all: String = files_of.iter().map(|(_, text)| text.as_str()).collect();
    let mut project = files(&all);
    if is_first {
        project = at_fault(page, project);
    }
    // What stands for more than a page has room for.
    let all_ones = format!("1{}", " + 1".repeat(300));
    let left_out = LEFT_OUT.iter().find(|(name, _)| *name == page).filter(|_| is_first || page != "empty-file");
    let left_out = left_out.map_or(&[][..], |(_, left_out)| left_out);
    let left_out = if page == "ring-without-radius" { &["reading"] } else { left_out };
    let mut whole = String::new();
    for (name, text) in files_of {
        if name.as_deref().is_none_or(|name| name == design) {
            let text = text.replace("1 + 1     // … and three hundred more", &all_ones);
            whole = completed(&text, left_out);
            project = project.with(design, whole.clone());
        } else if let Some(name) = name {
            project = project.with(name.clone(), text.clone());
        }
    }
    let project = Shown(project);
    let mut analysis = analyse(&project, design, "", &request(page)).unwrap();
    analysis.findings.extend(faults_of_question(page, &project, design, &whole));
    let session = Session::open(&project, design, "", &Request::default()).unwrap();
    analysis.findings.extend(seek::remarks(&session.check(&project), Threads::InTurn));
    (analysis, whole)
}

/// What is wrong with the dials of a page.
fn faults(finding: Finding) -> Vec<String> {
    let page = finding.name();
    let dials = dials(finding.page());
    let mut faults = Vec::new();
    let design = dials.first().and_then(|dial| dial[0].0.clone()).unwrap_or_else(|| "shown.dial".to_owned());
    let mut kept = Files::new();
    for (at, dial) in dials.into_iter().enumerate() {
        // Files of a page stay until another of their name comes; a design goes with its dial.
        kept.retain(|(name, _)| name.is_some() && dial.iter().all(|(other, _)| other != name));
        kept.extend(dial);
        let (analysis, text) = compiled(page, &design, &kept, at == 0);
        let names: Vec<&str> = analysis.findings.iter().map(|found| found.finding.name()).collect();
        let errors = analysis.findings.iter().filter(|found| found.severity == Severity::Error);
        let errors: Vec<&str> = errors.map(|found| found.message.as_str()).collect();
        if at == 0 && !names.contains(&page) {
            faults.push(format!("{page}: its first dial shows {names:?}, {errors:?}:\n{text}"));
        }
        if at > 0 && (names.contains(&page) || !errors.is_empty()) {
            faults.push(format!("{page}: dial {} shows {names:?}, {errors:?}:\n{text}", at + 1));
        }
    }
    faults
}

#[test]
fn every_page_shows_its_finding_and_what_to_write_instead() {
    let shown = Finding::ALL.iter().filter(|finding| !NOT_SHOWN.contains(&finding.name()));
    let shown: Vec<Finding> = shown.copied().filter(|finding| !dials(finding.page()).is_empty()).collect();
    assert!(shown.len() > 180, "{}", shown.len());
    let faults: Vec<String> = shown.into_iter().flat_map(faults).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Pages about readings show tables, which `coupon --read` reads once the rows that every table has stand behind them.
#[test]
fn every_table_of_a_page_shows_its_finding_and_what_to_write_instead() {
    let folder = tempfile::tempdir().unwrap();
    let mut tables = 0;
    for finding in Finding::ALL {
        let shown = blocks(finding.page()).into_iter().filter(|block| block.language == "csv");
        for (at, block) in shown.enumerate() {
            let path = folder.path().join("readings.csv");
            let known = "stock,,,birch,,\nboard,width,,305,mm,\nboard,height,,305,mm,\n";
            let thickness = if block.text.contains("\nthickness,") { "" } else { "thickness,left front,,2.95,mm,\n" };
            std::fs::write(&path, block.text.clone() + known + thickness).unwrap();
            let output = run(&["coupon", "--read", path.to_str().unwrap()]);
            let said = String::from_utf8_lossy(&[output.stdout, output.stderr].concat()).into_owned();
            let (name, heading) = (finding.name(), format!(": {}\n", finding.name()));
            assert_eq!(said.contains(&heading), at == 0, "table {} of {name}: {said}", at + 1);
            assert!(at == 0 || !said.contains("error: "), "table {} of {name}: {said}", at + 1);
            tables += 1;
        }
    }
    assert!(tables >= 10, "{tables}");
}

/// What README shows, and the topics of the reference, which tell what README only points to.
fn readme() -> Vec<Block> {
    let readme = std::fs::read_to_string(root().join("README.md")).unwrap();
    let topics = Topic::ALL.iter().map(|topic| topic.page());
    [readme.as_str()].into_iter().chain(topics).flat_map(blocks).collect()
}

/// The dials of README are looked at for syntax, names and types. What an earlier one defines by `let` or `param` is known to it.
#[test]
fn every_dial_of_the_readme_can_be_read() {
    let mut defined: Vec<(String, String)> = Vec::new();
    let mut faults = Vec::new();
    let mut dials = 0;
    for block in readme().into_iter().filter(|block| block.language == "dial") {
        let mut text = block.text.clone();
        let names = |text: &str, name: &str| {
            text.split(|sign: char| !sign.is_alphanumeric() && sign != '_').any(|word| word == name)
        };
        // What is carried over may itself name what stood before it.
        for (name, item) in defined.iter().rev() {
            let is_new = !["let", "param"].iter().any(|word| text.contains(&format!("{word} {name}")));
            if names(&text, name) && is_new {
                text = format!("{item}\n{text}");
            }
        }
        for item in items(&block.text).into_iter().filter(|item| ["let", "param"].contains(&first_word(item))) {
            let name = first_word(&item[first_word(&item).len()..]).to_owned();
            defined.push((name, item));
        }
        let whole = completed(&text, &[]);
        let project = files(&text).with("shown.dial", whole.clone());
        let seen = quick_check(&Shown(project), "shown.dial", "").unwrap();
        let errors = seen.findings.iter().filter(|found| found.severity == Severity::Error);
        let errors: Vec<&str> = errors.map(|found| found.message.as_str()).collect();
        if !errors.is_empty() {
            faults.push(format!("{errors:?}:\n{whole}"));
        }
        dials += 1;
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    assert!(dials > 0);
}

fn git(folder: &Path, arguments: &[&str]) {
    let settings = ["-c", "user.name=maker", "-c", "user.email=maker@dial.example"];
    let mut command = Command::new("git");
    let output = command.args(settings).args(arguments).current_dir(folder).output().expect("git");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// A folder with the examples, and a repository's two versions of `dials/crew.dial`, whose opening moves from 19 to 19.2 mm.
fn workshop() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let there = folder.path().join("examples/saltmarsh");
    std::fs::create_dir_all(&there).unwrap();
    for entry in std::fs::read_dir(root().join("examples/saltmarsh")).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            std::fs::copy(&path, there.join(path.file_name().unwrap())).unwrap();
        }
    }
    std::fs::create_dir(folder.path().join("dials")).unwrap();
    git(folder.path(), &["init", "--quiet"]);
    for out in ["19mm", "19.2mm"] {
        let text = format!(
            "dial \"Crew\"\noutline circle(diameter: 60mm)\n\
             layer base of birch {{ engrave ring crew {{ labels 0 to 9; radius 19mm; height 6mm }} }}\n\
             layer cover of birch {{ window peep = circle(diameter: 12mm) at (0mm, {out}) }}\n\
             stack {{ base; turn on magnets(disc); cover }}\nreads crew through peep\n"
        );
        std::fs::write(folder.path().join("dials/crew.dial"), text).unwrap();
        git(folder.path(), &["add", "dials"]);
        git(folder.path(), &["commit", "--quiet", "-m", out]);
    }
    folder
}

/// Whether lines are those that are shown, where a line `…` stands for any.
fn agree(shown: &[&str], said: &[&str]) -> bool {
    match shown {
        [] => said.is_empty(),
        ["…", rest @ ..] => (0..=said.len()).any(|from| agree(rest, &said[from..])),
        [first, rest @ ..] => said.first() == Some(first) && agree(rest, &said[1..]),
    }
}

/// Blocks that begin with `$ dialwright …` show what that prints on standard output.
#[test]
fn every_output_of_the_readme_is_what_is_printed() {
    let workshop = workshop();
    let shown: Vec<Block> = readme().into_iter().filter(|block| block.text.starts_with("$ dialwright ")).collect();
    assert!(!shown.is_empty());
    for block in shown {
        let lines: Vec<&str> = block.text.lines().map(str::trim_end).collect();
        let arguments = lines[0].split_whitespace().skip(2);
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        let output = command.args(arguments).current_dir(workshop.path()).env("NO_COLOR", "1").output().unwrap();
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        let said_lines: Vec<&str> = said.lines().map(str::trim_end).collect();
        assert!(agree(&lines[1..], &said_lines), "{} prints\n{said}", lines[0]);
    }
    assert!(agree(&["a", "…", "d"], &["a", "b", "c", "d"]) && !agree(&["a", "…", "d"], &["a", "b", "c"]));
}
