//! Outputs that are there stay whole, whatever happens to a build, or to two builds into the same folder.

use std::fs;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use fastrand::Rng;

use super::{Bench, Files, files, told};

/// Two sets of outputs that share not a byte by chance: other sizes, other titles.
const SIZES: [&str; 2] = ["across=50mm", "across=70mm"];
const DIAL: &str = "dial \"Kept\"\nparam across: length = 60mm from 40mm to 80mm \"size\"\noutline circle(diameter: across)\n\
    layer base of birch { engrave ring r { labels 1 to 6 } }\n\
    layer cover of birch { window peep = circle(diameter: 10mm) at polar(16mm, 0deg) }\n\
    stack { base; turn on magnets(disc); cover }\nreads r through peep\nrun 2\n";

impl Bench {
    fn new() -> Self {
        Self::with(&[("kept.dial", DIAL)])
    }

    /// A build without what is printed, which takes most of the time and is written in the same way.
    fn build(&self, size: &str, out: &str) -> Command {
        let mut command = self.whole_build(size, out);
        command.arg("--no-print");
        command
    }

    fn whole_build(&self, size: &str, out: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        command.args(["build", "kept.dial", "--set", size, "--out", out]).current_dir(self.folder.path());
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    }

    /// What a build of each size writes when nothing happens to it.
    fn whole(&self) -> [Files; 2] {
        SIZES.map(|size| {
            let name = format!("whole-{}", size.len() + size.matches('7').count());
            assert!(self.build(size, &name).status().unwrap().success());
            files(&self.path(&name))
        })
    }
}

fn killed_after(mut child: Child, delay: Duration) -> bool {
    sleep(delay);
    let running = child.try_wait().unwrap().is_none();
    let _ = child.kill();
    child.wait().unwrap();
    running
}

#[test]
fn a_hundred_kills_lose_nothing() {
    let bench = Bench::new();
    let whole = bench.whole();
    assert_ne!(whole[0], whole[1]);
    let began = Instant::now();
    assert!(bench.build(SIZES[0], "out").status().unwrap().success());
    // Follows how long a build takes on a busy machine, so that about half of them are killed, most near their end,
    // where files are written.
    let mut wait = began.elapsed();
    let mut random = Rng::with_seed(20_261_125);
    let (mut killed, mut seen) = (0, [0, 0]);
    for round in 0..100 {
        let child = bench.build(SIZES[round % 2], "out").spawn().unwrap();
        let share = if round % 3 == 0 { random.f64() } else { 0.8 + 0.4 * random.f64() };
        let was_running = killed_after(child, wait.mul_f64(share));
        killed += usize::from(was_running);
        if round % 3 != 0 {
            wait = wait.mul_f64(if was_running { 1.15 } else { 0.9 });
        }
        let found = files(&bench.path("out"));
        let which = whole.iter().position(|files| *files == found);
        seen[which.unwrap_or_else(|| panic!("round {round} left {:?}", found.keys()))] += 1;
    }
    assert!(killed >= 20, "only {killed} of 100 builds were killed before their end");
    assert!(seen[0] > 0 && seen[1] > 0, "every build was killed before it wrote anything: {seen:?}");
    // What they left behind is hidden, and goes with a later build once it is old.
    let hidden =
        || fs::read_dir(bench.folder.path()).unwrap().filter(|entry| is_hidden(entry.as_ref().unwrap())).count();
    let old = std::time::SystemTime::now() - Duration::from_secs(3600);
    for entry in fs::read_dir(bench.folder.path()).unwrap().map(Result::unwrap).filter(is_hidden) {
        fs::File::open(entry.path()).unwrap().set_modified(old).unwrap();
    }
    assert!(bench.build(SIZES[0], "out").status().unwrap().success());
    assert_eq!(hidden(), 0);
}

fn is_hidden(entry: &fs::DirEntry) -> bool {
    entry.file_name().to_string_lossy().starts_with('.')
}

#[test]
fn former_outputs_that_were_put_aside_come_back() {
    // As a build leaves them that was killed between its two steps, where folders cannot be exchanged in one.
    let bench = Bench::new();
    let [whole, _] = bench.whole();
    assert!(bench.build(SIZES[0], "out").status().unwrap().success());
    fs::create_dir(bench.path(".dialwright-former-x1")).unwrap();
    fs::rename(bench.path("out"), bench.path(".dialwright-former-x1/out")).unwrap();
    fs::write(bench.path("other.dial"), DIAL).unwrap();
    let mut other = bench.build(SIZES[1], "elsewhere");
    assert!(other.status().unwrap().success());
    assert_eq!(files(&bench.path("out")), whole);
}

