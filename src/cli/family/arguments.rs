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
    /// Works on so many variants at once; as many as there are processors where left out
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

/// One of the shards that a build is split into.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::cli) struct Shard {
    /// Which one, from 1.
    pub(super) number: u32,
    /// Of how many.
    pub(super) of: u32,
}

impl Shard {
    /// From `I/N`.
    pub(in crate::cli) fn parse(text: &str) -> Result<Self, String> {
        let example = "write it as I/N, for instance 2/8 for the second of eight";
        let (number, of) = text.split_once('/').ok_or(example)?;
        let count = |text: &str| text.trim().parse::<u32>().map_err(|_| example.to_owned());
        let shard = Self { number: count(number)?, of: count(of)? };
        if shard.of == 0 || shard.of > limits::SHARDS {
            return Err(format!("a build is split into 1 to {} shards", limits::SHARDS));
        }
        if shard.number == 0 || shard.number > shard.of {
            return Err(format!("shards are counted from 1 to {}", shard.of));
        }
        Ok(shard)
    }

    /// Whether the variant at this place is among its own: every shard takes its turn, so that none has only large ones.
    pub(super) fn has(self, at: usize) -> bool {
        at % self.of as usize == (self.number - 1) as usize
    }
}

/// As many threads as the machine has processors.
pub(in crate::cli) fn processors() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}
