//! `explain`: the page of a finding, a word of the language or a topic.

use std::collections::BTreeMap;

use clap::Args;

use super::{COULD_NOT_RUN, FINE};
use crate::diagnostics::Finding;
use crate::reference::{ENTRIES, Topic, explained};

#[derive(Debug, Args)]
pub(super) struct ExplainArguments {
    /// Name of a finding, such as `unit-mismatch`, a word of the language, such as `sector`, or a topic; all of them are
    /// listed where none is given
    name: Option<String>,
}

pub(super) fn run(arguments: &ExplainArguments) -> u8 {
    let Some(name) = &arguments.name else {
        list();
        return FINE;
    };
    match explained(name) {
        Ok(page) => {
            println!("{}", page.trim_end());
            FINE
        }
        Err(nearest) => {
            let help = nearest.map_or_else(
                || "`dialwright explain` lists all that it knows".to_owned(),
                |nearest| format!("did you mean `{nearest}`?"),
            );
            eprintln!("dialwright: there is no finding, word or topic called `{name}`; {help}");
            COULD_NOT_RUN
        }
    }
}

/// Every finding, one a line; then every word with what it is, and every topic.
fn list() {
    Finding::ALL.iter().for_each(|finding| println!("{}", finding.name()));
    println!("\n# Words of the language\n");
    let mut words: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for entry in ENTRIES.iter() {
        words.entry(entry.word).or_default().push(entry.role.described());
    }
    let widest = words.keys().map(|word| word.chars().count()).max().unwrap_or(0);
    for (word, roles) in &words {
        const SHOWN: usize = 3;
        let more = roles.len().saturating_sub(SHOWN);
        let shown: Vec<&str> = roles.iter().take(SHOWN).map(String::as_str).collect();
        let more = if more > 0 { format!("; and {more} more") } else { String::new() };
        println!("{word:widest$}  {}{more}", shown.join("; "));
    }
    println!("\n# Topics\n");
    Topic::ALL.iter().for_each(|topic| println!("{:widest$}  {}", topic.name(), topic.says()));
}
