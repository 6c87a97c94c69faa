//! A revision follows everything that a dial is made from, and nothing else.

use dialwright::analysis::{Request, analyse};
use dialwright::project::MemoryProject;

const DIAL: &str = r#"with "shop.dial"
dial "Tides"
param across: length = 60mm
outline circle(diameter: across)
typeface "letters.ttf"
layer base of ply { engrave ring points { labels [1, 2, art("moon.svg"), 4]; height 6mm } }
layer cover of ply { window peep = circle(diameter: 12mm) at polar(20mm, 0deg) }
stack { base; turn on magnets(disc); cover }
reads points through peep
"#;

const SHOP: &str = "shop \"Mill Lane\"\nstock ply { thickness 3mm; board 300mm by 300mm; kerf 0.15mm }
magnet disc { diameter 8mm; height 1.5mm; remanence 1.3T }\n";

const MOON: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10">
<circle cx="5" cy="5" r="4"/></svg>"#;

fn project() -> MemoryProject {
    MemoryProject::default()
        .with("tides.dial", DIAL)
        .with("shop.dial", SHOP)
        .with("moon.svg", MOON)
        .with("letters.ttf", dejavu::sans::regular())
}

/// The revisions of all dials of the file.
fn revisions(project: &MemoryProject, name: &str, set: &[(&str, &str)]) -> Vec<String> {
    let settings = set.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect();
    let request = Request { settings, ..Request::default() };
    let analysis = analyse(project, name, "", &request).expect("the file is there");
    assert!(!analysis.has_errors(), "{:?}", analysis.findings);
    analysis.dials.iter().map(|dial| dial.revision.to_string()).collect()
}

#[test]
fn whatever_a_design_uses_changes_its_revision() {
    let first = revisions(&project(), "tides.dial", &[]);
    assert_eq!(first.len(), 1);
    let others = [
        ("a note in the design", project().with("tides.dial", format!("{DIAL}// for the fair\n"))),
        ("the shop", project().with("shop.dial", SHOP.replace("0.15mm", "0.16mm"))),
        ("a drawing", project().with("moon.svg", MOON.replace("r=\"4\"", "r=\"3\""))),
        ("the typeface", project().with("letters.ttf", dejavu::serif::regular())),
    ];
    for (what, other) in others {
        assert_ne!(revisions(&other, "tides.dial", &[]), first, "{what}");
    }
    assert_ne!(revisions(&project(), "tides.dial", &[("across", "60.0000001mm")]), first, "what is set, exactly");
}

#[test]
fn nothing_else_changes_it() {
    let first = revisions(&project(), "tides.dial", &[]);
    assert_eq!(revisions(&project(), "tides.dial", &[]), first, "twice the same");
    assert_eq!(revisions(&project().with("other.svg", MOON), "tides.dial", &[]), first, "a file that it does not use");
    assert_eq!(revisions(&project().with("copy.dial", DIAL), "copy.dial", &[]), first, "the design's own name");
}

#[test]
fn variants_differ_and_each_has_one_revision() {
    let family = format!("{DIAL}family {{ each across in [58mm, 62mm] }}\n");
    let project = project().with("tides.dial", family);
    let all = revisions(&project, "tides.dial", &[]);
    assert_eq!(all.len(), 2);
    assert_ne!(all[0], all[1]);
    let request = Request { variant: Some("across_62mm".to_owned()), ..Request::default() };
    let analysis = analyse(&project, "tides.dial", "", &request).unwrap();
    let alone: Vec<String> = analysis.dials.iter().map(|dial| dial.revision.to_string()).collect();
    assert_eq!(alone, all[1..], "{:?}", analysis.findings);
}
