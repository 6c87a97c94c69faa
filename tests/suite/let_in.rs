//! Nobody is let in: whatever a name, a label, a file's name or its text holds, it is shown as text in everything that is
//! written or printed, and no file is read from outside the design's folder.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// Markup, ends of scripts and comments, escapes of terminals (ECMA-48: CSI, OSC, and CSI as one C1 character), characters
/// that XML forbids, marks that turn text round, cells of tables, and what begins a formula of a spreadsheet.
const HOSTILE: &str = "=1+1</text></script><script>alert(1)</script>--> ]]> | \\\\ `x` \\\"q\\\" 'q' &amp; \u{1b}[2J\u{1b}]0;t\u{7}\u{9b}31m\u{1} \u{202e}drow\u{202c}";

/// A file's name as hostile as one may be.
const NAME: &str = "<b>&'\"\u{1b}[31m=\u{9b}2J #%.dial";

struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new() -> Self {
        let bench = Self { folder: tempfile::tempdir().unwrap() };
        bench.put(NAME, &dial());
        bench.put("shop.dial", &shop());
        bench
    }

    fn put(&self, name: &str, text: &str) {
        fs::write(self.folder.path().join(name), text).unwrap();
    }

    fn run(&self, arguments: &[&str]) -> Output {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(arguments).current_dir(self.folder.path()).env("NO_COLOR", "1").stdin(Stdio::null());
        command.output().unwrap()
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.path().join(name)).unwrap()
    }
}

fn shop() -> String {
    format!(
        "shop \"{HOSTILE}\"\nstock birch {{ thickness 3mm; board 305mm by 305mm; cost 3; material \"wood {HOSTILE}\"\n\
         cut_speed 9mm / 1s; engrave_speed 240mm / 1s; score_speed 90mm / 1s; line_spacing 0.1mm }}\n\
         magnet disc {{ diameter 8mm; height 1.5mm; remanence 1.32T; cost 1 }}\n\
         rates ours {{ currency \"{HOSTILE}\"; machine_hour 16; bench_hour 22; setup_time 4min; turn_time 15s; dial_time 6min }}\n"
    )
}

/// A sound dial with hostile texts wherever a text may stand, as a family of two.
fn dial() -> String {
    format!(
        "// {HOSTILE}\ndial \"{HOSTILE}\"\nwith \"shop.dial\"\nparam sign: text = \"{HOSTILE}\" \"{HOSTILE}\"\n\
         outline circle(diameter: 60mm)\nlayer base of birch {{ engrave ring r {{ labels [\"=A<b>\", \"-B|&\", \"@C\"]; height 3mm }} }}\n\
         layer cover of birch {{ window peep = circle(diameter: 12mm) at polar(20mm, 0deg)\n\
         engrave circle(diameter: 4mm) at (0mm, -14mm) ink \"{HOSTILE}\" }}\n\
         stack {{ base; turn on magnets(disc); cover }}\nreads r through peep\n\
         accept unknown-material \"{HOSTILE}\"\nexpect swept(cover) < 50mm \"{HOSTILE}\"\n\
         family {{ each sign in [\"{HOSTILE}\", \"plain\"] }}\n"
    )
}

