//! What is written over something that was there is written whole or not at all, by every verb that writes.

use std::fs;
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use fastrand::Rng;

use super::{Files, told};

const DIAL: &str = include_str!("../../../examples/first.dial");
const SHOP: &str = include_str!("../../../examples/saltmarsh/shop.dial");
const FAMILY: &str = "\nparam more: length = 0mm from 0mm to 9mm\nfamily { each more in [0mm, 1mm] }\n";

/// A verb that writes, and how it is called in a folder made by [`Bench::new`].
struct Verb {
    arguments: &'static [&'static str],
    /// What it reads.
    input: &'static str,
    /// The file or folder that it writes over.
    written: &'static str,
}

const VERBS: [Verb; 14] = [
    Verb { arguments: &["build", "a.dial", "--no-print", "--out", "out"], input: "a.dial", written: "out" },
    Verb { arguments: &["tidy", "untidy.dial"], input: "untidy.dial", written: "untidy.dial" },
    Verb { arguments: &["check", "slip.dial", "--mend"], input: "slip.dial", written: "slip.dial" },
    Verb { arguments: &["check", "a.dial", "--sarif", "log.sarif"], input: "a.dial", written: "log.sarif" },
    Verb {
        arguments: &["coupon", "shop.dial", "--stock", "birch", "--out", "cards"],
        input: "shop.dial",
        written: "cards",
    },
    Verb { arguments: &["gather", "one", "two", "--out", "whole"], input: "one", written: "whole" },
    Verb { arguments: &["diff", "a.dial", "b.dial", "--picture", "diff.svg"], input: "b.dial", written: "diff.svg" },
    Verb { arguments: &["turn", "a.dial", "--picture", "stops.svg"], input: "a.dial", written: "stops.svg" },
    Verb {
        arguments: &["portrait", "a.dial", "--size", "40", "--out", "portrait.png"],
        input: "a.dial",
        written: "portrait.png",
    },
    Verb { arguments: &["hold", "a.dial", "--plot", "pull.svg"], input: "a.dial", written: "pull.svg" },
    Verb {
        arguments: &["seek", "sought.dial", "--free", "more", "--least", "more", "--write"],
        input: "sought.dial",
        written: "sought.dial",
    },
    Verb { arguments: &["measure", "made", "small.png"], input: "small.png", written: "measured.json" },
    Verb {
        // What it says of the scan is there already.
        arguments: &[
            "measure",
            "made",
            "small.png",
            "--known",
            "1=30mm",
            "--out",
            "own.json",
            "--write",
            "own-shop.dial",
        ],
        input: "small.png",
        written: "own-shop.dial",
    },
    Verb { arguments: &["diary", "own.json", "--picture", "kerf.svg"], input: "own.json", written: "kerf.svg" },
];

/// A folder with everything that the verbs read, and something in the place of what they write.
struct Bench(super::Bench);

impl std::ops::Deref for Bench {
    type Target = super::Bench;

    fn deref(&self) -> &super::Bench {
        &self.0
    }
}

