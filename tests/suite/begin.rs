//! `begin`: what five answers make checks, says what was answered, and takes nobody's place.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use dialwright::analysis::{Request, analyse};
use dialwright::audit::Audit;
use dialwright::cli::disk::DiskProject;
use dialwright::format::tidied;

fn begun(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_dialwright")).current_dir(folder).arg("begin").args(arguments).output().unwrap()
}

fn errors(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// What is read at each stop of the file.
fn shown(audit: &Audit) -> Vec<String> {
    audit.reading_check.shows("peep").unwrap().into_iter().map(|label| label.to_string()).collect()
}

/// Checks the file that these answers make, and gives what it shows.
fn sound(arguments: &[&str], shop: bool) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    if shop {
        fs::copy(crate::dials::root().join("examples/saltmarsh/shop.dial"), folder.path().join("shop.dial")).unwrap();
    }
    let output = begun(folder.path(), &[&["new.dial"], arguments].concat());
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", errors(&output));
    let path = folder.path().join("new.dial");
    let text = fs::read_to_string(&path).unwrap();
    assert_eq!(tidied("new.dial", &text).ok().as_ref(), Some(&text), "{arguments:?}");
    let (project, name, _) = DiskProject::of(&path);
    let analysis = analyse(&project, &name, "", &Request::default()).unwrap();
    assert_eq!(analysis.standing(), 0, "{arguments:?}: {text}");
    shown(&analysis.dials[0].audit)
}

#[test]
fn what_is_answered_is_what_is_read() {
    assert_eq!(sound(&[], false), ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"]);
    assert_eq!(sound(&["--readings", "-2 to 1"], false), ["-2", "-1", "0", "1"]);
    assert_eq!(sound(&["--readings", "3 to 8", "--across", "55mm"], false), ["3", "4", "5", "6", "7", "8"]);
    let weather = ["--readings", "Fair, Rain,Snow , Fog", "--across", "70mm", "--shows", "Weather \"at {sea}\""];
    assert_eq!(sound(&weather, false), ["Fair", "Rain", "Snow", "Fog"]);
    assert_eq!(sound(&["--stock", "card", "--held-by", "rivet", "--readings", "6"], false).len(), 6);
    let measured =
        ["--shop", "shop.dial", "--stock", "birch", "--held-by", "screw", "--readings", "4", "--shows", "Disc"];
    assert_eq!(sound(&measured, true).len(), 4);
}

#[test]
fn large_dials_get_labels_that_their_play_leaves_room() {
    assert_eq!(sound(&["--readings", "1 to 12", "--across", "3.5in"], false).len(), 12);
}

#[test]
fn a_size_that_is_too_small_is_told_with_one_that_will_do() {
    let folder = tempfile::tempdir().unwrap();
    let output = begun(folder.path(), &["new.dial", "--across", "20mm"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(!folder.path().join("new.dial").exists());
    let said = errors(&output);
    let proposed = said.split("`--across ").nth(1).and_then(|rest| rest.split('`').next()).expect("a size is proposed");
    assert_eq!(sound(&["--across", proposed], false).len(), 10);
}

#[test]
fn nothing_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new.dial");
    fs::write(&path, "mine").unwrap();
    let output = begun(folder.path(), &["new.dial"]);
    assert_eq!((output.status.code(), fs::read_to_string(&path).unwrap().as_str()), (Some(2), "mine"));
    assert!(errors(&output).contains("is there already and stays as it is"));
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("nowhere", folder.path().join("link.dial")).unwrap();
        assert_eq!(begun(folder.path(), &["link.dial"]).status.code(), Some(2));
        assert!(!folder.path().join("nowhere").exists());
    }
}

#[test]
fn what_cannot_be_answered_so_is_said() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("deep")).unwrap();
    fs::write(
        folder.path().join("shop.dial"),
        "shop \"S\"\nstock ash { thickness 3mm; board 300mm by 200mm; kerf 0.1mm }\n",
    )
    .unwrap();
    let refused = |arguments: &[&str], words: &str| {
        let output = begun(folder.path(), arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(errors(&output).contains(words), "{arguments:?}: {}", errors(&output));
    };
    refused(&["points.txt"], "write `points.dial`");
    refused(&["a.dial", "--readings", "1"], "2 to 30 readings");
    refused(&["a.dial", "--readings", "9 to 1"], "2 to 30 readings");
    refused(&["a.dial", "--stock", "oak"], "the shop has `birch`, `card` and `clear_acrylic`");
    refused(&["a.dial", "--held-by", "glue"], "write `magnets`, `rivet` or `screw`");
    refused(&["a.dial", "--across", "wide"], "write a length above zero");
    refused(&["a.dial", "--held-by", "screw"], "the shop has `magnets` and `rivet`");
    refused(
        &["a.dial", "--held-by", "rivet"],
        "grips 2mm to 4mm, and the layers that it joins are 6mm thick together; `--stock card` is",
    );
    for (arguments, words) in [
        (["--across", "60"], "write its unit as well, for instance 60mm"),
        (["--across", "-10mm"], "write a length above zero"),
        (["--across", "1e400mm"], "nothing here is longer than 20000mm"),
        (["--across", "2000mm"], "`--across "),
        (["--shows", " "], "write a few words"),
        (["--shows", "Points\nof two"], "a title is one line"),
        (["--readings", "0 to 9223372036854775807"], "2 to 30 readings"),
        (["--readings", "9223372036854775806 to 9223372036854775807"], "2 to 30 readings"),
        (["--readings", "-5"], "2 to 30 readings"),
        (["--readings", "\u{6674},\u{96e8}"], "fewer, shorter or other readings may do"),
    ] {
        refused(&[&["a.dial"][..], &arguments].concat(), words);
    }
    refused(&["a.dial", "--shop", "shop.dial"], "no magnet, rivet or screw");
    refused(&["deep/a.dial", "--shop", "shop.dial", "--held-by", "rivet"], "copy it there first");
    refused(&["nowhere/a.dial"], "cannot be written");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);
}