fn harmless(what: &str, bytes: &[u8]) {
    let text = String::from_utf8(bytes.to_vec()).unwrap_or_else(|_| panic!("{what} is no text"));
    let acts = |letter: char| {
        (letter.is_control() && letter != '\n' && letter != '\t')
            || matches!(letter, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    if let Some(at) = text.find(acts) {
        let shown = text.floor_char_boundary(at.saturating_sub(60));
        panic!("{what} holds {:?} after {:?}", text[at..].chars().next(), &text[shown..at]);
    }
}

/// Whatever a verb prints leaves the terminal alone; JSON still tells programs what was there.
#[test]
fn nothing_printed_acts_on_the_terminal() {
    let bench = Bench::new();
    bench.put("readings.csv", &format!("thing,which,at,reading,unit,how\n{HOSTILE},{HOSTILE},1,{HOSTILE},mm,\n"));
    bench.put("faulty.dial", &dial().replace("circle(", "circel(").replace("labels", "labells"));
    let missing = format!("{NAME}.missing");
    let set = format!("sign=\"{HOSTILE}\" +");
    let runs: [&[&str]; 17] = [
        &["check", NAME],
        &["check", NAME, "--message-format", "json"],
        &["check", NAME, "--set", &set],
        &["check", NAME, "--variant", HOSTILE],
        &["check", "faulty.dial"],
        &["check", &missing],
        &["tidy", "faulty.dial"],
        &["tidy", NAME, "--check"],
        &["build", NAME, "--no-print", "--out", "out\u{1b}[2J"],
        &["build", NAME, "--no-print", "--message-format", "json", "--out", "again"],
        &["build", NAME, "--variant", "sign_plain", "--no-print", "--out", "single"],
        &["family", NAME],
        &["family", NAME, "--where", &set],
        &["turn", NAME, "--picture", "stops\u{1b}[2J.svg"],
        &["hold", NAME],
        &["diff", NAME, "faulty.dial"],
        &["coupon", "--read", "readings.csv"],
    ];
    for arguments in runs {
        let output = bench.run(arguments);
        assert!(output.stdout.len() + output.stderr.len() > 10, "{arguments:?} says nothing");
        harmless(&format!("{arguments:?}, standard output"), &output.stdout);
        harmless(&format!("{arguments:?}, standard error"), &output.stderr);
    }
    let json = bench.run(&["family", NAME, "--message-format", "json"]);
    let told: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert!(told["title"].as_str().unwrap().contains("\u{1b}[2J\u{1b}]0;t\u{7}\u{9b}31m\u{1} \u{202e}drow"), "{told}");
}

/// What others may have named or titled begins no line of what is printed (CWE-117), nor of the log for hosts.
#[cfg(unix)]
#[test]
fn no_line_is_forged() {
    let bench = Bench::new();
    let name = "a\nerror: forged.dial";
    let sound = "outline circle(diameter: 60mm)\nlayer base of birch { engrave ring r { labels 1 to 6 } }\n\
        layer cover of birch { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }\n\
        stack { base; turn on magnets(disc); cover }\nreads r through peep\n";
    bench.put(name, &format!("dial \"x\\nerror: forged\\u{{2028}}y\"\n{sound}"));
    bench.put("faulty\nerror: forged.dial", "dial \"x\" outlin\n");
    let runs: [&[&str]; 8] = [
        &["check", name, "--sarif", "log.sarif"],
        &["check", "."],
        &["check", "none\nerror: forged.dial"],
        &["build", name, "--no-print", "--out", "out"],
        &["turn", name],
        &["hold", name],
        &["diff", name, NAME],
        &["tidy", ".", "--check"],
    ];
    for arguments in runs {
        let output = bench.run(arguments);
        for told in [output.stdout, output.stderr] {
            let told = String::from_utf8(told).unwrap();
            assert!(!told.lines().any(|line| line.starts_with("error: forged")), "{arguments:?}: {told}");
        }
    }
    let log = bench.read("log.sarif");
    assert!(log.contains("a%0Aerror%3A%20forged.dial") && !log.contains("\nerror: forged"), "{log}");
}

/// Pages for paper allow nothing but their own style, and the drawings beside them (W3C Content Security Policy 3).
#[test]
fn pages_for_paper_carry_a_policy() {
    let bench = Bench::new();
    built(&bench, &["--no-print", "--variant", "sign__plain_"]);
    bench.run(&["coupon", "shop.dial", "--out", "cards"]);
    for page in ["out/run-sheet.html", "cards/coupon.html"] {
        let text = bench.read(page);
        let policy = text.split("Content-Security-Policy\" content=\"").nth(1).and_then(|rest| rest.split('"').next());
        let policy = policy.unwrap_or_else(|| panic!("{page} has no policy"));
        assert!(
            policy.starts_with("default-src 'none'; style-src 'sha256-") && !policy.contains("script-src"),
            "{policy}"
        );
        assert!(!text.contains(" style=") && !text.contains("<script"), "{page} holds what its policy refuses");
    }
}

/// Places in messages stay true where signs stand for what acts.
#[test]
fn places_stay_true_beside_what_is_shown_by_signs() {
    let bench = Bench::new();
    bench.put("a.dial", "dial \"\u{1b}[2J\u{9b}\u{202e}\" outlin\r\n");
    let told = String::from_utf8(bench.run(&["check", "a.dial"]).stderr).unwrap();
    let json = bench.run(&["check", "a.dial", "--message-format", "json"]);
    let told_json: Value = serde_json::from_slice(&json.stdout).unwrap();
    let column = told_json["findings"][0]["labels"][0]["column"].as_u64().unwrap();
    assert!(told.contains(&format!("a.dial:1:{column}")), "{told}");
    assert!(told.contains("dial \"?[2J¿\u{fffd}\" outlin"), "{told}");
}

fn built(bench: &Bench, more: &[&str]) -> Vec<(String, Vec<u8>)> {
    let output = bench.run(&[&["build", NAME, "--out", "out"], more].concat());
    assert!(bench.folder.path().join("out").exists(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut files = Vec::new();
    let mut folders = vec![bench.folder.path().join("out")];
    while let Some(folder) = folders.pop() {
        for path in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if path.is_dir() {
                folders.push(path)
            } else {
                files.push((path.display().to_string(), fs::read(path).unwrap()))
            }
        }
    }
    files
}

/// SVG and XML by an independent reader; HTML by what a tag begins with; JSON read back; PDF without actions.
#[test]
fn every_output_shows_texts_as_texts() {
    let bench = Bench::new();
    let files = built(&bench, &[]);
    let of = |ending: &'static str| files.iter().filter(move |(name, _)| name.ends_with(ending));
    for ending in [".svg", ".html", ".json", ".pdf", ".csv", ".md"] {
        assert!(of(ending).count() > 0, "no {ending}");
    }
    for (name, bytes) in of(".svg") {
        let text = std::str::from_utf8(bytes).unwrap();
        let document = usvg::roxmltree::Document::parse(text).unwrap_or_else(|error| panic!("{name}: {error}"));
        let scripts = document.descendants().filter(|node| node.tag_name().name() == "script").count();
        assert_eq!(scripts, 0, "{name}");
        assert!(
            !document.descendants().flat_map(|node| node.attributes()).any(|it| it.name().starts_with("on")),
            "{name}"
        );
    }
    for (name, bytes) in of(".html") {
        let text = std::str::from_utf8(bytes).unwrap();
        assert!(!text.contains("<script>alert") && !text.contains("<b>"), "{name}");
        // Its own script, and the one in which the facts stand.
        assert!(text.matches("</script>").count() == text.matches("<script").count(), "{name}");
    }
    for (name, bytes) in of(".json") {
        let value: Value = serde_json::from_slice(bytes).unwrap_or_else(|error| panic!("{name}: {error}"));
        assert!(value.is_object());
    }
    for (name, bytes) in of(".pdf") {
        let has = |word: &str| bytes.windows(word.len()).any(|found| found == word.as_bytes());
        // ISO 32000-2, 12.6.4: actions that run, launch or fetch.
        for word in ["/JavaScript", "/JS", "/Launch", "/URI", "/OpenAction", "/AA", "/EmbeddedFile"] {
            assert!(!has(word), "{name} holds {word}");
        }
    }
}

/// No cell is one that a spreadsheet would work out (OWASP, "CSV Injection"): texts of the maker's stand in their quotes.
#[test]
fn no_cell_of_a_table_is_a_formula() {
    let bench = Bench::new();
    built(&bench, &["--no-print"]);
    let csv = bench.read("out/family.csv");
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    for record in reader.records().map(Result::unwrap) {
        for cell in record.iter() {
            assert!(!cell.starts_with(['=', '+', '@', '\t', '\r']), "{cell:?}");
            assert!(!cell.starts_with('-') || cell[1..].starts_with(|first: char| first.is_ascii_digit()), "{cell:?}");
        }
    }
    assert!(csv.contains("=1+1<"), "{csv}");
    let markdown = bench.read("out/family.md");
    let rows: Vec<&str> = markdown.lines().filter(|line| line.starts_with('|')).collect();
    assert_eq!(rows.len(), 4, "a head, a rule, two variants: {markdown}");
    // CommonMark and GFM, "Tables": a cell ends at a bar that no backslash stands before.
    let cells = |row: &str| row.replace("\\\\", "").replace("\\|", "").matches('|').count();
    assert!(rows.iter().all(|row| cells(row) == cells(rows[0])), "{markdown}");
    assert!(!markdown.contains("<script>"), "{markdown}");
}

/// Names are relative references of RFC 3986 in the log for hosts.
#[test]
fn names_of_files_are_addresses_in_the_log() {
    let bench = Bench::new();
    bench.run(&["check", NAME, "--sarif", "log.sarif"]);
    let log: Value = serde_json::from_str(&bench.read("log.sarif")).unwrap();
    let results = log["runs"][0]["results"].as_array().unwrap();
    assert!(!results.is_empty());
    let uris = results.iter().flat_map(|result| result["locations"].as_array().unwrap());
    let uris: Vec<&str> = uris.filter_map(|it| it["physicalLocation"]["artifactLocation"]["uri"].as_str()).collect();
    assert!(uris.iter().any(|uri| uri.starts_with("%3Cb%3E%26%27%22%1B")), "{uris:?}");
    assert!(uris.iter().all(|uri| uri.bytes().all(|byte| byte.is_ascii_graphic())), "{uris:?}");
}

const SECRET: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0h9v9z"/></svg>"#;

/// What a design asks for from outside its folder is not read, whichever way it is named.
#[cfg(unix)]
#[test]
fn no_file_outside_the_folder_is_read() {
    use std::os::unix::fs::symlink;
    let outer = tempfile::tempdir().unwrap();
    let inner = outer.path().join("project/inner");
    fs::create_dir_all(&inner).unwrap();
    fs::write(outer.path().join("secret.svg"), SECRET).unwrap();
    fs::write(outer.path().join("secret.dial"), "let leaked = 1mm\n").unwrap();
    fs::write(outer.path().join("project/near.svg"), SECRET).unwrap();
    symlink(outer.path().join("secret.svg"), inner.join("linked.svg")).unwrap();
    symlink(outer.path().join("secret.dial"), inner.join("linked.dial")).unwrap();
    symlink(outer.path(), inner.join("folder")).unwrap();
    let absolute = outer.path().join("secret.svg").display().to_string();
    let read = |asks: &str| {
        let dial = format!(
            "dial \"Asks\"\noutline circle(diameter: 60mm)\nlayer base of birch {{ engrave ring r {{ labels 1 to 6 }}\n{} }}\n\
             layer cover of birch {{ window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }}\n\
             stack {{ base; turn on magnets(disc); cover }}\nreads r through peep\n{}",
            if asks.starts_with("with") { "" } else { asks },
            if asks.starts_with("with") { asks } else { "" },
        );
        fs::write(inner.join("a.dial"), dial).unwrap();
        checked(&inner)
    };
    let art = |name: &str| format!("back engrave art(\"{name}\", height: 9mm)");
    let names = ["../near.svg", "../../secret.svg", &absolute, "linked.svg", "folder/secret.svg", "file:///etc/passwd"];
    for name in names.into_iter().chain([
        "./../near.svg",
        "folder/../../near.svg",
        "..\\\\near.svg",
        "http://dial.example/a.svg",
    ]) {
        let (code, told) = read(&art(name));
        assert_eq!(code, Some(1), "{name}: {told}");
        assert!(["outside-folder", "missing-file"].iter().any(|found| told.contains(found)), "{name}: {told}");
    }
    for name in ["../../secret.dial", "linked.dial", "folder/secret.dial"] {
        let (code, told) = read(&format!("with \"{name}\"\n"));
        assert_eq!(code, Some(1), "{name}: {told}");
        assert!(["outside-folder", "missing-file"].iter().any(|found| told.contains(found)), "{name}: {told}");
    }
    // The same inside the folder is read.
    fs::write(inner.join("own.svg"), SECRET).unwrap();
    symlink("own.svg", inner.join("alias.svg")).unwrap();
    for name in ["own.svg", "alias.svg"] {
        let (code, told) = read(&art(name));
        assert_eq!(code, Some(0), "{name}: {told}");
    }
}

/// A folder and a link that leads out are swapped over and over while a file in it is read: it is never read through the link.
#[cfg(unix)]
#[test]
fn no_link_is_swapped_in_between() {
    use std::os::unix::fs::symlink;
    use std::sync::atomic::{AtomicBool, Ordering};
    let outer = tempfile::tempdir().unwrap();
    let inner = outer.path().join("project");
    fs::create_dir_all(inner.join("art")).unwrap();
    fs::create_dir_all(outer.path().join("theirs")).unwrap();
    fs::write(inner.join("art/a.dial"), "let ours = 1mm\n").unwrap();
    fs::write(outer.path().join("theirs/a.dial"), "let leaked = 1mm\n").unwrap();
    symlink(outer.path().join("theirs"), inner.join("link")).unwrap();
    let project = dialwright::cli::disk::DiskProject::of(&inner.join("a.dial")).0;
    let ended = AtomicBool::new(false);
    let (mut own, mut rounds) = (0, 0);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let [art, kept, link] = ["art", "kept", "link"].map(|name| inner.join(name));
            while !ended.load(Ordering::Relaxed) {
                for (from, to) in [(&art, &kept), (&link, &art), (&art, &link), (&kept, &art)] {
                    fs::rename(from, to).unwrap();
                }
            }
        });
        while rounds < 3_000 {
            rounds += 1;
            if let Ok(bytes) = dialwright::project::Project::read(&project, "art/a.dial", 1_000) {
                own += usize::from(bytes == b"let ours = 1mm\n");
                if bytes != b"let ours = 1mm\n" {
                    ended.store(true, Ordering::Relaxed);
                    panic!("read from outside in round {rounds}");
                }
            }
        }
        ended.store(true, Ordering::Relaxed);
    });
    assert!(own > 0, "the file inside was never read in {rounds} rounds");
}

fn checked(folder: &Path) -> (Option<i32>, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    let output = command.args(["check", "a.dial"]).current_dir(folder).env("NO_COLOR", "1").output().unwrap();
    (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
}
