//! What programs read keeps its schema (JSON Schema, draft 2020-12): the answers of `check`, `turn` and `hold`, `quote.json` and
//! `family.json`, `measured.json`, and the answers of `measure` and `diary`. That of `operations.json` is held in `output`.

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

#[test]
fn measured_runs_and_diaries_keep_their_schema() {
    let schema = schema("measured.schema.json");
    assert!(jsonschema::meta::is_valid(&schema));
    let bench = crate::scans::written::bench();
    let measured = std::fs::read_to_string(bench.path("measured.json")).unwrap();
    let measured: Value = serde_json::from_str(&measured).unwrap();
    let diary = bench.run(&["diary", "measured.json", "measured.json", "--message-format", "json"]).stdout;
    let diary: Value = serde_json::from_slice(&diary).unwrap();
    let lost = bench.run(&["diary", "no-such.json", "--message-format", "json"]).stdout;
    let lost: Value = serde_json::from_slice(&lost).unwrap();
    for (what, said) in [("measured.json", &measured), ("measure", &bench.answer), ("diary", &diary), ("lost", &lost)] {
        assert_eq!(faults(&schema, said), Vec::<String>::new(), "{what}");
    }
    assert_eq!(bench.answer["measured"], measured);
    // Every definition is told of something: what is of no part, and a field too many, is found.
    let of = |name: &str| {
        let mut schema = schema.clone();
        schema["$ref"] = format!("#/$defs/{name}").into();
        schema.as_object_mut().unwrap().remove("anyOf");
        schema
    };
    assert!(!faults(&of("diary"), &measured).is_empty());
    let mut odd = measured.clone();
    odd["parts"][0]["face"] = "side".into();
    assert!(!faults(&of("measured"), &odd).is_empty());
}

/// The page of the reference about `operations.json`: what each field of its schema means.
struct Fields<'s> {
    schema: &'s Value,
    page: String,
    /// Parts of the schema that are told further down, each with its heading.
    later: Vec<(String, &'s Value)>,
    told: Vec<(String, &'s Value)>,
}

impl<'s> Fields<'s> {
    fn page(schema: &'s Value) -> String {
        let intro = "# operations\n\n`operations.json` says what must happen to the material, machine-neutral, and in `designs` what the \
                     parts must come to. Its JSON\nSchema is `grammar/operations.schema.json`; this page says what each field means. \
                     A field with a `?` may be left out. `rehearse` reads\nit back (`explain rehearsing`), of version 1 too, which \
                     says nothing of what was meant.\n";
        let mut fields =
            Fields { schema, page: intro.to_owned(), later: vec![("the list".to_owned(), schema)], told: Vec::new() };
        while !fields.later.is_empty() {
            let (heading, node) = fields.later.remove(0);
            fields.section(&heading, node);
        }
        fields.page
    }

    fn section(&mut self, heading: &str, node: &'s Value) {
        self.page += &format!("\n## {heading}\n");
        if heading != "the list"
            && let Some(says) = node["description"].as_str()
        {
            self.page += &format!("\n{}\n", wrapped(says));
        }
        let of = |name: &str| self.schema["$defs"][name]["properties"].clone();
        self.table(heading, node, None);
        let base = if node["properties"].is_object() { of(heading) } else { Value::Null };
        for variant in node["oneOf"].as_array().into_iter().flatten() {
            self.table(heading, variant, Some(&base));
        }
    }

    /// One table; of one of several forms, whose fields that `base` describes stand there.
    fn table(&mut self, heading: &str, node: &'s Value, base: Option<&Value>) {
        let Some(fields) = node["properties"].as_object() else { return };
        let tag = fields.iter().find_map(|(name, field)| Some((name, field["const"].as_str()?)));
        let tag = tag.filter(|_| base.is_some()).map(|(name, value)| format!("`{name}`: {value}"));
        let base = base.unwrap_or(&Value::Null);
        let mut rows = String::new();
        for (name, field) in fields {
            if tag.is_some() && field["const"].is_string() || !base[name].is_null() && field["description"].is_null() {
                continue;
            }
            let required = [node, base]
                .iter()
                .any(|it| it["required"].as_array().is_some_and(|all| all.contains(&name.as_str().into())));
            let says = field["description"].as_str().unwrap_or_else(|| panic!("`{name}` is not described: {field}"));
            let optional = if required { "" } else { "?" };
            rows += &format!(
                "| `{name}`{optional} | {} | {} |\n",
                self.form(heading, name, field),
                says.replace('|', "\\|")
            );
        }
        if let Some(tag) = tag {
            let says = node["description"].as_str().map_or_else(String::new, |says| format!(". {says}"));
            self.page += &format!("\n{}\n", wrapped(&format!("{tag}{says}")));
        }
        if !rows.is_empty() {
            self.page += &format!("\n| field | form | what it means |\n| --- | --- | --- |\n{rows}");
        }
    }

    /// What a field holds, in a word.
    fn form(&mut self, heading: &str, name: &str, field: &'s Value) -> String {
        if let Some(of) = field["$ref"].as_str() {
            let of = of.trim_start_matches("#/$defs/");
            return match of {
                "length" | "signed" => "mm".to_owned(),
                "bearing" => "deg".to_owned(),
                "colour" | "face" => of.to_owned(),
                "path" | "shape" | "closed" => "lines".to_owned(),
                "contour" => "line".to_owned(),
                _ => self.link(heading, of, &self.schema["$defs"][of]),
            };
        }
        match field["type"].as_str() {
            Some("array") if field["items"].is_object() => {
                let one = name.strip_suffix('s').unwrap_or(name);
                format!("list of {}", self.form(heading, one, &field["items"]))
            }
            Some("array") => "lines".to_owned(),
            Some("object") => self.link(heading, name, field),
            Some("boolean") => "true or false".to_owned(),
            Some("string") => "text".to_owned(),
            Some(number) => number.to_owned(),
            None if field["oneOf"].is_array() => self.link(heading, name, field),
            None => match field["enum"].as_array() {
                Some(words) => words.iter().map(|it| it.as_str().unwrap()).collect::<Vec<_>>().join(", "),
                None => format!("`{}`", field["const"]).replace('"', ""),
            },
        }
    }

    /// Where a part of the schema is told; of two that bear one name the second is named after what holds it as well.
    fn link(&mut self, heading: &str, name: &str, node: &'s Value) -> String {
        let known = |it: &&(String, &Value)| std::ptr::eq(it.1, node);
        if let Some((known, _)) = self.told.iter().find(known) {
            return known.clone();
        }
        let is_free = self.told.iter().all(|(known, _)| known != name);
        let called = if is_free { name.to_owned() } else { format!("{heading} {name}") };
        self.told.push((called.clone(), node));
        self.later.push((called.clone(), node));
        called
    }
}

/// Lines of at most 132 signs, as our pages have them.
fn wrapped(text: &str) -> String {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last_mut().unwrap();
        if line.len() + 1 + word.len() > 132 {
            lines.push(word.to_owned());
        } else {
            *line = format!("{line} {word}").trim().to_owned();
        }
    }
    lines.join("\n")
}

/// `explain operations` is made from the schema: `DIALWRIGHT_FIELDS=write` writes it anew.
#[test]
fn the_reference_tells_what_each_field_means() {
    let schema = schema("operations.schema.json");
    let page = Fields::page(&schema);
    let path = root().join("src/reference/topics/operations.md");
    if std::env::var_os("DIALWRIGHT_FIELDS").is_some_and(|value| value == "write") {
        std::fs::write(&path, &page).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap(), page);
}
