//! What shells, manuals, hooks and hosts of repositories take from the command: tested with their own tools and schemas.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

use crate::command_line::run;
use crate::dials::root;
use crate::files;

/// The verbs that the help lists.
fn verbs() -> Vec<String> {
    let help = text(&run(&["--help"]).stdout);
    let lines = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    // Further in stands what a long line goes on with.
    let lines = lines.filter(|line| !line.starts_with("   "));
    let names = lines.filter_map(|line| line.split_whitespace().next().map(str::to_owned));
    let verbs: Vec<String> = names.filter(|name| name != "help").collect();
    assert!(verbs.len() >= 12 && verbs.iter().any(|verb| verb == "gather"), "{verbs:?}");
    verbs
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn every_shell_gets_a_script_that_names_every_verb() {
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let output = run(&["completions", shell]);
        assert_eq!(output.status.code(), Some(0));
        let script = text(&output.stdout);
        for verb in verbs() {
            assert!(script.contains(&verb), "{shell} knows no {verb}");
        }
    }
    assert_eq!(run(&["completions", "cobol"]).status.code(), Some(2));
}

/// Bash itself, as its manual says (Programmable Completion): the function named by `complete -F` fills COMPREPLY.
#[test]
fn bash_completes_verbs_and_flags() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("dialwright.bash");
    fs::write(&script, run(&["completions", "bash"]).stdout).unwrap();
    let asked = |words: &str, at: usize| {
        let program = format!(
            "source {}; COMP_WORDS=({words}); COMP_CWORD={at}; COMPREPLY=(); \
             $(complete -p dialwright | sed 's/.*-F \\([^ ]*\\).*/\\1/') dialwright \"${{COMP_WORDS[{at}]}}\" \"\"; \
             echo \"${{COMPREPLY[*]}}\"",
            script.display()
        );
        let output = Command::new("bash").args(["-c", &program]).output().unwrap();
        text(&output.stdout).trim().to_owned()
    };
    assert_eq!(asked("dialwright ga", 1), "gather");
    assert!(asked("dialwright build --sh", 2).contains("--shard"));
}

#[test]
fn every_verb_has_a_man_page() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("manual");
    let output = run(&["manual", "--out", out.to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let page = |name: &str| fs::read_to_string(out.join("man1").join(name)).unwrap();
    for verb in verbs() {
        let page = page(&format!("dialwright-{verb}.1"));
        assert!(page.contains(&format!(".TH dialwright-{verb} 1")), "{page}");
        assert!(page.contains(".SH SYNOPSIS") && page.contains(".SH OPTIONS"), "{page}");
        // Every flag that the verb's help lists, with man's escaped dashes.
        let help = text(&run(&[&verb, "--help"]).stdout);
        let flags = help.lines().filter_map(|line| line.split_whitespace().find(|word| word.starts_with("--")));
        let flags: Vec<String> = flags.map(|flag| flag.trim_end_matches([',', '.']).replace('-', "\\-")).collect();
        assert!(flags.iter().any(|flag| flag == "\\-\\-help"), "{help}");
        for flag in flags {
            assert!(page.contains(&flag), "{verb}: {flag} is not in its page");
        }
    }
    assert!(page("dialwright.1").contains(".SH SUBCOMMANDS"));
    assert_eq!(
        fs::read_dir(out.join("man1")).unwrap().count(),
        verbs().len() + 1,
        "one for each verb, and one for all"
    );
}

/// The log of a run over these files.
fn log(arguments: &[&str]) -> (Output, Value) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("findings.sarif");
    let output = run(&[arguments, &["--sarif", file.to_str().unwrap()]].concat());
    (output, serde_json::from_slice(&fs::read(&file).unwrap()).unwrap())
}

/// OASIS: "Static Analysis Results Interchange Format (SARIF) Version 2.1.0", its JSON Schema; see
/// `tests/data/sarif-schema-2.1.0.md`.
fn is_sarif(log: &Value) {
    let schema = fs::read_to_string(root().join("tests/data/sarif-schema-2.1.0.json")).unwrap();
    // The schema as first published has a bracket too many in a pattern of two properties; OASIS mended it in Errata 01.
    let faulty = "^[a-zA-Z]{2}|^[a-zA-Z]{2}-[a-zA-Z]{2}]?$";
    assert_eq!(schema.matches(faulty).count(), 2);
    let schema: Value = serde_json::from_str(&schema.replace(faulty, "^[a-zA-Z]{2}(-[a-zA-Z]{2})?$")).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator.iter_errors(log).map(|fault| fault.to_string()).collect();
    assert!(faults.is_empty(), "{faults:?}");
}

