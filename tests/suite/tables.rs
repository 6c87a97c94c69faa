//! Tables that designs take columns of.

use dialwright::analysis::{Analysis, Request, analyse};
use dialwright::diff::diff;
use dialwright::project::MemoryProject;

const DESIGN: &str = r#"param who: text = "Ada"
param number: count = 1
dial "Lantern of {who}"
outline circle(diameter: 60mm)
layer sign of birch { engrave text("{who} {digits(number, 2)}", height: 4mm) }
family { each who, number in rows("crew.csv", "name", "number") }
"#;

fn of(design: &str, table: &[u8]) -> Analysis {
    let project = MemoryProject::default().with("lantern.dial", design).with("crew.csv", table);
    analyse(&project, "lantern.dial", "", &Request::default()).unwrap()
}

/// The value of the param `who` in each variant, as it is written in the language.
fn cells(table: &[u8]) -> Vec<String> {
    let design = DESIGN.replace(", number in rows", " in rows").replace("each who in rows", "each who in column");
    let design = design.replace(r#", "number")"#, ")");
    let analysis = of(&design, table);
    assert!(!analysis.has_errors(), "{:?}", analysis.findings);
    analysis.dials.iter().map(|dial| dial.design.params[0].1.clone()).collect()
}

/// RFC 4180, "Common Format and MIME Type for Comma-Separated Values (CSV) Files", section 2: its rules by number.
#[test]
fn tables_are_read_as_rfc_4180_says() {
    for (rule, table, wanted) in [
        ("1: lines end with CRLF", "name\r\nAda\r\nBrun\r\n", &["\"Ada\"", "\"Brun\""][..]),
        ("2: the last line may lack its end", "name\r\nAda\r\nBrun", &["\"Ada\"", "\"Brun\""]),
        ("3: the first line may name the columns", "seat,name\r\n1,Ada\r\n", &["\"Ada\""]),
        ("4: spaces belong to a cell", "name,seat\r\n Ada ,1\r\n", &["\" Ada \""]),
        ("5: cells may stand in quotes or not", "name,seat\r\n\"Ada\",1\r\n", &["\"Ada\""]),
        ("6: commas in quotes", "name,seat\r\n\"Brun, the elder\",1\r\n", &["\"Brun, the elder\""]),
        ("6: line ends in quotes", "name,seat\r\n\"Ada\r\nBrun\",1\r\n", &["\"Ada\\nBrun\""]),
        ("7: quotes in quotes", "name,seat\r\n\"b\"\"bb\",1\r\n", &["\"b\\\"bb\""]),
    ] {
        assert_eq!(cells(table.as_bytes()), wanted, "rule {rule}");
    }
}

#[test]
fn a_mark_of_bytes_and_unix_line_ends_are_taken_as_spreadsheets_write_them() {
    assert_eq!(cells("\u{FEFF}name,seat\nAda,1\nÇelé,2\n".as_bytes()), ["\"Ada\"", "\"Çelé\""]);
}

#[test]
fn braces_in_a_cell_are_letters() {
    assert_eq!(cells(b"name\n{who}\n"), ["\"\\{who}\""], "as it would be written in the language");
}

#[test]
fn variants_are_named_after_their_cells() {
    let table = "name,number\nAda,1\nAda,1\n\"Brun, the elder\",2\nΆννα,3\nJürn,4\n!!,5\nAda,1\n";
    let analysis = of(DESIGN, table.as_bytes());
    let names: Vec<&str> = analysis.dials.iter().map(|dial| dial.design.variant.as_deref().unwrap()).collect();
    assert_eq!(names, ["ada-1", "ada-1-2", "brun-the-elder-2", "άννα-3", "jürn-4", "who-5", "ada-1-3"]);
    let titles: Vec<&str> = analysis.dials.iter().map(|dial| dial.design.title.as_str()).collect();
    assert_eq!(titles[2], "Lantern of Brun, the elder");
}

/// What changed from one table to another, a line each, costs and layouts left out.
fn changes(old: &str, new: &str) -> Vec<String> {
    let (old, new) = (of(DESIGN, old.as_bytes()), of(DESIGN, new.as_bytes()));
    let about = |line: &String| line.contains("variant") || line.contains("param") || line.contains("title");
    diff(&old, &new).changes.iter().map(|change| change.says()).filter(about).collect()
}

#[test]
fn rows_that_change_places_change_nothing() {
    let old = "name,number\nAda,1\nBrun,2\nCele,3\n";
    assert_eq!(changes(old, "name,number\nCele,3\nAda,1\nBrun,2\n"), [""; 0]);
    // A cell that changes is told of its row, though the variant has another name with it.
    let changed = changes(old, "name,number\nCele,4\nAda,1\nBrun,2\n");
    assert!(changed.iter().any(|line| line.contains("`cele-3`") && line.contains("`cele-4`")), "{changed:?}");
    assert!(!changed.iter().any(|line| line.contains("ada") || line.contains("removed")), "{changed:?}");
    let added = changes(old, "name,number\nDov,4\nAda,1\nBrun,2\nCele,3\n");
    assert_eq!(added, ["added variant `dov-4`"]);
}

/// The revision names the state of all that a design was read from.
#[test]
fn the_revision_covers_the_table() {
    let revision = |table: &str| of(DESIGN, table.as_bytes()).dials[0].revision;
    let table = "name,number\nAda,1\n";
    assert_eq!(revision(table), revision(table));
    assert_ne!(revision(table), revision("name,number,seat\nAda,1,bow\n"));
}

#[test]
fn a_column_is_of_one_kind_or_of_texts() {
    let design = |kind: &str, value: &str| {
        format!(
            "dial \"A\"\nparam x: {kind} = {value}\noutline circle(diameter: 60mm)\nlayer a of birch {{ }}\n\
             family {{ each x in column(\"crew.csv\", \"x\") }}\n"
        )
    };
    for (kind, value, cells, faulty) in [
        ("count", "1", "1\n2\n", false),
        ("length", "1mm", "1mm\n1/8in\n1 1/8in\n-2cm\n", false),
        ("angle", "1deg", "1deg\n2deg\n", false),
        ("colour", "#000000", "#c8a06e\n#AABBCC\n", false),
        ("text", "\"\"", "1\n2mm\n007\n#abcdef\n", false),
        ("count", "1", "1\n2mm\n", true),
        ("count", "1", "1\n007\n", true),
        ("length", "1mm", "1mm\n2\n", true),
        ("length", "1mm", "1mm\n2deg\n", true),
        ("colour", "#000000", "#c8a06e\nred\n", true),
        ("count", "1", "1\ncircle(diameter: 3mm)\n", true),
    ] {
        let analysis = of(&design(kind, value), format!("x\n{cells}").as_bytes());
        let found: Vec<&str> = analysis.findings.iter().map(|found| found.finding.name()).collect();
        assert_eq!(found.contains(&"cell-misfit"), faulty, "{kind} of {cells:?}: {found:?}");
        assert_eq!(analysis.has_errors(), faulty, "{kind} of {cells:?}: {found:?}");
    }
}
