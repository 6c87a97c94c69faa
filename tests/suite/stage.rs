//! Outputs are written all together or not at all.

use std::fs;
use std::io::{self, ErrorKind};
use std::path::Path;

use dialwright::cli::stage::{Edited, MANIFEST, Staging};
use dialwright::output::OutputFile;

fn file(name: &str, text: &str) -> OutputFile {
    OutputFile { name: name.to_owned(), bytes: text.as_bytes().to_vec() }
}

fn stage(folder: &Path, files: &[OutputFile]) -> io::Result<()> {
    dialwright::cli::stage::stage(folder, files, Edited::Refuse)
}

fn entries(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|it| it.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn a_folder_is_made_and_made_anew() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("deep/out");
    stage(&out, &[file("a.svg", "one"), file("small/b.svg", "two")]).unwrap();
    assert_eq!(fs::read_to_string(out.join("small/b.svg")).unwrap(), "two");
    stage(&out, &[file("c.svg", "three")]).unwrap();
    assert_eq!(entries(&out), [MANIFEST, "c.svg"], "what is no longer built is gone");
    assert_eq!(entries(&bench.path().join("deep")), ["out"], "nothing is left beside it");
}

#[test]
fn a_folder_with_other_files_is_refused() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    stage(&out, &[file("a.svg", "one")]).unwrap();
    fs::write(out.join("notes.txt"), "mine").unwrap();
    let error = stage(&out, &[file("a.svg", "two")]).unwrap_err();
    assert_eq!(error.kind(), ErrorKind::AlreadyExists);
    assert!(error.to_string().contains("notes.txt"), "{error}");
    assert_eq!(fs::read_to_string(out.join("a.svg")).unwrap(), "one");
    assert_eq!(entries(bench.path()), ["out"]);
    fs::remove_file(out.join("notes.txt")).unwrap();
    fs::create_dir(out.join("photos")).unwrap();
    assert_eq!(stage(&out, &[file("a.svg", "two")]).unwrap_err().kind(), ErrorKind::AlreadyExists);
}

#[test]
fn a_folder_without_a_manifest_must_be_empty() {
    let bench = tempfile::tempdir().unwrap();
    fs::write(bench.path().join("a.svg"), "mine").unwrap();
    assert_eq!(stage(bench.path(), &[file("a.svg", "two")]).unwrap_err().kind(), ErrorKind::AlreadyExists);
    assert_eq!(fs::read_to_string(bench.path().join("a.svg")).unwrap(), "mine");
    let empty = bench.path().join("empty");
    fs::create_dir(&empty).unwrap();
    stage(&empty, &[file("a.svg", "one")]).unwrap();
}

#[test]
fn a_file_in_the_way_stays() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    fs::write(&out, "mine").unwrap();
    assert_eq!(stage(&out, &[file("a.svg", "one")]).unwrap_err().kind(), ErrorKind::AlreadyExists);
    assert!(stage(&out.join("below"), &[file("a.svg", "one")]).is_err());
    assert_eq!(fs::read_to_string(&out).unwrap(), "mine");
    assert_eq!(entries(bench.path()), ["out"]);
}

#[test]
fn names_stay_inside_the_folder() {
    let bench = tempfile::tempdir().unwrap();
    for name in ["../a.svg", "/a.svg", "", ".", "a\nb", MANIFEST] {
        let error = stage(&bench.path().join("out"), &[file(name, "one")]).unwrap_err();
        assert_eq!(error.kind(), ErrorKind::InvalidInput, "{name:?}");
    }
    let twice = [file("a.svg", "one"), file("a.svg", "two")];
    assert_eq!(stage(&bench.path().join("out"), &twice).unwrap_err().kind(), ErrorKind::InvalidInput);
    assert!(entries(bench.path()).is_empty());
}

#[test]
fn a_failed_write_leaves_the_former_folder_whole() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    stage(&out, &[file("a.svg", "one")]).unwrap();
    // `a` cannot be a file and a folder at once: the second write fails half-way.
    assert!(stage(&out, &[file("a", "two"), file("a/b", "three")]).is_err());
    assert_eq!(entries(&out), [MANIFEST, "a.svg"]);
    assert_eq!(fs::read_to_string(out.join("a.svg")).unwrap(), "one");
    assert_eq!(entries(bench.path()), ["out"], "nothing half-written is left");
}

