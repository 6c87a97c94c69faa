//! What a file has besides its bytes stays as it was, or nothing is written and a sentence tells why.

use std::fs;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, symlink};
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::{Bench, told};

const DIAL: &str = include_str!("../../../examples/first.dial");

/// Verbs that write a file: the arguments before its name, and what stands there before.
fn verbs() -> Vec<(Vec<&'static str>, String)> {
    let untidy = DIAL.replace(" of ", "   of   ");
    vec![
        (vec!["tidy"], untidy),
        (vec!["check", "--mend"], DIAL.replace("labels", "labells")),
        (vec!["check", "a.dial", "--sarif"], "old".to_owned()),
        (vec!["turn", "a.dial", "--picture"], "old".to_owned()),
        (vec!["hold", "a.dial", "--plot"], "old".to_owned()),
    ]
}

fn bench() -> Bench {
    Bench::with(&[("a.dial", DIAL)])
}

fn written(verb: &[&str]) -> &'static str {
    match verb {
        ["tidy"] | ["check", "--mend"] => "b.dial",
        _ => "b.svg",
    }
}

fn run(bench: &Bench, verb: &[&str], name: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(verb).arg(name).current_dir(bench.folder.path()).env("NO_COLOR", "1").stdin(Stdio::null());
    command.output().unwrap()
}

#[test]
fn a_read_only_file_and_one_with_two_names_are_left_alone() {
    for (verb, old) in verbs() {
        let bench = bench();
        let (name, path) = (written(&verb), bench.path(written(&verb)));
        fs::write(&path, &old).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
        let output = run(&bench, &verb, name);
        assert_eq!(output.status.code(), Some(2), "{verb:?}: {}", told(&output));
        assert!(told(&output).contains("it is read-only: allow writing to it first"), "{}", told(&output));
        assert_eq!(fs::read_to_string(&path).unwrap(), old);
        fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
        fs::hard_link(&path, bench.path("second")).unwrap();
        let output = run(&bench, &verb, name);
        assert_eq!(output.status.code(), Some(2), "{verb:?}: {}", told(&output));
        assert!(told(&output).contains("it has 2 names (hard links)"), "{}", told(&output));
        assert_eq!(fs::read_to_string(&path).unwrap(), old);
        fs::remove_file(bench.path("second")).unwrap();
        assert!(run(&bench, &verb, name).status.code() < Some(2));
        assert_ne!(fs::read(&path).unwrap(), old.as_bytes(), "{verb:?}");
    }
}

/// An attribute of the maker's own, and the permissions, are on the new file as they were on the old one.
#[test]
fn permissions_and_attributes_stay() {
    for (verb, old) in verbs() {
        let bench = bench();
        let (name, path) = (written(&verb), bench.path(written(&verb)));
        fs::write(&path, &old).unwrap();
        // Not every disc keeps such attributes; the memory disc of older systems keeps none of a user's.
        let kept = xattr::set(&path, "user.of", b"the maker").is_ok();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o624)).unwrap();
        assert!(run(&bench, &verb, name).status.code() < Some(2));
        assert_ne!(fs::read(&path).unwrap(), old.as_bytes());
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o7777, 0o624, "{verb:?}");
        if kept {
            assert_eq!(xattr::get(&path, "user.of").unwrap().as_deref(), Some(b"the maker".as_slice()), "{verb:?}");
        }
    }
}

/// Somebody else's file: whoever may give files away keeps its owner, and who may not is told so.
#[test]
fn an_owner_stays_or_is_told_of() {
    let may_give = fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0);
    for (verb, old) in verbs().into_iter().filter(|_| may_give) {
        let bench = bench();
        let (name, path) = (written(&verb), bench.path(written(&verb)));
        fs::write(&path, &old).unwrap();
        std::os::unix::fs::chown(&path, Some(1234), Some(4321)).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o666)).unwrap();
        fs::set_permissions(bench.folder.path(), fs::Permissions::from_mode(0o777)).unwrap();
        let mut other = Command::new("setpriv");
        other.args(["--reuid=65534", "--regid=65534", "--clear-groups", env!("CARGO_BIN_EXE_dialwright")]);
        let output = other.args(&verb).arg(name).current_dir(bench.folder.path()).output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{verb:?}: {}", told(&output));
        assert!(told(&output).contains("it belongs to another user or group"), "{}", told(&output));
        assert_eq!(fs::read_to_string(&path).unwrap(), old);
        assert!(run(&bench, &verb, name).status.code() < Some(2), "{verb:?}");
        let about = fs::metadata(&path).unwrap();
        assert_eq!((about.uid(), about.gid(), about.mode() & 0o7777), (1234, 4321, 0o666), "{verb:?}");
    }
}

