//! What prints on sheets before they are cut.

use crate::source::Span;
use crate::units::Length;
use crate::vocabulary::usual;

/// The shop's printer.
#[derive(Clone, Debug, PartialEq)]
pub struct Printer {
    /// Its name; none where the shop states none.
    pub name: Option<String>,
    /// The largest sheet that it takes, either way round; none where that is not stated.
    pub sheet: Option<(Length, Length)>,
    /// How near to the edge of a sheet it prints.
    pub border: Length,
    /// Price of printing one face of a sheet, in the shop's currency; none where not stated.
    pub cost: Option<f64>,
    /// What stated it.
    pub origin: Option<Span>,
}

impl Default for Printer {
    fn default() -> Self {
        Self { name: None, sheet: None, border: usual::PRINTER_BORDER, cost: None, origin: None }
    }
}

impl Printer {
    /// Whether it takes a sheet of this size.
    pub fn takes(&self, (width, height): (Length, Length)) -> bool {
        self.sheet.is_none_or(|(wide, high)| (width <= wide && height <= high) || (width <= high && height <= wide))
    }
}
