//! What the verbs take that work on a whole family.

use std::num::NonZeroUsize;

use clap::Args;

use crate::analysis::Threads;
use crate::limits;

/// What every verb takes that works on a whole family.
#[derive(Clone, Debug, Args)]
pub(in crate::cli) struct FamilyArguments {
    /// Only variants for which this holds, in words of the file, as in `--only "across is 46mm and seats < 5"`
    #[arg(long, value_name = "CONDITION", conflicts_with = "variant")]
    pub(in crate::cli) only: Option<String>,
    /// How many variants to work on at once; by default one for each processor
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=limits::JOBS))]
    jobs: Option<u16>,
}

impl FamilyArguments {
    /// How many variants are worked on at once.
    pub(super) fn threads(&self) -> Threads {
        let asked = self.jobs.and_then(|jobs| NonZeroUsize::new(usize::from(jobs)));
        Threads::AtOnce(asked.unwrap_or_else(processors))
    }
}

/// As many threads as the machine has processors.
pub(in crate::cli) fn processors() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}
