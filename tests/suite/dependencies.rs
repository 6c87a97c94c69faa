//! What the crate rests on: licences that may be combined with its own, one known source, and a reason for each crate that
//! it names itself.

use std::collections::BTreeSet;
use std::fs;
use std::process::Command;

use serde_json::Value;

/// SPDX names of licences under which a library may be linked into a program that is given away under the MIT licence.
const ALLOWED: [&str; 14] = [
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "MPL-2.0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// The kind of machine that this is, as the compiler calls it.
fn host() -> String {
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let output = Command::new(rustc).arg("-vV").output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().find_map(|line| line.strip_prefix("host: ")).unwrap().to_owned()
}

fn metadata() -> Value {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(["metadata", "--format-version", "1", "--locked", "--offline"]).current_dir(crate::dials::root());
    // Without it cargo wants what only other systems need, and has never fetched it.
    command.args(["--filter-platform", &host()]);
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Whether one of the alternatives of an SPDX expression is allowed whole. Brackets bind tighter than `AND`, `AND` than `OR`;
/// a slash is the older way to write `OR`.
fn is_allowed(expression: &str) -> bool {
    if let Some((before, rest)) = expression.split_once('(') {
        let (inner, after) = rest.split_once(')').unwrap();
        let stands_for = if is_allowed(inner) { "MIT" } else { "none" };
        return is_allowed(&format!("{before}{stands_for}{after}"));
    }
    let alternatives = expression.split(" OR ").flat_map(|part| part.split('/'));
    alternatives.into_iter().any(|part| part.split(" AND ").all(|name| ALLOWED.contains(&name.trim())))
}

#[test]
fn expressions_of_licences_are_read_as_spdx_says() {
    // SPDX specification 2.3, annex D: operators and their precedence.
    for fine in ["MIT", "GPL-3.0 OR MIT", "MIT/Apache-2.0", "(MIT OR GPL-2.0) AND Unicode-3.0", "MIT AND ISC"] {
        assert!(is_allowed(fine), "{fine}");
    }
    for wrong in ["GPL-3.0-only", "MIT AND GPL-3.0", "(GPL-2.0 OR LGPL-3.0) AND MIT", ""] {
        assert!(!is_allowed(wrong), "{wrong}");
    }
}

#[test]
fn every_library_may_be_used_and_comes_from_one_place() {
    let metadata = metadata();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 100);
    for package in packages.iter().filter(|package| package["name"] != "dialwright") {
        let name = &package["name"];
        let licence = package["license"].as_str().unwrap_or_default();
        assert!(is_allowed(licence), "{name}: `{licence}`");
        assert_eq!(package["source"], "registry+https://github.com/rust-lang/crates.io-index", "{name}");
    }
}

#[test]
fn every_direct_dependency_has_its_reason() {
    let text = fs::read_to_string(crate::dials::root().join("DEVELOPERS.md")).unwrap();
    let (_, table) = text.split_once("## Direct dependencies").unwrap();
    let (table, _) = table.split_once("\n## ").unwrap();
    let rows = table.lines().filter_map(|line| line.strip_prefix("| ")?.split_once(" | "));
    let rows: Vec<(&str, &str)> = rows.filter(|(name, _)| *name != "crate" && !name.starts_with('-')).collect();
    let named: Vec<&str> = rows.iter().flat_map(|(names, _)| names.split(", ")).collect();
    let unique: BTreeSet<&str> = named.iter().copied().collect();
    assert_eq!(named.len(), unique.len(), "a crate is listed twice: {named:?}");
    assert!(rows.iter().all(|(_, why)| why.len() > 10));
    let metadata = metadata();
    let own = metadata["packages"].as_array().unwrap().iter().find(|package| package["name"] == "dialwright").unwrap();
    let name = |it: &Value| it["rename"].as_str().or(it["name"].as_str()).unwrap().to_owned();
    let wanted: Vec<String> = own["dependencies"].as_array().unwrap().iter().map(name).collect();
    let wanted: BTreeSet<&str> = wanted.iter().map(String::as_str).collect();
    assert_eq!(unique, wanted, "DEVELOPERS.md and Cargo.toml name different crates");
}

/// Every crate that the library is built on with these features, itself left out, development apart.
fn built_on(features: &[&str]) -> BTreeSet<String> {
    let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(cargo);
    command.args(["tree", "--locked", "--offline", "--edges", "normal", "--prefix", "none", "--format", "{p}"]);
    command.args(["--no-default-features", "--features", &features.join(","), "--target", &host()]);
    let output = command.current_dir(crate::dials::root()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    text.lines().skip(1).filter_map(|line| line.split(' ').next()).map(str::to_owned).collect()
}

#[test]
fn who_uses_the_library_alone_compiles_no_server_and_no_command_line() {
    let of_servers =
        ["axum", "hyper", "tokio", "notify", "lsp-server", "lsp-types", "clap", "indicatif", "comfy-table"];
    let alone = built_on(&[]);
    assert!(alone.contains("kurbo") && alone.contains("pest"), "{alone:?}");
    for name in of_servers {
        assert!(!alone.contains(name), "the library alone is built on {name}");
    }
    // Each feature brings what it is for and nothing of the others.
    let (cli, editor, view) = (built_on(&["cli"]), built_on(&["editor"]), built_on(&["view"]));
    assert!(cli.contains("clap") && !cli.contains("axum") && !cli.contains("lsp-types"));
    assert!(editor.contains("lsp-types") && !editor.contains("axum") && !editor.contains("clap"));
    assert!(view.contains("axum") && !view.contains("lsp-types") && !view.contains("clap"));
}