#[cfg(target_os = "linux")]
#[test]
fn a_place_where_nothing_can_be_written_is_an_error() {
    // The process file system lets nobody make folders, whoever runs the test.
    assert!(stage(Path::new("/proc/outputs"), &[file("a.svg", "one")]).is_err());
}

#[cfg(unix)]
#[test]
fn the_folder_can_be_read_like_any_other() {
    use std::os::unix::fs::PermissionsExt;
    let bench = tempfile::tempdir().unwrap();
    fs::create_dir(bench.path().join("usual")).unwrap();
    stage(&bench.path().join("out"), &[file("a.svg", "one")]).unwrap();
    let mode = |name: &str| fs::metadata(bench.path().join(name)).unwrap().permissions().mode();
    assert_eq!(mode("out"), mode("usual"));
}

#[cfg(unix)]
#[test]
fn a_link_to_a_folder_stays_a_link() {
    let bench = tempfile::tempdir().unwrap();
    let real = bench.path().join("real");
    fs::create_dir(&real).unwrap();
    std::os::unix::fs::symlink(&real, bench.path().join("out")).unwrap();
    stage(&bench.path().join("out"), &[file("a.svg", "one")]).unwrap();
    assert!(fs::symlink_metadata(bench.path().join("out")).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(real.join("a.svg")).unwrap(), "one");
}

/// Every file has its digest in the manifest, in the form that common tools check.
#[test]
fn the_manifest_can_be_checked_by_other_tools() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    stage(&out, &[file("a.svg", "abc"), file("small/b c.svg", "")]).unwrap();
    // The digests of "abc" and of nothing: NIST, "SHA-256 example values", and FIPS 180-4's padding of the empty message.
    let wanted = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad  a.svg\n\
        e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855  small/b c.svg\n";
    assert_eq!(fs::read_to_string(out.join(MANIFEST)).unwrap(), wanted);
}

#[test]
fn what_somebody_changed_is_refused_unless_they_say_so() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    let files = [file("a.svg", "one"), file("b.svg", "two"), file("c.svg", "three")];
    stage(&out, &files).unwrap();
    fs::write(out.join("b.svg"), "two, mended by hand").unwrap();
    // Of the same length and age, as a tool may leave it that keeps times.
    let age = fs::metadata(out.join("c.svg")).unwrap().modified().unwrap();
    fs::write(out.join("c.svg"), "threE").unwrap();
    fs::File::options().write(true).open(out.join("c.svg")).unwrap().set_modified(age).unwrap();
    let error = stage(&out, &files).unwrap_err();
    assert_eq!(error.kind(), ErrorKind::AlreadyExists);
    let said = "holds `b.svg` and 1 more, changed since it was written here: move it away, or lose the changes with `--replace-edited`";
    assert!(error.to_string().ends_with(said), "{error}");
    assert_eq!(fs::read_to_string(out.join("b.svg")).unwrap(), "two, mended by hand");
    assert_eq!(entries(bench.path()), ["out"]);
    dialwright::cli::stage::stage(&out, &files, Edited::Replace).unwrap();
    assert_eq!(fs::read_to_string(out.join("b.svg")).unwrap(), "two");
    // What was only taken away is no change that could be lost.
    fs::remove_file(out.join("b.svg")).unwrap();
    stage(&out, &files).unwrap();
}

/// A manifest of an earlier form has names alone: what it lists is ours, whatever it holds.
#[test]
fn a_manifest_of_names_alone_is_understood() {
    let bench = tempfile::tempdir().unwrap();
    fs::write(bench.path().join("a.svg"), "one").unwrap();
    fs::write(bench.path().join(MANIFEST), "a.svg\n").unwrap();
    stage(bench.path(), &[file("b.svg", "two")]).unwrap();
    assert_eq!(entries(bench.path()), [MANIFEST, "b.svg"]);
}

