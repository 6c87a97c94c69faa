//! What of a design rests on figures that nobody measured.

use std::collections::BTreeSet;

use super::{Design, Pivot};

impl Design {
    /// What rests on figures that nobody measured, in a sentence's words; none where all were. One rule for every place that
    /// shows a figure: a stock or a magnet of the built-in shop is nominal, and so is how deep a pocket gets where no pass of
    /// its stock was measured.
    pub fn nominal(&self) -> Option<String> {
        let stocks = self.layers.iter().map(|layer| &layer.stock);
        let magnets = self.turns().flat_map(|(_, turn)| {
            let axis = match &turn.pivot {
                Pivot::Magnets { magnet, .. } => Some(magnet),
                Pivot::Rivet(_) => None,
            };
            axis.into_iter().chain(turn.clicks.as_ref().map(|clicks| &clicks.magnet))
        });
        let all = stocks.filter(|stock| stock.nominal).map(|stock| stock.name.as_str());
        let all = all.chain(magnets.filter(|magnet| magnet.nominal).map(|magnet| magnet.name.as_str()));
        let sunk = self.layers.iter().filter(|layer| layer.stock.passes.is_empty() && layer.pockets().next().is_some());
        let words = |names: BTreeSet<&str>| -> String {
            names.into_iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
        };
        let (figures, depths) = (words(all.collect()), words(sunk.map(|layer| layer.stock.name.as_str()).collect()));
        match (figures.is_empty(), depths.is_empty()) {
            (true, true) => None,
            (false, true) => Some(format!("figures of {figures}, not measured")),
            (true, false) => Some(format!("depths of pockets in {depths}, whose passes are not measured")),
            (false, false) => Some(format!(
                "figures of {figures}, not measured; depths of pockets in {depths}, whose passes are not measured"
            )),
        }
    }
}