#[test]
fn logs_are_sarif_and_point_at_what_the_messages_point_at() {
    let mut without_place = Vec::new();
    // One file for each third finding: all kinds of labels, mends and files.
    for file in files("ui", "dial").iter().step_by(3) {
        let name = file.strip_prefix(root()).unwrap().to_str().unwrap();
        let (output, log) = log(&["check", name, "--message-format", "json"]);
        is_sarif(&log);
        let said: Value = serde_json::from_slice(&output.stdout).unwrap();
        let (findings, results) = (said["findings"].as_array().unwrap(), log["runs"][0]["results"].as_array().unwrap());
        assert_eq!(findings.len(), results.len(), "{name}");
        for (finding, result) in findings.iter().zip(results) {
            assert_eq!(finding["finding"], result["ruleId"]);
            let rule = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
            assert_eq!(log["runs"][0]["tool"]["driver"]["rules"][rule]["id"], result["ruleId"]);
            let Some(label) = finding["labels"].get(0) else {
                assert_eq!(result["locations"].get(0), None, "{name}");
                without_place.push(finding["finding"].as_str().unwrap().to_owned());
                continue;
            };
            let place = result["locations"].get(0).unwrap_or_else(|| panic!("{name}: {label} is nowhere in the log"));
            let region = &place["physicalLocation"]["region"];
            assert_eq!((&region["startLine"], &region["startColumn"]), (&label["line"], &label["column"]), "{name}");
            assert_eq!(region["endColumn"], label["end_column"]);
            let uri = place["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap();
            assert!(root().join(uri).exists(), "{uri} is a file from where the command was run");
        }
    }
    without_place.dedup();
    assert_eq!(without_place, ["nominal-figures"], "what is about no place alone has none");
}

#[test]
fn what_is_accepted_is_suppressed_with_its_reason_and_mends_are_fixes() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("näher dran.dial");
    let text = include_str!("../../examples/first.dial").replace("60mm", "60,0mm");
    fs::write(&file, text).unwrap();
    let (_, log) = log(&["check", file.to_str().unwrap()]);
    is_sarif(&log);
    let results = log["runs"][0]["results"].as_array().unwrap();
    let fixed = results.iter().find(|result| result["ruleId"] == "decimal-comma").unwrap();
    let change = &fixed["fixes"][0]["artifactChanges"][0];
    assert!(change["artifactLocation"]["uri"].as_str().unwrap().ends_with("/n%C3%A4her%20dran.dial"), "{change}");
    assert!(!change["replacements"][0]["insertedContent"]["text"].as_str().unwrap().contains(','));
}

#[test]
fn whole_folders_are_checked_and_what_designs_share_is_passed_over() {
    let (output, log) = log(&["check", "examples"]);
    is_sarif(&log);
    let said = text(&output.stdout);
    assert!(said.ends_with("checked    12 designs; 1 file passed over, for designs share it\n"), "{said}");
    assert!(said.contains("examples/saltmarsh/crew.dial: 8 dials: "), "{said}");
    let json = run(&["check", "examples/first.dial", "examples/saltmarsh/toll.dial", "--message-format", "json"]);
    let json: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(json["designs"][1]["file"], "examples/saltmarsh/toll.dial");
    let shop = run(&["check", "examples/saltmarsh/shop.dial"]);
    assert_eq!(shop.status.code(), Some(1), "alone, a shop is no dial");
}

/// The hooks name verbs and flags that there are, and files of ours alone.
#[test]
fn hooks_run_commands_that_there_are() {
    let hooks = fs::read_to_string(Path::new(root()).join(".pre-commit-hooks.yaml")).unwrap();
    let entries: Vec<&str> = hooks.lines().filter_map(|line| line.trim().strip_prefix("entry: dialwright ")).collect();
    assert_eq!(entries, ["check .", "tidy"]);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("own.dial");
    fs::write(&file, include_str!("../../examples/first.dial")).unwrap();
    for entry in entries {
        let mut command = Command::new(env!("CARGO_BIN_EXE_dialwright"));
        let output = command.args(entry.split(' ')).arg("own.dial").current_dir(folder.path()).output().unwrap();
        assert_ne!(output.status.code(), Some(2), "{entry}: {}", text(&output.stderr));
    }
}
