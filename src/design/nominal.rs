//! What of a design rests on figures that nobody measured.

use std::collections::BTreeSet;

use super::{Design, Joint, Layer, Pivot};

/// What rests on figures that nobody measured, by name.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Nominal<'a> {
    /// Stocks, magnets, rivets and adhesives of the built-in shop.
    pub figures: BTreeSet<&'a str>,
    /// Stocks of a shop's own of which no pass was measured, and in which pockets are sunk.
    pub depths: BTreeSet<&'a str>,
}

impl<'a> Nominal<'a> {
    /// The one rule for every place that shows a figure: all that is of the built-in shop is nominal, and so is how deep a pocket
    /// gets where no pass of its stock was measured.
    pub fn of(layers: &'a [Layer], joints: &'a [Joint]) -> Self {
        let mut found = Self::default();
        for layer in layers {
            let stock = &layer.stock;
            if stock.nominal {
                found.figures.insert(&stock.name);
            } else if stock.passes.is_empty() && layer.pockets().next().is_some() {
                found.depths.insert(&stock.name);
            }
        }
        // The built-in shop is used whole or not at all.
        let built_in = !found.figures.is_empty();
        for joint in joints {
            match joint {
                Joint::Turn(turn) => {
                    if let (Pivot::Rivet(rivet), true) = (&turn.pivot, built_in) {
                        found.figures.insert(&rivet.name);
                    }
                    let discs = turn.discs();
                    found.figures.extend(discs.filter(|disc| disc.nominal).map(|disc| disc.name.as_str()));
                }
                Joint::Glue(glue) => found.figures.extend(built_in.then_some(glue.adhesive.name.as_str())),
            }
        }
        found
    }
}

impl Design {
    /// What rests on figures that nobody measured, in a sentence's words; none where all were.
    pub fn nominal(&self) -> Option<String> {
        let Nominal { figures, depths } = Nominal::of(&self.layers, &self.joints);
        let words = |names: BTreeSet<&str>| -> String {
            names.into_iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
        };
        let figures = (!figures.is_empty()).then(|| format!("figures of {}, not measured", words(figures)));
        let depths = (!depths.is_empty())
            .then(|| format!("depths of pockets in {}, whose passes are not measured", words(depths)));
        let all: Vec<String> = figures.into_iter().chain(depths).collect();
        (!all.is_empty()).then(|| all.join("; "))
    }
}
