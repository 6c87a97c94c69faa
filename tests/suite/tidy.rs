//! The layout of texts: it changes nothing but blanks, and doing it twice is doing it once.

use std::fs;
use std::io::Write as _;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use crate::dials::root;
use crate::files;
use dialwright::format::{Untidied, tidied};

/// Every file of the language in the project, with its name.
fn all_texts() -> Vec<(String, String)> {
    let folders = ["dials", "ui", "ui/shared", "ui/shared/deep", "../examples", "../examples/saltmarsh"];
    let paths = folders.iter().flat_map(|folder| files(folder, "dial"));
    let texts = paths.filter_map(|path| Some((path.display().to_string(), fs::read_to_string(&path).ok()?)));
    texts.collect()
}

#[test]
fn every_text_that_parses_is_tidied_and_then_tidy() {
    let mut done = 0;
    for (name, text) in all_texts() {
        match tidied(&name, &text) {
            Ok(once) => {
                done += 1;
                assert_eq!(tidied(&name, &once).unwrap(), once, "{name}: tidying twice changes it");
                assert!(once.ends_with('\n') && !once.ends_with("\n\n"), "{name}: one line end at the end");
            }
            Err(Untidied::Faulty(..)) => {}
            Err(Untidied::Altered { line }) => panic!("{name}: altered at line {line}"),
        }
    }
    assert!(done > 100, "only {done} texts were tidied");
}

#[test]
fn examples_are_tidy() {
    for folder in ["examples", "examples/saltmarsh"] {
        for path in files(&format!("../{folder}"), "dial") {
            let text = fs::read_to_string(&path).unwrap();
            let name = path.strip_prefix(root()).unwrap_or(&path).display().to_string();
            assert_eq!(tidied(&name, &text).unwrap(), text, "{name}: run `dialwright tidy examples`");
        }
    }
}

/// Comments and line ends put wherever a line may end, and values so long that a line must end after them: every one is kept in
/// its place, and the second time changes nothing.
#[test]
fn comments_may_stand_wherever_a_line_may_end() {
    let mut tried = 0;
    for path in files("dials", "dial") {
        let text = fs::read_to_string(&path).unwrap();
        for (at, sign) in text.match_indices([',', '(', '[', '=', ':', '{']).step_by(5) {
            let long = format!("{}, ", ["anchorage"; 12].join(" + "));
            for put in [" // here\n", "\n\n  // on a line of its own\n\n", &long] {
                let changed = format!("{}{sign}{put}{}", &text[..at], &text[at + 1..]);
                // A sign within a text or a comment, or where no line may end, makes another text or none at all.
                let Ok(once) = tidied("changed.dial", &changed) else { continue };
                tried += 1;
                assert_eq!(once.matches("//").count(), changed.matches("//").count(), "{changed}");
                assert_eq!(tidied("once.dial", &once).unwrap(), once, "{changed}");
            }
        }
    }
    assert!(tried > 120, "only {tried} places were tried");
}

#[test]
fn the_layout_is_the_one_that_the_readme_tells() {
    let text = "\u{feff}dial   \"A\"\r\n\r\n\r\nlet body=circle( diameter : 4 1/2 in ,)less(circle(diameter:6mm)at polar( 29 mm,0deg )repeated 12)plus circle(diameter: 1mm)\r\nlayer base of birch{engrave ring r{labels[1,2,]};;score circle(radius:- 3mm+4mm)}   // base\r\n// of its own\r\nlayer top of birch { }\r\n\r\n\r\n";
    let tidy = "dial \"A\"\r\n\r\nlet body = circle(diameter: 4 1/2in)\r\n  less (circle(diameter: 6mm) at polar(29mm, 0deg) repeated 12)\r\n  plus circle(diameter: 1mm)\r\nlayer base of birch { engrave ring r { labels [1, 2] }; score circle(radius: -3mm + 4mm) }  // base\r\n// of its own\r\nlayer top of birch {}\r\n";
    assert_eq!(tidied("a.dial", text).unwrap(), tidy);
}