impl Bench {
    fn new() -> Self {
        let bench = Self(super::Bench::with(&[
            ("a.dial", DIAL),
            ("b.dial", &DIAL.replace("60mm", "62mm")),
            ("untidy.dial", &DIAL.replace(" of ", "   of   ")),
            ("slip.dial", &DIAL.replace("labels", "labells")),
            ("family.dial", &(DIAL.to_owned() + FAMILY)),
            ("shop.dial", SHOP),
            ("sought.dial", &(DIAL.to_owned() + "\nparam more: length = 5mm from 1mm to 9mm\n")),
            ("own-shop.dial", SHOP),
        ]));
        let bench = Self(bench.0.with_a_scan());
        // One that another scan left, and one of this scan.
        fs::copy(bench.path("small.png"), bench.path("other.png")).unwrap();
        for (scan, known, out) in [("other.png", "1=29.9mm", "measured.json"), ("small.png", "1=30mm", "own.json")] {
            let arguments = ["measure", "made", scan, "--known", known, "--out", out];
            assert!(bench.run(&arguments).status.code() < Some(2));
        }
        for (shard, out) in [("1/2", "one"), ("2/2", "two")] {
            let shards = ["build", "family.dial", "--no-print", "--shard", shard, "--out", out];
            assert_eq!(bench.run(&shards).status.code(), Some(0));
        }
        bench
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(arguments).current_dir(self.folder.path()).env("NO_COLOR", "1").stdin(Stdio::null());
        command.stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    /// Every file of the bench, with what is in it.
    fn files(&self) -> Files {
        super::files(self.folder.path())
    }

    /// What the verb writes when nothing happens to it, and what was there; the bench is left as it was.
    fn before_and_after(&self, verb: &Verb) -> (Files, Files) {
        let before = self.files();
        assert!(self.run(verb.arguments).status.code() < Some(2), "{:?}", verb.arguments);
        let after = self.files();
        assert_ne!(before, after, "{:?} wrote nothing", verb.arguments);
        self.restore(&before);
        (before, after)
    }

    fn restore(&self, files: &Files) {
        for name in self.files().keys().filter(|name| !files.contains_key(*name)) {
            fs::remove_file(self.path(name)).unwrap();
            // The folders that this leaves empty go as well.
            let emptied = self.path(name).ancestors().skip(1).take_while(|it| fs::remove_dir(it).is_ok()).count();
            assert!(emptied < 4);
        }
        for (name, bytes) in files {
            if fs::read(self.path(name)).ok().as_ref() != Some(bytes) {
                fs::create_dir_all(self.path(name).parent().unwrap()).unwrap();
                fs::write(self.path(name), bytes).unwrap();
            }
        }
    }
}

/// Leftovers of what was killed, which are hidden and harmless.
fn visible(files: Files) -> Files {
    files.into_iter().filter(|(name, _)| !name.starts_with(".dialwright-")).collect()
}

#[cfg(unix)]
#[test]
fn a_full_disc_changes_nothing() {
    let bench = Bench::new();
    for verb in &VERBS {
        let before = bench.files();
        // A limit on the size of files fails as a full disc does.
        let line = format!("trap '' XFSZ; ulimit -f 0; exec '{}' \"$@\"", env!("CARGO_BIN_EXE_dialwright"));
        let mut command = Command::new("bash");
        command.args(["-c", &line, "bash"]).args(verb.arguments).current_dir(bench.folder.path());
        let output = command.env("NO_COLOR", "1").output().unwrap();
        assert_eq!(output.status.code(), Some(2), "{:?}: {}", verb.arguments, told(&output));
        assert!(told(&output).contains(verb.written), "{}", told(&output));
        assert_eq!(bench.files(), before, "{:?}", verb.arguments);
    }
}

/// Nobody may write into the folder; whoever may do everything gives that up first.
#[cfg(unix)]
#[test]
fn a_read_only_folder_changes_nothing() {
    use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _};
    let bench = Bench::new();
    let mode = |bits: u32| fs::set_permissions(bench.folder.path(), fs::Permissions::from_mode(bits)).unwrap();
    let may_do_all = fs::metadata("/proc/self").is_ok_and(|own| own.uid() == 0);
    for verb in &VERBS {
        let before = bench.files();
        mode(0o555);
        let mut command = bench.command(verb.arguments);
        if may_do_all {
            command = Command::new("setpriv");
            command.args(["--reuid=65534", "--regid=65534", "--clear-groups", env!("CARGO_BIN_EXE_dialwright")]);
            command.args(verb.arguments).current_dir(bench.folder.path()).env("NO_COLOR", "1");
        }
        let output = command.output().unwrap();
        mode(0o755);
        assert_eq!(output.status.code(), Some(2), "{:?}: {}", verb.arguments, told(&output));
        assert!(told(&output).contains(verb.written), "{}", told(&output));
        assert_eq!(bench.files(), before, "{:?}", verb.arguments);
    }
}

#[test]
fn a_vanished_input_changes_nothing() {
    for verb in &VERBS {
        let bench = Bench::new();
        fs::rename(bench.path(verb.input), bench.path("elsewhere")).unwrap();
        let before = bench.files();
        let output = bench.run(verb.arguments);
        assert_eq!(output.status.code(), Some(2), "{:?}: {}", verb.arguments, told(&output));
        assert!(told(&output).contains(verb.input), "{}", told(&output));
        assert_eq!(bench.files(), before, "{:?}", verb.arguments);
    }
}

/// Of several files, none is written where one cannot be read.
#[test]
fn all_are_read_before_any_is_tidied() {
    let bench = Bench::new();
    let before = bench.files();
    let output = bench.run(&["tidy", "untidy.dial", "missing.dial"]);
    assert_eq!(output.status.code(), Some(2), "{}", told(&output));
    assert_eq!(bench.files(), before);
}

