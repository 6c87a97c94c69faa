//! What changed between two designs: planted changes, each named and nothing else; none where only the text differs;
//! and git as people use it.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use crate::dials::root;
use crate::files;
use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::cli::disk::DiskProject;
use dialwright::diff::{Difference, diff};
use dialwright::format::tidied;
use dialwright::project::MemoryProject;
use dialwright::source::Sources;
use dialwright::syntax::parse;

fn read(name: &str) -> String {
    fs::read_to_string(root().join("tests/changes").join(name)).unwrap()
}

fn analysed(dial: &str, shop: &str) -> Analysis {
    let project = MemoryProject::default().with("own.dial", dial).with("shop.dial", shop);
    analyse(&project, "own.dial", "", &Request::default()).unwrap()
}

/// The changes in short: what happened to what, and the names of what differs.
fn short(difference: &Difference) -> Vec<String> {
    let words = |change: &dialwright::diff::Change| {
        let subject = if change.subject.is_empty() { String::new() } else { format!(" {}", change.subject) };
        let details: Vec<&str> = change.details.iter().map(|detail| detail.what).collect();
        let details = if details.is_empty() { String::new() } else { format!(": {}", details.join(", ")) };
        format!("{} {}{subject}{details}", change.how.word(), change.topic.word())
    };
    difference.changes.iter().map(words).collect()
}

/// What is written in whose place, and what must be named.
#[derive(Default)]
struct Planted {
    what: String,
    edits: Vec<(String, String)>,
    named: Vec<String>,
}

fn planted() -> Vec<Planted> {
    let mut all: Vec<Planted> = Vec::new();
    let mut last = ' ';
    for line in read("planted.txt").lines().filter(|line| !line.is_empty()) {
        let sign = line.chars().next().unwrap();
        let rest = line.get(2..).unwrap_or("");
        match (sign, all.last_mut()) {
            ('=', _) => all.push(Planted { what: line[3..].to_owned(), ..Planted::default() }),
            ('-', Some(case)) if last == '-' => write!(case.edits.last_mut().unwrap().0, "\n{rest}").unwrap(),
            ('-', Some(case)) => case.edits.push((rest.to_owned(), String::new())),
            ('+', Some(case)) if last == '+' => write!(case.edits.last_mut().unwrap().1, "\n{rest}").unwrap(),
            ('+', Some(case)) => case.edits.last_mut().unwrap().1 = rest.to_owned(),
            ('>', Some(case)) => case.named.push(rest.to_owned()),
            _ => {}
        }
        last = sign;
    }
    all
}

#[test]
fn planted_changes_are_named_and_nothing_else_is() {
    let (dial, shop) = (read("planted.dial"), read("shop.dial"));
    let before = analysed(&dial, &shop);
    assert!(!before.has_errors(), "{:?}", before.findings);
    let cases = planted();
    assert!(cases.len() >= 60, "only {} changes are planted", cases.len());
    let mut faults = String::new();
    for case in &cases {
        let (mut new_dial, mut new_shop) = (dial.clone(), shop.clone());
        for (from, to) in &case.edits {
            let place = if new_dial.contains(from) { &mut new_dial } else { &mut new_shop };
            assert_eq!(place.matches(from).count(), 1, "{}: `{from}` must stand once", case.what);
            *place = place.replace(from, to);
        }
        let after = analysed(&new_dial, &new_shop);
        let mut wanted = case.named.clone();
        wanted.sort();
        for (old, new, way) in [(&before, &after, "there"), (&after, &before, "back")] {
            let difference = diff(old, new);
            let mut named = short(&difference);
            named.sort();
            // On the way back as many changes are named; their words differ where something came or went.
            let alike = if way == "there" { named == wanted } else { named.len() == wanted.len() };
            if !alike {
                let told: String = difference.changes.iter().map(|change| format!("\n    {}", change.says())).collect();
                let _ = writeln!(faults, "== {} ({way}){told}\n> {}", case.what, named.join("\n> "));
            }
        }
        assert!(diff(&after, &after).changes.is_empty(), "{}: nothing differs from itself", case.what);
    }
    assert!(faults.is_empty(), "other changes were named:\n{faults}");
}

/// The text laid out anew, its comments changed, and its items put in another order, those of the stack and the shop
/// apart.
fn rewritten(text: &str) -> String {
    let text = tidied("own.dial", text).unwrap();
    let mut sources = Sources::default();
    let id = sources.add("own.dial", text.as_str());
    let parsed = parse(&sources, id);
    let starts: Vec<usize> = parsed.file.items.iter().map(|item| line_start(&text, item.start() as usize)).collect();
    let ends = starts.iter().skip(1).copied().chain([text.len()]);
    let mut items: Vec<&str> = starts.iter().zip(ends).map(|(start, end)| &text[*start..end]).collect();
    // Of items that count in order, params and readings are listed so: only the order of the others may change.
    items.sort_by_key(|item| std::cmp::Reverse(item.split_whitespace().next().unwrap_or("").len()));
    let mut new = String::from("// Written anew.\n\n\n");
    for item in items {
        new.push_str(&item.replace("//", "// and so:").replace("\n\n", "\n"));
        new.push_str("\n  // between\n\n");
    }
    new
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |line| line + 1)
}

