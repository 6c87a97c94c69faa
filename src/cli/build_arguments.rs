//! What `build` takes, for one dial, a family, and several designs together.

use std::path::PathBuf;

use clap::Args;

use super::DesignArguments;
use super::family::FamilyArguments;
use super::stage::EditedArguments;
use crate::family::shard::Shard;
use crate::limits;
use crate::output::Printed;
use crate::output::page::Paper;
use crate::plan::Effort;

#[derive(Debug, Args)]
pub(super) struct BuildArguments {
    #[command(flatten)]
    pub(super) design: DesignArguments,
    /// More designs to lay on the same boards; only with `--together`
    #[arg(value_name = "FILE", requires = "together")]
    pub(super) more: Vec<PathBuf>,
    /// Lays all designs and variants on shared boards of the same stock, and writes one folder
    #[arg(long, conflicts_with_all = ["only", "cache"])]
    pub(super) together: bool,
    /// Where the files go; by default a folder beside the design, named after it
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) edited: EditedArguments,
    /// How many tries to save each board: 0 lays boxes in rows, more may need fewer boards and takes longer
    #[arg(long, value_name = "TRIES", default_value_t = Effort::default().0, value_parser = clap::value_parser!(u32).range(..=limits::EFFORT))]
    pub(super) effort: u32,
    /// Leaves out what is for printing (the proof, and the run sheet as PDF), which takes longer than all the rest
    #[arg(long)]
    pub(super) no_print: bool,
    /// The paper to print on
    #[arg(long, value_enum, default_value_t = Paper::default(), value_name = "SIZE", conflicts_with = "no_print")]
    pub(super) paper: Paper,
    /// Tells the client the price of the run on the first page of the proof
    #[arg(long, conflicts_with = "no_print")]
    pub(super) price: bool,
    #[command(flatten)]
    pub(super) family: FamilyArguments,
    /// Keeps the results of a family in this folder and reuses them; several builds may share it
    #[arg(long, value_name = "DIR", conflicts_with = "variant")]
    pub(super) cache: Option<PathBuf>,
    /// Builds only this part of a family, as in `--shard 2/8`; `gather` joins them
    #[arg(long, value_name = "I/N", value_parser = Shard::parse, conflicts_with_all = ["variant", "together"])]
    pub(super) shard: Option<Shard>,
}

impl BuildArguments {
    /// A flag that asks for something of a family.
    pub(super) fn family_flag(&self) -> Option<&'static str> {
        let given = [
            (self.family.only.is_some(), "--only"),
            (self.cache.is_some(), "--cache"),
            (self.shard.is_some(), "--shard"),
        ];
        given.iter().find(|(given, _)| *given).map(|(_, flag)| *flag)
    }

    /// In which way files are made, where there are several; tells what was built in one way from another.
    pub(super) fn how(&self) -> String {
        let price = if self.price { ", with the price" } else { "" };
        format!("effort {}, printed on {:?}{price}", self.effort, self.printed().map(|printed| printed.paper))
    }

    /// What is wanted of all that is for printing; none where that is left out.
    pub(super) fn printed(&self) -> Option<Printed> {
        (!self.no_print).then_some(Printed { paper: self.paper, price: self.price })
    }
}