/// What was read for a report is never written over by it, under none of its names.
#[test]
fn an_input_is_never_written_over() {
    let drawn = DIAL.replace("labels 0 to 9", "labels [art(\"star.svg\"), 1, 2, 3]");
    let star = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 9 9\"><path d=\"M1 1h7v7h-7z\"/></svg>";
    let bench = Bench::with(&[("a.dial", DIAL), ("drawn.dial", &drawn), ("star.svg", star)]).with_a_scan();
    symlink("star.svg", bench.path("link.svg")).unwrap();
    let asked: [&[&str]; 8] = [
        &["check", "a.dial", "--sarif", "a.dial"],
        &["check", "drawn.dial", "--sarif", "star.svg"],
        &["turn", "drawn.dial", "--picture", "star.svg"],
        &["turn", "drawn.dial", "--picture", "link.svg"],
        &["hold", "drawn.dial", "--plot", "./star.svg"],
        &["diff", "a.dial", "drawn.dial", "--picture", "star.svg"],
        &["audit-art", "star.svg", "--picture", "star.svg"],
        &["measure", "made", "small.png", "--picture", "small.png"],
    ];
    let before = super::files(bench.folder.path());
    for arguments in asked {
        let output = run(&bench, &arguments[..arguments.len() - 1], arguments[arguments.len() - 1]);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", told(&output));
        assert!(told(&output).contains("it is read for this, and would be lost"), "{}", told(&output));
        assert_eq!(super::files(bench.folder.path()), before, "{arguments:?}");
    }
}

/// A folder of ours that a design takes a drawing from is not built over.
#[test]
fn a_folder_that_is_read_from_is_not_built_over() {
    let bench = bench();
    assert_eq!(run(&bench, &["build", "a.dial", "--no-print", "--out"], "out").status.code(), Some(0));
    let drawn = DIAL.replace("labels 0 to 9", "labels [art(\"out/board-1-setup-1.svg\"), 1, 2, 3]");
    fs::write(bench.path("drawn.dial"), drawn).unwrap();
    let before = super::files(bench.folder.path());
    let output = run(&bench, &["build", "drawn.dial", "--no-print", "--out"], "out");
    assert_ne!(output.status.code(), Some(0), "{}", told(&output));
    assert_eq!(super::files(bench.folder.path()), before);
}

/// A pipe that nobody reads is told of and not waited for; one that somebody reads gets all of it.
#[test]
fn a_pipe_is_not_waited_for() {
    let bench = bench();
    assert!(Command::new("mkfifo").arg(bench.path("pipe.svg")).status().unwrap().success());
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(["turn", "a.dial", "--picture", "pipe.svg"]).current_dir(bench.folder.path());
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let began = Instant::now();
    while child.try_wait().unwrap().is_none() {
        assert!(began.elapsed() < Duration::from_secs(60), "it still waits");
        sleep(Duration::from_millis(20));
    }
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{}", told(&output));
    assert!(told(&output).contains("nobody reads from this pipe"), "{}", told(&output));
    let got = fs::File::create(bench.path("got.svg")).unwrap();
    let mut reader = Command::new("cat").arg(bench.path("pipe.svg")).stdout(got).spawn().unwrap();
    let began = Instant::now();
    // Until the other program has come to open its end.
    let output = loop {
        let output = run(&bench, &["turn", "a.dial", "--picture"], "pipe.svg");
        if output.status.code() < Some(2) || began.elapsed() > Duration::from_secs(60) {
            break output;
        }
    };
    assert!(output.status.code() < Some(2), "{}", told(&output));
    reader.wait().unwrap();
    assert_eq!(run(&bench, &["turn", "a.dial", "--picture"], "stops.svg").status.code(), output.status.code());
    assert_eq!(fs::read(bench.path("got.svg")).unwrap(), fs::read(bench.path("stops.svg")).unwrap());
}