#[test]
fn two_builds_at_once_do_not_mix() {
    let bench = Bench::new();
    let whole = bench.whole();
    for round in 0..8 {
        let children: Vec<Child> = SIZES.iter().map(|size| bench.build(size, "out").spawn().unwrap()).collect();
        let fine = children.into_iter().map(|mut child| child.wait().unwrap().success()).filter(|fine| *fine).count();
        assert_eq!(fine, 2, "round {round}");
        assert!(whole.contains(&files(&bench.path("out"))), "round {round}");
        if round % 2 == 0 {
            fs::remove_dir_all(bench.path("out")).unwrap();
        }
    }
}

#[test]
fn a_vanished_input_leaves_the_former_outputs() {
    let bench = Bench::new();
    let [whole, _] = bench.whole();
    assert!(bench.build(SIZES[0], "out").status().unwrap().success());
    fs::remove_file(bench.path("kept.dial")).unwrap();
    let output = bench.build(SIZES[1], "out").stderr(Stdio::piped()).spawn().unwrap().wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(told(&output).contains("kept.dial"));
    assert_eq!(files(&bench.path("out")), whole);
}

/// A limit on the size of files, which fails as a full disc does, in the middle of a file.
#[cfg(unix)]
#[test]
fn a_full_disc_leaves_the_former_outputs() {
    let bench = Bench::new();
    let [whole, _] = bench.whole();
    assert!(bench.build(SIZES[0], "out").status().unwrap().success());
    let largest = whole.values().map(Vec::len).max().unwrap();
    for blocks in [0, 1, largest / 1024 / 2] {
        let program = env!("CARGO_BIN_EXE_dialwright");
        let command =
            format!("trap '' XFSZ; ulimit -f {blocks}; exec '{program}' build kept.dial --set {} --out out", SIZES[1]);
        let output = Command::new("bash").args(["-c", &command]).current_dir(bench.folder.path()).output().unwrap();
        let said = told(&output);
        assert_eq!(output.status.code(), Some(2), "{said}");
        assert!(said.contains("out"), "{said}");
        assert_eq!(files(&bench.path("out")), whole, "{blocks} blocks");
        let left =
            fs::read_dir(bench.folder.path()).unwrap().filter(|entry| is_hidden(entry.as_ref().unwrap())).count();
        assert_eq!(left, 0, "nothing half-written is left");
    }
}

#[test]
fn a_file_in_the_place_of_the_folder_is_kept() {
    let bench = Bench::new();
    fs::write(bench.path("out"), "mine").unwrap();
    let output = bench.build(SIZES[0], "out").stderr(Stdio::piped()).spawn().unwrap().wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(fs::read_to_string(bench.path("out")).unwrap(), "mine");
    // A folder that cannot be made: its parent is a file.
    let output =
        bench.build(SIZES[0], "out/deeper").stderr(Stdio::piped()).spawn().unwrap().wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(told(&output).contains("out"));
}

/// Twice, in another folder, locale and time zone, on one processor and on all: not a byte differs.
#[test]
fn the_same_input_gives_the_same_bytes_everywhere() {
    let here = Bench::new();
    let first = {
        here.whole_build(SIZES[0], "out").status().unwrap();
        files(&here.path("out"))
    };
    assert!(first.len() > 4);
    let settings: [&[(&str, &str)]; 5] = [
        &[],
        &[("LC_ALL", "de_DE.UTF-8"), ("LANG", "de_DE.UTF-8")],
        &[("LC_ALL", "C"), ("TZ", "Pacific/Auckland")],
        &[("TZ", "America/St_Johns"), ("HOME", "/nonexistent"), ("COLUMNS", "20")],
        &[("LC_ALL", "ar_EG.UTF-8"), ("NO_COLOR", "1"), ("TERM", "dumb")],
    ];
    // Each setting, and each folder and number of processors; the fourth kind of round would be the first again.
    for round in (0..10).filter(|round| round % 4 != 2) {
        let there = Bench::new();
        let mut build = there.whole_build(SIZES[0], if round % 2 == 0 { "out" } else { "elsewhere/deeper" });
        if round % 4 == 3 && cfg!(target_os = "linux") {
            // Held to one processor, as `taskset` does.
            let program = build.get_program().to_owned();
            let arguments: Vec<_> = build.get_args().map(std::ffi::OsStr::to_owned).collect();
            build = Command::new("taskset");
            build.args(["-c", "0"]).arg(program).args(arguments).current_dir(there.folder.path());
            build.stdout(Stdio::null()).stderr(Stdio::null());
        }
        build.envs(settings[round % settings.len()].iter().copied());
        assert!(build.status().unwrap().success());
        let out = there.path(if round % 2 == 0 { "out" } else { "elsewhere/deeper" });
        assert!(files(&out) == first, "round {round}");
    }
}
