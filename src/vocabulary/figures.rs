//! The figures that `family` compares variants by.

use super::types::Type;
use crate::units::Dimension;

/// One figure that variants are compared by.
#[derive(Debug)]
pub struct FigureSpec {
    /// The word for it.
    pub word: &'static str,
    /// The type of its value.
    pub holds: Type,
    /// What it tells.
    pub doc: &'static str,
    /// How it is asked for: the condition of `--where`, or what is asked of `--least`.
    pub usage: &'static str,
}

const TIME: Type = Type::Quantity(Dimension::TIME);
const FORCE: Type = Type::Quantity(Dimension::FORCE);

table! {
    /// All of them, in the order of the table.
    enum FigureName of FigureSpec with pages "figures" {
        Made = "made" { holds: Type::Truth, usage: "made", doc: "whether it can be made" }
        Width = "width" { holds: Type::LENGTH, usage: "width < 60mm", doc: "of all layers as they lie at the first stop, from left to right" }
        Height = "height" { holds: Type::LENGTH, usage: "height < 60mm", doc: "the same, from top to bottom" }
        Thickness = "thickness" { holds: Type::LENGTH, usage: "thickness <= 8mm", doc: "of the finished stack, boards and glue" }
        Fits = "fits" { holds: Type::Truth, usage: "fits", doc: "whether it drops into its slot and turns there" }
        Reads = "reads" { holds: Type::Truth, usage: "reads", doc: "whether every stop shows what is due" }
        Holds = "holds" { holds: Type::Truth, usage: "holds", doc: "whether every turn stays where it is put, and whole" }
        Yield = "yield" { holds: Type::NUMBER, usage: "yield > 98%", doc: "share of dials that read right at every stop, within the shop's spreads" }
        YieldPlusMinus = "yield_plus_minus" { holds: Type::NUMBER, usage: "yield - yield_plus_minus > 98%", doc: "what that share may be off by, either way" }
        LeastMargin = "least_margin" { holds: Type::LENGTH, usage: "least_margin > 0.8mm", doc: "least distance of a due label from an edge over it" }
        LeastLiftOff = "least_lift_off" { holds: FORCE, usage: "least_lift_off > 2N", doc: "least force that lifts a half off, +-15 %" }
        Parts = "parts" { holds: Type::NUMBER, usage: "parts < 30", doc: "parts on all boards" }
        Boards = "boards" { holds: Type::NUMBER, usage: "boards is 1", doc: "boards that the run takes" }
        CutLength = "cut_length" { holds: Type::LENGTH, usage: "cut_length", doc: "how far the machine cuts" }
        MachineTime = "machine_time" { holds: TIME, usage: "machine_time < 1h", doc: "of the whole run" }
        BenchTime = "bench_time" { holds: TIME, usage: "bench_time < 2h", doc: "of the whole run, at the bench" }
        Cost = "cost" { holds: Type::NUMBER, usage: "cost", doc: "price of the whole run, in the shop's currency" }
        CostOfOne = "cost_of_one" { holds: Type::NUMBER, usage: "cost_of_one < 4", doc: "price of the run over the dials that were asked for" }
        Errors = "errors" { holds: Type::NUMBER, usage: "errors is 0", doc: "errors found" }
        Warnings = "warnings" { holds: Type::NUMBER, usage: "warnings is 0", doc: "warnings found, those accepted left out" }
    }
}