#[test]
fn values_in_texts_are_laid_out_and_their_letters_kept() {
    let laid_out = |text: &str| tidied("a.dial", text).unwrap();
    for (text, tidy) in [
        ("dial \"A {  who } of {a+b*2}\"\n", "dial \"A {who} of {a + b * 2}\"\n"),
        ("dial \" \\{ {digits( n,2 )}  }\"\n", "dial \" \\{ {digits(n, 2)}  }\"\n"),
        ("let a=[\"{ n}{m }\",3]\n", "let a = [\"{n}{m}\", 3]\n"),
    ] {
        assert_eq!(laid_out(text), tidy);
        assert_eq!(laid_out(tidy), tidy);
    }
    let long = format!("dial \"{{{}}}\"\n", ["anchorage"; 20].join(" + "));
    assert_eq!(laid_out(&long), long, "a text never breaks");
}

fn run(arguments: &[&str], folder: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(arguments).current_dir(folder).env("NO_COLOR", "1").output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn a_folder_is_checked_and_then_tidied() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    fs::create_dir_all(folder.path().join("set/.hidden")).unwrap();
    write("set/a.dial", "dial  \"A\"\n");
    write("set/b.dial", "dial \"B\"\n");
    write("set/faulty.dial", "dial  \"C\"\nlet a = \n");
    write("set/notes.txt", "dial  \"D\"\n");
    write("set/.hidden/e.dial", "dial  \"E\"\n");
    let checked = run(&["tidy", "set", "--check"], folder.path());
    assert_eq!(checked.status.code(), Some(1));
    assert_eq!(out(&checked), "not tidy   set/a.dial\nfiles      3: 1 tidy, 1 are not, 1 left as they are\n");
    assert_eq!(fs::read_to_string(folder.path().join("set/a.dial")).unwrap(), "dial  \"A\"\n", "nothing is written");
    let done = run(&["tidy", "set"], folder.path());
    assert_eq!(done.status.code(), Some(1), "one file has a fault");
    assert!(String::from_utf8_lossy(&done.stderr).contains("set/faulty.dial is left as it is: mend its syntax first"));
    assert_eq!(fs::read_to_string(folder.path().join("set/a.dial")).unwrap(), "dial \"A\"\n");
    assert_eq!(fs::read_to_string(folder.path().join("set/faulty.dial")).unwrap(), "dial  \"C\"\nlet a = \n");
    assert_eq!(fs::read_to_string(folder.path().join("set/.hidden/e.dial")).unwrap(), "dial  \"E\"\n");
    assert_eq!(run(&["tidy", "set/a.dial", "set/b.dial", "--check"], folder.path()).status.code(), Some(0));
    assert_eq!(run(&["tidy", "set/none.dial"], folder.path()).status.code(), Some(2));
    let json = run(&["tidy", "set", "--check", "--message-format", "json"], folder.path());
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    let was: Vec<&str> = json["files"].as_array().unwrap().iter().map(|file| file["was"].as_str().unwrap()).collect();
    assert_eq!(was, ["tidy", "tidy", "faulty"]);
}

#[test]
fn standard_input_is_tidied_to_standard_output() {
    let piped = |text: &str, more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(["tidy", "-"]).args(more).stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().unwrap();
        child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
        child.wait_with_output().unwrap()
    };
    let tidy = piped("dial   \"A\"", &[]);
    assert_eq!((tidy.status.code(), out(&tidy).as_str()), (Some(0), "dial \"A\"\n"));
    let faulty = piped("dial   A", &[]);
    assert_eq!((faulty.status.code(), out(&faulty).as_str()), (Some(1), "dial   A"), "given back as it came");
    let checked = piped("dial   \"A\"", &["--check"]);
    assert_eq!((checked.status.code(), out(&checked).as_str()), (Some(1), "not tidy   standard input\n"));
}
