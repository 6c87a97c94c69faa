//! `explain`: the page of a finding.

use clap::Args;

use super::{COULD_NOT_RUN, FINE};
use crate::diagnostics::{Finding, suggest};

#[derive(Debug, Args)]
pub(super) struct ExplainArguments {
    /// Name of the finding, such as `unit-mismatch`; all of them are listed where none is given
    name: Option<String>,
}

pub(super) fn run(arguments: &ExplainArguments) -> u8 {
    let Some(name) = &arguments.name else {
        Finding::ALL.iter().for_each(|finding| println!("{}", finding.name()));
        return FINE;
    };
    match Finding::named(name) {
        Some(finding) => {
            print!("{}", finding.page());
            FINE
        }
        None => {
            let nearest = suggest::nearest(name, Finding::ALL.iter().map(|finding| finding.name()));
            let help = nearest.map_or_else(
                || "`dialwright explain` lists them all".to_owned(),
                |nearest| format!("did you mean `{nearest}`?"),
            );
            eprintln!("dialwright: there is no finding called `{name}`; {help}");
            COULD_NOT_RUN
        }
    }
}
