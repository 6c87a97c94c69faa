//! What programs read keeps its schema (JSON Schema, draft 2020-12): the answers of `check`, `turn` and `hold`, `quote.json` and
//! `family.json`. That of `operations.json` is held in `output`.

use serde_json::Value;

use crate::command_line::run;
use crate::dials::root;

fn schema(name: &str) -> Value {
    let path = root().join("grammar").join(name);
    serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap()
}

/// What is wrong with a document by a schema.
fn faults(schema: &Value, document: &Value) -> Vec<String> {
    let validator = jsonschema::draft202012::new(schema).unwrap();
    validator.iter_errors(document).map(|fault| format!("{}: {fault}", fault.instance_path())).collect()
}

/// The schema of one verb's answer, with what all three share.
fn answer(verb: &str) -> Value {
    let mut schema = schema("answers.schema.json");
    let of_verb = if verb == "check" { "check".to_owned() } else { format!("{verb}_answer") };
    schema["$ref"] = format!("#/$defs/{of_verb}").into();
    schema.as_object_mut().unwrap().remove("anyOf");
    schema
}

#[test]
fn answers_keep_their_schema() {
    assert!(jsonschema::meta::is_valid(&schema("answers.schema.json")));
    let dials = [
        "examples/saltmarsh/crew.dial",
        "tests/dials/07-clicks.dial",
        "tests/dials/06-riveted-card.dial",
        "tests/dials/11-family.dial",
        "tests/dials/10-pointer.dial",
        "tests/ui/many-faults.dial",
        "tests/ui/misspelt-word.dial",
    ];
    for verb in ["check", "turn", "hold"] {
        let schema = answer(verb);
        for dial in dials {
            let said = run(&[verb, dial, "--message-format", "json"]).stdout;
            let said: Value = serde_json::from_slice(&said).unwrap();
            assert_eq!(faults(&schema, &said), Vec::<String>::new(), "{verb} {dial}");
        }
        let mut odd = serde_json::json!({ "findings": [], "standing": 0, "dials": [] });
        odd["standing"] = (-1).into();
        assert!(!faults(&schema, &odd).is_empty());
    }
    let lost: Value =
        serde_json::from_slice(&run(&["check", "no-such.dial", "--message-format", "json"]).stdout).unwrap();
    assert_eq!(faults(&schema("answers.schema.json"), &lost), Vec::<String>::new());
}

#[test]
fn quotes_and_families_keep_their_schemas() {
    let (quotes, families) = (schema("quote.schema.json"), schema("family.schema.json"));
    assert!(jsonschema::meta::is_valid(&quotes) && jsonschema::meta::is_valid(&families));
    let folder = tempfile::tempdir().unwrap();
    let mut looked_at = 0;
    for dial in ["tests/dials/11-family.dial", "examples/saltmarsh/crew.dial", "tests/dials/00-first-example.dial"] {
        let out = folder.path().join(looked_at.to_string());
        run(&["build", dial, "--out", out.to_str().unwrap(), "--no-print", "--effort", "0"]);
        let mut folders = vec![out];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                let schema = match path.file_name().and_then(|name| name.to_str()) {
                    _ if path.is_dir() => {
                        folders.push(path);
                        continue;
                    }
                    Some("quote.json") => &quotes,
                    Some("family.json") => &families,
                    _ => continue,
                };
                let written: Value = serde_json::from_slice(&std::fs::read(&path).unwrap()).unwrap();
                assert_eq!(faults(schema, &written), Vec::<String>::new(), "{}", path.display());
                looked_at += 1;
            }
        }
    }
    assert!(looked_at >= 4, "{looked_at}");
}