/// What comes into the folder, or changes in it, while new outputs are being made is kept, and so are the former outputs.
#[test]
fn what_comes_meanwhile_is_kept() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    let whole = || [out.join("a.svg"), out.join("small/b.svg")].map(|path| fs::read_to_string(path).unwrap());
    stage(&out, &[file("a.svg", "one"), file("small/b.svg", "two")]).unwrap();
    let come: [(&str, &str); 4] =
        [("notes.txt", "mine"), ("small/notes.txt", "mine"), ("a.svg", "mended"), ("photos/one.jpg", "mine")];
    for (name, text) in come {
        let former = fs::read(out.join(name)).ok();
        let begun = Staging::begin(&out, Edited::Refuse).unwrap();
        begun.put_all(&[file("a.svg", "new")]).unwrap();
        fs::create_dir_all(out.join(name).parent().unwrap()).unwrap();
        fs::write(out.join(name), text).unwrap();
        let kept = whole();
        let error = begun.finish().unwrap_err();
        assert_eq!(error.kind(), ErrorKind::AlreadyExists, "{error}");
        assert!(error.to_string().contains("out`"), "{error}");
        assert_eq!(fs::read_to_string(out.join(name)).unwrap(), text, "{name}");
        assert_eq!(whole(), kept);
        assert_eq!(entries(bench.path()), ["out"]);
        match former {
            Some(former) => fs::write(out.join(name), former).unwrap(),
            None => fs::remove_file(out.join(name)).unwrap(),
        }
        let _ = fs::remove_dir(out.join("photos"));
    }
    stage(&out, &[file("a.svg", "new")]).unwrap();
    assert_eq!(entries(&out), [MANIFEST, "a.svg"]);
}

/// A leftover in which something lies that is not ours is never cleared with it.
#[test]
fn what_lies_in_a_leftover_stays() {
    let bench = tempfile::tempdir().unwrap();
    let left = bench.path().join(".dialwright-fresh-x1");
    stage(&left, &[file("a.svg", "one")]).unwrap();
    fs::write(left.join("notes.txt"), "mine").unwrap();
    let old = std::time::SystemTime::now() - std::time::Duration::from_secs(3600);
    fs::File::open(&left).unwrap().set_modified(old).unwrap();
    stage(&bench.path().join("out"), &[file("a.svg", "one")]).unwrap();
    assert_eq!(entries(&left), ["notes.txt"]);
}

#[cfg(unix)]
#[test]
fn what_is_read_only_is_refused() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    stage(&out, &[file("a.svg", "one")]).unwrap();
    for (path, usual, said) in
        [(out.join("a.svg"), 0o644, "holds `a.svg`, which is read-only"), (out.clone(), 0o755, "is read-only")]
    {
        let mode = |bits: u32| fs::set_permissions(&path, fs::Permissions::from_mode(bits)).unwrap();
        mode(usual & 0o555);
        let error = stage(&out, &[file("a.svg", "two")]).unwrap_err();
        mode(usual);
        assert!(error.to_string().ends_with(said), "{error}");
        assert_eq!(fs::read_to_string(out.join("a.svg")).unwrap(), "one");
    }
}

/// Permissions of the folder and of what stays in it are those that its owner gave it.
#[cfg(unix)]
#[test]
fn permissions_of_a_folder_stay() {
    use std::os::unix::fs::PermissionsExt as _;
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    let files = [file("a.svg", "one"), file("small/b.svg", "two")];
    stage(&out, &files).unwrap();
    let given = [("", 0o2750), ("small", 0o700), ("a.svg", 0o640), ("small/b.svg", 0o600)];
    for (name, mode) in given {
        fs::set_permissions(out.join(name), fs::Permissions::from_mode(mode)).unwrap();
    }
    stage(&out, &[file("a.svg", "three"), file("small/b.svg", "four"), file("c.svg", "five")]).unwrap();
    for (name, mode) in given {
        assert_eq!(fs::metadata(out.join(name)).unwrap().permissions().mode() & 0o7777, mode, "{name}");
    }
}

#[cfg(unix)]
#[test]
fn a_link_that_leads_nowhere_is_refused() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    std::os::unix::fs::symlink(bench.path().join("gone"), &out).unwrap();
    let error = stage(&out, &[file("a.svg", "one")]).unwrap_err();
    assert!(error.to_string().ends_with("is a link that leads nowhere"), "{error}");
    assert_eq!(entries(bench.path()), ["out"]);
}

/// A manifest that leads elsewhere takes nothing away there.
#[test]
fn a_manifest_reaches_nothing_outside() {
    let bench = tempfile::tempdir().unwrap();
    let out = bench.path().join("out");
    fs::create_dir(&out).unwrap();
    fs::write(bench.path().join("mine.txt"), "mine").unwrap();
    let absolute = bench.path().join("mine.txt").display().to_string();
    fs::write(out.join(MANIFEST), format!("../mine.txt\n{absolute}\n{}  ../mine.txt\n", "0".repeat(64))).unwrap();
    stage(&out, &[file("a.svg", "one")]).unwrap();
    assert_eq!(fs::read_to_string(bench.path().join("mine.txt")).unwrap(), "mine");
    assert_eq!(entries(&out), [MANIFEST, "a.svg"]);
}
