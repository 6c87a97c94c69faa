//! Nobody takes half of what is printed for the whole: where it cannot be written the exit code says so, and no verb panics.

use std::fs::File;
use std::io::Write as _;
use std::process::{Command, Output, Stdio};

use super::{Bench, told};

const DIAL: &str = include_str!("../../../examples/first.dial");
const SHOP: &str = include_str!("../../../examples/saltmarsh/shop.dial");
const FAMILY: &str = "\nparam more: length = 0mm from 0mm to 9mm\nfamily { each more in [0mm, 1mm] }\n";
const DRAWING: &str = include_str!("../../dials/goods.svg");

/// Every verb that prints to standard output, most in several ways.
const PRINTED: [&[&str]; 36] = [
    &["--help"],
    &["--version"],
    &["check", "--help"],
    &["check", "a.dial"],
    &["check", "a.dial", "b.dial"],
    &["check", "a.dial", "--message-format", "json"],
    &["check", "a.dial", "--sarif", "log.sarif"],
    &["build", "a.dial", "--no-print", "--out", "out"],
    &["build", "a.dial", "b.dial", "--together", "--no-print", "--out", "both"],
    &["build", "family.dial", "--no-print", "--out", "all"],
    &["family", "family.dial"],
    &["family", "family.dial", "--figures"],
    &["gather", "one", "two", "--out", "whole"],
    &["turn", "a.dial"],
    &["turn", "a.dial", "--message-format", "json"],
    &["portrait", "a.dial", "--size", "40", "--out", "portrait.png"],
    &["hold", "a.dial"],
    &["seek", "sought.dial", "--free", "more", "--least", "more"],
    &["seek", "sought.dial", "--free", "more", "--message-format", "json"],
    &["coupon", "shop.dial", "--stock", "birch", "--out", "cards"],
    &["diff", "a.dial", "b.dial"],
    &["diff", "a.dial", "b.dial", "--message-format", "json"],
    &["tidy", "a.dial", "--check"],
    &["tidy", "-"],
    &["audit-art", "goods.svg"],
    &["rehearse", "one"],
    &["measure", "made", "small.png"],
    &["measure", "made", "small.png", "--message-format", "json"],
    &["diary", "measured.json"],
    &["diary", "measured.json", "--message-format", "json"],
    &["begin", "new.dial"],
    &["adopt", "hexagon.svg", "adopted.dial"],
    &["completions", "bash"],
    &["manual", "--page", "reference.html"],
    &["explain"],
    &["explain", "unit-mismatch"],
];

fn bench() -> Bench {
    let bench = Bench::with(&[
        ("a.dial", DIAL),
        ("b.dial", &DIAL.replace("60mm", "62mm")),
        ("family.dial", &(DIAL.to_owned() + FAMILY)),
        ("shop.dial", SHOP),
        ("sought.dial", &(DIAL.to_owned() + "\nparam more: length = 5mm from 1mm to 9mm\n")),
        ("goods.svg", DRAWING),
        ("hexagon.svg", include_str!("../../data/adopted/hexagon.svg")),
    ])
    .with_a_scan();
    for (shard, out) in [("1/2", "one"), ("2/2", "two")] {
        let shards = ["build", "family.dial", "--no-print", "--shard", shard, "--out", out];
        assert_eq!(run(&bench, &shards, Stdio::null(), Stdio::piped()).status.code(), Some(0));
    }
    bench
}

/// Runs a verb with a text at its standard input.
fn run(bench: &Bench, arguments: &[&str], output: Stdio, error: Stdio) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
    command.args(arguments).current_dir(bench.folder.path()).env("NO_COLOR", "1");
    let mut child = command.stdin(Stdio::piped()).stdout(output).stderr(error).spawn().unwrap();
    // Most verbs read nothing and close it.
    let _ = child.stdin.take().unwrap().write_all(DIAL.as_bytes());
    child.wait_with_output().unwrap()
}

fn full() -> Stdio {
    File::options().write(true).open("/dev/full").unwrap().into()
}

/// A pipe that nobody reads any more.
fn closed() -> Stdio {
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    writer.into()
}

/// `/dev/full` fails every write as a full disc does (Linux, full(4)).
#[cfg(target_os = "linux")]
#[test]
fn what_does_not_fit_on_a_full_disc_is_told() {
    let bench = bench();
    for arguments in PRINTED {
        let output = run(&bench, arguments, full(), Stdio::piped());
        let said = told(&output);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        assert_eq!(said.matches("standard output cannot be written").count(), 1, "{arguments:?}: {said}");
        assert!(!said.contains("panicked") && !said.contains("fault of this program"), "{arguments:?}: {said}");
    }
    // What a verb writes into files is written all the same.
    assert!(bench.path("out/operations.json").exists() && bench.path("log.sarif").exists());
}

#[test]
fn a_closed_pipe_ends_quietly() {
    let bench = bench();
    for arguments in PRINTED {
        let output = run(&bench, arguments, closed(), Stdio::piped());
        let said = told(&output);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {said}");
        for words in ["panicked", "fault of this program", "cannot be written"] {
            assert!(!said.contains(words), "{arguments:?}: {said}");
        }
    }
}

/// Findings go to standard error; with both closed, as in `2>&1 | head`, nothing can be told but the code.
#[test]
fn findings_that_nobody_can_read_are_no_success() {
    let bench = Bench::with(&[("a.dial", "dial \"x\"\n"), ("untidy.dial", "dial \"")]);
    for arguments in [&["check", "a.dial"][..], &["tidy", "untidy.dial"], &["explain", "nosuch"], &["nosuch"]] {
        for (output, error) in [(Stdio::piped(), closed()), (closed(), closed())] {
            assert_eq!(run(&bench, arguments, output, error).status.code(), Some(2), "{arguments:?}");
        }
        #[cfg(target_os = "linux")]
        assert_eq!(run(&bench, arguments, Stdio::piped(), full()).status.code(), Some(2), "{arguments:?}");
    }
}