/// Every example and every dial of the tests: tidied, its comments changed, its items in another order.
#[test]
fn layout_comments_and_order_are_no_difference() {
    let mut done = 0;
    for path in ["dials", "../examples", "../examples/saltmarsh"].iter().flat_map(|folder| files(folder, "dial")) {
        let text = fs::read_to_string(&path).unwrap();
        let (project, name, _) = DiskProject::of(&path);
        let before = analyse(&project, &name, "", &Request::default()).unwrap();
        let folder = path.parent().unwrap();
        let mut memory = MemoryProject::default().with(name.as_str(), rewritten(&text));
        for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap()) {
            let other = entry.file_name().to_string_lossy().into_owned();
            if other != name && entry.path().is_file() {
                memory = memory.with(other, fs::read(entry.path()).unwrap());
            }
        }
        let after = analyse(&memory, &name, "", &Request::default()).unwrap();
        let difference = diff(&before, &after);
        let told: Vec<String> = difference.changes.iter().map(|change| change.says()).collect();
        assert!(told.is_empty(), "{}:\n{}\n{}", path.display(), told.join("\n"), rewritten(&text));
        assert!(!difference.same_text, "{}", path.display());
        done += 1;
    }
    assert!(done >= 19, "only {done} files were rewritten");
}

/// What all variants of a family share is told once; what only some have, with their names.
#[test]
fn changes_of_a_family_are_told_once() {
    let folder = root().join("examples/saltmarsh");
    let text = |name: &str| fs::read_to_string(folder.join(name)).unwrap();
    let lantern = |text: String| {
        let project = MemoryProject::default().with("lantern.dial", text).with("shop.dial", shop_of(&folder));
        analyse(&project, "lantern.dial", "", &Request::default()).unwrap()
    };
    let before = lantern(text("lantern.dial"));
    let told = |text: String| -> Vec<(String, Vec<String>)> {
        let changes = diff(&before, &lantern(text)).changes.into_iter();
        changes.map(|change| (format!("{} {}", change.topic.word(), change.subject), change.variants)).collect()
    };
    let grained = text("lantern.dial").replacen("grain 90deg", "grain 0deg", 1);
    assert_eq!(told(grained), [("layer `back_core`".to_owned(), vec![])]);
    let larger = told(text("lantern.dial").replace("across = 2in", "across = 2 1/8in"));
    assert!(larger.len() > 3 && larger.iter().all(|(_, variants)| variants == &["hand_lantern"]), "{larger:?}");
    let renamed = told(text("lantern.dial").replace("variant hand_lantern", "variant small_lantern"));
    assert_eq!(renamed, [("variant `hand_lantern`".to_owned(), vec![])]);
}

fn shop_of(folder: &Path) -> String {
    fs::read_to_string(folder.join("shop.dial")).unwrap()
}

fn run(arguments: &[&str], folder: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").output().unwrap()
}

