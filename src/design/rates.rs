//! What the shop's time costs, and how fast its machine works.

use crate::units::{Length, Speed, Time};
use crate::vocabulary::usual;

/// How fast the machine was measured to work a stock; none where not measured.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Speeds {
    /// Along a cut right through.
    pub cut: Option<Speed>,
    /// Along a scored line.
    pub score: Option<Speed>,
    /// Along each line of an engraving or of one pass of a pocket.
    pub engrave: Option<Speed>,
    /// From one such line to the next.
    pub line_spacing: Option<Length>,
}

/// The shop's rates; none where it does not state one.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    /// What sums of money are called.
    pub currency: String,
    /// Price of an hour of the machine.
    pub machine_hour: Option<f64>,
    /// Price of an hour of a person.
    pub bench_hour: Option<f64>,
    /// To lay and start a board, once for each setup.
    pub setup_time: Option<Time>,
    /// To turn one part over.
    pub turn_time: Option<Time>,
    /// To finish and assemble one dial.
    pub dial_time: Option<Time>,
    /// Magnets and rivets bought beyond what is needed, as a share of it.
    pub extra: f64,
}

impl Default for Rates {
    fn default() -> Self {
        Self {
            currency: String::new(),
            machine_hour: None,
            bench_hour: None,
            setup_time: None,
            turn_time: None,
            dial_time: None,
            extra: usual::EXTRA,
        }
    }
}
