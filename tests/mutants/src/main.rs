//! Weaves all mutants that cargo-mutants lists into one copy of the crate, so that one build serves them all: which of them
//! is at work is chosen when a test is run.
//!
//! `weave TREE LIST LEFT_OUT`: the copy, which is changed in place; what `cargo mutants --list --json` wrote; and a file
//! with the numbers of the mutants to leave out, one a line. A mutant's number is its place in the list, from 1. What
//! could not be woven is printed, a line each: the number, a tab, why.

mod weave;

use std::collections::{BTreeMap, BTreeSet};
use std::error::Error;
use std::path::Path;
use std::{env, fs};

use serde::Deserialize;
use weave::{Mutant, woven};

#[derive(Deserialize)]
struct Listed {
    file: String,
    span: Span,
    replacement: String,
    genre: String,
}

#[derive(Deserialize)]
struct Span {
    start: Place,
}

#[derive(Deserialize)]
struct Place {
    line: usize,
    column: usize,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = env::args().collect();
    let [_, tree, list, left_out] = arguments.as_slice() else { return Err("weave TREE LIST LEFT_OUT".into()) };
    let listed: Vec<Listed> = serde_json::from_str(&fs::read_to_string(list)?)?;
    let left_out = fs::read_to_string(left_out)?;
    let left_out: BTreeSet<u32> = left_out.lines().filter_map(|line| line.parse().ok()).collect();
    let mut files: BTreeMap<String, Vec<Mutant>> = BTreeMap::new();
    for (id, listed) in (1..).zip(listed) {
        if !left_out.contains(&id) {
            let Span { start: Place { line, column } } = listed.span;
            let Listed { genre, replacement, .. } = listed;
            files.entry(listed.file).or_default().push(Mutant { id, line, column: column - 1, genre, replacement });
        }
    }
    for (file, mutants) in files {
        let path = Path::new(tree).join(&file);
        let (text, not_woven) =
            woven(&fs::read_to_string(&path)?, mutants).map_err(|error| format!("{file}: {error}"))?;
        fs::write(&path, text)?;
        for (id, why) in not_woven {
            println!("{id}\t{why}");
        }
    }
    Ok(())
}
