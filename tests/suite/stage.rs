//! Outputs are written all together or not at all.

use std::fs;
use std::io::ErrorKind;
use std::path::Path;

use dialwright::cli::stage::{MANIFEST, stage};
use dialwright::output::OutputFile;

fn file(name: &str, text: &str) -> OutputFile {
    OutputFile { name: name.to_owned(), bytes: text.as_bytes().to_vec() }
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