fn out(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// Runs git in a folder, alone with its own settings.
fn git(folder: &Path, arguments: &[&str]) -> String {
    let who = ["-c", "user.name=A", "-c", "user.email=a@example.invalid", "-c", "commit.gpgsign=false"];
    let mut command = Command::new("git");
    command.current_dir(folder).args(who).args(arguments);
    let quiet = [("GIT_CONFIG_GLOBAL", "/dev/null"), ("GIT_CONFIG_SYSTEM", "/dev/null"), ("GIT_PAGER", "cat")];
    let output = command.envs(quiet).output().unwrap();
    assert!(output.status.success(), "git {arguments:?}: {}", out(&output));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// A repository with a dial in a folder: two commits, of which the second changes the shop and the dial.
fn repository() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let dials = folder.path().join("dials");
    fs::create_dir(&dials).unwrap();
    fs::write(dials.join("own.dial"), read("planted.dial")).unwrap();
    fs::write(dials.join("shop.dial"), read("shop.dial")).unwrap();
    git(folder.path(), &["init", "--quiet", "--initial-branch=main"]);
    git(folder.path(), &["add", "."]);
    git(folder.path(), &["commit", "--quiet", "-m", "first"]);
    let moved = read("planted.dial").replace("at polar(24mm, 180deg)", "at polar(24mm, 170deg)");
    fs::write(dials.join("own.dial"), moved).unwrap();
    fs::write(dials.join("shop.dial"), read("shop.dial").replace("cost 3.50", "cost 3.80")).unwrap();
    git(folder.path(), &["commit", "--quiet", "-a", "-m", "second"]);
    folder
}

#[test]
fn a_design_is_compared_with_itself_at_a_revision() {
    let folder = repository();
    let since = |revision: &str| run(&["diff", "--since", revision, "dials/own.dial"], folder.path());
    let first = since("HEAD~1");
    assert_eq!(first.status.code(), Some(1), "{}", out(&first));
    let told = out(&first);
    assert!(told.contains("changed opening `grip` of `cover`: turned about the axis by -10deg"), "{told}");
    assert!(told.contains("changed stock `birch`: cost 3.5, now 3.8"), "the shop of that time is read: {told}");
    assert!(told.ends_with("2 changes\n"), "{told}");
    let head = since("HEAD");
    assert_eq!(head.status.code(), Some(0), "{}", out(&head));
    assert!(out(&head).ends_with("no difference: the texts are the same\n"));
    fs::write(
        folder.path().join("dials/own.dial"),
        format!("{}\n// no more\n", git(folder.path(), &["show", "HEAD:dials/own.dial"])),
    )
    .unwrap();
    let head = since("main");
    assert_eq!(head.status.code(), Some(0), "{}", out(&head));
    assert!(out(&head).ends_with("no difference: the texts differ, and mean the same\n"));
    for (revision, why) in [("nowhere", "git knows no revision `nowhere` here"), ("--all", "git knows no revision")] {
        let output = run(&["diff", &format!("--since={revision}"), "dials/own.dial"], folder.path());
        assert_eq!(output.status.code(), Some(2));
        assert!(out(&output).contains(why), "{}", out(&output));
    }
    let elsewhere = tempfile::tempdir().unwrap();
    fs::write(elsewhere.path().join("own.dial"), read("planted.dial")).unwrap();
    let output = run(&["diff", "--since", "HEAD", "own.dial"], elsewhere.path());
    assert_eq!(output.status.code(), Some(2));
    assert!(out(&output).contains("is not in a git repository"), "{}", out(&output));
}

#[test]
fn git_calls_it_as_its_driver() {
    let folder = repository();
    let command = format!("diff.dialwright.command={} diff", env!("CARGO_BIN_EXE_dialwright"));
    fs::write(folder.path().join(".gitattributes"), "*.dial diff=dialwright\n").unwrap();
    let told = git(folder.path(), &["-c", &command, "diff", "HEAD~1", "HEAD"]);
    assert!(told.contains("changed opening `grip` of `cover`: turned about the axis by -10deg"), "{told}");
    assert!(told.contains("changed stock `birch`: cost 3.5, now 3.8"), "{told}");
    assert!(told.contains("old        dials/own.dial (old)"), "{told}");
    assert!(
        told.contains("changed item stock `birch`: cost 3.50, now 3.80"),
        "the shop is no dial; its items are compared: {told}"
    );
    let wider = read("planted.dial").replace("run 4", "run 5");
    fs::write(folder.path().join("dials/own.dial"), wider).unwrap();
    fs::write(folder.path().join("dials/new.dial"), read("planted.dial")).unwrap();
    git(folder.path(), &["add", "--intent-to-add", "dials/new.dial"]);
    let told = git(folder.path(), &["-c", &command, "diff"]);
    assert!(told.contains("changed run: dials 4, now 5"), "{told}");
    assert!(told.contains("added dials/new.dial"), "{told}");
    git(folder.path(), &["add", "."]);
    let staged = git(folder.path(), &["-c", &command, "diff", "--cached"]);
    assert!(staged.contains("changed run: dials 4, now 5"), "{staged}");
}

#[test]
fn two_files_are_compared_and_pictured() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("old.dial", &read("planted.dial"));
    write(
        "new.dial",
        &read("planted.dial").replace("window peep = circle(diameter: 12mm)", "window peep = circle(diameter: 12.4mm)"),
    );
    write("shop.dial", &read("shop.dial"));
    let output = run(&["diff", "old.dial", "new.dial", "--picture", "what.svg"], folder.path());
    assert_eq!(output.status.code(), Some(1), "{}", out(&output));
    let svg = fs::read_to_string(folder.path().join("what.svg")).unwrap();
    for part in ["id=\"gone\"", "id=\"new\"", "url(#gone)", "stroke-dasharray", "cover, front"] {
        assert!(svg.contains(part), "{part}");
    }
    assert_eq!(run(&["diff", "old.dial", "new.dial", "--picture", "what.png"], folder.path()).status.code(), Some(1));
    assert!(fs::read(folder.path().join("what.png")).unwrap().starts_with(b"\x89PNG"));
    let json = run(&["diff", "old.dial", "new.dial", "--message-format", "json"], folder.path());
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(json["same_meaning"], false);
    assert_eq!(json["changes"][0]["topic"], "opening");
    assert_eq!(json["changes"][0]["details"][1]["old"], "12mm by 12mm");
    // A wider circle about the same centre: every edge moves by half of what the diameter grows.
    assert!(json["changes"][0]["details"][2]["says"].as_str().unwrap().starts_with("edges moved by up to 0.2mm"));
    assert_eq!(run(&["diff", "old.dial"], folder.path()).status.code(), Some(2));
    assert_eq!(run(&["diff", "old.dial", "none.dial"], folder.path()).status.code(), Some(2));
    write("new.dial", &read("planted.dial").replace("60mm", "60"));
    let faulty = run(&["diff", "old.dial", "new.dial"], folder.path());
    assert_eq!(faulty.status.code(), Some(1));
    assert!(out(&faulty).contains("new.dial is no dial that can be made"), "{}", out(&faulty));
}