#[test]
fn kills_leave_the_old_or_the_new() {
    let mut random = Rng::with_seed(20_261_126);
    let bench = Bench::new();
    for verb in VERBS.iter().filter(|verb| verb.arguments[0] != "build") {
        let (before, after) = bench.before_and_after(verb);
        let began = Instant::now();
        bench.run(verb.arguments);
        let whole = began.elapsed();
        let mut killed = 0;
        for _ in 0..20 {
            bench.restore(&before);
            let mut child = bench.command(verb.arguments).stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
            sleep(whole.mul_f64(random.f64()));
            killed += usize::from(child.try_wait().unwrap().is_none());
            let _ = child.kill();
            child.wait().unwrap();
            let found = visible(bench.files());
            assert!(found == before || found == after, "{:?} left {:?}", verb.arguments, found.keys());
        }
        assert!(killed > 3, "{:?} was killed {killed} times", verb.arguments);
        let left = bench.files();
        left.keys().filter(|name| name.starts_with(".dialwright-")).for_each(|name| {
            let top = name.split('/').next().unwrap();
            let _ = fs::remove_dir_all(bench.path(top)).or_else(|_| fs::remove_file(bench.path(top)));
        });
        bench.restore(&before);
    }
}

#[test]
fn two_at_once_do_not_mix() {
    let bench = Bench::new();
    for verb in &VERBS {
        let (_, after) = bench.before_and_after(verb);
        let children = [(); 2].map(|()| bench.command(verb.arguments).spawn().unwrap());
        let outputs = children.map(|child| child.wait_with_output().unwrap());
        let fine = outputs.iter().filter(|output| output.status.code() < Some(2)).count();
        // One may find the file changed by the other meanwhile, and leave it alone.
        assert!(fine >= 1, "{:?}: {}", verb.arguments, told(&outputs[0]));
        assert_eq!(bench.files(), after, "{:?}", verb.arguments);
    }
}

/// What was a link stays one, and keeps its permissions.
#[cfg(unix)]
#[test]
fn links_and_permissions_stay() {
    use std::os::unix::fs::{PermissionsExt as _, symlink};
    let bench = Bench::new();
    for verb in VERBS.iter().filter(|verb| verb.written.contains('.')) {
        let (before, after) = bench.before_and_after(verb);
        let real = bench.path("real");
        if bench.path(verb.written).exists() {
            fs::rename(bench.path(verb.written), &real).unwrap();
        } else {
            fs::write(&real, "old").unwrap();
        }
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        symlink("real", bench.path(verb.written)).unwrap();
        assert!(bench.run(verb.arguments).status.code() < Some(2), "{:?}", verb.arguments);
        assert!(fs::symlink_metadata(bench.path(verb.written)).unwrap().is_symlink(), "{:?}", verb.arguments);
        assert_eq!(fs::metadata(&real).unwrap().permissions().mode() & 0o777, 0o640);
        assert_eq!(fs::read(&real).unwrap(), after[verb.written], "{:?}", verb.arguments);
        fs::remove_file(bench.path(verb.written)).unwrap();
        fs::remove_file(&real).unwrap();
        bench.restore(&before);
    }
}

/// A new file has the permissions of any other new file, not those of a temporary one.
#[cfg(unix)]
#[test]
fn new_files_can_be_read_like_any_other() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = Bench::new();
    bench.run(&["turn", "a.dial", "--picture", "stops.png"]);
    let mode = |name: &str| fs::metadata(bench.path(name)).unwrap().permissions().mode();
    assert_eq!(mode("stops.png"), mode("a.dial"));
}

/// Nothing is waited for that may never come.
#[cfg(unix)]
#[test]
fn a_pipe_is_not_read() {
    let bench = Bench::new();
    assert!(Command::new("mkfifo").arg(bench.path("pipe.svg")).status().unwrap().success());
    fs::write(bench.path("art.dial"), DIAL.replace("labels 0 to 9", "labels [art(\"pipe.svg\")]")).unwrap();
    let mut child = bench.command(&["check", "art.dial"]).spawn().unwrap();
    let began = Instant::now();
    while child.try_wait().unwrap().is_none() {
        assert!(began.elapsed() < Duration::from_secs(60), "it still waits");
        sleep(Duration::from_millis(20));
    }
    let output = child.wait_with_output().unwrap();
    assert!(told(&output).contains("no plain file"), "{}", told(&output));
}
